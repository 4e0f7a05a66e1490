"""What must be done before it is used?"""

from supplycalc.questions import Question

QUESTION = Question(
    place=10,
    help="test, flush, disinfect, set: before it is used",
    asks="What before anyone drinks?",
    result="supplycalc.questions.commission.study:CommissionStudy",
    words=(
        "disinfect",
        "disinfection",
        "chlorinate",
        "chlorine",
        "bleach",
        "flush",
        "expansion",
        "handover",
        "startup",
    ),
)

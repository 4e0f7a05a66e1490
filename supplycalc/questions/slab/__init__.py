"""What can't be changed later?"""

from supplycalc.questions import Question

QUESTION = Question(
    place=9,
    help="what the pour or the backfill locks in",
    asks="What can't be changed later?",
    result="supplycalc.questions.slab.study:SlabStudy",
    words=(
        "pour",
        "buried",
        "concrete",
        "locked",
    ),
)

"""What if the washer fills?"""

from supplycalc.questions import Question

QUESTION = Question(
    place=4,
    help="what really comes out when these are open",
    asks="What if the washer fills?",
    result="supplycalc.questions.flow.study:FlowStudy",
    words=(
        "open",
        "outlets",
        "pressure",
        "simultaneous",
    ),
)

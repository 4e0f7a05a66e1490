"""How long until it is hot?"""

from supplycalc.questions import Question

QUESTION = Question(
    place=5,
    help="wait for hot water, what would bring it sooner",
    asks="How long until it is hot?",
    result="supplycalc.questions.hot.study:HotStudy",
    words=(
        "wait",
        "heater",
        "hotwater",
        "warm",
    ),
)

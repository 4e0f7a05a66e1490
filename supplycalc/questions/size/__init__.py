"""Does it work, in which sizes?"""

from supplycalc.questions import Question

QUESTION = Question(
    place=2,
    help="choose every size, find the worst fixture",
    asks="Does it work, in which sizes?",
    result="supplycalc.sizing.design:Design",
    words=(
        "run",
        "calc",
        "calculate",
        "compute",
        "solve",
        "design",
        "sizing",
        "pipes",
        "result",
    ),
)

"""Do pump, well, tank or spring hold it?"""

from supplycalc.questions import Question

QUESTION = Question(
    place=10,
    help="pump, well and tank: operating points, starts",
    asks="Do pump and well hold it?",
    result="supplycalc.questions.well.study:WellCheck",
    words=(
        "pump",
        "tank",
        "source",
        "bucket",
    ),
)

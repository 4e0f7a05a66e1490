"""Is my file right?"""

from supplycalc.questions import Question

QUESTION = Question(
    place=1,
    help="read the file, show the supply as a tree",
    asks="Is my file right?",
    result="supplycalc.questions.check.study:SupplyCheck",
    words=(
        "read",
        "validate",
        "tree",
        "verify",
        "lint",
        "test",
    ),
)

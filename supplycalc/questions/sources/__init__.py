"""Where do the numbers come from?"""

from supplycalc.questions import Question

QUESTION = Question(
    place=12,
    help="every table and formula with its source",
    asks="Where do the numbers come from?",
    result="",
    words=(
        "source-list",
        "references",
        "tables",
        "standards",
        "methods",
    ),
)

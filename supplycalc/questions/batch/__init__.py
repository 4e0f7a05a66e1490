"""How do many houses do, or many variants of one?"""

from supplycalc.questions import Question

QUESTION = Question(
    place=13,
    help="many houses, or many variants of one, in a table",
    asks="How do many houses do, or many variants of one?",
    result="",
    words=(
        "many",
        "folder",
        "variants",
        "sweep",
        "bulk",
    ),
)

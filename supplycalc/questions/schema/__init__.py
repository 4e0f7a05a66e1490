"""How is the file written?"""

from supplycalc.questions import Question

QUESTION = Question(
    place=13,
    help="JSON Schema of the file, for editors",
    asks="How is the file written?",
    result="",
    words=(
        "keys",
        "format",
        "json-schema",
        "editor",
    ),
)

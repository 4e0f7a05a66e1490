"""How do I begin?"""

from supplycalc.questions import Question

QUESTION = Question(
    place=0,
    help="write a starter file; --ask asks you for it in plain words",
    asks="How do I begin?",
    words=("start", "init", "begin", "create", "template", "example", "wizard", "ask", "interview"),
)

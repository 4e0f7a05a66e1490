"""What do I hand over? Everything on one page."""

from supplycalc.questions import Question

QUESTION = Question(
    place=15,
    help="everything on one page to print or send",
    asks="What do I hand over?",
    result="supplycalc.questions.report.study:Report",
)

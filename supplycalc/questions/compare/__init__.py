"""What if?"""

from supplycalc.questions import Question

QUESTION = Question(
    place=3,
    help="the same design with each choice, in one table",
    asks="What if?",
    result="supplycalc.questions.compare.study:Comparison",
    words=(
        "versus",
        "vs",
        "options",
        "alternatives",
        "choose",
    ),
)

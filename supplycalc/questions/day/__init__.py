"""What is a day like?"""

from supplycalc.questions import Question

QUESTION = Question(
    place=11,
    help="the supply through a day of draws",
    asks="What is a day like?",
    result="supplycalc.questions.day.result:Day",
    words=(
        "simulate",
        "year",
        "daily",
    ),
)

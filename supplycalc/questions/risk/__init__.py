"""How sure is it, and what should I measure?"""

from supplycalc.questions import Question

QUESTION = Question(
    place=12,
    help="chances within the file's ranges, what to measure",
    asks="How sure is it, and what should I measure first?",
    result="supplycalc.questions.risk.study:Risk",
    words=(
        "chance",
        "sure",
        "uncertainty",
        "sensitivity",
        "probability",
        "montecarlo",
    ),
)

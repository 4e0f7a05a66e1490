"""How much water must it carry?"""

from supplycalc.questions import Question

QUESTION = Question(
    place=7,
    help="demand methods side by side",
    asks="How much water must it carry?",
    result="supplycalc.questions.demand.study:DemandComparison",
    words=(
        "load",
        "units",
        "peak",
        "fixtures",
    ),
)

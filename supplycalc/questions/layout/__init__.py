"""Which layout?"""

from supplycalc.questions import Question

QUESTION = Question(
    place=8,
    help="home runs, submanifolds or trunk; where they start",
    asks="Which layout?",
    result="supplycalc.questions.layout.study:LayoutStudy",
    words=(
        "plan",
        "place",
        "arrange",
        "manifold",
        "route",
    ),
)

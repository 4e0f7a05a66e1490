"""Will it bang or sing?"""

from supplycalc.questions import Question

QUESTION = Question(
    place=9,
    help="what quick valves and a stopping pump do to the pipe",
    asks="Will it bang or sing?",
    result="supplycalc.questions.surge.study:SurgeStudy",
    words=(
        "hammer",
        "water-hammer",
        "bang",
        "noise",
        "arrestor",
        "arrester",
        "shock",
    ),
)

"""How does it hang together? The supply as a picture."""

from supplycalc.questions import Question

QUESTION = Question(
    place=14,
    help="the supply as a riser diagram",
    asks="How does it hang together?",
    result="supplycalc.questions.draw.study:SupplyDrawing",
)

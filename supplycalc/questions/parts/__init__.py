"""What do I buy?"""

from supplycalc.questions import Question

QUESTION = Question(
    place=6,
    help="pipe, fittings, valves to buy, with prices",
    asks="What do I buy?",
    result="supplycalc.questions.parts.parts_list:PartsList",
    words=(
        "buy",
        "materials",
        "bom",
        "list",
        "shopping",
        "order",
        "fittings",
        "price",
    ),
)

"""What does this word mean?"""

from supplycalc.questions import Question

QUESTION = Question(
    place=14,
    help="trade words, American and European, in half a line each",
    asks="What does this word mean?",
    words=("glossary", "terms", "dictionary", "word", "explain", "meaning", "vocabulary"),
)

"""Making any text safe and sayable in a terminal; imports nothing, so that errors print fast."""

from __future__ import annotations

PLAIN = str.maketrans(
    {
        "–": "-", "—": "-", "−": "-", "×": "x", "°": "deg ", "±": "+-", "²": "2", "³": "3",
        "‘": "'", "’": "'", "“": '"', "”": '"', "…": "...", "µ": "u", "ö": "oe", "ü": "ue",
        "ä": "ae", "≥": ">=", "≤": "<=", "½": "1/2", "¼": "1/4", "¾": "3/4", "§": "section ",
        "─": "-", "│": "|", "┌": "+", "┐": "+", "└": "+", "┘": "+", "├": "+", "╌": "~",
        "━": "=", "┃": "#", "┡": "#", "┣": "#", "┗": "#", "·": ",",
        **dict.fromkeys("▘▝▀▖▌▞▛▗▚▐▜▄▙▟█", "#"),
    }
)  # fmt: skip
"""What stands in for a character that the terminal's encoding does not have."""


def clean(text: str) -> str:
    """Make text from a file harmless: control and direction characters become visible escapes."""
    if text.isprintable():
        return text
    return "".join(_visible(letter) for letter in text)


def _visible(letter: str) -> str:
    if letter.isprintable():
        return letter
    if letter.isspace():
        return " "
    return letter.encode("unicode_escape", "backslashreplace").decode("ascii")


def encodable(text: str, encoding: str) -> str:
    """The same text, with what an encoding cannot say put into plain characters."""
    try:
        text.encode(encoding)
    except UnicodeEncodeError:
        text = text.translate(PLAIN).encode(encoding, "replace").decode(encoding)
    return text

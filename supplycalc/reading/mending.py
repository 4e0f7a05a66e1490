"""A text that is not TOML, mended statement by statement: all its mistakes are told at once.

What is mended is never computed with: it only lets the rest of the file be read too.
"""

from __future__ import annotations

import bisect
import re
from collections.abc import Iterator

import tomli
from msgspec import Struct

from supplycalc.problems import Place, Problem

MOST = 200
"""Statements that are mended: a text with more is no supply file."""
_HEADER = re.compile(r"[ \t]*(\[+)[ \t]*([^\[\]#=\"']*?)[ \t]*(\]*)[ \t]*(#.*)?")
_PAIR = re.compile(r"([ \t]*)([A-Za-z0-9_-]+(?:\.[A-Za-z0-9_-]+)*)[ \t]*(=|:)[ \t]*(.*)", re.DOTALL)
_STARTS = re.compile(
    r"[ \t]*(?:[A-Za-z0-9_.-]+[ \t]*[=:]|\[\[?[A-Za-z0-9_. ]+\]\]?[ \t]*(?:#.*)?$)"
)
_STRING = re.compile(r'"(?:[^"\\\n]|\\.)*"|\'[^\'\n]*\'')
_CURLY = re.compile("[“”„‟«»‘’‚‹›]")
_STRAIGHT = str.maketrans({**dict.fromkeys("“”„‟«»", '"'), **dict.fromkeys("‘’‚‹›", "'")})
_MARKED = re.compile(r"""\"([^"\\]*[0-9])[ ]*\"+[ ]*\"""")
"""Text in which the mark for inches stands before the closing quote."""
_UNREADABLE = "1979-01-01"
"""Stands in for a value that can't be guessed: no key of ours takes a date."""


LONG = ('"""', "'''")
"""Marks of text that runs over lines."""
UNCLOSED_LIST = "a list is not closed with ]"
UNCLOSED_TABLE = "a table is not closed with }; it must stand in one line"


class Mended(Struct, frozen=True, kw_only=True):
    """A text as TOML, line by line where it was."""

    text: str
    problems: list[Problem]
    guessed: frozenset[int]
    """Lines of which nothing more may be said: their values are not those meant."""
    lost: bool
    """Whether a line is none of what a file is made of: what follows may belong anywhere."""


def mend(text: str, name: str) -> Mended:
    """Find every statement that is not TOML, and mend it.

    Returns:
        The text with what was meant, or something harmless, in place of each mistake.
    """
    whole: list[str] = []
    problems: list[Problem] = []
    guessed: set[int] = set()
    curly: list[int] = []
    lost = False
    for first, lines in _statements(text):
        statement = "".join(lines)
        fault = _fault(statement)
        if fault is None or len(problems) >= MOST:
            whole.append(statement)
            continue
        if _CURLY.search(_STRING.sub("", statement)):
            curly.append(first)
            statement = statement.translate(_STRAIGHT)
            fault = _fault(statement)
        if fault is not None:
            better = _better(statement)
            problems.append(_problem(fault, statement, better, Place(name, first)))
            if better is None:
                guessed.update(range(first, first + len(lines)))
                better = _harmless(statement)
                lost = lost or not better
            statement = better + "\n" * (statement.count("\n") - better.count("\n"))
        whole.append(statement)
    if curly:
        problems.append(_curly(curly, name))
    return Mended(text="".join(whole), problems=problems, guessed=frozenset(guessed), lost=lost)


def _curly(lines: list[int], name: str) -> Problem:
    more = len(lines) - 1
    where = f", here and in {more} more line{'s' if more > 1 else ''}" if more else ""
    message = (
        f'curly quotes (“ ”) stand where straight ones (") must{where}: replace them all, and '
        "turn off smart quotes in the editor"
    )
    return Problem(place=Place(name, lines[0]), message=message)


def _statements(text: str) -> Iterator[tuple[int, list[str]]]:
    """Number of the first line, and the lines, of each section header and key with its value."""
    lines = text.splitlines(keepends=True) if "\r" not in text else re.split(r"(?<=\n)", text)
    at = 0
    closes = {mark: [i for i, line in enumerate(lines) if line.count(mark) % 2] for mark in LONG}
    while at < len(lines):
        end = at + 1
        for lines_with in closes.values():
            place = bisect.bisect_left(lines_with, at)
            if place + 1 < len(lines_with) and lines_with[place] == at:
                end = lines_with[place + 1] + 1
        depth = 0 if lines[at].lstrip().startswith("[") else _depth(lines[at])
        while depth > 0 and end < len(lines) and not _STARTS.match(lines[end].rstrip("\r\n")):
            depth += _depth(lines[end])
            end += 1
        yield at + 1, lines[at:end]
        at = end


def _depth(line: str) -> int:
    """Lists and tables that a line opens and does not close."""
    plain = _STRING.sub("", line).partition("#")[0]
    return sum(plain.count(mark) for mark in "[{") - sum(plain.count(mark) for mark in "]}")


class _Fault(Struct, frozen=True):
    """What the standard library says of a statement."""

    what: str
    line: int
    """Lines below the statement's first."""
    column: str


_WHERE = re.compile(r"^(.*?) \(at (?:line (\d+), column (\d+)|end of document)\)$", re.DOTALL)


def _fault(statement: str) -> _Fault | None:
    try:
        tomli.loads(statement)
    except tomli.TOMLDecodeError as error:
        match = _WHERE.match(str(error))
        what, line, column = match.groups() if match else (str(error), None, None)
        return _Fault(what, int(line) - 1 if line else 0, f"column {column}" if column else "")
    except (ValueError, RecursionError):
        return None  # told of the file as a whole
    return None


def _problem(fault: _Fault, statement: str, better: str | None, place: Place) -> Problem:
    lines = statement.split("\n")
    line = min(fault.line, max(len(lines) - 1, 0))
    if _depth(statement) > 0:
        line = 0
    seen = lines[line].strip()
    if len(seen) > 60:
        seen = f"{seen[:57]}..."
    cause = _plain(fault.what, statement)
    if cause.endswith((UNCLOSED_LIST, UNCLOSED_TABLE)) and better and _depth(statement) == 0:
        cause = 'a value is not quoted; text and quantities stand in quotes, such as "140 ft"'
    where = fault.column or "its end"
    message = f"not TOML at {where}: {cause}; the line reads {seen!r}"
    if better is not None:
        mended = better.strip("\n").split("\n")[line if better.count("\n") >= line else 0].strip()
        if len(mended) <= 72:
            message += f"; write {mended}"
    place = Place(place.file, place.line + line)
    return Problem(place=place, message=message, cause=cause)


def _better(statement: str) -> str | None:
    """The statement as it was probably meant; None where nobody can tell."""
    body = statement.rstrip("\r\n")
    if match := _HEADER.fullmatch(body):
        opened, name, _, remark = match.groups()
        many = len(opened) > 1
        name = re.sub(r"\s+", "_", name.strip())
        guess = f"[[{name}]]" if many else f"[{name}]"
        guess += f"  {remark}" if remark else ""
    elif match := _PAIR.fullmatch(body):
        indent, key, _, value = match.groups()
        guess = f"{indent}{key} = {_value(value.strip(), key)}"
    else:
        return None
    return guess if _fault(guess + "\n") is None else None


def _harmless(statement: str) -> str:
    """A statement in whose place no other mistake is seen."""
    match = _PAIR.fullmatch(statement.rstrip("\r\n"))
    return f"{match[2]} = {_UNREADABLE}" if match else ""


def _value(value: str, key: str) -> str:
    """A value as it was probably meant."""
    remark = ""
    if not value.startswith(('"', "'")):
        bare = _STRING.sub(lambda match: "x" * len(match[0]), value)
        at = bare.find("#")
        value, remark = (value, "") if at < 0 else (value[:at].rstrip(), f"  {value[at:]}")
    if value.startswith("["):
        inside = value[1:-1] if value.endswith("]") and _depth(value) <= 0 else value[1:]
        items = [part.strip() for part in _split(inside)]
        meant = [_value(item, key) for item in items if item]
        if key == "sizes":
            meant = [item if item.startswith('"') else f'"{item}"' for item in meant]
        return f"[{', '.join(meant)}]{remark}"
    if value.startswith("{"):
        inside = value[1:-1] if value.endswith("}") and _depth(value) <= 0 else value[1:]
        pairs = [_PAIR.fullmatch(part.strip()) for part in _split(inside) if part.strip()]
        return "{ " + ", ".join(
            f"{pair[2]} = {_value(pair[4].strip(), pair[2])}" if pair else "?" for pair in pairs
        ) + f" }}{remark}"  # fmt: skip
    return _scalar(value) + remark


def _scalar(value: str) -> str:
    """Text or a quantity in quotes, true and false without."""
    if value.lower() in ("true", "false", "yes", "no"):
        return "true" if value.lower() in ("true", "yes") else "false"
    if _STRING.fullmatch(value) or re.fullmatch(r"[+-]?[0-9]+(\.[0-9]+)?", value):
        return value
    if match := _MARKED.fullmatch(value):
        return f'"{match[1]} in"'
    if value[:1].isdigit():
        value = re.sub(r"([0-9])\s*'$", r"\1 ft", value)
    text = value.strip("\"'" if value[:1] in "\"'" else "'").strip()
    text = re.sub(r'([0-9])\s*"$', r"\1 in", text)
    return "?" if not text or re.search(r'["\\={}]', text) else f'"{text}"'


def _split(inside: str) -> Iterator[str]:
    """Parts between commas, those in quotes, lists and tables left whole."""
    part, depth, quote = "", 0, ""
    for char in inside.replace("\r", " ").replace("\n", " "):
        if quote:
            quote = "" if char == quote else quote
        elif char == '"' or (char == "'" and not part.strip()):
            quote = char
        elif char in "[{":
            depth += 1
        elif char in "]}":
            depth -= 1
        elif char == "," and depth == 0:
            yield part
            part = ""
            continue
        part += char
    yield part


def _plain(what: str, statement: str = "") -> str:
    """The reader's own words, in plain ones where they are not."""
    if (pair := _PAIR.match(statement)) and _MARKED.search(pair[4]):
        return 'the mark " for inches ends the text; write in for inches'
    if pair and pair[2] in ("size", "sizes", "minimum") and re.search(r"[0-9]/[0-9]", pair[4]):
        return 'sizes stand in quotes, such as "3/4"'
    if pair and pair[3] == ":":
        return "'=' stands between a key and its value, not ':'"
    wordings = (
        ("Invalid value", "a value is missing or is not quoted; text and quantities stand in "
         "quotes, such as \"140 ft\""),
        ("Expected '='", "'=' is missing after the key"),
        ("Invalid statement", "this is neither a [section] nor a key = value"),
        ("Expected newline or end of document", "there is something left after the value; text "
         "and quantities stand in quotes, such as \"140 ft\""),
        ("Unterminated string", "a quote is not closed"),
        ("Expected \"'\"", "a quote is not closed"),
        ("Illegal character '\\n'", "a quote is not closed, or a list or table breaks off"),
        ("Unclosed array", UNCLOSED_LIST),
        ("Unclosed inline table", UNCLOSED_TABLE),
        ("Expected ']", "a ] is missing after the section's name"),
        ("Invalid initial character for a key part", "a key is missing, or has letters that need "
         "quotes"),
        ("Unescaped '\\'", "a backslash in double quotes must be doubled"),
    )  # fmt: skip
    return next((ours for theirs, ours in wordings if what.startswith(theirs)), what)

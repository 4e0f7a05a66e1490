"""A file on disk -> its text -> what TOML makes of it, or what is wrong with it as a file."""

from __future__ import annotations

import codecs
import difflib
import re
from pathlib import Path
from typing import Any

import tomli

from supplycalc.problems import InputError, Place, Problem
from supplycalc.reading.fields import SECTIONS
from supplycalc.reading.places import Places, find_places

MOST_BYTES = 5_000_000


def read_text(path: str | Path) -> str:
    """Read an input file as text.

    Returns:
        The text, without a byte order mark.

    Raises:
        InputError: there is no such file, or it cannot be read as text.
    """
    path = Path(path)
    place = Place(str(path))
    try:
        with path.open("rb") as stream:
            content = stream.read(MOST_BYTES + 1)
    except FileNotFoundError:
        raise _no_file(path) from None
    except IsADirectoryError:
        raise _wrong(place, "this is a folder, not a file", valid=_inside(path)) from None
    except PermissionError:
        raise _wrong(place, "the file may not be read (no permission)") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise _wrong(place, f"the file cannot be read ({reason})") from None
    return decode(content, str(path))


def decode(content: bytes, name: str) -> str:
    """Turn a file's bytes into text.

    Returns:
        The text, without a byte order mark.

    Raises:
        InputError: too large, binary, or not UTF-8.
    """
    if len(content) > MOST_BYTES:
        raise _wrong(Place(name), f"the file is larger than {MOST_BYTES // 1_000_000} MB")
    if content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        raise _wrong(Place(name, 1), "the file is in UTF-16; save it as UTF-8")
    content = content.removeprefix(codecs.BOM_UTF8)
    zero = content.find(b"\0")
    if zero >= 0:
        line = content.count(b"\n", 0, zero) + 1
        raise _wrong(Place(name, line), f"this is not a text file (zero byte at offset {zero})")
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        message = (
            f"the text is not UTF-8: byte 0x{content[error.start]:02x} at offset {error.start}; "
            "save the file as UTF-8"
        )
        raise _wrong(Place(name, line), message) from None


def parse_toml(
    text: str, name: str, needs: str = "at least a [source] and a fixture"
) -> tuple[dict[str, Any], Places]:
    """Parse a text as TOML.

    Args:
        needs: what an empty file lacks, in words.

    Raises:
        InputError: the text is not TOML, with the line of each mistake, or is empty.

    Source: TOML 1.0.0, by the standard library.
    """
    data, places, problems, _ = parse_mended(text, name, needs)
    if problems:
        raise InputError(problems)
    return data, places


def parse_mended(
    text: str, name: str, needs: str = "at least a [source] and a fixture"
) -> tuple[dict[str, Any], Places, list[Problem], frozenset[int]]:
    """Parse a text as TOML, and go on after what is none.

    Returns:
        The tables, the places of their keys, what is not TOML, and the lines of which nothing
        more may be said.

    Raises:
        InputError: what can't be read in any way, or is empty.
    """
    places = find_places(text)
    if places.too_deep:
        raise _wrong(Place(name, places.too_deep), "the key has too many parts")
    problems: list[Problem] = []
    guessed: frozenset[int] = frozenset()
    try:
        data = tomli.loads(text)
    except tomli.TOMLDecodeError:
        from supplycalc.reading.mending import mend

        mended = mend(text, name)
        problems, guessed = mended.problems, mended.guessed
        if mended.lost:
            raise InputError(problems) from None
        places = find_places(mended.text)
        data = _mended_data(mended.text, name, places, problems)
    except RecursionError:
        raise _wrong(Place(name), "lists or tables are nested too deeply") from None
    except ValueError as error:
        reason = "a number has too many digits" if "digits" in str(error) else str(error)
        raise _wrong(Place(name), f"the file cannot be read as TOML: {reason}") from None
    if not data and not problems:
        raise _wrong(Place(name), f"the file is empty: it needs {needs}")
    return data, places, problems, guessed


def _mended_data(text: str, name: str, places: Places, problems: list[Problem]) -> dict[str, Any]:
    """The tables of a mended text; InputError with all that is known where there are none."""
    try:
        return tomli.loads(text)
    except (ValueError, RecursionError) as error:
        if not _DOUBLED.search(str(error)):
            raise InputError(
                problems or [Problem(place=Place(name), message=f"not TOML: {error}")]
            ) from None
    doubled = [
        Problem(place=Place(name, again), message=_twice(path, first))
        for path, first, again in places.twice
    ]
    message = "a key or section stands here twice"
    raise InputError([*problems, *(doubled or [Problem(place=Place(name), message=message)])])


_MANY = frozenset(section.name for section in SECTIONS if section.many)
_DOUBLED = re.compile(r"twice|overwrite|Duplicate|already|immutable|redefine", re.IGNORECASE)


def _twice(path: tuple[str | int, ...], first: int) -> str:
    word = ".".join(str(part) for part in path if isinstance(part, str))
    hint = f"; several of them are written [[{word}]]" if word in _MANY else ""
    return f"{word!r} stands twice; the first is in line {first}{hint}"


def _wrong(place: Place, message: str, value: str = "", valid: tuple[str, ...] = ()) -> InputError:
    return InputError([Problem(place=place, message=message, value=value, valid=valid)])


def _no_file(path: Path) -> InputError:
    """With the file meant, by its name without the ending, which all have in common."""
    others = _inside(path.parent)
    stems = {Path(name).stem: name for name in others}
    near = difflib.get_close_matches(path.stem, stems, n=1, cutoff=0.6)
    problem = Problem(
        place=Place(str(path)),
        message="there is no such file",
        value=path.name if near else "",
        valid=others,
        meant=stems[near[0]] if near else "",
    )
    return InputError([problem])


def _inside(folder: Path) -> tuple[str, ...]:
    """The TOML files of a folder, to choose from."""
    try:
        return tuple(sorted(file.name for file in folder.glob("*.toml")))[:50]
    except OSError:
        return ()

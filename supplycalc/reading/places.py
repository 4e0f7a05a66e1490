"""Key -> line number in a TOML text.

The standard library's reader gives values without places, so this light scan walks the same text
for keys alone. It never judges: on text that is not TOML it stops where it lost its way.
"""

from __future__ import annotations

import bisect
import contextlib
import re

import tomli
from msgspec import Struct, field

Path = tuple[str | int, ...]

_BLANK = re.compile(r"[ \t]*")
_SPACE = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)*")
_BARE = re.compile(r"[A-Za-z0-9_-]+")
_BASIC = re.compile(r'"(?:[^"\\\n]|\\.)*"')
_LITERAL = re.compile(r"'[^'\n]*'")
_LONG_BASIC = re.compile(r'"""(?:[^\\]|\\.)*?"{3,5}', re.DOTALL)
_LONG_LITERAL = re.compile(r"'''.*?'{3,5}", re.DOTALL)
_SCALAR = re.compile(r"[^,\]}\n#]+")


DEEPEST = 30
"""Parts of a key beyond which a text is not read: none of ours has more than four, and what reads
TOML takes a time that grows with their square."""


class _LostError(Exception):
    """The text is not what the scan can follow."""


class Places(Struct):
    """Lines of keys, counted from 1, and keys that stand twice."""

    lines: dict[Path, int] = field(default_factory=dict)
    twice: list[tuple[Path, int, int]] = field(default_factory=list)
    """(key, line of the first, line of the next)"""
    implied: dict[Path, int] = field(default_factory=dict)
    """Tables that are only named on the way to another."""
    too_deep: int = 0
    """Line of a key of more than `DEEPEST` parts; 0 where there is none."""

    def rename(self, path: Path, name: str) -> None:
        """Let a key that stands in the text under an old name be found under today's."""
        if path in self.lines:
            self.lines[(*path[:-1], name)] = self.lines[path]

    def line(self, path: Path) -> int:
        """Line of a key, or of the nearest key or section around it; 0 if there is none."""
        while path:
            line = self.lines.get(path) or self.implied.get(path)
            if line:
                return line
            path = path[:-1]
        return 0


def find_places(text: str) -> Places:
    """Find the line of every section, key and list entry.

    Returns:
        The places of everything up to where the text stops being TOML.

    Source: the TOML 1.0.0 specification.
    """
    scan = _Scan(text)
    with contextlib.suppress(_LostError, RecursionError):
        scan.document()
    return scan.places


class _Scan:
    """A walk through the text of a file, noting the line of every key."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.places = Places()
        self._starts = [0, *(match.end() for match in re.finditer("\n", text))]
        self._counts: dict[Path, int] = {}
        self._section: Path = ()

    def document(self) -> None:
        while True:
            self._skip(_SPACE)
            if self.at >= len(self.text):
                return
            if self.text.startswith("[", self.at):
                self._header()
            else:
                self._pair(self._section)
            self._skip(_BLANK)
            if self.at < len(self.text) and self.text[self.at] not in "#\r\n":
                raise _LostError

    def _skip(self, pattern: re.Pattern[str]) -> None:
        match = pattern.match(self.text, self.at)
        if match is not None:
            self.at = match.end()

    def _take(self, word: str) -> None:
        if not self.text.startswith(word, self.at):
            raise _LostError
        self.at += len(word)

    def _match(self, pattern: re.Pattern[str]) -> str:
        match = pattern.match(self.text, self.at)
        if match is None:
            raise _LostError
        self.at = match.end()
        return match.group()

    def _record(self, path: Path, at: int) -> None:
        line = bisect.bisect_right(self._starts, at)
        first = self.places.lines.setdefault(path, line)
        if first != line:
            self.places.twice.append((path, first, line))

    def _imply(self, path: Path, at: int) -> None:
        self.places.implied.setdefault(path, bisect.bisect_right(self._starts, at))

    def _header(self) -> None:
        start = self.at
        many = self.text.startswith("[[", self.at)
        self._take("[[" if many else "[")
        parts = self._key()
        self._take("]]" if many else "]")
        path: Path = ()
        for depth, part in enumerate(parts):
            path = (*path, part)
            last = depth == len(parts) - 1
            if last and many:
                self._imply(path, start)
                self._counts[path] = self._counts.get(path, 0) + 1
                path = (*path, self._counts[path] - 1)
            elif path in self._counts and not last:
                path = (*path, self._counts[path] - 1)
            (self._record if last else self._imply)(path, start)
        self._section = path

    def _key(self) -> list[str]:
        parts: list[str] = []
        while True:
            self._skip(_BLANK)
            quote = self.text[self.at : self.at + 1]
            if quote == '"':
                parts.append(self._string(_BASIC))
            elif quote == "'":
                parts.append(self._match(_LITERAL)[1:-1])
            else:
                parts.append(self._match(_BARE))
            if len(parts) > DEEPEST:
                self.places.too_deep = bisect.bisect_right(self._starts, self.at)
                raise _LostError
            self._skip(_BLANK)
            if not self.text.startswith(".", self.at):
                return parts
            self.at += 1

    def _string(self, pattern: re.Pattern[str]) -> str:
        quoted = self._match(pattern)
        if "\\" not in quoted:
            return quoted[1:-1]
        try:
            return str(tomli.loads(f"key = {quoted}")["key"])
        except tomli.TOMLDecodeError:
            raise _LostError from None

    def _pair(self, inside: Path) -> None:
        start = self.at
        parts = self._key()
        path = inside
        for part in parts[:-1]:
            path = (*path, part)
            self._imply(path, start)
        path = (*path, parts[-1])
        self._record(path, start)
        self._take("=")
        self._skip(_BLANK)
        self._value(path)

    def _value(self, path: Path) -> None:
        ahead = self.text[self.at : self.at + 3]
        if ahead == '"""':
            self._match(_LONG_BASIC)
        elif ahead == "'''":
            self._match(_LONG_LITERAL)
        elif ahead.startswith('"'):
            self._match(_BASIC)
        elif ahead.startswith("'"):
            self._match(_LITERAL)
        elif ahead.startswith("["):
            self._array(path)
        elif ahead.startswith("{"):
            self._inline(path)
        else:
            self._match(_SCALAR)

    def _array(self, path: Path) -> None:
        self._take("[")
        number = 0
        while True:
            self._skip(_SPACE)
            if self.text.startswith("]", self.at):
                break
            self._record((*path, number), self.at)
            self._value((*path, number))
            number += 1
            self._skip(_SPACE)
            if self.text.startswith(",", self.at):
                self.at += 1
            elif not self.text.startswith("]", self.at):
                raise _LostError
        self._take("]")

    def _inline(self, path: Path) -> None:
        self._take("{")
        while True:
            self._skip(_SPACE)
            if self.text.startswith("}", self.at):
                break
            self._pair(path)
            self._skip(_SPACE)
            if self.text.startswith(",", self.at):
                self.at += 1
            elif not self.text.startswith("}", self.at):
                raise _LostError
        self._take("}")

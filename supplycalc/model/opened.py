"""Names of what is open, as people write them: "kitchen sink", "bath@50%", "basin (hot)"."""

from __future__ import annotations

import re
from collections.abc import Container

from msgspec import Struct

_SHARE = re.compile(r"(.*)@\s*(\d+(?:\.\d+)?)\s*%\s*")
_SIDE = re.compile(r"(.*)\((cold|hot)\)\s*")


class OpenedName(Struct, frozen=True):
    """A name taken apart."""

    fixture: str
    side: str | None
    """cold or hot; None: every side that it has."""
    share: float
    """How far it is open, as written."""


def opened_name(text: str, fixtures: Container[str]) -> OpenedName:
    """Take a name apart; what is a fixture's own name is left whole."""
    name, side, share = text.strip(), None, 1.0
    if name not in fixtures and (match := _SHARE.fullmatch(name)):
        name, share = match[1].strip(), float(match[2]) / 100.0
    if name not in fixtures and (match := _SIDE.fullmatch(name)):
        name, side = match[1].strip(), match[2]
    return OpenedName(name, side, share)

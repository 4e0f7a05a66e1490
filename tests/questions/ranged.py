"""The ridge cottage with lines of its file changed, for tests of ranges."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import supplycalc as sc

RIDGE = Path(__file__).parents[2] / "scenarios" / "ridge-cottage.toml"


def text_with(changes: Mapping[str, str], scenario: Path = RIDGE) -> str:
    """The text of a scenario with the first of each of these lines replaced."""
    text = scenario.read_text(encoding="utf-8")
    for old, new in changes.items():
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


def ranged(changes: Mapping[str, str], scenario: Path = RIDGE) -> sc.House:
    """The house of that text."""
    return sc.loads(text_with(changes, scenario))

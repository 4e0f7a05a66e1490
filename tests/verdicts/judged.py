"""A house with the verdict that a practitioner would give, and how the program's is held to it."""

from __future__ import annotations

import functools
import json
import re
import tempfile
from pathlib import Path
from typing import Any, Literal, NamedTuple

import pytest
from msgspec import Struct

from tests.commands.files import run

Answer = Literal["works", "works only if", "fails"]

LARGEST_BRANCH = {
    "lavatory": 0.69, "water-closet": 0.69, "bidet": 0.69, "dishwasher": 0.69,
    "kitchen-sink": 0.9, "clothes-washer": 0.9, "shower": 0.9, "tub-shower": 0.9, "bathtub": 0.9,
    "hose-bibb": 1.1,
}  # fmt: skip
"""Inside diameter [in] of the largest branch that anybody would run to one such fixture: for a
basin or closet a 3/4 inch PEX, where 1/2 and 3/8 are usual; for a bath or tap 1 inch, where 1/2 and
3/4 are (common practice, no source)."""


class House(Struct, frozen=True, kw_only=True):
    """One house, what is true of it, and why."""

    name: str
    text: str
    why: str
    """The verdict and its reason, as it would be told over the counter."""
    answer: Answer
    worst: tuple[str, ...] = ()
    """Fixtures of which one is the worst off."""
    findings: tuple[str, ...] = ()
    """Codes that must be told."""
    none_of: tuple[str, ...] = ()
    """Codes that must not be told."""
    sizes: dict[str, tuple[str, ...]] = {}
    """Runs and the sizes that are sensible."""
    says: tuple[str, ...] = ()
    """Patterns that must stand in all that `size` shows."""
    silent: tuple[str, ...] = ()
    """Patterns that must not stand there."""
    exits: dict[str, int] = {}
    """Exit status of other commands."""

    def as_parameter(self) -> Any:
        """For `pytest.mark.parametrize`, under its name."""
        return pytest.param(self, id=self.name.replace(" ", "-"))


def parameters(*groups: tuple[House, ...]) -> list[Any]:
    """The houses of these groups as test parameters."""
    return [house.as_parameter() for group in groups for house in group]


class Told(NamedTuple):
    """What one call told."""

    exit_code: int
    text: str
    """What stands on the screen, or the message."""

    @property
    def words(self) -> str:
        """The screen without its line breaks."""
        return " ".join(self.text.split())

    @property
    def headline(self) -> str:
        """The first paragraph without its line breaks."""
        return " ".join(self.text.strip().partition("\n\n")[0].split())


@functools.cache
def ask(text: str, *call: str) -> Told:
    """Call the program with a house file of this text; the file's name is `house.toml`.

    Args:
        text: what stands in the file.
        call: the command, then what follows the file.
    """
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "house.toml"
        path.write_text(text, encoding="utf-8")
        result = run(call[0], path, *call[1:])
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return Told(result.exit_code, result.stdout or result.stderr)


def answered(text: str, *call: str) -> dict[str, Any]:
    """The same as JSON."""
    told = ask(text, *call, "--json")
    assert told.exit_code in (0, 1), told.text
    data: dict[str, Any] = json.loads(told.text)
    return data


def negative_pressures(page: str) -> list[str]:
    """Pressures below zero on a page: in its sentences, and in columns of pressures.

    A height may be negative, and so may what stands under "to spare" or "height".
    """
    wrong = re.findall(r"(?:gets|holds|at|is|only) -\d[\d.,]* (?:psi|kPa|bar|mbar|hPa)\b", page)
    ends: set[int] = set()
    lines = page.splitlines()
    for number, text in enumerate(lines):
        if re.fullmatch(r"-{3,}( +-{3,})* *", text):
            head, start = "", number - 1
            while start >= 0 and lines[start].strip():
                head, start = lines[start] + "\n" + head, start - 1
            ends = {
                match.end()
                for row in head.splitlines()
                for match in re.finditer(r"\b(?:pressure|gets|lowest|highest|residual)\b", row)
            }
        elif not text.strip():
            ends = set()
        else:
            wrong += [
                text
                for match in re.finditer(r"-\d[\d.,]*", text)
                if match.end() in ends and text[max(0, match.start() - 1)] == " "
            ]
    return wrong


def check(house: House) -> None:
    """Hold the program's verdict on a house to the practitioner's."""
    told, whole = ask(house.text, "size"), ask(house.text, "size", "--full")
    assert told.exit_code in (0, 1), told.text
    data = answered(house.text, "size")
    codes = {finding["code"] for finding in data["findings"]}
    short = "\n".join(told.text.splitlines()[:6]) + f"\ncodes: {sorted(codes)}\n{house.why}"

    assert told.text.startswith(house.answer.capitalize()), short
    assert told.exit_code == (0 if house.answer == "works" else 1), short
    assert data["ok"] == (house.answer == "works"), short
    assert set(house.findings) <= codes, short
    assert not set(house.none_of) & codes, short
    if house.worst:
        assert data["worst"]["name"] in house.worst, short
    for pattern in house.says:
        assert re.search(pattern, whole.words), f"says nothing of {pattern!r}: {short}"
    for pattern in house.silent:
        assert not re.search(pattern, f"{told.words} {whole.words}"), f"says {pattern!r}: {short}"
    sizes = {line["name"]: line["nominal"] for line in data["runs"]}
    for name, sensible in house.sizes.items():
        assert sizes[name] in sensible, f"{name} {sizes[name]}: {short}"
    check_no_size_is_absurd(data)
    assert negative_pressures(told.text) + negative_pressures(whole.text) == [], short
    for command, exit_code in house.exits.items():
        assert ask(house.text, command).exit_code == exit_code, ask(house.text, command).text


def check_no_size_is_absurd(data: dict[str, Any]) -> None:
    """No branch to one fixture is larger than anybody would lay."""
    kinds = {fixture["name"]: fixture["kind"] for fixture in data["fixtures"]}
    for line in data["runs"]:
        for fixture, kind in kinds.items():
            name = fixture.removesuffix(" (hot)").removesuffix(" (cold)")
            if line["name"] in (f"{name} cold", f"{name} hot") and kind in LARGEST_BRANCH:
                inches = line["inside_diameter"]["value"]
                inches /= 25.4 if line["inside_diameter"]["unit"] == "mm" else 1.0
                assert inches <= LARGEST_BRANCH[kind], f"{line['name']} {line['nominal']}"

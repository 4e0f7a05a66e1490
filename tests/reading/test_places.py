"""Line numbers of keys, found beside the standard library's reader, on nasty TOML."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from supplycalc.reading.places import find_places

NASTY = '''\
# a remark with [[run]] and key = "value" in it
title = "a # b" # c

[source]
kind = "well" # [not.a.section]
tank.volume = "44 gal"
tank . "pre-charge" = '38 psi'
[source.pump]
curve = [ # points
  ["0 gpm", "310 ft"], # first ] "
  [
    "5 gpm",
    "290 ft",
  ],
]
note = """
[[run]]
name = "not a key"
# no remark \\""" still inside
"""
raw = \'\'\'
'' [[device]] = " \'\'\'
after = 1

[[run]]
name = "one"
fittings = { elbow-90 = 3, "ball valve" = 2, deep = { "a.b" = [1, { c = 2 }] } }
[[ run ]]
name = "two"
[run.extra]
x = 1
[[run.parts]]
y = 1
[[run.parts]]
y = 2
["odd name".'lit # eral'."\\u00e9"]
z = 1979-05-27T07:32:00Z
'''

EXPECTED = {
    ("title",): 2,
    ("source",): 4,
    ("source", "kind"): 5,
    ("source", "tank"): 6,
    ("source", "tank", "volume"): 6,
    ("source", "tank", "pre-charge"): 7,
    ("source", "pump"): 8,
    ("source", "pump", "curve"): 9,
    ("source", "pump", "curve", 0): 10,
    ("source", "pump", "curve", 1): 11,
    ("source", "pump", "curve", 1, 0): 12,
    ("source", "pump", "curve", 1, 1): 13,
    ("source", "pump", "note"): 16,
    ("source", "pump", "raw"): 21,
    ("source", "pump", "after"): 23,
    ("run",): 25,
    ("run", 0): 25,
    ("run", 0, "name"): 26,
    ("run", 0, "fittings", "ball valve"): 27,
    ("run", 0, "fittings", "deep", "a.b", 1, "c"): 27,
    ("run", 1): 28,
    ("run", 1, "name"): 29,
    ("run", 1, "extra"): 30,
    ("run", 1, "extra", "x"): 31,
    ("run", 1, "parts", 0, "y"): 33,
    ("run", 1, "parts", 1): 34,
    ("run", 1, "parts", 1, "y"): 35,
    ("odd name", "lit # eral", "é"): 36,
    ("odd name", "lit # eral", "é", "z"): 37,
}


def paths(value: Any, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    """Every key and list entry of a parsed document."""
    inner = value.items() if isinstance(value, dict) else enumerate(value)
    collected = [path] if path else []
    if isinstance(value, dict | list):
        for key, item in inner:
            collected += (
                paths(item, (*path, key)) if isinstance(item, dict | list) else [(*path, key)]
            )
    return collected


@pytest.mark.parametrize("ends", ["\n", "\r\n"])
def test_nasty_toml(ends: str) -> None:
    """Strings over lines, remarks, dotted and quoted keys, lists of tables and inline tables."""
    text = NASTY.replace("\n", ends)
    places = find_places(text)

    assert {path: places.line(path) for path in EXPECTED} == EXPECTED
    assert places.twice == []
    known = set(places.lines) | set(places.implied)
    assert set(paths(tomllib.loads(text))) == known


def test_the_scan_sees_what_the_library_sees() -> None:
    """In every scenario the scan's keys are the reader's, and each line holds its key."""
    scenarios = sorted((Path(__file__).parents[2] / "scenarios").glob("*.toml"))
    assert scenarios
    for scenario in scenarios:
        text = scenario.read_text(encoding="utf-8")
        places, lines = find_places(text), text.splitlines()

        assert set(paths(tomllib.loads(text))) == set(places.lines) | set(places.implied)
        for path, line in places.lines.items():
            word = next(part for part in reversed(path) if isinstance(part, str))
            if isinstance(path[-1], str):
                assert word in lines[line - 1]


def test_keys_that_stand_twice() -> None:
    """The scan keeps both lines, which the library's error does not tell."""
    places = find_places("[a]\nx = 1\ny = 2\nx = 3\n[b]\n[a]\n")

    assert places.twice == [(("a", "x"), 2, 4), (("a",), 1, 6)]


@pytest.mark.parametrize("text", ["[", "a", "a =", 'a = "', "[[a]", "a = {", "a = [1", "= 1", "\0"])
def test_text_that_is_no_toml_stops_the_scan(text: str) -> None:
    """Lines found before the mistake stay; nothing is raised."""
    places = find_places(f"ok = 1\n{text}\nlater = 2\n")

    assert places.line(("ok",)) == 1
    assert places.line(("nowhere", 3)) == 0

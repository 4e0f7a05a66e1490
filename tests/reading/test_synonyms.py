"""Everyday words: what people call a thing leads to the word of the tables, not to a lookalike."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from supplycalc.catalogue import load_catalogue
from supplycalc.reading.fields import SECTIONS
from supplycalc.reading.keys import Key
from supplycalc.reading.synonyms import SYNONYMS, meant_by
from tests.reading.good import problems_of, spoilt


def _lists() -> dict[str, tuple[str, ...]]:
    shipped = load_catalogue()
    kinds = {kind for joining in shipped.joinings.values() for kind in joining.kinds}
    return {
        "fixtures": tuple(shipped.fixtures),
        "devices": tuple(shipped.devices),
        "tubes": tuple(shipped.tubes),
        "joinings": tuple(shipped.joinings),
        "fittings": tuple(kinds),
        "units": ("us", "metric"),
        "kind": ("well", "main", "tank", "spring"),
        "keys": tuple({key.name for section in SECTIONS for key in _every(section.keys)}),
    }


def _every(keys: tuple[Key, ...]) -> Iterator[Key]:
    for key in keys:
        yield key
        yield from _every(key.keys)


def test_every_everyday_word_leads_to_a_word_of_the_catalogue() -> None:
    """None of them is a catalogue word itself, and each is written as it is looked up."""
    lists = _lists()
    kinds = load_catalogue().devices.values()
    devices = {word: kind.name for kind in kinds for word in kind.words}
    assert len(devices) == sum(len(kind.words) for kind in kinds)
    assert {*SYNONYMS, "devices"} == set(lists)
    for among, words in {**SYNONYMS, "devices": devices}.items():
        for word, meant in words.items():
            each = (meant,) if isinstance(meant, str) else meant
            assert {*each} <= {*lists[among]}, word
            assert meant_by(among, word.upper(), lists[among]) in (*each, word), word


@pytest.mark.parametrize(
    ("word", "kind"),
    [
        ("toilet", "water-closet"),
        ("WC", "water-closet"),
        ("basin", "lavatory"),
        ("washing machine", "clothes-washer"),
        ("Kitchen Sink", "kitchen-sink"),
        ("hose", "hose-bibb"),
        ("toliet", "water-closet"),
        ("shwer", "shower"),
    ],
)
def test_a_fixture_by_its_everyday_name(word: str, kind: str) -> None:
    """By likeness of letters alone "basin" would lead to a bar sink."""
    (problem,) = problems_of(spoilt('"water-closet"', f'"{word}"'))
    assert problem.endswith(f"is not a known kind of fixture; did you mean {kind!r}?")


@pytest.mark.parametrize(
    ("right", "wrong", "meant"),
    [('demand = "irc"', 'units = "imperial"', "us"), ('kind = "well"', 'kind = "city"', "main")],
)
def test_other_words_by_their_everyday_name(right: str, wrong: str, meant: str) -> None:
    """By letters alone "imperial" would lead to metric."""
    (problem, *_) = problems_of(spoilt(right, wrong))
    assert problem.endswith(f"is not one of the choices; did you mean {meant!r}?")


def test_a_tube_of_ones_own_is_told_its_parts() -> None:
    """Which diameter stands where."""
    own = '[[tube]]\nname = "old"\nroughness = "0.01 mm"\nsizes = [["1/2", "0.6 in"]]\n\n[source]'
    (problem,) = problems_of(spoilt("[source]", own))
    assert "a list of 3, nominal size, outside and inside diameter; write it like" in problem


def test_a_word_like_none_is_told_with_the_choices() -> None:
    """All kinds of fixture; of the many tubes, the place where they are listed."""
    (problem,) = problems_of(spoilt('"water-closet"', '"zzz"'))
    assert "; choose from: tub-shower, " in problem
    (problem,) = problems_of(spoilt('material = "pex-sdr9"', 'material = "zzz"'))
    assert problem.endswith("is not a known material; 'supplycalc sources' lists them")

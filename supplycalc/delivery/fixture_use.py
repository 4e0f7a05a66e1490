"""A fixture in use: which sides are open and how far, and the orifice that this makes of it."""

from __future__ import annotations

import functools
import math
from collections.abc import Iterable
from typing import ClassVar, Literal

from msgspec import Struct

from supplycalc.model import Fixture, House
from supplycalc.network import Outlet, Tree
from supplycalc.problems import InputError, Place, Problem
from supplycalc.records import Form
from supplycalc.tables import Citation, citation_of, load_table, to_si
from supplycalc.units.quantities import Flow, Pressure

Through = Literal["cold", "hot", "both"]


class FixtureUse(Struct, frozen=True, kw_only=True):
    """One outlet that is open, wholly or in part."""

    form: ClassVar[Form] = Form(
        omit=("fixture",), rename={"fixture_name": "fixture"}, add=("name", "fixture_name")
    )

    fixture: Fixture
    through: Through
    share: float = 1.0
    """How far it is open: share of its full orifice."""

    @property
    def name(self) -> str:
        """The fixture's name, with the side where only one of two is opened."""
        two = self.fixture.cold is not None and self.fixture.hot is not None
        one_side = two and self.through != "both"
        return f"{self.fixture.name} ({self.through})" if one_side else self.fixture.name

    @property
    def fixture_name(self) -> str:
        """Without the side."""
        return self.fixture.name

    def outlets(self, tree: Tree) -> list[Outlet]:
        """The fixture's connections that are open, cold before hot."""
        return [
            outlet
            for outlet in tree.outlets
            if outlet.fixture is self.fixture and self.through in (outlet.side, "both")
        ]

    def mixing_valve(self, tree: Tree) -> str:
        """Kind of the fixture's mixing valve: the file's, else the usual one."""
        return self.fixture.valve or tree.kind_of(self.fixture).valves[0]


class Rating(Struct, frozen=True, kw_only=True):
    """An outlet's rated point and regulator."""

    flow: Flow
    """Of the fully open outlet at `pressure`."""
    pressure: Pressure
    cap: Flow
    """inf without a regulator"""
    coefficient: float
    """C of q = C sqrt(p), as far as it is open [m3/s per sqrt(Pa)]."""


@functools.cache
def figure(group: str, name: str) -> tuple[float, Citation]:
    """A figure of delivery.toml in SI with its source [SI]."""
    row = load_table("delivery")[group][name]
    return to_si(row["value"], row["unit"]), citation_of(row)


def full_use(fixture: Fixture) -> FixtureUse:
    """A fixture opened as far as it goes, mixing where it has both sides."""
    through: Through = "both"
    if fixture.cold is None or fixture.hot is None:
        through = "cold" if fixture.hot is None else "hot"
    return FixtureUse(fixture=fixture, through=through)


def parse_uses(house: House, texts: Iterable[str]) -> tuple[FixtureUse, ...]:
    """Read what is open, such as "kitchen sink", "bath@50%" or "basin (hot)".

    Raises:
        InputError: an unknown fixture, a side it does not have, a share out of range, or one
            fixture opened twice.
    """
    fixtures = {fixture.name: fixture for fixture in house.fixtures}
    uses: list[FixtureUse] = []
    problems: list[Problem] = []
    for text in texts:
        use = _parse_use(text, fixtures)
        if isinstance(use, Problem):
            problems.append(use)
        elif any(other.fixture.name == use.fixture.name for other in uses):
            problems.append(_problem(f"{use.fixture.name!r} is opened twice"))
        else:
            uses.append(use)
    if problems:
        raise InputError(problems)
    return tuple(uses)


def _parse_use(text: str, fixtures: dict[str, Fixture]) -> FixtureUse | Problem:
    from supplycalc.model.opened import opened_name

    opened = opened_name(text, fixtures)
    name, through, share = opened.fixture, opened.side, opened.share
    if not 0.0 < share <= 1.0:
        return _problem(f"{text!r}: an outlet is open by more than 0 and at most 100 %")
    if name not in fixtures:
        return _problem(f"there is no fixture {name!r}", name, tuple(fixtures))
    whole = full_use(fixtures[name])
    if through is None:
        return FixtureUse(fixture=whole.fixture, through=whole.through, share=share)
    if whole.through not in ("both", through):
        return _problem(f"{name!r} has no {through} side")
    side: Through = "cold" if through == "cold" else "hot"
    return FixtureUse(fixture=whole.fixture, through=side, share=share)


def _problem(message: str, value: str = "", valid: tuple[str, ...] = ()) -> Problem:
    return Problem(place=Place("--open"), message=message, value=value, valid=valid)


def has_regulator(fixture: Fixture) -> bool:
    """Whether something holds a fixture's flow down where pressure is high.

    Returns:
        True for the kinds whose flow the code limits, unless the file says otherwise.

    Source: delivery.toml, kind by kind.
    """
    return fixture.regulator != "none" and fixture.kind in load_table("delivery")["regulator"]


def rating(use: FixtureUse, tree: Tree) -> Rating:
    """Rated flow and pressure of an opened outlet, its regulator and its orifice.

    A regulator holds the published maximum flow of its kind of fixture, or the rated flow where
    that is more; a user's own flow is taken for both, unless the file says `regulator = "none"`. A
    machine draws what its own valves let through, not what the open stop would give.

    Raises:
        InputError: its rated pressure is not above zero, so that it gives no orifice.

    Source: orifice law q = C sqrt(p) through the rated point; regulators by IRC Table P2903.2,
        machines by the Peak Water Demand Study.
    """
    outlet = next(outlet for outlet in tree.outlets if outlet.fixture.name == use.fixture.name)
    if outlet.required_pressure <= 0.0:
        raise InputError(
            [
                Problem(
                    place=use.fixture.place,
                    message=f"{use.fixture.name!r} needs no pressure, so nothing says how its flow "
                    "goes with pressure; give a pressure above 0",
                )
            ]
        )
    flow, cap = outlet.flow, math.inf
    kind = use.fixture.kind
    if kind in load_table("delivery")["machine"]:
        if use.fixture.flow is None:
            flow = figure("machine", kind)[0]
        cap = flow
    elif has_regulator(use.fixture):
        cap = flow
        if use.fixture.flow is None:
            cap = max(cap, figure("regulator", kind)[0])
    return Rating(
        flow=flow,
        pressure=outlet.required_pressure,
        cap=cap,
        coefficient=use.share * flow / math.sqrt(outlet.required_pressure),
    )

"""How much water stands in each part, and how much bleach each dose of chlorine takes."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import ClassVar, Literal

from msgspec import Struct

from supplycalc.demand import Book, book_of
from supplycalc.findings.words import listed
from supplycalc.hydraulics.friction import flow_area
from supplycalc.model import Well
from supplycalc.network import well_side
from supplycalc.questions.commission.expansion import heater_volume
from supplycalc.questions.hot.cold_pipe import pipe_volume
from supplycalc.questions.slab.checklist import CitedText, rows_of_book
from supplycalc.records import Form
from supplycalc.records.sentences import sentence
from supplycalc.sizing.design import Design, RunResult
from supplycalc.supply.far_tank import far_tanks_of
from supplycalc.supply.several_wells import named_wells
from supplycalc.supply.station import settings_of_switch, vessel_at_switch
from supplycalc.supply.tank import water_held
from supplycalc.tables import citation_of, load_table, to_si
from supplycalc.units import UnitSystem
from supplycalc.units.quantities import Chlorine, Dose, Volume

Of = Literal["house", "well", "open tank"]
"""What a dose is for."""
PER_CENT = 10.0
"""[kg/m3] of chlorine in a solution of one trade per cent: 10 g in a litre"""


class WaterPart(Struct, frozen=True, kw_only=True):
    """A part of the supply and the water in it."""

    name: str
    of: Of
    volume: Volume | None
    """None: the file does not tell."""
    note: str = ""
    """What is not known, or how it was taken."""


class Bleach(Struct, frozen=True, kw_only=True):
    """A solution and how much of it a dose takes."""

    what: str
    percent: float
    """Available chlorine by its label: grams in 100 mL."""
    volume: Dose


class Disinfection(CitedText, frozen=True, kw_only=True):
    """A dose of chlorine by a published rule, for this house."""

    of: Of
    strength: Chlorine
    hours: float
    """That it is held."""
    water: Volume
    bleach: tuple[Bleach, ...]


def chlorine_solution(water: Volume, strength: Chlorine, percent: float) -> float:
    """Solution that brings water to a strength.

    Args:
        percent: available chlorine, grams in 100 mL.

    Returns:
        Volume of solution [m3].

    Source: mass balance; trade per cent as in Indiana 327 IAC 8-3.4-24.
    """
    return water * strength / (percent * PER_CENT)


def pipes(design: Design) -> tuple[RunResult, ...]:
    """Every run that is there, from the water down."""
    planned = {fixture.name for fixture in design.house.fixtures if fixture.planned}
    return tuple(run for run in design.every_run if run.run.fixture not in planned)


def water_parts(design: Design) -> Iterator[WaterPart]:
    """What holds water, from the well down; a tank as full as the pump fills it.

    Source: geometry; Boyle's law for tanks.
    """
    yield from _wells(design)
    yield from _open_tank(design)
    named: dict[str, list[float]] = {}
    for run in pipes(design):
        name = "pipe from the well" if run.before_tank else f"{run.side} pipe"
        named.setdefault(name, []).append(pipe_volume(run))
    for name, volumes in named.items():
        yield WaterPart(name=name, of="house", volume=math.fsum(volumes))
    yield from _tanks(design)
    for heater in design.devices:
        if design.tree.does(heater.device, "stores"):
            volume, assumed = heater_volume(design, heater.device)
            note = "assumed" if assumed else ""
            yield WaterPart(name=heater.name, of="house", volume=volume, note=note)


def _wells(design: Design) -> Iterator[WaterPart]:
    house = well_side(design.house)
    if house.source.kind != "well" or house.source.open_water:
        return
    for name, alone in named_wells(house):
        well = alone.source.well or Well()
        depth = well.pump_depth if well.depth is None else well.depth
        known = (
            ("the casing's inside diameter", well.diameter),
            ("the depth to the water", well.static_level),
            ("the depth of the hole", depth),
        )
        missing = [what for what, value in known if value is None]
        volume, note = None, f"measure {listed(missing)}"
        if well.diameter is not None and well.static_level is not None and depth is not None:
            volume = flow_area(well.diameter) * (depth - well.static_level)
            note = "" if well.depth is not None else "down to the pump; add what lies below it"
        yield WaterPart(name=name or "well", of="well", volume=volume, note=note)


def _open_tank(design: Design) -> Iterator[WaterPart]:
    source = design.house.source
    if source.open_water:
        note = "between its levels" if source.volume is not None else "measure what it holds"
        name = "spring box" if source.kind == "spring" else "open tank"
        yield WaterPart(name=name, of="open tank", volume=source.volume, note=note)


def _tanks(design: Design) -> Iterator[WaterPart]:
    house = design.house
    if settings_of_switch(house) is None:
        return
    first = "pressure tank" if house.source.tank is None else house.source.tank.name
    far = ((tank.name, tank.vessel) for tank in far_tanks_of(design.tree))
    for name, tank in ((first, vessel_at_switch(house)), *far):
        volume, note = None, "its volume is not given"
        if tank is not None:
            volume = water_held(tank.volume, tank.precharge, tank.cut_out, tank.atmosphere)
            note = "as full as it gets"
        yield WaterPart(name=name, of="house", volume=volume, note=note)


def in_all(parts: Sequence[WaterPart], of: Of) -> float:
    """Water in the parts of a kind whose volume is known [m3]."""
    return math.fsum(part.volume or 0.0 for part in parts if part.of == of)


def disinfections(design: Design, parts: Sequence[WaterPart]) -> tuple[Disinfection, ...]:
    """The published doses for what the house has, the usual one first.

    Source: named by each row of data/commission.toml.
    """
    book, there = book_of(design.house), {part.of for part in parts}
    here = "european" if book == "european" else "american"
    sold = [row for row in load_table("commission")["bleach"]["rows"] if row[0] == here]
    told = []
    for _, row in rows_of_book(load_table("commission")["dose"], book):
        if row["of"] not in there:
            continue
        strength = to_si(row["strength"], row["unit"])
        water = in_all(parts, row["of"])
        told.append(
            Disinfection(
                title=row["title"],
                source=citation_of(row),
                of=row["of"],
                strength=strength,
                hours=float(row["hours"]),
                water=water,
                bleach=tuple(
                    Bleach(
                        what=what,
                        percent=percent,
                        volume=chlorine_solution(water, strength, percent),
                    )
                    for _, percent, what in sold
                ),
            )
        )
    return tuple(told)


class Instruction(CitedText, frozen=True, kw_only=True):
    """Something to do that fits what the house has."""

    form: ClassVar[Form] = Form(omit=("source",))

    step: str
    text: str

    def said(self, system: UnitSystem) -> str:
        """In the reader's words."""
        return sentence(self.text, (), system)


def instructions(book: Book, there: frozenset[str]) -> tuple[Instruction, ...]:
    """What to do, in the order of the work.

    Args:
        there: which of the conditions hold, such as "heater".

    Source: named by each row of data/commission.toml.
    """
    return tuple(
        Instruction(title=name, step=row["step"], text=row["text"], source=citation_of(row))
        for name, row in rows_of_book(load_table("commission")["item"], book)
        if row["when"] in ("always", *there)
    )

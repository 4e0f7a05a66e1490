"""Before a supply is used: test, volumes, flushing, chlorine, expansion, settings, readings."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import ClassVar

from msgspec import Struct

from supplycalc.demand import book_of
from supplycalc.findings.rule import limit_by_book
from supplycalc.findings.words import is_are, listed
from supplycalc.hydraulics.friction import flow_area
from supplycalc.model import House
from supplycalc.output.cautions import cautions
from supplycalc.questions.commission.expansion import Expansion, expansions
from supplycalc.questions.commission.flushing import Flushing, flushing
from supplycalc.questions.commission.settings import (
    ExpectedReading,
    SettingToMake,
    expected_readings,
    isolated,
    settings_to_make,
    treatment,
)
from supplycalc.questions.commission.water import (
    Disinfection,
    Instruction,
    WaterPart,
    disinfections,
    in_all,
    instructions,
    water_parts,
)
from supplycalc.questions.size.study import size
from supplycalc.questions.slab.checklist import PressureTest, checklist, pressure_tests
from supplycalc.records import Form
from supplycalc.records.sentences import Assumption, Finding
from supplycalc.sizing.design import Design, DesignAnswer
from supplycalc.sizing.pressure_range import PipePressure, pipe_pressures, pressure_to_test
from supplycalc.tables import Citation
from supplycalc.units import FOOT, INCH, UnitSystem, show
from supplycalc.units.quantities import Pressure, Volume

CARE = (
    "Air: no compressed air in plastic pipe unless its maker and the inspector allow it, nobody "
    "near; let pressure off before a joint is opened.",
    "Chlorine: gloves, goggles, outdoors, no children. With acid, vinegar, rust remover or ammonia "
    "bleach makes gas that kills.",
    "Wells and tanks: never lean or climb in: there may be no air to breathe.",
    "Electricity: pump locked out before well cap, switch or the tank's air is touched.",
    "Heater: no power and no flame before it is full and the chlorine is out.",
)
"""What hurts on this day; common practice, no source."""


class TestedPart(Struct, frozen=True, kw_only=True):
    """A part of the pipe that is tested by itself, as another pressure stands in it."""

    name: str
    highest: Pressure
    """In ordinary use."""
    highest_in: str
    """The pipe at whose lowest end it stands."""
    tests: tuple[PressureTest, ...]
    """By the book in force, then by others."""
    over_rating: tuple[str, ...]
    """Pipe that the test of the book asks more of than it is rated for."""


class CommissionStudy(DesignAnswer, frozen=True, kw_only=True):
    """What is done before a supply is used, with this house's figures."""

    schema: ClassVar[str] = "supplycalc-commission/1"
    form: ClassVar[Form] = Form(omit=("design",), add=("answer", "cautions"))

    tested: tuple[TestedPart, ...]
    isolated: tuple[str, ...]
    """What is shut off for the test."""
    bypassed: tuple[str, ...]
    """Treatment that chlorine harms, or that eats it."""
    water: tuple[WaterPart, ...]
    flushing: Flushing
    disinfections: tuple[Disinfection, ...]
    instructions: tuple[Instruction, ...]
    expansions: tuple[Expansion, ...]
    settings: tuple[SettingToMake, ...]
    readings: tuple[ExpectedReading, ...]
    findings: tuple[Finding, ...]
    assumptions: tuple[Assumption, ...]

    @property
    def ok(self) -> bool:
        """True when the design passes and nothing here fails."""
        return self.design.ok and not any(it.level == "fail" for it in self.findings)

    @property
    def most_asked(self) -> Pressure:
        """The highest of the test pressures."""
        return max(test.pressure for part in self.tested for test in part.tests)

    @property
    def doses_for(self) -> tuple[str, ...]:
        """What gets a dose, the well first, as its water fills the rest."""
        there = [it.of for it in self.disinfections]
        return tuple(of for of in ("well", "open tank", "house") if of in there)

    @property
    def heats(self) -> bool:
        """Whether there is a heater."""
        return "hot" in self.design.tree.side

    @property
    def wells(self) -> int:
        """How many wells there are."""
        return sum(part.of == "well" for part in self.water)

    @property
    def only_if_asked(self) -> bool:
        """Whether a house is only flushed, not chlorinated, unless somebody asks for it."""
        return any(it.title == "only-if-asked" for it in self.instructions)

    @property
    def cited(self) -> tuple[Citation, ...]:
        """Where test and dose come from."""
        return (self.tested[0].tests[0].source, self.dose("house").source)

    @property
    def cautions(self) -> tuple[str, ...]:
        """What hurts on this day, then what belongs beside the design."""
        return (*CARE, *cautions(self.design))

    def answer(self, system: UnitSystem) -> str:
        """What comes before the first glass, in a sentence or two."""
        if not self.design.ok:
            return f"Mend first. {self.design.verdict(system)}"
        test, dose = self.tested[0].tests[0], self.dose("house")
        held = f"{show(dose.strength, 'chlorine', system)} (ppm) of chlorine for {dose.hours:.0f} h"
        if self.only_if_asked:
            held += " if it is asked for"
        return (
            f"Before anyone drinks: test at {show(test.pressure, 'pressure', system)}, flush, "
            f"{held}, rinse, a clean sample."
        )

    def dose(self, of: str) -> Disinfection:
        """The usual dose for a part that the house has."""
        return next(it for it in self.disinfections if it.of == of)


def commission(house: House, method: str | None = None) -> CommissionStudy:
    """Reckon what a house asks for before it is used.

    Raises:
        ComputationError: no trustworthy result can be computed.
    """
    return commission_of(size(house, method))


def commission_of(design: Design) -> CommissionStudy:
    """The same for a design that is sized already; see `commission`."""
    tested = tuple(_tested(design))
    parts, grown = tuple(water_parts(design)), tuple(expansions(design))
    flushed = flushing(design)
    highest = max(test.pressure for part in tested for test in part.tests)
    return CommissionStudy(
        design=design,
        tested=tested,
        bypassed=treatment(design),
        isolated=tuple(dict.fromkeys(isolated(design, highest))),
        water=parts,
        flushing=flushed,
        disinfections=disinfections(design, parts),
        instructions=(
            *_dry_test(design),
            *instructions(book_of(design.house), frozenset(_there(design, parts))),
        ),
        expansions=grown,
        settings=tuple(settings_to_make(design, grown)),
        readings=tuple(expected_readings(design)),
        findings=tuple(_findings(design, tested, flushed, grown, parts)),
        assumptions=tuple(_assumptions(grown)),
    )


def _dry_test(design: Design) -> Iterator[Instruction]:
    """The rule of testing without water, where a book has one; the same that a pour is told."""
    tubes = {run.material for run in design.every_run}
    for item in checklist(tubes, buried=True, embedded=False, book=book_of(design.house)):
        if item.title == "Dry test":
            yield Instruction(title="dry-test", step="test", text=item.text, source=item.source)


def _there(design: Design, parts: Sequence[WaterPart]) -> Iterator[str]:
    """Which conditions of instructions hold."""
    house, tree = design.house, design.tree
    if house.source.kind == "main":
        yield "main"
    if any(part.of == "well" for part in parts):
        yield "well"
    if house.source.open_water:
        yield "open water"
    if house.source.kind == "well":
        yield "pressure tank"
    pump = house.source.pump
    if pump is not None and (house.suction or house.source.open_water or pump.kind == "jet"):
        yield "pump above water"
    if any(not run.tube.metal for run in design.every_run):
        yield "plastic"
    if any(tree.catalogue.devices[it.kind].hot for it in design.devices):
        yield "heater"
    if treatment(design):
        yield "treatment"


def _tested(design: Design) -> Iterator[TestedPart]:
    """The house, what stands before a reducing valve, and the line from the well.

    A drop pipe is tested by its pump.
    """
    reduced = any(it.device.setting is not None for it in design.devices)
    groups: dict[str, list[tuple[float, PipePressure]]] = {}
    for pipe in pipe_pressures(design):
        if pipe.index is None:
            name = "line from the well"
        elif not reduced or pipe.failed_valve is not None:
            name = "house"
        else:
            name = "before the reducing valve"
        if pipe.low_level is None:
            groups.setdefault(name, []).append((pressure_to_test(design, pipe), pipe))
    book, cold = book_of(design.house), design.house.water.cold
    for name in sorted(groups, key=("house", *groups).index):
        highest, lowest = max(groups[name], key=lambda pair: pair[0])
        tests = pressure_tests(highest, {pipe.tube.name for _, pipe in groups[name]}, book=book)
        over = [
            pipe.name
            for _, pipe in groups[name]
            if (rating := pipe.tube.pressure_rating(pipe.size, cold)) is not None
            and tests[0].pressure > tests[0].times * rating * (1.0 + 1e-6)
        ]
        yield TestedPart(
            name=name,
            highest=highest,
            highest_in=lowest.name,
            tests=tests,
            over_rating=tuple(over),
        )


def _findings(
    design: Design,
    tested: Sequence[TestedPart],
    flushed: Flushing,
    grown: Sequence[Expansion],
    parts: Sequence[WaterPart],
) -> Iterator[Finding]:
    yield from _of_test(design, tested)
    yield from (it for it in design.findings if it.code == "precharge")
    for each in grown:
        yield from _of_expansion(design, each)
    yield from _of_flushing(design, flushed, in_all(parts, "well"))
    wells = {part.name: part.note for part in parts if part.of == "well" and part.note}
    if wells:
        yield Finding(
            level="note",
            code="well-water-unknown",
            where=listed(wells),
            message=f"water in the casing: {listed(wells.values())}; each {{0}} of a {{1}} casing "
            "holds {2}",
            values=(*_per_length(design),),
            remedy="measure casing and water (weighted line, driller's log): the dose rests on it; "
            "write diameter, static_level and depth in [source.well]",
        )


def _of_test(design: Design, tested: Sequence[TestedPart]) -> Iterator[Finding]:
    for pipe in tested:
        if pipe.over_rating:
            yield Finding(
                level="warn",
                code="test-over-rating",
                where=listed(pipe.over_rating),
                message="rated for less than the test pressure of {0}",
                values=((pipe.tests[0].pressure, "pressure"),),
                remedy="test apart, at no more than the tube maker allows, and ask the inspector",
                source=pipe.tests[0].source,
            )
    old = [run.name for run in design.every_run if run.run.existing and not run.run.fed_back]
    if old:
        yield Finding(
            level="warn",
            code="test-existing",
            where=listed(old),
            message="there already: the test may burst old pipe",
            remedy="test the new pipe apart, before it is joined to the old",
        )


def _per_length(design: Design) -> Iterator[tuple[float, str]]:
    """A round length of casing, its diameter and the water in it."""
    well = design.house.source.well
    inside = 6 * INCH if well is None or well.diameter is None else well.diameter
    length = 10 * FOOT if design.house.project.units == "us" else 1.0
    yield length, "length"
    yield inside, "cover"
    yield flow_area(inside) * length, "volume"


def _of_expansion(design: Design, each: Expansion) -> Iterator[Finding]:
    if each.closed_by:
        fit = "take an expansion tank of {0} or more, its air at {1}" if each.tank else ""
        yield Finding(
            level="note",
            code="expansion-closed",
            where=each.heater,
            message=f"{listed(each.closed_by)} {is_are(each.closed_by, 'closes', 'close')} the "
            "way back: heating drives {0} out of its relief valve at {1}",
            values=((each.grows, "pipe-volume"), (each.relief, "setting")),
            remedy=fit,
            remedy_values=((each.tank or 0.0, "volume"), (each.charge or 0.0, "setting")),
            source=limit_by_book(design, "expansion-control").citation,
        )
    elif each.reaches is not None and each.reaches > each.most:
        yield Finding(
            level="warn",
            code="expansion-high",
            where=each.heater,
            message=f"the {each.taken_by} has little room: heating lifts the pressure from {{0}} "
            "to {1}; {2} is the most",
            values=(
                (each.at_rest, "pressure"),
                (min(each.reaches, each.relief), "pressure"),
                (each.most, "pressure"),
            ),
            remedy="a larger pressure tank, or an expansion tank at the heater",
        )


def _of_flushing(design: Design, flushed: Flushing, bore: Volume) -> Iterator[Finding]:
    slow = [main for main in flushed.mains if not main.reached]
    if slow:
        worst = min(slow, key=lambda main: main.flow / main.needed)
        names = [main.result.name for main in slow]
        yield Finding(
            level="note",
            code="flush-slow",
            where=listed(names),
            message=f"{is_are(names, 'runs', 'run')} slower than {{0}} with all behind it open, "
            f"{worst.result.name} at {{1}}: grit may stay",
            values=((flushed.velocity, "velocity"), (worst.velocity, "velocity")),
            remedy="flush through an open end into a hose before the last joint, or for longer",
            source=flushed.velocity_source,
        )
    sustained = None if design.pump is None else design.pump.sustained
    if sustained is None or sustained >= flushed.flow:
        return
    missing = flushed.water * (1.0 - sustained / flushed.flow)
    if missing > bore:
        yield Finding(
            level="warn",
            code="flush-well",
            where="well",
            message="gives {0} for good and flushing takes up to {1}, {2} in all",
            values=((sustained, "flow"), (flushed.flow, "flow"), (flushed.water, "volume")),
            remedy="flush in turns with rests, watch that the pump never draws air",
        )


def _assumptions(grown: Sequence[Expansion]) -> Iterator[Assumption]:
    for each in grown:
        if each.volume_assumed:
            yield Assumption(
                text=f"{each.heater} holds {{0}} (write volume in its [[device]])",
                values=((each.volume, "volume"),),
            )
    yield Assumption(text="bleach as strong as its label says: fresh, plain, well closed")

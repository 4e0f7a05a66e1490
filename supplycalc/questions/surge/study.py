"""Water hammer: the peak at every quick valve and as the pump stops, what cures it, and noise."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import ClassVar

from msgspec import Struct

from supplycalc.findings.rule import by_american_code, limit_by_book
from supplycalc.findings.water_hammer import needs_arrestor
from supplycalc.findings.words import listed, nominal_of
from supplycalc.model import House
from supplycalc.output.cautions import cautions
from supplycalc.questions.size.study import size
from supplycalc.records import Form
from supplycalc.records.sentences import Assumption, Finding
from supplycalc.sizing.design import Design, DesignAnswer
from supplycalc.sizing.water_hammer import (
    PeakInRun,
    PumpStop,
    QuickValve,
    pump_stops,
    valves_and_peaks,
)
from supplycalc.tables import Citation, CodeLimit, citation_of, limit, load_table
from supplycalc.units import UnitSystem, show
from supplycalc.units.quantities import ClosingTime, Length, Pressure, Velocity

CODES = ("water-hammer", "pump-stop")
"""Of the findings of `size` that this question tells again."""
CARE = (
    "Water hammer: let the pressure off before a joint is opened. Fasten pipe so that it can't "
    "strike wood; a capped stub of air soon fills with water and is no arrestor. Keep arrestors "
    "where they can be reached, upright or as their maker says.",
    "Hoses: a machine's hose bears the same peak each time. Braided ones, changed after a few "
    "years; shut the stop when away.",
)
"""What hurts; common practice, no source."""


class Cure(Struct, frozen=True, kw_only=True):
    """A quick valve, and each change that alone would keep its peak within the limit."""

    form: ClassVar[Form] = Form(omit=("valve",), add=("valve.name",))

    valve: QuickValve
    arrestor: str | None
    """Size to fit; None: it is within the limit, and no code asks for one, or it has one."""
    larger: str | None
    """Next size of its branch; None: none is larger."""
    larger_peak: Pressure | None
    rest_at_most: Pressure | None
    """With nothing running; None: the house would fall short then."""
    shut_in: ClosingTime
    """At least."""


class SurgeStudy(DesignAnswer, frozen=True, kw_only=True):
    """What quick valves and a stopping pump do to a house's pipe."""

    schema: ClassVar[str] = "supplycalc-surge/1"
    form: ClassVar[Form] = Form(omit=("design", "limit"), add=("answer", "most", "cautions"))

    limit: CodeLimit
    valves: tuple[QuickValve, ...]
    """Those that nobody shuts by hand first, each with the highest peak first."""
    cures: tuple[Cure, ...]
    """In the same order."""
    pipes: tuple[PeakInRun, ...]
    """Behind the tank, or the main."""
    pump: tuple[PumpStop, ...]
    """Before the tank."""
    held: bool
    """Whether the pump slows down by itself, so that its bound is that of a power cut."""
    quick_branch: Velocity
    """Advised at most in the branch of a quick valve."""
    findings: tuple[Finding, ...]
    assumptions: tuple[Assumption, ...]

    @property
    def most(self) -> Pressure:
        """The limit of a peak."""
        return self.limit.value

    @property
    def quick(self) -> tuple[QuickValve, ...]:
        """Those for which the codes' rule is meant."""
        return tuple(valve for valve in self.valves if not valve.closing.slow)

    @property
    def to_fit(self) -> tuple[Cure, ...]:
        """Connections that need an arrestor and have none."""
        return tuple(cure for cure in self.cures if cure.arrestor is not None)

    @property
    def near(self) -> Length:
        """How far from the fixture an arrestor stands at most."""
        return surge_limit("last-arrestor").value

    @property
    def cautions(self) -> tuple[str, ...]:
        """What hurts here, then what belongs beside the design."""
        return (*CARE, *cautions(self.design))

    def answer(self, system: UnitSystem) -> str:
        """Whether it bangs, and what to do, in a sentence or two."""
        if not self.design.ok:
            return f"Mend first. {self.design.verdict(system)}"
        return self.shock(system)

    def shock(self, system: UnitSystem) -> str:
        """The same whether the design passes or not."""
        bare = [valve for valve in self.valves if not valve.arrestor]
        if not bare:
            return (
                "Every valve that shuts fast has its arrestor."
                if self.valves
                else "No valve in this file shuts fast."
            )
        most = show(self.most, "pressure", system)
        worst = max(bare, key=lambda valve: valve.peak)
        reaches = f"{show(worst.peak, 'pressure', system)} at {worst.name}"
        rest = show(worst.at_rest, "pressure", system)
        as_it_shuts = f"up to {reaches} as it shuts ({rest} at rest)"
        if self.to_fit:
            names = listed(cure.valve.name for cure in self.to_fit)
            several = "s" if len(self.to_fit) > 1 else ""
            over = "" if worst.peak > self.most else f", under {most} anyway"
            as_asked = ", as codes ask" if by_american_code(self.design) else ""
            fit = f"Fit {_count(len(self.to_fit))} arrestor{several}{as_asked}: {names}"
            return f"{fit}. Without, {as_it_shuts}{over}."
        return f"No shock over {most}: {as_it_shuts}; upper bound."


def _count(number: int) -> str:
    return "an" if number == 1 else f"{number}"


def surge_limit(name: str) -> CodeLimit:
    """A limit of surge.toml by its name, in SI."""
    return limit("surge", name)


def surge(house: House, method: str | None = None) -> SurgeStudy:
    """Size what is open in a house and see what its valves and its pump do.

    Raises:
        ComputationError: no trustworthy result can be computed.
    """
    return surge_of(size(house, method))


def surge_of(design: Design) -> SurgeStudy:
    """The same for a design that is sized already; see `surge`."""
    most = limit_by_book(design, "surge-peak")
    valves, pipes = valves_and_peaks(design)
    stops = tuple(pump_stops(design))
    return SurgeStudy(
        design=design,
        limit=most,
        valves=valves,
        cures=tuple(_cure(design, valve, most.value) for valve in valves),
        pipes=pipes,
        pump=stops,
        held=design.pump is not None and design.pump.held,
        quick_branch=surge_limit("branch-velocity").value,
        findings=(*_of_design(design), *_of_valves(valves, most.value), *_of_pump(stops)),
        assumptions=tuple(_assumptions(design, valves)),
    )


def arrestor_size(units: float, at_rest: Pressure) -> str:
    """The letter of an arrestor by fixture units and pressure.

    Source: PDI-WH 201; the pressure while water flows is taken as that at rest.
    """
    rows = load_table("surge")["arrestor"]["rows"]
    place = next(i for i, (_, _, most) in enumerate(rows) if math.ceil(units) <= most)
    if at_rest > surge_limit("quiet-flow-pressure").value:
        place = min(place + 1, len(rows) - 1)
    return str(rows[place][0])


def arrestor_source() -> Citation:
    """Where the sizes of arrestors come from."""
    return citation_of(load_table("surge")["arrestor"])


def arrestors_to_fit(design: Design) -> Iterator[tuple[QuickValve, str]]:
    """Connections that need an arrestor and have none, each with its size."""
    for valve in valves_and_peaks(design, by_hand=False)[0]:
        if needs_arrestor(design, valve):
            yield valve, arrestor_size(valve.closing.units, valve.at_rest)


def _cure(design: Design, valve: QuickValve, most: Pressure) -> Cure:
    fit = needs_arrestor(design, valve)
    sizes = [size for size in valve.run.tube.sizes if size.common]
    wider = [size for size in sizes if size.inside_diameter > valve.run.inside_diameter]
    rest = most - valve.surge
    enough = valve.at_rest - rest <= design.worst.margin
    return Cure(
        valve=valve,
        arrestor=arrestor_size(valve.closing.units, valve.at_rest) if fit else None,
        larger=nominal_of(wider[0], valve.run.tube) if wider else None,
        larger_peak=valve.peak_in(wider[0]) if wider else None,
        rest_at_most=rest if rest > 0.0 and enough else None,
        shut_in=valve.needed_time(most - valve.at_rest),
    )


def _of_design(design: Design) -> Iterator[Finding]:
    """What `size` says of it too."""
    yield from (finding for finding in design.findings if finding.code in CODES)


def _of_valves(valves: tuple[QuickValve, ...], most: Pressure) -> Iterator[Finding]:
    hard = [
        valve for valve in valves if valve.closing.slow and not valve.arrestor and valve.peak > most
    ]
    if hard:
        yield Finding(
            level="note",
            code="shut-slowly",
            where=listed(valve.name for valve in hard),
            message="shut as fast as can be: up to {0}",
            values=((hard[0].peak, "pressure"),),
            remedy="shut it slowly, or fit an arrestor",
        )


def _of_pump(stops: tuple[PumpStop, ...]) -> Iterator[Finding]:
    parting = [stop for stop in stops if stop.parts]
    if parting:
        apart, above = surge_limit("check-valve-apart"), surge_limit("check-valve-above")
        yield Finding(
            level="note",
            code="column-parts",
            where=listed(stop.run.name for stop in parting),
            message="should the pump stop at once, the water may part there and slam together",
            remedy="a spring-loaded check valve at the pump, never a swing type; more of them at "
            "most {0} apart, the first at most {1} above the pumping level",
            remedy_values=((apart.value, "length"), (above.value, "length")),
            source=apart.citation,
        )


def _assumptions(design: Design, valves: tuple[QuickValve, ...]) -> Iterator[Assumption]:
    seen: dict[str, tuple[float, Citation, list[str]]] = {}
    for valve in valves:
        closing = valve.closing
        seen.setdefault(closing.title, (closing.time, closing.citation, []))[2].append(valve.kind)
    for title, (time, source, kinds) in seen.items():
        yield Assumption(
            text=f"{title} ({listed(kinds)}) shuts in {{0}}",
            values=((time, "closing-time"),),
            source=source,
        )
    layers = [run.tube.name for run in design.every_run if run.tube.name == "multilayer"]
    if layers:
        yield Assumption(
            text="multilayer pipe as stiff as with thin aluminium; thick aluminium adds up to a "
            "fifth to the wave"
        )
    unknown = [run.tube.name for run in design.every_run if run.tube.modulus(293.0) is None]
    if unknown:
        yield Assumption(
            text=f"{listed(unknown)}: as stiff as steel if of metal, as PVC if of plastic"
        )

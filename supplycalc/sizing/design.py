"""What `size` found: a design with every number that the outputs show, and its verdict."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, ClassVar, Literal

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.catalogue import Role, Tube, TubeSize
from supplycalc.demand.loads import Demand
from supplycalc.model import Device, Fixture, House, Run, Side
from supplycalc.network import Tree
from supplycalc.records import Form, Result, fields_to_data, quantity
from supplycalc.records.sentences import LEVELS, Assumption, Finding, Level, amount, sentence
from supplycalc.sizing.certainty import Certainty, SureSizes
from supplycalc.sizing.daily_use import DailyUse
from supplycalc.sizing.sizes_by_chance import SizesByChance
from supplycalc.supply.pump_check import ROUND_FIGURE, ComesOut, PumpCheck
from supplycalc.supply.source import SourcePressure
from supplycalc.units import UnitSystem, show
from supplycalc.units.dimensions import PSI
from supplycalc.units.quantities import (
    Diameter,
    Elevation,
    Flow,
    Length,
    Pressure,
    Temperature,
    Velocity,
)

__all__ = [
    "LEVELS",
    "Assumption",
    "Design",
    "DeviceResult",
    "Finding",
    "Level",
    "MarginPrice",
    "NextSmaller",
    "OutletResult",
    "Remedy",
    "RunResult",
    "cost_data",
    "verdict",
]

UNKNOWN_SIZE = "existing-size-unknown"
"""Code of the finding that says how far a verdict depends on pipe of unknown size."""
CREST, OVER_RATING = "crest", "rating-exceeded"
"""Code of the finding that water does not get over a height."""
THIN_MARGIN = 5 * PSI
"""[Pa] less than this to spare is called thin"""


class NextSmaller(Struct, frozen=True, kw_only=True):
    """What the next smaller size of one run would have done, all else as chosen."""

    form: ClassVar[Form] = Form(rename={"nominal": "size", "worst_name": "worst"})

    nominal: str
    velocity: Velocity
    loss: Pressure
    """In this run."""
    worst_margin: Pressure
    """At the fixture that would then be worst."""
    worst_name: str
    reason: str
    """In words: why it was not chosen."""


class RunResult(Struct, frozen=True, kw_only=True):
    """One pipe of the design."""

    form: ClassVar[Form] = Form(
        omit=("run", "index", "tube", "size", "load", "end_pressure", "static_end_pressure"),
        rename={
            "start": "from",
            "end": "to",
            "chosen": "size",
            "static_gain": "static_change",
            "pressure": "end_pressure",
            "static_pressure": "static_end_pressure",
        },
        add=(
            "pressure",
            "static_pressure",
            "name",
            "material",
            "chosen",
            "nominal",
            "inside_diameter",
            "length",
            "loss",
        ),
    )

    run: Run
    index: int
    side: Side
    tube: Tube
    size: TubeSize
    start: str
    end: str
    temperature: Temperature
    load: float
    """In the demand method's units."""
    design_flow: Flow
    velocity: Velocity
    velocity_limit: Velocity
    static_gain: Pressure
    friction_loss: Pressure
    """Along the developed length."""
    fitting_loss: Pressure
    """Of the listed fittings, or by the length added where none are."""
    k: float
    """Sum of the listed fittings' loss coefficients, a plain number."""
    counted_length: Length
    """Developed length with the fitting allowance, if that is used."""
    end_pressure: Pressure
    """At its end while the design flow runs; below 0 where the account does not reach."""
    static_end_pressure: Pressure
    """At its end with nothing running, at cut-out; below 0 above the water's reach."""
    decided_by: str
    next_smaller: NextSmaller | None
    allowed: tuple[str, ...]
    """Sizes the solver could choose from."""
    before_tank: bool = False
    """Whether it carries what the pump gives, not what the house draws."""

    @property
    def name(self) -> str:
        """Of the run."""
        return self.run.name

    @property
    def material(self) -> str:
        """Name of its tube family."""
        return self.run.material

    @property
    def nominal(self) -> str:
        """Its nominal size."""
        return self.size.nominal

    chosen = nominal
    """The same, as `size` in JSON."""

    @property
    def inside_diameter(self) -> Diameter:
        """Of its tube."""
        return self.size.inside_diameter

    @property
    def length(self) -> Length:
        """Developed length."""
        return self.run.length

    @property
    def pressure(self) -> Pressure | None:
        """At its end while the design flow runs; None where it is used up."""
        return None if self.end_pressure < 0.0 else self.end_pressure

    @property
    def static_pressure(self) -> Pressure:
        """At its end with nothing running; 0 where the water does not reach."""
        return max(self.static_end_pressure, 0.0)

    @property
    def loss(self) -> Pressure:
        """Friction and fittings together."""
        return self.friction_loss + self.fitting_loss


class DeviceResult(Struct, frozen=True, kw_only=True):
    """One device of the design."""

    form: ClassVar[Form] = Form(
        omit=("device", "index", "load", "end_pressure", "static_end_pressure"),
        rename={
            "start": "from",
            "end": "to",
            "static_gain": "static_change",
            "pressure": "end_pressure",
            "static_pressure": "static_end_pressure",
        },
        add=("pressure", "static_pressure", "name", "kind", "start", "end"),
    )

    device: Device
    index: int
    side: Side
    load: float
    """In the demand method's units."""
    design_flow: Flow
    static_gain: Pressure
    loss: Pressure
    end_pressure: Pressure
    static_end_pressure: Pressure
    assumed: bool
    """Whether its loss is the default of its kind."""
    before_tank: bool = False
    """Whether it carries what the pump gives, not what the house draws."""

    pressure = RunResult.pressure
    static_pressure = RunResult.static_pressure

    @property
    def name(self) -> str:
        """Of the device."""
        return self.device.name

    @property
    def kind(self) -> str:
        """Of the device."""
        return self.device.kind

    @property
    def start(self) -> str:
        """The point it is fed from."""
        return self.device.start

    @property
    def end(self) -> str:
        """The point it feeds."""
        return self.device.end


PlaceKind = Literal["", "crest", "low place"]


class ProfilePoint(Struct, frozen=True, kw_only=True):
    """A point of a line, with the pressures there."""

    distance: Length
    """Along the line."""
    height: Elevation
    at_rest: Pressure | None
    """With nothing running, when it is lowest; None: below that of the air."""
    flowing: Pressure | None
    """While the design flow runs; None: below that of the air."""
    highest: Pressure
    """With nothing running, in ordinary use."""
    kind: PlaceKind = ""
    clearing_flow: Flow | None = None
    """At a crest, what sweeps air down the pipe behind it."""


class LineProfile(Struct, frozen=True, kw_only=True):
    """A line with the heights of its way."""

    name: str
    runs: tuple[str, ...]
    design_flow: Flow
    points: tuple[ProfilePoint, ...]


class LineDesign(Struct, frozen=True, kw_only=True):
    """The line before the tank, sized."""

    form: ClassVar[Form] = Form(omit=("tree", "runs", "devices"))

    tree: Tree
    """Of one branch, the water first."""
    flow: Flow
    """What the pump gives through it at cut-in, or at the pressure it holds; without a pump that
    gives any, `wanted`."""
    wanted: Flow
    """What the pump should give there at least."""
    by_pump: bool
    """Whether `flow` is what the pump gives."""
    runs: tuple[RunResult, ...]
    devices: tuple[DeviceResult, ...]


class OutletResult(Struct, frozen=True, kw_only=True):
    """One fixture connection of the design."""

    form: ClassVar[Form] = Form(
        omit=("fixture", "index", "name"),
        rename={"fixture_name": "name"},
        add=("fixture_name", "kind", "margin", "planned"),
    )

    fixture: Fixture
    index: int
    side: Side
    name: str
    """Of the connection, such as "bath (hot)"."""
    elevation: Elevation
    path: tuple[str, ...]
    """Names of runs and devices from the source."""
    design_flow: Flow
    static_change: Pressure
    loss: Pressure
    residual: Pressure
    """0 where the pressure is used up on the way."""
    required: Pressure
    static_pressure: Pressure
    """With nothing running, at cut-out; 0 where the water does not reach."""
    used_up_in: str | None = None
    """The run or device in which the pressure is used up; None: it arrives."""

    @property
    def fixture_name(self) -> str:
        """Of the fixture."""
        return self.fixture.name

    @property
    def kind(self) -> str:
        """Of the fixture."""
        return self.fixture.kind

    @property
    def planned(self) -> bool:
        """Whether it is not there yet."""
        return self.fixture.planned

    @property
    def margin(self) -> Pressure:
        """Residual less required pressure."""
        return self.residual - self.required


Mends = Literal["pressure", "pump", "static", "rating"]
"""What a change mends: too little pressure at fixtures, a pump too small, too much at rest, or more
than pipe is rated for."""


MENDED: dict[str, Mends] = {CREST: "pressure", OVER_RATING: "rating"}
"""Failures whose first change is told instead of what usually helps."""


class Remedy(Struct, frozen=True, kw_only=True):
    """A change that was computed to work."""

    text: str
    values: tuple[tuple[float, str], ...] = ()
    worst_margin: Pressure = 0.0
    """After the change."""
    worst_name: str = ""
    cost: float = 0.0
    """Of all pipe after the change, on the design's basis."""
    sizes: tuple[tuple[str, str], ...] = ()
    """(run, nominal size) after the change; none where it asks for no other sizes."""
    mends: Mends = "pressure"
    pump: PumpCheck | None = None
    """The pump after the change, where it mends that."""

    def said(self, system: UnitSystem) -> str:
        """As an order, e.g. "set the pressure switch to 50.0 psi / 70.0 psi"."""
        return sentence(self.text, self.values, system)


class MarginPrice(Struct, frozen=True, kw_only=True):
    """What a pressure to spare at every fixture costs."""

    reserve: Pressure
    cost: float | None
    """Of all pipe, on the design's basis; None where no choice of sizes reaches it."""
    changes: tuple[tuple[str, str], ...] = ()
    """(run, nominal size) where it is not the one chosen."""


class Design(Result, frozen=True, kw_only=True):
    """A sized house."""

    schema: ClassVar[str] = "supplycalc-size/1"
    form: ClassVar[Form] = Form(
        omit=(
            "tree",
            "demand",
            "runs",
            "devices",
            "cost",
            "cost_basis",
            "currency",
            "remedies",
            "remedies_sought",
            "margin_prices",
            "works_only_if",
        ),
        rename={"outlets": "fixtures", "every_run": "runs", "every_device": "devices"},
        add=("method", "friction", "verdict", "every_run", "every_device"),
    )

    more_schema: ClassVar[dict[str, Any]] = {
        key: {"type": kind}
        for key, kind in (
            ("worst", "object"),
            ("cost", "object"),
            ("remedies", "array"),
            ("price_of_margin", "array"),
            ("by_chance", ["object", "null"]),
        )
    }

    tree: Tree
    demand: Demand
    source: SourcePressure
    runs: tuple[RunResult, ...]
    devices: tuple[DeviceResult, ...]
    outlets: tuple[OutletResult, ...]
    """Worst margin first."""
    cost: float
    """[kg], or in the price list's currency"""
    cost_basis: str
    optimal: bool
    """Whether the sizes are the cheapest that satisfy every limit."""
    shortfall: Pressure
    """How far the worst fixture falls short; 0 for a design with enough pressure."""
    least_shortfall: Pressure = 0.0
    """The same with the largest sizes permitted."""
    sized_for: int | None = None
    """Place of the remedy, from 0, whose sizes are shown; None: those of the house as it is."""
    margin_prices: tuple[MarginPrice, ...] = ()
    profiles: tuple[LineProfile, ...] = ()
    """The pressure line over the ground, of runs whose profile the file gives."""
    line: LineDesign | None = None
    """What stands before the tank; None where the file tells nothing of it. Of several wells the
    first one's way to where their lines meet."""
    more_lines: tuple[LineDesign, ...] = ()
    """Of the other wells to that point, and last what they share."""
    pump: PumpCheck | None = None
    """The well's pump, judged by itself; None on a main."""
    comes_out: ComesOut | None = None
    """What comes out at the peak where the pressure is used up before a fixture."""
    certainty: Certainty | None = None
    """How often it works within the file's ranges; None where it has none or it was not asked."""
    sure: SureSizes | None = None
    """Given where the sizes were asked to suffice in so many cases; they are shown if any do."""
    daily_use: DailyUse | None = None
    """The second verdict; None where it was not asked for or the fixtures are public."""
    by_chance: SizesByChance | None = None
    """The cheapest sizes for a limit of daily use, beside these; None where the file sets none."""
    findings: tuple[Finding, ...] = ()
    assumptions: tuple[Assumption, ...] = ()
    remedies: tuple[Remedy, ...] = ()
    remedies_sought: bool = True
    """Whether changes that mend a shortfall were looked for at all."""
    currency: str = ""
    """The price list's, where costs are prices."""
    works_only_if: str = ""
    """From which size on of old pipe that nobody knows the house works, up to the words for it in
    its least size; empty where it fails or works whatever that pipe is."""

    @property
    def house(self) -> House:
        """The house that was sized."""
        return self.tree.house

    @property
    def method(self) -> str:
        """Name of the demand method."""
        return self.demand.method

    @property
    def every_run(self) -> tuple[RunResult, ...]:
        """The runs before the tank, then those behind it."""
        return (*(run for line in self.lines for run in line.runs), *self.runs)

    @property
    def every_device(self) -> tuple[DeviceResult, ...]:
        """The devices before the tank, then those behind it."""
        return (*(device for line in self.lines for device in line.devices), *self.devices)

    @property
    def lines(self) -> tuple[LineDesign, ...]:
        """All that stands before the tank."""
        return () if self.line is None else (self.line, *self.more_lines)

    @property
    def stretches(self) -> tuple[Design, ...]:
        """Each line before the tank as a design of its own, and last what stands behind it."""
        source = self.source
        if self.line is not None and self.house.source.filled_by is not None:
            # over the inlet of an open tank
            elevation = self.line.tree.house.source.elevation
            source = replace(source, design_pressure=0.0, static_pressure=0.0, elevation=elevation)
        before = (
            replace(
                self, tree=line.tree, source=source, runs=line.runs, devices=line.devices,
                outlets=(), line=None, more_lines=(),
            )
            for line in self.lines
        )  # fmt: skip
        return (*before, self)

    @property
    def service(self) -> RunResult | None:
        """The run of all that start at the source that carries most, whatever the file's order."""
        from_source = [run for run in self.runs if self.tree.feeding_run[run.index] == 0]
        return min(
            from_source,
            key=lambda run: (run.run.fed_back, -run.design_flow, -run.load, run.name),
            default=None,
        )

    @property
    def worst(self) -> OutletResult:
        """The fixture connection with the least margin."""
        return self.outlets[0]

    @property
    def ok(self) -> bool:
        """True when no finding fails."""
        return not any(finding.level == "fail" for finding in self.findings)

    @property
    def sizes(self) -> dict[str, str]:
        """The nominal size of each run by its name."""
        return {result.name: result.nominal for result in self.every_run}

    @property
    def after_change(self) -> dict[str, str]:
        """Runs whose size the change that is shown makes another, which the house as it is may not
        have, and that size."""
        if self.sized_for is None:
            return {}
        now = self.sizes
        changed = self.remedies[self.sized_for].sizes
        return {name: nominal for name, nominal in changed if now.get(name, nominal) != nominal}

    @property
    def run_at(self) -> dict[int, RunResult]:
        """The runs by the index of their link in the tree."""
        return {result.index: result for result in self.runs}

    @property
    def result_at(self) -> dict[int, RunResult | DeviceResult]:
        """The runs and devices by the index of their link in the tree."""
        return self.run_at | {result.index: result for result in self.devices}

    def devices_that(self, role: Role) -> list[str]:
        """The names of the devices that have a role by their kind."""
        return [
            result.device.name for result in self.devices if self.tree.does(result.device, role)
        ]

    def run(self, name: str) -> RunResult:
        """The result of one run by its name; KeyError where there is none."""
        for result in self.every_run:
            if result.run.name == name:
                return result
        raise KeyError(name)

    @property
    def friction(self) -> str:
        """How losses are computed, in the house's own units."""
        return self.friction_told(self.house.project.units)

    def friction_told(self, system: UnitSystem) -> str:
        """How losses are computed: formula, roughness or C of each tube, velocity head."""
        by_c = self.house.project.friction == "hazen-williams"
        used: dict[str, dict[str, None]] = {}
        for result in self.every_run:
            own = result.run.roughness
            if by_c:
                coefficient, what = f"C {result.tube.hazen_williams_c:g}", result.tube.name
            else:
                roughness = result.tube.roughness if own is None else own
                coefficient = f"roughness {show(roughness, 'roughness', system)}"
                what = result.tube.name if own is None else result.run.name
            used.setdefault(coefficient, {})[what] = None
        formula = "Hazen-Williams" if by_c else "Darcy-Weisbach with Colebrook's factor"
        each = "; ".join(f"{word} ({', '.join(names)})" for word, names in used.items())
        return f"Friction by {formula}; {each}; velocity head is not counted."

    def verdict(self, system: UnitSystem) -> str:
        """The answer in words that begin with "Works", "Works, but", "Works only if" or "Fails"."""
        text = verdict(self, system)
        if self.works_only_if:
            return f"Works only if {self.works_only_if}{text.removeprefix('Fails')}"
        unknown = [finding for finding in self.findings if finding.code == UNKNOWN_SIZE]
        return " ".join([text, *(f"Old pipe: {it.where} {it.message}." for it in unknown)])

    def to_data(self, system: UnitSystem) -> dict[str, Any]:
        """As JSON has it: loads under the demand method's own word, costs on their basis."""
        data = fields_to_data(self, system)
        word = (self.demand.load_name or "fixture units").replace(" ", "_")
        for run, shown in zip(self.every_run, data["runs"], strict=True):
            counted = self.demand.load_name and not run.before_tank
            shown[word] = float(run.load) if counted else None
        for device, shown in zip(self.every_device, data["devices"], strict=True):
            counted = self.demand.load_name and not device.before_tank
            shown[word] = float(device.load) if counted else None
        data["source"] |= {
            "kind": self.house.source.kind,
            "design_flow": quantity(self.demand.design_flow[0], "flow", system),
        }
        keys = ("name", "side", "residual", "required", "margin")
        data["friction"] = self.friction_told(system)
        data["worst"] = {key: data["fixtures"][0][key] for key in keys}
        data["cost"] = {
            "total": cost_data(self.cost, self, system),
            "basis": self.cost_basis,
        }
        data["remedies"] = [
            {
                "text": remedy.said(system),
                "mends": remedy.mends,
                "worst": remedy.worst_name,
                "margin": quantity(remedy.worst_margin, "pressure", system),
                "extra_cost": cost_data(_extra(remedy, self), self, system),
            }
            for remedy in self.remedies
        ]
        data["price_of_margin"] = [
            {
                "to_spare": quantity(price.reserve, "pressure", system),
                "cost": None if price.cost is None else cost_data(price.cost, self, system),
                "sizes": dict(price.changes),
            }
            for price in self.margin_prices
        ]
        data["by_chance"] = None if self.by_chance is None else self._by_chance_data(system)
        return data

    def _by_chance_data(self, system: UnitSystem) -> dict[str, Any]:
        """The sizes by chance as JSON has them, costs on the design's basis."""
        chance = self.by_chance
        assert chance is not None
        costs = (("cost", chance.cost), ("code_cost", chance.code_cost), ("bound", chance.bound))
        return {
            **fields_to_data(chance, system),
            **{key: cost_data(value, self, system) for key, value in costs},
            "sizes": dict(chance.sizes),
            "changes": dict(chance.changes),
        }


class DesignAnswer(Result, frozen=True, kw_only=True):
    """What a question finds of a sized house; it passes as the design does."""

    design: Design

    @property
    def house(self) -> House:
        """The house that was sized."""
        return self.design.house

    @property
    def ok(self) -> bool:
        """Whether the design passes."""
        return self.design.ok


def _extra(remedy: Remedy, design: Design) -> float:
    """What a remedy costs more than the sizes shown; looking closer costs nothing."""
    return max(remedy.cost - design.cost, 0.0) if remedy.sizes else 0.0


def cost_data(cost: float, design: Design, system: UnitSystem) -> dict[str, Any] | None:
    """A cost on the design's basis: a mass, or a number of the price list's currency."""
    if design.cost_basis == "pipe mass":
        return quantity(cost, "mass", system)
    return {"value": float(cost), "unit": design.currency or "price list"}


def verdict(design: Design, system: UnitSystem) -> str:
    """The answer that a person can act on: a sentence on the pipe, on a well one on the pump.

    Returns:
        Words that begin with "Works", "Works, but" or "Fails".
    """
    fails = [finding for finding in design.findings if finding.level == "fail"]
    short = [outlet for outlet in design.outlets if outlet.margin < 0 and design.shortfall > 0]
    if short:
        text = _short(design, short, system)
    elif fails:
        if design.pump is not None and _is_of_pump(design, fails[0]):
            return _pump_fails(design, design.pump, fails, system)
        text = _other_fail(design, fails, system)
    else:
        text = _works(design, system)
    pump = "" if design.pump is None else pump_verdict(design.pump, system)
    return f"{text} {pump}".rstrip()


def pump_verdict(pump: PumpCheck, system: UnitSystem) -> str:
    """The answer on the pump in one sentence; empty where nothing at all is known of it."""
    if pump.pump_flow is None:
        return ""
    least, most = (show(flow, "flow", system) for flow in pump.pump_flow)
    gives = most if least == most else f"{least} to {most}"
    if not pump.level_known:
        gives = f"at most {most}"
    the_pump, it_gives, well_sustains = "the pump", "it gives", "the well sustains"
    keeps, is_small, give = "keeps", "is too small", "gives"
    if pump.pumps > 1:
        the_pump, it_gives, well_sustains = "the pumps", "together they give", "the wells sustain"
        keeps, is_small, give = "keep", "together are too small", "together give"
    at = "at its set pressure" if pump.held else "at cut-in"
    peak = show(pump.design_flow, "flow", system)
    if pump.state == "not-known":
        if not pump.level_known:
            return (
                f"Whether {the_pump} {keeps} up is not known: without the water's level all that "
                f"is sure is that {it_gives} at most {most} {at}."
            )
        return f"Whether {the_pump} {keeps} up is not known: {it_gives} {gives} {at}."
    lasts = ""
    if pump.sustained is not None and pump.sustained < min(pump.pump_flow[0], pump.design_flow):
        well = show(pump.sustained, "flow", system)
        lasts = f"not for long: {well_sustains} only {well}"
    if pump.state == "holds":
        lasts = f", but {lasts}" if lasts else ""
        return f"{the_pump.capitalize()} {keeps} up: {it_gives} {gives} {at}{lasts}."
    needed = show(pump.needed_flow, "flow", system)
    if pump.state == "too-small":
        return f"{the_pump.capitalize()} {is_small}: {it_gives} {gives} {at}, {needed} is needed."
    whether, judged = "but enough", "they are" if pump.pumps > 1 else "it is"
    if pump.pump_flow[0] < pump.needed_flow * ROUND_FIGURE:
        whether = "and it is not known whether enough"
    return (
        f"{the_pump.capitalize()} {give} {gives} {at}, less than the design flow of {peak}, "
        f"{whether} by "
        f"{pump.judged_by} ({needed}), the well trade's rule {judged} judged by"
        f"{'; ' if lasts else ''}{lasts}."
    )


def _works(design: Design, system: UnitSystem) -> str:
    worst = design.worst
    spare = amount(worst.margin, system)
    needs = show(worst.required, "pressure", system)
    gets = show(worst.residual, "pressure", system)
    chosen = _first_choice(design)
    with_it = f" with {chosen}" if chosen else ""
    if worst.margin < THIN_MARGIN:
        spare = spare if spare.startswith("less") else f"only {spare}"
        return (
            f"Works{with_it}, but with a thin margin: {spare} to spare at {worst.name}, which "
            f"gets {gets} and needs {needs}{_most(design)}; measure before you build on it"
            f"{_more_to_spare(design, system)}."
        )
    return (
        f"Works{with_it}: every fixture keeps its pressure; the one with least to spare, "
        f"{worst.name}, gets {gets} and needs {needs}, {spare} to spare."
    )


def _most(design: Design) -> str:
    """That no permitted size leaves more, where sizes were open to be chosen for it."""
    is_open = any(run.run.size is None and not run.run.existing for run in design.runs)
    told = design.house.limits.reserve is None and is_open and design.sure is None
    return "; no permitted size leaves more" if told else ""


def _more_to_spare(design: Design, system: UnitSystem) -> str:
    """The sizes that would not be thin, where there are any: which, and what they leave."""
    enough = (price for price in design.margin_prices if price.reserve > THIN_MARGIN - PSI)
    price = next(enough, None)
    if price is None or price.cost is None or not price.changes:
        return ""
    (name, nominal), *others = price.changes
    more = f" and {len(others)} more changed" if others else ""
    return f", or take {name} at {nominal}{more}: then {amount(price.reserve, system)} to spare"


def _first_choice(design: Design) -> str:
    """The run from the source and its size, where the size was open: what most people ask first."""
    first = design.service
    if first is None or first.run.size is not None or design.tree.parent[first.index] != 0:
        return ""
    return f"{first.run.name} at {first.size.nominal}{'' if first.tube.metric else ' inch'}"


def _short(design: Design, short: Sequence[OutletResult], system: UnitSystem) -> str:
    worst = short[0]
    by = amount(-worst.margin, system)
    gets = f"gets {show(worst.residual, 'pressure', system)}"
    if worst.used_up_in is not None:
        gets = f"the pressure is used up in {worst.used_up_in}"
    needs = show(worst.required, "pressure", system)
    text = f"Fails: {worst.name} is short by {by} ({gets}, needs {needs})"
    others = len({outlet.fixture.name for outlet in short} - {worst.fixture.name})
    if others:
        text += f", and {others} more {'fixture falls' if others == 1 else 'fixtures fall'} short"
    if design.works_only_if:
        return f"{text}."
    if not design.remedies_sought:
        return f"{text}; 'supplycalc size' looks for what mends it."
    first = next((remedy for remedy in design.remedies if remedy.mends == "pressure"), None)
    if first is None:
        source = "a booster at the source"
        if design.pump is not None:
            source = "a higher set point" if design.pump.held else "a higher switch setting"
        text += (
            "; larger pipe, shorter runs, larger equipment or none, less drawn at once and "
            f"{source} do not mend it"
        )
        rise = -worst.static_change
        if rise > design.source.design_pressure:
            text += (
                f": the height alone takes {show(rise, 'pressure', system)}. It needs a pump of "
                "its own on the way up, which is not computed here"
            )
        return f"{text}."
    spare = amount(first.worst_margin, system)
    return (
        f"{text}; to mend it, {first.said(system)} "
        f"(computed: then {spare} to spare at {first.worst_name})."
    )


def _is_of_pump(design: Design, finding: Finding) -> bool:
    """Whether a failure is that of a pump which gives too little."""
    small = design.pump is not None and design.pump.state == "too-small"
    return small and finding.where == "pump"


def _pump_fails(
    design: Design, pump: PumpCheck, fails: Sequence[Finding], system: UnitSystem
) -> str:
    """Where nothing but the pump, and perhaps what is told after it, fails."""
    at = "at its set pressure" if pump.held else "at cut-in"
    verdict = pump_verdict(pump, system).rstrip(".")
    mend = fails[0].remedy_said(system)
    remedy = next((remedy for remedy in design.remedies if remedy.mends == "pump"), None)
    if remedy is not None:
        mend = f"{remedy.said(system)} (computed: then {pump_then(remedy, system)})"
    more = len(fails) - 1
    others = f" (and {more} more {'failure' if more == 1 else 'failures'} below)" if more else ""
    text = f"Fails, though {at} no fixture is short of pressure. {verdict}"
    return f"{text}; to mend it, {mend}{others}."


def pump_then(remedy: Remedy, system: UnitSystem) -> str:
    """What the pump gives after a change, e.g. "it gives 6.2 gpm at cut-in"."""
    if remedy.pump is None or remedy.pump.pump_flow is None:
        return "it is enough"
    if remedy.pump.state == "holds":
        return f"the pump keeps up with {show(remedy.pump.design_flow, 'flow', system)}"
    at = "at its set pressure" if remedy.pump.held else "at cut-in"
    return f"it gives {show(remedy.pump.pump_flow[0], 'flow', system)} {at}"


def _other_fail(design: Design, fails: Sequence[Finding], system: UnitSystem) -> str:
    first = fails[0]
    message = first.said(system).rstrip(".")
    where = first.opening(system)
    # behind a crest the account shows pressure that no water brings
    opening = "" if first.code == CREST else ", though no fixture is short of pressure"
    text = f"Fails{opening}: {where}{message}"
    mends = MENDED.get(first.code)
    remedy = next((it for it in design.remedies if it.mends == mends), None)
    if remedy is not None:
        spare = amount(remedy.worst_margin, system)
        text += (
            f"; to mend it, {remedy.said(system)} (computed: then {spare} to spare at "
            f"{remedy.worst_name})"
        )
    elif first.remedy:
        mend = first.remedy_said(system).rstrip(".")
        text += f"; to mend it, {mend}"
    more = len(fails) - 1
    if more:
        text += f" (and {more} more {'failure' if more == 1 else 'failures'} below)"
    return f"{text}."

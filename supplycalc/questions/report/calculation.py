"""The calculation sheet: every line a formula, its numbers and its result, to follow by hand.

Each figure is computed from the figures as they are printed before it, so that whoever follows the
sheet with a pocket calculator gets the same digits. As many digits are printed as it takes for the
sheet to end at the pressures that all other pages show.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from statistics import NormalDist

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.catalogue import Joining
from supplycalc.demand.distribution import STEP, percentile_flows
from supplycalc.demand.loads import Below, greatest_below
from supplycalc.demand.method import method_record
from supplycalc.demand.peak_demand_study import LEVEL as STUDY_LEVEL
from supplycalc.demand.peak_demand_study import RULES
from supplycalc.demand.probability import outdoor_flows
from supplycalc.findings.assumptions import MAIN_SAG
from supplycalc.hydraulics.devices import FALLOFF_POWER, law_of_loss, loss_of_device
from supplycalc.hydraulics.fittings import (
    REFERENCE_TEMPERATURE,
    REFERENCE_VELOCITY,
    fitting_k,
    insert_diameter_ratio,
    manifold_port_citation,
    manifold_port_k,
    published_length,
    reference_factor,
    turn_k,
)
from supplycalc.hydraulics.friction import (
    LAMINAR_LIMIT,
    TURBULENT_LIMIT,
    friction_factor,
    hazen_williams_gradient,
    passage,
)
from supplycalc.hydraulics.water import density, viscosity
from supplycalc.model import Device, House, Manifold, Pump, Well
from supplycalc.output.blocks import SheetLine
from supplycalc.records import Column, Table
from supplycalc.records.sentences import cite
from supplycalc.sizing.changes import with_sizes
from supplycalc.sizing.choices import port_loss
from supplycalc.sizing.design import Design, DeviceResult, RunResult
from supplycalc.supply.pump import level_known, with_curve
from supplycalc.supply.several_wells import well_names, wells_alone, wells_apart
from supplycalc.supply.source import MAIN_EXPONENT
from supplycalc.supply.supply_curve import flow_at_pressure
from supplycalc.tables import load_table, to_si
from supplycalc.units import STANDARD_GRAVITY, UnitSystem, base_of, convert, show, unit_of

FEWEST, MOST = 5, 8
"""Significant digits of the sheet."""
DENSITY = {"us": ("lb/ft³", 0.45359237 / 0.3048**3), "metric": ("kg/m³", 1.0)}
VISCOSITY = {"us": ("10⁻⁵ ft²/s", 1e-5 * 0.3048**2), "metric": ("mm²/s", 1e-6)}
"""Kinematic, with the unit [m2/s]."""
WATER = "IAPWS SR6-08(2011), properties of liquid water at 0.1 MPa"
FRICTION = "Darcy-Weisbach"
COLEBROOK = "C. F. Colebrook, J. ICE 11 (1939) 133"
GEOMETRY = "flow over area, in these units"
SAME = 2e-4
"""Two flows that differ by less than this share of them are printed alike."""
USED_UP = "used up"
MEASURES = {
    "Q": "flow", "S": "flow", "d": "diameter", "L": "length", "v": "velocity", "P": "pressure",
    "R": "pressure", "F": "pressure", "H": "pressure", "D": "pressure", "N": "pressure",
    "M": "pressure", "A": "flow", "T": "elevation", "h": "elevation", "z": "elevation",
    "s": "elevation",
}  # fmt: skip
"""Symbol -> dimension; the others are numbers without a unit."""
UNSAID = {"formula": "", "numbers": "", "source": ""}


class Calculation(Struct, frozen=True, kw_only=True):
    """A house's sheet."""

    digits: int
    """Significant, of every figure."""
    given: tuple[SheetLine, ...]
    """Water and constants of the units."""
    water: tuple[SheetLine, ...]
    """Every line from the water in the well to the source's gauge; empty where it is not known."""
    readings: Table | None
    """Rows between which flows are read, where no printed table has them."""
    fittings: tuple[SheetLine, ...]
    """K of every fitting in every size of tube."""
    way: tuple[SheetLine, ...]
    """Every line from the source to the worst fixture."""
    runs: Table
    """The same figures of every run."""
    loads: Table | None
    """What each fixture counts on its own pipes; None for a method without loads."""
    groups: tuple[str, ...]
    """Group values that were used in place of single ones, in words."""
    worst_pressure: str
    """As the last line but one of the way ends; "used up" where nothing arrives."""


def calculation(design: Design, system: UnitSystem) -> Calculation:
    """The sheet of a sized house in the fewest digits that end at the pressures of all pages."""
    for digits in range(FEWEST, MOST):
        sheet = _Sheet(design, system, digits)
        made = sheet.made()
        if sheet.agrees():
            return made
    return _Sheet(design, system, MOST).made()


def printed(value: float, digits: int) -> str:
    """A number with so many significant digits, never in powers of ten, no idle zeros."""
    if value == 0.0:
        return "0"
    decimals = max(digits - 1 - math.floor(math.log10(abs(value))), 0)
    text = f"{value:.{decimals}f}"
    return (text.rstrip("0").rstrip(".") if "." in text else text).replace("-", "−")


def number(text: str) -> float:
    """What a printed number says."""
    return float(text.replace("−", "-"))


class _Row(Struct, frozen=True, kw_only=True):
    """What the sheet has of one run; every text as printed."""

    load: str
    flow: str
    diameter: str
    velocity: str
    reynolds: str
    factor: str
    friction: str
    k: str
    fitting: str
    height: str
    pressure: str


class _Sheet:
    """One sheet on its way, with the figures printed so far."""

    def __init__(self, design: Design, system: UnitSystem, digits: int) -> None:
        self.design, self.system, self.digits = design, system, digits
        self.tree = design.tree
        self.method = method_record(design.demand.method)
        source = self.method.source
        self.book = "" if source is None else cite(source)
        """Where the demand method is printed."""
        base = base_of(system)
        self.density_unit, self.per_density = DENSITY[base]
        self.viscosity_unit, self.per_viscosity = VISCOSITY[base]
        self.per = {
            name: 1.0 / convert(1.0, name, system)[0]
            for name in ("flow", "diameter", "length", "velocity", "pressure", "elevation")
        }
        self.unit = {name: unit_of(name, system) for name in self.per}
        self.by_c = design.house.project.friction == "hazen-williams"
        self.flows: dict[int, SheetLine] = {}
        """The line that gives each link's flow."""
        self.rows: dict[int, _Row] = {}
        self.k_of: dict[tuple[str, str, str, str], str] = {}
        """K of a fitting, by joining, kind, material and nominal size."""
        self.below: Below | None = None
        """What may run below each link, by methods of probability; computed where first asked."""
        self.outdoor: list[float] = []
        self.left = "pressure at its end"
        self.gauge = 0.0
        """What the account from the water ends at, in the shown unit."""
        self.pressure: dict[int, float] = {}
        """At the end of each link, in the shown unit, as printed; below 0: used up."""

    def made(self) -> Calculation:
        """The whole sheet."""
        given, fittings = tuple(self._given()), tuple(self._fittings())
        lines: dict[int, list[SheetLine]] = {0: [self._source()]}
        for index in range(1, len(self.tree)):
            lines[index] = list(self._link(index))
        way = [line for i in (0, *self.tree.path(self.design.worst.index)) for line in lines[i]]
        way += self._end()
        return Calculation(
            digits=self.digits,
            given=given,
            water=tuple(self._water()),
            readings=self._readings(),
            fittings=fittings,
            way=tuple(way),
            runs=self._table(),
            loads=self._loads(),
            groups=tuple(self._groups()),
            worst_pressure=self._told(self.design.worst.index),
        )

    def agrees(self) -> bool:
        """Whether its pressures and losses are those that other pages show, to their digit."""
        per = self.per["pressure"]
        if self._shown(self.gauge * per) != self._shown(self.pressure[0] * per):
            return False
        links: tuple[RunResult | DeviceResult, ...] = (*self.design.runs, *self.design.devices)
        for link in links:
            if self._shown(self.pressure[link.index] * per) != self._shown(link.end_pressure):
                return False
        for run in self.design.runs:
            row = self.rows[run.index]
            loss = (number(row.friction) + number(row.fitting)) * per
            if self._shown(loss) != self._shown(run.loss):
                return False
        return True

    def _shown(self, pressure: float) -> str:
        return USED_UP if pressure < 0.0 else show(pressure, "pressure", self.system)

    def _told(self, index: int) -> str:
        """The pressure at the end of a link, as printed."""
        pressure = self.pressure[index]
        return USED_UP if pressure < 0.0 else self._p(pressure)

    def _p(self, value: float) -> str:
        return printed(value, self.digits)

    def _in(self, value: float, dimension: str) -> str:
        """An SI value in the shown unit, as printed."""
        return self._p(value / self.per[dimension])

    def _same(self, text: str, flow: float) -> bool:
        """Whether a flow would be printed so."""
        return abs(number(text) * self.per["flow"] - flow) <= SAME * flow

    def _line(
        self, symbol: str, words: str, result: str, source: str = "", **computed: str
    ) -> SheetLine:
        """A line whose symbol tells its unit; what is computed has a formula and its numbers."""
        unit = self.unit.get(MEASURES.get(symbol, ""), "")
        return SheetLine(
            symbol=symbol, words=words, result=result, unit=unit, source=source, **computed
        )

    # --- what is given ---

    def _given(self) -> Iterator[SheetLine]:
        water = self.design.house.water
        self.rho, self.nu, kept = {}, {}, {"cold": water.cold, "hot": water.hot}
        for side in ("cold", "hot"):
            if side not in self.tree.side:
                continue
            at, temperature = kept[side], show(kept[side], "temperature", self.system)
            self.rho[side] = self._p(density(at) / self.per_density)
            self.nu[side] = self._p(viscosity(at) / density(at) / self.per_viscosity)
            yield SheetLine(
                symbol=f"ρ {side}",
                words=f"density of {side} water at {temperature}",
                result=self.rho[side],
                unit=self.density_unit,
                source=WATER,
            )
            yield SheetLine(
                symbol=f"ν {side}",
                words=f"kinematic viscosity of {side} water at {temperature}",
                result=self.nu[side],
                unit=self.viscosity_unit,
                source=WATER,
            )
        flow, diameter, speed = (self.per[name] for name in ("flow", "diameter", "velocity"))
        pressure, length, height = (self.per[name] for name in ("pressure", "length", "elevation"))
        constants = {
            "a": (flow / (math.pi / 4.0 * diameter**2 * speed), "v = a Q / d²"),
            "b": (speed * diameter / self.per_viscosity, "Re = b v d / ν"),
            "m": (
                length * self.per_density * speed**2 / (2.0 * diameter * pressure),
                "R = m f L ρ v² / d",
            ),
            "n": (self.per_density * speed**2 / (2.0 * pressure), "F = n K ρ v²"),
            "w": (self.per_density * STANDARD_GRAVITY * height / pressure, "H = w ρ (z1 − z2)"),
        }
        self.constant = {name: self._p(value) for name, (value, _) in constants.items()}
        for name, (_, use) in constants.items():
            yield self._line(
                name,
                f"factor of the units in {use}",
                self.constant[name],
                "standard gravity of ISO 80000-3" if name == "w" else "the units' definitions",
            )

    def _source(self) -> SheetLine:
        source, main = self.design.source, self.design.house.source
        start = self._in(source.design_pressure, "pressure")
        self.pressure[0] = number(start)
        known = (main.static, main.residual, main.residual_flow)
        if main.kind == "main" and None not in known:
            rest, read = (self._in(value or 0.0, "pressure") for value in known[:2])
            flow, at = (
                self._in(value or 0.0, "flow")
                for value in (self.design.demand.design_flow[0], main.residual_flow)
            )
            sunk = (number(rest) - number(read)) * (number(flow) / number(at)) ** MAIN_EXPONENT
            start = self._p(number(rest) - sunk)
            self.pressure[0] = number(start)
            unit = self.unit["pressure"]
            return self._line(
                "P",
                f"source: the main at {flow} {self.unit['flow']}, from {rest} {unit} at rest and "
                f"{read} {unit} read at {at} {self.unit['flow']}",
                start,
                cite(MAIN_SAG),
                formula=f"Ps − (Ps − Pr) (Q / q)^{MAIN_EXPONENT:g}",
                numbers=f"{rest} − ({rest} − {read}) × ({flow} / {at})^{MAIN_EXPONENT:g}",
            )
        return self._line(
            "P", f"source: the pressure that is counted on ({source.limited_by})", start, "the file"
        )

    def _water(self) -> list[SheetLine]:
        """From the water to the gauge; it ends at the source's pressure to the digit."""
        self.gauge = self.pressure[0]
        lines: list[SheetLine] = []
        sheets = []
        for place in range(len(well_names(self.design.house))):
            sheet = _WaterSheet(self, place)
            told = list(sheet.lines())
            if not told:
                return []
            sheets.append(sheet)
            lines += told
        last: _Sheet = sheets[-1]
        if len(sheets) > 1:
            last = shared = _SharedSheet(self, sheets)
            lines += shared.lines()
        self.gauge = last.pressure[max(last.pressure)]
        return lines

    def _fittings(self) -> Iterator[SheetLine]:
        """What each kind of fitting counts in each size of tube."""
        for run in self.design.every_run:
            joining = self.tree.catalogue.joinings[run.run.joining]
            for kind, count in run.run.fittings or ():
                key = (run.run.joining, kind, run.material, run.nominal)
                if count and key not in self.k_of:
                    line = self._fitting(run, joining, kind)
                    self.k_of[key] = line.result
                    yield line
        if any(self.tree.starts_at_manifold(run.index) for run in self.design.runs):
            port, source = self._p(manifold_port_k()), cite(manifold_port_citation())
            yield self._line("K", "port of a manifold, of the branch behind it", port, source)

    def _fitting(self, run: RunResult, joining: Joining, kind: str) -> SheetLine:
        """The K of one kind of fitting in one size of tube, on the tube's own velocity head."""
        words, source = f"{kind} in {run.nominal} {run.material}", cite(joining.citation_of(kind))
        length = published_length(joining, kind, run.tube, run.size)
        diameter = self._in(run.inside_diameter, "diameter")
        if length:
            factor = self._p(reference_factor(run.tube, run.size))
            long, unit = self._in(length, "length"), self.unit["length"]
            ratio = f"{self.per['length'] / self.per['diameter']:g}"
            speed = show(REFERENCE_VELOCITY, "velocity", self.system)
            warmth = show(REFERENCE_TEMPERATURE, "temperature", self.system)
            return self._line(
                "K",
                f"{words}, inside {diameter} {self.unit['diameter']}: counts as {long} {unit} of "
                f"it, f {factor} at {speed} and {warmth}",
                self._p(number(ratio) * number(factor) * number(long) / number(diameter)),
                source,
                formula=f"{ratio} f L / d",
                numbers=f"{ratio} × {factor} × {long} / {diameter}",
            )
        ratio = self._p(insert_diameter_ratio(joining, run.size))
        if length is None and kind in joining.bodies.keys() - joining.own and ratio != "1":
            turn = self._p(turn_k(joining, kind, run.size))
            square = number(ratio) ** 2
            k = (0.5 * (1 - square) + (1 - square) ** 2 + number(turn)) / square**2
            return self._line(
                "K",
                f"{words}: an insert {ratio} times as wide as the pipe, whose turn has K {turn}",
                self._p(k),
                source,
                formula="(0.5 (1 − b²) + (1 − b²)² + k) / b^4",
                numbers=f"(0.5 × (1 − {ratio}²) + (1 − {ratio}²)² + {turn}) / {ratio}^4",
            )
        k = fitting_k(joining, kind, run.tube, run.size)
        return self._line("K", words, self._p(k), source)

    # --- flows ---

    def _flow(self, index: int, name: str) -> Iterator[SheetLine]:
        """How much a link must carry; the last line's result is its flow."""
        demand = self.design.demand
        above = self.tree.parent[index]
        same = demand.load[above] == demand.load[index]
        if above in self.flows and same and demand.design_flow[above] == demand.design_flow[index]:
            yield replace(self.flows[above], words=f"{name}: flow, the same as before", **UNSAID)
            return
        steady = demand.continuous[index] if demand.continuous else 0.0
        without = demand.design_flow[index] - steady
        if demand.load_name:
            load = self._p(demand.load[index])
            words = f"{name}: {demand.load_name} of what hangs below"
            yield self._line("u", words, load, self.book)
            line = self._read(without, load, name)
        else:
            line = self._listed(index, without, name)
        by_chance = list(self._by_chance(index, name))
        yield from by_chance
        computed = number(by_chance[-1].result) * self.per["flow"] if by_chance else 0.0
        if line is None and (not by_chance or computed < without * (1.0 - SAME)):
            why = f"flow by method '{demand.method}', which {self.method.verb}"
            if abs(without - demand.largest[index]) < 1e-9:
                why = "flow of the largest single fixture below, never less"
            elif by_chance:
                why = "flow of a pipe that it feeds, never less"
            line = self._line("Q", f"{name}: {why}", self._in(without, "flow"), self.book)
        if line is not None:
            yield line
        if steady > 0.0:
            first, added = self._in(without, "flow"), self._in(steady, "flow")
            yield self._line(
                "S", f"{name}: flow that may run for hours, below it", added, "the file"
            )
            yield self._line(
                "Q",
                f"{name}: with what may run for hours",
                self._p(number(first) + number(added)),
                "International Plumbing Code 2018, E102.2",
                formula="Q + S",
                numbers=f"{first} + {added}",
            )

    def _listed(self, index: int, flow: float, name: str) -> SheetLine | None:
        """The line that adds up what the file lists as running at once."""
        listed = self.design.house.project.listed
        below = {
            outlet.fixture.name: outlet.flow
            for outlet in self.tree.outlets
            if outlet.link in self.tree.at_or_below(index)
        }
        what = "what the file lists at once"
        named = {fixture: each for fixture, each in below.items() if fixture in listed}
        if not listed:
            what = "the two most demanding fixtures"
            named = dict(sorted(below.items(), key=lambda item: (-item[1], item[0]))[:2])
        flows = {fixture: self._in(each, "flow") for fixture, each in named.items()}
        result = self._p(math.fsum(map(number, flows.values())))
        if not flows or not self._same(result, flow):
            return None
        told = ", ".join(f"{fixture} {each}" for fixture, each in flows.items())
        return self._line(
            "Q",
            f"{name}: flows of {what}, below it: {told}",
            result,
            "the file",
            formula="sum",
            numbers=" + ".join(flows.values()),
        )

    def _by_chance(self, index: int, name: str) -> Iterator[SheetLine]:
        """The lines of a method of probability, from how many may run below a link."""
        if self.method.below is None:
            return
        if self.below is None:
            self.below = self.method.below(self.tree)
            self.outdoor = greatest_below(self.tree, outdoor_flows(self.tree))
        below = self.below
        counts = below.counts[below.mixture[index]]
        # n of them, each running with chance p and then drawing q, as printed
        running = [
            (int(n), self._p(p), self._in(q, "flow"))
            for n, p, q in zip(counts, below.probability, below.flow, strict=True)
            if n
        ]
        level, result = self._p(self.design.house.project.percentile), "0"
        rule = self.design.demand.rule[index] if self.design.demand.rule else ""
        if running and rule:
            level = self._p(STUDY_LEVEL)
            numbers = " × ".join(f"(1 − {p})^{n}" for n, p, _ in running)
            silent = self._p(math.prod((1.0 - number(p)) ** n for n, p, _ in running))
            yield self._line(
                "P0",
                f"{name}: chance that none of what hangs below runs",
                silent,
                self.book,
                formula="product of (1 − p)^n",
                numbers=numbers,
            )
        if running and rule in RULES[2:]:
            for line in self._normal(name, running, silent, level, rule == RULES[2]):
                result = line.result
                yield line
        elif running and rule:
            truncated = self._p(number(silent) + number(level) * (1.0 - number(silent)))
            yield self._line(
                "c",
                f"{name}: share of all time that is {level} of the time in which water runs",
                truncated,
                self.book,
                formula=f"P0 + {level} (1 − P0)",
                numbers=f"{silent} + {level} × (1 − {silent})",
            )
            level = truncated
        if running and rule not in RULES[2:]:
            step = self._in(STEP, "flow")
            level_flows = percentile_flows(
                counts[None, :], below.probability, below.flow, number(level)
            )
            result = self._in(level_flows[0], "flow")
            listed = " + ".join(f"{n} × ({p}, {q})" for n, p, q in running)
            yield self._line(
                "Q",
                f"{name}: least flow, in steps of {step} {self.unit['flow']}, than which what "
                "hangs below draws no more with chance c; n × (p, q): n of them, each running "
                "with chance p and then drawing q; a q between two steps counts as both in "
                "proportion",
                result,
                self.book,
                formula="least Q with P(sum ≤ Q) ≥ c",
                numbers=f"P({listed} ≤ Q) ≥ {level}",
            )
        yield from self._with_outdoor(index, name, result)

    def _with_outdoor(self, index: int, name: str, inside: str) -> Iterator[SheetLine]:
        """The largest garden tap or the like below a link, of which no chance is known, on top."""
        outdoor = self.outdoor[index]
        if outdoor <= 0.0:
            return
        added = self._in(outdoor, "flow")
        yield self._line(
            "Q",
            f"{name}: with the largest garden tap below, {added}, whose chance is not known",
            self._p(number(inside) + number(added)),
            self.book,
            formula="Q + q",
            numbers=f"{inside} + {added}",
        )

    def _normal(
        self,
        name: str,
        running: list[tuple[int, str, str]],
        silent: str,
        level: str,
        truncated: bool,
    ) -> Iterator[SheetLine]:
        """The lines of an estimate by mean and variance."""
        parts = [(n, number(p), number(q)) for n, p, q in running]
        mean = self._p(math.fsum(n * p * q for n, p, q in parts))
        spread = self._p(math.fsum(n * p * (1.0 - p) * q * q for n, p, q in parts))
        z = self._p(NormalDist().inv_cdf(number(level)))
        yield self._line(
            "A",
            f"{name}: mean of what runs below",
            mean,
            self.book,
            formula="sum of n p q",
            numbers=" + ".join(f"{n} × {p} × {q}" for n, p, q in running),
        )
        yield self._line(
            "V",
            f"{name}: variance of what runs below",
            spread,
            self.book,
            formula="sum of n p (1 − p) q²",
            numbers=" + ".join(f"{n} × {p} × (1 − {p}) × {q}²" for n, p, q in running),
        )
        yield self._line(
            "k",
            f"{name}: percentile of the normal distribution for {level}",
            z,
            "tables of the normal distribution",
        )
        under, over = number(spread), 1.0
        formula, numbers = "A + k √V", f"{mean} + {z} × √({spread})"
        if truncated:
            over = 1.0 - number(silent)
            under = over * number(spread) - number(silent) * number(mean) ** 2
            formula = "(A + k √((1 − P0) V − P0 A²)) / (1 − P0)"
            numbers = (
                f"({mean} + {z} × √((1 − {silent}) × {spread} − {silent} × {mean}²)) / "
                f"(1 − {silent})"
            )
        yield self._line(
            "Q",
            f"{name}: flow that all time but 1 in 100 stays below",
            self._p((number(mean) + number(z) * math.sqrt(max(under, 0.0))) / over),
            self.book,
            formula=formula,
            numbers=numbers,
        )

    def _read(self, flow: float, load: str, name: str) -> SheetLine | None:
        """The line that reads the method's table, if the flow is what the table says."""
        if self.method.readings is not None:
            rows = [(0.0, 0.0), *((row.load, row.flow) for row in self.method.readings())]
            return self._between(rows, flow, load, f"{name}: flow read between two rows above")
        if self.method.conversion is None:
            return None
        file, column = self.method.conversion
        table = load_table(file)
        if table[column]["columns"][:3] == ["a", "b", "c"]:
            return self._by_formula(table[column]["rows"][0][:3], flow, load, name)
        for key in dict.fromkeys((column, "flush_tank", "flush_valve")):
            rows = [(row[0], to_si(row[1], "gpm")) for row in table.get(key, {}).get("rows", ())]
            words = f"{name}: flow read between two rows of the table"
            line = self._between(rows, flow, load, words)
            if line is not None:
                return line
        return None

    def _between(
        self, rows: Sequence[tuple[float, float]], flow: float, load: str, words: str
    ) -> SheetLine | None:
        """The line that reads a flow between two rows of (load, flow), if it is that flow."""
        for (low, low_flow), (high, high_flow) in pairwise(rows):
            if not low <= number(load) <= high:
                continue
            ends = [self._in(end, "flow") for end in (low_flow, high_flow)]
            q1, q2 = map(number, ends)
            units = [self._p(float(end)) for end in (low, high)]
            u1, u2 = map(number, units)
            result = self._p(q1 + (number(load) - u1) * (q2 - q1) / (u2 - u1))
            if not self._same(result, flow):
                continue
            return self._line(
                "Q",
                words,
                result,
                self.book,
                formula="q1 + (u − u1) (q2 − q1) / (u2 − u1)",
                numbers=f"{ends[0]} + ({load} − {units[0]}) × ({ends[1]} − {ends[0]}) / "
                f"({units[1]} − {units[0]})",
            )
        return None

    def _readings(self) -> Table | None:
        """The rows between which flows are read, up to the first beyond the house's load."""
        method = self.method
        if method.readings is None:
            return None
        rows, most = method.readings(), self.design.demand.load[0]
        last = next((i for i, row in enumerate(rows) if row.load > most), len(rows) - 1)
        return Table(
            title=f"Flow of a sum of {method.load_name}, read straight between two rows",
            columns=(
                Column(name=method.load_name),
                Column(name=f"flow {self.unit['flow']}"),
                Column(name="what decides", wrap=True),
            ),
            rows=(
                ("0", "0", "nothing runs"),
                *(
                    (self._p(row.load), self._in(row.flow, "flow"), row.why)
                    for row in rows[: last + 1]
                ),
            ),
        )

    def _by_formula(
        self, coefficients: Sequence[float], flow: float, load: str, name: str
    ) -> SheetLine | None:
        """The line that takes the method's formula of a sum of flows, if that gives the flow."""
        a, b, c = (f"{value:g}" for value in coefficients)
        unit = self._in(to_si(1.0, "l/s"), "flow")
        result = self._p((float(a) * number(load) ** float(b) - float(c)) * number(unit))
        summed = self._p(number(load) * number(unit))
        if self._same(summed, flow):
            return self._line(
                "Q",
                f"{name}: the sum itself, as in one room two draw-offs at most run at once, "
                f"1 L/s being {unit} {self.unit['flow']}",
                summed,
                self.book,
                formula=f"u × {unit}",
                numbers=f"{load} × {unit}",
            )
        if not self._same(result, flow):
            return None
        return self._line(
            "Q",
            f"{name}: peak of the sum by the standard's formula for dwellings, 1 L/s "
            f"being {unit} {self.unit['flow']}",
            result,
            self.book,
            formula=f"({a} u^{b} − {c}) × {unit}",
            numbers=f"({a} × {load}^{b} − {c}) × {unit}",
        )

    # --- links ---

    def _link(self, index: int) -> Iterator[SheetLine]:
        link = self.tree.links[index]
        name = self.tree.names[index]
        before = self.pressure[self.tree.parent[index]]
        rise = list(self._rise(index, name))
        if isinstance(link, Manifold):
            self.pressure[index] = before
            if rise:
                yield from rise
                yield self._after(index, name, before, rise)
            return
        result = self.design.result_at[index]
        flows = list(self._flow(index, name))
        yield from flows
        self.flows[index] = flows[-1]
        flow = flows[-1].result
        if isinstance(result, RunResult):
            yield from self._run(result, flow, rise, before)
        else:
            yield from self._device(result, flow, rise, before)

    def _rise(self, index: int, name: str) -> Iterator[SheetLine]:
        """The pressure gained by height along a link, if any."""
        side = self.tree.rise_side[index]
        start, end = (
            self._in(self.tree.elevation[at], "elevation")
            for at in (self.tree.parent[index], index)
        )
        rho, w = self.rho[side], self.constant["w"]
        gain = self._p(number(w) * number(rho) * (number(start) - number(end)))
        if number(gain) == 0.0:
            return
        yield self._line(
            "H",
            f"{name}: pressure gained by height, from {start} to {end} {self.unit['elevation']}",
            gain,
            "hydrostatics",
            formula="w ρ (z1 − z2)",
            numbers=f"{w} × {rho} × ({_bracketed(start)} − {_bracketed(end)})",
        )

    def _after(
        self,
        index: int,
        name: str,
        before: float,
        rise: Sequence[SheetLine],
        *losses: tuple[str, str],
    ) -> SheetLine:
        """The pressure behind a link; a loss is (symbol, printed value)."""
        formula, numbers, value = "P", self._p(before), before
        for line in rise:
            formula += f" + {line.symbol}"
            numbers += f" + {_bracketed(line.result)}"
            value += number(line.result)
        for symbol, text in losses:
            formula += f" − {symbol}"
            numbers += f" − {_bracketed(text)}"
            value -= number(text)
        result = self._p(value)
        self.pressure[index] = number(result)
        if before < 0.0 or number(result) < 0.0:
            # no pressure below zero is told
            words = f"{name}: nothing is left of the pressure at its end"
            return SheetLine(symbol="P", words=words, formula=formula, result=USED_UP)
        return self._line("P", f"{name}: {self.left}", result, formula=formula, numbers=numbers)

    def _run(
        self, run: RunResult, flow: str, rise: Sequence[SheetLine], before: float
    ) -> Iterator[SheetLine]:
        name = run.name
        diameter = self._in(run.inside_diameter, "diameter")
        yield self._line(
            "d",
            f"{name}: inside diameter of {run.nominal} {run.material}",
            diameter,
            cite(run.size.inside_diameter_citation),
        )
        length = self._in(run.length, "length")
        yield self._line("L", f"{name}: developed length", length, "the file")
        a, b, m, n = (self.constant[key] for key in "abmn")
        rho, nu = self.rho[run.side], self.nu[run.side]
        velocity = self._p(number(a) * number(flow) / number(diameter) ** 2)
        yield self._line(
            "v",
            f"{name}: velocity",
            velocity,
            GEOMETRY,
            formula="a Q / d²",
            numbers=f"{a} × {flow} / {diameter}²",
        )
        if self.by_c:
            reynolds = factor = ""
            line = self._hazen_williams(run, flow, diameter, length)
            yield line
            friction = line.result
        else:
            reynolds = self._p(number(b) * number(velocity) * number(diameter) / number(nu))
            yield self._line(
                "Re",
                f"{name}: Reynolds number",
                reynolds,
                "definition",
                formula="b v d / ν",
                numbers=f"{b} × {velocity} × {diameter} / {nu}",
            )
            for line in self._factor(run, reynolds):
                factor = line.result
                yield line
            product = number(m) * number(factor) * number(length) * number(rho)
            friction = self._p(product * number(velocity) ** 2 / number(diameter))
            yield self._line(
                "R",
                f"{name}: friction along the developed length",
                friction,
                FRICTION,
                formula="m f L ρ v² / d",
                numbers=f"{m} × {factor} × {length} × {rho} × {velocity}² / {diameter}",
            )
        k = "0"
        for line in self._k(run):
            k = line.result
            yield line
        share = self._p(run.counted_length / run.length - 1.0) if run.length > 0.0 else "0"
        fitting, formula, numbers = 0.0, [], []
        words = f"{name}: loss of its fittings"
        if number(k) > 0.0:
            fitting += number(n) * number(k) * number(rho) * number(velocity) ** 2
            formula.append("n K ρ v²")
            numbers.append(f"{n} × {k} × {rho} × {velocity}²")
        if number(share) > 0.0:
            fitting += number(share) * number(friction)
            formula.append("s R")
            numbers.append(f"{share} × {friction}")
            words += f"; {share} of the friction stands for them, as the file lists none"
        printed_fitting = self._p(fitting)
        if formula:
            yield self._line(
                "F",
                words,
                printed_fitting,
                "K on the pipe's own velocity head" if number(k) > 0.0 else "",
                formula=" + ".join(formula),
                numbers=" + ".join(numbers),
            )
        yield from rise
        losses = [("R", friction)]
        if formula:
            losses.append(("F", printed_fitting))
        yield self._after(run.index, name, before, rise, *losses)
        self.rows[run.index] = _Row(
            load=self._p(run.load) if self.design.demand.load_name else "",
            flow=flow,
            diameter=diameter,
            velocity=velocity,
            reynolds=reynolds,
            factor=factor,
            friction=friction,
            k=k,
            fitting=printed_fitting,
            height=rise[0].result if rise else "0",
            pressure=self._told(run.index),
        )

    def _factor(self, run: RunResult, reynolds: str) -> Iterator[SheetLine]:
        """The friction factor at a printed Reynolds number, the last line's result."""
        rough = run.tube.roughness if run.run.roughness is None else run.run.roughness
        roughness = self._in(rough, "diameter")
        diameter = self._in(run.inside_diameter, "diameter")
        ratio = self._p(number(roughness) / number(diameter))
        re, words = number(reynolds), f"{run.name}: friction factor"
        if re <= LAMINAR_LIMIT:
            yield self._line(
                "f",
                f"{words}, laminar",
                self._p(64.0 / re),
                "Hagen-Poiseuille",
                formula="64 / Re",
                numbers=f"64 / {reynolds}",
            )
            return
        yield self._line(
            "ε/d",
            f"{run.name}: roughness, {roughness} {self.unit['diameter']}, over inside diameter",
            ratio,
            cite(run.tube.citations.get("roughness")) if run.run.roughness is None else "the file",
            numbers=f"{roughness} / {diameter}",
        )
        if re >= TURBULENT_LIMIT:
            yield self._line(
                "f",
                f"{words}: the f that satisfies",
                self._p(friction_factor(re, number(ratio))),
                COLEBROOK,
                formula="1/√f = −2 log10((ε/d)/3.7 + 2.51/(Re √f))",
                numbers=f"1/√f = −2 log10({ratio}/3.7 + 2.51/({reynolds} √f))",
            )
            return
        p, q = (self._p(value) for value in passage(number(ratio)))
        t = self._p(math.log2(re / LAMINAR_LIMIT))
        exponent = number(t) ** 2 * (number(p) + number(q) * number(t))
        yield self._line(
            "t",
            f"{run.name}: place between laminar and turbulent flow",
            t,
            formula="log2(Re / 2000)",
            numbers=f"log2({reynolds} / 2000)",
        )
        yield self._line(
            "f",
            f"{words} between 64/Re and Colebrook, which it meets in value and slope at both ends",
            self._p(64.0 / re * math.exp(exponent)),
            "no published law holds here",
            formula="64 / Re × exp(t² (p + q t))",
            numbers=f"64 / {reynolds} × exp({t}² × ({_bracketed(p)} + {_bracketed(q)} × {t}))",
        )

    def _hazen_williams(self, run: RunResult, flow: str, diameter: str, length: str) -> SheetLine:
        c = f"{run.tube.hazen_williams_c:g}"
        unit_loss = hazen_williams_gradient(
            self.per["flow"], self.per["diameter"], 1.0, density(run.temperature)
        )
        factor = self._p(unit_loss * self.per["length"] / self.per["pressure"])
        product = number(factor) * number(length) * number(flow) ** 1.852
        friction = self._p(product / (float(c) ** 1.852 * number(diameter) ** 4.8704))
        return self._line(
            "R",
            f"{run.name}: friction along the developed length, C {c}",
            friction,
            "G. S. Williams and A. Hazen, Hydraulic Tables (1905)",
            formula="k L Q^1.852 / (C^1.852 d^4.8704)",
            numbers=f"{factor} × {length} × {flow}^1.852 / ({c}^1.852 × {diameter}^4.8704)",
        )

    def _k(self, run: RunResult) -> Iterator[SheetLine]:
        """The sum of the fittings' K, with what it is made of."""
        joining = self.tree.catalogue.joinings[run.run.joining]
        parts, named, sources = [], [], []
        for kind, count in run.run.fittings or ():
            if count:
                parts.append((count, self.k_of[run.run.joining, kind, run.material, run.nominal]))
                named.append(f"{count} {kind}")
                sources.append(cite(joining.citation_of(kind)))
        if self.tree.starts_at_manifold(run.index):
            parts.append((1, self._p(manifold_port_k())))
            named.append("the manifold's port")
            sources.append(cite(manifold_port_citation()))
        if parts:
            yield self._line(
                "K",
                f"{run.name}: sum of K of {', '.join(named)} ({joining.title})",
                self._p(sum(count * number(each) for count, each in parts)),
                "; ".join(dict.fromkeys(sources)),
                formula="sum of count × K",
                numbers=" + ".join(f"{count} × {each}" for count, each in parts),
            )

    def _device(
        self, result: DeviceResult, flow: str, rise: Sequence[SheetLine], before: float
    ) -> Iterator[SheetLine]:
        device, index, name = result.device, result.index, result.name
        loss = self._p(0.0)
        for line in self._device_loss(device, flow, index):
            loss = line.result
            yield line
        yield from rise
        losses = [("D", loss)]
        port = port_loss(self.tree, index, result.design_flow)
        if port > 0.0:
            text = self._in(port, "pressure")
            yield self._line(
                "F",
                f"{name}: loss of the manifold's port it hangs on",
                text,
                cite(manifold_port_citation()),
            )
            losses.insert(0, ("F", text))
        line = self._after(index, name, before, rise, *losses)
        if device.setting is None:
            yield line
            return
        held = self._held(device, flow)
        if number(held.result) < self.pressure[index]:
            self.pressure[index] = number(held.result)
            yield held
        else:
            yield line

    def _device_loss(self, device: Device, flow: str, index: int) -> Iterator[SheetLine]:
        law = law_of_loss(
            loss_of_device(device, self.tree.catalogue), number(flow) * self.per["flow"]
        )
        kind = self.tree.catalogue.devices[device.kind]
        source = "the file" if device.loss is not None else cite(kind.citation)
        scale = self._in(law.scale, "flow")
        terms: list[tuple[str, str, float]] = []
        known: list[str] = []
        pressure_unit = self.unit["pressure"]
        share = number(flow) / number(scale)
        if law.constant + law.level != 0.0:
            text = self._in(law.constant + law.level, "pressure")
            terms.append(("c", _bracketed(text), number(text)))
            known.append(f"{text} {pressure_unit} at any flow")
        for symbol, factor, power in (("l", law.linear, 1.0), ("p", law.factor, law.power)):
            if factor == 0.0:
                continue
            text, exponent = self._in(factor, "pressure"), self._p(power)
            known.append(f"{text} {pressure_unit} at {scale} {self.unit['flow']}")
            raised = "" if exponent == "1" else "²" if exponent == "2" else f"^{exponent}"
            terms.append(
                (
                    f"{symbol} (Q / q){raised}",
                    f"{text} × ({flow} / {scale}){raised}",
                    number(text) * share ** number(exponent),
                )
            )
        if not terms:
            return
        yield self._line(
            "D",
            f"{device.name}: its loss at this flow, known as {' and '.join(known)}",
            self._p(math.fsum(value for _, _, value in terms)),
            source,
            formula=" + ".join(formula for formula, _, _ in terms),
            numbers=" + ".join(numbers for _, numbers, _ in terms),
        )

    def _held(self, device: Device, flow: str) -> SheetLine:
        kind = self.tree.catalogue.devices[device.kind]
        falloff = device.falloff if device.falloff is not None else kind.falloff or 0.0
        at = device.falloff_flow if device.falloff_flow is not None else kind.falloff_flow or 1.0
        setting, fall = (self._in(value, "pressure") for value in (device.setting or 0.0, falloff))
        rated = self._in(at, "flow")
        value = number(setting) - number(fall) * (number(flow) / number(rated)) ** FALLOFF_POWER
        return self._line(
            "P",
            f"{device.name}: pressure that it holds behind it, set to {setting}, {fall} less "
            f"at {rated} {self.unit['flow']}",
            self._p(value),
            "the file" if device.falloff is not None else cite(kind.citation),
            formula=f"setting − fall-off (Q / q)^{FALLOFF_POWER:g}",
            numbers=f"{setting} − {fall} × ({flow} / {rated})^{FALLOFF_POWER:g}",
        )

    # --- the end ---

    def _end(self) -> Iterator[SheetLine]:
        worst = self.design.worst
        needed = self._in(worst.required, "pressure")
        yield self._line(
            "N",
            f"{worst.name}: pressure it needs while it runs",
            needed,
            "the file" if worst.fixture.pressure is not None else "the demand method's book",
        )
        left = max(self.pressure[worst.index], 0.0)
        spare = self._p(left - number(needed))
        short = number(spare) < 0.0
        formula, numbers = "P − N", f"{self._p(left)} − {needed}"
        if short:
            formula, numbers = "N − P", f"{needed} − {self._p(left)}"
        if short and left == 0.0:
            formula, numbers = "N, as nothing arrives", needed
        yield self._line(
            "M",
            f"{worst.name}: {'SHORT BY' if short else 'to spare'}",
            spare.lstrip("−"),
            formula=formula,
            numbers=numbers,
        )

    def _loads(self) -> Table | None:
        demand = self.design.demand
        if not demand.load_name:
            return None
        rows: dict[str, list[str | None]] = {}
        for outlet in self.tree.outlets:
            row = rows.setdefault(outlet.fixture.name, [None, None])
            row[outlet.side == "hot"] = self._p(demand.load[outlet.link])
        kinds = {fixture.name: fixture.kind for fixture in self.design.house.fixtures}
        cold, hot = (self._aligned([row[side] for row in rows.values()]) for side in (0, 1))
        return Table(
            title=f"What each fixture counts, {demand.load_name}",
            columns=(
                Column(name="fixture", wrap=True),
                Column(name="kind", wrap=True),
                Column(name="on its cold pipe", digits=0),
                Column(name="on its hot pipe", digits=0),
            ),
            rows=tuple(
                (name, kinds[name], *sides) for name, *sides in zip(rows, cold, hot, strict=True)
            ),
        )

    def _groups(self) -> Iterator[str]:
        """A pipe that feeds both sides of a fixture counts it once, a room perhaps as a whole."""
        for use in self.design.demand.groups_used:
            times = f"{use.count} × " if use.count > 1 else ""
            sides = ", ".join(
                f"{self._p(value)} {side}"
                for side, value in (("cold", use.cold), ("hot", use.hot))
                if value is not None
            )
            yield (
                f"{', '.join(use.fixtures)}: {times}{use.title}, {self._p(use.value)}"
                f"{f' ({sides} alone)' if sides else ''}, below {use.run}"
            )

    def _table(self) -> Table:
        load = self.design.demand.load_name
        columns = {
            "load": load,
            "flow": "Q",
            "diameter": "d",
            "velocity": "v",
            "reynolds": "Re",
            "factor": "f",
            "friction": "R",
            "k": "K",
            "fitting": "F",
            "height": "H",
            "pressure": "P",
        }
        kept = [
            key
            for key, name in columns.items()
            if name and any(getattr(row, key) for row in self.rows.values())
        ]
        runs = self.design.runs
        cells: list[list[str]] = [
            [self._in(run.length, "length") for run in runs],
            *([getattr(self.rows[run.index], key) for run in runs] for key in kept),
        ]
        return Table(
            title="The same figures of every run, by the same formulas",
            columns=(
                Column(name="run", wrap=True),
                *(
                    Column(name=name, dimension=MEASURES.get(name), digits=0)
                    for name in ("L", *(columns[key] for key in kept))
                ),
            ),
            rows=tuple(zip([run.name for run in runs], *map(self._aligned, cells), strict=True)),
        )

    def _aligned(self, texts: Sequence[str | None]) -> list[str | None]:
        """The numbers of a column with as many decimals each, where that claims no more digits."""
        decimals = max((len((text or "").partition(".")[2]) for text in texts), default=0)
        return [text and _padded(text, decimals, self.digits) for text in texts]


class _WaterSheet(_Sheet):
    """What stands before the tank: from the pumping level up to the source's gauge.

    Of one of several wells as far as the point where their lines meet.
    """

    def __init__(self, sheet: _Sheet, place: int) -> None:
        super().__init__(sheet.design.stretches[place], sheet.system, sheet.digits)
        self.design_pressure = sheet.design.source.design_pressure
        self.rho, self.nu, self.constant = sheet.rho, sheet.nu, sheet.constant
        self.k_of = sheet.k_of
        self.left = "left for the gauge behind it"
        self.whole, self.place = sheet.design, place
        self.has_line = sheet.design.line is not None and not sheet.design.house.source.open_water
        self.well, self.pump = "well", "pump"
        self.goal, self.goal_height = "the gauge", "gauge"
        if sheet.design.house.further_wells:
            self.left = "left for what lies behind it"
            self.well = well_names(sheet.design.house)[place]
            self.pump = f"pump of {self.well}"
            self.goal, self.goal_height = "where the lines meet,", "meeting"

    def lines(self) -> Iterator[SheetLine]:
        """Every line, the last what the gauge shows; none where pump or level is not known."""
        together = with_curve(with_sizes(self.whole.house, self.whole.sizes))
        several = bool(together.further_wells)
        if several and (together.source.open_water or not self.has_line):
            return
        house = wells_apart(together)[self.place]
        pump, well = house.source.pump, house.source.well
        if not level_known(house) or pump is None or len(pump.curve) < 2 or well is None:
            return
        if several:
            flow = self.whole.lines[self.place].flow
        else:
            flow = flow_at_pressure(house, self.design_pressure)
        if flow <= 0.0 or not self._same_flow(flow):
            return
        aim = (
            "all lines end at one pressure where they meet"
            if several
            else ("the gauge shows the source's pressure")
        )
        self.pumped = self._line(
            "Q",
            f"{self.pump}: the flow at which {aim}, as follows",
            self._in(flow, "flow"),
            "tried until the last line agrees",
        )
        yield self.pumped
        yield from self._level(house, well)
        yield from self._pump(house, pump, flow)
        for index in range(1, len(self.tree)) if self.has_line else ():
            yield from self._link(index)

    def _same_flow(self, flow: float) -> bool:
        """Whether the runs before the tank were computed at this flow."""
        runs = self.design.runs if self.has_line else ()
        return all(abs(run.design_flow - flow) <= SAME * flow for run in runs)

    def _level(self, house: House, well: Well) -> Iterator[SheetLine]:
        """How far the water has to be lifted while the pump runs."""
        unit, q = self.unit["elevation"], self.pumped.result
        head = well.elevation if well.elevation is not None else house.source.elevation
        gauge, wellhead = (self._in(value, "elevation") for value in (house.source.elevation, head))
        static = self._in(well.static_level or 0.0, "elevation")
        water, falls = self._p(number(wellhead) - number(static)), "0"
        if house.source.open_water:
            words = "open tank: its water at the lowest level"
            yield self._line("z", words, wellhead, "the file")
        else:
            yield self._line(
                "z",
                f"{self.well}: water at rest, {static} {unit} below the wellhead at {wellhead} "
                f"{unit}",
                water,
                "the file",
                formula="wellhead − level",
                numbers=f"{_bracketed(wellhead)} − {static}",
            )
        if well.specific_capacity:
            capacity = self._p(well.specific_capacity * self.per["elevation"] / self.per["flow"])
            falls = self._p(number(q) / number(capacity))
            yield self._line(
                "s",
                f"{self.well}: drawdown at this flow, {capacity} {self.unit['flow']} for each "
                f"{unit} of it",
                falls,
                "the file",
                formula="Q / c",
                numbers=f"{q} / {capacity}",
            )
        self.lifted = self._p(number(gauge) - number(water) + number(falls))
        yield self._line(
            "h",
            f"lift from the pumping level to {self.goal} at {gauge} {unit}",
            self.lifted,
            "MIL-HDBK-1164",
            formula=f"{self.goal_height} − z" + " + s" * bool(well.specific_capacity),
            numbers=f"{_bracketed(gauge)} − {_bracketed(water)}"
            + (f" + {falls}" if well.specific_capacity else ""),
        )

    def _pump(self, house: House, pump: Pump, flow: float) -> Iterator[SheetLine]:
        """What the pump gives at the flow, and what its lift leaves of it."""
        pieces = list(pairwise(pump.curve))
        ends = next((piece for piece in pieces if flow <= piece[1][0]), pieces[-1])
        (q1, h1), (q2, h2) = (
            (self._in(at, "flow"), self._in(head, "elevation")) for at, head in ends
        )
        q, unit = self.pumped.result, self.unit["elevation"]
        n1, n2, m1, m2, n = map(number, (q1, q2, h1, h2, q))
        head = self._p(m1 + (n - n1) * (m2 - m1) / (n2 - n1))
        guessed = wells_alone(self.whole.house)[self.place].source.pump != pump
        yield self._line(
            "T",
            f"{self.pump}: its head between {h1} {unit} at {q1} {self.unit['flow']} and {h2} "
            f"{unit} at {q2}" + ("; a curve assumed through its one known point" * guessed),
            head,
            "common practice, no source" if guessed else "the file",
            formula="h1 + (Q − q1) (h2 − h1) / (q2 − q1)",
            numbers=f"{h1} + ({q} − {q1}) × ({h2} − {h1}) / ({q2} − {q1})",
        )
        rho, w = self.rho["cold"], self.constant["w"]
        start = self._p(number(w) * number(rho) * (number(head) - number(self.lifted)))
        self.pressure[0] = number(start)
        yield self._line(
            "P",
            f"{self.pump}: what the lift leaves of it for pipe and gauge",
            start,
            "hydrostatics",
            formula="w ρ (T − h)",
            numbers=f"{w} × {rho} × ({head} − {_bracketed(self.lifted)})",
        )

    def _flow(self, index: int, name: str) -> Iterator[SheetLine]:
        """Every link carries what the pump gives."""
        yield replace(self.pumped, words=f"{name}: flow, what the pump gives", **UNSAID)

    def _rise(self, index: int, name: str) -> Iterator[SheetLine]:
        """The lift was taken off as a whole."""
        yield from ()


class _SharedSheet(_Sheet):
    """What several wells share: from the point where their lines meet to the source's gauge."""

    def __init__(self, sheet: _Sheet, wells: Sequence[_WaterSheet]) -> None:
        shared = sheet.design.stretches[:-1][len(wells) :]
        super().__init__(shared[0] if shared else sheet.design, sheet.system, sheet.digits)
        self.rho, self.nu, self.constant = sheet.rho, sheet.nu, sheet.constant
        self.k_of = sheet.k_of
        self.left, self.has_line = "left for the gauge behind it", bool(shared)
        self.given_by = [well.pumped.result for well in wells]
        self.pressure[0] = wells[0].pressure[max(wells[0].pressure)]

    def lines(self) -> Iterator[SheetLine]:
        """Every line, the first what all pumps give, the last what the gauge shows."""
        total = self._p(math.fsum(map(number, self.given_by)))
        self.pumped = self._line(
            "Q",
            "pumps: what all give together",
            total,
            formula="sum of Q",
            numbers=" + ".join(self.given_by),
        )
        yield self.pumped
        for index in range(1, len(self.tree)) if self.has_line else ():
            yield from self._link(index)

    def _flow(self, index: int, name: str) -> Iterator[SheetLine]:
        """Every link carries what all pumps give."""
        yield replace(self.pumped, words=f"{name}: flow, what the pumps give", **UNSAID)


def _padded(text: str, decimals: int, digits: int) -> str:
    """A printed number with noughts behind, up to so many decimals and significant digits."""
    if not text.strip("−0.") or not decimals or not text[-1].isdigit():
        return text
    exact = printed(number(text), digits)
    room = max(digits - 1 - math.floor(math.log10(abs(number(exact)))), 0)
    return f"{number(text):.{min(decimals, room)}f}".replace("-", "−")


def _bracketed(text: str) -> str:
    return f"({text})" if text.startswith("−") else text

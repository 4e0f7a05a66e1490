"""Answers -> a supply file, with comments that say what to change and what to measure."""

from __future__ import annotations

import textwrap
from collections import Counter
from collections.abc import Iterator

from msgspec import Struct

from supplycalc.catalogue import Side, load_catalogue
from supplycalc.questions.new.answers import (
    Answers,
    Wanted,
    assumed_because,
    ends_of,
    middle_of,
    service_parts,
    spread_of,
    tank_inside,
)
from supplycalc.reading.writing import toml_text
from supplycalc.tables import load_table
from supplycalc.units import UnitSystem, parse, show

FLOOR_NAMES = ("downstairs", "upstairs", "top floor")
LAST_BRANCH = {"us": "8 ft", "metric": "2.5 m"}
"""Of a trunk's branches: what the farthest keeps for itself; common practice, no source."""
SHORTEST = {"us": "3 ft", "metric": "1 m"}
SERVICE_SIZES = {
    "us": ("pe-cts-sdr9", ("3/4", "1", "1-1/4", "1-1/2")),
    "metric": ("pe100-sdr11", ("25x2.3", "32x3.0", "40x3.7", "50x4.6")),
}
BUCKET = ("5 gal in 28 s", "45 psi")
PLACEHOLDER = "still to come"
"""A fixture that makes half a supply one that can be read; shown nowhere."""


class _Outlet(Struct, frozen=True, kw_only=True):
    name: str
    wanted: Wanted
    floor: int
    """From 1."""


def file_text(answers: Answers, *, complete: bool = True, remark: str = "") -> str:
    """The supply file that answers make.

    Args:
        complete: whether what was not answered is taken as not known; else it is left out, and
            the file holds a placeholder where no fixture was named.
        remark: first line.
    """
    return "\n".join(_Writer(answers, complete, remark).lines()) + "\n"


class _Writer:
    """Writes the sections in the order in which the water passes them."""

    def __init__(self, answers: Answers, complete: bool, remark: str) -> None:
        self.answers = answers
        self.starter = not answers.given
        self.complete = complete
        self.remark = remark
        self.metric = answers.units != "us"
        self.system: UnitSystem = "metric" if self.metric else "us"
        self.end = "source"
        """The point where what was written so far ends."""
        self.entry = "source"
        self.hot = ""

    def asked(self, name: str) -> bool:
        return self.complete or name in self.answers.given

    def note(self, name: str) -> Iterator[str]:
        """Comments where an answer was not known: what it may be instead, and who says so."""
        because = assumed_because(name)
        if self.answers.known(name) or because is None:
            return
        spread, citation = because
        said = "put yours in" if self.starter else "not known, so taken as usual"
        text = f"{said}: {spread} ({citation})"
        yield from textwrap.wrap(text, 96, initial_indent="# ", subsequent_indent="# ")

    def lines(self) -> Iterator[str]:
        outlets = self.outlets()
        hot = any(self.sides(outlet) != ("cold",) for outlet in outlets) or not outlets
        yield f"# {self.remark or 'A supply file.'}"
        yield '# Quantities are text with a unit: "140 ft", "5 ft 3 in", "42.7 m", "5 gal in 28 s".'
        yield "# Heights are those of the outlets above the finished ground floor. What you leave"
        yield "# out is assumed; supplycalc check lists it, supplycalc schema has every key."
        yield from self.project()
        yield from self.source()
        yield from (
            "",
            "[defaults]",
            "# the tube inside the house; 'supplycalc sources' lists them",
        )
        tube = self.answers.value("tube")
        yield from self.note("tube")
        yield f"material = {toml_text(tube)}"
        yield f"joining = {toml_text(load_catalogue().tubes[tube].joinings[0])}"
        yield from self.well_line()
        yield from self.service()
        yield from self.equipment()
        if hot and self.asked("heater"):
            yield from self.heater()
        if self.asked("layout"):
            yield from self.shared_pipes(outlets)
        yield from self.fixtures(outlets)

    def project(self) -> Iterator[str]:
        yield from ("", "[project]", 'name = "House"')
        yield f'units = "{self.system}"'
        if self.metric:
            yield 'demand = "en806"          # how much runs at once, by the European standard'
        else:
            yield 'demand = "irc"            # how much runs at once, by the code\'s table'
        if self.metric and any(
            "bar" in (self.answers.given.get(name) or "") for name in ("switch", "main_pressure")
        ):
            yield 'pressure_unit = "bar"      # on all pages'
        if self.answers.known("people"):
            yield f"people = {self.answers.value('people')}"
        elif self.asked("people"):
            yield "# people = 4              # who live there: daily use, and a well's day"

    def source(self) -> Iterator[str]:
        value, kind = self.answers.value, self.answers.value("supply")
        yield from ("", "[source]", *self.note("supply"), f'kind = "{kind}"')
        if self.asked("rise"):
            what = "the tank's gauge" if kind == "well" else "the meter's or tap's gauge"
            yield f"# height of {what} against the ground floor: minus is below"
            yield from self.note("rise")
            yield f"elevation = {toml_text(value('rise'))}"
        if kind == "main":
            yield "# what a gauge shows while water runs; read it at the hour of most use"
            yield from self.note("main_pressure")
            yield f"residual = {toml_text(value('main_pressure'))}"
            if self.answers.known("main_static"):
                yield f"static = {toml_text(value('main_static'))}"
            return
        low, _, rest = value("switch").partition("/")
        high, unit = rest.split()
        cut_in = f"{low} {unit}"
        if not self.starter and not self.answers.known("switch"):
            cut_in = spread_of("cut_in", self.system)
        yield "# the pump starts at cut_in and stops at cut_out; its switch's label says both"
        yield from self.note("switch")
        yield f'cut_in = "{cut_in}"'
        yield f'cut_out = "{high} {unit}"'
        if self.asked("tank_place"):
            yield from ("", "[source.tank]")
            at_well = value("tank_place") == "well"
            yield from self.note("tank_place")
            yield f"at_well = {str(at_well).lower()}"
            if self.answers.known("tank"):
                yield f"volume = {toml_text(value('tank'))}"
            else:
                size = "100 L" if self.metric else "44 gal"
                yield f'# volume = "{size}"        # from its label: how often the pump starts'
            less = {"psi": 2.0, "bar": 0.2, "kPa": 15.0}[unit]
            air = f"{float(low) - less:g} {unit}"
            yield f'# precharge = "{air}"  # air in the empty tank: {less:g} {unit} below cut_in'
        if self.answers.known("bucket"):
            flow, _, pressure = value("bucket").rpartition(" at ")
            yield from ("", "[source.pump]", "# the bucket test at the tank")
            yield f"measured_flow = {toml_text(flow)}"
            yield f"measured_pressure = {toml_text(pressure)}"
        elif self.asked("bucket"):
            yield from ("", "# Measure with bucket, watch and gauge, and the pump is judged too:")
            yield "# [source.pump]"
            flow, pressure = ("10 L in 30 s", "3 bar") if self.metric else BUCKET
            yield f'# measured_flow = "{flow}"'
            yield f'# measured_pressure = "{pressure}"'
        recovery = "20 L/min" if self.metric else "5 gpm"
        if self.answers.known("yield"):
            yield from ("", "[source.well]", f"recovery = {toml_text(value('yield'))}")
        elif self.asked("yield"):
            yield from ("", "# [source.well]             # what it gives for hours, by its log")
            yield f'# recovery = "{recovery}"'

    def well_line(self) -> Iterator[str]:
        """The run from the well to a tank in the house; a comment where no length is known."""
        known = self.answers.known("well_line")
        if not tank_inside(self.answers) or not (known or self.asked("well_line")):
            return
        length = self.answers.value("well_line") if known else "45 m" if self.metric else "150 ft"
        lines = (
            "[[run]]",
            'name = "well line"',
            'from = "well"',
            'to = "source"',
            f"length = {toml_text(length)}",
            *self.buried_line(),
        )
        yield ""
        if known:
            yield "# from the well to the tank: sized by what the pump gives"
            yield from lines
        else:
            yield "# the line from the well to the tank, once you know its length:"
            yield from (f"# {line.removeprefix('# ')}" for line in lines)

    def buried_line(self) -> Iterator[str]:
        """What the line in the trench is made of, and its size where it lies there already."""
        line = self.answers.value("line")
        material, sizes = SERVICE_SIZES[self.system]
        if line not in ("new", "there"):
            size, material = service_parts(line)
        else:
            size = "?"
        yield f"material = {toml_text(material)}"
        if self.asked("line"):
            yield from self.note("line")
        if line != "new":
            yield "existing = true"
            remark = '   # not known: measure around it, then write it, as "3/4"' * (size == "?")
            yield f"size = {toml_text(size)}{remark}"
        else:
            chosen = ", ".join(toml_text(each) for each in sizes)
            yield f'sizes = [{chosen}]  # what may be chosen; size = "{sizes[1]}" fixes it'
        depth = "1.1 m" if self.metric else "42 in"
        yield f'# buried = "{depth}"          # cover above it: below the frost'

    def service(self) -> Iterator[str]:
        inside = tank_inside(self.answers)
        distance = "near" if inside else "distance"
        if not self.asked(distance):
            return
        yield from ("", "[[run]]", 'name = "service"', 'from = "source"', 'to = "entry"')
        self.end = self.entry = "entry"
        yield "# along the pipe, not as the crow flies"
        yield from self.note(distance)
        yield f"length = {toml_text(self.answers.value(distance))}"
        if inside:
            yield "# from the tank to where pipes branch"
        else:
            yield from self.buried_line()
        yield "# fittings = { elbow-90 = 3, ball-valve = 2 }   # else a share of the length"

    def equipment(self) -> Iterator[str]:
        kinds = self.answers.value("equipment") if self.asked("equipment") else "none"
        if kinds == "none":
            if self.asked("equipment"):
                yield from ("", "# no filter or softener", *self.note("equipment"))
            return
        seen: Counter[str] = Counter()
        for kind in kinds.split(", "):
            seen[kind] += 1
            name = kind.replace("-", " ") + (f" {seen[kind]}" if seen[kind] > 1 else "")
            yield from ("", "[[device]]", f'name = "{name}"', f'kind = "{kind}"')
            yield from (f'from = "{self.end}"', f'to = "after {name}"')
            yield '# loss = "12 psi at 7 gpm"   # from its sheet; else the usual one of its kind'
            if kind == "pressure-reducing-valve":
                yield f'setting = "{"3.5 bar" if self.metric else "50 psi"}"'
            self.end = f"after {name}"

    def heater(self) -> Iterator[str]:
        tankless = self.answers.value("heater") == "tankless"
        kind = "tankless-heater" if tankless else "heater"
        yield from ("", "[[device]]", 'name = "water heater"')
        yield from self.note("heater")
        yield f'kind = "{kind}"'
        yield from (f'from = "{self.end}"', 'to = "hot water"    # beyond it everything is hot')
        self.hot = "hot water"

    def shared_pipes(self, outlets: list[_Outlet]) -> Iterator[str]:
        """Manifolds, or trunks for each storey."""
        if self.answers.value("layout") == "manifold":
            yield from ("", "# each fixture gets a pipe of its own", *self.note("layout"))
            yield from ("[[manifold]]", 'name = "cold manifold"', f'from = "{self.end}"')
            if self.hot:
                yield from ("", "[[manifold]]", 'name = "hot manifold"', f'from = "{self.hot}"')
            return
        yield from ("", "# trunks with branches", *self.note("layout"))
        for floor in sorted({outlet.floor for outlet in outlets}):
            for side in ("cold", "hot"):
                users = [
                    outlet
                    for outlet in outlets
                    if outlet.floor == floor
                    and side in self.sides(outlet)
                    and not self.outdoor(outlet)
                ]
                if users:
                    yield from ("", "[[run]]", f'name = "{self.trunk(floor, side)}"')
                    yield f'from = "{self.end if side == "cold" else self.hot}"'
                    yield f'to = "{self.trunk(floor, side)} end"'
                    yield f"length = {toml_text(self.trunk_length(floor, outlets))}"

    def fixtures(self, outlets: list[_Outlet]) -> Iterator[str]:
        if outlets:
            yield from ("", "# elevation is the height of the outlet above the ground floor")
        for floor in sorted({outlet.floor for outlet in outlets}):
            lengths = any(outlet.wanted.length for outlet in outlets if outlet.floor == floor)
            for name, what, noted in (
                (f"fixtures_{floor}", "the fixtures", True),
                (f"far_{floor}", "the lengths", not lengths),
                ("storey", "the heights", floor > 1),
            ):
                note = tuple(self.note(name)) if noted else ()
                if note:
                    yield f"# {what} of storey {floor}:"
                    yield from note
        for outlet in outlets:
            height = self.height(outlet)
            yield from ("", "[[fixture]]", f"name = {toml_text(outlet.name)}")
            yield f'kind = "{outlet.wanted.kind}"'
            yield f"elevation = {toml_text(height)}"
            for side in self.sides(outlet):
                start, length = self.branch(outlet, side, outlets)
                slab = self.answers.value("slab") == "yes" and outlet.floor == 1
                embedded = ", embedded = true" if slab else ""
                yield f'{side} = {{ from = "{start}", length = {toml_text(length)}{embedded} }}'
        if not outlets:
            unit = "m" if self.metric else "ft"
            yield from ("", "[[fixture]]", f'name = "{PLACEHOLDER}"', 'kind = "lavatory"')
            yield f'elevation = "1 {unit}"'
            manifold = self.asked("layout") and self.answers.value("layout") == "manifold"
            start = "cold manifold" if manifold else self.end
            yield f'cold = {{ from = "{start}", length = "1 {unit}" }}'
            if self.hot:
                start = "hot manifold" if manifold else self.hot
                yield f'hot = {{ from = "{start}", length = "1 {unit}" }}'

    # ---- what a fixture needs

    def outlets(self) -> list[_Outlet]:
        """Every fixture that was named, with a name of its own."""
        outlets: list[_Outlet] = []
        many = self.answers.floors() > 1
        wanted = [
            (floor, each)
            for floor in range(1, self.answers.floors() + 1)
            if self.asked(f"fixtures_{floor}")
            for each in self.answers.fixtures(floor)
        ]
        stems = [
            f"{FLOOR_NAMES[floor - 1]} {each.word}" if many else each.word for floor, each in wanted
        ]
        counts, numbers = Counter(stems), Counter[str]()
        for stem, (floor, each) in zip(stems, wanted, strict=True):
            numbers[stem] += 1
            name = f"{stem} {numbers[stem]}" if counts[stem] > 1 else stem
            outlets.append(_Outlet(name=name, wanted=each, floor=floor))
        return outlets

    def outdoor(self, outlet: _Outlet) -> bool:
        return outlet.wanted.kind in ("hose-bibb", "yard-hydrant")

    def sides(self, outlet: _Outlet) -> tuple[Side, ...]:
        sides = load_catalogue().fixtures[outlet.wanted.kind].sides
        if outlet.wanted.kind == "dishwasher":
            return ("cold",) if self.metric else ("hot",)
        if outlet.wanted.kind == "clothes-washer" and self.metric:
            return ("cold",)
        return sides

    def trunk(self, floor: int, side: str) -> str:
        many = self.answers.floors() > 1
        return f"{side} trunk{f' {FLOOR_NAMES[floor - 1]}' if many else ''}"

    def length(self, outlet: _Outlet) -> str:
        return outlet.wanted.length or self.answers.farthest(outlet.floor)

    def metres(self, outlet: _Outlet) -> float:
        return middle_of(self.length(outlet), "length")

    def trunk_length(self, floor: int, outlets: list[_Outlet]) -> str:
        nearest = min(
            (
                self.length(outlet)
                for outlet in outlets
                if outlet.floor == floor and not self.outdoor(outlet)
            ),
            key=lambda length: middle_of(length, "length"),
        )
        own, least = (parse(each[self.system], "length") for each in (LAST_BRANCH, SHORTEST))
        low, middle, high = (max(end - own, least) for end in ends_of(nearest, "length"))
        if low < high:
            return f"{self.written(low)} to {self.written(high)}"
        return self.written(middle)

    def branch(self, outlet: _Outlet, side: Side, outlets: list[_Outlet]) -> tuple[str, str]:
        """Where its own pipe begins, and how long it is."""
        if self.outdoor(outlet):
            return self.entry, self.length(outlet)  # no treated water on the garden
        if self.answers.value("layout") == "manifold":
            return f"{side} manifold", self.length(outlet)
        shared = middle_of(self.trunk_length(outlet.floor, outlets), "length")
        shortest = parse(SHORTEST[self.system], "length")
        own = max(self.metres(outlet) - shared, shortest)
        return f"{self.trunk(outlet.floor, side)} end", self.written(own)

    def height(self, outlet: _Outlet) -> str:
        rows = {row[0]: row for row in load_table("starter")["height"]["rows"]}
        row = rows.get(outlet.wanted.kind, rows["other"])
        above = parse(row[2 if self.metric else 1], "length")
        floor = (outlet.floor - 1) * parse(self.answers.value("storey"), "length")
        return self.written(above + floor)

    def written(self, metres: float) -> str:
        return show(metres, "elevation", self.system)

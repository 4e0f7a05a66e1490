"""The riser diagram: levels as bands, pipes upright in lanes, a line of text for every link."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from msgspec import Struct

from supplycalc.output.drawing import (
    HOT,
    LEADER,
    SIZE,
    SOLID,
    Drawing,
    Ink,
    Label,
    Mark,
    Shape,
    Stroke,
    circle,
    fold,
    labels_of,
    rectangle,
    text_width,
)
from supplycalc.questions.draw.lanes import Bus, lanes
from supplycalc.questions.draw.levels import DrawnLevel
from supplycalc.questions.draw.study import Row, SupplyDrawing
from supplycalc.records.sentences import amount
from supplycalc.units import UnitSystem, show, show_flow

WIDE, NARROW = 820.0, 360.0
"""Widths of the sheet: for a page or a screen, and for a phone held upright."""
LEAST_WIDE = 660.0
"""As narrow as the wide sheet gets where its texts are short, so that they stand together."""
LEADING = 15.0
ROW_GAP = 7.0
EDGE = 10.0
DOT, TO_SPARE = " · ", " to spare"
GAP = 12.0
"""Between two columns of text."""
LANE, NARROW_LANE = 38.0, 17.0
"""Widest distance between two lanes."""
WAY_WIDTH, PIPE_WIDTH = 3.6, 1.4
TITLE_SIZE = 15.0
LEAST_NAME = 130.0
"""Width kept for names beside the facts."""


class Said(Struct, frozen=True, kw_only=True):
    """What stands beside a row, in words."""

    name: str
    facts: tuple[str, ...]
    pressure: str
    margin: str
    flag: str
    """ "FAILS", "SHORT 3.2 psi", or empty."""
    note: str
    """After the margin: "worst", "see warning", or empty."""


def said(row: Row, system: UnitSystem) -> Said:
    """A row in words, as picture and terminal say it."""
    name, flag, note = row.name, "", ""
    facts: list[str] = []
    if row.size is not None:
        facts.append(row.size if row.metric else f"{row.size} in")
    if row.type == "well" and row.length is not None:
        facts.append(f"pump {show(row.length, 'length', system)} down")
    elif row.length is not None:
        facts.append(show(row.length, "length", system))
    if row.ports is not None:
        facts.append(f"{row.ports} ports")
    if row.design_flow is not None:
        before_tank, flow = row.index < 0, row.design_flow
        facts.append(show_flow(flow, system) if before_tank else show(flow, "flow", system))
    if row.type == "device" and row.loss is not None:
        facts.append(f"takes {show(row.loss, 'pressure', system)}")
    if row.words:
        facts.append(row.words)
    if row.planned:
        facts.append("planned")
    if row.index < 0:
        pressure = ""
    elif row.pressure is None:
        pressure = "used up"
    else:
        pressure = show(row.pressure, "pressure", system)
    margin = ""
    if row.margin is not None and row.required is not None:
        if row.margin < 0.0:
            flag = f"SHORT {amount(-row.margin, system)}"
        else:
            margin = f"{amount(row.margin, system)}{TO_SPARE}"
            if row.fails:
                flag = "FAILS"
    elif row.fails:
        flag = "FAILS"
    if row.worst:
        note = "worst"
    elif row.warned and not flag:
        note = "see warning"
    return Said(
        name=name, facts=tuple(facts), pressure=pressure, margin=margin, flag=flag, note=note
    )


def riser(drawn: SupplyDrawing, system: UnitSystem, width: float = WIDE) -> Drawing:
    """Draw the supply as a riser diagram.

    Args:
        width: of the sheet; `NARROW` puts each row's texts below each other.
    """
    return _Riser(drawn, system, width).drawing()


class _Columns(Struct, frozen=True, kw_only=True):
    """Where the texts of a row stand."""

    name: float
    name_width: float
    facts: float
    facts_width: float
    pressure: float
    """Its right end."""
    margin: float
    margin_width: float
    stacked: bool
    """Whether the facts stand below the name and the margin below the pressure."""


class _Riser:
    """One riser diagram on its way from rows to marks."""

    def __init__(self, drawn: SupplyDrawing, system: UnitSystem, width: float) -> None:
        self.drawn, self.system, self.width = drawn, system, width
        self.stacked = width < (WIDE + NARROW) / 2
        self.rows = drawn.rows
        self.said = [said(row, system) for row in drawn.rows]
        self.place = {row.index: number for number, row in enumerate(drawn.rows)}
        self.buses = lanes(drawn.design.tree, self.place)
        self.columns = self._columns()
        self.y: list[float] = [0.0] * len(self.rows)
        self.breaks: list[float] = []

    def drawing(self) -> Drawing:
        """The whole sheet."""
        head, top = self._heading()
        texts: list[Mark] = []
        y = top
        for level in reversed(self.drawn.levels):
            y = self._level(level, y, texts)
        self.breaks.append(y)
        key, bottom = self._key(y + 8.0)
        pipes = [*self._level_pipes(), *self._uprights(), *self._symbols()]
        design = self.drawn.design
        return Drawing(
            title=f"Riser diagram of {design.house.project.name}",
            description=self._description(),
            width=self.width,
            height=bottom + EDGE,
            marks=(*head, *pipes, *texts, *key),
            breaks=tuple(self.breaks),
        )

    def _description(self) -> str:
        design, worst = self.drawn.design, self.drawn.design.worst
        way = ", ".join(worst.path)
        return (
            f"{design.verdict(self.system)} From the source to {worst.name} the water goes "
            f"through {way}. Every run, its size and its pressure stand in the tables, too."
        )

    def _columns(self) -> _Columns:
        lane_count = max((bus.lane for bus in self.buses.values()), default=0) + 1
        # each well beside the first comes up in a lane of its own, below all that the tank feeds
        lane_count = max(lane_count, 1 + max(row.well for row in self.rows))
        stacked = self.stacked
        share, lane = (0.30, NARROW_LANE) if stacked else (0.34, LANE)
        self.step = min(lane, (self.width * share - 2 * EDGE) / max(lane_count, 1))
        self.left = EDGE + 10.0
        text_left = self.left + self.step * (lane_count - 1) + max(self.step, 16.0) + 16.0
        right = self.width - EDGE
        pressures = max(text_width(said.pressure) for said in self.said)
        margins = max(max(text_width(self._mark_text(said), bold=True) for said in self.said), 40.0)
        facts = max(text_width(DOT.join(said.facts), SIZE - 1) for said in self.said[2:])
        if stacked:
            side = max(text_width(self._pressure_text(said), bold=True) for said in self.said)
            return _Columns(
                name=text_left,
                name_width=right - side - GAP - text_left,
                facts=text_left,
                facts_width=right - text_left,
                pressure=right,
                margin=right,
                margin_width=(right - text_left) / 2.0,
                stacked=True,
            )
        margins = min(margins, self.width * 0.22)
        names = max(text_width(said.name, bold=True) for said in self.said)
        spread = right - 3.0 - text_left - names - facts - pressures - margins - 4.0 * GAP
        longest = max(text_width(DOT.join(said.facts), SIZE - 1) for said in self.said)
        facts, spread = facts + min(longest - facts, max(spread, 0.0)), spread - longest + facts
        self.width -= min(max(spread, 0.0), self.width - LEAST_WIDE)
        margin_left = self.width - EDGE - 3.0 - margins
        pressure_right = margin_left - GAP
        facts_right = pressure_right - pressures - GAP
        facts = min(facts, max(facts_right - text_left - GAP - LEAST_NAME, 60.0))
        facts_left = facts_right - facts
        name_width = facts_left - GAP - text_left
        return _Columns(
            name=text_left,
            name_width=name_width,
            facts=facts_left,
            facts_width=facts,
            pressure=pressure_right,
            margin=margin_left,
            margin_width=margins,
            stacked=False,
        )

    def _mark_text(self, said: Said) -> str:
        """Flag, margin and note in one text; on a phone the margin stands by the pressure."""
        margin = "" if self.stacked else said.margin
        parts = (said.flag or margin, said.note and f"({said.note})")
        return " ".join(part for part in parts if part)

    def _pressure_text(self, said: Said) -> str:
        """The pressure; on a phone with what is to spare."""
        if not (self.stacked and said.margin):
            return said.pressure
        return f"{said.pressure}, +{said.margin.removesuffix(TO_SPARE)}"

    def _heading(self) -> tuple[list[Mark], float]:
        design = self.drawn.design
        name = design.house.project.name
        flow = show(design.demand.design_flow[0], "flow", self.system)
        words = (
            f"Supply as a riser diagram. Pressures while the design flow of {flow} runs "
            f"(method {design.method})."
        )
        words += self.drawn.sizes_told
        inside = self.width - 2 * EDGE
        titles = fold(name, inside, TITLE_SIZE, bold=True)
        marks: list[Mark] = [*labels_of(titles, EDGE, EDGE + 14, 19.0, size=TITLE_SIZE, bold=True)]
        y = EDGE + 14 + 19.0 * len(titles)
        lines = fold(words, inside)
        marks += labels_of(lines, EDGE, y, LEADING, ink="grey")
        y += LEADING * len(lines)
        self.breaks.append(y)
        return marks, y

    def _level(self, level: DrawnLevel, top: float, texts: list[Mark]) -> float:
        """The heading of a level and its rows, from the top down; returns where it ends."""
        title = level.name[:1].upper() + level.name[1:]
        numbers = [n for n, row in enumerate(self.rows) if row.level == level.name]
        if level.given and level.floor is not None:
            title += f", floor at {show(level.floor, 'elevation', self.system)}"
        elif level.floor is not None:
            title += f", {self._heights(numbers)}"
        lines = fold(title, self.width - EDGE - self.columns.name, SIZE, bold=True)
        y = top + 6.0
        # a band may end after its last row, never between its heading and its first row
        self.breaks.append(y - 3.0)
        texts.append(Stroke(points=((EDGE, y), (self.width - EDGE, y)), ink="grey", width=0.8))
        texts += labels_of(lines, self.columns.name, y + 16.0, LEADING, bold=True)
        y += 16.0 + LEADING * len(lines) - 4.0
        for number in reversed(numbers):
            y = self._row(number, y, texts)
            self.breaks.append(y)
        return y

    def _heights(self, numbers: Sequence[int]) -> str:
        """Between which heights the rows of a level stand."""
        rows = [self.rows[number] for number in numbers]
        # a well's pump hangs far below the storey on which its line comes in
        heights = [row.elevation for row in rows if row.index >= 0]
        low, high = (show(end(heights), "elevation", self.system) for end in (min, max))
        return f"heights {low} to {high}" if low != high else f"height {low}"

    def _row(self, number: int, top: float, texts: list[Mark]) -> float:
        """The texts of one row; returns where it ends."""
        row, said, columns = self.rows[number], self.said[number], self.columns
        bold = row.worst_way
        beside = columns.name_width
        if columns.stacked:
            used = text_width(self._pressure_text(said), bold=True) + GAP
            beside = columns.pressure - columns.name - used
        names = fold(said.name, beside, bold=bold)
        y = top + ROW_GAP + 10.0
        self.y[number] = y - 4.0
        texts += labels_of(names, columns.name, y, LEADING, bold=bold)
        small = {"size": SIZE - 1, "ink": "grey"}
        lines = len(names)
        words = self._mark_text(said)
        if said.facts:
            room = columns.facts_width + 0.01
            if columns.stacked and words:
                room -= min(text_width(words, bold=True), columns.margin_width) + GAP
            facts = _fold_parts(said.facts, room)
            start = y + LEADING * len(names) if columns.stacked else y
            texts += labels_of(facts, columns.facts, start, LEADING, **small)
            lines = max(lines, len(facts) + (len(names) if columns.stacked else 0))
        if said.pressure:
            figure = self._pressure_text(said)
            texts.append(Label(x=columns.pressure, y=y, text=figure, anchor="end", bold=bold))
        if words:
            start = y + LEADING * len(names) if columns.stacked else y
            taken = self._margin(words, bool(said.flag), row, start, texts)
            lines = max(lines, taken + (len(names) if columns.stacked else 0))
        return top + ROW_GAP + LEADING * lines

    def _margin(self, words: str, flagged: bool, row: Row, y: float, texts: list[Mark]) -> int:
        """What is to spare or short, a failure white on black; returns the lines it takes."""
        columns = self.columns
        bold = flagged or row.worst
        folded = fold(words, columns.margin_width + 0.01, bold=True)
        anchor = "end" if columns.stacked else "start"
        ink: Ink = "white" if flagged else "black"
        labels = labels_of(folded, columns.margin, y, LEADING, anchor=anchor, bold=bold, ink=ink)
        if flagged:
            boxes = [label.box for label in labels]
            left = min(box[0] for box in boxes) - 3.0
            right = max(box[2] for box in boxes) + 3.0
            texts.append(
                rectangle(left, boxes[0][1] - 1.5, right, boxes[-1][3] + 1.0, fill="black")
            )
        texts += labels
        return len(folded)

    def _x(self, lane: int) -> float:
        return self.left + lane * self.step

    def _pipe(self, points: Sequence[tuple[float, float]], side: str, way: bool) -> Stroke:
        hot = side == "hot"
        return Stroke(
            points=tuple(points),
            ink="hot" if hot else "cold",
            width=WAY_WIDTH if way else PIPE_WIDTH,
            dashes=HOT if hot else SOLID,
        )

    def _fed_with(self, row: Row) -> str:
        """What comes to a row: to a heater, cold water."""
        heats = row.type == "device" and row.side == "hot"
        return self.rows[self.place[row.parent]].side if heats else row.side

    def _level_pipes(self) -> Iterator[Mark]:
        """Every row's pipe from its feeding line, and the leader to its text."""
        text = self.columns.name - 6.0
        for number, row in enumerate(self.rows):
            y = self.y[number]
            own = self.buses.get(row.index)
            if row.index <= 0:
                ends = ((self._x(row.well), y), (text, y))
                yield Stroke(points=ends, ink="pale", width=1.0, dashes=LEADER)
                continue
            start = self._x(self.buses[row.parent].lane)
            end = text - 6.0 if own is None else self._x(own.lane)
            if own is not None:
                yield Stroke(points=((end, y), (text, y)), ink="pale", width=1.0, dashes=LEADER)
            if end > start:
                yield self._pipe(((start, y), (end, y)), self._fed_with(row), row.worst_way)

    def _uprights(self) -> Iterator[Mark]:
        """The upright lines, each over a white one so that pipes behind it are seen to pass."""
        order = sorted(self.buses.items(), key=lambda item: item[1].lane)
        for index, bus in order:
            x, row = self._x(bus.lane), self.rows[self.place[index]]
            top, bottom = self.y[bus.high], self.y[bus.low]
            if top == bottom:
                continue
            ends = ((x, top), (x, bottom))
            wide = 13.0 if row.type == "manifold" else 9.0
            for y in self._passing(index, bus):
                yield Stroke(points=((x, y - 4), (x, y + 4)), ink="white", width=wide)
            if row.type == "manifold":
                ink: Ink = "hot" if row.side == "hot" else "cold"
                dashes = HOT if row.side == "hot" else SOLID
                bar = ((x, top - 3), (x, bottom + 3))
                yield Stroke(points=bar, ink=ink, width=8.0, dashes=dashes)
                inside = ((x, top - 1.5), (x, bottom + 1.5))
                yield Stroke(points=inside, ink="white", width=5.0)
            else:
                yield self._pipe(ends, row.side, way=False)
            yield from self._way_along(index, bus, x)
        for row in self.rows:
            if row.type in ("well", "water"):
                yield self._pipe(tuple(self._from_well(row)), "cold", way=True)
        # where a pipe leaves an upright line
        for row in self.rows:
            if row.index > 0 and row.parent in self.buses:
                bus, own = self.buses[row.parent], self.buses.get(row.index)
                if own is None or own.lane != bus.lane:
                    ink = "hot" if self._fed_with(row) == "hot" else "cold"
                    x, y = self._x(bus.lane), self.y[self.place[row.index]]
                    if len(self.drawn.design.tree.children[row.parent]) > 1:
                        yield circle(x, y, 2.6, fill=ink, edge=ink, width=0.5)

    def _from_well(self, row: Row) -> Iterator[tuple[float, float]]:
        """The way of a well's water up to the tank; of others to where lines meet."""
        x, first = self._x(row.well), self._x(0)
        yield x, self.y[self.place[row.index]]
        if row.well == 0:
            yield x, self.y[self.place[0]]
            return
        meeting = self.drawn.house.joined_wells[0].joins
        ends = {link.end: link.name for link in self.drawn.house.before_tank}
        at = next(
            (each.index for each in self.rows if each.index < 0 and each.name == ends.get(meeting)),
            0,
        )
        y = self.y[self.place[at]]
        yield x, y
        yield first, y

    def _passing(self, index: int, bus: Bus) -> Iterator[float]:
        """Where pipes pass behind an upright line that they have no part in."""
        for row in self.rows:
            number = self.place[row.index]
            if row.index <= 0 or not bus.low < number < bus.high:
                continue
            own = self.buses.get(row.index)
            start = self.buses[row.parent].lane
            end = len(self.rows) if own is None else own.lane
            if row.parent != index and start < bus.lane < end:
                yield self.y[number]

    def _way_along(self, index: int, bus: Bus, x: float) -> Iterator[Mark]:
        """The way to the worst fixture along an upright line."""
        for child in self.drawn.design.tree.children[index]:
            row = self.rows[self.place[child]]
            if row.worst_way:
                ends = ((x, self.y[self.place[index]]), (x, self.y[self.place[child]]))
                own = self.rows[self.place[index]]
                if own.side == "hot":  # else the thin dashes fill the gaps between the thick ones
                    yield Stroke(points=ends, ink="white", width=PIPE_WIDTH + 1.0)
                yield self._pipe(ends, own.side, way=True)

    def _symbols(self) -> Iterator[Mark]:
        """What stands at the rows: well, tank, equipment, outlets."""
        for number, row in enumerate(self.rows):
            y = self.y[number]
            ink: Ink = "hot" if row.side == "hot" else "cold"
            if row.type == "fixture":
                x = self.columns.name - 12.0
                tip = ((x, y - 4.5), (x + 8.0, y), (x, y + 4.5))
                yield Shape(points=tip, fill=ink if row.worst_way else "white", edge=ink)
                continue
            own = self.buses.get(row.index)
            x = self._x(own.lane if own is not None else row.well)
            source = self.drawn.house.source
            if row.type in ("well", "pump"):
                if row.name == "open tank":
                    yield from _open_tank(x, y, wide=11.0)
                yield from _pump(x, y)
            elif row.type == "water" or (row.type == "source" and source.by_gravity):
                yield rectangle(x - 7, y + 1, x + 7, y + 9, fill="cold", edge="cold")
                yield from _open_tank(x, y, wide=7.0)
            elif row.type == "source" and row.name != "main":
                yield from _tank(x, y)
            elif row.type == "source":
                yield Shape(points=((x - 7, y + 6), (x + 7, y + 6), (x, y - 7)), edge="cold")
            elif row.type == "device":
                yield from self._device(row, x, y, ink)

    def _device(self, row: Row, x: float, y: float, ink: Ink) -> Iterator[Mark]:
        roles = self.drawn.design.tree.catalogue.devices[row.kind or ""].roles
        if roles & {"stores", "heats-flow"}:
            yield rectangle(x - 7, y - 8, x + 7, y + 8, edge=ink)
            wave = ((x - 4, y + 3), (x - 2, y - 3), (x, y + 3), (x + 2, y - 3), (x + 4, y + 3))
            yield Stroke(points=wave, ink=ink, width=1.2)
        elif roles & {"closes", "protects", "mixes"}:
            yield Shape(
                points=((x - 7, y - 5), (x + 7, y + 5), (x + 7, y - 5), (x - 7, y + 5)), edge=ink
            )
        else:
            yield rectangle(x - 6, y - 6, x + 6, y + 6, edge=ink)
            yield Stroke(points=((x - 6, y + 6), (x + 6, y - 6)), ink=ink, width=1.2)

    def _key(self, top: float) -> tuple[list[Mark], float]:
        """What the lines mean, below the picture."""
        worst = self.drawn.design.worst.name
        entries: list[tuple[str, list[Mark]]] = [
            ("cold", [self._pipe(((0, 0), (28, 0)), "cold", way=False)]),
            ("hot", [self._pipe(((0, 0), (28, 0)), "hot", way=False)]),
            (f"thick: the way to {worst}", [self._pipe(((0, 0), (28, 0)), "cold", way=True)]),
        ]
        if self.stacked:
            entries.append(("+: to spare", []))
        if any(row.type == "manifold" for row in self.rows):
            bar: list[Mark] = [
                Stroke(points=((0, 0), (28, 0)), ink="cold", width=8.0),
                Stroke(points=((1.5, 0), (26.5, 0)), ink="white", width=5.0),
            ]
            entries.append(("manifold, each branch a pipe of its own", bar))
        marks: list[Mark] = []
        x, y = EDGE, top + 12.0
        right = self.width - EDGE
        for words, sample in entries:
            lines = fold(words, right - EDGE - 34.0, SIZE - 1)
            indent = 34.0 if sample else 0.0
            wide = indent + max(text_width(line, SIZE - 1) for line in lines)
            if x > EDGE and x + wide > right:
                x, y = EDGE, y + LEADING + 2.0
            for mark in sample:
                assert isinstance(mark, Stroke)
                moved = tuple((x + px, y - 4.0 + py) for px, py in mark.points)
                marks.append(
                    Stroke(points=moved, ink=mark.ink, width=mark.width, dashes=mark.dashes)
                )
            marks += labels_of(lines, x + indent, y, LEADING, size=SIZE - 1, ink="grey")
            x += wide + 2 * GAP
            y += LEADING * (len(lines) - 1)
        return marks, y + 6.0


def key_in_columns(
    entries: Sequence[str], left: float, top: float, wide: float, columns: int, gutter: float
) -> tuple[list[Label], float]:
    """What stands below a picture, in columns of a width, and where the longest ends."""
    folded = [fold(entry, wide - gutter, SIZE - 1) for entry in entries]
    rows = math.ceil(len(folded) / columns)
    labels: list[Label] = []
    lowest = top
    for column in range(columns):
        y = top
        for lines in folded[column * rows : (column + 1) * rows]:
            labels += labels_of(lines, left + column * wide, y, LEADING - 1.0, size=SIZE - 1)
            y += (LEADING - 1.0) * len(lines)
        lowest = max(lowest, y)
    return labels, lowest


def _fold_parts(parts: Sequence[str], width: float) -> list[str]:
    """Facts in lines of at most a width; a number stays with its unit."""
    lines: list[str] = []
    for part in parts:
        joined = f"{lines[-1]}{DOT}{part}" if lines else part
        if lines and text_width(joined, SIZE - 1) <= width:
            lines[-1] = joined
        else:
            lines += fold(part, width, SIZE - 1)
    return lines


def _pump(x: float, y: float) -> Iterator[Mark]:
    yield circle(x, y, 8.0, edge="cold")
    yield Shape(points=((x - 5, y + 4), (x + 5, y + 4), (x, y - 6)), fill="cold", edge="cold")


def _tank(x: float, y: float) -> Iterator[Mark]:
    yield rectangle(x - 7, y - 9, x + 7, y + 9, edge="cold")
    yield rectangle(x - 7, y + 1, x + 7, y + 9, fill="cold", edge="cold")


def _open_tank(x: float, y: float, *, wide: float) -> Iterator[Mark]:
    """Walls and bottom, open at the top."""
    walls = ((x - wide, y - 9), (x - wide, y + 10), (x + wide, y + 10), (x + wide, y - 9))
    yield Stroke(points=walls, ink="cold", width=1.6)

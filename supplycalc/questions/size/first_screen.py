"""The first screen of `size`: verdict, where the pressure goes, sizes as a plumber says them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from supplycalc.demand import method_record
from supplycalc.findings.words import listed
from supplycalc.network import well_side
from supplycalc.output.blocks import (
    Bar,
    Bars,
    Block,
    Checklist,
    Heading,
    Paragraph,
    care_in_short,
    first_findings,
)
from supplycalc.output.one_screen import first_that_fits
from supplycalc.output.terminal import height_of
from supplycalc.questions.size import tables
from supplycalc.questions.size.page import (
    by_chance_lines,
    cost_said,
    second_verdict,
    verdict_block,
)
from supplycalc.records.sentences import amount
from supplycalc.sizing.design import Design, OutletResult, RunResult, pump_then
from supplycalc.supply.several_wells import well_names
from supplycalc.units import UnitSystem, show, show_flow

MOST_STEPS, LEAST_STEPS = 8, 4
"""Steps drawn on the way, as room is left; those that take least are left out."""
FEWEST_STEPS, FEWEST_SIZES = 2, 2
"""Steps and sizes that stand in any case."""
MOST_LEFT_OUT = 4
MOST_NAMED = (6, 4, 3, 2)
"""Runs and fixtures told by name in a line of sizes, the more the more room there is."""
OF_BARS = 4
"""Lines around the bars, and one that words may break over."""
MOST_REMEDIES = 3
MENDS = {
    "pressure": "For pressure",
    "pump": "For the pump",
    "static": "For pressure at rest",
    "rating": "For the rating of pipe",
}
"""What remedies are for, where a house wants several kinds."""
SCREEN = 25
"""Lines of a first screen without heading of the findings and cautions."""
TOLD_ELSEWHERE = frozenset(
    {
        "pressure-short",
        "reserve-not-kept",
        "pressure-thin",
        "pump-cannot-hold",
        "daily-use-short",
        "from-memory",
    }
)
"""Findings that the verdict, the bars or the line of what is to spare tell already."""


def first_screen(design: Design, system: UnitSystem) -> Iterator[Block]:
    """What `size` shows at first: its answer on one screen.

    Where there is too much for it, names of runs give way, then steps of the way, then the sizes,
    then findings; never the verdict, what mends it, and care.
    """
    screens = (_screen(design, system, left_out) for left_out in range(MOST_LEFT_OUT + 1))
    yield from first_that_fits(screens, system, fixtures=len(design.outlets))


def _screen(design: Design, system: UnitSystem, left_out: int) -> Iterator[Block]:
    """A first screen without the first so many of the things that may give way."""
    findings = [it for it in design.findings if it.code not in TOLD_ELSEWHERE]
    verdict = verdict_block(design, system, findings)
    verdicts: list[Block] = [verdict, *second_verdict(design, system)]
    least = LEAST_STEPS if left_out < 2 else FEWEST_STEPS
    for most in MOST_NAMED if left_out < 1 else (1,):
        sizes = list(_sizes(design, system, verdict.text, most))
        below: list[Block] = [
            *(sizes if left_out < 3 else _first_sizes(sizes)),
            *_before_tank(design, system, most),
            *_to_spare(design, system),
            *by_chance_lines(design, system),
            *_changes(design, system, verdict.text),
        ]
        room = SCREEN - height_of([*verdicts, *below], system) - OF_BARS
        if room >= least:
            break
    else:
        verdicts = [verdict, *second_verdict(design, system, brief=True)]
    way = _way(design, min(max(room, least), MOST_STEPS))
    blocks: list[Block] = [*verdicts, *way, *below]
    yield from blocks
    if left_out < MOST_LEFT_OUT:
        yield from first_findings(findings, room=SCREEN - height_of(blocks, system))
    elif findings:
        yield Heading(f"Look at (all {len(findings)} with --full)")
    yield from care_in_short(hot="hot" in design.tree.side)


def _first_sizes(sizes: list[Block]) -> Iterator[Block]:
    """The heading and the largest sizes, the others counted."""
    yield from sizes[: 1 + FEWEST_SIZES]
    if (more := len(sizes) - 1 - FEWEST_SIZES) > 0:
        yield Paragraph(text=f"and {more} smaller {'size' if more == 1 else 'sizes'}", indent=2)


def _peak(design: Design, system: UnitSystem) -> str:
    """The flow that everything is sized for, and by whose table."""
    flow = show(design.demand.design_flow[0], "flow", system)
    return f"{flow} by {method_record(design.demand.method).told}"


def _way(design: Design, most: int) -> Iterator[Block]:
    """The pressure along the way to the worst fixture, a bar per step, the `most` that count."""
    outlet = design.worst
    steps = list(_steps(design, outlet))
    while len(steps) > most:
        least = min(range(1, len(steps) - 1), key=lambda i: steps[i - 1].value - steps[i].value)
        del steps[least]
    needed = Bar(name="needed there", value=outlet.required, limit=True)
    yield Bars(
        title=f"Pressure on the way to {outlet.name}", dimension="pressure", bars=(*steps, needed)
    )


def _steps(design: Design, outlet: OutletResult) -> Iterator[Bar]:
    start = tables.source_step(design)
    name = "main, at this flow" if start == tables.MAIN_AT_FLOW else start
    yield Bar(name=name, value=design.source.design_pressure)
    for index in design.tree.path(outlet.index):
        link = design.result_at.get(index)
        if isinstance(link, RunResult):
            yield Bar(
                name=link.name, size=link.nominal, length=link.length, value=link.end_pressure
            )
        elif link is not None:
            yield Bar(name=link.name, value=link.end_pressure)


def _sizes(design: Design, system: UnitSystem, verdict: str, most: int) -> Iterator[Block]:
    """One line per size: the shared runs by name, then the fixtures that it goes to."""
    changed = "" if design.sized_for is None else f", for change {design.sized_for + 1} below"
    if design.sized_for == 0 and _in_verdict(design, system, verdict):
        changed = ", with that change"
    yield Heading(f"Sizes for {_peak(design, system)}{changed}")
    several = len({run.material for run in design.runs if run.run.fixture is None}) > 1
    after = design.after_change
    sized = [(run, run.tube.size(after.get(run.name, run.nominal))) for run in design.runs]
    groups: dict[str, list[RunResult]] = {}
    for run, size in sorted(sized, key=lambda each: -each[1].inside_diameter):
        groups.setdefault(size.nominal, []).append(run)
    for nominal, runs in groups.items():
        shared = [_named(run, several) for run in runs if run.run.fixture is None]
        told = _few(shared + _fixture_names(design, runs), most)
        yield Paragraph(text=told, label=f"{nominal:6}", indent=2, hang=7)


def _few(names: list[str], most: int) -> str:
    """The first of several names, the others counted."""
    if len(names) > most + 1:
        names = [*names[:most], f"{len(names) - most} more"]
    return listed(names)


def _before_tank(design: Design, system: UnitSystem, most: int) -> Iterator[Block]:
    """The sizes of the line from the well, where the file left them open, and what it carries."""
    tank = "tank" if design.house.source.filled_by is None else "open tank"
    names = well_names(well_side(design.house))
    for number, line in enumerate(design.lines):
        if all(run.run.size is not None or run.run.existing for run in line.runs):
            continue
        told = _few([f"{run.name} {run.nominal}" for run in line.runs], most)
        what = "from the pump" if line.by_pump else "taken as pumped"
        if len(names) > 1:
            what = f"from {names[number]}" if number < len(names) else "from all"
        flow = show_flow(line.flow, system)
        yield Paragraph(text=f"Before the {tank}, {flow} {what}: {told}", indent=2, hang=2)


def _named(run: RunResult, several: bool) -> str:
    return f"{run.name} ({run.material})" if several and run.run.buried is not None else run.name


def _fixture_names(design: Design, runs: Iterable[RunResult]) -> list[str]:
    """Fixtures by the runs that end at them: once where hot and cold are of one size."""
    sides: dict[str, list[str]] = {}
    for run in runs:
        if run.run.fixture is not None:
            sides.setdefault(run.run.fixture, []).append(run.side)
    both = {item.name for item in design.house.fixtures if item.cold and item.hot}
    return [
        f"{name} ({on[0]})" if name in both and len(on) == 1 else name for name, on in sides.items()
    ]


def _to_spare(design: Design, system: UnitSystem) -> Iterator[Block]:
    """What the pipe costs, and what other pressures to spare would, in a line or two."""
    told: dict[str, str] = {}
    for price in design.margin_prices:
        if price.changes or price.cost is None:
            cost = "no sizes" if price.cost is None else cost_said(price.cost, design, system)
            told[cost] = amount(price.reserve, system)
        if price.cost is None:
            break
    listing = "; ".join(f"{spare}: {cost}" for cost, spare in told.items())
    others = f" (with {listing.replace(':', ' to spare:', 1)})" if told else ""
    changed = None if design.sized_for is None else design.remedies[design.sized_for]
    shown = cost_said(design.cost if changed is None else changed.cost, design, system)
    yield Paragraph(text=f"Pipe: {shown}{others}", indent=2)


def _changes(design: Design, system: UnitSystem, verdict: str) -> Iterator[Block]:
    """What would mend a house that falls short, the first few; not twice what the verdict tells."""
    changes = [
        (number, remedy)
        for number, remedy in enumerate(design.remedies, start=1)
        if number > 1 or not _in_verdict(design, system, verdict)
    ]
    several = len({remedy.mends for remedy in design.remedies}) > 1
    if len(changes) == 1 < len(design.remedies) and not several:
        [(_, other)] = changes
        spare = amount(other.worst_margin, system)
        text = f"Or {other.said(system)}: then {spare} to spare, computed too"
        yield Paragraph(text=text, indent=2, hang=2)
        return
    told = ""
    for number, remedy in changes[:MOST_REMEDIES]:
        if remedy.mends != told:
            told = remedy.mends
            what = "do" if several else "Do" if number == 1 else "Or do"
            what = f"{MENDS[told]}: {what}" if several else what
            yield Heading(f"{what} one of these, each computed to work")
        then = f"{amount(remedy.worst_margin, system)} to spare"
        if remedy.mends == "pump":
            then = pump_then(remedy, system)
        text = f"{remedy.said(system)}: then {then}"
        yield Paragraph(text=text, label=f"{number}.", indent=2, hang=3)
    if len(changes) > MOST_REMEDIES:
        yield Checklist(items=(f"and {len(changes) - MOST_REMEDIES} more",))


def _in_verdict(design: Design, system: UnitSystem, verdict: str) -> bool:
    """Whether the verdict tells the first change itself."""
    return bool(design.remedies) and f"to mend it, {design.remedies[0].said(system)} (" in verdict

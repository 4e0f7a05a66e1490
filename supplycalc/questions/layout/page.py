"""What `layout` shows: layouts side by side, the manifold's place, a plan."""

from __future__ import annotations

from collections.abc import Iterator

from supplycalc.model import Position
from supplycalc.output.blocks import Block, Heading, Paragraph, Picture, Verdict, care_blocks
from supplycalc.output.cautions import cautions
from supplycalc.questions.layout.plan import plan
from supplycalc.questions.layout.study import Freedom, LayoutOption, LayoutStudy
from supplycalc.records import Cell, Column, Table, table_of
from supplycalc.records.sentences import amount
from supplycalc.records.table import wait_cell
from supplycalc.sizing.design import RunResult
from supplycalc.units import UnitSystem, show

PROPOSAL = (
    "A layout is a proposal: framing, fire walls, frost and other trades decide the way. Leave "
    "every manifold within reach, with one shut-off and one drain, and its ports labelled."
)

NARROW_PLAN = 34
"""[characters]"""
NO_PRICES = (
    ", and of its pipe alone: manifolds, valves and joints count nothing without a price list "
    "(--prices)"
)


def where(at: Position, system: UnitSystem) -> str:
    """A place in words, e.g. "30 ft east, 6 ft north, 4 ft up"."""
    words = (("east", "west"), ("north", "south"), ("up", "down"))
    return ", ".join(
        f"{show(abs(value), 'length', system)} {plus if value >= 0 else minus}"
        for value, (plus, minus) in zip(at, words, strict=True)
    )


def layouts_table(study: LayoutStudy) -> Table:
    """The layouts on equal terms."""

    def fittings(option: LayoutOption) -> str:
        return ", ".join(f"{count} {kind}" for kind, count in option.fittings)

    return table_of(
        "The layouts on equal terms, each sized at least cost",
        LayoutOption,
        study.options,
        (
            Column(name="layout", of="code", wrap=True),
            Column(name="to spare", of="design.worst.margin", wrap=True),
            Column(name="pipe", of="pipe"),
            cost_column(study, "all parts"),
            Column(name="fittings", of=fittings, wrap=True),
            Column(name="ports", of=lambda option: str(option.ports)),
            Column(name="joints in slab", of=lambda option: str(option.slab_joints), wrap=True),
            longest_wait_column(),
            Column(name="in hot pipe", of="hot_volume", wrap=True),
        ),
    )


def cost_column(study: LayoutStudy, words: str) -> Column:
    """What the layouts are compared by: the price of all parts, or pipe by mass."""
    if study.prices is None:
        return Column(name="cost", of="design.cost", dimension="mass")
    return Column(name=f"{words}, {study.prices.currency}", of="total", digits=2, wrap=True)


def longest_wait_column() -> Column:
    """How long each layout's slowest outlet waits for hot water."""

    def wait(option: LayoutOption) -> Cell:
        return wait_cell(option.longest_wait.wait if option.longest_wait else None)

    return Column(name="longest wait", dimension="time", wrap=True, of=wait)


def laid_pipe_table(study: LayoutStudy) -> Table:
    """Pipe by size, one column for each layout."""
    keys: dict[tuple[str, str], None] = {}
    for option in study.options:
        for total in option.pipes:
            keys.setdefault((total.material, total.size))
    tubes = study.options[0].design.tree.catalogue.tubes
    order = sorted(keys, key=lambda key: (key[0], tubes[key[0]].size(key[1]).inside_diameter))
    lengths = [
        {(total.material, total.size): total.length for total in option.pipes}
        for option in study.options
    ]
    return Table(
        title="Pipe laid anew, by size",
        columns=(
            Column(name="tube", wrap=True),
            Column(name="size"),
            *(Column(name=option.code, dimension="length", wrap=True) for option in study.options),
        ),
        rows=tuple((*key, *(by_size.get(key, 0.0) for by_size in lengths)) for key in order),
    )


def wait_table(study: LayoutStudy) -> Table:
    """Hot-water wait at each hot outlet, one column for each layout."""
    waits = [{outlet.name: outlet.wait for outlet in option.outlets} for option in study.options]
    names = [outlet.name for outlet in study.options[study.chosen].outlets]
    return Table(
        title="Wait for hot water, the valve as it is used and nothing else running",
        columns=(
            Column(name="outlet", wrap=True),
            *(Column(name=option.code, dimension="time", wrap=True) for option in study.options),
        ),
        rows=tuple((name, *(wait_cell(by_name.get(name)) for by_name in waits)) for name in names),
    )


def freedom_table(study: LayoutStudy) -> Table:
    """How far the manifold may move, and at what price."""
    return table_of(
        "How far it may move from there",
        Freedom,
        study.places.freedom,
        (
            Column(name="for at most", of=lambda freedom: f"{freedom.share:.0%} more"),
            Column(name="places", of=lambda freedom: float(freedom.places), digits=0),
            *(Column(name=side, of=side) for side in ("west", "east", "south", "north")),
        ),
    )


def branch_table(study: LayoutStudy) -> Table:
    """The branches of the home runs from one manifold: which may be thin, and why."""
    option = study.options[0]
    branches = [
        run
        for run in option.design.runs
        if run.run.fixture is not None and run.start in dict(option.places)
    ]
    return table_of(
        "Home runs from one manifold: what each branch needs",
        RunResult,
        branches,
        (
            Column(name="branch", of="name", wrap=True),
            Column(name="size", of="nominal"),
            Column(name="length", of="length"),
            Column(name="flow", of="design_flow"),
            Column(name="velocity", of="velocity"),
            Column(name="loss", of="loss"),
            Column(name="decided by", of="decided_by", wrap=True),
        ),
    )


def layout_page(study: LayoutStudy, system: UnitSystem) -> Iterator[Block]:
    """What `layout` shows."""
    chosen = study.options[study.chosen]
    yield Verdict(text=study.answer(system), mood="good" if chosen.works else "bad")
    yield layouts_table(study)
    for option in study.options:
        text = f"{option.code}: {option.title}; {option.method}."
        spots = dict.fromkeys(at for _, at in option.places)
        if spots:
            places = "; ".join(where(at, system) for at in spots)
            text += f" {'Manifolds' if len(spots) > 1 else 'Manifold'} at {places}."
        yield Paragraph(text=text, indent=2, hang=2)
    yield Paragraph(
        text="Lengths run along the building's axes, drop and rise counted, with "
        f"{study.length_allowance:.0%} added; pipe, fittings and joints are those laid anew, cost "
        f"is of the whole house{NO_PRICES if study.prices is None else ''}."
    )
    yield laid_pipe_table(study)
    if chosen.outlets:
        yield wait_table(study)
    yield from _place(study, system)
    yield branch_table(study)
    yield from care_blocks((PROPOSAL, *cautions(chosen.design)))


def place_text(study: LayoutStudy, system: UnitSystem) -> str:
    """Where one manifold should stand, in a sentence without its full stop."""
    places = study.places
    best = places.places[places.best]
    spacing = show(places.spacing, "length", system)
    text = f"One manifold stands best at {where(best.at, system)}"
    if best.storey:
        text += f" ({best.storey})"
    text += f"; {len(places.places)} places were sized, {spacing} apart"
    if places.unreachable:
        text += f" ({places.unreachable} more cannot be reached)"
    if not best.feasible:
        text += f"; even there {best.worst_name} is short by {amount(-best.worst_margin, system)}"
    return text


def plan_picture(study: LayoutStudy) -> Picture:
    """The plan, and a narrow one for a telephone."""
    return Picture(lines=tuple(plan(study)), narrow=tuple(plan(study, widest=NARROW_PLAN)))


def _place(study: LayoutStudy, system: UnitSystem) -> Iterator[Block]:
    yield Heading("Where the manifold should stand")
    yield Paragraph(text=f"{place_text(study, system)}.")
    if study.places.freedom:
        yield freedom_table(study)
    yield Heading("Plan")
    yield plan_picture(study)

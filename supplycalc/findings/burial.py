"""Pipe under ground and under slabs: frost, cover, and what cannot be reached after the pour."""

from __future__ import annotations

from collections.abc import Iterator

from supplycalc.demand import Book, book_of, method_record
from supplycalc.findings.outdoor_taps import OUTDOOR_KINDS
from supplycalc.findings.rule import Remark, by_american_code, rule
from supplycalc.findings.words import is_are, listed
from supplycalc.model import Run
from supplycalc.sizing.design import Design, RunResult
from supplycalc.tables import Citation, code_limit

DEPTH_SLACK = 0.006
"""[m] A quarter of an inch: less than a trench can be dug to, and than depths are shown to."""
RISE = "bring the line up inside the heated house, in an interior wall, not in an outer one"
OUTDOOR_RISE = (
    "end the line outdoors below the frost in a yard hydrant that drains itself into gravel, or "
    "give it a stop indoors and a drain, to empty it before winter"
)
"""Common practice, no source."""


def covers(book: Book) -> tuple[Citation, float, float]:
    """Where the cover of a service stands, the least [m], and the least below the frost line [m].

    Source: IRC P2603.5; UPC 609.1 (from memory).
    """
    least = code_limit("cover")
    below = method_record("upc" if book == "uniform" else "irc").limit("cover-below-frost")
    return below.citation, least.value, below.value


@rule("cover-too-shallow", "warn")
def cover_too_shallow(design: Design) -> Iterator[Remark]:
    """Cover less than the code asks for; above the frost line it fails, else it is a warning."""
    frost = design.house.limits.frost_depth
    if not by_american_code(design):
        yield from _above_the_frost(design)
        return
    source, least, below = covers(book_of(design.house))
    needed = least if frost is None else max(least, frost + below)
    for result, cover in _buried(design):
        if cover >= needed - DEPTH_SLACK:
            continue
        freezes = frost is not None and cover < frost - DEPTH_SLACK
        if freezes:
            message = "lies {0} deep, above the frost line at {1}: it will freeze"
        elif frost is not None and needed > least:
            message = "lies {0} deep, too near the frost line at {1}"
        else:
            message = "lies {0} deep, which leaves it open to damage"
        yield Remark(
            level="fail" if freezes else "warn",
            where=result.run.name,
            message=message,
            values=((cover, "cover"), (frost or 0.0, "cover")),
            remedy=(
                "lay it {0} deep or more: {1} of cover at least, and {2} below the frost line; "
                "your local depth may be greater"
            ),
            remedy_values=((needed, "cover"), (least, "cover"), (below, "cover")),
            source=source,
        )


def _above_the_frost(design: Design) -> Iterator[Remark]:
    """Where no code sets a cover: what frost reaches freezes; common practice, no source."""
    frost = design.house.limits.frost_depth
    for result, cover in _buried(design):
        if frost is not None and cover < frost - DEPTH_SLACK:
            yield Remark(
                level="fail",
                where=result.run.name,
                message="lies {0} deep, above the frost line at {1}: it will freeze",
                values=((cover, "cover"), (frost, "cover")),
                remedy="lay it {0} deep or more; your water supplier may ask for more",
                remedy_values=((frost, "cover"),),
            )


@rule("frost-depth-unknown", "note")
def frost_depth_unknown(design: Design) -> Iterator[Remark]:
    """Buried lines in a file that does not say how deep frost reaches."""
    buried = list(_buried(design))
    if buried and design.house.limits.frost_depth is None:
        yield Remark(
            where=listed(result.run.name for result, _ in buried),
            message=(
                f"{'lies' if len(buried) == 1 else 'the shallowest lies'} {{0}} deep; no frost "
                "depth is given, so whether frost reaches it is not judged"
            ),
            values=((min(cover for _, cover in buried), "cover"),),
            remedy="ask the building office for the frost depth and give frost_depth; "
            + "; ".join(rise for rise, _ in _rises(design)),
        )


@rule("frost-rise", "note")
def frost_rise(design: Design) -> Iterator[Remark]:
    """The way of every buried line up into the house, through the ground that freezes."""
    depth = design.house.limits.frost_depth
    if not depth:
        return
    for rise, names in _rises(design):
        edge = "; keep the depth up to the house's edge and in sleeves" if rise == RISE else ""
        yield Remark(
            where=listed(names),
            message=is_are(names, "on its way up it passes", "on their way up they pass")
            + " through {0} of ground that freezes",
            values=((depth, "cover"),),
            remedy=f"{rise}{edge}",
        )


def _rises(design: Design) -> Iterator[tuple[str, list[str]]]:
    """How buried lines should come up, with their names: into the house, or to outdoor taps."""
    indoors: list[str] = []
    outdoors: list[str] = []
    for result, _ in _buried(design):
        if _goes_on(design, result.run):
            continue
        if result.before_tank:
            indoors.append(result.run.name)
            continue
        below = design.tree.at_or_below(result.index)
        fed = {outlet.fixture.kind for outlet in design.outlets if outlet.index in below}
        (outdoors if fed <= set(OUTDOOR_KINDS) else indoors).append(result.run.name)
    if indoors:
        yield RISE, indoors
    if outdoors:
        yield OUTDOOR_RISE, outdoors


def _goes_on(design: Design, run: Run) -> bool:
    """Whether a run is a piece of a line that another piece of it carries on."""
    return bool(run.route) and any(
        other.run.start == run.end and other.run.route == run.route for other in design.every_run
    )


@rule("slab-joint", "warn")
def slab_joint(design: Design) -> Iterator[Remark]:
    """Joints out of reach in or under the slab: those counted, and where two runs meet there."""
    yield from _joints_counted(design)
    for stretch in design.stretches:
        yield from _runs_meeting(stretch)


def _joints_counted(design: Design) -> Iterator[Remark]:
    """Joints that the user counts inside the embedded part of a run."""
    for result in design.every_run:
        run = result.run
        if run.embedded and run.joints > 0:
            noun = "joint lies" if run.joints == 1 else "joints lie"
            yield Remark(
                where=run.name,
                message=f"{run.joints} {noun} in or under the slab, out of reach once it is poured",
                remedy="run one length of tube from stub to stub, or sleeve the joint with access",
            )


def _runs_meeting(design: Design) -> Iterator[Remark]:
    """Two embedded runs that meet: a joint, and perhaps a change of material or size, below."""
    results, parent = design.run_at, design.tree.parent
    heights = {point.name: point.elevation for point in design.house.points}
    for result in design.runs:
        above = results.get(parent[result.index])
        if above is None or not (result.run.embedded and above.run.embedded):
            continue
        height = heights.get(result.start)
        if height is not None and height > 0.0:
            continue
        changes = []
        if result.run.material != above.run.material:
            changes.append("material")
        if result.size.nominal != above.size.nominal:
            changes.append("size")
        what = f"and change {' and '.join(changes)} " if changes else ""
        yield Remark(
            where=f"{above.run.name} and {result.run.name}",
            message=f"they meet {what}in or under the slab, out of reach once it is poured",
            remedy=(
                f"join them above the floor (then give the point {result.start!r} its height), or "
                "run one length through"
            ),
        )


@rule("slab-fittings", "note")
def slab_fittings(design: Design) -> Iterator[Remark]:
    """Fittings listed for embedded runs without joints: they may stand above the floor or not."""
    counted = [
        (result.run.name, _joints(result.run)) for result in design.every_run if result.run.embedded
    ]
    doubtful = [name for name, joints in counted if joints]
    if doubtful:
        yield Remark(
            where=listed(doubtful),
            message="fittings are counted in a run that lies in or under the slab",
            remedy=(
                "see that each of them stands above the floor; give joints = the number that does "
                "not"
            ),
        )


def _joints(run: Run) -> int:
    """Fittings that are joints in the tube itself; bends of the tube are none."""
    if run.joints:
        return 0
    return sum(count for kind, count in run.fittings or () if kind != "bend")


def _buried(design: Design) -> Iterator[tuple[RunResult, float]]:
    """Runs with a depth of cover, save those under a slab, where the house keeps frost out."""
    for result in design.every_run:
        if result.run.buried is not None and not result.run.embedded:
            yield result, result.run.buried

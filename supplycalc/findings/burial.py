"""Pipe under ground and under slabs: frost, cover, and what cannot be reached after the pour."""

from __future__ import annotations

from collections.abc import Iterator

from supplycalc.findings.common import listed
from supplycalc.model import Run
from supplycalc.sizing.design import Design, Finding, RunResult
from supplycalc.tables import code_limit

DEPTH_SLACK = 0.006
"""[m] A quarter of an inch: less than a trench can be dug to, and than depths are shown to."""


def cover_too_shallow(design: Design) -> Iterator[Finding]:
    """Cover less than the code asks for; above the frost line it fails, else it is a warning."""
    frost = design.house.limits.frost_depth
    least, below = code_limit("cover"), code_limit("cover-below-frost")
    needed = least.value if frost is None else max(least.value, frost + below.value)
    for result, cover in _buried(design):
        if cover >= needed - DEPTH_SLACK:
            continue
        freezes = frost is not None and cover < frost - DEPTH_SLACK
        if freezes:
            message = "lies {0} deep, above the frost line at {1}: it will freeze"
        elif frost is not None and needed > least.value:
            message = "lies {0} deep, too near the frost line at {1}"
        else:
            message = "lies {0} deep, which leaves it open to damage"
        yield Finding(
            level="fail" if freezes else "warn",
            code="cover-too-shallow",
            where=result.run.name,
            message=message,
            values=((cover, "cover"), (frost or 0.0, "cover")),
            remedy=(
                "lay it {0} deep or more: {1} of cover at least, and {2} below the frost line; "
                "your local depth may be greater"
            ),
            remedy_values=((needed, "cover"), (least.value, "cover"), (below.value, "cover")),
            source=least.citation,
        )


def frost(design: Design) -> Iterator[Finding]:
    """What frost asks of every buried line: its depth, and the way up into the house."""
    depth = design.house.limits.frost_depth
    buried = list(_buried(design))
    if not buried or depth == 0.0:
        return
    where = listed(result.run.name for result, _ in buried)
    rise = "bring the line up inside the heated house, in an interior wall, not in an outer one"
    if depth is None:
        yield Finding(
            level="note",
            code="frost-depth-unknown",
            where=where,
            message=(
                f"{'lies' if len(buried) == 1 else 'the shallowest lies'} {{0}} deep; no frost "
                "depth is given, so whether frost reaches it is not judged"
            ),
            values=((min(cover for _, cover in buried), "cover"),),
            remedy=f"ask the building office for the frost depth and give frost_depth; {rise}",
        )
        return
    yield Finding(
        level="note",
        code="frost-rise",
        where=where,
        message="on its way up it passes through {0} of ground that freezes",
        values=((depth, "cover"),),
        remedy=f"{rise}; keep the depth up to the house's edge and in sleeves",
    )


def slab_joint(design: Design) -> Iterator[Finding]:
    """Joints that the user counts inside the embedded part of a run."""
    for result in design.runs:
        run = result.run
        if run.embedded and run.joints > 0:
            noun = "joint lies" if run.joints == 1 else "joints lie"
            yield Finding(
                level="warn",
                code="slab-joint",
                where=run.name,
                message=f"{run.joints} {noun} in or under the slab, out of reach once it is poured",
                remedy="run one length of tube from stub to stub, or sleeve the joint with access",
            )


def slab_meeting(design: Design) -> Iterator[Finding]:
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
        yield Finding(
            level="warn",
            code="slab-joint",
            where=f"{above.run.name} and {result.run.name}",
            message=f"they meet {what}in or under the slab, out of reach once it is poured",
            remedy=(
                f"join them above the floor (then give the point {result.start!r} its height), or "
                "run one length through"
            ),
        )


def slab_fittings(design: Design) -> Iterator[Finding]:
    """Fittings listed for embedded runs without joints: they may stand above the floor or not."""
    counted = [(one.run.name, _joints(one.run)) for one in design.runs if one.run.embedded]
    doubtful = [name for name, joints in counted if joints]
    if doubtful:
        yield Finding(
            level="note",
            code="slab-fittings",
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
    for result in design.runs:
        if result.run.buried is not None and not result.run.embedded:
            yield result, result.run.buried

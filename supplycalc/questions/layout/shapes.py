"""Houses piped anew: home runs from one manifold, or from several submanifolds."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.model import Fixture, House, Manifold, Point, Position, Run, Side
from supplycalc.questions.layout.kept_house import KeptHouse, turn_kind
from supplycalc.questions.layout.routes import Way
from supplycalc.units.dimensions import FOOT

SHORTEST = {"us": 0.1 * FOOT, "metric": 0.03}
"""[m] No run is shorter, even where its ends coincide."""


class Spot(Struct, frozen=True, kw_only=True):
    """One manifold place with the ways that lead to and from it."""

    name: str
    """Put before the names of its manifolds; empty where there is one place only."""
    at: Position
    from_origin: Way
    from_heater: Way
    fixtures: tuple[tuple[Fixture, Way], ...]


def developed(length: float, house: House) -> float:
    """A way's length as it is bought and sized [m]: with the allowance, to 0.01 ft or 1 cm."""
    units = house.project.units
    long = max(length * (1.0 + house.project.length_allowance), SHORTEST[units])
    unit = FOOT if units == "us" else 1.0
    return round(long / unit * 100.0) / 100.0 * unit


def fittings(kept: KeptHouse, run: Run, turns: int, **more: int) -> tuple[tuple[str, int], ...]:
    """Counts of what sits on a run, as far as its way of joining knows the kind."""
    known = kept.house.catalogue.joinings[run.joining].kinds
    counts = {turn_kind(kept.house.catalogue.tubes[run.material]): turns}
    counts.update({kind.replace("_", "-"): count for kind, count in more.items()})
    return tuple((kind, count) for kind, count in counts.items() if count and kind in known)


def main_run(
    kept: KeptHouse, side: Side, name: str, start: str, end: str, way: Way, **more: int
) -> Run:
    """A shared pipe along a way."""
    like = kept.hot_main if side == "hot" else kept.cold_main
    return replace(
        like,
        name=name,
        start=start,
        end=end,
        length=developed(way.length, kept.house),
        embedded=way.in_slab,
        joints=elbow_joints(kept, like, way),
        fittings=fittings(kept, like, way.turns, **more),
    )


def elbow_joints(kept: KeptHouse, run: Run, way: Way) -> int:
    """Joints that the corners of a way put into a slab: two for each elbow of a rigid tube."""
    if not way.in_slab or turn_kind(kept.house.catalogue.tubes[run.material]) == "bend":
        return 0
    return 2 * way.turns


def branch_run(kept: KeptHouse, like: Run, start: str, way: Way, **more: int) -> Run:
    """A fixture's own branch along a way; material, sizes and limits stay the file's."""
    return replace(
        like,
        start=start,
        length=developed(way.length, kept.house),
        length_measured=False,
        fittings=fittings(kept, like, way.turns, **more),
        fitting_allowance=None,
        buried=None,
        embedded=way.in_slab,
        joints=elbow_joints(kept, like, way),
    )


def heater_feed(kept: KeptHouse, way: Way | None) -> tuple[tuple[Run, ...], str]:
    """The run from the origin to the heater, none where it stands there, and the heater's inlet."""
    if kept.heater is None or way is None:
        return (), kept.origin
    run = main_run(
        kept, "cold", "heater feed", kept.origin, "heater feed end", way,
        tee_branch=1, ball_valve=1,
    )  # fmt: skip
    return (run,), run.end


def manifold_house(kept: KeptHouse, spots: Sequence[Spot], to_heater: Way | None) -> House:
    """The house with every fixture run home to the manifolds of its place."""
    runs, inlet = heater_feed(kept, to_heater)
    new_runs = list(runs)
    manifolds: list[Manifold] = []
    points: list[Point] = []
    fixtures: dict[str, Fixture] = {}
    valve = 1 if kept.house.layout.port_valves else 0
    heater = kept.heater if kept.heater is None else replace(kept.heater, start=inlet)
    for spot in spots:
        label = f"{spot.name} " if spot.name else ""
        for side, way in (("cold", spot.from_origin), ("hot", spot.from_heater)):
            served = [
                (fixture, fixture_way)
                for fixture, fixture_way in spot.fixtures
                if getattr(fixture, side) is not None
            ]
            if not served or (side == "hot" and heater is None):
                continue
            start = kept.origin if side == "cold" or heater is None else heater.end
            name = f"{label}{side} manifold"
            end = f"{name} inlet"
            new_runs.append(
                main_run(
                    kept,
                    "hot" if side == "hot" else "cold",
                    f"{label}{side} main",
                    start,
                    end,
                    way,
                    tee_run=1 if side == "cold" and runs else 0,
                    ball_valve=1,
                )
            )
            points.append(Point(name=end, at=spot.at))
            manifolds.append(
                Manifold(
                    name=name,
                    start=end,
                    ports=len(served) + kept.house.layout.spare_ports,
                    at=spot.at,
                )
            )
            for fixture, fixture_way in served:
                run = getattr(fixture, side)
                laid = branch_run(kept, run, name, fixture_way, ball_valve=valve)
                before = fixtures.get(fixture.name, fixture)
                fixtures[fixture.name] = (
                    replace(before, cold=laid) if side == "cold" else replace(before, hot=laid)
                )
    return assembled(kept, new_runs, manifolds, points, fixtures, inlet)


def assembled(
    kept: KeptHouse,
    runs: Sequence[Run],
    manifolds: Sequence[Manifold],
    points: Sequence[Point],
    fixtures: dict[str, Fixture],
    inlet: str,
) -> House:
    """What is kept and what is laid anew as one house; the inlet is what feeds the heater."""
    house = kept.house
    devices = house.devices
    if kept.heater is not None:
        devices = (*devices, replace(kept.heater, start=inlet))
    return replace(
        house,
        points=(*house.points, *points),
        runs=(*house.runs, *runs),
        devices=devices,
        manifolds=(*house.manifolds, *manifolds),
        fixtures=(*house.fixtures, *(fixtures[fixture.name] for fixture in kept.fixtures)),
    )

"""Small invented houses with positions, for the tests of layouts."""

from __future__ import annotations

import random

from supplycalc.model import (
    Defaults,
    Device,
    Fixture,
    House,
    Layout,
    Loss,
    Point,
    Position,
    Project,
    Storey,
    Zone,
)
from tests.houses import FOOT, GPM, PSI, branch, pipe, well

KINDS = ("lavatory", "tub-shower", "shower", "kitchen-sink", "clothes-washer")


def feet(*values: float) -> Position:
    """A position given in feet."""
    east, north, up = (value * FOOT for value in values)
    return east, north, up


def placed(name: str, kind: str, at: Position, *, hot: bool = True) -> Fixture:
    """A fixture with its position; where its branches start does not matter to a layout."""
    return Fixture(
        name=name,
        kind=kind,
        elevation=at[2],
        at=at,
        cold=branch(name, "cold", "entry", fittings=None),
        hot=branch(name, "hot", "heater outlet", fittings=None) if hot else None,
    )


def house(
    fixtures: tuple[Fixture, ...],
    *,
    entry: Position = (0.0, 0.0, 0.0),
    heater: Position | None = None,
    **more: object,
) -> House:
    """A service to the entry, a heater and the fixtures."""
    given: dict[str, object] = {
        "project": Project(name="Placed"),
        "source": well(56.0, 70.0),
        "defaults": Defaults(material="pex-sdr9", joining="crimp"),
        "points": (Point(name="entry", at=entry),),
        "runs": (
            pipe("service", "source", "entry", 60.0, material="pe-cts-sdr9", joining="insert"),
        ),
        "devices": (
            Device(
                name="water heater",
                kind="heater",
                start="entry",
                end="heater outlet",
                at=heater or feet(3, 0, 4),
                loss=Loss(quadratic=2.0 * PSI, reference_flow=8.0 * GPM),
            ),
        ),
        "layout": Layout(grid=4 * FOOT, submanifolds=2),
        "fixtures": fixtures,
    }
    given.update(more)
    return House(**given)  # type: ignore[arg-type]


def random_house(seed: int, count: int = 6, *, storeys: int = 1, zone: bool = False) -> House:
    """Fixtures strewn over a floor or two."""
    rng = random.Random(seed)
    wide, deep = rng.randint(20, 50), rng.randint(12, 30)
    west, south = rng.randint(4, wide - 8), rng.randint(2, deep - 6)
    fixtures: list[Fixture] = []
    while len(fixtures) < count:
        floor = 9 * rng.randrange(storeys)
        east, north, up = rng.randint(0, wide), rng.randint(0, deep), floor + rng.randint(1, 6)
        kind = rng.choice(KINDS)
        if zone and west < east < west + 4 and south < north < south + 4:
            continue  # nothing stands within the zone
        fixtures.append(placed(f"{kind} {len(fixtures)}", kind, feet(east, north, up)))
    more: dict[str, object] = {
        "storeys": tuple(
            Storey(
                name=f"floor {n}",
                floor=9 * n * FOOT,
                pipes_at=(9 * n - 1) * FOOT,
                in_slab=n == 0 and rng.random() < 0.5,
            )
            for n in range(storeys)
        )
    }
    if zone:
        more["zones"] = (
            Zone(
                name="stair",
                corner=feet(west + 0.5, south + 0.5, -2),
                opposite=feet(west + 3.5, south + 3.5, 30),
            ),
        )
    return house(tuple(fixtures), entry=feet(0, 0, 1), heater=feet(2, 0, 4), **more)

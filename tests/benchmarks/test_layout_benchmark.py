"""A thousand manifold places for a house of 40 fixtures, each sized exactly.

The reference builds, reads the demand of, and sizes the whole house anew for each place, as `size`
does without judging; a sample of places, in the same run. Both give the same cost and margin.
"""

from __future__ import annotations

import random
import time

import pytest
from msgspec.structs import replace
from pytest_benchmark.fixture import BenchmarkFixture

from supplycalc.model import House, Layout, Storey, Zone
from supplycalc.questions.layout.kept_house import kept_of
from supplycalc.questions.layout.manifold_place import PlaceSizer
from supplycalc.questions.layout.places import survey
from supplycalc.questions.layout.study import rank
from supplycalc.sizing.size import size_tree
from tests.houses import FOOT, well
from tests.questions.layout_houses import feet, house, placed

KINDS = ("lavatory", "water-closet", "tub-shower", "shower", "kitchen-sink", "clothes-washer")
SAMPLE = 25


def forty(zone: bool) -> House:
    """Forty invented fixtures on a floor of 80 ft by 50 ft; a grid of 2 ft has 41 by 26 places."""
    rng = random.Random(40)
    fixtures = [
        placed("corner one", "lavatory", feet(0, 0, 3)),
        placed("corner two", "lavatory", feet(80, 50, 3)),
    ]
    while len(fixtures) < 40:
        kind = rng.choice(KINDS)
        east, north = rng.randint(0, 80), rng.randint(0, 50)
        if 30 <= east <= 42 and 20 <= north <= 30:
            continue
        at = feet(east, north, rng.randint(1, 6))
        hot = kind != "water-closet"
        fixtures.append(placed(f"{kind} {len(fixtures)}", kind, at, hot=hot))
    more: dict[str, object] = {
        "source": well(70.0, 90.0),
        "layout": Layout(grid=2 * FOOT),
        "storeys": (Storey(name="site", floor=0.0, pipes_at=-1 * FOOT),),
    }
    if zone:
        more["zones"] = (Zone(name="atrium", corner=feet(31, 21, -2), opposite=feet(41, 29, 9)),)
    given = house(tuple(fixtures), entry=feet(0, 24, 1), heater=feet(4, 24, 4), **more)
    return replace(given, limits=replace(given.limits, velocity_cold=2.4))


@pytest.mark.parametrize("zone", [False, True], ids=["open floor", "around an atrium"])
def test_a_thousand_places(
    benchmark: BenchmarkFixture, capsys: pytest.CaptureFixture[str], zone: bool
) -> None:
    """Every place is sized; the sample agrees with sizing the whole house; times are printed."""
    given = forty(zone)
    start = time.perf_counter()
    site = survey(kept_of(given, given.catalogue))
    surveyed = time.perf_counter() - start
    sizer = PlaceSizer(site)
    count = len(site.places)
    start = time.perf_counter()
    places = [sizer.place(i) for i in range(count)]
    each = (time.perf_counter() - start) / count
    some = random.Random(7).sample(range(count), SAMPLE)
    start = time.perf_counter()
    whole = [size_tree(site.house(i)) for i in some]
    anew = (time.perf_counter() - start) / SAMPLE
    for number, sized in zip(some, whole, strict=True):
        assert places[number].cost == pytest.approx(sized.cost, rel=1e-12)
        assert places[number].worst_margin == pytest.approx(sized.worst_margin, abs=1e-6)
    best = min(places, key=rank)
    benchmark.pedantic(sizer.place, args=(0,), rounds=5)

    assert count >= (1000 if not zone else 900)
    assert all(rank(best) <= rank(place) for place in places)
    with capsys.disabled():
        print(
            f"\n{count} places, {len(given.fixtures)} fixtures, {len(sizer.tree)} links: "
            f"{1e3 * each:.1f} ms each, all ways in {surveyed:.1f} s; the whole house anew takes "
            f"{1e3 * anew:.1f} ms, {anew / each:.1f} times as long; "
            f"{sum(place.feasible for place in places)} places work"
        )

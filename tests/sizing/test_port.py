"""The port that a device stands on: a square-edged entrance and an exit, 1.5 velocity heads.

K 0.5 and 1.0 are those of the Hydraulic Institute's Engineering Data Book, 2nd ed. 1990.
"""

from __future__ import annotations

import math

import pytest
from msgspec.structs import replace

from supplycalc.delivery.household import shut_supply
from supplycalc.hydraulics.water import density
from supplycalc.model import Device, House, Loss, Manifold
from supplycalc.questions.parts.ports import manifolds
from supplycalc.questions.size.study import size
from tests.houses import GPM, PSI, cold_fixture, home_run, pipe

INCH = 0.0254


def with_filter(start: str) -> House:
    """A closet behind a filter on a manifold, the filter at the manifold or at a pipe's end."""
    filter_ = Device(
        name="filter",
        kind="uv",
        start=start,
        end="clean",
        loss=Loss(quadratic=3.0 * PSI, reference_flow=12.0 * GPM),
    )
    plain = home_run(ports=3)
    stub = pipe("stub", "manifold", "stub end", 1.0)
    return home_run(
        ports=3,
        runs=(*plain.runs, *((stub,) if start != "manifold" else ())),
        devices=(filter_,),
        fixtures=(*plain.fixtures, cold_fixture("toilet", "water-closet", "clean", elevation=0.5)),
    )


def test_a_device_on_a_port_loses_the_port_too() -> None:
    """3 gpm in half-inch PEX (0.475 in) runs 5.43 ft/s: 1.5 v^2/2g is 0.69 ft or 0.30 psi, beside
    the device's own 3 psi x (3/12)^2. 3/8 inch would run 10 ft/s, more than its limit. Exact but
    for the figures' own digits (1e-9)."""
    design = size(with_filter("manifold"), mend=False)
    [device] = design.devices

    velocity = 3.0 * GPM / (math.pi / 4.0 * (0.475 * INCH) ** 2)
    port = 1.5 * density(design.house.water.cold) * velocity**2 / 2.0

    assert port == pytest.approx(0.297 * PSI, rel=0.005)
    assert device.loss == pytest.approx(3.0 * PSI / 16.0 + port, rel=1e-9)
    told = [one for one in design.assumptions if one.text.startswith("filter hangs right on")]
    assert len(told) == 1
    assert told[0].values[0][0] == pytest.approx(port)


def test_the_port_counts_once() -> None:
    """With pipe between, the port is the pipe's and the device has its own loss alone; the pipe
    behind a device on a port has none."""
    piped = size(with_filter("stub end"), mend=False)
    direct = size(with_filter("manifold"), mend=False)
    k = {one.run.name: one.k for one in (*piped.runs, *direct.runs)}

    assert k["stub"] == pytest.approx(1.5)
    assert k["toilet cold"] == 0.0
    assert piped.devices[0].loss == pytest.approx(3.0 * PSI / 16.0, rel=1e-9)
    assert not any("right on a port" in one.text for one in piped.assumptions)


def test_what_comes_out_meets_the_same_port() -> None:
    """The delivered flow is found with the same K on the same bore as sizing."""
    design = size(with_filter("manifold"), mend=False)
    supply = shut_supply(design)
    index = design.devices[0].index

    assert supply.k[index] == pytest.approx(1.5)
    assert supply.inside_diameter[index] == pytest.approx(0.475 * INCH)


def test_the_device_takes_a_port_of_the_manifold_to_buy() -> None:
    """Three basins and the filter: of six ports two are left, however the filter is joined."""
    for start in ("manifold", "stub end"):
        house = with_filter(start)
        house = replace(house, manifolds=(replace(house.manifolds[0], ports=6),))
        [use] = manifolds(size(house, mend=False))

        assert (use.total, use.spare) == (6, 2)


def test_a_manifold_on_a_manifold_is_one_body() -> None:
    """No pipe between: nothing lost, and the reader is told to write the run that there may be."""
    plain = home_run(ports=2)
    house = home_run(
        ports=2,
        manifolds=(*plain.manifolds, Manifold(name="second", start="manifold", ports=2)),
        fixtures=(*plain.fixtures, cold_fixture("toilet", "water-closet", "second")),
    )
    design = size(house, mend=False)

    assert [one.text for one in design.assumptions if one.text.startswith("second is taken")]

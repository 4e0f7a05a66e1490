"""Hose bibbs: vacuum breaker (IRC P2902.4.3, as quoted), frost, softened water."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from supplycalc.model import Device, Limits, Loss
from tests.findings.judging import FOOT, findings_of, only
from tests.houses import cold_fixture, home_run, two_storey


def test_a_hose_bibb_needs_a_vacuum_breaker() -> None:
    """One note for all of them; none where there is no hose bibb."""
    finding = only(two_storey(), "hose-connection")

    assert finding.level == "note"
    assert finding.where == "garden tap"
    assert "vacuum breaker" in finding.remedy
    assert finding.source is not None
    assert finding.source.check == "seen"
    assert findings_of(home_run(), "hose-connection") == []


@pytest.mark.parametrize(("depth", "said"), [(None, False), (0.0, False), (3.0, True)])
def test_where_it_freezes_taps_are_frost_proof(depth: float | None, said: bool) -> None:
    """IRC P2903.10 (as described by code officials), where a frost depth is given."""
    limits = Limits(frost_depth=None if depth is None else depth * FOOT)

    assert ("frost-proof" in only(two_storey(limits=limits), "hose-connection").remedy) == said


def test_a_hose_bibb_behind_a_softener() -> None:
    """Noted with the softener's name; a filter in its place is not."""
    fixtures = tuple(
        cold_fixture(name, "hose-bibb", "manifold", 20.0) for name in ("east tap", "west tap")
    )
    softener = Device(name="old softener", kind="softener", start="entry", end="soft", loss=Loss())
    house = home_run(ports=3, fixtures=fixtures, devices=(softener,))
    house = replace(house, manifolds=(replace(house.manifolds[0], start="soft"),))
    filtered = replace(house, devices=(replace(softener, kind="cartridge-filter"),))

    finding = only(house, "softened-outdoors")

    assert finding.level == "note"
    assert finding.where == "east tap and west tap"
    assert "old softener" in finding.message
    assert findings_of(filtered, "softened-outdoors") == []


def test_a_yard_hydrant_drains_below_the_frost() -> None:
    """Its foot stands in gravel below the frost; it is no tap with a stop inside."""
    house = two_storey(
        fixtures=(cold_fixture("hydrant", "yard-hydrant", "entry", 20.0),),
        limits=Limits(frost_depth=3.0 * FOOT),
        runs=two_storey().runs[:1],
        devices=(),
    )
    drains, hose = only(house, "yard-hydrant"), only(house, "hose-connection")

    assert "below the frost line in gravel" in drains.remedy
    assert "frost-proof" not in hose.remedy
    assert findings_of(two_storey(), "yard-hydrant") == []

"""A height beyond all sizes: the lower way, the switch or booster that bring water over it, each
held against hydrostatics by hand, and the flow up to which the line stays full."""

from __future__ import annotations

import math

import pytest
from msgspec.structs import replace

import supplycalc as sc
from supplycalc.model import House, WaterSource
from supplycalc.questions.size.study import size
from supplycalc.sizing.crest_changes import full_up_to
from supplycalc.sizing.design import Design
from supplycalc.sizing.pressure_range import crests
from tests.commands.files import SCENARIOS
from tests.houses import FOOT, GPM, PSI
from tests.sizing.test_pressure_range import PSI_PER_FOOT, over_a_hill
from tests.sizing.test_profile import line

HILL = over_a_hill(110.0)
MAIN = WaterSource(kind="main", static=45.0 * PSI, residual=40.0 * PSI)


def texts(design: Design) -> list[str]:
    """Of its remedies."""
    return [remedy.text for remedy in design.remedies]


def at_height(house: House, height: float) -> Design:
    """The hill house with its hilltop at another height [m]."""
    [top] = house.points
    return size(replace(house, points=(replace(top, elevation=height),)), mend=False)


def test_the_lower_way_is_the_least_that_gets_over() -> None:
    """In whole feet: one foot higher the line still fails; at rest alone 40 psi lift 92 ft."""
    remedy = next(it for it in size(HILL).remedies if it.text.startswith("lead up"))
    (cap, _), (fall, _) = remedy.values

    assert fall == pytest.approx(round(fall / FOOT) * FOOT)
    assert cap == pytest.approx(110.0 * FOOT - fall)
    assert cap < 40.0 / PSI_PER_FOOT * FOOT
    assert crests(at_height(HILL, cap)) == ()
    assert crests(at_height(HILL, cap + FOOT)) != ()


def test_the_switch_is_the_least_that_gets_over() -> None:
    """110 ft are 47.6 psi: 50/70 does, if friction takes less than 2 psi; the sizes of the house as
    it is stay shown."""
    remedy = next(it for it in size(HILL).remedies if "pressure switch" in it.text)
    cut_in = remedy.values[0][0]
    raised = replace(HILL.source, cut_in=cut_in, cut_out=cut_in + 20.0 * PSI)

    assert cut_in / PSI in (pytest.approx(50.0), pytest.approx(60.0))
    assert crests(size(replace(HILL, source=raised), mend=False)) == ()
    if cut_in > 51.0 * PSI:
        fifty = replace(HILL.source, cut_in=50.0 * PSI, cut_out=70.0 * PSI)
        assert crests(size(replace(HILL, source=fifty), mend=False)) != ()
    assert remedy.sizes == ()


def test_a_main_takes_a_booster() -> None:
    """The least whole psi at which the line stays full while the design flow runs."""
    house = replace(HILL, source=MAIN)
    remedy = next(it for it in size(house).remedies if "booster pump at the source" in it.text)
    rise, flow = (value for value, _ in remedy.values)

    def boosted(more: float) -> Design:
        source = replace(MAIN, static=MAIN.static + more, residual=MAIN.residual + more)
        return size(replace(house, source=source), mend=False)

    assert rise / PSI == pytest.approx(round(rise / PSI))
    assert flow == size(house, mend=False).demand.design_flow[0]
    assert crests(boosted(rise)) == ()
    assert crests(boosted(rise - PSI)) != ()


def test_a_profile_is_lowered_and_the_source_stays() -> None:
    """A hill inside a run, split or not; its ends keep their heights."""
    way = ((0.0, 0.0), (60.0, 33.0), (100.0, -8.0), (150.0, 2.0))
    for split in (False, True):
        design = size(line(way, split=split))
        [remedy] = [it for it in design.remedies if "lead hill line no higher" in it.text]
        cap = remedy.values[0][0]
        lowered = tuple((at, min(height, cap)) for at, height in way)
        assert crests(size(line(lowered, split=split), mend=False)) == ()
        assert cap < 40.0 * PSI / 9800.0


def test_the_headline_tells_the_change() -> None:
    """Instead of the pressure that is missing with small pipe."""
    said = size(HILL).verdict("us")

    assert "to mend it, lead up no higher than" in said
    assert "to spare at" in said


def test_a_line_stays_full_up_to_a_flow() -> None:
    """At a hair more than that flow at the only tap the height fails with the same sizes, at a hair
    less it does not; where even still water does not get over there is none."""
    house = over_a_hill(91.0)
    design = size(house, mend=False)
    [top] = crests(design)
    flow = full_up_to(design, top)
    assert flow is not None
    assert 0.0 < flow < design.demand.design_flow[0]

    def drawn(share: float) -> bool:
        [tap] = house.fixtures
        sizes = {run.name: run.nominal for run in design.runs}
        assert tap.cold is not None
        given = replace(
            house,
            project=replace(house.project, demand="listed", listed=("tap",)),
            runs=tuple(replace(run, size=sizes[run.name]) for run in house.runs),
            fixtures=(
                replace(tap, flow=share * flow, cold=replace(tap.cold, size=sizes[tap.cold.name])),
            ),
        )
        return crests(size(given, mend=False)) == ()

    assert drawn(0.999)
    assert not drawn(1.001)
    assert any("stays full" in it.message for it in design.findings)
    never = size(over_a_hill(150.0), mend=False)
    assert full_up_to(never, crests(never)[0]) is None


def test_a_tank_up_the_hill_over_a_height() -> None:
    """Three feet over the outlet's water only a lower way or a booster helps; both are told, and no
    pressure below that of the air."""
    text = (SCENARIOS / "hill-tank.toml").read_text("utf-8")
    profile = (
        'length = "640 ft"\nprofile = [["0 ft", "88 ft"], ["200 ft", "97 ft"], ["640 ft", "-2 ft"]]'
    )
    design = size(sc.loads(text.replace('length   = "640 ft"', profile)))

    assert [remedy.text.split()[0] for remedy in design.remedies] == ["lead", "fit"]
    assert design.remedies[0].values[0][0] <= 89.0 * FOOT
    assert design.remedies[1].values[1][0] == pytest.approx(design.demand.design_flow[0])
    assert "-" not in "".join(remedy.said("us").replace("per-", "") for remedy in design.remedies)
    assert math.isclose(design.shortfall, 0.0)
    assert design.demand.design_flow[0] > 10.0 * GPM

"""Equipment beyond its rated flow: a filter of 8 gpm does not treat 16."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from supplycalc.model import Device, House, Loss
from supplycalc.questions.size.study import size
from tests.findings.judging import findings_of, only
from tests.houses import GPM, PSI, cold_fixture, two_storey, well


def behind(kind: str, rated: float, flow: float) -> House:
    """One tap of a flow [gpm] behind a device with 4 psi at its rated flow [gpm]."""
    device = Device(
        name="it", kind=kind, start="source", end="treated",
        loss=Loss(quadratic=4.0 * PSI, reference_flow=rated * GPM),
    )  # fmt: skip
    tap = replace(cold_fixture("tap", "hose-bibb", "treated", 20.0, size="1"), flow=flow * GPM)
    return two_storey(source=well(60.0, 80.0), runs=(), devices=(device,), fixtures=(tap,))


@pytest.mark.parametrize("kind", ["cartridge-filter", "softener", "iron-filter", "uv", "meter"])
def test_equipment_far_beyond_its_flow_is_told_of(kind: str) -> None:
    """16 gpm through what is rated 8: a warning with both flows and four times its loss."""
    finding = only(behind(kind, 8.0, 16.0), "beyond-rated-flow")

    assert finding.level == "warn"
    assert finding.where == "it"
    assert [value for value, _ in finding.values] == pytest.approx(
        [16.0 * GPM, 8.0 * GPM, 16.0 * PSI]
    )


def test_a_little_more_than_rated_is_no_finding() -> None:
    """A code's peak lasts minutes: 9 gpm through what is rated 8 is let pass."""
    assert findings_of(behind("softener", 8.0, 9.0), "beyond-rated-flow") == []


def test_a_heater_has_no_service_flow_of_this_kind() -> None:
    """What mixes is judged elsewhere; a heater is told of only far beyond what its loss is known
    at: a household's behind a camp's showers."""
    assert findings_of(behind("mixing-valve", 4.0, 16.0), "beyond-rated-flow") == []
    assert findings_of(behind("heater", 8.0, 16.0), "beyond-rated-flow") == []
    finding = only(behind("heater", 4.0, 16.0), "beyond-rated-flow")
    assert "of what it is there for" not in finding.message
    assert finding.remedy.startswith("give the loss of its data sheet")


def test_a_cartridge_is_told_how_much_dirt_it_bears() -> None:
    """4 psi when new; what the tap behind it has to spare is what the dirt may take."""
    clean = behind("cartridge-filter", 8.0, 8.0)
    margin = size(clean).worst.margin
    bearable = replace(
        clean, source=replace(clean.source, cut_in=clean.source.cut_in - margin + 3.0 * PSI)
    )

    finding = only(bearable, "filter-counted-clean")

    assert finding.level == "note"
    assert [value for value, _ in finding.values] == pytest.approx([4.0 * PSI, 3.0 * PSI])
    assert "tap falls short" in finding.said("us")


def test_much_to_spare_or_a_filter_that_washes_itself_is_no_finding() -> None:
    """A cartridge is changed before it takes 10 psi more; a backwashing filter is never full."""
    assert findings_of(behind("cartridge-filter", 8.0, 8.0), "filter-counted-clean") == []
    assert findings_of(behind("iron-filter", 8.0, 16.0), "filter-counted-clean") == []

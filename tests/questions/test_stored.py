"""A weak well's storage as a change of `size`: sized, judged, and what the other commands say."""

from __future__ import annotations

import json

import pytest

from supplycalc import api
from tests.verdicts.judged import answered, ask
from tests.verdicts.wells import ONE_STOREY
from tests.verdicts.writing import SMALL_PUMP, curve, line, project, well

SIZES = 'sizes = ["1", "1-1/4", "1-1/2"]'
WEAK = (
    project("weak", people="3")
    + well(pump=f"curve = {curve(SMALL_PUMP)}", more='recovery = "2 gpm"')
    + line(60, SIZES)
    + ONE_STOREY
)
"""A pump of 4 gpm at 40 psi on a well of 2 gpm, one bath: its outlets ask for 6."""


def test_storage_is_what_mends_a_weak_well() -> None:
    """No larger pump: a tank that lasts the drawn years, pumped from by the design flow; the tank
    that `well` asks for, rounded up to two digits."""
    design = api.size(api.loads(WEAK))
    needed = answered(WEAK, "well")["storage"]["volume"]["value"]
    remedy = design.remedies[0]
    told = json.loads(ask(WEAK, "size", "--json").text)["remedies"][0]["text"]

    assert not design.ok
    assert [it.mends for it in design.remedies] == ["pump"]
    assert remedy.text.startswith("let the well fill a covered tank of {0} slowly")
    volume, flow = remedy.values[0][0] / 3.785411784e-3, remedy.values[1][0]
    assert needed <= volume <= 1.1 * needed
    assert flow == pytest.approx(design.demand.design_flow[0])
    assert remedy.pump is not None
    assert remedy.pump.state == "holds"
    assert f"{volume:.0f}" in told


def test_the_storage_told_works_as_a_file_of_its_own() -> None:
    """Written by hand with the second pump and the tank of the change, size passes it, and neither
    `well` nor `size` asks for more storage."""
    design = api.size(api.loads(WEAK))
    volume, flow, head = (value for value, _ in design.remedies[0].values)
    before, after = WEAK.split("[source.pump]")
    pump, after = after.split("[source.well]")
    written = (
        before.replace('kind = "well"', 'kind = "tank"').replace(
            'cut_in = "40 psi"',
            'lowest_level = "-6 ft"\nhighest_level = "-3 ft"\n'
            f'volume = "{volume / 3.785411784e-3:.1f} gal"\ncut_in = "40 psi"',
        )
        + f"[source.well_pump]{pump}[source.pump]\n"
        + f'curve = [["0 gpm", "{head / 0.3048 / 0.85:.1f} ft"], '
        + f'["{flow / 6.30902e-5:.2f} gpm", "{head / 0.3048:.1f} ft"]]\n'
        + f"[source.well]{after}"
    )
    size, whole = answered(written, "size"), ask(written, "well", "--full")

    assert size["ok"]
    assert not [
        it for it in size["findings"] if it["where"] == "open tank" and it["level"] != "note"
    ]
    assert whole.exit_code == 0


def test_no_storage_is_told_where_a_days_water_is_not_there() -> None:
    """A tenth of a gallon a minute, 144 gal a day, for three people who are planned with 300: no
    tank carries that, and nobody says that one does."""
    text = WEAK.replace("2 gpm", "0.1 gpm")
    told = ask(text, "size", "--full").words

    assert api.size(api.loads(text)).remedies == ()
    assert "storage alone does not help" in told
    assert "store water" not in told
    assert "covered tank" not in told


def test_where_pressure_is_short_too_the_second_pump_holds_more() -> None:
    """30/50 with the tank 25 ft down: 11 psi go to height. A higher setting alone leaves the well's
    pump too small; what is stored is pumped at that setting, with sizes for it."""
    small = f"curve = {curve(SMALL_PUMP)}"
    text = (
        project("deep tank", people="3")
        + well(30, 50, gauge=-25, pump=small, more='recovery = "2 gpm"')
        + line(60, SIZES)
        + ONE_STOREY
    )
    design = api.size(api.loads(text))

    assert design.shortfall > 0.0
    assert design.remedies[0].mends == "pressure"
    assert "covered tank" in design.remedies[0].text
    assert "set the pressure switch to" in design.remedies[0].text
    assert design.remedies[0].worst_margin > 0.0
    assert design.remedies[0].sizes
    assert "to mend it, let the well fill a covered tank" in design.verdict("us")

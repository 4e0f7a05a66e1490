"""Every table of the demand methods: monotone, and held against a second source where there is one.

Fixture units and flows are printed to one decimal at most, sizes are words: comparisons of tables
are exact unless a tolerance is argued at the test.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from supplycalc.catalogue import nominal_inches
from supplycalc.demand.din1988 import peak_flow
from supplycalc.demand.en806 import flow_by_loading_units
from supplycalc.demand.fixture_units import load_curve
from supplycalc.tables import CHECKS, DATA_FILES, load_table

DEMAND_FILES = [name for name in DATA_FILES if name.startswith(("demand", "prescriptive", "guide"))]
GPM = 3.785411784e-3 / 60.0

NSPC_TANK = {3: 3, 4: 4, 5: 4.5, 6: 5, 7: 6, 8: 7, 9: 7.5, 10: 8, 11: 8.5, 12: 9, 13: 10, 14: 10.5,
             120: 49, 140: 53, 160: 57, 180: 61, 200: 65, 225: 70, 250: 75, 300: 85, 400: 105,
             500: 125, 750: 170, 1000: 210}  # fmt: skip
NSPC_VALVE = {5: 22, 6: 23, 7: 24, 8: 25, 9: 26, 10: 27, 11: 28, 12: 29, 13: 29.5, 14: 30,
              120: 74, 140: 78, 160: 83, 180: 87, 200: 91, 250: 100, 300: 110, 400: 125,
              500: 140, 750: 175, 1000: 210}  # fmt: skip
"""National Standard Plumbing Code, Table B.5.4, rows seen: Hunter's curve in whole and half gpm."""


def rows(file: str, table: str) -> list[list[Any]]:
    """Rows of a data file."""
    listed: list[list[Any]] = load_table(file)[table]["rows"]
    return listed


def tables_of(file: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    """Every table with its name, those in `limit`, `head` and `outlet` by themselves."""
    for name, table in file.items():
        inner = {key: value for key, value in table.items() if isinstance(value, dict)}
        yield from tables_of(inner)
        if len(inner) < len(table):
            yield name, table


@pytest.mark.parametrize("file", DEMAND_FILES)
def test_every_row_says_how_it_was_checked(file: str) -> None:
    """Each table with figures has a mark, or each of its rows has one."""
    for name, table in tables_of(load_table(file)):
        if name in ("row_of", "outlet"):  # which row or column stands for what, no figures
            continue
        assert table.get("source"), name
        if "check" in table.get("columns", ()):
            column = table["columns"].index("check")
            assert {row[column] for row in table["rows"]} <= set(CHECKS), name
        else:
            assert table["check"] in CHECKS, name


@pytest.mark.parametrize(
    ("file", "column"),
    [(f, c) for f in ("demand_irc", "demand_upc") for c in ("flush_tank", "flush_valve")],
)
def test_flow_rises_with_the_load(file: str, column: str) -> None:
    """A conversion table rises from row to row, in load and in flow."""
    for (low, small), (high, large) in pairwise(rows(file, column)):
        assert high > low
        assert large > small


def test_valve_column_is_above_the_tank_column_and_meets_it() -> None:
    """Flushometer valves never need less; from 1000 units both are one (208 gpm)."""
    for file in ("demand_irc", "demand_upc"):
        tank, valve = dict(rows(file, "flush_tank")), dict(rows(file, "flush_valve"))
        common = sorted(set(tank) & set(valve))
        assert all(valve[units] >= tank[units] for units in common)
        assert tank[1000] == valve[1000] == 208


def test_codes_agree_on_large_loads() -> None:
    """From 100 units the IPC/IRC tank column and Hunter's curve are the same to 1 gpm: both descend
    from BMS 65; below 30 they part, the IPC/IRC giving up to 1.9 times as much."""
    irc, upc = dict(rows("demand_irc", "flush_tank")), dict(rows("demand_upc", "flush_tank"))

    for units in sorted(set(irc) & set(upc)):
        if units >= 100:
            assert irc[units] == pytest.approx(upc[units], abs=1.0)
        elif units <= 30:
            assert 1.0 <= irc[units] / upc[units] <= 2.2


def test_hunter_curve_against_the_national_standard_plumbing_code() -> None:
    """NSPC Table B.5.4 (seen) prints Hunter's curve in whole gpm; its tank column agrees to its
    rounding (1 gpm) or 1 %, the valve column, drawn by other hands, to 3 %."""
    tank = load_curve("demand_upc", "flush_tank")
    valve = load_curve("demand_upc", "flush_valve")

    for units, gpm in NSPC_TANK.items():
        got = tank.flow(np.array([float(units)]))[0] / GPM
        assert got == pytest.approx(gpm, abs=max(1.0, 0.01 * gpm))
    for units, gpm in NSPC_VALVE.items():
        got = valve.flow(np.array([float(units)]))[0] / GPM
        assert got == pytest.approx(gpm, rel=0.03)
    # below what the chart shows the rows are that code's own
    for curve, own, below in ((tank, NSPC_TANK, 6), (valve, NSPC_VALVE, 10)):
        few = [units for units in own if units < below]
        assert len(few) >= 3
        assert curve.flow(np.array(few, float)) / GPM == pytest.approx([own[u] for u in few])


def test_totals_lie_between_one_side_and_both() -> None:
    """IRC and IPC: total at least each side, at most cold and hot together."""
    for file in ("demand_irc", "demand_ipc"):
        for table in ("fixture_units", "groups"):
            for name, cold, hot, total, _ in rows(file, table):
                assert max(cold, hot) <= total <= cold + hot, name


def test_residential_and_plumbing_code_have_the_same_single_values() -> None:
    """IRC Table P2903.6 and IPC Table E103.3(2) give the same fixtures the same figures."""
    irc = {row[0]: row[1:4] for row in rows("demand_irc", "fixture_units")}
    ipc = {row[0]: row[1:4] for row in rows("demand_ipc", "fixture_units")}
    same = {
        "bathtub": "bathtub", "dishwasher": "dishwasher", "kitchen-sink": "kitchen_sink",
        "laundry-tub": "laundry_trays_1_to_3", "lavatory": "lavatory", "shower": "shower_head",
        "clothes-washer": "washing_machine_8_lb", "water-closet": "water_closet_flush_tank",
        "bidet": "bidet", "flush-valve-closet": "water_closet_flushometer_valve",
    }  # fmt: skip

    assert all(irc[row] == ipc[other] for row, other in same.items())
    assert rows("demand_irc", "groups")[0][1:4] == rows("demand_ipc", "groups")[0][1:4]


def test_a_group_is_at_most_its_members() -> None:
    """Group values save against single values in the total column, and cost nothing more."""
    single = {row[0]: row[3] for row in rows("demand_irc", "fixture_units")}
    group = {row[0]: row[3] for row in rows("demand_irc", "groups")}

    assert group["full-bath"] < single["water-closet"] + single["lavatory"] + single["bathtub"]
    assert group["half-bath"] < single["water-closet"] + single["lavatory"]
    assert group["kitchen"] < single["kitchen-sink"] + single["dishwasher"]
    assert group["laundry"] < single["clothes-washer"] + single["laundry-tub"]


@pytest.mark.parametrize("code", ["irc", "upc"])
def test_prescriptive_tables_are_monotone(code: str) -> None:
    """Capacity never rises with length, never falls with pressure or with a larger pipe."""
    table: dict[tuple[float, str, str], list[float]] = {
        (row[0], row[1], row[2]): row[3] for row in rows("prescriptive", code)
    }
    lengths = load_table("prescriptive")[code]["lengths"]

    for (psi, service, distribution), units in table.items():
        assert len(units) == len(lengths)
        assert all(near >= far for near, far in pairwise(units))
        for (other_psi, other_service, other_distribution), other in table.items():
            better = (
                other_psi >= psi
                and nominal_inches(other_service) >= nominal_inches(service)
                and nominal_inches(other_distribution) >= nominal_inches(distribution)
            )
            if better:
                pairs = list(zip(units, other, strict=True))
                assert all(more >= less for less, more in pairs), (psi, service, distribution)


def test_loading_units_follow_the_draw_off_flows() -> None:
    """EN 806-3 Table 2: one unit is 0.1 l/s, exactly; the least flow is never above it."""
    for name, units, flow, least in rows("demand_en806", "loading_units"):
        assert flow == pytest.approx(0.1 * units), name
        assert least <= flow, name


def test_pipe_tables_rise_with_the_bore_and_agree_between_materials() -> None:
    """EN 806-3 Tables 3: within a material more bore carries more units. Across materials, memory
    rows included, a pipe with 15 % more bore never carries fewer (bores stand in steps of 20 %)."""
    all_rows = rows("demand_en806", "pipes")
    for pipe in {row[0] for row in all_rows}:
        own = [(row[2], row[3][-1]) for row in all_rows if row[0] == pipe]
        assert own == sorted(own)
    for _, _, bore, units, *_ in all_rows:
        for _, _, other_bore, other_units, *_ in all_rows:
            if other_bore >= 1.15 * bore:
                assert other_units[-1] >= units[-1]


def test_flows_read_back_give_the_pipe_tables_again() -> None:
    """At the flow read back for its printed units every shared pipe that was seen runs at 2.0 m/s
    or less; the tightest ones at exactly 2.0, which is how the flow was found. For copper and PE-X,
    from memory and not used, 2.0 m/s is kept within 6 %: the units are rounded to tens there."""
    curve = flow_by_loading_units()
    fastest = 0.0
    for _, size, bore, units, _, _, check in rows("demand_en806", "pipes"):
        if units[-1] < 6 or units[-1] > 1300:
            continue
        flow = curve.flow(np.array([units[-1]]))[0]
        velocity = flow / (math.pi / 4 * (bore / 1000) ** 2)
        if check == "seen":
            assert velocity <= 2.0 + 1e-9, size
            fastest = max(fastest, velocity)
        else:
            assert velocity <= 2.0 * 1.06, size
    assert fastest == pytest.approx(2.0)


def test_german_formula_against_its_predecessor() -> None:
    """Between 0.5 and 1.5 l/s, a dwelling, DIN 1988-300 (2012) and the withdrawn formula of DIN
    1988-3 (1988) differ by less than 3.5 %; at 10 l/s the old one gives a third more. Values of
    the 2012 formula worked out by hand to four decimals."""
    a, b, c, _, _ = rows("demand_din1988", "older")[0]
    by_hand = {0.5: 0.3574, 0.64: 0.4197, 1.0: 0.5400, 1.5: 0.6585, 2.0: 0.7483, 3.0: 0.8835,
               5.0: 1.0694, 10.0: 1.3522}  # fmt: skip

    for total, expected in by_hand.items():
        new = peak_flow(np.array([total * 1e-3]))[0] * 1e3
        old = a * total**b - c
        assert new == pytest.approx(expected, abs=1e-4)
        if total <= 1.5:
            assert new == pytest.approx(old, rel=0.035)
    assert a * 10.0**b - c == pytest.approx(1.3522 * 1.318, rel=0.01)


def test_german_peak_never_falls_at_the_lower_end_of_its_range() -> None:
    """Below 0.2 l/s the sum itself; then held at 0.2 l/s until the formula passes it."""
    sums = np.linspace(0.0, 1e-3, 2001)

    peaks = peak_flow(sums)

    assert np.all(np.diff(peaks) >= -1e-15)
    assert peak_flow(np.array([0.15e-3]))[0] == pytest.approx(0.15e-3)
    assert np.all(peaks <= sums + 1e-15)


def test_study_flows_keep_the_consumption_limits() -> None:
    """Design flows of the study are those of efficient fixtures: none above the residential code's
    limits (IRC Table P2903.2: lavatory and sink 2.2 gpm, shower head 2.5 gpm)."""
    flow = {name: gpm for name, _, gpm, *_ in rows("demand_probability", "fixtures")}

    assert flow["lavatory_faucet"] <= 2.2
    assert flow["kitchen_faucet"] <= 2.2
    assert flow["bar_sink"] <= 2.2
    assert flow["shower_per_head"] <= 2.5
    assert all(0.0 < p < 0.1 for _, p, *_ in rows("demand_probability", "fixtures"))

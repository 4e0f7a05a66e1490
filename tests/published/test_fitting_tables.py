"""Every cell of the tables of fittings and outlets against its source, written down again here.

Sources: Copper Tube Handbook, Table 14.7 (feet of tube, from memory; blank means negligible); HVAC
Pump Handbook, 2nd ed., Tables 3.7 to 3.12 (K of screwed fittings; the couplings from the Hydraulic
Institute's chart); a trade table of PVC and CPVC sockets (feet of pipe). Crane Technical Paper 410:
fT by nominal size, and n, by a public sheet of its K and a library of fluid mechanics. AWWA: its
standard pressure loss of displacement meters. Outlets: IRC Table P2903.1, IPC Tables 604.3, 604.5.

Tolerance: none where the figures are compared as printed; elsewhere the test says it.
"""

from __future__ import annotations

import math

import pytest
from fluids.friction import ft_Crane

from supplycalc.tables import load_table

NAN = math.nan
SIZES_SIX = ["1/2", "3/4", "1", "1-1/4", "1-1/2", "2"]
TABLES = {
    "soldered": {
        "sizes": ["3/8", "1/2", "5/8", "3/4", "1", "1-1/4", "1-1/2", "2"],
        "elbow-90": [0.5, 1, 1.5, 2, 2.5, 3, 4, 5.5],
        "elbow-45": [NAN, 0.5, 0.5, 0.5, 1, 1, 1.5, 2],
        "tee-branch": [1.5, 2, 2, 3, 4.5, 5.5, 7, 9],
        "tee-run": [NAN, NAN, NAN, NAN, NAN, 0.5, 0.5, 0.5],
        "coupling": [NAN, NAN, NAN, NAN, NAN, 0.5, 0.5, 0.5],
        "ball-valve": [NAN, NAN, NAN, NAN, 0.5, 0.5, 0.5, 0.5],
        "gate-valve": [NAN, NAN, NAN, NAN, NAN, NAN, NAN, 0.5],
        "check-valve": [1.5, 2, 2.5, 3, 4.5, 5.5, 6.5, 9],
    },
    "threaded": {
        "sizes": SIZES_SIX,
        "elbow-90": [2.1, 1.7, 1.5, 1.3, 1.2, 1.0],
        "elbow-45": [0.36, 0.35, 0.33, 0.32, 0.31, 0.30],
        "tee-run": [0.9] * 6,
        "tee-branch": [2.4, 2.1, 1.9, 1.7, 1.6, 1.4],
        "coupling": [0.14, 0.11, 0.095, 0.082, 0.073, 0.057],
        "globe-valve": [14, 10, 8.7, 8.0, 7.5, 6.9],
        "gate-valve": [0.32, 0.28, 0.24, 0.22, 0.20, 0.17],
        "check-valve": [5.6, 3.7, 3.0, 2.7, 2.5, 2.3],
        "angle-valve": [NAN, 5.5, 4.7, 3.8, 3.0, 2.2],
        "ball-valve": [NAN, 0.11, 0.10, 0.09, 0.09, 0.08],
    },
    "socket": {
        "sizes": SIZES_SIX,
        "elbow-90": [1.5, 2.0, 2.5, 3.8, 4.0, 5.7],
        "elbow-45": [0.8, 1.1, 1.4, 1.8, 2.1, 2.6],
        "tee-run": [1.0, 1.4, 1.7, 2.3, 2.7, 4.3],
        "tee-branch": [4, 5, 6, 7, 8, 12],
        "gate-valve": [0.3, 0.4, 0.6, 0.8, 1.0, 1.5],
        "adapter": [1.0, 1.5, 2.0, 2.8, 3.5, 4.5],
    },
}
AS_COUPLINGS = {"soldered": {"reducer", "adapter"}, "threaded": {"reducer", "adapter"}}


@pytest.mark.parametrize("joining", TABLES)
def test_every_cell(joining: str) -> None:
    """Row by row; what is taken as a coupling is its row, and there is no row besides."""
    shipped = {k: v for k, v in load_table("fittings")["joining"][joining].items() if k in _rows()}
    printed = TABLES[joining]

    for kind, figures in printed.items():
        if kind == "sizes":
            assert load_table("fittings")["joining"][joining]["sizes"] == figures
        else:
            assert shipped[kind] == pytest.approx(figures, rel=0, abs=0, nan_ok=True), kind
    for kind in AS_COUPLINGS.get(joining, ()):
        assert shipped[kind] == pytest.approx(printed["coupling"], rel=0, abs=0, nan_ok=True)
    assert set(shipped) == {*printed, *AS_COUPLINGS.get(joining, ())} - {"sizes"}


def test_crane() -> None:
    """fT of the editions to 2006, and n of K = n fT."""
    valves = load_table("fittings")["valves"]

    assert valves["sizes"] == SIZES_SIX
    assert valves["ft"] == [0.027, 0.025, 0.023, 0.022, 0.021, 0.019]
    assert {kind: n for kind, n, _ in valves["rows"]} == {
        "ball-valve": 3, "gate-valve": 8, "globe-valve": 340, "angle-valve": 150,
        "check-valve": 100, "foot-valve": 420, "bend": 14,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("kind", "printed", "half_digit"),
    [
        ("angle-valve", [4.05, 3.75, 3.45, 3.30, 3.15, 2.85], 0.005),
        ("globe-valve", [9.2, 8.5, 7.8, 7.5, 7.1, 6.5], 0.05),
        ("bend", [0.38, 0.35, 0.32, 0.31, 0.29, 0.27], 0.005),
        ("ball-valve", [0.08, 0.08, 0.07, 0.07, 0.06, 0.06], 0.005),
    ],
)
def test_crane_k(kind: str, printed: list[float], half_digit: float) -> None:
    """n times fT is the K of a public sheet after that paper, to half a unit of its last digit.

    The sheet's gate valve is left out: of its six figures (0.22 to 0.15) two are no product of 8
    and its own fT.
    """
    valves = load_table("fittings")["valves"]
    (n,) = [n for name, n, _ in valves["rows"] if name == kind]

    assert [n * ft for ft in valves["ft"]] == pytest.approx(printed, abs=half_digit + 1e-9)


def test_crane_friction_factor_of_2009() -> None:
    """A general library fits the fT of that paper's 2009 edition; ours are its or the next above.

    The older editions' table is up to 0.001 higher, which is the safe side.
    """
    bores = [0.622, 0.824, 1.049, 1.380, 1.610, 2.067]
    newer = [round(ft_Crane(bore * 0.0254), 3) for bore in bores]

    for ours, theirs in zip(load_table("fittings")["valves"]["ft"], newer, strict=True):
        assert theirs <= ours <= theirs + 0.001 + 1e-12


def test_displacement_meter() -> None:
    """AWWA's standard pressure loss of a 3/4 in meter: 15.0 psi at 30 gpm, the largest permitted.

    Between 10 and 30 gpm the parabola through that point stays within 0.25 psi of the print; below,
    where the print has a friction of its own, it lies under it by at most 0.35 psi.
    """
    printed = {2: 0.2, 4: 0.5, 6: 0.7, 8: 1.0, 10: 1.6, 14: 3.1, 18: 5.2, 20: 6.5, 24: 9.5}
    printed |= {26: 11.2, 28: 13.0, 30: 15.0}
    meter = load_table("devices")["device"]["meter"]

    assert (meter["quadratic"], meter["at"]) == (15.0, 30.0)
    for gpm, psi in printed.items():
        ours = meter["quadratic"] * (gpm / meter["at"]) ** 2
        assert -0.35 <= ours - psi <= 0.25, gpm
        assert gpm < 10 or abs(ours - psi) <= 0.25, gpm


OUTLETS = {
    "tub-shower": {"pressure-balanced": (4, 20), "thermostatic": (4, 20), "plain": (4, 8)},
    "bathtub": {"plain": (4, 8), "pressure-balanced": (4, 20), "thermostatic": (4, 20)},
    "shower": {"pressure-balanced": (2.5, 20), "thermostatic": (2.5, 20), "plain": (2.5, 8)},
    "lavatory": {"plain": (0.8, 8)},
    "water-closet": {"plain": (3, 20)},
    "water-closet-one-piece": {"plain": (6, 20)},
    "flush-valve-closet": {"plain": (25, 35)},
    "bidet": {"thermostatic": (2, 20), "plain": (2, 20)},
    "kitchen-sink": {"plain": (1.75, 8)},
    "bar-sink": {"plain": (1.75, 8)},
    "dishwasher": {"plain": (2.75, 8)},
    "clothes-washer": {"plain": (4, 8)},
    "laundry-tub": {"plain": (4, 8)},
    "utility-sink": {"plain": (3, 8)},
    "hose-bibb": {"plain": (5, 8)},
    "yard-hydrant": {"plain": (5, 8)},
    "drinking-fountain": {"plain": (0.75, 8)},
    "urinal": {"plain": (12, 25)},
}
"""IRC Table P2903.1 and IPC Table 604.3: gpm and psi flowing; the usual valve first. A clothes
washer takes the row of the laundry tray, a plain tub that of the combination fixture, a yard
hydrant that of the hose bibb."""
SMALLEST = {
    "3/8": {"lavatory", "water-closet", "bidet", "bar-sink", "drinking-fountain"},
    "3/4": {"urinal", "yard-hydrant"},
    "1": {"flush-valve-closet"},
}
"""IPC Table 604.5, a yard hydrant by common practice; every other fixture 1/2 inch."""


def test_every_outlet_and_smallest_branch() -> None:
    """Flow, flowing pressure and smallest branch of each kind of fixture that a table has."""
    fixtures = {
        name: row
        for name, row in load_table("fixtures")["fixture"].items()
        if row["check"] != "common practice"
    }

    assert {
        name: {valve: (gpm, psi) for valve, gpm, psi in row["outlet"]}
        for name, row in fixtures.items()
    } == OUTLETS
    assert [next(iter(OUTLETS[n])) for n in OUTLETS] == [
        row["outlet"][0][0] for row in fixtures.values()
    ]
    for name, row in fixtures.items():
        wanted = next((size for size, kinds in SMALLEST.items() if name in kinds), "1/2")
        assert row["minimum"] == wanted, name


def _rows() -> set[str]:
    """Kinds of fitting that any table prints."""
    return {kind for table in TABLES.values() for kind in table} - {"sizes"} | {"reducer"}

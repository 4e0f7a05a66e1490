"""Losses of fittings: one family of figures per joining, equivalent lengths as K, inserts."""

from __future__ import annotations

import math

import fluids
import pytest
from msgspec.structs import replace

from supplycalc.catalogue import OwnFitting, OwnTube, load_catalogue
from supplycalc.hydraulics.fittings import (
    LEAST_DIAMETER_RATIO,
    cv_k,
    default_allowance,
    equivalent_length_k,
    fitting_k,
    insert_diameter_ratio,
    insert_fitting_k,
    manifold_port_citation,
    manifold_port_k,
)
from supplycalc.model import Manifold
from supplycalc.questions.size import study
from supplycalc.tables import load_table
from tests.houses import GPM, PSI, cold_fixture, pipe, two_storey

CATALOGUE = load_catalogue()
TUBES, JOININGS = CATALOGUE.tubes, CATALOGUE.joinings
FOOT, INCH = 0.3048, 0.0254
VISCOSITY_60F = 1.1209e-3
"""[Pa s], IAPWS at 60 degF; 1.121e-3 in handbook tables."""


def k(joining: str, kind: str, tube: str, nominal: str) -> float:
    """fitting_k by names."""
    return fitting_k(JOININGS[joining], kind, TUBES[tube], TUBES[tube].size(nominal))


@pytest.mark.parametrize(
    ("kind", "nominal", "published"),
    [
        ("elbow-90", "1/2", 2.1),
        ("elbow-90", "1", 1.5),
        ("elbow-45", "3/4", 0.35),
        ("tee-branch", "1-1/4", 1.7),
        ("tee-run", "2", 0.9),
        ("globe-valve", "3/4", 10.0),
        ("gate-valve", "1/2", 0.32),
        ("check-valve", "1", 3.0),
        ("ball-valve", "2", 0.08),
    ],
)
def test_threaded_is_the_handbook_table(kind: str, nominal: str, published: float) -> None:
    """HVAC Pump Handbook, 2nd ed., Tables 3.7 to 3.12: K as printed."""
    assert k("threaded", kind, "galvanized-sch40", nominal) == published


def test_a_size_that_the_table_does_not_print() -> None:
    """Where the handbook leaves 1/2 in out, the nearest printed size stands in."""
    for kind in ("angle-valve", "ball-valve"):
        assert k("threaded", kind, "galvanized-sch40", "1/2") == k(
            "threaded", kind, "galvanized-sch40", "3/4"
        )


@pytest.mark.parametrize(
    ("joining", "tube", "nominal", "kind", "feet"),
    [
        ("soldered", "copper-l", "1/2", "elbow-90", 1.0),
        ("soldered", "copper-m", "3/4", "elbow-90", 2.0),
        ("soldered", "copper-l", "1", "tee-branch", 4.5),
        ("soldered", "copper-k", "2", "check-valve", 9.0),
        ("socket", "pvc-sch40", "1", "elbow-90", 2.5),
        ("socket", "cpvc-sdr11", "3/4", "tee-branch", 5.0),
    ],
)
def test_equivalent_lengths_lose_what_that_length_loses(
    joining: str, tube: str, nominal: str, kind: str, feet: float
) -> None:
    """Copper Tube Handbook Table 14.7 and a trade table of PVC, at 4 ft/s and 60 degF.

    f comes from the library `fluids` (Colebrook) and water of 999.0 kg/m3 from handbook tables, so
    that only the water's properties can differ: 0.1 % of viscosity, a quarter of that in f.
    """
    size = TUBES[tube].size(nominal)
    inside_diameter = size.inside_diameter
    reynolds = 999.0 * 4 * FOOT * inside_diameter / VISCOSITY_60F
    factor = fluids.friction_factor(
        Re=reynolds, eD=TUBES[tube].roughness / inside_diameter, Method="Colebrook"
    )

    value = k(joining, kind, tube, nominal)

    assert value == pytest.approx(factor * feet * FOOT / inside_diameter, rel=5e-4)


def test_blank_is_negligible() -> None:
    """The Copper Tube Handbook leaves small couplings and tee runs blank: no loss."""
    assert k("soldered", "tee-run", "copper-l", "3/4") == 0.0
    assert k("soldered", "coupling", "copper-l", "1/2") == 0.0
    assert k("soldered", "coupling", "copper-l", "1-1/4") > 0.0


def test_metric_tube_takes_the_nearest_inside_diameter() -> None:
    """22x1.0 is 0.79 in wide inside and takes the 3/4 figures, 15x1.0 the 1/2 ones."""
    for nominal, feet in (("22x1.0", 2.0), ("15x1.0", 1.0)):
        tube = TUBES["copper-en1057"]
        size = tube.size(nominal)
        assert fitting_k(JOININGS["soldered"], "elbow-90", tube, size) == pytest.approx(
            equivalent_length_k(feet * FOOT, tube, size)
        )


def test_push_elbow_as_measured() -> None:
    """NIST, 3/4 in, Re 10 000 to 100 000: K levels off at 1.0 above Re 40 000; an elbow is 0.8 to
    1.1 m of tube, a coupling 4.5 to 7.5 mm.

    The lengths are the ends of the ranges that the abstract gives. At 4 ft/s a 2 in tube is above
    Re 40 000; 3/4 in is at 21 000, where K is larger; the least length is that of Re 10 000.
    """
    tube = TUBES["copper-l"]
    inside_diameter = tube.size("3/4").inside_diameter
    elbow, coupling = (k("push", kind, "copper-l", "3/4") for kind in ("elbow-90", "coupling"))
    rise = load_table("fittings")["elbow_low_flow"]

    assert k("push", "elbow-90", "copper-l", "2") == 1.0
    assert 1.0 < elbow < rise["factor"]
    for reynolds, turn in ((1e4, rise["factor"]), (2.1e4, elbow), (4e4, 1.0), (8e4, 1.0)):
        factor = fluids.friction_factor(Re=reynolds, eD=tube.roughness / inside_diameter)
        metres = inside_diameter / factor
        assert 0.8 - 0.005 <= turn * metres <= 1.1
        if reynolds > rise["low"]:
            assert 4.5e-3 <= coupling * metres <= 7.5e-3


def test_insert_formula() -> None:
    """As wide as the tube it leaves the turn alone; half as wide makes 31, by hand.

    (0.5 x 0.75 + 0.75^2 + 1)/0.0625 = 31.
    """
    assert insert_fitting_k(1.0, 1.0) == 1.0
    assert insert_fitting_k(1.0, 0.5) == pytest.approx(31.0)
    assert insert_fitting_k(0.0, 0.5) == pytest.approx((0.375 + 0.5625) / 0.0625)


def test_enlargement_against_the_library() -> None:
    """Borda-Carnot and the textbook's sharp contraction, on the fitting's velocity head.

    The contraction 0.5(1 - b^2) lies 21 to 28 % below the library's own fit (Rennels): a fifteenth
    of an elbow's whole K.
    """
    for b in (0.6, 0.7, 0.8):
        contraction = fluids.contraction_sharp(Di1=1.0, Di2=b)
        assert insert_fitting_k(0.0, b) * b**4 - 0.5 * (1 - b * b) == pytest.approx(
            (1 - b * b) ** 2, rel=1e-12
        )
        assert 0.5 * (1 - b * b) == pytest.approx(0.755 * contraction, rel=0.04)


def test_insert_fittings_hurt_small_tube_most() -> None:
    """The wall of an insert takes a larger share of a smaller tube."""
    for joining in ("crimp", "plastic-insert", "insert"):
        elbows = [
            k(joining, "elbow-90", "pex-sdr9", nominal) for nominal in ("1/2", "3/4", "1", "2")
        ]
        assert elbows == sorted(elbows, reverse=True)
        assert elbows[-1] > 1.0
    half = TUBES["pex-sdr9"].size("1/2")
    assert insert_diameter_ratio(JOININGS["crimp"], half) == pytest.approx(0.70, abs=0.005)
    assert insert_diameter_ratio(JOININGS["plastic-insert"], half) == pytest.approx(0.62, abs=0.005)
    assert insert_diameter_ratio(JOININGS["expansion"], half) == 0.88


@pytest.mark.parametrize(
    ("joining", "kind", "feet"),
    [
        ("crimp", "elbow-90", {"3/8": 9.2, "1/2": 9.4, "3/4": 9.4, "1": 10.0}),
        ("crimp", "tee-run", {"3/8": 2.9, "1/2": 2.2, "3/4": 1.9, "1": 2.3}),
        ("crimp", "tee-branch", {"3/8": 9.4, "1/2": 10.4, "3/4": 8.9, "1": 11.0}),
        ("crimp", "coupling", {"3/8": 2.9, "1/2": 2.0, "3/4": 0.6, "1": 1.3}),
        ("plastic-insert", "elbow-90", {"3/8": 22.3, "1/2": 16.5, "3/4": 17.4, "1": 18.0}),
        ("plastic-insert", "tee-run", {"1/2": 7.2, "3/4": 6.6, "1": 6.0}),
        ("plastic-insert", "tee-branch", {"1/2": 17.9, "3/4": 17.7, "1": 17.0}),
        ("plastic-insert", "coupling", {"3/8": 10.9, "1/2": 7.1, "3/4": 4.8, "1": 4.5}),
        ("plastic-insert", "elbow-90", {"1-1/4": 18.6, "2": 36.4}),
        ("plastic-insert", "tee-run", {"1-1/4": 6.4, "2": 10.2}),
        ("plastic-insert", "coupling", {"1-1/4": 4.5, "2": 8.9}),
        ("press", "elbow-90", {"1/2": 12.6, "3/4": 18.9, "1": 17.7, "1-1/4": 18.6, "2": 36.4}),
        ("press", "tee-run", {"1/2": 3.9, "3/4": 3.6, "1": 3.8, "1-1/4": 6.4, "2": 10.2}),
        ("press", "tee-branch", {"1/2": 14.0, "3/4": 19.1, "1": 18.4, "1-1/4": 18.7, "2": 37.5}),
        ("press", "coupling", {"1/2": 2.6, "3/4": 2.5, "1": 3.1, "1-1/4": 4.0, "2": 8.9}),
    ],
)
def test_pex_fittings_as_one_maker_prints_them(
    joining: str, kind: str, feet: dict[str, float]
) -> None:
    """A PEX maker's installation manual of 2016, section 10.2: feet of SDR 9 tube; one print."""
    tube = TUBES["pex-sdr9"]
    for nominal, length in feet.items():
        assert k(joining, kind, "pex-sdr9", nominal) == pytest.approx(
            equivalent_length_k(length * FOOT, tube, tube.size(nominal)), rel=1e-12
        ), nominal
    assert JOININGS[joining].citation_of(kind).key == "pex_lengths"


@pytest.mark.parametrize(
    ("kind", "feet"),
    [
        ("elbow-90", [4, 5, 6, 7, 8, 9]),
        ("tee-branch", [7, 8, 9, 12, 13, 17]),
        ("coupling", [3] * 6),
    ],
)
def test_polyethylene_inserts_as_one_maker_prints_them(kind: str, feet: list[float]) -> None:
    """A pump maker's friction charts of 2011: feet of the same pipe, 1/2 to 2 in; one print."""
    tube = TUBES["pe-sidr9"]
    for size, length in zip(tube.sizes, feet, strict=True):
        assert k("insert", kind, "pe-sidr9", size.nominal) == pytest.approx(
            equivalent_length_k(length * FOOT, tube, size), rel=1e-12
        ), size.nominal
    assert JOININGS["insert"].citation_of(kind).key == "pe_lengths"


def test_expansion_fittings_have_the_width_of_a_printed_tee() -> None:
    """One maker prints Cv 7.4 for the side of a 3/4 in tee of this kind; the width taken for all of
    them gives that within its two digits."""
    tube = TUBES["pex-sdr9"]
    side = insert_fitting_k(1.8, JOININGS["expansion"].diameter_ratio)

    assert side == pytest.approx(cv_k(7.4, tube.size("3/4").inside_diameter), rel=0.014)
    assert JOININGS["expansion"].citation_of("tee-branch").key == "multiport_cv"


def test_each_figure_of_a_wide_fitting_cites_who_printed_it() -> None:
    """The laboratory measured an elbow and a coupling; a reducer is a contraction by formula."""
    cited = {kind: JOININGS["push"].citation_of(kind) for kind in JOININGS["push"].bodies}

    assert (cited["elbow-90"].key, cited["coupling"].key) == ("nist_ptc", "nist_ptc")
    assert (cited["reducer"].key, cited["reducer"].check) == ("textbook_loss", "derived")
    assert cited["tee-run"].key == "rishel"
    assert k("push", "reducer", "pex-sdr9", "1") == 0.25


def test_beyond_the_print_a_length_grows_with_the_size() -> None:
    """Like fittings have like L/D: an insert of 3 inch PE is 1.5 times one of 2 inch, 9 ft."""
    tube = load_catalogue((OwnTube(name="wide", sizes=(("3", 0.09, 0.08),), roughness=1e-6),))
    size = tube.tubes["wide"].sizes[0]
    assert fitting_k(JOININGS["insert"], "elbow-90", tube.tubes["wide"], size) == pytest.approx(
        equivalent_length_k(13.5 * FOOT, tube.tubes["wide"], size), rel=1e-12
    )


def test_a_way_in_plastic_inserts_by_hand() -> None:
    """8 gpm through 8 ft of 1-1/4 inch with two elbows and a tee, then 48 ft of 3/4 inch with two
    elbows: 1.02 and 14.8 psi.

    1.054 in: 2.94 ft/s, head 0.0583 psi; at 4 ft/s f is 0.024, so that 18.6 ft (elbow) are K 5.0
    and 18.7 ft (tee) K 5.1; pipe 2.4. 0.671 in: 7.26 ft/s, head 0.355 psi; 17.4 ft are K 8.3; port
    4.7, pipe 20. Friction factors by Swamee and Jain (1976), within 1 % of Colebrook's.
    """
    house = two_storey(
        runs=(
            pipe(
                "main", "source", "manifold", 8.0, size="1-1/4", joining="plastic-insert",
                fittings=(("elbow-90", 2.0), ("tee-branch", 1.0)),
            ),
        ),
        devices=(),
        manifolds=(Manifold(name="ports", start="manifold", ports=4),),
        fixtures=(
            replace(
                cold_fixture(
                    "tap", "hose-bibb", "ports", 48.0, size="3/4", joining="plastic-insert",
                    fittings=(("elbow-90", 2.0),),
                ),
                flow=8.0 * GPM,
            ),
        ),
    )  # fmt: skip

    def factor(feet_a_second: float, inches: float, viscosity: float) -> float:
        reynolds = feet_a_second * inches / 12.0 / viscosity
        relative = 0.0015 / 25.4 / inches
        return 0.25 / math.log10(relative / 3.7 + 5.74 / reynolds**0.9) ** 2

    def loss(inches: float, feet: float, fittings: float, k: float = 0.0) -> float:
        speed = 8.0 * 231.0 / 1728.0 / 60.0 / (math.pi / 4.0 * (inches / 12.0) ** 2)
        along = factor(speed, inches, 1.41e-5) * feet + factor(4.0, inches, 1.217e-5) * fittings
        return (along / (inches / 12.0) + k) * speed**2 / 64.348 * 62.41 / 144.0

    by_run = {result.run.name: result.loss / PSI for result in study.size(house).runs}
    assert by_run["main"] == pytest.approx(loss(1.054, 8.0, 2 * 18.6 + 18.7), rel=0.015)
    assert by_run["tap cold"] == pytest.approx(loss(0.671, 48.0, 2 * 17.4, 4.7), rel=0.015)


def test_large_crimp_fittings_are_taken_as_bronze_press_ones() -> None:
    """The same maker's bronze press elbows: 11, 13, 19 ft above 1 inch; 10 in 1 inch as crimp."""
    tube = TUBES["pex-sdr9"]
    for nominal, feet in (("1-1/4", 11.0), ("1-1/2", 13.0), ("2", 19.0)):
        assert k("crimp", "elbow-90", "pex-sdr9", nominal) == pytest.approx(
            equivalent_length_k(feet * FOOT, tube, tube.size(nominal)), rel=1e-12
        )


def test_order_of_the_ways_of_joining_pex() -> None:
    """Plastic inserts lose more than metal ones, those more than expansion fittings."""
    names = ("plastic-insert", "crimp", "expansion", "push")
    for kind in ("elbow-90", "tee-run", "tee-branch", "coupling"):
        losses = [k(name, kind, "pex-sdr9", "1/2") for name in names]
        assert losses == sorted(losses, reverse=True), kind


def test_no_fitting_is_narrower_than_the_bound() -> None:
    """A tube narrower than two walls of the insert does not turn the formula upside down."""
    thin = OwnTube(name="thin", sizes=(("1/8", 0.006, 0.003),), roughness=1e-6)
    size = load_catalogue((thin,)).tubes["thin"].sizes[0]

    assert insert_diameter_ratio(JOININGS["crimp"], size) == LEAST_DIAMETER_RATIO


@pytest.mark.parametrize(
    ("kind", "n"),
    [("ball-valve", 3), ("gate-valve", 8), ("globe-valve", 340), ("angle-valve", 150)],
)
def test_valves_by_complete_turbulence(kind: str, n: int) -> None:
    """Crane Technical Paper 410 (editions to 2006): K = n fT, fT 0.027, 0.025, 0.023, 0.019."""
    for nominal, ft in (("1/2", 0.027), ("3/4", 0.025), ("1", 0.023), ("2", 0.019)):
        assert k("push", kind, "pex-sdr9", nominal) == pytest.approx(n * ft)


@pytest.mark.parametrize("nominal", ["1/2", "3/4", "1"])
def test_a_valve_between_inserts_narrows_like_a_fitting(nominal: str) -> None:
    """Valve with an insert at either end: contraction, n fT, enlargement, all on the tube's flow.

    The enlargement is that of `fluids` (Borda-Carnot); the contraction 0.5(1 - b^2) is Crane's.
    """
    size = TUBES["pex-sdr9"].size(nominal)
    wide, narrow = size.inside_diameter, size.inside_diameter - 2 * 0.0713 * INCH
    ft = {"1/2": 0.027, "3/4": 0.025, "1": 0.023}[nominal]
    ends = 0.5 * (1 - (narrow / wide) ** 2) + fluids.diffuser_sharp(narrow, wide)

    assert k("crimp", "ball-valve", "pex-sdr9", nominal) == pytest.approx(
        3 * ft + fluids.change_K_basis(ends, narrow, wide)
    )


def test_a_joining_keeps_to_its_own_table() -> None:
    """A valve comes from the joining's own table where it has one, else from the valves' table."""
    assert k("soldered", "ball-valve", "copper-l", "1/2") == 0.0
    assert JOININGS["soldered"].citation_of("ball-valve").key == "cda_t14_7"
    assert JOININGS["soldered"].citation_of("globe-valve").key == "tp410"
    assert JOININGS["threaded"].citation_of("coupling").key == "hi_edb"
    assert JOININGS["threaded"].citation_of("globe-valve").key == "rishel"


def test_a_foot_valve_is_cranes_whatever_joins_it() -> None:
    """K = 420 fT, a poppet disc with its strainer: more than four swing check valves."""
    assert k("threaded", "foot-valve", "galvanized-sch40", "1") == pytest.approx(420 * 0.023)
    assert k("insert", "foot-valve", "pe-cts-sdr9", "1") > 420 * 0.023
    assert JOININGS["insert"].citation_of("foot-valve").key == "tp410"


def test_valve_of_known_cv() -> None:
    """K = 891 d^4/Cv^2 with d in inches (Crane Technical Paper 410), a constant of three digits."""
    assert cv_k(2.0, 0.545 * INCH) == pytest.approx(891 * 0.545**4 / 4, rel=1e-3)
    assert k("soldered", "stop", "copper-l", "1/2") == cv_k(2.0, 0.545 * INCH)


def test_every_fitting_has_a_finite_loss() -> None:
    """All kinds of all permitted joinings in all sizes: never negative, never not a number."""
    for tube in TUBES.values():
        for name in tube.joinings:
            for kind in JOININGS[name].kinds:
                for size in tube.sizes:
                    value = fitting_k(JOININGS[name], kind, tube, size)
                    assert math.isfinite(value), (tube.name, name, kind, size.nominal)
                    assert value >= 0.0


def test_an_unknown_fitting() -> None:
    """No figure is invented for a fitting that the joining does not have."""
    with pytest.raises(KeyError):
        k("none", "elbow-90", "pex-sdr9", "1/2")


def test_own_fittings_go_first() -> None:
    """A K from the house's file replaces the table's."""
    own = OwnFitting(name="elbow-90", k=4.5, joining="crimp")
    joining = load_catalogue(own_fittings=(own,)).joinings["crimp"]
    size = TUBES["pex-sdr9"].size("1/2")

    assert fitting_k(joining, "elbow-90", TUBES["pex-sdr9"], size) == 4.5


def test_allowance_and_manifold_port() -> None:
    """Wisconsin SPS 382.40(7): 1.5 times developed length; a port by its published Cv.

    Cv of a multiport tee's 1/2 inch outlet: 3.1 to 4.0 (a maker's design manual, by a certifying
    laboratory); the least of them at the bore of 1/2 inch PEX, 0.475 in.
    """
    share, citation = default_allowance()

    assert share == 0.5
    assert "382.40" in citation.text
    assert manifold_port_k() == pytest.approx(cv_k(3.1, 0.475 * INCH), abs=0.05)
    assert manifold_port_k() > cv_k(4.0, 0.475 * INCH)
    assert manifold_port_citation().check == "derived"

"""The catalogue: every family complete and in order, ratings, limits, a house's own entries."""

from __future__ import annotations

from typing import get_args

import pytest
from msgspec.structs import replace

from supplycalc.catalogue import (
    OwnDevice,
    OwnFitting,
    OwnTube,
    Role,
    Tube,
    load_catalogue,
    nominal_inches,
    shipped,
)
from supplycalc.catalogue.tubes import FAMILIES
from supplycalc.model import House, Loss, Project, Water, WaterSource
from supplycalc.questions.size import study
from supplycalc.reading import synonyms
from supplycalc.tables import kelvin, load_table, to_si
from tests.houses import two_storey

CATALOGUE = load_catalogue()
TUBES = CATALOGUE.tubes
PSI = to_si(1.0, "psi")
F73, F140, F180 = (kelvin(degrees, "degF") for degrees in (73.0, 140.0, 180.0))

FIXTURES = {
    *("tub-shower", "bathtub", "shower", "lavatory", "water-closet", "water-closet-one-piece"),
    *("flush-valve-closet", "bidet", "kitchen-sink", "bar-sink", "dishwasher", "clothes-washer"),
    *("laundry-tub", "utility-sink", "hose-bibb", "yard-hydrant", "drinking-fountain", "urinal"),
    *("whirlpool-tub", "ice-maker", "stock-waterer", "irrigation"),
}
DEVICES = {
    *("meter", "softener", "cartridge-filter", "iron-filter", "neutralizer", "uv"),
    *("backflow-preventer", "double-check", "dual-check", "check", "pressure-reducing-valve"),
    *("heater", "tankless-heater", "mixing-valve", "stop-valve", "device"),
    *("pitless-adapter", "tank-tee"),
}
JOININGS = {
    *("soldered", "threaded", "socket", "crimp", "plastic-insert", "expansion", "push"),
    *("insert", "fusion", "press", "none"),
}
FITTINGS = {
    *("elbow-90", "elbow-45", "tee-run", "tee-branch", "coupling", "reducer", "ball-valve"),
    *("gate-valve", "globe-valve", "angle-valve", "check-valve", "stop", "adapter", "bend"),
}


def house(**own: object) -> House:
    """A house with nothing but its own entries."""
    return House(project=Project(name="own"), source=WaterSource(kind="main"), **own)  # type: ignore[arg-type]


def test_names_that_files_may_use() -> None:
    """Kinds of fixture, device and joining as decided; nothing has two names."""
    assert set(CATALOGUE.fixtures) == FIXTURES
    assert set(CATALOGUE.devices) == DEVICES
    assert set(CATALOGUE.joinings) == JOININGS
    for name, entry in [*TUBES.items(), *CATALOGUE.fixtures.items(), *CATALOGUE.devices.items()]:
        assert entry.name == name
        assert entry.title


@pytest.mark.parametrize("tube", TUBES.values(), ids=TUBES)
def test_a_family_is_complete(tube: Tube) -> None:
    """Sane, sourced properties; sizes ascending in every dimension that orders them."""
    assert 0.0 < tube.roughness < 0.2e-3
    assert 100.0 <= tube.hazen_williams_c <= 155.0
    assert 0.0 < tube.velocity_cold <= 3.0
    assert 0.0 < tube.velocity_hot <= 3.0
    assert 850.0 < tube.density < 9000.0
    assert tube.joinings
    assert set(tube.joinings) <= set(CATALOGUE.joinings)
    assert isinstance(tube.hot, bool)
    for name in (
        *("dimensions", "ratings", "roughness", "hazen_williams_c", "velocity_cold"),
        *("velocity_hot", "hot", "density", "youngs_modulus", "poisson", "expansion"),
    ):
        assert tube.citations[name].text
    assert len({size.nominal for size in tube.sizes}) == len(tube.sizes)
    for small, large in zip(tube.sizes, tube.sizes[1:], strict=False):
        assert small.rank <= large.rank
        assert small.rank < large.rank or tube.metric  # metric copper has two walls to a diameter
        assert small.outside_diameter <= large.outside_diameter


@pytest.mark.parametrize("tube", TUBES.values(), ids=TUBES)
def test_dimensions_agree_with_each_other(tube: Tube) -> None:
    """Inside and two walls make up the outside diameter, or fall short of it by the tolerances.

    Where the wall is a least one the average inside diameter leaves room for the plus tolerance,
    which is at most 30 % of the wall (CPVC 1/2 in: 0.020 on 0.068 in).
    """
    for size in tube.sizes:
        left = size.outside_diameter - 2.0 * size.wall
        assert 0.0 < size.inside_diameter < size.outside_diameter
        assert size.inside_diameter <= left + 1e-9, size.nominal
        assert size.inside_diameter >= left - 0.31 * size.wall, size.nominal


def test_families_are_read_by_file() -> None:
    """The list of families is that of the data files, in their order; unknown names are refused."""
    for file, names in FAMILIES.items():
        assert tuple(load_table(file)["tube"]) == names
    assert list(TUBES) == [name for names in FAMILIES.values() for name in names]
    assert "pex-sdr9" in TUBES
    assert "pex-sdr8" not in TUBES
    assert TUBES.get("pex-sdr8") is None
    with pytest.raises(KeyError):
        TUBES["pex-sdr8"]


def test_rank_orders_inch_and_metric_families() -> None:
    """Inch families rank by nominal size, metric ones by outside diameter in mm."""
    assert [size.rank for size in TUBES["copper-l"].sizes] == pytest.approx(
        [0.375, 0.5, 0.625, 0.75, 1.0, 1.25, 1.5, 2.0]
    )
    assert [size.rank for size in TUBES["multilayer"].sizes] == [16, 18, 20, 20, 25, 26, 32, 40]


@pytest.mark.parametrize(
    ("nominal", "inches"),
    [("3/8", 0.375), ("3/4", 0.75), ("1", 1.0), ("1-1/4", 1.25), ("2-1/2", 2.5)],
)
def test_nominal_inches(nominal: str, inches: float) -> None:
    """Nominal sizes as trade writes them."""
    assert nominal_inches(nominal) == inches


def test_a_size_that_is_not_made() -> None:
    """Type M has no 5/8, PE 100 SDR 17 no 20 mm."""
    for name, nominal in (("copper-m", "5/8"), ("pe100-sdr17", "20x2.0")):
        with pytest.raises(KeyError):
            TUBES[name].size(nominal)


@pytest.mark.parametrize(
    ("name", "nominal", "degrees", "psi"),
    [
        ("pex-sdr9", "1/2", 40.0, 160.0),  # below the first temperature: the first
        ("pex-sdr9", "1/2", 73.0, 160.0),  # ASTM F876
        ("pex-sdr9", "1/2", 180.0, 100.0),  # ASTM F876
        ("pex-sdr9", "1", 126.5, 130.0),  # half way
        ("pex-sdr9", "1", 200.0, 80.0),  # ASTM F876
        ("pert-sdr9", "1", 73.0, 160.0),  # CSA B137.18: 1105 kPa
        ("pex-sdr9", "1", 201.0, 0.0),  # nothing is published above 200 degF
        ("copper-l", "3/4", 150.0, 495.0),  # ASME B31 formula with 5100 psi
        ("copper-m", "1/2", 100.0, 494.0),  # Copper Tube Handbook
        ("pvc-sch40", "1", 73.0, 450.0),  # ASTM D1785
        ("pvc-sch40", "1", 100.0, 0.62 * 450.0),  # Machinery's Handbook, 31st ed., Table 14
        ("pvc-sch40", "1", 110.0, 0.50 * 450.0),
        ("pvc-sch80", "1", 130.0, 0.30 * 630.0),
        ("pvc-sch40", "1", 141.0, 0.0),  # 140 degF is the end of PVC
        ("cpvc-sdr11", "3/4", 73.0, 400.0),  # ASTM D2846
        ("cpvc-sdr11", "3/4", 180.0, 100.0),
        ("pe-cts-sdr9", "1", 55.0, 200.0),  # 2 x 800/(9 - 1)
        ("pe-cts-sdr9", "1", 80.0, 200.0),  # AWWA M55, Table 4-6: steps, not a slope
        ("pe-cts-sdr9", "1", 85.0, 180.0),
        ("pe-cts-sdr9", "1", 90.0, 180.0),
        ("pe-cts-sdr9", "1", 95.0, 160.0),
        ("pe-cts-sdr9", "1", 101.0, 0.0),
        ("pe-sidr7", "1", 60.0, 200.0),  # 2 x 800/(7 + 1)
        ("pe-sidr15", "1", 60.0, 100.0),  # 2 x 800/(15 + 1)
        ("galvanized-sch40", "1", 140.0, 300.0),  # ASME B16.3, class 150
        ("galvanized-sch40", "1", 200.0, 265.0),
        ("galvanized-sch40", "1", 250.0, 225.0),
    ],
)
def test_pressure_ratings(name: str, nominal: str, degrees: float, psi: float) -> None:
    """Ratings by temperature as the standards print them, straight lines between."""
    tube = TUBES[name]

    rating = tube.pressure_rating(tube.size(nominal), kelvin(degrees, "degF"))

    assert rating == pytest.approx(psi * PSI, rel=1e-9)


def test_metric_ratings() -> None:
    """EN 12201 PE 100: 16 and 10 bar at 20 degC; EN 1057 15x1.0: 87 bar at 65 degC.

    ISO 15874 class 2 (as in GB/T 18742.1): 8, 6 and 4 bar for S 2.5, S 3.2 and S 5.
    """
    for name, nominal, celsius, bar in (
        ("pe100-sdr11", "32x3.0", 10.0, 16.0),
        ("pe100-sdr17", "32x2.0", 20.0, 10.0),
        ("copper-en1057", "15x1.0", 60.0, 87.0),
        ("ppr-sdr7.4", "25x3.5", 45.0, 11.0),
        ("ppr-sdr6", "25x4.2", 70.0, 8.0),
        ("ppr-sdr7.4", "25x3.5", 70.0, 6.0),
        ("ppr-sdr11", "25x2.3", 70.0, 4.0),
    ):
        tube = TUBES[name]
        rating = tube.pressure_rating(tube.size(nominal), celsius + 273.15)
        assert rating == pytest.approx(bar * 1e5), name


def test_a_rating_that_nobody_publishes() -> None:
    """EN 1057 22x1.0: no figure was found, which is not the same as none."""
    tube = TUBES["copper-en1057"]

    assert tube.pressure_rating(tube.size("22x1.0"), 293.15) is None


def test_hot_tube_carries_what_the_code_asks() -> None:
    """International Plumbing Code 605.4: hot distribution pipe carries 100 psi at 180 degF.

    Checked for the inch families that are permitted for hot water; steel's figures are those of its
    fittings.
    """
    for tube in TUBES.values():
        if tube.hot and not tube.metric:
            for size in tube.sizes:
                rating = tube.pressure_rating(size, F180)
                assert rating is not None
                assert rating >= 100.0 * PSI * (1 - 1e-9), (tube.name, size.nominal)
    assert {name for name, tube in TUBES.items() if not tube.hot} == {
        *("pe-cts-sdr9", "pe-sidr7", "pe-sidr9", "pe-sidr11.5", "pe-sidr15", "pe-sidr19"),
        *("pe100-sdr11", "pe100-sdr17", "pvc-sch40", "pvc-sch80", "ppr-sdr11"),
    }


def test_velocity_limits() -> None:
    """Copper Tube Handbook: 8 ft/s cold, 5 ft/s to 140 degF, 2 to 3 ft/s above; plastic 8."""
    copper, pex = TUBES["copper-m"], TUBES["pex-sdr9"]

    assert copper.velocity_limit(283.15, False) == pytest.approx(8 * 0.3048)
    assert copper.velocity_limit(F140, True) == pytest.approx(5 * 0.3048)
    assert copper.velocity_limit(F140 + 1.0, True) == pytest.approx(3 * 0.3048)
    assert copper.velocity_citation(F140 + 1.0, True).note
    assert pex.velocity_limit(F140 + 1.0, True) == pytest.approx(8 * 0.3048)
    assert TUBES["pvc-sch40"].velocity_limit(283.15, False) == pytest.approx(5 * 0.3048)


def test_support_distances() -> None:
    """International Residential Code Table P2605.1: PEX 32 in, then 4 ft; copper 6, then 10 ft."""
    pex, copper, metric = TUBES["pex-sdr9"], TUBES["copper-l"], TUBES["copper-en1057"]

    assert pex.support_distance(pex.size("1")) == pytest.approx(2.67 * 0.3048)
    assert pex.support_distance(pex.size("1-1/4")) == pytest.approx(4 * 0.3048)
    assert copper.support_distance(copper.size("1-1/4")) == pytest.approx(6 * 0.3048)
    assert copper.support_distance(copper.size("2")) == pytest.approx(10 * 0.3048)
    assert metric.support_distance(metric.size("22x1.0")) == pytest.approx(6 * 0.3048)
    # 35 mm falls between "to 1-1/4" and "from 1-1/2"
    assert metric.support_distance(metric.size("35x1.5")) == pytest.approx(6 * 0.3048)
    assert metric.support_distance(metric.size("54x2.0")) == pytest.approx(10 * 0.3048)
    assert TUBES["pe-sidr7"].support_distance(TUBES["pe-sidr7"].size("1")) is None
    for tube in TUBES.values():
        if tube.support_spacing:
            assert all(tube.support_distance(size) is not None for size in tube.sizes), tube.name


def test_marks_are_carried_row_by_row() -> None:
    """What was verified and what was not: PEX 1/2 in seen, 2 in by its ratio; steel seen."""
    pex = TUBES["pex-sdr9"]

    assert pex.size("1/2").citation.check == "seen"
    assert pex.size("2").citation.check == "derived"
    assert pex.size("1").inside_diameter_citation.check == "derived"
    assert pex.citations["dimensions"].check == "derived"
    assert TUBES["pert-sdr9"].citations["dimensions"].from_memory
    assert TUBES["pe-sidr7"].size("1").inside_diameter_citation.from_memory
    assert not TUBES["galvanized-sch40"].citations["dimensions"].from_memory


def test_every_joining_knows_every_fitting() -> None:
    """Elbow, tee and valve whatever the joining; valves alone where nothing joins."""
    for name, joining in CATALOGUE.joinings.items():
        missing = FITTINGS - set(joining.kinds)
        if name == "none":
            assert {"ball-valve", "stop", "bend"} <= set(joining.kinds)
        elif name == "socket":
            assert missing == {"coupling", "reducer"}
        else:
            assert not missing, name
        for kind in joining.kinds:
            assert joining.citation_of(kind).text


def test_assumed_joinings_say_so() -> None:
    """Ratios of inside diameters are nobody's published figures; a reader must be told."""
    for joining in CATALOGUE.joinings.values():
        assert bool(joining.assumed) == (joining.form == "diameter-ratio"), joining.name


@pytest.mark.parametrize("name", sorted(FIXTURES))
def test_fixtures(name: str) -> None:
    """Every kind has flow, pressure and smallest branch."""
    kind = CATALOGUE.fixtures[name]

    assert kind.sides
    assert kind.flow() > 0.0
    assert kind.pressure() >= 8.0 * PSI * (1 - 1e-9)
    assert nominal_inches(kind.minimum_size) >= 0.375
    if kind.mixed:
        assert kind.sides == ("cold", "hot")


@pytest.mark.parametrize(
    ("name", "valve", "gpm", "psi"),
    [
        ("tub-shower", None, 4.0, 20.0),
        ("shower", None, 2.5, 20.0),
        ("shower", "plain", 2.5, 8.0),
        ("lavatory", None, 0.8, 8.0),
        ("lavatory", "thermostatic", 0.8, 8.0),  # the tables do not tell its valves apart
        ("kitchen-sink", None, 1.75, 8.0),
        ("dishwasher", None, 2.75, 8.0),
        ("laundry-tub", None, 4.0, 8.0),
        ("hose-bibb", None, 5.0, 8.0),
        ("yard-hydrant", None, 5.0, 8.0),
        ("water-closet", None, 3.0, 20.0),
        ("water-closet-one-piece", None, 6.0, 20.0),
        ("flush-valve-closet", None, 25.0, 35.0),
        ("drinking-fountain", None, 0.75, 8.0),
        ("urinal", None, 12.0, 25.0),
        ("bidet", None, 2.0, 20.0),
        ("utility-sink", None, 3.0, 8.0),
    ],
)
def test_outlets_of_the_codes(name: str, valve: str | None, gpm: float, psi: float) -> None:
    """International Residential Code Table P2903.1 and International Plumbing Code Table 604.3."""
    kind = CATALOGUE.fixtures[name]

    assert kind.flow(valve) == pytest.approx(to_si(gpm, "gpm"), rel=1e-12)
    assert kind.pressure(valve) == pytest.approx(psi * PSI, rel=1e-12)


def test_devices() -> None:
    """Only heaters turn water hot; all but the plain device have a usual loss."""
    devices = CATALOGUE.devices

    assert {name for name, kind in devices.items() if kind.hot} == {"heater", "tankless-heater"}
    assert {name for name, kind in devices.items() if kind.loss is None} == {"device"}
    assert {name for name, kind in devices.items() if kind.falloff} == {"pressure-reducing-valve"}
    for kind in devices.values():
        assert kind.citation.text
        if kind.loss is not None:
            assert min(kind.loss.constant, kind.loss.linear, kind.loss.quadratic) >= 0.0
            assert kind.loss.constant + kind.loss.linear + kind.loss.quadratic > 0.0


def test_a_new_device_kind_is_one_record(monkeypatch: pytest.MonkeyPatch) -> None:
    """A toy heater that stores and lets nothing back, added to the data file alone, is hot, has its
    loss, is told as an assumption, judged,
    and known by its everyday word."""
    table = load_table("devices")
    toy = {
        "title": "toy heater",
        "quadratic": 3.0,
        "at": 5.0,
        "hot": True,
        "words": ["samovar"],
        "roles": ["in-house", "closes", "stores"],
        "source": "practice",
        "check": "common practice",
    }
    rows = {**table["device"], "toy-heater": toy}
    monkeypatch.setattr(
        "supplycalc.catalogue.shipped.load_table",
        lambda name: {**table, "device": rows} if name == "devices" else load_table(name),
    )
    shipped._shipped.cache_clear()
    synonyms._device_words.cache_clear()
    try:
        plain = two_storey()
        heater = next(device for device in plain.devices if device.kind == "heater")
        devices = (
            replace(heater, kind="toy-heater", loss=None, end="warm"),
            replace(heater, name="second", kind="toy-heater", loss=None, start="warm"),
        )
        design = study.size(replace(plain, devices=devices, water=Water(hot=kelvin(125.0, "degF"))))
        told = {finding.code: finding.where for finding in design.findings}

        assert synonyms.meant_by("devices", "Samovar", ("toy-heater",)) == "toy-heater"
        assert any(design.tree.side[result.index] == "hot" for result in design.devices)
        loss = 3.0 * PSI * (design.devices[0].design_flow / to_si(5.0, "gpm")) ** 2
        assert design.devices[0].loss == pytest.approx(loss)
        assert any("(toy heater)" in assumption.text for assumption in design.assumptions)
        assert told["stored-hot"] == f"{heater.name} and second"
        assert told["thermal-expansion"] == "second"
    finally:
        shipped._shipped.cache_clear()
        synonyms._device_words.cache_clear()


def test_roles_are_known() -> None:
    """A role that no rule knows would be a slip of the pen."""
    for kind in CATALOGUE.devices.values():
        assert kind.roles <= set(get_args(Role)), kind.name


def test_softener_stays_in_its_standard() -> None:
    """NSF/ANSI 44: at most 15 psi at the rated flow, which is at least 4 gpm."""
    loss = CATALOGUE.devices["softener"].loss

    assert loss is not None
    assert loss.constant + loss.linear + loss.quadratic == pytest.approx(15.0 * PSI)
    assert loss.reference_flow >= to_si(4.0, "gpm")


def test_a_house_brings_its_own() -> None:
    """Own tube, fitting and device join the shipped ones, in this house only."""
    tube = OwnTube(
        name="mystery-tube",
        sizes=(("1/2", 0.02, 0.015), ("3/4", 0.027, 0.021)),
        roughness=1e-5,
        pressure_rating=8e5,
        hot=True,
    )
    everywhere, one_joining = (
        OwnFitting(name="odd-tee", k=3.0),
        OwnFitting(name="elbow-90", k=9.0, joining="crimp"),
    )
    device = OwnDevice(name="scrubber", loss=Loss(quadratic=1e4, reference_flow=1e-3))

    own = load_catalogue((tube,), (everywhere, one_joining), (device,))

    assert own.tubes["mystery-tube"].size("3/4").rank == 0.75
    assert own.tubes["mystery-tube"].pressure_rating(own.tubes["mystery-tube"].sizes[0], F73) == 8e5
    assert all("odd-tee" in joining.kinds for joining in own.joinings.values())
    assert own.joinings["crimp"].own == {"odd-tee": 3.0, "elbow-90": 9.0}
    assert own.joinings["push"].own == {"odd-tee": 3.0}
    assert own.joinings["crimp"].citation_of("elbow-90").key == "own"
    assert own.devices["scrubber"].loss == device.loss
    assert "mystery-tube" not in load_catalogue().tubes
    assert not load_catalogue().joinings["crimp"].own


def test_a_house_without_own_entries_shares_the_shipped_catalogue() -> None:
    """Nothing is copied for nothing."""
    assert house().catalogue is load_catalogue()


def test_houses_of_one_content_are_equal() -> None:
    """Their catalogues are compared by what the files declare, without reading every tube."""
    device = OwnDevice(name="scrubber", loss=Loss(quadratic=1e4, reference_flow=1e-3))
    first, second = (house(catalogue=load_catalogue(own_devices=(device,))) for _ in range(2))

    assert first == second
    assert hash(first) == hash(second)
    assert first != house()
    assert len(repr(first)) < 2000

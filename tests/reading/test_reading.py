"""A right file becomes the house it describes, in SI, with its places and assumptions."""

from __future__ import annotations

import subprocess
import sys
import tomllib
from pathlib import Path

import jsonschema
import pytest
from msgspec.structs import fields, replace

from supplycalc import catalogue, model
from supplycalc.problems import Place
from supplycalc.reading import SECTIONS, build, file_schema, load, loads, runs, schema, writing
from supplycalc.reading.check import check_sections
from supplycalc.reading.keys import Key
from supplycalc.reading.places import Places
from supplycalc.reading.reporter import Reporter
from supplycalc.units import parse
from tests.reading.good import GOOD, problems_of, spoilt

FT, IN = 0.3048, 0.0254
GAL = 231 * IN**3
SCENARIOS = sorted((Path(__file__).parents[2] / "scenarios").glob("*.toml"))


def test_the_good_file_as_a_house() -> None:
    """Every part of the small file arrives, in SI and with its line."""
    house = loads(GOOD, "cabin.toml")
    service, bath, toilet = house.runs[0], house.fixtures[0], house.fixtures[1]

    assert house.project.name == "Cabin"
    assert house.project.demand == "irc"
    assert house.source.elevation == pytest.approx(-6 * FT)
    assert house.source.cut_in == pytest.approx(parse("40 psi", "pressure"))
    assert house.source.pump is not None
    assert house.source.pump.curve[1] == pytest.approx((5 * GAL / 60, 290 * FT))
    assert house.source.well is not None
    [drop_pipe] = house.line
    assert isinstance(drop_pipe, model.Run)
    assert (drop_pipe.name, drop_pipe.start, drop_pipe.end) == ("drop pipe", "well", "source")
    assert drop_pipe.length == pytest.approx(160 * FT)
    assert drop_pipe.place == Place("cabin.toml", 17)
    assert house.water.given == ("cold", "hot")
    assert (service.start, service.end, service.sizes) == ("source", "entry", ("3/4", "1"))
    assert (service.material, service.joining) == ("pe-cts-sdr9", "insert")
    assert service.buried == pytest.approx(42 * IN)
    assert service.fittings is None
    assert service.place == Place("cabin.toml", 30)
    assert house.devices[0].loss is not None
    assert house.devices[0].loss.quadratic == pytest.approx(parse("12 psi", "pressure"))
    assert house.devices[1].loss is None
    assert house.manifolds[0].ports == 2
    assert bath.cold is not None
    assert (bath.cold.name, bath.cold.end, bath.cold.fixture) == ("bath cold", "bath cold", "bath")
    assert (bath.cold.material, bath.cold.joining) == ("pex-sdr9", "crimp")
    assert bath.cold.fittings == (("elbow-90", 3),)
    assert bath.cold.place == Place("cabin.toml", 65)
    assert toilet.cold is not None
    assert toilet.cold.size == "1/2"
    assert toilet.hot is None
    assert house.place == Place("cabin.toml")


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_scenarios_are_read(path: Path) -> None:
    """The example files have no mistake and fit the schema."""
    house = load(path)
    validator = jsonschema.Draft202012Validator(schema())

    assert house.fixtures
    assert list(validator.iter_errors(tomllib.loads(path.read_text(encoding="utf-8")))) == []


def test_nominal_sizes_as_people_write_them() -> None:
    """1 1/4 and 1-1/4, with or without the inch mark, are one size; order is the family's."""
    text = spoilt('sizes = ["3/4", "1"]', "sizes = ['1 1/4\"', \"1 inch\", '3/4 in']")

    assert loads(text).runs[0].sizes == ("3/4", "1", "1-1/4")


def test_lengths_from_positions() -> None:
    """|dx| + |dy| + |dz| and the stated share; the fixture's height is its position's."""
    text = spoilt(
        'from = "treated"\nports = 2', 'from = "treated"\nat = ["3 ft", "4 ft", "0 ft"]\nports = 2',
        'elevation = "11 ft"', 'at = ["13 ft", "-2 ft", "9 ft"]',
        'from = "cold manifold", length = "52 ft"', 'from = "cold manifold"',
        'demand = "irc"', 'demand = "irc"\nlength_allowance = "20 %"',
    )  # fmt: skip
    house = loads(text)
    bath = house.fixtures[0]

    assert bath.elevation == pytest.approx(9 * FT)
    assert bath.cold is not None
    assert bath.cold.length == pytest.approx((10 + 6 + 9) * FT * 1.2)
    assert bath.cold.length_measured
    assert not house.runs[0].length_measured
    assert any("1 run comes from positions" in text for text in house.assumptions)


def test_a_device_stands_for_the_end_of_the_run_before_it() -> None:
    """A run to a device's inlet is measured to the device's own position."""
    text = spoilt(
        'elevation = "-6 ft"', 'at = ["0 ft", "0 ft", "-6 ft"]',
        'length = "180 ft"\n', "",
        'loss = "12 psi at 7 gpm"', 'at = ["60 ft", "30 ft", "0 ft"]',
        '[[point]]\nname = "entry"\nelevation = "2 ft"\n', "",
    )  # fmt: skip
    house = loads(text)

    assert house.source.elevation == pytest.approx(-6 * FT)
    assert house.runs[0].length == pytest.approx(96 * FT * 1.1)


def test_what_is_left_out_is_assumed_and_said() -> None:
    """Demand method, the source's height and the way of joining are listed when assumed."""
    assumed = " / ".join(loads(GOOD).assumptions)
    less = spoilt('demand = "irc"\n', "", 'elevation = "-6 ft"\n', "", 'joining = "crimp"\n', "")
    more = " / ".join(loads(less).assumptions)

    assert assumed == "pe-cts-sdr9 is joined the way called 'insert'"
    assert "demand method irc" in more
    assert "height of the datum" in more
    assert "pex-sdr9 is joined the way called" in more


def test_a_main_and_a_held_pressure() -> None:
    """A main needs residual or static only; a constant-pressure pump needs no switch settings."""
    start, end = GOOD.index("[source]"), GOOD.index("[water]")
    main = '[source]\nkind = "main"\nresidual = "54 psi"\nresidual_flow = "10 gpm"\n'
    held = (
        '[source]\nkind = "well"\n'
        '[source.pump]\nkind = "constant-pressure"\nset_pressure = "55 psi"\n'
    )
    street = loads(GOOD[:start] + main + GOOD[end:]).source
    pump = loads(GOOD[:start] + held + GOOD[end:]).source

    assert street.residual == pytest.approx(parse("54 psi", "pressure"))
    assert pump.cut_in == pump.cut_out == pytest.approx(parse("55 psi", "pressure"))


def test_a_size_is_stored_as_the_catalogue_writes_it() -> None:
    """What the check accepts, such as "1 in", is the size "1" for everything that looks it up."""
    text = spoilt('size = "1", length = "160 ft"', 'size = "1 in", length = "160 ft"')
    house = loads(text.replace('service_minimum = "3/4"', 'service_minimum = "3/4 inch"'))

    assert house.every_run[0].size == "1"
    assert house.limits.service_minimum == "3/4"


def test_a_held_pressure_may_stand_between_a_switchs_settings() -> None:
    """It wakes at 45, holds 55, is off at 60 psi; a controller without a range has one figure."""
    pump = '[source.pump]\nkind = "constant-pressure"\nset_pressure = "55 psi"'
    for cut_in, cut_out in (("45", "60"), ("45", "55"), ("55", "55")):
        text = spoilt(
            "[source.pump]", pump, '"40 psi"', f'"{cut_in} psi"', '"60 psi"', f'"{cut_out} psi"'
        )
        assert problems_of(text) == []


OWN = """
[[tube]]
name = "old-lead"
sizes = [["1/2", "0.75 in", "0.5 in"], ["3/4", "1.0 in", "0.75 in"]]
roughness = "0.01 mm"
[[fitting]]
name = "swing-elbow"
k = 1.2
[[device_kind]]
name = "barn-filter"
curve = [["0 gpm", "0 psi"], ["10 gpm", "4 psi"]]
"""


def test_the_files_own_tubes_fittings_and_devices() -> None:
    """What the file declares may be used in it and is part of the house."""
    text = spoilt(
        'kind = "softener"', 'kind = "barn-filter"',
        'loss = "12 psi at 7 gpm"\n', "",
        '"pe-cts-sdr9"\nlength', '"old-lead"\nlength',
        'sizes = ["3/4", "1"]', 'size = "3/4"',
        "elbow-90 = 3", "swing-elbow = 3",
    )  # fmt: skip
    house = loads(text + OWN)

    assert house.catalogue.own_tubes[0].sizes[1] == pytest.approx(("3/4", 1.0 * IN, 0.75 * IN))
    assert house.catalogue.own_fittings[0].k == 1.2
    assert house.catalogue.own_devices[0].loss.curve[1][0] == pytest.approx(10 * GAL / 60)
    assert (house.runs[0].material, house.runs[0].joining) == ("old-lead", "none")


def test_mistakes_in_the_files_own_parts() -> None:
    """Names that are taken, sizes out of order; a broken tube is no unknown material besides."""
    wrong = (
        OWN.replace('["3/4", "1.0 in", "0.75 in"]', '["3/4", "1.0 in", "0.4 in"]')
        .replace('"swing-elbow"', '"elbow-90"')
        .replace('"barn-filter"', '"my filter"')
    )
    text = spoilt('"pe-cts-sdr9"\nlength', '"old-lead"\nlength')

    assert problems_of(text + wrong) == [
        "76: tube 'old-lead', sizes, '3/4': sizes must stand from small to large",
        "79: fitting 'elbow-90': 'elbow-90' is in the catalogue already; choose another",
        "82: device kind 'my filter': 'my filter' must be one word of letters, digits and -",
    ]


def every_key() -> list[tuple[str, Key]]:
    """All declared keys with the path of their section."""
    keys: list[tuple[str, Key]] = []
    left = [(section.name, key) for section in SECTIONS for key in section.keys]
    while left:
        where, key = left.pop(0)
        keys.append((where, key))
        left += [(f"{where}.{key.name}", inner) for inner in key.keys]
    return keys


def test_every_key_has_help_and_an_example_that_is_right() -> None:
    """Each example passes its own check, so that messages and the schema can offer it."""
    choices = {"tubes": ("pex-sdr9", "pe-cts-sdr9")}
    for where, key in every_key():
        reporter = Reporter(file="", places=Places(), choices=choices)
        reporter.choices = {
            name: (tomllib.loads(f"a={key.example}")["a"],) for name in (key.among,)
        }
        if key.kind == "table":
            reporter.choices = {"tubes": ("pe-cts-sdr9",)}
        section = next(section for section in SECTIONS if section.name == where.partition(".")[0])
        table = {key.name: tomllib.loads(f"a={key.example}")["a"]}
        alone = type(section)(
            name="x",
            many=False,
            help="",
            keys=(Key(**{f.name: getattr(key, f.name) for f in fields(key)}),),
        )
        checked = check_sections(reporter, {"x": table}, (alone,))

        assert reporter.problems == [], (where, key.name)
        assert key.name in checked["x"][0].values
        assert key.help.endswith((".", "s).")), (where, key.name)


RENAMED = {
    "from": "start",
    "to": "end",
    "joined": "joining",
    "curve": "loss",
    "residual": "residual",
}


@pytest.mark.parametrize(
    ("section", "record"),
    [
        ("project", model.Project), ("source", model.WaterSource), ("source.tank", model.Tank),
        ("source.pump", model.Pump), ("source.well", model.Well),
        ("tank", model.Tank), ("water", model.Water),
        ("limits", model.Limits), ("defaults", model.Defaults), ("point", model.Point),
        ("run", model.Run), ("device", model.Device), ("manifold", model.Manifold),
        ("fixture", model.Fixture), ("tube", catalogue.OwnTube), ("fitting", catalogue.OwnFitting),
        ("device_kind", catalogue.OwnDevice),
    ],
)  # fmt: skip
def test_every_field_of_the_model_can_be_written(section: str, record: type) -> None:
    """Keys and fields are the same set, but for what reading or a trial house finds out."""
    found_out = {"place", "given", "length_measured", "fixture", "falloff_flow", "reaches"}
    keys = {key.name for where, key in every_key() if where == section}
    names = {field.name for field in fields(record)} - found_out
    if section == "source.tank":
        names -= {"kind"}
    if section == "source":
        names = names - {"filled_by"} | {"well_pump"}
    if section == "source.well":
        keys -= {"drop_pipe", "offset_pipe"}  # in short for runs
    if section == "source.pump":
        keys = keys - {"from", "to"} | {"start", "end"}
    if section in ("run", "device", "manifold", "fitting", "device_kind"):
        keys = {RENAMED.get(key, key) for key in keys}

    assert keys == names


def test_the_schema_is_a_schema_and_refuses_what_reading_refuses() -> None:
    """Draft 2020-12; unknown keys, wrong types and missing keys are refused by editors too."""
    jsonschema.Draft202012Validator.check_schema(schema())
    validator = jsonschema.Draft202012Validator(schema())

    assert validator.is_valid(tomllib.loads(GOOD))
    for edit in (
        ("cut_in =", "cutin ="),
        ('"180 ft"', "180"),
        ("[water]", "[watr]"),
        ("[[run]]", "[run]"),
        ("ports = 2", "ports = 0"),
        ('"irc"', '"ircc"'),
        ('name = "toilet"\n', ""),
    ):
        assert not validator.is_valid(tomllib.loads(spoilt(*edit))), edit


def test_a_right_file_needs_no_heavy_library() -> None:
    """Neither pint nor networkx nor numpy is imported to read a usual file."""
    code = (
        "import sys; from supplycalc.reading import loads; from tests.reading.good import GOOD\n"
        "loads(GOOD); print(sorted({'pint', 'networkx', 'scipy', 'fluids'} & set(sys.modules)))"
    )
    finished = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=True,
        cwd=Path(__file__).parents[2],
    )

    assert finished.stdout.strip() == "[]"


def test_the_old_name_of_the_way_of_joining_is_read_and_told() -> None:
    """`fittings` in [defaults] and [[tube]] is `joining`, with a note; a mistake has its line."""
    old = spoilt('joining = "crimp"', 'fittings = "crimp"')
    tube = OWN.replace('roughness = "0.01 mm"', 'roughness = "0.01 mm"\nfittings = "insert"')
    house = loads(old + tube)

    assert house.defaults == loads(GOOD).defaults
    assert house.catalogue.tubes["old-lead"].joinings == ("insert",)
    assert house.assumptions[:2] == (
        "tube 'old-lead': fittings is read as joining, as the key is called now",
        "[defaults]: fittings is read as joining, as the key is called now",
    )
    assert jsonschema.Draft202012Validator(schema()).is_valid(tomllib.loads(old))
    assert problems_of(old.replace('"crimp"', '"crimpp"')) == [
        "28: [defaults], joining: 'crimpp' is not a known way of joining; did you mean 'crimp'?"
    ]
    assert problems_of(spoilt('joining = "crimp"', 'joining = "crimp"\nfittings = "crimp"')) == [
        "29: [defaults]: fittings is joining by its old name; give one of them"
    ]


def test_a_new_key_of_a_run_is_its_declaration_and_its_field(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A toy key, declared once and a field of the record, is checked, read, described, written."""

    class LabelledRun(model.Run, frozen=True, kw_only=True):
        label: str | None = None

    label = Key(name="label", kind="text", example='"A7"', help="What is written on the pipe.")
    declared = tuple(
        replace(section, keys=(*section.keys, label)) if section.name == "run" else section
        for section in SECTIONS
    )
    for module in (build, file_schema, writing):
        monkeypatch.setattr(module, "SECTIONS", declared)
    monkeypatch.setattr(runs, "Run", LabelledRun)
    text = spoilt('buried = "42 in"', 'buried = "42 in"\nlabel = "S1"')
    house = loads(text)
    (service,) = house.runs

    assert isinstance(service, LabelledRun)
    assert service.label == "S1"
    assert 'label = "S1"' in writing.write(house)
    assert schema()["properties"]["run"]["items"]["properties"]["label"]["type"] == "string"
    assert problems_of(text.replace('"S1"', "7")) == [
        "38: run 'service', label must be text in quotes, not the number 7; "
        'write it like label = "A7"'
    ]

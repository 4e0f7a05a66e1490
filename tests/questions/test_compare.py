"""`compare`: every combination really sized, side by side; wrong choices named."""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from supplycalc import reading
from supplycalc.model import House
from supplycalc.output.terminal import to_text
from supplycalc.problems import InputError
from supplycalc.questions.compare.page import comparison_page
from supplycalc.questions.compare.study import compare, with_material, with_setting
from supplycalc.questions.size.study import size
from supplycalc.units import INCH, PSI
from tests.commands.files import SCENARIOS, cottage
from tests.two_wells import BOTH, FIRST


@pytest.fixture
def house(tmp_path: Path) -> House:
    """The small test house."""
    return reading.load(cottage(tmp_path))


def test_an_option_is_the_design_of_the_file_so_changed(house: House) -> None:
    """Fixing the service in the file and sizing gives the same design as the option; at the size
    that sizing chooses itself the option is the house's own design."""
    result = compare(house, run="service", sizes=("1-1/4", "1"))
    runs = tuple(
        replace(run, size="1-1/4", sizes=()) if run.name == "service" else run for run in house.runs
    )
    fixed = size(replace(house, runs=runs), mend=False)
    option, chosen = (option.design for option in result.options)

    assert option is not None
    assert chosen is not None
    assert option.to_dict() == fixed.to_dict()
    assert chosen.to_dict() == size(house, mend=False).to_dict()


def test_a_larger_service_never_leaves_less(house: House) -> None:
    """Loss and velocity fall with size; the worst residual does not fall."""
    options = compare(house, run="service", sizes=("3/4", "1", "1-1/4")).options
    losses = [option.loss for option in options]
    speeds = [option.velocity for option in options]

    assert losses == sorted(losses, reverse=True)
    assert speeds == sorted(speeds, reverse=True)
    assert len({*losses}) == 3


def test_without_choices_the_files_own_sizes_are_compared(house: House) -> None:
    """The run's `sizes`, or its whole family."""
    assert [option.size for option in compare(house, run="service").options] == [
        "3/4",
        "1",
        "1-1/4",
    ]
    family = [size.nominal for size in house.catalogue.tubes["pex-sdr9"].sizes]
    assert [option.size for option in compare(house, run="sink cold").options] == family


def test_a_fixture_and_a_group_mean_all_their_runs(house: House) -> None:
    """A fixture means both branches; a group, or any run in it, all its members."""
    both = ("far bath cold", "far bath hot")

    assert compare(house, run="far bath").runs == both
    assert compare(house, run="bath").runs == both
    assert compare(house, run="far bath hot").runs == both
    assert compare(house, run="sink").runs == ("sink cold", "sink hot")
    assert compare(house, run="sink hot").runs == ("sink hot",)


def test_the_switch_moves_cut_out_and_precharge_along(house: House) -> None:
    """10 psi more at cut-in is 10 psi more at cut-out: a 50/70 switch."""
    changed = with_setting(house, 50 * PSI).source

    assert changed.cut_in == pytest.approx(50 * PSI)
    assert changed.cut_out == pytest.approx(70 * PSI)


def test_a_switch_setting_shifts_the_worst_margin_by_as_much(house: House) -> None:
    """With the sizes held by velocity and minimums, 10 psi at the switch are 10 psi at the tap."""
    result = compare(house, run="service", sizes=("1",), cut_in=(40 * PSI, 50 * PSI))
    low, high = (option.design for option in result.options)

    assert low is not None
    assert high is not None
    sizes = [[run.nominal for run in design.runs] for design in (low, high)]
    if sizes[0] == sizes[1]:
        assert high.worst.residual - low.worst.residual == pytest.approx(10 * PSI, rel=1e-9)
    assert [option.setting for option in result.options] == [40 * PSI, 50 * PSI]


def test_materials_sizes_and_settings_are_all_combined(house: House) -> None:
    """Materials outermost, then sizes, then settings; a size a family lacks says so."""
    result = compare(
        house,
        run="service",
        materials=("pe-cts-sdr9", "copper-l"),
        sizes=("3/4", "1"),
        cut_in=(30 * PSI, 40 * PSI),
    )
    choices = [(option.material, option.size, option.setting) for option in result.options]

    assert len(choices) == len(set(choices)) == 8
    assert choices[0] == ("pe-cts-sdr9", "3/4", 30 * PSI)
    assert all(option.design is not None for option in result.options)


def test_another_material_brings_its_own_joining_and_inside_diameter(house: House) -> None:
    """Copper is not crimped: its usual joining is taken, and its inside diameter counts."""
    catalogue = house.catalogue
    changed = with_material(house.runs[0], "copper-l", catalogue)
    result = compare(house, run="service", materials=("copper-l",), sizes=("1",))

    assert changed.joining == catalogue.tubes["copper-l"].joinings[0]
    inside = result.options[0].runs[0].inside_diameter
    # ASTM B88, type L, 1 inch: outside 1.125 in, wall 0.050 in
    assert inside == pytest.approx((1.125 - 2 * 0.050) * INCH, abs=0.0005 * INCH)


@pytest.mark.parametrize(
    ("asked", "word"),
    [
        ({"run": "servise"}, "did you mean 'service'?"),
        ({"run": "service", "sizes": ("3/5",)}, "'3/5' is not a size of pe-cts-sdr9"),
        ({"run": "service", "materials": ("copper-1",)}, "'copper-1' is not a known tube; did you"),
        ({"sizes": ("1",)}, "say which run"),
        ({}, "nothing to compare"),
        ({"residual": (40 * PSI,)}, "not a main with a residual pressure"),
        ({"cut_in": (-1.0,)}, "must be above zero"),
        ({"cut_in": tuple(PSI * step for step in range(1, 300))}, "too many"),
    ],
)
def test_wrong_choices_are_named(house: House, asked: dict[str, object], word: str) -> None:
    """Unknown names with the nearest right one; settings that the source does not have."""
    with pytest.raises(InputError) as caught:
        compare(house, **asked)  # type: ignore[arg-type]

    assert word in str(caught.value)


def test_the_cheapest_that_works_is_named(tmp_path: Path) -> None:
    """Among the options that pass, the one with least pipe; none where none passes."""
    house = reading.load(cottage(tmp_path))
    result = compare(house, run="service", sizes=("1-1/4", "1"))
    hopeless = compare(reading.load(cottage(tmp_path, bath="90 ft")), run="service")

    assert result.cheapest is result.options[1]
    assert hopeless.cheapest is None
    assert not hopeless.ok


def test_a_choice_that_makes_water_run_too_fast_behind_it_is_not_advised() -> None:
    """Nothing is larger than what feeds it, so a small service keeps the trunk behind it small:
    what is advised is what `size` takes."""
    house = reading.load(SCENARIOS / "bunkhouse.toml")
    result = compare(house, run="service", sizes=("1-1/4", "1-1/2", "2"))
    page = to_text(comparison_page(result, "us"), "us")

    assert [run.name for run in result.options[0].too_fast] == ["cold trunk 1"]
    assert "faster in cold trunk 1 than the limit, which service at 1-1/2" in " ".join(page.split())
    assert 'write size = "1-1/2" at service' in " ".join(page.split())
    assert size(house, mend=False).sizes["service"] == "1-1/2"


def test_where_none_works_the_size_that_does_is_named(tmp_path: Path) -> None:
    """It is the design of the file itself; nothing is named where that falls short too."""
    house = reading.load(cottage(tmp_path, bath="20 ft"))
    none = compare(house, run="service", sizes=("3/4",))
    whole = size(house, mend=False)

    assert not none.ok
    assert none.otherwise is not None
    assert none.otherwise.design is not None
    assert none.otherwise.size == whole.runs[0].nominal == "1-1/4"
    assert none.otherwise.design.to_dict() == whole.to_dict()
    assert none.answer("us").startswith("None of these works; service at 1-1/4 inch does, with ")
    assert none.to_dict()["otherwise"]["size"] == "1-1/4"
    assert compare(house, run="service", sizes=("3/4", "1-1/4")).otherwise is None
    high = reading.load(cottage(tmp_path, bath="90 ft"))
    assert compare(high, run="service", sizes=("3/4",)).otherwise is None


@pytest.mark.parametrize("name", ["trench", "tee to house"])
def test_of_the_line_to_the_tank_it_takes_what_size_takes(name: str) -> None:
    """A small pump: narrower pipe passes, too, but throttles it, so that it is not advised."""
    curve = FIRST[FIRST.index("[[") : FIRST.index("]]")]
    small = '[["0 gpm", "240 ft"], ["5 gpm", "220 ft"], ["8 gpm", "175 ft"], ["12 gpm", "60 ft"'
    house = reading.loads(FIRST.replace(curve, small).replace("3 gpm", "13 gpm"), "one.toml")
    result = compare(house, run=name)

    assert result.cheapest is not None
    assert result.cheapest.size == size(house, mend=False).sizes[name] == "1-1/4"
    assert [it.size for it in result.options[: result.best] if it.ok] == ["3/4", "1"]
    assert "hardly throttles the pump" in result.answer("us")


def test_the_line_of_a_second_well_is_a_service_too() -> None:
    """No code takes half inch for one."""
    option = compare(reading.loads(BOTH, "two.toml"), run="lower trench", sizes=("1/2",)).options[0]

    assert option.design is not None
    assert [it.where for it in option.design.findings if it.code == "service-under-minimum"] == [
        "lower trench"
    ]


def test_a_thin_choice_names_the_next_that_is_not(house: House) -> None:
    """The one that `size` would take for its reserve, beside the one with least pipe."""
    at_source = house.source.residual if house.source.cut_in is None else house.source.cut_in
    assert at_source is not None
    key = "residual" if house.source.cut_in is None else "cut_in"
    lower = replace(house, source=replace(house.source, **{key: at_source - 1.0 * PSI}))
    enough, thin = compare(house, run="service"), compare(lower, run="service")

    assert enough.cheapest is not None
    assert thin.cheapest is not None
    assert enough.cheapest.size == thin.cheapest.size == "1"
    assert "leaves" not in enough.answer("us")
    assert "which is a thin margin (service at 1-1/4 inch leaves 5." in thin.answer("us")
    assert size(lower, mend=False).sizes["service"] == "1-1/4"

"""Lines over hills: hydrostatics by hand, crests and low places, and a line cut where it may."""

from __future__ import annotations

import math

import pytest
from msgspec.structs import replace

from supplycalc.hydraulics.water import specific_weight
from supplycalc.model import House, Run
from supplycalc.problems import InputError
from supplycalc.questions.size.study import size
from supplycalc.reading import loads
from supplycalc.reading.profiles import pieces
from supplycalc.reading.writing import write
from supplycalc.sizing.design import Design, LineProfile
from supplycalc.sizing.pressure_range import crests, pipe_pressures
from supplycalc.sizing.profile import clearing_velocity
from tests.houses import FOOT, PSI, cold_fixture, pipe, two_storey, well

WAY = ((0.0, 0.0), (60.0, 12.0), (100.0, -8.0), (150.0, 2.0))


def line(profile: tuple[tuple[float, float], ...] = WAY, **more: object) -> House:
    """A line of the profile from the tank to a tap."""
    length = profile[-1][0]
    given = {"material": "pe-sidr9", "joining": "insert", "length": length, "profile": profile}
    run = pipe("hill line", "source", "entry", **{**given, **more})
    return two_storey(
        source=well(),
        runs=tuple(pieces(run)),
        devices=(),
        fixtures=(cold_fixture("tap", "hose-bibb", "entry", 10.0, elevation=profile[-1][1]),),
    )


def profile_of(design: Design) -> LineProfile:
    """The only one."""
    [profile] = design.profiles
    return profile


def test_pressures_along_the_way_by_hand() -> None:
    """At rest weight times height; flowing the loss in proportion to the length; 1e-9 relative."""
    design = size(line(), mend=False)
    run, weight = design.run("hill line"), specific_weight(design.house.water.cold)
    for point, (distance, height) in zip(profile_of(design).points, WAY, strict=True):
        at_rest = 40.0 * PSI - weight * height
        assert point.at_rest == pytest.approx(at_rest, rel=1e-9)
        assert point.highest == pytest.approx(at_rest + 20.0 * PSI, rel=1e-9)
        assert point.flowing == pytest.approx(at_rest - run.loss * distance / 150.0, rel=1e-9)


def test_crest_and_low_place() -> None:
    """The second point is one, the third the other; ends are neither; a level top counts once."""
    kinds = [point.kind for point in profile_of(size(line(), mend=False)).points]
    level = ((0.0, 0.0), (60.0, 12.0), (80.0, 12.0), (150.0, 2.0))

    assert kinds == ["", "crest", "low place", ""]
    assert [point.kind for point in profile_of(size(line(level), mend=False)).points] == [
        "",
        "crest",
        "",
        "",
    ]


@pytest.mark.parametrize(("degrees", "speed"), [(0.0, 0.421), (5.0, 0.459), (30.0, 0.512)])
def test_clearing_velocity_by_hand(degrees: float, speed: float) -> None:
    """sqrt(9.81 x 0.0266) (0.825 + 0.25 sqrt(sin a)), rounded to a millimetre a second."""
    slope = math.sin(math.radians(degrees))

    assert clearing_velocity(0.0266, slope) == pytest.approx(speed, abs=6e-4)


def test_air_is_told_with_the_flow_that_sweeps_it_out() -> None:
    """Behind the crest 20 m of fall on 40 m of pipe."""
    design = size(line(size="1"), mend=False)
    point, run = profile_of(design).points[1], design.run("hill line")
    area = math.pi / 4.0 * run.inside_diameter**2
    [told] = [it for it in design.findings if it.code == "air-at-crest"]

    assert point.clearing_flow == pytest.approx(
        clearing_velocity(run.inside_diameter, 0.5) * area, rel=1e-12
    )
    assert told.where == "hill line"
    assert [it.code for it in design.findings if it.code == "drain-at-low-place"]


def test_a_crest_inside_a_run_fails_as_one_between_runs() -> None:
    """40 psi lift water 28 m: 35 m of hill inside the run, as at a point of its own."""
    over = ((0.0, 0.0), (80.0, 35.0), (150.0, 0.0))
    inside = crests(size(line(over), mend=False))
    between = crests(size(line(over, split=True), mend=False))

    assert len(inside) == len(between) == 1
    assert inside[0].below_at_rest == pytest.approx(between[0].below_at_rest, rel=1e-9)
    assert any(it.code == "crest" for it in size(line(over), mend=False).findings)


def test_the_highest_pressure_stands_in_the_hollow() -> None:
    """8 m below the tank: cut-out and 8 m of water, though both ends lie higher."""
    design = size(line(), mend=False)
    weight = specific_weight(design.house.water.cold)
    highest = next(it for it in pipe_pressures(design) if it.name == "hill line")

    assert highest.working == pytest.approx(60.0 * PSI + 8.0 * weight, rel=1e-9)


def test_cut_in_pieces_of_one_size_nothing_changes() -> None:
    """Losses add up to those of the whole, and so do the pressures along the way."""
    whole = size(line(size="1"), mend=False)
    cut = size(line(size="1", split=True), mend=False)
    flowing = [[point.flowing for point in profile_of(each).points] for each in (whole, cut)]

    assert [run.name for run in cut.runs[:3]] == ["hill line 1", "hill line 2", "hill line 3"]
    assert sum(run.loss for run in cut.runs[:3]) == pytest.approx(whole.runs[0].loss, rel=1e-12)
    assert flowing[1] == pytest.approx(flowing[0], rel=1e-9)
    assert cut.worst.residual == pytest.approx(whole.worst.residual, rel=1e-12)


def test_cut_where_it_may_the_line_costs_no_more() -> None:
    """And never gets larger on its way."""
    long = tuple((8.0 * distance, height) for distance, height in WAY)
    whole, cut = (size(line(long, split=split), mend=False) for split in (False, True))
    widths = [run.inside_diameter for run in cut.runs[:3]]

    assert cut.cost <= whole.cost * (1.0 + 1e-12)
    assert widths == sorted(widths, reverse=True)
    assert len({run.nominal for run in cut.runs[:3]}) > 1


FILE = """
[project]
name = "Hill (invented)"
[source]
kind = "main"
residual = "60 psi"
elevation = "0 ft"
[defaults]
material = "pex-sdr9"
[[run]]
name = "hill line"
from = "source"
to = "entry"
length = "300 ft"
profile = PROFILE
MORE
[[fixture]]
name = "tap"
kind = "hose-bibb"
elevation = "2 ft"
cold = { from = "entry", length = "10 ft" }
"""
GOOD = '[["0 ft", "0 ft"], ["220 ft", "14 ft"], ["300 ft", "2 ft"]]'


def test_a_profile_is_read_and_written() -> None:
    """The points, the heights that they give, and the same text again."""
    house = loads(FILE.replace("PROFILE", GOOD).replace("MORE", ""))
    [run] = house.runs

    assert run.profile[1] == pytest.approx((220.0 * FOOT, 14.0 * FOOT))
    assert write(loads(write(house))) == write(house)
    split = loads(FILE.replace("PROFILE", GOOD).replace("MORE", "split = true"))
    assert [run.route for run in split.runs] == ["hill line", "hill line"]
    assert write(loads(write(split))) == write(split)


@pytest.mark.parametrize(
    ("profile", "more", "words"),
    [
        ('[["0 ft", "0 ft"], ["250 ft", "2 ft"]]', "", "its profile ends at 250 ft, and it is 300"),
        ('[["0 ft", "9 ft"], ["300 ft", "2 ft"]]', "", "starts at a height of 9 ft, and 'source'"),
        ('[["5 ft", "0 ft"], ["300 ft", "2 ft"]]', "", "the first distance is 0"),
        ('[["0 ft", "0 ft"], ["0 ft", "2 ft"]]', "", "must rise from entry 1"),
        ('[["0 ft", "0 ft"], ["10 ft", "40 ft"], ["300 ft", "2 ft"]]', "", "more height than pipe"),
        ('[["0 ft", "0 ft"]]', "", "needs two points"),
        (
            '[["0 ft", "0 ft"], ["300 ft", "2 ft"]]',
            '[[point]]\nname = "entry"\nelevation = "-9 ft"',
            "ends at a height of 2 ft, and 'entry' stands at -9 ft",
        ),
    ],
)
def test_a_profile_that_does_not_fit_is_refused(profile: str, more: str, words: str) -> None:
    """With what does not fit."""
    with pytest.raises(InputError) as told:
        loads(FILE.replace("PROFILE", profile).replace("MORE", more))

    assert any(words in str(problem) for problem in told.value.problems), told.value


def test_split_needs_a_profile() -> None:
    """At whose points the line is cut."""
    text = FILE.replace("profile = PROFILE\n", "split = true\n").replace("MORE", "")
    with pytest.raises(InputError) as told:
        loads(text)

    assert "split needs a profile" in str(told.value)


def test_pieces_keep_fittings_once() -> None:
    """Counted fittings stand in the first piece."""
    run = line(split=True, fittings=(("elbow-90", 3),)).runs
    whole = line(fittings=(("elbow-90", 3),)).runs[0]
    assert isinstance(whole, Run)

    assert [piece.fittings for piece in run] == [(("elbow-90", 3),), (), ()]
    assert tuple(pieces(replace(whole, split=False))) == (whole,)


@pytest.mark.parametrize("split", [True, False])
def test_pipe_before_a_height_is_as_large_as_water_needs_to_get_over(split: bool) -> None:
    """A tap far below a hill: it would be served by less pipe, but the line would draw in air."""
    steep = ((0.0, 0.0), (900.0, 22.0), (1000.0, -20.0))
    house = line(steep, split=split)
    design = size(house, mend=False)
    loose = replace(house, points=(), runs=tuple(replace(run, profile=()) for run in house.runs))
    least = size(loose, mend=False)

    assert crests(design) == ()
    assert min(point.flowing or -1.0 for point in profile_of(design).points) >= 0.0
    assert design.cost > least.cost
    assert "a height" in {run.decided_by for run in design.runs}

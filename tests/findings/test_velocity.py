"""Velocity over the limit: 8 ft/s cold (IRC Appendix P), copper hot 5 and above 140 degF 3 ft/s."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from supplycalc.catalogue import OwnTube, load_catalogue
from supplycalc.model import Limits, Water
from tests.findings.judging import FOOT, fahrenheit, findings_of, only, sized, with_run, with_runs
from tests.houses import two_storey


def fast() -> object:
    """A house whose trunk the user fixed far too small."""
    return with_run(two_storey(), "trunk", size="1/2")


def test_a_published_limit_is_a_warning() -> None:
    """PEX in 1/2 inch for a bath group runs over 8 ft/s: warned, with the tube and the water."""
    finding = only(fast(), "velocity-over-limit")  # type: ignore[arg-type]

    assert finding.level == "warn"
    assert finding.where == "trunk"
    assert finding.values[0][0] > 8.0 * FOOT
    assert finding.values[1] == pytest.approx((8.0 * FOOT, "velocity"))
    assert finding.values[2][1] == "temperature"
    assert "pex-sdr9" in finding.message


def test_the_users_limit_fails() -> None:
    """The same speed fails where the user set the limit."""
    house = replace(fast(), limits=Limits(velocity_cold=6.0 * FOOT))  # type: ignore[type-var]

    findings = findings_of(house, "velocity-over-limit")  # type: ignore[arg-type]

    assert {finding.level for finding in findings} == {"fail"}
    assert findings[0].values[1][0] == pytest.approx(6.0 * FOOT)
    assert findings[0].source is not None
    assert findings[0].source.text == "your file"


def test_at_the_limit_nothing_is_said() -> None:
    """The limit itself is kept; a hair above is not."""
    design = sized(two_storey())

    def at(share: float) -> int:
        runs = tuple(
            replace(result, velocity=share * result.velocity_limit) for result in design.runs
        )
        return len(findings_of(replace(design, runs=runs), "velocity-over-limit"))

    assert at(1.0) == 0
    assert at(1.001) > 0


def test_the_advised_size_keeps_the_limit() -> None:
    """The size that the advice names carries the same flow at the speed it names."""
    finding = only(fast(), "velocity-over-limit")  # type: ignore[arg-type]
    nominal = finding.remedy.split(" inch")[0]

    larger = sized(with_run(two_storey(), "trunk", size=nominal)).run("trunk")

    assert larger.velocity == pytest.approx(finding.remedy_values[0][0])
    assert larger.velocity <= 8.0 * FOOT


@pytest.mark.parametrize(("degrees", "limit"), [(120.0, 5.0), (140.0, 5.0), (150.0, 3.0)])
def test_hot_copper_has_its_own_limits(degrees: float, limit: float) -> None:
    """Copper Tube Handbook: 5 ft/s up to 140 degF, 2 to 3 ft/s above (3 is taken)."""
    copper = with_runs(
        two_storey(water=Water(hot=fahrenheit(degrees))),
        lambda run: replace(run, material="copper-l", joining="soldered"),
    )
    finding = next(
        finding
        for finding in findings_of(with_run(copper, "hot trunk", size="3/8"), "velocity-over-limit")
        if "hot trunk" in finding.where
    )

    assert finding.level == "warn"
    assert finding.values[1][0] == pytest.approx(limit * FOOT)
    assert finding.values[2][0] == pytest.approx(fahrenheit(degrees))
    assert finding.source is not None
    assert "Copper" in finding.source.text


def test_runs_of_one_family_are_joined() -> None:
    """Several cold PEX runs over the limit are one finding that names them."""
    house = with_run(with_run(two_storey(), "trunk", size="1/2"), "toilet cold", size="3/8")
    design = sized(house)
    runs = tuple(
        replace(result, velocity=9.0 * FOOT)
        if result.run.name in ("trunk", "toilet cold")
        else result
        for result in design.runs
    )

    finding = only(replace(design, runs=runs), "velocity-over-limit")

    assert "trunk" in finding.where
    assert "toilet cold" in finding.where


@pytest.mark.parametrize("own", [None, 1.2])
def test_a_limit_of_a_tube_of_the_files_own_cites_who_set_it(own: float | None) -> None:
    """Where the file gives its tube none it is the code's advice: 5 to 8 ft/s (IRC Appendix P)."""
    tube = OwnTube(
        name="lead",
        sizes=(("1/2", 0.020, 0.012), ("3/4", 0.030, 0.019)),
        roughness=1e-5,
        max_velocity_cold=own,
    )
    house = with_run(two_storey(), "trunk", size="1/2", material="lead", joining="none")
    finding = next(
        finding
        for finding in findings_of(
            replace(house, catalogue=load_catalogue(own_tubes=(tube,))), "velocity-over-limit"
        )
        if "trunk" in finding.where
    )

    assert finding.level == "warn"
    assert finding.source is not None
    if own is None:
        assert "not usually recommended" in finding.source.text
        assert "recommended is at most {1}" in finding.message
    else:
        assert finding.source.text == "your file"
        assert "your file gives this tube" in finding.message

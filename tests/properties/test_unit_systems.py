"""The same house written in feet and psi or in metres and bar gives the same design."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from supplycalc.questions.size.study import size
from supplycalc.reading import loads

HOUSE = """
[project]
name = "Twin"
units = "{system}"
[source]
kind = "well"
elevation = "{gauge}"
cut_in = "{cut_in}"
cut_out = "{cut_out}"
[water]
cold = "{cold}"
hot = "{hot}"
[defaults]
material = "pex-sdr9"
[[run]]
name = "service"
from = "source"
to = "entry"
length = "{service}"
fittings = {{ elbow-90 = 2 }}
[[device]]
name = "filter"
kind = "cartridge-filter"
from = "entry"
to = "filtered"
loss = "{filter}"
[[device]]
name = "water heater"
kind = "heater"
from = "filtered"
to = "hot"
elevation = "{gauge}"
[[fixture]]
name = "bath"
kind = "tub-shower"
elevation = "{height}"
cold = {{ from = "filtered", length = "{branch}" }}
hot = {{ from = "hot", length = "{branch}" }}
[[fixture]]
name = "tap"
kind = "hose-bibb"
elevation = "{gauge}"
flow = "{flow}"
cold = {{ from = "entry", length = "{branch}" }}
"""
FOOT, PSI, GALLON = 0.3048, 0.06894757293168361, 3.785411784


@settings(max_examples=25, deadline=None)
@given(
    feet=st.tuples(*[st.floats(1.0, 200.0) for _ in range(2)]),
    rise=st.floats(-10.0, 30.0),
    psi=st.floats(20.0, 70.0),
    fahrenheit=st.floats(40.0, 70.0),
    gpm=st.floats(0.5, 8.0),
)
def test_unit_systems_agree(
    feet: tuple[float, float], rise: float, psi: float, fahrenheit: float, gpm: float
) -> None:
    """Lengths, pressures, temperatures and flows in either system lead to the same pressures."""
    american = HOUSE.format(
        system="us", gauge="-6 ft", cut_in=f"{psi!r} psi", cut_out=f"{psi + 20.0!r} psi",
        cold=f"{fahrenheit!r} degF", hot="120 degF", service=f"{feet[0]!r} ft",
        branch=f"{feet[1]!r} ft", height=f"{rise!r} ft", flow=f"{gpm!r} gpm",
        filter="3 psi at 10 gpm",
    )  # fmt: skip
    metric = HOUSE.format(
        system="metric", gauge=f"{-6 * FOOT!r} m", cut_in=f"{psi * PSI!r} bar",
        cut_out=f"{(psi + 20.0) * PSI!r} bar", cold=f"{(fahrenheit - 32.0) / 1.8!r} degC",
        hot=f"{(120.0 - 32.0) / 1.8!r} degC", service=f"{feet[0] * FOOT!r} m",
        branch=f"{feet[1] * FOOT!r} m", height=f"{rise * FOOT!r} m",
        flow=f"{gpm * GALLON!r} L/min", filter=f"{3 * PSI!r} bar at {10 * GALLON!r} L/min",
    )  # fmt: skip
    us = size(loads(american, "us.toml"), mend=False)
    other = size(loads(metric, "metric.toml"), mend=False)

    assert [run.size.nominal for run in us.runs] == [run.size.nominal for run in other.runs]
    assert [outlet.residual for outlet in us.outlets] == pytest.approx(
        [outlet.residual for outlet in other.outlets], rel=1e-9, abs=1e-3
    )

"""Other sizes of the pipe from the well: friction by a general library, flows as `well` has."""

from __future__ import annotations

import itertools
import math

import fluids
import pytest
from msgspec.structs import replace

from supplycalc.catalogue import load_catalogue
from supplycalc.hydraulics.water import density, viscosity
from supplycalc.model import Pump, Tank, Well
from supplycalc.questions.size.study import size
from supplycalc.questions.well.pipe import pipe_options
from supplycalc.questions.well.study import well_check
from supplycalc.sizing.design import Design
from supplycalc.units import STANDARD_GRAVITY
from tests.houses import FOOT, GPM, PSI, drop_pipe, offset_pipe
from tests.supply.stations import house

NO_PIPE = drop_pipe(1e-9)
TRENCH = offset_pipe(180.0)
WELL = Well(static_level=60.0 * FOOT, pump_depth=150.0 * FOOT)


def sized(**parts: object) -> Design:
    """The test house with a trench between well and tank, sized."""
    return size(house(**{"well": WELL, "line": (NO_PIPE, TRENCH), **parts}), mend=False)


def test_two_sizes_on_either_side() -> None:
    """Small to large, the file's own marked; each step up gives more and loses less."""
    options = pipe_options(sized())

    assert [option.size for option in options] == ["1/2", "3/4", "1", "1-1/4", "1-1/2"]
    assert [option.size for option in options if option.now] == ["1"]
    for less, more in itertools.pairwise(options):
        assert more.flow > less.flow
        assert (more.flow_at_cut_out or 0.0) > (less.flow_at_cut_out or 0.0)
        assert more.friction_head < less.friction_head
        assert (more.held_pressure or 0.0) >= (less.held_pressure or 0.0)


def test_friction_against_a_general_library() -> None:
    """Darcy-Weisbach with fluids' Colebrook factor; 1e-9 is where its iteration stops."""
    design = sized()
    tube = load_catalogue().tubes["pe-cts-sdr9"]
    cold = design.house.water.cold

    for option in pipe_options(design):
        inside_diameter = tube.size(option.size).inside_diameter
        velocity = option.flow / (math.pi / 4.0 * inside_diameter**2)
        reynolds = velocity * inside_diameter * density(cold) / viscosity(cold)
        factor = fluids.friction_factor(
            Re=reynolds, eD=tube.roughness / inside_diameter, Method="Colebrook"
        )
        head = factor * TRENCH.length / inside_diameter * velocity**2 / (2.0 * STANDARD_GRAVITY)

        assert reynolds > 4000.0
        assert option.velocity == pytest.approx(velocity, rel=1e-12)
        assert option.friction_head == pytest.approx(head, rel=1e-9)


def test_each_option_is_what_the_file_would_give() -> None:
    """The same house written with that size: flows at both settings, pressure held."""
    for option in pipe_options(sized()):
        check = well_check(sized(line=(NO_PIPE, replace(TRENCH, size=option.size))))

        assert check.points[0].flow == pytest.approx(option.flow, rel=1e-9)
        assert check.points[1].flow == pytest.approx(option.flow_at_cut_out, rel=1e-9)
        assert max(check.held_pressure or 0.0, 0.0) == pytest.approx(option.held_pressure, rel=1e-9)


def test_a_bucket_test_holds_for_the_pipe_it_was_made_with() -> None:
    """The measured flow comes out with the present pipe; a wider one gives more, not the same."""
    pump = Pump(measured_flow=9.0 * GPM, measured_pressure=40.0 * PSI)
    options = {option.size: option for option in pipe_options(sized(pump=pump))}

    assert options["1"].flow == pytest.approx(9.0 * GPM, rel=2e-3)
    assert options["1-1/4"].flow > 1.01 * options["1"].flow


def test_before_a_pump_is_bought_the_head_is_told() -> None:
    """At the design flow: what the pipe takes more in friction, the pump must give in head."""
    design = sized(pump=None)
    options = pipe_options(design)
    now = next(option for option in options if option.now)
    duty = well_check(design).duty
    assert duty is not None

    assert now.flow == design.demand.design_flow[0]
    assert now.required_head == pytest.approx(duty.head, rel=1e-12)
    for option in options:
        assert option.required_head is not None
        assert option.required_head - now.required_head == pytest.approx(
            option.friction_head - now.friction_head, rel=1e-9, abs=1e-9
        )


def test_nothing_is_tried_where_there_is_no_such_pipe() -> None:
    """Without an offset pipe, or with the tank at the well."""
    at_well = Tank(precharge=38.0 * PSI, at_well=True)

    assert pipe_options(sized(line=(NO_PIPE,))) == ()
    assert pipe_options(sized(tank=at_well, line=(NO_PIPE,))) == ()
    assert well_check(sized()).pipe == pipe_options(sized())

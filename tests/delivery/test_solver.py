"""Delivery against a general root finder, and at its edges."""

from __future__ import annotations

import math

import pytest
from msgspec.structs import replace

from supplycalc.delivery.open_supply import (
    Mixer,
    Opening,
    OpenSupply,
    constant_source,
    device_law,
    lower_of,
    valve_law,
)
from supplycalc.delivery.outlets import port_coefficients
from supplycalc.delivery.solver import _shorten, deliver
from supplycalc.model import Loss
from supplycalc.problems import ComputationError
from tests.delivery.plain_formulas import draws_of, law_of_outlets, link_loss, pressures_for
from tests.delivery.supplies import house_like, random_supply


def by_root_finder(supply: OpenSupply) -> list[float]:
    """Outlet flows [m3/s] by scipy's hybrid Powell method, from rough starts.

    Unknowns are the square roots of the outlets' pressures, in which an orifice is linear; a
    dry outlet has a negative one. So it shares neither the form nor the Newton steps with ours.
    """
    from scipy.optimize import root

    scale = math.sqrt(max(supply.source(0.0)[0], 1e4))

    def residual(x: list[float]) -> list[float]:
        draws: dict[int, float] = {}
        for opening, root_p in zip(supply.openings, x, strict=True):
            flow = min(opening.cap, opening.coefficient * max(root_p, 0.0) * scale)
            draws[opening.link] = draws.get(opening.link, 0.0) + flow
        _, pressure = pressures_for(supply, draws)
        return [
            pressure[opening.link] / scale**2 - root_p * abs(root_p)
            for opening, root_p in zip(supply.openings, x, strict=True)
        ]

    for start in (0.5, 0.2, 0.8, 0.05, -0.1, 0.35):
        roots = root(residual, [start] * len(supply.openings), method="hybr", tol=1e-14).x
        if max(map(abs, residual(roots))) < 1e-9:
            return [
                min(opening.cap, opening.coefficient * max(root_p, 0.0) * scale)
                for opening, root_p in zip(supply.openings, roots, strict=True)
            ]
    return []


@pytest.mark.parametrize("block", range(3))
def test_flows_agree_with_a_general_root_finder(block: int) -> None:
    """On random trees every flow agrees to 1e-6 of the largest, where Powell's method converges.

    It gives up on some starved trees; it must settle at least two thirds, or this shows little.
    """
    solved = 0
    seeds = range(20 * block, 20 * block + 20)
    for seed in seeds:
        supply = random_supply(seed, links=12, openings=5, mixers=False)
        expected = by_root_finder(supply)
        if not expected:
            continue
        solved += 1
        flows = deliver(supply).opening_flow
        largest = max(*expected, 1e-7)

        assert max(abs(a - b) for a, b in zip(flows, expected, strict=True)) <= 1e-6 * largest

    assert solved >= 2 * len(seeds) / 3


def test_few_steps_whatever_the_supply() -> None:
    """Without reducing valves and ratio mixers none of 300 supplies takes more than 12 steps.

    That is the goal set before the solver was written; six of 40,000 take up to 15
    (`tests/benchmarks/stress_delivery.py`).
    """
    steps = []
    for seed in range(300):
        supply = random_supply(seed, valves=False)
        plain = tuple(replace(mixer, kind="plain") for mixer in supply.mixers)
        steps.append(deliver(replace(supply, mixers=plain)).iterations)

    assert max(steps) <= 12


def test_a_check_valve_that_opens_within_a_drip() -> None:
    """An outlet that hardly opens a spring check gets its drip, and nobody waits for it.

    The check's 30 kPa come in along a parabola up to 1e-6 m3/s, a kink to Newton's method: this one
    took 20 steps while each was cut short to keep the drip from vanishing. The sum of losses is met
    to 1e-11 of the pressure at rest.
    """
    base = pipe_to(TAP, replace(TAP, name="drip", link=2), source=5e4)
    again = {
        name: (*getattr(base, name), getattr(base, name)[0])
        for name in ("length", "inside_diameter", "roughness", "k", "density", "viscosity",
                     "static_gain", "limit")
    }  # fmt: skip
    check = device_law(Loss(constant=3e4))
    supply = replace(
        base, **again, names=(*base.names, "check"), parent=(-1, 0, 1), device=(None, None, check)
    )
    delivered = deliver(supply)
    tap, drip = delivered.opening_flow
    part = drip / 1e-6

    assert 0.0 < part < 1.0
    before, after = ((flow / TAP.coefficient) ** 2 for flow in (tap, drip))
    assert before - 3e4 * part * (2.0 - part) == pytest.approx(after, abs=1e-5)
    assert delivered.iterations <= 12


def test_draws_far_beyond_what_a_pipe_passes_are_cut_first() -> None:
    """Forty taps on 100 m of 6 mm tube first ask for thousands of times the pressure at rest.

    Newton alone halves such flows step by step and took 12 steps.
    """
    taps = tuple(replace(TAP, name=f"tap {i}") for i in range(40))
    base = pipe_to(*taps)
    delivered = deliver(replace(base, length=(0.0, 100.0), inside_diameter=(1.0, 0.006)))
    pressure = (delivered.opening_flow[0] / TAP.coefficient) ** 2

    assert delivered.pressure[1] == pytest.approx(pressure, abs=1e-5)
    assert delivered.iterations <= 8


@pytest.mark.parametrize("seed", range(100, 140))
def test_every_outlet_obeys_its_law(seed: int) -> None:
    """At the pressures found every flow is what its law gives there, by plain formulas.

    A pressure may be off by 1e-11 of the pressure at rest; near zero an orifice turns that into a
    share of flow as large as its square root: 1e-5 of the flow at full pressure.
    """
    assert_obeyed(random_supply(seed))


@pytest.mark.parametrize("deep", [True, False])
def test_every_outlet_of_a_large_tree_obeys_its_law(deep: bool) -> None:
    """So it is on 1200 links with 300 of them open."""
    assert_obeyed(random_supply(3, links=1200, openings=300, style="normal", deep=deep))


def assert_obeyed(supply: OpenSupply) -> None:
    """Compare every flow with its outlet's law, and every pressure with plain formulas."""
    delivered = deliver(supply)
    _, pressure = pressures_for(supply, draws_of(supply, delivered))

    for flow, law in law_of_outlets(supply, delivered):
        assert flow == pytest.approx(law, rel=1e-7, abs=1e-5 * 5e-4)
        assert flow >= 0.0
    assert pressure == pytest.approx(list(delivered.pressure), rel=1e-10, abs=1e-4)


def pipe_to(*openings: Opening, source: float = 3e5, gain: float = 0.0) -> OpenSupply:
    """One 15 m pipe of 13 mm to everything that is open."""
    return OpenSupply(
        names=("source", "pipe"),
        parent=(-1, 0),
        length=(0.0, 15.0),
        inside_diameter=(1.0, 0.013),
        roughness=(0.0, 1.5e-6),
        k=(0.0, 3.0),
        density=(999.0, 999.0),
        viscosity=(1.1e-3, 1.1e-3),
        static_gain=(0.0, gain),
        device=(None, None),
        limit=(None, None),
        source=constant_source(source),
        openings=openings,
    )


TAP = Opening(name="tap", link=1, coefficient=3e-4 / math.sqrt(1e5))


def test_nothing_open_gives_static_pressure() -> None:
    """Without an open outlet nothing runs and only height changes the pressure."""
    delivered = deliver(pipe_to(gain=-2e4))

    assert delivered.flow == (0.0, 0.0)
    assert delivered.pressure == (3e5, 2.8e5)
    assert delivered.iterations == 0


def test_an_outlet_above_the_pressure_is_dry() -> None:
    """It draws exactly nothing, never a negative flow, and the pressure there shows below zero."""
    delivered = deliver(pipe_to(TAP, source=1e4, gain=-3e4))

    assert delivered.opening_flow == (0.0,)
    assert delivered.pressure[1] == pytest.approx(-2e4)


def test_an_outlet_at_exactly_no_pressure() -> None:
    """Pressure and flow zero, where an orifice's slope is infinite, is an answer like any other."""
    delivered = deliver(pipe_to(TAP, source=3e4, gain=-3e4))

    assert delivered.opening_flow == (0.0,)


def test_a_trickle() -> None:
    """One pascal above nothing: laminar loss, fittings and orifice share it, in closed form.

    The pressure is settled to 1.3e-6 Pa, so the flow to that share.
    """
    flow = deliver(pipe_to(TAP, source=3e4 + 1.0, gain=-3e4)).opening_flow[0]
    linear = 128.0 * 1.1e-3 * 15.0 / (math.pi * 0.013**4)
    square = 1.0 / TAP.coefficient**2 + 3.0 * 999.0 / 2.0 / (math.pi / 4.0 * 0.013**2) ** 2
    expected = 2.0 / (linear + math.sqrt(linear**2 + 4.0 * square))

    assert flow == pytest.approx(expected, rel=3e-6)


def test_a_regulator_holds_its_flow_above_and_falls_off_below() -> None:
    """2.5 gpm at 80 psi and at 30 psi; at 10 psi what the orifice gives."""
    head = replace(TAP, cap=1.577e-4)
    flows = [deliver(pipe_to(head, source=p)).opening_flow[0] for p in (5.5e5, 2e5, 4e4)]
    bare = deliver(pipe_to(TAP, source=4e4)).opening_flow[0]

    assert flows[:2] == [1.577e-4, 1.577e-4]
    assert flows[2] == pytest.approx(bare, rel=1e-12)
    assert bare < 1.577e-4


def test_an_orifice_goes_with_the_square_root_of_pressure() -> None:
    """From 80 to 45 psi to 75 %, to 20 psi to 50 %, right at the source without pipe between."""
    bare = replace(pipe_to(TAP), length=(0.0, 0.0), k=(0.0, 0.0))
    flows = [
        deliver(replace(bare, source=constant_source(p * 6894.757))).opening_flow[0]
        for p in (80.0, 45.0, 20.0)
    ]

    assert flows[1] / flows[0] == pytest.approx(0.75, rel=1e-9)
    assert flows[2] / flows[0] == pytest.approx(0.5, rel=1e-9)


def mixer_house(
    kind: str, cold_gain: float = 0.0, hot_gain: float = 0.0, **more: float
) -> OpenSupply:
    """A common pipe, a cold and a hot branch, a mixer at their ends, a tap on the cold branch."""
    coefficient = 1.5e-4 / math.sqrt(1e5)
    return OpenSupply(
        names=("source", "common", "cold", "hot"),
        parent=(-1, 0, 1, 1),
        length=(0.0, 10.0, 12.0, 14.0),
        inside_diameter=(1.0, 0.02, 0.013, 0.013),
        roughness=(0.0, 1.5e-6, 1.5e-6, 1.5e-6),
        k=(0.0, 2.0, 4.0, 4.0),
        density=(999.0, 999.0, 999.0, 989.0),
        viscosity=(1.1e-3, 1.1e-3, 1.1e-3, 0.55e-3),
        static_gain=(0.0, 0.0, cold_gain, hot_gain),
        device=(None,) * 4,
        limit=(None,) * 4,
        source=constant_source(3e5),
        mixers=(
            Mixer(
                name="shower",
                kind=kind,  # type: ignore[arg-type]
                cold_link=2,
                hot_link=3,
                coefficient=coefficient,
                hot_share=more.get("hot_share", 0.75),
                cap=more.get("cap", math.inf),
            ),
        ),
    )


@pytest.mark.parametrize("kind", ["plain", "ratio"])
def test_a_mixer_with_equal_supplies_is_one_orifice(kind: str) -> None:
    """With no loss before it a mixer passes C sqrt(p), split as it is set."""
    supply = mixer_house(kind)
    supply = replace(supply, length=(0.0,) * 4, k=(0.0,) * 4)
    cold, hot = deliver(supply).mixer_flow[0]

    assert cold + hot == pytest.approx(supply.mixers[0].coefficient * math.sqrt(3e5), rel=1e-9)
    assert hot / (cold + hot) == pytest.approx(0.75, rel=1e-9)


def test_a_plain_mixer_gets_hotter_when_the_cold_side_gives_way() -> None:
    """A tap on the cold branch takes cold pressure: less cold and more hot through the mixer."""
    supply = mixer_house("plain")
    tap = Opening(name="tap", link=2, coefficient=4e-4 / math.sqrt(1e5))
    (cold, hot), (after_cold, after_hot) = (
        deliver(variant).mixer_flow[0] for variant in (supply, replace(supply, openings=(tap,)))
    )

    assert after_cold < 0.9 * cold
    assert after_hot > hot
    assert after_cold + after_hot < cold + hot


def test_a_ratio_mixer_keeps_its_share_and_loses_flow() -> None:
    """The same tap leaves the share of hot alone; the whole follows the weaker side."""
    supply = mixer_house("ratio")
    tap = Opening(name="tap", link=2, coefficient=4e-4 / math.sqrt(1e5))
    after = deliver(replace(supply, openings=(tap,)))
    cold, hot = after.mixer_flow[0]
    weaker = min(after.pressure[2], after.pressure[3])

    assert hot / (cold + hot) == pytest.approx(0.75, rel=1e-12)
    assert cold + hot == pytest.approx(supply.mixers[0].coefficient * math.sqrt(weaker), rel=1e-9)
    assert cold + hot < sum(deliver(supply).mixer_flow[0])


def test_no_water_crosses_over_in_a_plain_mixer() -> None:
    """With the hot side far below the cold one its check valve shuts: nothing flows back."""
    cold, hot = deliver(mixer_house("plain", hot_gain=-2.6e5, hot_share=0.3)).mixer_flow[0]

    assert hot == 0.0
    assert cold > 0.0


def test_a_ratio_mixer_shuts_without_one_side() -> None:
    """No pressure on one side: nothing from the other either."""
    assert deliver(mixer_house("ratio", hot_gain=-4e5)).mixer_flow[0] == (0.0, 0.0)


@pytest.mark.parametrize("kind", ["plain", "ratio"])
def test_a_mixer_with_a_regulator(kind: str) -> None:
    """Both kinds give exactly the cap; the plain one's chamber stands above what that needs."""
    supply = mixer_house(kind, cap=1.577e-4)
    delivered = deliver(supply)

    assert sum(delivered.mixer_flow[0]) == pytest.approx(1.577e-4, rel=1e-12)
    if kind == "plain":
        cold_port, hot_port, outlet = port_coefficients(supply.mixers[0])
        chambers = [
            delivered.pressure[link] - (flow / port) ** 2
            for link, flow, port in zip(
                (2, 3), delivered.mixer_flow[0], (cold_port, hot_port), strict=True
            )
        ]
        assert chambers[0] == pytest.approx(chambers[1], rel=1e-9)
        assert chambers[0] > (1.577e-4 / outlet) ** 2


def test_a_reducing_valve_holds_until_it_is_wide_open() -> None:
    """Behind a valve at 250 kPa the pressure is that, or what comes in less the valve's loss."""
    supply = replace(pipe_to(TAP), limit=(None, valve_law(2.5e5, 0.0, 1e-3, 0.7)))
    strong = deliver(replace(supply, source=constant_source(6e5)))
    weak = deliver(replace(supply, source=constant_source(2e5)))

    assert strong.pressure[1] == pytest.approx(2.5e5, rel=1e-12)
    assert weak.pressure[1] == pytest.approx(2e5 - link_loss(supply, 1, weak.flow[1]), rel=1e-9)


def test_a_source_that_holds_a_set_pressure_while_it_can() -> None:
    """Below the pump's limit the set pressure, beyond it the pump's curve."""
    curve = lower_of(lambda q: (5e5 - 2e12 * q * q, -4e12 * q), constant_source(3e5))
    little = deliver(replace(pipe_to(replace(TAP, cap=1e-4)), source=curve))
    much = deliver(replace(pipe_to(replace(TAP, coefficient=2e-5)), source=curve))

    assert little.pressure[0] == 3e5
    assert much.pressure[0] < 3e5
    assert much.pressure[0] == pytest.approx(5e5 - 2e12 * much.flow[0] ** 2, rel=1e-9)


def test_what_cannot_be_computed_is_named() -> None:
    """Never a wrong number: the part at fault is in the message."""
    broken = replace(pipe_to(TAP), inside_diameter=(1.0, 0.0))
    endless = replace(pipe_to(TAP), static_gain=(0.0, math.nan))
    mad = replace(pipe_to(TAP), source=lambda q: (3e5 if int(q * 1e7) % 2 else 1e5, 0.0))

    with pytest.raises(ComputationError, match="pipe has no inside diameter"):
        deliver(broken)
    with pytest.raises(ComputationError, match="pipe has a length, K or height"):
        deliver(endless)
    with pytest.raises(ComputationError, match="tap"):
        deliver(mad)


@pytest.mark.parametrize("fixtures", [5, 30, 1000])
def test_a_house_settles_in_few_steps(fixtures: int) -> None:
    """At most 12 Newton steps with every fixture open, the figure the prototypes reached."""
    assert max(deliver(house_like(fixtures, seed)).iterations for seed in range(3)) <= 12


def test_a_step_that_gains_at_its_start_rate_all_along_is_bracketed() -> None:
    """Gain as at the start (rounding, tiny flows): the share is halved in, nothing is divided."""

    class Stub:
        def __init__(self) -> None:
            self.gains = iter((-1.0, 1.0, 1.0, 0.0))
            self.shares: list[float] = []

        def gain(self) -> float:
            return next(self.gains)

        def move(self, share: float) -> None:
            self.shares.append(share)

        def evaluate(self) -> float:
            return 1.0

    draws = Stub()
    share, _ = _shorten(draws, 1.0, 5.0, 1e-9)  # type: ignore[arg-type]

    assert draws.shares == [0.5, 0.75, 0.875]
    assert share == 0.875


@pytest.mark.parametrize("kind", ["plain", "ratio", "orifice"])
@pytest.mark.parametrize("share", [1e-3, 1e-5, 1e-7])
def test_an_outlet_that_is_hardly_open_settles(kind: str, share: float) -> None:
    """Opened by a thousandth of a per cent it drips by its law, as no pipe takes anything then."""
    if kind == "orifice":
        supply = pipe_to(replace(TAP, coefficient=share * TAP.coefficient))
        flow, coefficient = deliver(supply).opening_flow[0], supply.openings[0].coefficient
    else:
        supply = mixer_house(kind)
        mixer = replace(supply.mixers[0], coefficient=share * supply.mixers[0].coefficient)
        supply = replace(supply, mixers=(mixer,))
        flow, coefficient = sum(deliver(supply).mixer_flow[0]), mixer.coefficient

    assert flow == pytest.approx(coefficient * math.sqrt(3e5), rel=1e-3)

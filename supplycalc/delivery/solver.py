"""Settle all flows at once: Newton on the tree, held back where it must be, checked at the end."""

from __future__ import annotations

import math

from supplycalc.delivery.newton_step import Draws
from supplycalc.delivery.open_supply import Delivered, OpenSupply
from supplycalc.problems import ComputationError

RELATIVE_TOLERANCE = 1e-11
"""Most that an outlet may miss its law by, over the largest pressure at rest."""
ABSOLUTE_TOLERANCE = 1e-6
"""The same as a pressure [Pa], which decides where everything is dry."""
NO_FLOW = 1e-12
"""[m3/s] Water that runs back no faster is none."""
MOST_ITERATIONS = 100
"""Newton steps after which another way is tried, or the search given up."""

_START = 0.7  # of what each outlet would draw from the pressure at rest
_CHOKED = 10.0  # times the pressure at rest: draws that miss by more are first cut as a whole
_ENOUGH = 0.5  # a step that halves the best residual is taken without further question

# Shortening a step
_OVERSHOOT = 0.9  # it may end where the power left over is this much of the start's, reversed
_TOO_SHORT = 0.5  # but not where more than this much is left over, unless it is a whole step
_TRIALS = 10  # of shares of one step

# Damping: drag of each outlet over (pressure at rest / most that it can draw)
_FIRST_DAMPING = 0.01
_LEAST_DAMPING = 1e-4
_MOST_DAMPING = 10.0
_FACTOR = 4.0  # by which it goes up and down

# Gain means less behind valves: after so many steps without halving the best residual, and when
# that is near the end, a few plain steps are tried whatever they seem to gain
_PATIENCE = 8
_NEAR = 1e-3  # of the pressure at rest
_PLAIN = 4

# Mixers that keep a ratio, in turn
_ROUNDS = 40
_HALVINGS = 40


def deliver(supply: OpenSupply) -> Delivered:
    """Find the flows at which every open outlet draws what the pressure at it allows.

    Newton's method on the draws of the outlets. Where nothing regulates or balances pressure the
    settled state is the minimum of a strictly convex function (the power that the flows would still
    gain). Outlets that a step would draw backward are shut and the step found anew; one that
    overshoots along it is shortened, and one that does not descend is repeated with each outlet
    held back by a drag, which is the proximal-point method and so finds the minimum from any start.
    Reducing valves and mixers that keep a ratio have no such function; there the same rules are a
    safeguard without proof, ratio mixers are settled one by one where they fail, and the residual
    decides.

    Several heads: a tree with sources and tanks at fixed or falling pressures settles at the
    minimum of the same function, in electrical terms the content: the sum over links, outlets and
    heads of the integral of their pressure over their flow, water being kept at every point. Every
    law rises (a head's falls with what it gives), so the function is strictly convex in the draws
    of outlets and heads, which are free on a tree, and its only stationary point is the settled
    state.

    Raises:
        ComputationError: the flows could not be settled; it names the outlet that is furthest off.

    Source: damped Newton and proximal point by J. Nocedal and S. J. Wright, Numerical
        Optimization (from memory). Content model: M. Collins, L. Cooper, R. Helgason, J. Kennington
        and L. LeBlanc, Solving the pipe network analysis problem using optimization techniques,
        Management Science 24 (1978) 747-760 (from memory); its proof with fixed heads and Newton's
        method on it: E. Todini and S. Pilati, A gradient algorithm for the analysis of pipe
        networks, in B. Coulbeck and C. H. Orr (eds.), Computer Applications in Water Supply, 1,
        Research Studies Press 1988, 1-20 (cited by others as read; the proof from memory).
    """
    draws = Draws(supply, _START)
    tolerance = RELATIVE_TOLERANCE * draws.scale + ABSOLUTE_TOLERANCE
    iterations = _settle(draws, tolerance)
    if iterations >= MOST_ITERATIONS and any(mixer.ratio for mixer in draws.mixers):
        iterations += _settle_ratios_in_turn(draws, tolerance)
    misses = draws.misses()
    residual = max(misses, default=0.0)
    if residual > tolerance or not all(map(math.isfinite, draws.pressure)):
        raise ComputationError(_failure(supply, misses, iterations))
    flow, pressure = _everywhere(supply, draws)
    settled = Delivered(
        flow=tuple(flow),
        pressure=tuple(pressure),
        opening_flow=tuple(draws.opening),
        mixer_flow=tuple((mixer.cold, mixer.hot) for mixer in draws.mixers),
        head_flow=tuple(draws.given),
        iterations=iterations,
        residual=residual,
    )
    if not supply.heads or not (backward := _backward(supply, settled)):
        return settled
    from supplycalc.delivery.shut_valves import parted

    return parted(supply, backward, deliver)


def _backward(supply: OpenSupply, settled: Delivered) -> list[int]:
    """Links that let no water back but would have it run so, the last first."""
    return [
        link
        for link in range(len(supply.parent) - 1, -1, -1)
        if settled.flow[link] < -NO_FLOW
        and (link in supply.one_way or supply.limit[link] is not None)
    ]


def _settle(draws: Draws, tolerance: float) -> int:
    """Newton steps until the residual is within the tolerance; returns how many."""
    scale, residual = draws.scale, draws.evaluate()
    best, damping, waiting, first = math.inf, 0.0, 0, 0
    if residual > _CHOKED * scale:
        draws.ease(scale)
        residual, first = draws.evaluate(), 1
    for iteration in range(first, MOST_ITERATIONS):
        if residual <= tolerance:
            return iteration
        waiting = 0 if residual < _ENOUGH * best else waiting + 1
        best = min(best, residual)
        if waiting and waiting % _PATIENCE == 0 and residual < _NEAR * scale:
            residual = _try_plain_steps(draws, residual, max(tolerance, _ENOUGH * best))
            if residual <= tolerance:
                return iteration + _PLAIN
        draws.aim(damping)
        descent = draws.gain()
        draws.move(1.0)
        before, residual = residual, draws.evaluate()
        enough = max(tolerance, _ENOUGH * best)
        if residual <= enough:  # near the end the drag must go as fast as the residual
            damping *= min(1.0 / _FACTOR, residual / before)
            damping = damping if damping > _LEAST_DAMPING else 0.0
        elif descent > 0.0:
            share, residual = _shorten(draws, descent, residual, enough)
            if share < 1.0:
                damping = max(_FACTOR * damping, _FIRST_DAMPING)
            else:
                damping = damping / _FACTOR if damping > _LEAST_DAMPING else 0.0
        elif damping < _MOST_DAMPING:
            damping = max(_FACTOR * damping, _FIRST_DAMPING)
            draws.move(0.0)
            residual = draws.evaluate()
        else:
            damping /= _FACTOR
    return MOST_ITERATIONS


def _shorten(draws: Draws, descent: float, residual: float, enough: float) -> tuple[float, float]:
    """Find the share of the last step at which about the most power is gained.

    Returns the share and the residual there [Pa].
    """
    share, low, high = 1.0, 0.0, 1.0
    for _ in range(_TRIALS):
        left = draws.gain()
        if left < -_OVERSHOOT * descent:
            high = share
        elif share < 1.0 and left > _TOO_SHORT * descent:
            low = share
        else:
            break
        turn = descent / (descent - left) if descent > left else 0.0  # where a straight line ends
        share = 0.5 * (low + high) if low > 0.0 else high * max(0.1, turn)
        draws.move(share)
        residual = draws.evaluate()
        if residual <= enough:
            break
    return share, residual


def _try_plain_steps(draws: Draws, residual: float, enough: float) -> float:
    """A few undamped steps, undone unless they bring the residual below `enough` [Pa]."""
    state = draws.state()
    for _ in range(_PLAIN):
        draws.aim(0.0)
        draws.move(1.0)
        after = draws.evaluate()
        if after <= enough:
            return after
    draws.restore(state)
    draws.evaluate()
    return residual


def _settle_ratios_in_turn(draws: Draws, tolerance: float) -> int:
    """The slow way for mixers that keep a ratio: one after the other, all else settled each time.

    While their draws are given, the rest is the convex problem. A mixer that draws more sees less
    pressure, so that its own draw can be bracketed. After each round Newton tries to finish.
    """
    steps = 0
    ratios = [j for j, mixer in enumerate(draws.mixers) if mixer.ratio]
    for _ in range(_ROUNDS):
        for j in ratios:
            draws.mixers[j].frozen = True
        for j in ratios:
            mixer = draws.mixers[j]
            low, high = 0.0, mixer.most
            for _ in range(_HALVINGS):
                middle = 0.5 * (low + high)
                mixer.put_flow(middle)
                steps += _settle(draws, tolerance)
                low, high = (middle, high) if draws.excess(j) > 0.0 else (low, middle)
            if low == 0.0:
                mixer.put_flow(0.0)
                steps += _settle(draws, tolerance)
        for j in ratios:
            draws.mixers[j].frozen = False
        before = draws.state()
        steps += _settle(draws, tolerance)
        if max(draws.misses()) <= tolerance:
            break
        draws.restore(before)
    return steps


def _failure(supply: OpenSupply, misses: list[float], iterations: int) -> str:
    names = [opening.name for opening in supply.openings]
    names += [mixer.name for mixer in supply.mixers]
    names += [head.name for head in supply.heads]
    worst = max(range(len(misses)), key=lambda j: misses[j] if misses[j] == misses[j] else math.inf)
    return (
        f"no settled flows were found in {iterations} steps of this program's search: "
        f"{names[worst]} still misses its law by {misses[worst]:.3g} Pa; that is the search's "
        "limit, not a fault of the file; a draw opened a little more or less may settle"
    )


def _everywhere(supply: OpenSupply, draws: Draws) -> tuple[list[float], list[float]]:
    """Flow and pressure of every link, also of those where nothing runs."""
    settled = dict(zip(draws.links, zip(draws.flow, draws.pressure, strict=True), strict=True))
    flow: list[float] = []
    pressure: list[float] = []
    for i, limit in enumerate(supply.limit):
        if i in settled:
            q, p = settled[i]
        else:
            q, p = 0.0, pressure[supply.parent[i]] + supply.static_gain[i]
            p = p if limit is None else min(p, limit(0.0)[0])
        flow.append(q)
        pressure.append(p)
    return flow, pressure

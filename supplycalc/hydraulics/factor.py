"""The Darcy friction factor of a full pipe, for one pipe and for arrays of them.

Three regimes: laminar up to Re 2000, Colebrook from Re 4000, and between them a cubic in ln f over
ln Re that meets both ends in value and slope. The passage is our own (no law is established there);
it makes the loss, which goes with f Re^2, a smooth and strictly rising function of flow.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache, lru_cache
from typing import TYPE_CHECKING, Any, cast, overload

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]

LAMINAR_LIMIT = 2000.0
"""Reynolds number up to which flow is taken as laminar [-]."""
TURBULENT_LIMIT = 4000.0
"""Reynolds number from which Colebrook holds [-]."""

_SMALLEST_REYNOLDS = 1e-6  # keeps f finite at rest
_PASSAGE = math.log(TURBULENT_LIMIT / LAMINAR_LIMIT)
_LOG_LAMINAR_END = math.log(64.0 / LAMINAR_LIMIT)
_LN10 = math.log(10.0)
# Clamond's constants for Colebrook's own 3.7 and 2.51
_ROUGH = _LN10 / (2.0 * 3.7 * 2.51)
_SMOOTH = math.log(_LN10 / (2.0 * 2.51))
_SCALE = (0.5 * _LN10) ** 2
_CHUNK = 8192  # elements; a dozen work arrays of this length stay in a second-level cache


def friction_factor(reynolds: float, relative_roughness: float) -> float:
    """Darcy friction factor of one pipe.

    Args:
        reynolds: Reynolds number, not negative [-].
        relative_roughness: absolute roughness over bore [-].

    Returns:
        Darcy factor f [-] (four times the Fanning factor); below Re 1e-6 it stays at its value
        there, so that a product with zero flow is zero.

    Source: laminar 64/Re; C. F. Colebrook, J. ICE 11 (1939) 133, solved by D. Clamond, Ind. Eng.
        Chem. Res. 48 (2009) 3665 as implemented in `fluids`; the passage between is our own.
    """
    if reynolds >= TURBULENT_LIMIT:
        return _colebrook()(reynolds, relative_roughness)
    if reynolds <= LAMINAR_LIMIT:
        return 64.0 / max(reynolds, _SMALLEST_REYNOLDS)
    return _passage(reynolds, relative_roughness)[0]


def factor_and_power(reynolds: float, relative_roughness: float) -> tuple[float, float]:
    """Darcy friction factor and the power of the Reynolds number that it goes with there.

    Args:
        reynolds: Reynolds number, not negative [-].
        relative_roughness: absolute roughness over bore [-].

    Returns:
        (f, d ln f / d ln Re), both [-]; the power is -1 in laminar flow and tends to 0 in rough.

    Source: as `friction_factor`, differentiated by us.
    """
    if reynolds >= TURBULENT_LIMIT:
        factor = _colebrook()(reynolds, relative_roughness)
        return factor, _colebrook_power(reynolds, relative_roughness, factor)
    if reynolds <= LAMINAR_LIMIT:
        return 64.0 / max(reynolds, _SMALLEST_REYNOLDS), -1.0
    return _passage(reynolds, relative_roughness)


def friction_factors(reynolds: ArrayLike, relative_roughness: ArrayLike) -> Array:
    """Darcy friction factors, elementwise; equal to `friction_factor`.

    Args:
        reynolds: Reynolds numbers, not negative [-], any shape.
        relative_roughness: absolute roughness over bore [-], a shape that broadcasts with it.

    Returns:
        Darcy factors [-] of the broadcast shape, finite also at rest.

    Source: as `friction_factor`; Clamond's algorithm in numpy is our own.
    """
    import numpy as np

    def kernel(re: Array, rough: Array, out: Array) -> None:
        np.maximum(re, _SMALLEST_REYNOLDS, out=out)
        np.divide(products(re, rough), out, out=out)

    return in_chunks(kernel, (reynolds, relative_roughness), 1)[0]


def products(reynolds: Array, relative_roughness: Array, power: Array | None = None) -> Array:
    """The product f Re of one chunk, which is finite and exactly 64 in laminar flow.

    Args:
        reynolds: Reynolds numbers, not negative [-], one-dimensional.
        relative_roughness: absolute roughness over bore [-], of the same shape.
        power: filled with d ln f / d ln Re [-] where given, of the same shape.

    Returns:
        f Re [-], a new array of that shape.

    Source: as `friction_factors`.
    """
    import numpy as np

    # Below the turbulent limit this yields the factor at the limit, where the passage ends.
    turbulent = np.maximum(reynolds, TURBULENT_LIMIT)
    factor = _clamond(turbulent, relative_roughness)
    result = factor * reynolds
    if power is not None:
        power[...] = _colebrook_powers(turbulent, relative_roughness, factor)
    below = np.flatnonzero(reynolds < TURBULENT_LIMIT)
    if not below.size:
        return result
    low = reynolds[below]
    passing = low > LAMINAR_LIMIT
    passage, low = below[passing], low[passing]
    end = factor[passage]
    end_power = _colebrook_powers(turbulent[passage], relative_roughness[passage], end)
    place = np.log(low / LAMINAR_LIMIT) / _PASSAGE
    log_factor, passage_power = _cubic(place, np.log(end), end_power)
    result[below] = 64.0
    result[passage] = np.exp(log_factor) * low
    if power is not None:
        power[below] = -1.0
        power[passage] = passage_power
    return result


def in_chunks(
    kernel: Callable[..., None], inputs: tuple[ArrayLike, ...], outputs: int
) -> tuple[Array, ...]:
    """Run a kernel over broadcast arrays in pieces that stay in the processor's cache.

    Args:
        kernel: takes one-dimensional pieces of every input, then of every output to fill.
        inputs: arrays or numbers [any], whose shapes broadcast.
        outputs: how many arrays the kernel fills.

    Returns:
        The filled arrays, of the broadcast shape.

    Source: our own.
    """
    import numpy as np

    flags: list[Any] = [["readonly"]] * len(inputs) + [["writeonly", "allocate"]] * outputs
    operands: Any = [*(np.asarray(item, dtype=float) for item in inputs), *[None] * outputs]
    iterator = np.nditer(
        operands,
        flags=["external_loop", "buffered", "zerosize_ok"],
        op_flags=flags,
        op_dtypes=[np.float64] * len(operands),
        buffersize=_CHUNK,
    )
    with iterator:
        if iterator.itersize:
            for pieces in iterator:
                kernel(*pieces)
        return tuple(iterator.operands[len(inputs) :])


@cache
def _colebrook() -> Callable[[float, float], float]:
    """The solver of `fluids`, loaded at the first call because it brings numpy along."""
    from fluids.friction import Clamond

    return cast(Callable[[float, float], float], Clamond)


def _colebrook_power(reynolds: float, relative_roughness: float, factor: float) -> float:
    """d ln f / d ln Re of Colebrook.

    With x = f^-1/2 and A = e/3.7 + 2.51 x/Re, x = -2 log10 A gives x' = c (x - x') for
    c = (2/ln 10) (2.51/Re)/A, the prime being d/d ln Re; and ln f = -2 ln x.
    """
    argument = relative_roughness * reynolds / (3.7 * 2.51) + 1.0 / math.sqrt(factor)
    c = (2.0 / _LN10) / argument
    return -2.0 * c / (1.0 + c)


def _colebrook_powers(reynolds: Array, relative_roughness: Array, factor: Array) -> Array:
    """`_colebrook_power` on arrays."""
    import numpy as np

    c = relative_roughness * reynolds
    c /= 3.7 * 2.51
    c += 1.0 / np.sqrt(factor)
    np.divide(2.0 / _LN10, c, out=c)
    return -2.0 * c / (1.0 + c)


@lru_cache(maxsize=4096)
def _passage_end(relative_roughness: float) -> tuple[float, float]:
    """(ln f, d ln f / d ln Re) where Colebrook begins; few roughnesses occur in one house."""
    factor = _colebrook()(TURBULENT_LIMIT, relative_roughness)
    return math.log(factor), _colebrook_power(TURBULENT_LIMIT, relative_roughness, factor)


def _passage(reynolds: float, relative_roughness: float) -> tuple[float, float]:
    """(f, d ln f / d ln Re) between laminar and turbulent flow."""
    place = math.log(reynolds / LAMINAR_LIMIT) / _PASSAGE
    end, end_power = _passage_end(relative_roughness)
    log_factor, power = _cubic(place, end, end_power)
    return math.exp(log_factor), power


@overload
def _cubic(place: float, end: float, end_power: float) -> tuple[float, float]: ...
@overload
def _cubic(place: Array, end: Array, end_power: Array) -> tuple[Array, Array]: ...
def _cubic(place: Any, end: Any, end_power: Any) -> tuple[Any, Any]:
    """Hermite cubic of ln f and its derivative by ln Re; `place` runs from 0 to 1."""
    rise = end - _LOG_LAMINAR_END
    # ln f = start - h t + t^2 (p + q t): value and slope -1 at 0 are built in
    q = _PASSAGE * (end_power - 1.0) - 2.0 * rise
    p = rise + _PASSAGE - q
    value = _LOG_LAMINAR_END + place * (place * (p + q * place) - _PASSAGE)
    return value, place * (2.0 * p + 3.0 * q * place) / _PASSAGE - 1.0


def _clamond(reynolds: Array, relative_roughness: Array) -> Array:
    """Colebrook's factor by Clamond's two steps, the same form as the scalar solver's."""
    import numpy as np

    rough = relative_roughness * reynolds
    rough *= _ROUGH
    smooth = np.log(reynolds)
    smooth += _SMOOTH
    root = smooth - 0.2
    total = rough + root
    above = total + 1.0
    error = np.log(total)
    error -= 0.2
    error /= above
    # first step: root -= (above + e/2) e total / (above + e (1 + e/3))
    total *= error
    total *= above + 0.5 * error
    above += error * (1.0 + error / 3.0)
    total /= above
    root -= total
    # second step, from the improved root
    np.add(rough, root, out=total)
    np.add(total, 1.0, out=above)
    np.log(total, out=error)
    error += root
    error -= smooth
    error /= above
    total *= error
    total *= above + 0.5 * error
    above += error * (1.0 + error / 3.0)
    total /= above
    root -= total
    root *= root
    return np.divide(_SCALE, root, out=root)

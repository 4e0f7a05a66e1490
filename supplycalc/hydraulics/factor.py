"""The Darcy friction factor of a full pipe, for one pipe and for arrays of them.

Three regimes: laminar up to Re 2000, Colebrook from Re 4000, and between them a cubic in ln f over
ln Re that meets both ends in value and slope. The passage is our own (no law is established there);
it makes the loss, which goes with f Re^2, a smooth and strictly rising function of flow.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache, lru_cache
from math import log
from typing import TYPE_CHECKING, Any, cast

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]
    Single = NDArray[np.float32]
    Indices = NDArray[np.intp]

LAMINAR_LIMIT = 2000.0
"""Reynolds number up to which flow is taken as laminar."""
TURBULENT_LIMIT = 4000.0
"""Reynolds number from which Colebrook holds."""

_SMALLEST_REYNOLDS = 1e-6  # keeps f finite at rest
_PASSAGE = math.log(TURBULENT_LIMIT / LAMINAR_LIMIT)
_LOG_LAMINAR_END = math.log(64.0 / LAMINAR_LIMIT)
_LN10 = math.log(10.0)
# Clamond's constants for Colebrook's own 3.7 and 2.51
_ROUGH = _LN10 / (2.0 * 3.7 * 2.51)
_SMOOTH = math.log(_LN10 / (2.0 * 2.51))
_FIRST_DROP = 2.0  # ln(r + s) to begin with; 1.75 to 3 in smooth tube
_SCALE = (0.5 * _LN10) ** 2
_CHUNK = 16384  # elements; fewer, and the calls cost more than the arithmetic


def friction_factor(reynolds: float, relative_roughness: float) -> float:
    """Darcy friction factor of one pipe.

    Args:
        reynolds: Reynolds number, not negative.
        relative_roughness: absolute roughness over bore.

    Returns:
        Darcy factor f (four times the Fanning factor); below Re 1e-6 it stays at its value
        there, so that a product with zero flow is zero.

    Source: laminar 64/Re; C. F. Colebrook, J. ICE 11 (1939) 133, solved by D. Clamond, Ind. Eng.
        Chem. Res. 48 (2009) 3665 as implemented in `fluids`; the passage between is our own.
    """
    if reynolds >= TURBULENT_LIMIT:
        return _colebrook()(reynolds, relative_roughness)
    if reynolds <= LAMINAR_LIMIT:
        return 64.0 / (reynolds if reynolds > _SMALLEST_REYNOLDS else _SMALLEST_REYNOLDS)
    return _passage(reynolds, relative_roughness)[0]


def factor_and_power(reynolds: float, relative_roughness: float) -> tuple[float, float]:
    """Darcy friction factor and the power of the Reynolds number that it goes with there.

    Args:
        reynolds: Reynolds number, not negative.
        relative_roughness: absolute roughness over bore.

    Returns:
        (f, d ln f / d ln Re), both; the power is -1 in laminar flow and tends to 0 in rough.

    Source: as `friction_factor`, differentiated by us.
    """
    if reynolds >= TURBULENT_LIMIT:
        factor = _colebrook()(reynolds, relative_roughness)
        return factor, _colebrook_power(reynolds, relative_roughness, factor)
    if reynolds <= LAMINAR_LIMIT:
        return 64.0 / max(reynolds, _SMALLEST_REYNOLDS), -1.0
    return _passage(reynolds, relative_roughness)


def product_and_power(reynolds: float, relative_roughness: float) -> tuple[float, float]:
    """The product f Re and the power of the Reynolds number that f goes with there.

    For what is called a thousand times a second: Colebrook is solved here in three logarithms and
    without loading a library. With t = r + s of `_colebrook_power` it reads t + ln t = y, and one
    step of Fritsch's fourth-order rule from the series for large y leaves nothing but rounding.

    Args:
        reynolds: Reynolds number, not negative.
        relative_roughness: absolute roughness over bore.

    Returns:
        (f Re, d ln f / d ln Re), both.

    Source: as `factor_and_power`; F. N. Fritsch, R. E. Shafer and W. P. Crowley, Algorithm 443,
        Comm. ACM 16 (1973) 123 (from memory).
    """
    if reynolds < TURBULENT_LIMIT:
        if reynolds <= LAMINAR_LIMIT:
            return 64.0, -1.0
        factor, power = _passage(reynolds, relative_roughness)
        return factor * reynolds, power
    smooth = log(reynolds) + _SMOOTH
    y = smooth + _ROUGH * relative_roughness * reynolds
    drop = log(y)
    part = drop / y
    drop -= part * (1.0 + part * (0.5 * drop - 1.0))
    t = y - drop
    error = log(t) - drop
    above = 1.0 + t
    square = above * (above - error / 1.5)
    change = t * error / above * (square + 0.5 * error) / (square + error)
    root = smooth - drop - change
    return _SCALE * reynolds / (root * root), -2.0 / (above - change)


def friction_factors(reynolds: ArrayLike, relative_roughness: ArrayLike) -> Array:
    """Darcy friction factors, elementwise; equal to `friction_factor`.

    Args:
        reynolds: Reynolds numbers, not negative, any shape.
        relative_roughness: absolute roughness over bore, a shape that broadcasts with it.

    Returns:
        Darcy factors of the broadcast shape, finite also at rest.

    Source: as `friction_factor`; Clamond's algorithm in numpy.
    """
    import numpy as np

    def kernel(re: Array, rough: Array, out: Array) -> None:
        root, below, passage, product = _regimes(re, rough, None)
        np.multiply(root, root, out=root)
        np.divide(_SCALE, root, out=out)
        if below.size:
            out[below] = 64.0 / np.maximum(re.take(below), _SMALLEST_REYNOLDS)
            out[passage] = product / re.take(passage)

    return in_chunks(kernel, (reynolds, relative_roughness), 1)[0]


def products(reynolds: Array, relative_roughness: Array, power: Array | None = None) -> Array:
    """The product f Re of one chunk, which is finite and exactly 64 in laminar flow.

    Args:
        reynolds: Reynolds numbers, not negative, one-dimensional.
        relative_roughness: absolute roughness over bore, of the same shape.
        power: filled with d ln f / d ln Re where given, of the same shape.

    Returns:
        f Re, a new array of that shape.

    Source: as `friction_factors`.
    """
    root, below, passage, product = _regimes(reynolds, relative_roughness, power)
    root *= root
    result = reynolds / root
    result *= _SCALE
    if below.size:
        result[below] = 64.0
        result[passage] = product
    return result


def in_chunks(
    kernel: Callable[..., None], inputs: tuple[ArrayLike, ...], outputs: int
) -> tuple[Array, ...]:
    """Run a kernel over broadcast arrays in pieces that stay in the processor's cache.

    Args:
        kernel: takes one-dimensional pieces of every input, then of every output to fill
            [function].
        inputs: arrays or numbers [any], whose shapes broadcast.
        outputs: how many arrays the kernel fills.

    Returns:
        The filled arrays, of the broadcast shape.
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

    With r = (ln 10/2) f^-1/2 Colebrook reads r + ln(r + s) = ln Re + constant, where s is the rough
    part and goes with Re. Differentiated by ln Re: r' (1 + 1/(r + s)) = 1 - s/(r + s), hence
    r' = r/(1 + r + s); and ln f = -2 ln r + constant, hence -2/(1 + r + s).
    """
    total = _ROUGH * relative_roughness * reynolds + 0.5 * _LN10 / math.sqrt(factor)
    return -2.0 / (1.0 + total)


@lru_cache(maxsize=4096)
def _passage_end(relative_roughness: float) -> tuple[float, float]:
    """The passage's coefficients; few roughnesses occur in one house."""
    root = 0.5 * _LN10 / math.sqrt(_colebrook()(TURBULENT_LIMIT, relative_roughness))
    above = 1.0 + root + _ROUGH * relative_roughness * TURBULENT_LIMIT
    p, q = _passage_coefficients(math.log(root), above)
    return p, q


def _passage(reynolds: float, relative_roughness: float) -> tuple[float, float]:
    """(f, d ln f / d ln Re) between laminar and turbulent flow."""
    p, q = _passage_end(relative_roughness)
    place = math.log2(reynolds / LAMINAR_LIMIT)
    factor = 64.0 / reynolds * math.exp(place * place * (p + q * place))
    return factor, place * (2.0 * p + 3.0 * q * place) / _PASSAGE - 1.0


def _passage_coefficients(log_root: Any, above: Any) -> tuple[Any, Any]:
    """p and q of f Re = 64 exp(t^2 (p + q t)), t = log2(Re/2000), from `_solve_colebrook` at t = 1.

    ln f is then a cubic in ln Re. Value 64/Re and slope -1 at t = 0 are built in; p and q make
    value and slope -2/above right at t = 1. Floats or arrays.
    """
    rise = (math.log(_SCALE) - _LOG_LAMINAR_END) - 2.0 * log_root
    q = -2.0 * rise - (2.0 * _PASSAGE) / above - _PASSAGE
    return rise - q + _PASSAGE, q


def _regimes(
    reynolds: Array, relative_roughness: Array, power: Array | None
) -> tuple[Array, Indices, Indices, Array]:
    """(r of Colebrook, indices below the turbulent limit, those in the passage, f Re of these).

    Fills `power` with d ln f / d ln Re where given.
    """
    import numpy as np

    # One block instead of many temporaries: the allocator then keeps it from call to call.
    work: Array = np.empty((6, reynolds.size))
    # Below the turbulent limit this solves Colebrook at the limit, where the passage ends.
    turbulent = np.maximum(reynolds, TURBULENT_LIMIT, out=work[0])
    root, above = _solve_colebrook(turbulent, relative_roughness, work[1:])
    if power is not None:
        np.divide(-2.0, above, out=power)
    # Index arrays, because boolean masks cost a mispredicted branch per element.
    below = (reynolds < TURBULENT_LIMIT).nonzero()[0]
    if not below.size:
        return root, below, below, below.astype(float)
    low = reynolds.take(below)
    passing = (low > LAMINAR_LIMIT).nonzero()[0]
    passage = below.take(passing)
    p, q = _passage_coefficients(np.log(root.take(passage)), above.take(passage))
    low = low.take(passing)
    low *= 1.0 / LAMINAR_LIMIT
    place = np.log2(low)
    q *= place
    if power is not None:
        power[below] = -1.0
        power[passage] = place * (2.0 * p + 3.0 * q) * (1.0 / _PASSAGE) - 1.0
    p += q
    place *= place
    place *= p
    return root, below, passage, 64.0 * np.exp(place)


def _solve_colebrook(
    reynolds: Array, relative_roughness: Array, work: Array
) -> tuple[Array, Array]:
    """(r, 1 + r + s) of Colebrook written as r + ln(r + s) = smooth, see `_colebrook_power`.

    Clamond's first step, of fourth order, only has to come near and runs in single precision, where
    it is cheap; it leaves less than 1e-6, which one step of Newton's takes to rounding. `reynolds`
    is used up as work space.
    """
    import numpy as np

    smooth, total, drop = work[:3]
    np.log(reynolds, out=smooth)
    smooth += _SMOOTH
    np.multiply(relative_roughness, reynolds, out=total)
    total *= _ROUGH
    total += smooth
    drop[...] = _near_drop(total, work[3:])
    total -= drop
    error = np.log(total, out=reynolds)
    error -= drop
    error *= total
    total += 1.0
    error /= total
    total -= error
    drop += error
    smooth -= drop
    return smooth, total


def _near_drop(start: Array, work: Array) -> Single:
    """smooth - r after Clamond's first step, given smooth + s."""
    import numpy as np

    total, error, above, half = work.view(np.float32).reshape(4, -1)
    np.subtract(start, _FIRST_DROP, out=total, casting="same_kind")
    np.log(total, out=error)
    error -= _FIRST_DROP
    np.add(total, 1.0, out=above)
    error /= above
    total *= error
    np.multiply(error, 0.5, out=half)
    half += above
    total *= half
    np.multiply(error, 1.0 / 3.0, out=half)
    half += 1.0
    half *= error
    half += above
    total /= half
    total += _FIRST_DROP
    return total

"""A loss over flow as people write it, such as "12 psi at 7 gpm"."""

from __future__ import annotations

from msgspec import Struct


class Loss(Struct, frozen=True, kw_only=True):
    """Pressure lost by something that is not pipe, as a function of flow.

    dp(Q) = constant (where water flows) + linear*(Q/reference) + quadratic*(Q/reference)^2, or,
    where `curve` is given, the monotone curve through its (flow [m3/s], loss [Pa]) points.
    """

    constant: float = 0.0
    """[Pa]"""
    linear: float = 0.0
    """[Pa] at the reference flow"""
    quadratic: float = 0.0
    """[Pa] at the reference flow"""
    reference_flow: float = 1.0
    """[m3/s]"""
    curve: tuple[tuple[float, float], ...] = ()

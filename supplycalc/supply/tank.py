"""A pressure tank with an air charge: Boyle's law at one temperature, absolute pressures."""

from __future__ import annotations


def air_constant(volume: float, precharge: float, atmosphere: float) -> float:
    """Absolute pressure times volume of the air, the same at every filling.

    Args:
        volume: whole volume of the tank [m3].
        precharge: air pressure with no water in it [Pa gauge].
        atmosphere: [Pa absolute].

    Returns:
        P V [J].

    Source: Boyle's law.
    """
    return (precharge + atmosphere) * volume


def water_held(volume: float, precharge: float, pressure: float, atmosphere: float) -> float:
    """Water in a tank at a pressure; none below the precharge.

    Args:
        volume: whole volume of the tank [m3].
        precharge: air pressure with no water in it [Pa gauge].
        pressure: at the tank [Pa gauge].
        atmosphere: [Pa absolute].

    Returns:
        Water [m3].

    Source: Boyle's law.
    """
    if pressure <= precharge:
        return 0.0
    return volume * (1.0 - (precharge + atmosphere) / (pressure + atmosphere))


def drawdown(
    volume: float, precharge: float, cut_in: float, cut_out: float, atmosphere: float
) -> float:
    """Water that a tank gives between cut-out and cut-in.

    A precharge above cut-in empties the tank before the pump starts: then it gives all it holds.

    Args:
        volume: whole volume of the tank [m3].
        precharge: air pressure with no water in it [Pa gauge].
        cut_in: [Pa gauge].
        cut_out: [Pa gauge].
        atmosphere: [Pa absolute].

    Returns:
        Drawdown [m3]; V P_pre (1/P_in - 1/P_out) for a precharge below cut-in.

    Source: The Driller, pressure tank drawdown, 2006.
    """
    return water_held(volume, precharge, cut_out, atmosphere) - water_held(
        volume, precharge, cut_in, atmosphere
    )


def volume_for_drawdown(
    wanted: float, precharge: float, cut_in: float, cut_out: float, atmosphere: float
) -> float:
    """Tank volume that gives a drawdown.

    Args:
        wanted: drawdown [m3].
        precharge: air pressure with no water in it [Pa gauge].
        cut_in: [Pa gauge].
        cut_out: [Pa gauge].
        atmosphere: [Pa absolute].

    Returns:
        Whole volume of the tank [m3].

    Source: The Driller, pressure tank drawdown, 2006, rearranged.
    """
    return wanted / drawdown(1.0, precharge, cut_in, cut_out, atmosphere)


def acceptance_factor(start: float, cut_out: float, atmosphere: float) -> float:
    """Share of a tank's volume that water fills between a start pressure and cut-out.

    With the precharge as the start it is the water held; with cut-in, the factor of trade tables,
    which takes the precharge to equal cut-in and so promises too much.

    Args:
        start: precharge or cut-in [Pa gauge].
        cut_out: [Pa gauge].
        atmosphere: [Pa absolute].

    Returns:
        Acceptance factor.

    Source: Water Systems Council, Pressure Tanks, 2007; Water Conditioning & Purification, 2000.
    """
    return 1.0 - (start + atmosphere) / (cut_out + atmosphere)

"""A second pressure tank, far from the switch: the charge that suits its height, what it holds."""

from __future__ import annotations

import math
from typing import ClassVar

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.hydraulics.water import specific_weight
from supplycalc.model import Device, Tank
from supplycalc.network import Tree
from supplycalc.records import Form
from supplycalc.supply.station import settings_of_switch, usual_precharge
from supplycalc.supply.tank import Vessel, atmospheric_pressure
from supplycalc.units.quantities import Elevation, Pressure, Setting, Volume


class FarTank(Struct, frozen=True, kw_only=True):
    """A pressure tank behind the first one, with the pressures that stand at it."""

    form: ClassVar[Form] = Form(
        omit=("tank", "link", "atmosphere"),
        add=("name", "at", "volume", "precharge", "max_pressure", "drawdown"),
    )

    tank: Tank
    link: int
    """At whose end it stands."""
    elevation: Elevation
    gain: Pressure
    """Over the first tank's gauge with nothing running; negative higher up."""
    cut_in: Setting
    """At it, when the pump starts."""
    cut_out: Setting
    """At it, when the pump stops."""
    charge: Setting
    """That suits it."""
    atmosphere: Pressure

    @property
    def name(self) -> str:
        """Of the tank."""
        return self.tank.name

    @property
    def at(self) -> str | None:
        """The point where it stands."""
        return self.tank.at

    @property
    def volume(self) -> Volume | None:
        """Whole."""
        return self.tank.volume

    @property
    def max_pressure(self) -> Setting | None:
        """That it is rated for."""
        return self.tank.max_pressure

    @property
    def drawdown(self) -> Volume | None:
        """That it gives between the switch's settings; None where no volume is given."""
        return None if self.vessel is None else self.vessel.drawdown

    @property
    def precharge(self) -> Setting:
        """Its own, else the one that suits it."""
        return self.charge if self.tank.precharge is None else self.tank.precharge

    @property
    def vessel(self) -> Vessel | None:
        """It between the switch's settings, as they stand at it; None where no volume is given."""
        if self.tank.volume is None:
            return None
        return Vessel(
            volume=self.tank.volume,
            precharge=self.precharge,
            cut_in=self.cut_in,
            cut_out=self.cut_out,
            atmosphere=self.atmosphere,
        )

    @property
    def seen_from_switch(self) -> Vessel | None:
        """It as a vessel at the first tank's gauge, from which every pressure at it differs by the
        height."""
        vessel = self.vessel
        return vessel and replace(
            vessel,
            precharge=vessel.precharge - self.gain,
            cut_in=vessel.cut_in - self.gain,
            cut_out=vessel.cut_out - self.gain,
            atmosphere=vessel.atmosphere + self.gain,
        )


def far_tanks_of(tree: Tree) -> tuple[FarTank, ...]:
    """The pressure tanks behind the first one; none where the file names no switch.

    Source: hydrostatics, and the settings of reducing valves on the way; the charge as the trade's
        rule has it for the first tank, by the pressures at this one.
    """
    house = tree.house
    settings = settings_of_switch(house) if house.far_tanks else None
    if settings is None:
        return ()
    cut_in, cut_out, held = settings
    told = []
    for tank in house.far_tanks:
        link = tree.index[tank.at or ""]
        elevation = tree.elevation[link] if tank.elevation is None else tank.elevation
        weight = specific_weight(house.water.cold)
        gain = weight * (house.source.elevation - elevation)
        held_back = min(
            (
                valve.setting + weight * (tree.elevation[i] - elevation)
                for i in tree.path(link)
                if isinstance(valve := tree.links[i], Device) and valve.setting is not None
            ),
            default=math.inf,
        )
        low, high = (min(end + gain, held_back) for end in (cut_in, cut_out))
        told.append(
            FarTank(
                tank=tank,
                link=link,
                elevation=elevation,
                gain=gain,
                cut_in=low,
                cut_out=high,
                charge=max(usual_precharge(cut_in, cut_out, held) + low - cut_in, 0.0),
                atmosphere=atmospheric_pressure(house.source.altitude),
            )
        )
    return tuple(told)

"""Kinds of equipment: what each loses, does and is called."""

from __future__ import annotations

from typing import Any, Literal

from msgspec import Struct

from supplycalc.problems import NOWHERE, Place
from supplycalc.tables import OWN, Citation, citation_of, to_si
from supplycalc.units import Loss

Role = Literal[
    "meter",  # often with a check valve; the codes' tables of sizes hold its loss
    "closes",  # lets nothing back: heated water behind it has nowhere to expand to
    "protects",  # against contamination or scalding, or shuts off: never to be left out
    "in-house",  # what it feeds is distribution; anything else may stand in the service
    "softens",
    "loads-up",  # takes more and more until its cartridge is changed
    "mixes",  # hot water with cold, so that nothing behind it scalds
    "stores",  # hot water
    "heats-flow",  # water as it is drawn
]
"""What a kind of device does, as far as a rule or a size depends on it."""


class DeviceKind(Struct, frozen=True, kw_only=True):
    """A kind of equipment: everything that follows from what a device is."""

    name: str
    title: str
    loss: Loss | None
    hot: bool = False
    setting: float | None = None
    falloff: float | None = None
    falloff_flow: float | None = None
    citation: Citation
    roles: frozenset[Role] = frozenset()
    words: tuple[str, ...] = ()
    """What people call it, in small letters."""
    added_later: int = 0
    """Its turn among the treatments that a house gets one day, from 1; 0: none of them."""

    @property
    def reduces(self) -> bool:
        """Whether it is a valve that holds the pressure behind it at a setting."""
        return self.setting is not None


class OwnDevice(Struct, frozen=True, kw_only=True):
    """A device kind that a house file declares."""

    name: str
    loss: Loss
    source: str = "your file"
    place: Place = NOWHERE


def device_kind(name: str, row: dict[str, Any], units: dict[str, str]) -> DeviceKind:
    """A kind of device from its row of devices.toml, in SI."""

    def pressure(key: str) -> float:
        return to_si(row.get(key, 0.0), units["loss"])

    loss = None
    if "at" in row:
        loss = Loss(
            constant=pressure("constant"),
            linear=pressure("linear"),
            quadratic=pressure("quadratic"),
            reference_flow=to_si(row["at"], units["flow"]),
        )
    valve = "setting" in row
    return DeviceKind(
        name=name,
        title=row["title"],
        loss=loss,
        hot=row.get("hot", False),
        setting=pressure("setting") if valve else None,
        falloff=pressure("falloff") if valve else None,
        falloff_flow=to_si(row["falloff_at"], units["flow"]) if valve else None,
        citation=citation_of(row),
        roles=frozenset(row.get("roles", ())),
        words=tuple(row.get("words", ())),
        added_later=row.get("added_later", 0),
    )


def own_device(own: OwnDevice) -> DeviceKind:
    """The kind of equipment that a file declares: its loss is all that is known of it."""
    return DeviceKind(name=own.name, title=own.name, loss=own.loss, citation=OWN)

"""Tubes, fittings and device kinds that the file declares itself."""

from __future__ import annotations

import re

from msgspec import Struct

from supplycalc.catalogue import Catalogue
from supplycalc.model import House, Loss, OwnDevice, OwnFitting, OwnTube, Project, WaterSource
from supplycalc.reading.fields import DEVICE_KIND, FITTING, TUBE
from supplycalc.reading.links import Entries
from supplycalc.reading.reporter import Entry, Reporter, quoted

OWN_SECTIONS = (TUBE, FITTING, DEVICE_KIND)
_WORD = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,39}")
_USER = "the user's file"


class Own(Struct, frozen=True, kw_only=True):
    """What a file declares itself."""

    tubes: tuple[OwnTube, ...] = ()
    fittings: tuple[OwnFitting, ...] = ()
    devices: tuple[OwnDevice, ...] = ()
    wrong_tubes: tuple[str, ...] = ()
    """Declared, but not rightly: they are still no unknown words."""
    wrong_devices: tuple[str, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.tubes or self.fittings or self.devices)

    def house(self) -> House:
        """A house of nothing else, from which a catalogue can be made."""
        return House(
            project=Project(name=""),
            source=WaterSource(kind="main"),
            own_tubes=self.tubes,
            own_fittings=self.fittings,
            own_devices=self.devices,
        )


def read_own(reporter: Reporter, entries: Entries, shipped: Catalogue) -> Own:
    """Read the file's own tubes, fittings and device kinds.

    Args:
        reporter: takes the problems.
        entries: the checked sections.
        shipped: the catalogue without them; its names are taken.

    Returns:
        What could be read.
    """
    _names(reporter, entries["tube"], tuple(shipped.tubes))
    kinds = {kind for joining in shipped.joinings.values() for kind in joining.kinds}
    _names(reporter, entries["fitting"], tuple(sorted(kinds)))
    _names(reporter, entries["device_kind"], tuple(shipped.devices))
    tubes = [(entry, _tube(entry)) for entry in entries["tube"]]
    devices = [(entry, _device(entry)) for entry in entries["device_kind"]]
    fittings = [_fitting(entry) for entry in entries["fitting"]]
    return Own(
        tubes=tuple(tube for _, tube in tubes if tube is not None),
        fittings=tuple(fitting for fitting in fittings if fitting is not None),
        devices=tuple(device for _, device in devices if device is not None),
        wrong_tubes=tuple(e.get("name") for e, one in tubes if one is None and e.get("name")),
        wrong_devices=tuple(e.get("name") for e, one in devices if one is None and e.get("name")),
    )


def _names(reporter: Reporter, entries: list[Entry], shipped: tuple[str, ...]) -> None:
    seen: dict[str, int] = {}
    for entry in entries:
        name = entry.get("name")
        if name is None:
            continue
        path = (*entry.path, "name")
        if _WORD.fullmatch(name) is None:
            message = f"{entry.label}: {quoted(name)} must be one word of letters, digits and -"
            reporter.report(path, message)
        elif name in shipped:
            message = f"{entry.label}: {quoted(name)} is in the catalogue already; choose another"
            reporter.report(path, message)
        elif name in seen:
            message = f"{entry.label}: the name {quoted(name)} stands in line {seen[name]} already"
            reporter.report(path, message)
        seen.setdefault(name, entry.place.line)


def _tube(entry: Entry) -> OwnTube | None:
    name, sizes, roughness = (entry.get(key) for key in ("name", "sizes", "roughness"))
    if name is None or sizes is None or roughness is None:
        return None
    optional = {
        key: entry.get(key)
        for key in (
            "hazen_williams_c", "pressure_rating", "max_velocity_cold", "max_velocity_hot", "hot",
            "density", "fittings", "source",
        )
        if entry.get(key) is not None
    }  # fmt: skip
    return OwnTube(name=name, sizes=sizes, roughness=roughness, place=entry.place, **optional)


def _fitting(entry: Entry) -> OwnFitting | None:
    name, k = entry.get("name"), entry.get("k")
    if name is None or k is None:
        return None
    return OwnFitting(
        name=name,
        k=k,
        joining=entry.get("joined"),
        source=entry.get("source") or _USER,
        place=entry.place,
    )


def _device(entry: Entry) -> OwnDevice | None:
    name, loss = entry.get("name"), loss_of(entry)
    if name is None or loss is None:
        return None
    return OwnDevice(name=name, loss=loss, source=entry.get("source") or _USER, place=entry.place)


def loss_of(entry: Entry) -> Loss | None:
    """The loss that a device or device kind gives, by either key."""
    loss, curve = entry.get("loss"), entry.get("curve")
    if isinstance(loss, Loss):
        return loss
    return Loss(curve=curve) if curve is not None else None

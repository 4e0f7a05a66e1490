"""Tubes, fittings and device kinds that the file declares itself, beside the shipped ones."""

from __future__ import annotations

import re

from supplycalc.catalogue import Catalogue, OwnDevice, OwnFitting, OwnTube, load_catalogue
from supplycalc.reading.fields import DEVICE_KIND, FITTING, TUBE
from supplycalc.reading.links import Entries
from supplycalc.reading.reporter import Entry, Reporter, quoted
from supplycalc.units import Loss

OWN_SECTIONS = (TUBE, FITTING, DEVICE_KIND)
_WORD = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,39}")


def own_catalogue(reporter: Reporter, entries: Entries, shipped: Catalogue) -> Catalogue:
    """The shipped catalogue with the file's own tubes, fittings and device kinds.

    Args:
        shipped: the catalogue without them; its names are taken.
    """
    kinds = {kind for joining in shipped.joinings.values() for kind in joining.kinds}
    _names(reporter, entries["tube"], tuple(shipped.tubes))
    _names(reporter, entries["fitting"], tuple(sorted(kinds)))
    _names(reporter, entries["device_kind"], tuple(shipped.devices))
    return load_catalogue(
        tuple(
            entry.record(OwnTube)
            for entry in entries["tube"]
            if entry.has("name", "sizes", "roughness")
        ),
        tuple(entry.record(OwnFitting) for entry in entries["fitting"] if entry.has("name", "k")),
        tuple(
            entry.record(OwnDevice, loss=loss)
            for entry in entries["device_kind"]
            if entry.has("name") and (loss := loss_of(entry)) is not None
        ),
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


def loss_of(entry: Entry) -> Loss | None:
    """The loss that a device or device kind gives, by either key."""
    loss, curve = entry.get("loss"), entry.get("curve")
    if isinstance(loss, Loss):
        return loss
    return Loss(curve=curve) if curve is not None else None

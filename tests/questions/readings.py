"""Readings as a gauge without error, or with one, would show them in a house that is otherwise."""

from __future__ import annotations

import random
from collections.abc import Sequence

from msgspec.structs import replace

from supplycalc.model import Device, GaugeReading, House, Loss
from supplycalc.questions.gauge.states import Bench
from supplycalc.questions.size.study import size
from supplycalc.sizing.changes import with_sizes
from supplycalc.units import PSI

NEEDLE = 0.5 * PSI
"""Standard deviation of one look at a needle [Pa]."""


def built(house: House) -> House:
    """The house with every size as `size` chooses it, as if it had been laid so."""
    return with_sizes(house, size(house, mend=False).sizes)


def read_off(
    truth: House, wanted: Sequence[GaugeReading], *, seed: int | None = None
) -> tuple[GaugeReading, ...]:
    """The wanted readings, each pressure and flow in it as it stands in the true house.

    Args:
        seed: of errors of needle and bucket; None: no errors.
    """
    errors = random.Random(seed)
    bench = Bench(size(truth, mend=False), tuple(wanted))
    readings = list(wanted)
    for each, value in zip(bench.observed, bench.computed(), strict=True):
        error = 0.0 if seed is None else errors.gauss(0.0, 1.0)
        if each.what == "pressure":
            value = max(value + error * NEEDLE, 0.0)
        elif each.what == "flow":
            value *= 1.0 + 0.02 * error
        field = "source_pressure" if each.what == "source" else each.what
        readings[each.state] = replace(readings[each.state], **{field: value})
    return tuple(readings)


def clogged(house: House, name: str, *, loss: float, flow: float) -> House:
    """The house with a device that loses so much at a flow.

    Args:
        loss: [Pa].
        flow: [m3/s].
    """

    def changed(device: Device) -> Device:
        if device.name != name:
            return device
        return replace(device, loss=Loss(quadratic=loss, reference_flow=flow))

    return replace(house, devices=tuple(changed(device) for device in house.devices))


def weaker_pump(house: House, part: float) -> House:
    """The house with a pump that gives a part of the head of its curve.

    Args:
        part: of the head.
    """
    pump = house.source.pump
    assert pump is not None
    curve = tuple((flow, head * part) for flow, head in pump.curve)
    return replace(house, source=replace(house.source, pump=replace(pump, curve=curve)))

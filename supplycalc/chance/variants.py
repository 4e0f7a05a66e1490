"""One house at given sizes in thousands of variants: the code's peak in one pass over its tree.

What differs between the variants is an array with one value for each; what does not stays a float,
so that runs whose figures are the same in all are worked out once.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from msgspec import Struct

from supplycalc.demand import design_flows
from supplycalc.demand.loads import BoolArray, FloatArray
from supplycalc.model import FieldPath, House
from supplycalc.model.field_paths import run_of, with_value
from supplycalc.network import build_tree
from supplycalc.sizing.choices import Situation
from supplycalc.sizing.link_laws import laws_of_sizes
from supplycalc.sizing.problem import TOLERANCE
from supplycalc.supply.source import working_pressure

Values = Mapping[FieldPath, FloatArray]
"""What differs: one value for each variant [SI]; of ("run", name, "size") the number of the size in
its family."""
CHUNK = 512
"""Variants that are followed together: their arrays stay in the processor's cache."""
_DRAWN = ("flow", "continuous", "use_temperature", "use", "elevation")
"""Fields of a fixture that bear on design flows; what stands a storey apart is no one bathroom."""


class Peak(Struct, frozen=True, kw_only=True, eq=False):
    """Every outlet at the code's peak, outlets by variants."""

    residual: FloatArray
    """[Pa gauge], below 0 where the pressure is used up"""
    required: FloatArray
    """[Pa gauge]"""
    source: FloatArray
    """Pressure at the source [Pa gauge]."""
    flow: FloatArray
    """Design flow of the whole house [m3/s]."""

    @property
    def margin(self) -> FloatArray:
        """Residual less required pressure [Pa]; nothing arriving is as short as can be."""
        margin: FloatArray = np.maximum(self.residual, 0.0) - self.required
        return margin

    @property
    def worst(self) -> FloatArray:
        """The least margin of each variant [Pa]; goes on below nothing arriving."""
        worst: FloatArray = (self.residual - self.required).min(axis=0)
        return worst

    @property
    def served(self) -> BoolArray:
        """Whether every outlet has its pressure, by variant."""
        served: BoolArray = self.worst >= -TOLERANCE
        return served


def peaks(situation: Situation, sizes: Sequence[int], values: Values) -> Peak:
    """Follow the pressure to every outlet in all variants.

    Args:
        sizes: index of each run's size in its family.

    Raises:
        NoSuchField: the house has no such field.
        ComputationError: water that would be ice or steam.
    """
    count = len(next(iter(values.values())))
    parts = [
        _peaks(situation, sizes, {path: each[at : at + CHUNK] for path, each in values.items()})
        for at in range(0, count, CHUNK)
    ]
    if len(parts) == 1:
        return parts[0]
    return Peak(
        residual=np.concatenate([part.residual for part in parts], axis=1),
        required=np.concatenate([part.required for part in parts], axis=1),
        source=np.concatenate([part.source for part in parts]),
        flow=np.concatenate([part.flow for part in parts]),
    )


def _peaks(situation: Situation, sizes: Sequence[int], values: Values) -> Peak:
    count = len(next(iter(values.values())))
    house, tree = situation.tree.house, situation.tree
    at: list[Any] = list(sizes)
    drawn: dict[FieldPath, FloatArray] = {}
    for path, each in values.items():
        if path[-1] == "size":
            name = run_of(path)
            if name in tree.names:  # what stands before the tank bears on no outlet at the peak
                at[tree.names.index(name)] = each.astype(int)
            continue
        house = with_value(house, path, each)
        if draws_by(house, path):
            drawn[path] = each
    tree = build_tree(house)
    laws = laws_of_sizes(situation, at, tree)
    flow = _flows(situation, drawn) if drawn else list(situation.demand.design_flow)
    source = working_pressure(house, flow[0])
    pressure = laws.pressures(source, flow)
    shape = np.zeros(count)
    return Peak(
        residual=np.array([pressure[outlet.link] + shape for outlet in tree.outlets]),
        required=np.array([outlet.required_pressure + shape for outlet in tree.outlets]),
        source=np.asarray(source + shape),
        flow=np.asarray(flow[0] + shape),
    )


def draws_by(house: House, path: FieldPath) -> bool:
    """Whether the design flows depend on a field."""
    if path[0] == "fixture":
        return path[-1] in _DRAWN
    return path[0] == "project" or (path[0] == "water" and house.project.demand == "exact")


def _flows(situation: Situation, drawn: Values) -> list[Any]:
    """Design flow of every link: the demand method is asked for each variant by itself."""
    house = situation.tree.house
    rows = []
    for number in range(len(next(iter(drawn.values())))):
        one_house = house
        for path, each in drawn.items():
            one_house = with_value(one_house, path, float(each[number]))
        rows.append(design_flows(build_tree(one_house)).design_flow)
    return list(np.array(rows).T)

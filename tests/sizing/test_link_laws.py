"""The laws of a tree: one state as `size` follows it, and many draws as one after the other."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace

from supplycalc.hydraulics.pressure import LinkLaws, flows_above
from supplycalc.reading import load
from supplycalc.sizing.link_laws import laws_of_sizes
from supplycalc.sizing.size import choose, situation_of

SCENARIOS = sorted((Path(__file__).parents[2] / "scenarios").glob("*.toml"))
ROUNDING = {"abs": 1e-10, "rel": 1e-15}
"""[Pa] What numpy's logarithms and powers may move a pressure by: the last bits of its losses."""


@pytest.mark.parametrize("scenario", SCENARIOS, ids=lambda path: path.stem)
def test_one_state_is_what_size_follows(scenario: Path) -> None:
    """At the design flows the laws give the pressures that sizing adds up."""
    sized = choose(situation_of(load(scenario)))
    laws = laws_of_sizes(sized.situation, sized.pressures.sizes)

    pressures = laws.pressures(
        sized.situation.source.design_pressure, sized.situation.demand.design_flow
    )

    assert pressures == pytest.approx(list(sized.pressures.pressure), rel=1e-12, abs=1e-6)


@pytest.mark.parametrize("scenario", SCENARIOS, ids=lambda path: path.stem)
def test_many_draws_are_single_solves(scenario: Path) -> None:
    """Flows, lengths, diameters, roughness, heights and the source drawn anew 60 times each."""
    sized = choose(situation_of(load(scenario)))
    laws = laws_of_sizes(sized.situation, sized.pressures.sizes)
    draws, count = 60, len(laws.parent)
    generator = np.random.default_rng(3)
    outlets = [outlet.link for outlet in sized.situation.tree.outlets]
    drawn = np.zeros((count, draws))
    drawn[outlets] = generator.uniform(0.0, 4e-4, (len(outlets), draws))
    drawn[outlets] *= generator.uniform(size=(len(outlets), draws)) < 0.3
    source = generator.uniform(1e5, 5e5, draws)

    def varied(values: tuple[float, ...], spread: float) -> np.ndarray:
        return np.outer(values, np.ones(draws)) * generator.uniform(
            1.0 - spread, 1.0 + spread, (len(values), draws)
        )

    figures = {
        "length": varied(tuple(laws.length), 0.3),
        "inside_diameter": varied(tuple(laws.inside_diameter), 0.1),
        "roughness": varied(tuple(laws.roughness), 0.9),
        "k": varied(tuple(laws.k), 0.5),
        "static_gain": varied(tuple(laws.static_gain), 0.2),
    }

    together = np.array(
        replace(laws, **figures).pressures(source, flows_above(laws.parent, list(drawn)))
    )

    for j in range(draws):
        single: LinkLaws = replace(
            laws, **{name: values[:, j].tolist() for name, values in figures.items()}
        )
        flow = flows_above(laws.parent, drawn[:, j].tolist())
        assert together[:, j] == pytest.approx(single.pressures(float(source[j]), flow), **ROUNDING)

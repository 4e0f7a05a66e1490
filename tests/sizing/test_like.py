"""A changed house is sized the same, whatever is known of it from the house it was changed from."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

import supplycalc as sc
from supplycalc.chance.variants import draws_by
from supplycalc.model import FieldPath, House
from supplycalc.model.field_paths import has_value, value_at, with_value
from supplycalc.sizing.changes import draws_alike
from supplycalc.sizing.size import choose, situation_of

SCENARIOS = sorted((Path(__file__).parents[2] / "scenarios").glob("*.toml"))
TRIED = 8


def fields(house: House) -> list[FieldPath]:
    """Lengths, heights, pressures and losses of a house."""
    paths: list[FieldPath] = [("source", "cut_in"), ("source", "residual"), ("source", "elevation")]
    for run in house.every_run:
        paths += [("run", run.name, key) for key in ("length", "roughness", "fitting_allowance")]
    paths += [("point", point.name, "elevation") for point in house.points]
    for fixture in house.fixtures:
        paths += [("fixture", fixture.name, key) for key in ("elevation", "pressure")]
        for side in ("cold", "hot"):
            if getattr(fixture, side) is not None:
                paths.append(("fixture", fixture.name, side, "length"))
    return [path for path in paths if has_value(house, path)]


@pytest.mark.parametrize("scenario", SCENARIOS, ids=lambda path: path.stem)
def test_what_is_known_changes_nothing(scenario: Path) -> None:
    """Sizes, what runs may be, and pressures to a millionth of a pascal."""
    house, rng = sc.load(scenario), random.Random(scenario.stem)
    known, paths = situation_of(house), fields(house)
    for _ in range(TRIED):
        changed, varied = house, rng.sample(paths, rng.choice((1, 2, 3)))
        for path in varied:
            shift = rng.uniform(-3.0, 6.0) if path[-1] == "elevation" else 0.0
            old = value_at(changed, path) or (0.0 if shift else 1e-5)
            changed = with_value(changed, path, old * rng.uniform(0.5, 4.0) + shift)
        alike = not any(draws_by(house, path) for path in varied)
        assert draws_alike(changed, house) == alike
        if not alike:
            continue
        alone, shared = (choose(situation_of(changed, None, like)) for like in (None, known))
        assert shared.pressures.sizes == alone.pressures.sizes
        assert shared.feasible == alone.feasible
        assert shared.cost == pytest.approx(alone.cost, rel=1e-12)
        assert shared.pressures.pressure == pytest.approx(alone.pressures.pressure, abs=1e-6)
        for known_choice, choice in zip(
            shared.situation.choices, alone.situation.choices, strict=True
        ):
            assert (known_choice is None) == (choice is None)
            if known_choice is not None and choice is not None:
                assert known_choice.run == choice.run
                assert known_choice.allowed == choice.allowed
                assert known_choice.offered == choice.offered
                assert known_choice.minimum == choice.minimum


def test_a_fixture_a_storey_higher_is_no_longer_of_its_bathroom(tmp_path: Path) -> None:
    """Its group value goes, so that more is drawn: a batch's row is that of the changed file."""
    path = SCENARIOS[0].with_name("bunkhouse.toml")
    table = tmp_path / "table.csv"
    table.write_text("fixture.room 7 shower B.elevation (ft)\n15.2\n", encoding="utf-8")
    house = sc.load(path)
    changed = with_value(house, ("fixture", "room 7 shower B", "elevation"), 15.2 * 0.3048)
    [row] = sc.batch([path], variants=table).rows
    assert row.cost == pytest.approx(choose(situation_of(changed)).cost, rel=1e-12)
    assert row.cost != pytest.approx(
        choose(situation_of(changed, None, situation_of(house))).cost, rel=1e-6
    )

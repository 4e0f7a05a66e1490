"""Sizes for a wanted chance: against every choice there is, and as `size --confidence` tells."""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest
from typer.testing import CliRunner

import supplycalc as sc
from supplycalc.chance.certainty import DRAWS, SEED, sizes_of, unit_draws, values_of
from supplycalc.chance.sure_sizes import sure_sizes
from supplycalc.chance.variants import peaks
from supplycalc.cli import app
from supplycalc.questions.size.study import size
from supplycalc.sizing.size import situation_of
from tests.questions.ranged import RIDGE, ranged, text_with

RANGES = {
    'cut_in    = "50 psi"': 'cut_in = "53 ± 2 psi"',
    'length   = "85 ft"': 'length = "85 ± 10 ft"',
}
FEW = {
    'length   = "8 ft"': 'sizes = ["1", "1-1/4"]\nlength   = "8 ft"',
    'length   = "6 ft"': 'sizes = ["1", "1-1/4"]\nlength   = "6 ft"',
    'length   = "5 ft"': 'sizes = ["3/4", "1", "1-1/4"]\nlength   = "5 ft"',
}
FREE = ("upstairs bath hot", "downstairs shower hot", "upstairs bath cold")


def test_every_choice_tried_gives_the_same_cost_or_less_but_never_below_the_bound() -> None:
    """Shared runs and three branches free, the others as they are; all are held to the draws."""
    open_house = ranged({**RANGES, **FEW})
    branches = size(open_house, mend=False).sizes
    shared = [run.name for run in open_house.runs]  # not the drop pipe

    def settled(run: object) -> object:
        if run is None or run.name in FREE:
            return run
        return sc.replace(run, size=branches[run.name], sizes=())

    house = sc.replace(
        open_house,
        fixtures=tuple(
            sc.replace(item, cold=settled(item.cold), hot=settled(item.hot))
            for item in open_house.fixtures
        ),
    )
    design, situation = size(house, mend=False), situation_of(house)
    drawn = unit_draws(len(house.ranges), DRAWS, SEED)
    values = values_of(house, house.ranges, drawn)
    base = sizes_of(design, situation)
    links = [situation.tree.names.index(name) for name in (*shared, *FREE)]
    options = [situation.choices[i].allowed for i in links]
    tried: list[tuple[float, float]] = []
    for combination in itertools.product(*options):
        sizes = list(base)
        for link, chosen in zip(links, combination, strict=True):
            sizes[link] = chosen
        cost = sum(line.cost for line in situation.lines) + sum(
            choice.options[sizes[i]].cost
            for i, choice in enumerate(situation.choices)
            if choice is not None
        )
        fits = all(  # none larger than the one that feeds it
            situation.choices[link].options[sizes[link]].size.inside_diameter
            <= situation.choices[above].options[sizes[above]].size.inside_diameter * 1.05
            for link in links
            if (above := situation.tree.feeding_run[link]) and above in links
        )
        if fits:
            tried.append((cost, float(peaks(situation, sizes, values).served.mean())))
    assert len(tried) >= 8
    levels = (0.5, 0.8, 0.95, 0.99)
    for level, sure in zip(levels, sure_sizes(design, levels), strict=True):
        best = min((cost for cost, chance in tried if chance >= level), default=None)
        assert sure.kept == (best is not None)
        if best is not None:
            assert sure.reached >= level
            assert best <= sure.cost * (1 + 1e-9)
            assert sure.cost <= best * 1.02  # what single draws and reserves leave out at most
            assert sure.bound is not None
            assert sure.bound <= sure.cost


def test_more_certainty_never_costs_less() -> None:
    """And reaches what was asked wherever it says so."""
    rows = sure_sizes(size(ranged(RANGES), mend=False))
    costs = [row.cost for row in rows if row.kept]
    assert costs == sorted(costs)
    assert all(row.reached >= row.level for row in rows if row.kept)
    assert [row.level for row in rows] == [0.5, 0.8, 0.95, 0.99]


def test_size_takes_the_sizes_that_are_sure_enough() -> None:
    """Design, certainty and the sentence on the screen speak of the same sizes."""
    design = sc.size(ranged(RANGES), confidence=0.95)
    assert design.sure is not None
    assert design.sure.kept
    assert dict(design.sure.sizes).items() <= design.sizes.items()
    assert design.certainty is not None
    assert design.certainty.pressure == pytest.approx(design.sure.reached)
    assert design.certainty.pressure >= 0.95


def test_what_no_size_reaches_is_told(tmp_path: Path) -> None:
    """The usual sizes stay, and measuring is what helps."""
    file = tmp_path / "ridge.toml"
    text = text_with({'cut_in    = "50 psi"': 'cut_in = "50 ± 4 psi"'})
    file.write_text(text, encoding="utf-8")
    told = CliRunner().invoke(app, ["size", str(file), "--confidence", "95%"])
    assert "No sizes suffice in 95 % of cases" in " ".join(told.stdout.split())
    assert "measure" in told.stdout


@pytest.mark.parametrize(("value", "part"), [("most", "95%"), ("3%", "between"), ("100", "99.9%")])
def test_a_share_that_is_none_is_told(value: str, part: str) -> None:
    """With how to write it."""
    told = CliRunner().invoke(app, ["size", str(RIDGE), "--confidence", value])
    assert told.exit_code == 2
    assert part in told.stderr


def test_a_file_that_is_sure_of_everything_cannot_be_made_surer() -> None:
    """It says what to write."""
    with pytest.raises(sc.InputError, match="asks for ranges"):
        sc.size(sc.load(RIDGE), confidence=0.95)

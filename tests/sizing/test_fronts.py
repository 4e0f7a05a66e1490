"""Small sizing problems whose answer can be seen by eye; the search for it is in `properties`."""

from __future__ import annotations

import itertools
import math
import random

import pytest
from msgspec.structs import replace

from supplycalc.sizing import fronts
from supplycalc.sizing.fronts import cheapest
from supplycalc.sizing.problem import LinkOption, LinkProblem, SizingProblem, solution_of
from tests.sizing import reference


def pipe(
    parent: int,
    *options: tuple[float, float, float],
    required: float = -math.inf,
    group: int = -1,
    exempt: bool = False,
) -> LinkProblem:
    """A run with options (cost, loss, rank) that may feed nothing larger than themselves."""
    return LinkProblem(
        parent=parent,
        options=tuple(
            LinkOption(cost=cost, loss=loss, rank=rank, ceiling=rank)
            for cost, loss, rank in options
        ),
        required=required,
        group=group,
        exempt=exempt,
    )


def device(parent: int, loss: float, limit: float = math.inf) -> LinkProblem:
    """A link of one option without a size."""
    return LinkProblem(
        parent=parent, options=(LinkOption(cost=0.0, loss=loss),), outlet_limit=limit
    )


SMALL, MIDDLE, LARGE = (1.0, 8.0, 1.0), (2.0, 4.0, 2.0), (5.0, 1.0, 3.0)


def test_takes_the_cheapest_that_serves() -> None:
    """With 14 Pa for two runs in series to an outlet at 5 Pa, 9 Pa may be lost: 4 + 4."""
    links = (pipe(-1, SMALL, MIDDLE, LARGE), pipe(0, SMALL, MIDDLE, LARGE, required=5.0))
    solution = cheapest(SizingProblem(links=links, available=14.0))

    assert solution.feasible
    assert solution.choice == (1, 1)
    assert solution.cost == 4.0
    assert solution.needed == 13.0
    assert solution.shortfall == -1.0


def test_never_larger_than_its_feed_even_behind_a_device() -> None:
    """Large before small would cost the same 6 as small before large, but only one is allowed."""
    links = (
        pipe(-1, SMALL, LARGE),
        device(0, 0.0),
        pipe(1, SMALL, LARGE, required=0.0),
    )
    solution = cheapest(SizingProblem(links=links, available=9.0))

    assert solution.choice == (1, 0, 0)


def test_an_exempt_run_may_be_larger_than_its_feed() -> None:
    """A size the user fixed stands, and nothing upstream is enlarged for its sake."""
    links = (pipe(-1, SMALL, LARGE), pipe(0, LARGE, required=0.0, exempt=True))
    solution = cheapest(SizingProblem(links=links, available=9.0))

    assert solution.choice == (0, 0)
    assert solution.oversized == ()


def test_equal_costs_go_to_the_least_pressure() -> None:
    """Costs of 0.1 + 0.2 and 0.3 are the same cost, whatever binary fractions make of them."""
    links = (
        pipe(-1, (0.1, 5.0, 1.0), (0.3, 1.0, 1.0)),
        pipe(0, (0.2, 3.0, 1.0), (0.0, 6.9, 1.0), required=0.0),
    )
    solution = cheapest(SizingProblem(links=links, available=8.0))

    assert solution.choice == (1, 1)
    assert solution.needed == pytest.approx(7.9)


def test_falls_short_least_then_costs_least() -> None:
    """The far outlet can't be served; the near one is sized for the same shortfall, no better."""
    links = (
        pipe(-1, SMALL, LARGE),
        pipe(0, SMALL, LARGE, required=10.0),
        pipe(0, SMALL, MIDDLE, LARGE, required=6.0),
    )
    solution = cheapest(SizingProblem(links=links, available=10.0))

    assert not solution.feasible
    assert solution.shortfall == pytest.approx(2.0)
    assert solution.choice == (1, 1, 1)


def test_a_valve_that_blocks_is_worked_around_as_far_as_may_be() -> None:
    """Behind a valve that leaves 6 Pa an outlet that needs 6 Pa keeps 5 Pa at best."""
    links = (
        pipe(-1, SMALL, LARGE),
        device(0, 0.0, limit=6.0),
        pipe(1, SMALL, MIDDLE, LARGE, required=6.0),
    )
    solution = cheapest(SizingProblem(links=links, available=100.0))

    assert not solution.feasible
    assert solution.shortfall == pytest.approx(1.0)
    assert solution.choice == (1, 0, 2)


def test_a_group_takes_one_size() -> None:
    """One of two branches needs the middle size, so both get it."""
    links = (
        pipe(-1, LARGE),
        pipe(0, SMALL, MIDDLE, required=0.0, group=0),
        pipe(0, SMALL, MIDDLE, required=4.0, group=0),
    )
    solution = cheapest(SizingProblem(links=links, available=10.0))

    assert solution.choice == (0, 1, 1)


def test_sizes_that_cannot_be_reconciled_are_told() -> None:
    """A run that has only a large size, behind one that has only a small one, is reported."""
    links = (pipe(-1, SMALL), pipe(0, LARGE, required=0.0), pipe(1, SMALL, LARGE, required=0.0))
    solution = cheapest(SizingProblem(links=links, available=100.0))

    assert solution.feasible
    assert solution.oversized == (1,)
    assert solution.choice == (0, 0, 0)


def test_a_group_that_the_rule_forbids_is_told() -> None:
    """A group whose links share no option within the rule still gets a design."""
    links = (
        pipe(-1, SMALL),
        pipe(-1, LARGE),
        pipe(0, SMALL, LARGE, group=0, required=0.0),
        pipe(1, LARGE, SMALL, group=0, required=0.0),
        pipe(2, MIDDLE, LARGE, required=0.0, exempt=True),
    )
    bad = replace(links[3], options=(replace(links[3].options[0], rank=9.0), links[3].options[1]))
    solution = cheapest(SizingProblem(links=(*links[:3], bad, links[4]), available=100.0))

    assert solution.feasible
    assert solution.oversized
    assert solution.choice[2] == solution.choice[3]


def test_three_groups_of_seven_sizes(monkeypatch: pytest.MonkeyPatch) -> None:
    """At most 1 + 7 + 49 + 343 problems are solved; the cost is the best of all 343 by HiGHS."""
    rng = random.Random(7)
    links = list(reference.random_tree(rng, 40))
    for number, index in enumerate(rng.sample(range(10, 40), 9)):
        length = rng.uniform(3.0, 60.0)
        options = tuple(
            LinkOption(cost=length * (1 + size**1.5), loss=4e3 * length / (1 + size) ** 3)
            for size in range(7)
        )
        links[index] = replace(links[index], options=options, group=number % 3)
    problem = reference.with_head(tuple(links), 0.2)
    solved = itertools.count()
    real = fronts.least_cost

    def counted(*arguments: object) -> object:
        next(solved)
        return real(*arguments)  # type: ignore[arg-type]

    monkeypatch.setattr(fronts, "least_cost", counted)
    solution = cheapest(problem)

    assert next(solved) <= 400
    assert reference.keeps_rules(problem, solution.choice)
    assert solution.cost == pytest.approx(reference.milp(problem, 0.0), rel=1e-6)


def test_no_links_and_no_outlets() -> None:
    """Nothing to serve is served; without an outlet every run takes its cheapest option."""
    assert cheapest(SizingProblem(links=(), available=1.0)).feasible

    solution = cheapest(SizingProblem(links=(pipe(-1, LARGE, SMALL),), available=-5.0))

    assert solution.feasible
    assert solution.choice == (1,)
    assert solution.needed == -math.inf


def test_evaluate_of_a_given_design() -> None:
    """What a design needs and costs by hand: 5 + 8 + 4 Pa, 1 + 2."""
    links = (pipe(-1, SMALL), pipe(0, MIDDLE, required=5.0))
    told = solution_of(SizingProblem(links=links, available=16.0), (0, 0))

    assert (told.needed, told.cost, told.shortfall, told.feasible) == (17.0, 3.0, 1.0, False)


@pytest.mark.parametrize(
    ("links", "message"),
    [
        ((pipe(0, SMALL),), "parent"),
        ((pipe(-1),), "no option"),
        ((pipe(-1, (-1.0, 0.0, 0.0)),), "cost"),
        ((pipe(-1, (1.0, math.inf, 0.0)),), "loss"),
        ((pipe(-1, SMALL, group=0), pipe(-1, SMALL, LARGE, group=0)), "group"),
    ],
)
def test_refuses_malformed_problems(links: tuple[LinkProblem, ...], message: str) -> None:
    """A tree out of order, or options that can't be added up, are refused at once."""
    with pytest.raises(ValueError, match=message):
        SizingProblem(links=links, available=0.0)

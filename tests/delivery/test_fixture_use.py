"""What is opened, and ratings."""

from __future__ import annotations

import math

import pytest
from msgspec.structs import replace

from supplycalc.delivery.fixture_use import parse_uses, rating
from supplycalc.network import build_tree
from supplycalc.problems import InputError
from tests.houses import GPM, PSI, cold_fixture, two_storey


def test_what_is_open_is_read() -> None:
    """A name, a share, a side; a share and a side together."""
    uses = parse_uses(two_storey(), ["bath", "garden tap@50%", "basin (hot)", "sink (cold)@ 25 %"])

    assert [use.name for use in uses] == ["bath", "garden tap", "basin (hot)", "sink (cold)"]
    assert [use.through for use in uses] == ["both", "cold", "hot", "cold"]
    assert [use.share for use in uses] == [1.0, 0.5, 1.0, 0.25]


def test_a_fixture_whose_name_looks_like_a_share() -> None:
    """The name itself goes before what it could mean."""
    house = two_storey()
    odd = replace(house.fixtures[-1], name="tap@50%")
    uses = parse_uses(replace(house, fixtures=(*house.fixtures[:-1], odd)), ["tap@50%"])

    assert (uses[0].name, uses[0].share) == ("tap@50%", 1.0)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("bsth", "did you mean 'bath'"),
        ("bath@0%", "more than 0"),
        ("bath@150%", "at most 100"),
        ("toilet (hot)", "has no hot side"),
        ("attic (cold)", "there is no fixture 'attic'"),
    ],
)
def test_what_cannot_be_open_is_refused(text: str, message: str) -> None:
    """With the nearest name where there is one."""
    with pytest.raises(InputError, match="(?s)" + message.replace("(", r"\(")):
        parse_uses(two_storey(), [text])


def test_a_fixture_opened_twice_is_refused() -> None:
    """Also when it is once by its name and once by a side."""
    with pytest.raises(InputError, match="opened twice"):
        parse_uses(two_storey(), ["bath", "bath (cold)"])


def test_ratings() -> None:
    """Orifice through the rated point; regulators by IRC Table P2903.2, none at a hose bibb.

    Lavatory 0.8 gpm at 8 psi (IRC Table P2903.1) is 2.19 gpm at 60 psi, and the table of maximum
    flows says 2.2 gpm at 60 psi: the two agree to their rounding.
    """
    tree = build_tree(two_storey())
    basin, tap = (rating(use, tree) for use in parse_uses(two_storey(), ["basin", "garden tap"]))

    assert basin.cap / GPM == pytest.approx(2.2)
    assert basin.coefficient * math.sqrt(60 * PSI) / GPM == pytest.approx(2.2, abs=0.05)
    assert tap.cap == math.inf
    assert tap.coefficient * math.sqrt(8 * PSI) / GPM == pytest.approx(5.0)


def test_a_flow_of_its_own_is_what_a_regulator_holds_unless_there_is_none() -> None:
    """1.5 gpm stays 1.5 gpm at any pressure; with `regulator = "none"` only the orifice counts."""
    house = two_storey()

    def cap(**own: object) -> float:
        fixtures = tuple(
            replace(fixture, **own) if fixture.name == "basin" else fixture
            for fixture in house.fixtures
        )
        changed = replace(house, fixtures=fixtures)
        return rating(parse_uses(changed, ["basin"])[0], build_tree(changed)).cap

    assert cap(flow=1.5 * GPM) / GPM == pytest.approx(1.5)
    assert cap(flow=1.5 * GPM, regulator="none") == math.inf
    assert cap(regulator="none") == math.inf


def test_an_outlet_that_needs_no_pressure_has_no_law() -> None:
    """Nothing says how its flow goes with pressure."""
    house = two_storey()
    tap = replace(house.fixtures[-1], pressure=0.0)
    house = replace(house, fixtures=(*house.fixtures[:-1], tap))
    (use,) = parse_uses(house, ["garden tap"])

    with pytest.raises(InputError, match="needs no pressure"):
        rating(use, build_tree(house))


@pytest.mark.parametrize(("kind", "gpm"), [("dishwasher", 1.3), ("clothes-washer", 3.5)])
def test_a_machine_draws_what_its_own_valves_let_through(kind: str, gpm: float) -> None:
    """By the Peak Water Demand Study, at any pressure from its required one up; own flows count."""
    machine = cold_fixture("machine", kind, "entry")
    house = replace(two_storey(), fixtures=(machine,))
    strong = replace(house, fixtures=(replace(machine, flow=5.0 * GPM),))
    usual, own = (
        rating(parse_uses(each, ["machine"])[0], build_tree(each)) for each in (house, strong)
    )

    assert usual.flow == usual.cap == pytest.approx(gpm * GPM, rel=1e-12)
    assert usual.coefficient * math.sqrt(8.0 * PSI) == pytest.approx(gpm * GPM, rel=1e-9)
    assert own.flow == own.cap == 5.0 * GPM

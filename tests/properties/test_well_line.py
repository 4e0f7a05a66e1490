"""The line before the tank: in pieces or whole, in short or in full, it is the same line."""

from __future__ import annotations

import itertools

from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from supplycalc.model import House
from supplycalc.reading import loads
from supplycalc.reading.writing import write
from supplycalc.sizing.costs import pipe_mass
from supplycalc.sizing.line import size_line
from supplycalc.supply.supply_curve import flow_at_pressure
from supplycalc.supply.well_line import loss_to_tank_with_slope
from tests.houses import FOOT, GPM, PSI, drop_pipe, offset_pipe
from tests.reading.test_well_line import HOUSE, text
from tests.supply.stations import house

SIZES = st.sampled_from(("3/4", "1", "1-1/4", "1-1/2"))
CUTS = st.lists(st.floats(0.05, 0.95), min_size=1, max_size=4, unique=True).map(sorted)


def in_pieces(whole: House, cuts: list[float]) -> House:
    """The line's last run cut at shares of its length; its fittings stand in the first piece."""
    *before, last = whole.line
    ends = [0.0, *cuts, 1.0]
    pieces = []
    for i, (start, end) in enumerate(itertools.pairwise(ends)):
        pieces.append(
            replace(
                last,
                name=f"piece {i}",
                start=last.start if i == 0 else f"cut {i}",
                end=last.end if i == len(cuts) else f"cut {i + 1}",
                length=last.length * (end - start),
                fittings=last.fittings if i == 0 else (),
                group="line",
            )
        )
    return replace(whole, line=(*before, *pieces))


@settings(max_examples=60, deadline=None)
@given(SIZES, st.floats(5.0, 2000.0), CUTS, st.integers(0, 6))
def test_in_pieces_the_pump_gives_the_same(
    size: str, feet: float, cuts: list[float], elbows: int
) -> None:
    """Loss and flow to rounding, for any length, size and cuts."""
    fittings = (("elbow-90", elbows),) if elbows else ()
    whole = house(line=(drop_pipe(), offset_pipe(feet, size=size, fittings=fittings)))
    cut = in_pieces(whole, cuts)
    loss, other = (loss_to_tank_with_slope(each, 8.0 * GPM)[0] for each in (whole, cut))
    flow, again = (flow_at_pressure(each, 40.0 * PSI) for each in (whole, cut))

    assert abs(other - loss) <= 1e-9 * loss
    assert abs(again - flow) <= 1e-9 * flow + 1e-12


@settings(max_examples=25, deadline=None)
@given(st.floats(5.0, 1500.0), CUTS, st.floats(2.0, 15.0))
def test_in_pieces_of_one_group_the_same_sizes_are_chosen(
    feet: float, cuts: list[float], gpm: float
) -> None:
    """At the same cost."""
    whole = house(line=(drop_pipe(), offset_pipe(feet, size=None)))
    sized, chosen = size_line(whole, gpm * GPM, pipe_mass)
    cut, pieces = size_line(in_pieces(whole, cuts), gpm * GPM, pipe_mass)

    assert abs(pieces.cost - chosen.cost) <= 1e-9 * chosen.cost
    assert {run.size for run in cut.every_run[1 : len(cuts) + 2]} == {sized.every_run[1].size}


@settings(max_examples=40, deadline=None)
@given(SIZES, SIZES, st.integers(10, 900), st.integers(5, 3000), st.integers(0, 3))
def test_in_short_and_in_full_word_for_word(
    drop: str, offset: str, deep: int, far: int, valves: int
) -> None:
    """The same house, and so the same figures to the last digit."""
    tube = 'material = "pe-cts-sdr9"'
    short = (
        f'drop_pipe = {{ {tube}, size = "{drop}", length = "{deep} ft", '
        f"check_valves = {valves} }}\n"
        f'offset_pipe = {{ {tube}, size = "{offset}", length = "{far} ft" }}'
    )
    fittings = f"{{ check-valve = {valves} }}" if valves else "{}"
    full = "".join(
        f'[[run]]\nname = "{name}"\nfrom = "{start}"\nto = "{end}"\n{tube}\nsize = "{size}"\n'
        f'length = "{feet} ft"\nfittings = {listed}\n'
        for name, start, end, size, feet, listed in (
            ("drop pipe", "well", "wellhead", drop, deep, fittings),
            ("offset pipe", "wellhead", "source", offset, far, "{}"),
        )
    )
    as_short = loads(text(HOUSE, short=short))
    as_full = loads(text(full, HOUSE))

    assert write(as_short) == write(as_full)
    assert loss_to_tank_with_slope(as_short, 1e-3) == loss_to_tank_with_slope(as_full, 1e-3)
    assert abs(as_short.line[1].length - far * FOOT) < 1e-9  # type: ignore[union-attr]

"""What a file leaves out of its source is told, above all where the guess may be too good."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from supplycalc.findings.assumptions import assumed_in
from supplycalc.model import Device, Loss, Project, Pump, Run, Tank, WaterSource, Well
from supplycalc.network import build_tree
from supplycalc.questions.size.study import size
from tests.houses import FOOT, GPM, PSI, cold_fixture, drop_pipe, offset_pipe, two_storey, well


def told(**source: float) -> list[str]:
    """Assumptions about a main."""
    main = WaterSource(kind="main", **source)  # type: ignore[arg-type]
    design = size(two_storey(source=main), mend=False)
    return [
        assumption.text
        for assumption in design.assumptions
        if assumption.text.startswith("the main")
    ]


@pytest.mark.parametrize(
    ("source", "words"),
    [
        ({"static": 70 * PSI}, ["pressure at rest"]),
        ({"residual": 60 * PSI}, ["highest pressure", "the flow at which it was read"]),
        (
            {"residual": 60 * PSI, "residual_flow": 10 * GPM},
            ["highest pressure", "at more than {0} too"],
        ),
        ({"static": 70 * PSI, "residual": 60 * PSI, "residual_flow": 10 * GPM}, ["1.852"]),
    ],
)
def test_what_a_main_is_taken_to_do(source: dict[str, float], words: list[str]) -> None:
    """A main known by one figure is taken not to fall below it, and the reader is told."""
    texts = told(**source)

    assert len(texts) == len(words)
    for text, word in zip(texts, words, strict=True):
        assert word in text


@pytest.mark.parametrize(
    ("kind", "share", "at"),
    [("softener", 0.4, 20.0), ("cartridge-filter", 0.5, 20.0), ("softener", 0.4, 8.0)],
)
def test_a_bed_known_at_one_flow(kind: str, share: float, at: float) -> None:
    """10 psi at 20 gpm says too little at less by the square alone: a bed loses partly in
    proportion (40 % of a softener's, half of a cartridge's; common practice). Below its one point
    the difference is told, above it the square is on the safe side and nothing is."""
    device = Device(
        name="treatment",
        kind=kind,
        start="hall",
        end="treated",
        loss=Loss(quadratic=10.0 * PSI, reference_flow=at * GPM),
    )
    plain = two_storey()
    house = two_storey(
        devices=(*plain.devices, device),
        fixtures=(*plain.fixtures, cold_fixture("late", "hose-bibb", "treated", 5.0)),
    )
    design = size(house, mend=False)
    result = next(result for result in design.devices if result.device.name == "treatment")
    told = [
        assumption for assumption in design.assumptions if "all the file knows" in assumption.text
    ]

    assert result.design_flow == pytest.approx(5.0 * GPM)
    part = 5.0 / at
    assert result.loss == pytest.approx(10.0 * PSI * part**2)
    assert len(told) == 1
    mixed = 10.0 * PSI * (share * part + (1.0 - share) * part**2)
    assert told[0].values[-1][0] == pytest.approx(mixed)


def test_no_word_where_the_square_is_safe() -> None:
    """Above the given flow, for a curve, and for what has no bed, the square needs no excuse."""
    plain = two_storey()
    heater = replace(plain.devices[0], loss=Loss(quadratic=2.0 * PSI, reference_flow=90.0 * GPM))
    bed = Device(
        name="softener",
        kind="softener",
        start="heater inlet",
        end="soft",
        loss=Loss(quadratic=8.0 * PSI, reference_flow=2.0 * GPM),
    )
    design = size(two_storey(devices=(replace(heater, start="soft"), bed)), mend=False)

    assert not [
        assumption for assumption in design.assumptions if "all the file knows" in assumption.text
    ]


PIPE = offset_pipe(90.0)
CURVE = Pump(curve=((0.0, 300 * FOOT), (20 * GPM, 150 * FOOT)))


@pytest.mark.parametrize(
    ("head", "offset", "at_well", "line", "buried", "words"),
    [
        (-9.0, None, False, 18.0, None, ["no pipe between wellhead and tank"]),
        (-9.0, PIPE, False, 18.0, None, []),
        (0.0, None, False, 18.0, None, []),
        (None, None, False, 18.0, None, []),
        (None, None, True, 18.0, None, []),
        (None, None, True, 4.0, 1.0, []),
        (None, None, True, 4.0, None, ["come to {0}"]),
        (-9.0, None, True, 18.0, None, ["but its gauge stands {0} above it"]),
        (9.0, None, True, 4.0, None, ["but its gauge stands {0} below it", "come to {0}"]),
    ],
)
def test_a_line_from_the_well_that_was_forgotten(
    head: float | None,
    offset: Run | None,
    at_well: bool,
    line: float,
    buried: float | None,
    words: list[str],
) -> None:
    """Heights that differ, or a short bare run from a tank at the wellhead, hint at a line that is
    in no run and in no offset pipe; a file with the line in it gets no word."""
    plain = two_storey()
    source = replace(
        well(),
        pump=CURVE,
        well=Well(static_level=20.0, elevation=head),
        tank=Tank(volume=0.2, at_well=at_well),
    )
    service = replace(plain.runs[0], length=line, buried=buried)
    before = (drop_pipe(90.0),) if offset is None else (drop_pipe(90.0), offset)
    tree = build_tree(two_storey(source=source, runs=(service, *plain.runs[1:]), line=before))
    told = [assumption.text for assumption in assumed_in(tree) if "wellhead" in assumption.text]

    assert len(told) == len(words)
    for text, word in zip(told, words, strict=True):
        assert word in text


@pytest.mark.parametrize(
    ("method", "litres"), [("en806", 0.1), ("din1988", 0.13), ("irc", 3.0 * GPM * 1e3)]
)
def test_outlets_by_the_methods_own_book(method: str, litres: float) -> None:
    """A cistern draws 0.1 l/s by EN 806-3, 0.13 by DIN 1988-300, 3 gpm by the IRC's table."""
    design = size(two_storey(project=Project(name="Own book", demand=method)), mend=False)
    cistern = next(result for result in design.runs if result.run.name == "toilet cold")
    assert cistern.design_flow == pytest.approx(litres * 1e-3)
    assert not [told for told in design.assumptions if "American codes" in told.text]

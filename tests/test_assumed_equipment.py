"""What is taken for granted of a reducing valve and of a main read at another flow is told."""

from __future__ import annotations

from msgspec.structs import replace

from supplycalc.catalogue import OwnDevice, load_catalogue
from supplycalc.model import Device, House, Limits, Loss, Project, WaterSource
from supplycalc.questions.size.study import size
from supplycalc.questions.size.tables import MAIN_AT_FLOW, source_step
from tests.houses import FOOT, GPM, PSI, cold_fixture, pipe


def _house(source: WaterSource, setting: float) -> House:
    valve = Device(
        name="valve",
        kind="pressure-reducing-valve",
        start="entry",
        end="cut",
        setting=setting * PSI,
    )
    return House(
        project=Project(name="main street"),
        source=source,
        limits=Limits(max_static=200 * PSI),
        runs=(pipe("service", "source", "entry", 30.0),),
        devices=(valve,),
        fixtures=(cold_fixture("tap", "hose-bibb", "cut", elevation=3 * FOOT),),
    )


def _told(house: House) -> list[str]:
    return [assumption.said("us") for assumption in size(house).assumptions]


def test_a_valve_without_a_sheet_is_told_by_what_it_lets_through() -> None:
    """The usual fall-off, 10 psi at 18 gpm to the power 0.7, is no loss; a valve that its setting
    does not reach stands open. The catalogue's figures: common practice, no source."""
    main = WaterSource(kind="main", residual=90 * PSI)
    text = next(text for text in _told(_house(main, 55.0)) if text.startswith("valve:"))
    flow = size(_house(main, 55.0)).devices[0].design_flow / GPM
    fall = 10.0 * (flow / 18.0) ** 0.7
    assert f"it lets {55.0 - fall:.1f} psi through, {fall:.1f} psi less than its setting" in text
    text = next(text for text in _told(_house(main, 100.0)) if text.startswith("valve:"))
    assert "wide open, as less than its setting of 100.0 psi arrives, and loses 0.3 psi" in text


def test_a_main_read_at_another_flow_is_told() -> None:
    """The account then starts from a pressure that stands nowhere in the file."""
    main = WaterSource(kind="main", static=70 * PSI, residual=60 * PSI, residual_flow=10 * GPM)
    words = "the main falls from its 70.0 psi at rest, through the 60.0 psi read at 10.0 gpm"
    assert any(words in text for text in _told(_house(main, 50.0)))
    assert source_step(size(_house(main, 50.0))) == MAIN_AT_FLOW
    still = replace(main, residual_flow=None)
    assert not any("1.852" in text for text in _told(_house(still, 50.0)))
    assert source_step(size(_house(still, 50.0))) == "source, the main's residual pressure"


def test_a_device_kind_of_the_file_is_no_assumption() -> None:
    """Its loss is the user's own figure."""
    own = OwnDevice(name="barn-filter", loss=Loss(constant=2 * PSI), source="the sheet")
    house = _house(WaterSource(kind="main", residual=90 * PSI), 55.0)
    filters = tuple(
        Device(name=f"one {kind}", kind=kind, start=start, end=kind)
        for kind, start in (("barn-filter", "entry"), ("uv", "barn-filter"))
    )
    valve = replace(house.devices[0], start="uv")
    catalogue = load_catalogue(own_devices=(own,))
    texts = _told(replace(house, catalogue=catalogue, devices=(*filters, valve)))
    assert not any("one barn-filter" in text for text in texts)
    assert any(text.startswith("one uv: the usual loss") for text in texts)


def test_one_run_without_fittings_is_told_in_the_singular() -> None:
    """Small, but the first thing that a reader of one line of pipe sees."""
    house = _house(WaterSource(kind="main", residual=90 * PSI), 55.0)
    (service,) = house.runs
    bare = replace(house, runs=(replace(service, fittings=None),))
    words = "fittings of the run that lists none: 50% added to its length"
    assert any(text.startswith(words) for text in _told(bare))

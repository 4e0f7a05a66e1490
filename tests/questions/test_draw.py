"""The drawn supply: nothing overlaps, every pipe is joined where it belongs, numbers are size's."""

from __future__ import annotations

import re
from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree

import pytest
from msgspec.structs import replace

import supplycalc
from supplycalc.model import House
from supplycalc.output.drawing import Drawing, Label, Stroke, text_width
from supplycalc.output.svg import to_svg
from supplycalc.questions.draw.lanes import lanes
from supplycalc.questions.draw.outline import outline
from supplycalc.questions.draw.pictures import pictures
from supplycalc.questions.draw.study import SupplyDrawing, supply_drawing
from supplycalc.questions.size.study import size
from supplycalc.units import convert
from tests.houses import cold_fixture, home_run, mixed_fixture, two_storey

SCENARIOS = sorted((Path(__file__).parents[2] / "scenarios").glob("*.toml"))
SVG = "{http://www.w3.org/2000/svg}"
KINDS = ("lavatory", "shower", "kitchen-sink", "tub-shower")


def large(count: int) -> House:
    """A house of many fixtures on two storeys, some with names as long as people write them."""
    fixtures = []
    for number in range(count):
        long = " of the north wing beside the linen cupboard" if number % 7 == 3 else ""
        name = f"fixture {number}{long}"
        height = 3.5 if number % 3 == 0 else 0.8
        if number % 4 == 1:
            kind, start = "water-closet", "entry"
            fixtures.append(cold_fixture(name, kind, start, 12.0, elevation=height))
        else:
            kind = KINDS[number % len(KINDS)]
            fixtures.append(mixed_fixture(name, kind, "hall", "hot hall", 15.0, elevation=height))
    return two_storey(fixtures=tuple(fixtures))


def drawn(house: House) -> SupplyDrawing:
    """A house, sized and put on levels."""
    return supply_drawing(size(house, mend=False))


HOUSES = {path.stem: path for path in SCENARIOS}


@pytest.fixture(scope="module", params=[*HOUSES, "10", "40", "120", "manifold of 24"])
def supply(request: pytest.FixtureRequest) -> SupplyDrawing:
    """Every scenario, three sizes of house, a manifold with many ports."""
    name = request.param
    if name in HOUSES:
        return drawn(supplycalc.load(HOUSES[name]))
    return drawn(home_run(24) if name.startswith("manifold") else large(int(name)))


def text_boxes(svg: str) -> list[tuple[float, float, float, float, str]]:
    """Every text of an SVG: left, top, right, bottom at most, and what it says."""
    boxes = []
    for text in ElementTree.fromstring(svg.encode()).iter(f"{SVG}text"):
        x, y, height = (float(text.attrib[key]) for key in ("x", "y", "font-size"))
        width = text_width(text.text or "", height, bold="font-weight" in text.attrib)
        shift = {"start": 0.0, "middle": 0.5, "end": 1.0}[text.get("text-anchor", "start")]
        left = x - shift * width
        boxes.append((left, y - 0.8 * height, left + width, y + 0.22 * height, text.text or ""))
    return boxes


def all_pictures(supply: SupplyDrawing) -> list[Drawing]:
    """Wide and narrow, in both unit systems."""
    return [
        drawing
        for system in ("us", "metric")
        for phone in (False, True)
        for drawing in pictures(supply, system, phone=phone)
    ]


def test_no_two_texts_touch_and_none_leaves_the_sheet(supply: SupplyDrawing) -> None:
    """Computed from the texts of the SVG, by widths of a wide face."""
    for drawing in all_pictures(supply):
        boxes = text_boxes(to_svg(drawing))
        for a, b in combinations(boxes, 2):
            apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
            assert apart, (a, b)
        for box in boxes:
            assert box[0] >= 0.0, box
            assert box[2] <= drawing.width, box
            assert box[3] <= drawing.height, box


def test_no_pipe_runs_through_a_text(supply: SupplyDrawing) -> None:
    """Lines of the riser diagram stay left of the texts, but for those between levels."""
    for drawing in all_pictures(supply):
        if not drawing.title.startswith("Riser"):
            continue  # on a plan a marker covers what runs behind its number
        boxes = text_boxes(to_svg(drawing))
        for mark in drawing.marks:
            if not isinstance(mark, Stroke):
                continue
            left, right = (end(x for x, _ in mark.points) for end in (min, max))
            top, bottom = (end(y for _, y in mark.points) for end in (min, max))
            for box in boxes:
                through = left < box[2] and box[0] < right and top < box[3] and box[1] < bottom
                flat = left < box[2] and box[0] < right and box[1] < top == bottom < box[3]
                assert not through, (mark, box)
                assert not flat, (mark, box)


def test_no_two_upright_lines_lie_on_one_another(supply: SupplyDrawing) -> None:
    """In one lane, lines touch at most where one goes on from the end of the other."""
    tree = supply.design.tree
    place = {row.index: number for number, row in enumerate(supply.rows)}
    buses = lanes(tree, place)
    for a, b in combinations(buses, 2):
        if buses[a].lane == buses[b].lane:
            low, high = sorted((buses[a], buses[b]), key=lambda bus: (bus.low, bus.high))
            joined = tree.parent[a] == b or tree.parent[b] == a
            assert low.high < high.low or (joined and low.high == high.low), (a, b)


def test_every_link_has_one_row_and_rows_rise_from_the_source(supply: SupplyDrawing) -> None:
    """Nothing is left out; levels stand in order of height."""
    links = [row.index for row in supply.rows if row.index >= 0]
    order = [level.name for level in supply.levels]
    turns = [order.index(row.level) for row in supply.rows]

    assert sorted(links) == list(range(len(supply.design.tree)))
    assert turns == sorted(turns)


def test_the_numbers_are_those_of_size(supply: SupplyDrawing) -> None:
    """What the drawing's JSON says of every fixture, `size` says too."""
    data = supply.to_dict("us")
    rows = {row["name"]: row for row in data["rows"] if row["type"] == "fixture"}
    for outlet in supply.design.outlets:
        row = rows[outlet.name]
        assert row["margin"]["value"] == pytest.approx(convert(outlet.margin, "pressure", "us")[0])
        assert row["worst"] == (outlet is supply.design.worst)
        if row["pressure"] is not None:
            assert row["pressure"]["value"] >= 0.0


def test_the_pressures_shown_are_those_of_the_json(supply: SupplyDrawing) -> None:
    """Each fixture's row in the picture holds its pressure to the shown digit."""
    data = supply.to_dict("us")
    texts = {box[4] for box in text_boxes(to_svg(pictures(supply, "us")[0]))}
    for row in data["rows"]:
        if row["type"] == "fixture" and row["pressure"] is not None:
            assert f"{row['pressure']['value']:.1f} psi" in texts


def test_what_fails_is_marked_in_words() -> None:
    """In black and white, too, a short fixture is seen to be short."""
    supply = drawn(supplycalc.load(HOUSES["tower-loft"]))
    texts = [box[4] for box in text_boxes(to_svg(pictures(supply, "us")[0]))]

    assert sum(text.startswith("SHORT") for text in texts) == 3
    assert any("worst" in text for text in texts)


def test_a_warning_in_a_line_of_several_is_marked_there() -> None:
    """What the words below explain stands on the page, though its fixture has no own line."""
    supply = drawn(supplycalc.load(HOUSES["old-farmhouse"]))
    lines = outline(supply, "us", whole=False)

    assert [line.mark for line in lines if line.mark.endswith("!")] == ["from +3.0 !"]


def test_cold_and_hot_differ_by_their_dashes() -> None:
    """Who sees no colour tells them apart."""
    supply = drawn(supplycalc.load(HOUSES["ridge-cottage"]))
    pipes = [
        mark
        for mark in pictures(supply, "us")[0].marks
        if isinstance(mark, Stroke) and mark.ink in ("cold", "hot") and len(mark.points) == 2
    ]

    assert {bool(pipe.dashes) for pipe in pipes if pipe.ink == "hot"} == {True}
    assert {bool(pipe.dashes) for pipe in pipes if pipe.ink == "cold"} == {False}


def test_names_come_out_as_text() -> None:
    """Markup and formulas in names are letters like others; control characters show."""
    house = two_storey(
        fixtures=(
            cold_fixture('<script>alert("x")</script> & more', "lavatory", "entry"),
            cold_fixture("=HYPERLINK(1)\x1b[31m", "lavatory", "entry"),
        )
    )
    svg = to_svg(pictures(drawn(house), "us")[0])
    tags = {element.tag for element in ElementTree.fromstring(svg.encode()).iter()}

    assert tags <= {
        f"{SVG}{tag}"
        for tag in ["svg", "title", "desc", "rect", "text", "polyline", "polygon", "circle"]
    }
    assert "\x1b" not in svg
    assert not re.search(r"(href|src|url\()", svg)


def test_a_large_drawing_is_cut_between_rows() -> None:
    """No part is taller than asked, and no text is cut in two."""
    drawing = pictures(drawn(large(120)), "us")[0]
    parts = drawing.slices(700.0)

    assert len(parts) > 3
    assert all(bottom - top <= 700.0 for top, bottom in parts)
    assert parts[0][0] == 0.0
    assert parts[-1][1] == drawing.height
    for top, bottom in parts:
        for label in drawing.labels:
            box = label.box
            assert not (box[1] < bottom < box[3]), label
            assert not (box[1] < top < box[3]), label


def test_a_plan_shows_where_things_stand_to_scale() -> None:
    """Distances on the sheet go with those of the file; every place is told in the key."""
    supply = drawn(supplycalc.load(HOUSES["ranch-on-slab"]))
    plan = pictures(supply, "us")[1]
    own = {
        label.text.partition(" ")[2].removesuffix(" (worst)"): label.text.partition(" ")[0]
        for label in plan.labels
        if label.text[0].isdigit() and " " in label.text
    }
    at = {label.text: label.x for label in plan.labels if label.text.isdigit()}
    house = supply.house
    assert house.source.at is not None
    placed = {it.name: it.at for it in house.fixtures if it.at is not None}
    # the garden tap and the main shower stand alone, so that no marker had to give way
    far = at[own["garden tap"]] - at[own["pressure tank"]]
    near = at[own["main shower"]] - at[own["pressure tank"]]

    assert set(placed) <= set(own)
    assert near / far == pytest.approx(
        (placed["main shower"][0] - house.source.at[0])
        / (placed["garden tap"][0] - house.source.at[0]),
        rel=1e-6,
    )


def test_the_line_before_the_tank_is_drawn() -> None:
    """Well, drop pipe and tank stand below each other, in the way of the water."""
    rows = [row.name for row in drawn(supplycalc.load(HOUSES["ridge-cottage"])).rows]

    assert rows[:3] == ["well", "drop pipe", "pressure tank"]


@pytest.mark.parametrize(
    ("house", "way"),
    [
        ("cistern-booster", ["open tank", "pressure tank"]),
        (
            "weak-well-cistern",
            ["well", "drop pipe", "line to the cistern", "open tank", "pressure tank"],
        ),
    ],
)
def test_a_pump_that_draws_from_an_open_tank_stands_in_no_well(house: str, way: list[str]) -> None:
    """The first row is what the water is taken from, named as findings name it."""
    rows = drawn(supplycalc.load(HOUSES[house])).rows

    assert [row.name for row in rows if row.index <= 0] == way
    assert [row.type for row in rows if row.name == "open tank"] == ["well"]


def test_a_jet_pump_stands_above_the_water() -> None:
    """Behind the pipe that it sucks through; its warnings stand beside it, not beside the well."""
    rows = drawn(supplycalc.load(HOUSES["lake-hut"])).rows
    [pump] = [row for row in rows if row.type == "pump"]

    assert [row.name for row in rows[:4]] == ["well", "drop pipe", "pump", "pressure tank"]
    assert rows[0].type == "water"
    assert pump.elevation == pytest.approx(-0.8)
    assert pump.kind == "jet"


def test_the_water_that_a_pump_above_it_draws_is_joined_to_the_tank() -> None:
    """An upright pipe leads from the well past the pump to where the house's own begins."""
    supply = drawn(supplycalc.load(HOUSES["lake-hut"]))
    drawing = pictures(supply, "us")[0]
    at = {label.text: label.y for label in drawing.marks if isinstance(label, Label)}
    upright = [
        sorted(y for _, y in mark.points)
        for mark in drawing.marks
        if isinstance(mark, Stroke) and len({x for x, _ in mark.points}) == 1
    ]

    assert any(
        top <= at["pressure tank"] < at["pump"] < at["well"] <= bottom + 8.0
        for top, *_, bottom in upright
    )


def test_cold_water_comes_to_a_heater() -> None:
    """The tree's broken lines are hot pipe alone."""
    lines = outline(drawn(supplycalc.load(HOUSES["cistern-booster"])), "metric")
    [stem] = [line.stem for line in lines if line.name == "water heater"]

    assert "\N{BOX DRAWINGS LIGHT DOUBLE DASH HORIZONTAL}" not in stem


def test_an_open_tank_up_the_slope_is_no_pressure_tank() -> None:
    """It bears the name by which findings call it."""
    rows = drawn(supplycalc.load(HOUSES["hill-tank"])).rows

    assert [row.name for row in rows if row.type == "source"] == ["open tank"]


def test_a_level_does_not_reach_down_to_the_pump_in_the_well() -> None:
    """Heights of a storey are those of what the house has there."""
    house = replace(supplycalc.load(HOUSES["two-houses-and-a-barn"]), storeys=())
    [riser, *_] = pictures(drawn(house), "us")
    words = " ".join(label.text for label in riser.labels)

    assert "Ground floor, heights 0 ft to 6 ft" in words


def test_the_only_upper_floor_bears_no_number() -> None:
    """A tank far above the house is no second one."""
    levels = [level.name for level in drawn(supplycalc.load(HOUSES["hill-tank"])).levels]

    assert levels == ["below ground floor", "ground floor", "upper floor", "higher up"]


def test_the_section_of_a_line_shows_its_pressures() -> None:
    """Every point of the profile with the pressures that `size` tells; a ridge is no storey."""
    supply = drawn(supplycalc.load(HOUSES["ridge-line"]))
    section = pictures(supply, "us")[-1]
    words = " ".join(label.text for label in section.labels)
    [profile] = supply.design.profiles

    assert section.title == "Section along ridge line"
    assert "crest" in words
    for point in profile.points:
        assert point.flowing is not None
        assert f"{point.flowing / 6894.757:.1f} psi flowing" in section.description
    assert {level.name for level in supply.levels} == {"below ground floor", "ground floor"}


def test_on_a_phone_a_name_uses_the_room_that_its_own_figures_leave() -> None:
    """No outlet's margin stands beside a line's name, which then need not be broken."""
    supply = drawn(supplycalc.load(HOUSES["two-houses-and-a-barn"]))
    said = [
        mark.text for mark in pictures(supply, "us", phone=True)[0].marks if isinstance(mark, Label)
    ]

    assert "line to the upper house" in said

"""Records say what they are: JSON, schema, tables and notebook pages from their types alone."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import ClassVar

import jsonschema
import pytest
from msgspec import Struct

from supplycalc.records import Column, Form, Table, fields_to_data, table_of, to_data
from supplycalc.records.notebook import to_html
from supplycalc.records.schema import QUANTITY, _of
from supplycalc.units import DIMENSIONS, UnitSystem, quantities
from supplycalc.units.quantities import Flow, HeatFlow, Length, Of, Pressure

PSI = 6894.757293168361


class Tap(Struct, frozen=True, kw_only=True):
    """Invented."""

    name: str
    flow: Flow
    pressure: Pressure | None = None


class Supply(Struct, frozen=True, kw_only=True):
    """Invented."""

    form: ClassVar[Form] = Form(
        omit=("inner", "nearest"),
        rename={"start": "from", "nearest.flow": "nearest_flow"},
        add=("twice", "said", "nearest.flow", "nearest.pressure"),
    )

    start: str
    inner: int
    nearest: Tap
    taps: tuple[Tap, ...]
    curve: tuple[tuple[Flow, Pressure], ...]
    heat: HeatFlow
    by_name: Mapping[str, Length]
    share: float

    @property
    def twice(self) -> Flow:
        """[m3/s]"""
        return 2.0 * self.taps[0].flow

    def said(self, system: UnitSystem) -> str:
        """In words."""
        return f"in {system}"


SUPPLY = Supply(
    start="source",
    inner=3,
    nearest=Tap(name="sink", flow=2e-3 / 60, pressure=2000.0),
    taps=(Tap(name="<b>", flow=1e-3 / 60, pressure=PSI), Tap(name="dry", flow=math.inf)),
    curve=((1e-3 / 60, 1000.0),),
    heat=1000.0,
    by_name={"a": 1.0},
    share=math.nan,
)


def test_every_quantity_says_its_unit() -> None:
    """Nested, optional, in tuples and mappings, from a record within; not finite is null."""
    assert to_data(SUPPLY, "metric") == {
        "from": "source",
        "taps": [
            {
                "name": "<b>",
                "flow": {"value": 1.0, "unit": "L/min"},
                "pressure": {"value": 6.8947572931684, "unit": "kPa"},
            },
            {"name": "dry", "flow": None, "pressure": None},
        ],
        "curve": [[{"value": 1.0, "unit": "L/min"}, {"value": 1.0, "unit": "kPa"}]],
        "heat": {"value": 1.0, "unit": "kW"},
        "by_name": {"a": {"value": 1.0, "unit": "m"}},
        "share": None,
        "twice": {"value": 2.0, "unit": "L/min"},
        "said": "in metric",
        "nearest_flow": {"value": 2.0, "unit": "L/min"},
        "pressure": {"value": 2.0, "unit": "kPa"},
    }


def test_some_quantities_keep_their_unit_everywhere() -> None:
    """Heat is told in kW to an American too."""
    assert fields_to_data(SUPPLY, "us")["heat"] == {"value": 1.0, "unit": "kW"}


def test_the_schema_follows_the_types() -> None:
    """JSON Schema's own validator accepts the data, and refuses a bare number for a quantity."""
    schema = {**_of(Supply), "$defs": {"quantity": QUANTITY}}
    data = to_data(SUPPLY, "us")

    jsonschema.validate(data, schema)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(data | {"twice": 2.0}, schema)


def test_a_table_takes_its_dimensions_from_the_records() -> None:
    """A column names a field; unit and digits follow, even where there is no row."""
    columns = (Column(name="tap", of="name"), Column(name="flow", of="flow"))
    table = table_of("Taps", Tap, SUPPLY.taps[:1], columns)

    assert [column.unit("us") for column in table.columns] == ["", "gpm"]
    assert table.rows == (("<b>", 1e-3 / 60),)
    assert table_of("None", Tap, (), columns).columns[1].unit("metric") == "L/min"


def test_a_notebook_shows_fields_and_lists_escaped() -> None:
    """Text from a file never becomes markup."""
    page = to_html(SUPPLY, "metric")

    assert "&lt;b&gt;" in page
    assert "<b>" not in page
    assert "2.0 L/min" in page


def test_every_dimension_has_a_type() -> None:
    """And every type a dimension that exists."""
    types = [getattr(kind, "__metadata__", ()) for kind in vars(quantities).values()]
    measured = {of.dimension for metadata in types for of in metadata if isinstance(of, Of)}

    assert measured == set(DIMENSIONS)


def test_lengths_of_a_column_end_at_the_same_decimal() -> None:
    """63 beside 52.5 is 63.0; a column of whole feet stays as written, and so does text."""
    columns = (
        Column(name="runs", dimension="length"),
        Column(name="left", dimension="length"),
        Column(name="holds", dimension="volume"),
    )
    rows = ((60 * 0.3048, 63 * 0.3048, 1.0), (50 * 0.3048, 52.5 * 0.3048, 0.0171), (None, "-", ""))
    table = Table(title="Pipe", columns=columns, rows=rows)

    assert table.texts("us") == [["60", "63.0", "264"], ["50", "52.5", "4.5"], ["", "-", ""]]


def test_heads_of_a_column_are_all_whole_where_some_are() -> None:
    """39 beside 27.2 is 27; small ones alone keep their tenth."""
    columns = (Column(name="friction", dimension="head"), Column(name="falls", dimension="head"))
    rows = ((39.0 * 0.3048, 12.2 * 0.3048), (27.2 * 0.3048, 10.0 * 0.3048))

    assert Table(title="Pump", columns=columns, rows=rows).texts("us") == [
        ["39", "12.2"],
        ["27", "10.0"],
    ]

"""What a record says of itself: JSON, schema, tables and notebook pages from its fields' types."""

from supplycalc.records.data import Form, Result, fields_to_data, quantity, to_data, to_json
from supplycalc.records.table import Cell, Column, Table, table_of

__all__ = [
    "Cell",
    "Column",
    "Form",
    "Result",
    "Table",
    "fields_to_data",
    "quantity",
    "table_of",
    "to_data",
    "to_json",
]

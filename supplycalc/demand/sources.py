"""Where each demand method's figures come from."""

from __future__ import annotations

from supplycalc.tables import Citation, cite, load_table

TABLES: dict[str, tuple[str, str]] = {
    "irc": ("demand_irc", "fixture_units"),
    "ipc": ("demand_ipc", "fixture_units"),
    "upc": ("demand_upc", "fixture_units"),
    "peak-demand-study": ("demand_probability", "fixtures"),
    "en806": ("demand_en806", "loading_units"),
    "din1988": ("demand_din1988", "residential"),
    "exact": ("demand_probability", "fixtures"),
}
"""Method -> (data file, table) that names it best."""


def method_source(method: str) -> Citation | None:
    """The source of a demand method.

    Args:
        method: its name.

    Returns:
        The citation of its main table; None for a method without a table.
    """
    if method not in TABLES:
        return None
    file, table = TABLES[method]
    return cite(load_table(file)[table])

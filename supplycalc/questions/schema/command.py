"""`supplycalc schema`: the JSON Schema of the file."""

from __future__ import annotations

from supplycalc.output.destination import Destination
from supplycalc.output.options import Force, Json, Output, UnitsPublished


def command(
    as_json: Json = True,
    units: UnitsPublished = None,
    output: Output = None,
    force: Force = False,
) -> int:
    """Print the JSON Schema of the supply file, for editors.

    Examples:
      supplycalc schema
      supplycalc schema -o supplycalc.schema.json

    An editor that knows JSON Schema for TOML then completes and checks your file,
    where the file's first line is
      #:schema ./supplycalc.schema.json
    """
    del as_json, units  # it is JSON in any case, and units are examples
    destination = Destination(as_json=True, path=output, force=force)
    destination.check()

    from supplycalc.output.machine import to_json
    from supplycalc.reading import schema

    destination.write(to_json(schema()))
    return 0

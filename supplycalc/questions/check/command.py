"""`supplycalc check`: is the file right?"""

from __future__ import annotations

from supplycalc.output.destination import Destination
from supplycalc.output.options import File, Force, Json, Output, UnitsOption, read_house, system_of


def command(
    file: File,
    as_json: Json = False,
    units: UnitsOption = None,
    output: Output = None,
    force: Force = False,
) -> int:
    """Read the file and show the supply as a tree, with everything assumed.

    Examples:
      supplycalc check house.toml
      supplycalc check house.toml --units metric

    Every mistake is told at once, each with its line, what was expected and the
    nearest right word. Nothing is sized yet.

    Exit status: 0 the file is right, 2 it is not.
    """
    destination = Destination(as_json=as_json, path=output, force=force)
    destination.check()
    house = read_house(file)

    from supplycalc.findings.assumptions import assumed_in
    from supplycalc.network import build_tree
    from supplycalc.questions.check.page import supply_page, supply_to_dict

    system = system_of(house, units)
    tree = build_tree(house)
    assumptions = assumed_in(tree)
    destination.send(
        page=lambda page: supply_page(page, tree, assumptions, str(file), system),
        data=lambda: supply_to_dict(tree, assumptions, system),
        system=system,
    )
    return 0

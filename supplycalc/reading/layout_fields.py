"""The keys of the building for `layout`; `fields` puts them in their place."""

from __future__ import annotations

from supplycalc.reading.keys import Key, Section, quantity

_NAME = "What messages and tables call it."


def _corner(name: str, what: str, example: str) -> Key:
    return Key(
        name=name, kind="position", dimension="elevation", example=example, required=True, help=what
    )


LAYOUT = Section(
    name="layout", many=False, help="Wishes for `supplycalc layout`.",
    keys=(
        Key(
            name="from", kind="text", example='"treated"',
            help="The point where distribution in the house begins.",
            default="the last point that feeds the heater and all mixed fixtures",
        ),
        quantity(
            "grid", "length", "2 ft", "Distance between the manifold places that are tried.",
            positive=True, default="2 ft or 0.5 m, wider where that makes very many",
        ),
        quantity(
            "height", "length", "4 ft", "Height of a manifold above its floor.",
            default="4 ft or 1.2 m",
        ),
        Key(
            name="port_valves", kind="flag", example="false", default="true",
            help="Whether each port of a manifold has a valve.",
        ),
        Key(
            name="spare_ports", kind="count", example="2", default="2", most=50,
            help="Ports to leave free on each manifold.",
        ),
        Key(
            name="submanifolds", kind="count", example="3", default="3", least=2, most=6,
            help="Most submanifolds to try.",
        ),
    ),
)  # fmt: skip
STOREY = Section(
    name="storey", many=True, help="A floor, and the level at which its pipes run.",
    keys=(
        Key(name="name", kind="text", example='"ground floor"', required=True, help=_NAME),
        quantity(
            "floor", "elevation", "0 ft", "Finished floor above the datum.", required=True
        ),
        quantity(
            "pipes_at", "elevation", "-6 in",
            "Level at which pipes run from place to place: under the floor, above a ceiling.",
            default="the floor",
        ),
        Key(
            name="in_slab", kind="flag", example="true", default="false",
            help="Whether that level lies in or under a slab.",
        ),
        Key(
            name="manifolds", kind="flag", example="false", default="true",
            help="Whether a manifold may stand on this floor.",
        ),
    ),
)  # fmt: skip
WALL = Section(
    name="wall", many=True, help="A line along which a manifold may stand.",
    keys=(
        Key(name="name", kind="text", example='"utility wall"', required=True, help=_NAME),
        _corner("start", "Where it begins; the third number is its floor.",
                '["10 ft", "0 ft", "0 ft"]'),
        _corner("end", "Where it ends.", '["10 ft", "12 ft", "0 ft"]'),
    ),
)  # fmt: skip
ZONE = Section(
    name="zone", many=True, help="A box through which no pipe may go.",
    keys=(
        Key(name="name", kind="text", example='"stair well"', required=True, help=_NAME),
        _corner("corner", "One corner of the box.", '["18 ft", "4 ft", "-1 ft"]'),
        _corner("opposite", "The corner across from it.", '["22 ft", "12 ft", "9 ft"]'),
    ),
)  # fmt: skip

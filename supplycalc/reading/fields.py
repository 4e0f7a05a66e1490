"""The one declaration of every section and key of the input file.

The check, the JSON Schema and the writing of a house as a file all come from it.
"""

from __future__ import annotations

from msgspec.structs import replace

from supplycalc.catalogue import OwnTube
from supplycalc.model import (
    Defaults,
    Device,
    Draw,
    Fixture,
    GaugeReading,
    Layout,
    Limits,
    Manifold,
    Point,
    Project,
    Pump,
    Run,
    ServedHousehold,
    Storey,
    Tank,
    Water,
    WaterSource,
    Well,
)
from supplycalc.reading.keys import Key, Section, flag_key, keys_of, quantity_key
from supplycalc.tables import DEMAND_METHODS
from supplycalc.units import WISHED

_AT = Key(
    name="at", kind="position", dimension="elevation", example='["12 ft", "8 ft", "0 ft"]',
    help="Position: east, north, up, along the building's axes; stands in for lengths and heights.",
)  # fmt: skip
_FROM = Key(
    name="from", kind="text", example='"entry"', required=True,
    help="The point it starts from: the source, the water in the well (well), the end of another "
    "run or device, or a manifold.",
)  # fmt: skip
_TO = Key(
    name="to", kind="name", example='"entry"', required=True,
    help="The point where it ends; each point is fed once. A line from a well to an open tank ends "
    "at tank inlet.",
)  # fmt: skip
_MATERIAL = Key(
    name="material", kind="word", among="tubes", example='"pex-sdr9"',
    help="Family of the tube.", default="the material of [defaults]",
)  # fmt: skip
_JOINED_HELP = "Way of joining, which decides what fittings lose."
_CALLED = "What messages and tables call it."


def _name(what: str, example: str) -> Key:
    return Key(name="name", kind="name", example=f'"{example}"', help=what, required=True)


def _corner(name: str, what: str, example: str) -> Key:
    return Key(
        name=name, kind="position", dimension="elevation", example=example, required=True, help=what
    )


_PIPE = keys_of(
    Run,
    _MATERIAL,
    quantity_key(
        "length", "52 ft", "Developed length: along the pipe, not as the crow flies.",
        positive=True, default="measured between the positions of both ends",
    ),
    Key(
        name="joined", kind="word", among="joinings", example='"expansion"', help=_JOINED_HELP,
        default="joining of [defaults]",
    ),
    Key(
        name="size", kind="size", example='"3/4"',
        help='Nominal size, if it is settled already; "?" of pipe that is there and not measured.',
    ),
    Key(
        name="sizes", kind="sizes", example='["3/4", "1"]',
        default="up to 1-1/4 inch in the house, 1-1/2 from the source and in the ground, any size "
        "beyond 200 ft; more where velocity asks for it",
        help="Nominal sizes to choose from.",
    ),
    Key(name="minimum", kind="size", example='"1/2"', help="Smallest nominal size allowed."),
    flag_key(
        "existing",
        "Whether it lies there already: it keeps its size and is not bought; where its size is not "
        "known, leave size out, or give those it may have as sizes.",
    ),
    Key(
        name="fittings", kind="fittings", example="{ elbow-90 = 3, ball-valve = 1 }",
        help="How many fittings of which kind.",
        default="none counted: a share of the length stands in for them",
    ),
    quantity_key("fitting_allowance", "20 %", "Share of the length that stands in for fittings."),
    Key(name="group", kind="text", example='"bath"', help="Runs of one group share one size."),
    quantity_key("buried", "42 in", "Depth of cover, if it lies in the ground."),
    flag_key("embedded", "Whether it lies in or under a slab."),
    Key(
        name="joints", kind="count", example="0", default="0", most=1000,
        help="Joints inside the part under the slab.",
    ),
    quantity_key("roughness", "0.15 mm", "Of the inside wall, for old pipe."),
    flag_key("insulated", "Whether the pipe is insulated."),
    Key(
        name="profile", kind="profile",
        example='[["0 ft", "-6 ft"], ["220 ft", "14 ft"], ["300 ft", "2 ft"]]',
        help="How high it lies on its way: distance along the pipe, and height above the datum.",
        default="straight from end to end",
    ),
    flag_key("split", "Whether its size may change at the points of its profile."),
    Key(
        name="classes", kind="names", example='["pe-sidr19", "pe-sidr15", "pe-sidr9"]',
        help="Families of one kind of tube and of rising rating: the run, or each piece of it, is "
        "laid in the first that bears what may stand in it.",
    ),
    Key(
        name="route", kind="text", example='"ridge line"',
        help="What the line is called that this is a piece of; pieces are told of together.",
    ),
    flag_key(
        "circulated",
        "Whether a hot pipe is kept hot to its end by a circulation line or a heating cable.",
    ),
)  # fmt: skip
_BRANCH = (_FROM, *_PIPE)

PROJECT = Section(
    name="project", many=False, help="The job as a whole.",
    keys=keys_of(
        Project,
        Key(name="name", kind="text", example='"Ridge cottage"', help="What the job is called."),
        Key(
            name="units", kind="word", words=("us", "metric"), example='"us"', default="us",
            help="Units that tables show.",
        ),
        Key(
            name="flow_unit", kind="word", words=tuple(WISHED["flow"]), example='"l/s"',
            default="that of units", help="Unit that flows are shown in; --units overrides it.",
        ),
        Key(
            name="pressure_unit", kind="word", words=tuple(WISHED["pressure"]), example='"hPa"',
            default="that of units", help="Unit that pressures are shown in; --units overrides it.",
        ),
        Key(
            name="demand", kind="word", words=tuple(DEMAND_METHODS), example='"irc"', default="irc",
            help="Demand method; `supplycalc sources` lists them.",
        ),
        Key(
            name="friction", kind="word", words=("darcy", "hazen-williams"), example='"darcy"',
            default="darcy", help="Friction formula.",
        ),
        Key(
            name="listed", kind="names", example='["upstairs bath", "kitchen sink"]',
            help='Fixtures that run at once, for demand = "listed".',
        ),
        quantity_key(
            "length_allowance", "10 %", "Added to lengths measured from positions.", default="10 %",
            most=2.0,
        ),
        quantity_key(
            "percentile", "99 %", "How sure, for demand methods by probability.", default="99 %",
            least=0.5, most=0.99999,
        ),
        Key(
            name="use", kind="word", words=("private", "public"), example='"public"',
            default='"private"',
            help="Who uses the fixtures: a household, or guests and the public, for a code's rows.",
        ),
        Key(
            name="people", kind="count", example="4", least=1, most=1000,
            help="How many live in the house, for the day's water.", default="4",
        ),
    ),
)  # fmt: skip
_TANK = keys_of(
    Tank,
    Key(
        name="name", kind="name", example='"pressure tank"', help="What the tank is called.",
        default="pressure tank",
    ),
    Key(
        name="at", kind="text", example='"tank tee"', default="where the runs start",
        help="The point where the tank stands; the house hangs from it.",
    ),
    quantity_key("elevation", "-6 ft", "Height of its gauge above the datum."),
    quantity_key("volume", "44 gal", "Whole volume of the tank.", positive=True),
    quantity_key("precharge", "38 psi", "Air pressure with no water in the tank."),
    quantity_key("max_pressure", "100 psi", "Highest pressure the tank is rated for."),
    quantity_key(
        "relief", "75 psi", "Pressure at which the relief valve at the tank opens.", positive=True,
    ),
    Key(
        name="at_well", kind="flag", example="true",
        help="Whether the tank stands at the wellhead; the line to the house is then a run.",
    ),
)  # fmt: skip
TANK = Section(
    name="tank", many=True, help="A tank at a point of the tree; of several the first from the "
    "source on is that at the switch.",
    keys=(
        Key(
            name="kind", kind="word", words=("pressure", "open"), example='"pressure"',
            default="pressure",
            help="Kind of tank: under pressure; an open one that feeds the house is the source.",
        ),
        *(replace(key, required=key.name in ("name", "at")) for key in _TANK),
    ),
)  # fmt: skip
_PUMP = keys_of(
    Pump,
    Key(
        name="kind", kind="word", words=("submersible", "jet", "constant-pressure"),
        example='"submersible"', default="submersible", help="Kind of pump.",
    ),
    Key(
        name="curve", kind="curve", dimension="head",
        example='[["0 gpm", "310 ft"], ["5 gpm", "290 ft"], ["10 gpm", "235 ft"]]',
        help="Flow and head, as the pump's sheet gives them, flow rising.",
    ),
    quantity_key("motor_power", "0.5 hp", "Rated power of the motor.", positive=True),
    quantity_key("efficiency", "45 %", "From the wire to the water.", positive=True, most=1.0),
    quantity_key("measured_flow", "5 gal in 28 s", "A bucket test at the tank.", positive=True),
    quantity_key("measured_pressure", "45 psi", "Gauge pressure while the bucket test ran."),
    quantity_key("measured_uncertainty", "10 %", "How sure the bucket test is.", most=1.0),
    quantity_key(
        "set_pressure", "55 psi", "Pressure a constant-pressure pump holds.", positive=True,
    ),
    quantity_key(
        "elevation", "-4 ft", "Height of a pump that stands above the water.",
        default="the height of the tank's gauge",
    ),
    quantity_key(
        "npsh_required", "8 ft",
        "Head that the inlet of a pump above the water needs (NPSHr), by its sheet.",
    ),
    Key(
        name="from", kind="text", example='"pump inlet"',
        help="The point that a pump above the water draws from.", default="it hangs in the water",
    ),
    Key(
        name="to", kind="name", example='"pump outlet"',
        help="The point that such a pump pushes to.",
    ),
)  # fmt: skip
_DROP_PIPE = (
    Key(
        name="material", kind="word", among="tubes", example='"pe-cts-sdr9"', required=True,
        help="Family of the tube.",
    ),
    Key(name="size", kind="size", example='"1"', required=True, help="Nominal size."),
    quantity_key(
        "length", "160 ft", "Along the pipe, fittings counted in as length.", dimension="length",
        required=True, positive=True,
    ),
    Key(
        name="check_valves", kind="count", example="1", default="0", most=20,
        help="Swing check valves in it, besides the pump's own.",
    ),
)  # fmt: skip
_WELL = keys_of(
    Well,
    quantity_key("static_level", "62 ft", "Depth of the water below the wellhead, pump at rest."),
    quantity_key(
        "specific_capacity", "1.2 gpm/ft", "Flow per length of drawdown, from the driller's test.",
        positive=True,
    ),
    quantity_key("recovery", "4 gpm", "Flow the well sustains.", positive=True),
    quantity_key(
        "pump_depth", "160 ft", "Depth of the pump; of the ejector, for a deep-well jet pump.",
        positive=True, default="for a jet pump: it stands above the water and sucks",
    ),
    quantity_key("diameter", "6 in", "Inside diameter of the casing.", positive=True),
    quantity_key("depth", "200 ft", "Depth of the hole, from the driller's log.", positive=True),
    quantity_key(
        "elevation", "-20 ft", "Height of the wellhead above the datum.",
        default="the height of the tank's gauge",
    ),
    Key(
        name="drop_pipe", kind="table", keys=_DROP_PIPE,
        help="In short for a run from well: the pipe from pump to wellhead; the suction pipe of a "
        "pump above the water.",
        example='{ material = "pe-cts-sdr9", size = "1", length = "160 ft" }',
    ),
    Key(
        name="offset_pipe", kind="table", keys=_DROP_PIPE,
        help="In short for a run from the wellhead to a tank that stands in the house, or to an "
        "open one.",
        example='{ material = "pe-cts-sdr9", size = "1-1/4", length = "180 ft" }',
    ),
    Key(
        name="name", kind="name", example='"old well"', default='"well"',
        help="What the well is called, where there are several.",
    ),
)  # fmt: skip
SOURCE_SECTION = Section(
    name="source", many=False, required=True, help="Where the water comes from.",
    keys=keys_of(
        WaterSource,
        Key(
            name="kind", kind="word", words=("well", "main", "tank", "spring"), example='"well"',
            required=True,
            help="A private well, a street main, or an open tank or spring above the house.",
        ),
        quantity_key("elevation", "-6 ft", "Height of the gauge above the datum.", default="0"),
        quantity_key(
            "altitude", "1200 ft", "Height of the site above the sea, for the air.", default="0",
        ),
        _AT,
        quantity_key("cut_in", "40 psi", "Pressure at which the pump starts (well)."),
        quantity_key("cut_out", "60 psi", "Pressure at which the pump stops (well)."),
        quantity_key("static", "62 psi", "Pressure with nothing running (main)."),
        quantity_key("residual", "54 psi", "Pressure while water runs (main)."),
        quantity_key(
            "residual_flow", "10 gpm", "Flow at which `residual` was read.", positive=True,
        ),
        quantity_key(
            "lowest_level", "62 ft",
            "Height above the datum of the water when the tank or spring box is all but empty.",
        ),
        quantity_key(
            "highest_level", "68 ft", "The same when it is full.", default="the lowest level",
        ),
        quantity_key(
            "inflow", "3 gpm", "What comes to the tank, or what the spring yields when it is dry.",
            positive=True,
        ),
        quantity_key("volume", "1500 gal", "Held between the two levels.", positive=True),
        Key(
            name="tank", kind="table", keys=_TANK, help="The pressure tank.",
            example='{ volume = "44 gal", precharge = "38 psi" }',
        ),
        Key(
            name="pump", kind="table", keys=_PUMP, help="The pump.",
            example='{ measured_flow = "5 gal in 28 s", measured_pressure = "45 psi" }',
        ),
        Key(
            name="well_pump", kind="table",
            keys=tuple(key for key in _PUMP if key.name != "set_pressure"),
            help="The pump of the well that fills an open tank; [source.pump] is then the second "
            "pump, which draws from the tank.",
            example='{ curve = [["0 gpm", "220 ft"], ["4 gpm", "180 ft"]] }',
        ),
        quantity_key(
            "float_on", "-3 ft",
            "Level of the open tank at which its float switch starts the well's pump; it stops at "
            "highest_level.",
        ),
        Key(
            name="well", kind="table", keys=_WELL, help="The well; levels are depths.",
            example='{ static_level = "62 ft", pump_depth = "160 ft" }',
        ),
    ),
)  # fmt: skip
WELL = Section(
    name="well", many=True,
    help="A further well that feeds the same tank as [source.well], with its pump; runs of its "
    "line start from its name.",
    keys=(
        *(replace(key, required=key.name == "name") for key in _WELL),
        Key(
            name="pump", kind="table",
            keys=tuple(key for key in _PUMP if key.name not in ("from", "to", "elevation")),
            help="Its pump, which hangs in it.", example='{ curve = [["0 gpm", "220 ft"], '
            '["4 gpm", "180 ft"]] }',
            required=True,
        ),
        Key(
            name="joins", kind="text", example='"well tee"', default="the tank",
            help="The point of the first well's line where its own drop_pipe or offset_pipe ends; "
            "of runs their end tells it.",
        ),
    ),
)  # fmt: skip
WATER = Section(
    name="water", many=False, help="Water temperatures.",
    keys=keys_of(
        Water,
        quantity_key("cold", "50 degF", "Of the cold water.", default="50 degF"),
        quantity_key("hot", "120 degF", "Of the hot water.", default="120 degF"),
    ),
)  # fmt: skip
LIMITS = Section(
    name="limits", many=False, help="Limits of your own; each has a sourced default.",
    keys=keys_of(
        Limits,
        quantity_key("max_static", "80 psi", "Highest pressure anywhere.", positive=True),
        quantity_key("velocity_cold", "8 ft/s", "Highest in cold runs.", positive=True),
        quantity_key("velocity_hot", "5 ft/s", "Highest in hot runs.", positive=True),
        Key(
            name="service_minimum", kind="size", example='"3/4"',
            help="Smallest nominal size of a buried service run.",
        ),
        quantity_key("max_hot", "120 degF", "Hottest water at an outlet."),
        quantity_key("frost_depth", "42 in", "Depth that frost reaches, from your office."),
        quantity_key(
            "reserve", "3 psi",
            "Pressure to keep to spare at every fixture, where sizes reach it; 0 psi takes the "
            "least pipe that works.", default="5 psi",
        ),
        flag_key("larger_than_feed", "Whether a run may be larger than the run that feeds it."),
        flag_key(
            "larger_branches",
            "Whether a fixture's branch may be more than one size above its connection.",
        ),
        Key(
            name="short", kind="rarely", example='"10 min a year"',
            help="How long any fixture may have less than it needs in daily use, in minutes a year "
            'or as "1 in 100 draws": size then finds the cheapest sizes for it beside the code\'s.',
        ),
    ),
)  # fmt: skip
DEFAULTS = Section(
    name="defaults", many=False, help="What runs take that do not say otherwise.",
    keys=keys_of(
        Defaults,
        Key(
            name="material", kind="word", among="tubes", example='"pex-sdr9"',
            help="Family of the tube.",
        ),
        Key(
            name="joining", old_name="fittings", kind="word", among="joinings", example='"crimp"',
            help="How the default material is joined, for fitting losses.",
        ),
        quantity_key(
            "fitting_allowance", "20 %", "Share of the length added where no fittings are listed.",
        ),
        Key(
            name="sizes", kind="sizes", example='["1/2", "3/4", "1"]',
            default="every size of the material, within what is laid for houses",
            help="Nominal sizes that the shop has; runs but for branches may have each of them.",
        ),
        flag_key("same_size_hot_and_cold", "Whether hot and cold of one fixture have one size."),
    ),
)  # fmt: skip
POINT = Section(
    name="point", many=True, help="Height or position of a point where runs meet.",
    keys=keys_of(
        Point,
        Key(name="name", kind="text", example='"entry"', help="The point.", required=True),
        quantity_key("elevation", "2 ft", "Height above the datum."),
        _AT,
    ),
)  # fmt: skip
RUN = Section(
    name="run", many=True, help="One pipe of one size from a point to a point.",
    keys=(_name("What the run is called.", "service"), _FROM, _TO, *_PIPE),
)  # fmt: skip
_LOSS = Key(
    name="loss", kind="loss", example='"12 psi at 7 gpm"', default="the usual one of its kind",
    help='What it loses: "12 psi at 7 gpm", "5 psi" at any flow, "Cv 8" or "Kv 6.9".',
)  # fmt: skip
_LOSS_CURVE = Key(
    name="curve", kind="curve", dimension="pressure",
    example='[["0 gpm", "0 psi"], ["5 gpm", "6 psi"], ["10 gpm", "20 psi"]]',
    help="Flow and loss, flow rising.",
)  # fmt: skip
DEVICE = Section(
    name="device", many=True, help="Anything with a loss that is not pipe.",
    keys=keys_of(
        Device,
        _name("What the device is called.", "softener"),
        Key(
            name="kind", kind="word", among="devices", example='"softener"', required=True,
            help="Kind of device; beyond a heater everything is hot.",
        ),
        _FROM, _TO, _LOSS, _LOSS_CURVE,
        quantity_key("elevation", "0 ft", "Height of its outlet above the datum."),
        _AT,
        quantity_key(
            "setting", "50 psi", "Outlet pressure a pressure-reducing valve is set to.",
            positive=True,
        ),
        Key(
            name="falloff", kind="falloff", example='"10 psi at 12 gpm"',
            help="How far that valve's outlet falls below its setting at a flow.",
        ),
        quantity_key("volume", "50 gal", "Water that a tank heater holds.", positive=True),
    ),
)  # fmt: skip
MANIFOLD = Section(
    name="manifold", many=True, help="A header with ports; runs start from its name.",
    keys=keys_of(
        Manifold,
        _name("What the manifold is called.", "cold manifold"), _FROM,
        Key(name="ports", kind="count", example="12", least=1, most=200, help="Number of outlets."),
        quantity_key("elevation", "4 ft", "Height above the datum."),
        _AT,
    ),
)  # fmt: skip
_OWN_RUN = '{ from = "cold manifold", length = "52 ft" }'
FIXTURE = Section(
    name="fixture", many=True, help="An outlet or an appliance, and what feeds it.",
    keys=keys_of(
        Fixture,
        _name("What the fixture is called.", "upstairs bath"),
        Key(
            name="kind", kind="word", among="fixtures", example='"tub-shower"', required=True,
            help="Kind of fixture, as the demand tables name it.",
        ),
        quantity_key(
            "elevation", "11 ft", "Height of the outlet above the datum.",
            default="from its position",
        ),
        _AT,
        Key(name="cold", kind="table", keys=_BRANCH, example=_OWN_RUN, help="Its own cold run."),
        Key(
            name="hot", kind="table", keys=_BRANCH, help="Its own hot run.",
            example='{ from = "hot header", length = "48 ft" }',
        ),
        flag_key("planned", "Not there yet, but counted for what gets buried."),
        flag_key("arrestor", "Whether a water hammer arrestor stands at each connection."),
        Key(
            name="valve", kind="word", words=("plain", "pressure-balanced", "thermostatic"),
            example='"pressure-balanced"', help="Kind of mixing valve.",
            default="the usual one of its kind",
        ),
        quantity_key("flow", "2.5 gpm", "Its flow, instead of the table's.", positive=True),
        Key(
            name="regulator", kind="word", words=("usual", "none"), example='"none"',
            help="Whether a shower or faucet holds its flow at high pressure; a flow of its own is "
            "then what it holds.",
            default="usual",
        ),
        quantity_key("pressure", "20 psi", "Pressure it needs, instead of the table's."),
        quantity_key(
            "continuous", "5 gpm",
            "A flow that may run for hours, on top of what the fixture draws else.", positive=True,
        ),
        quantity_key("use_temperature", "105 degF", "ReadingToTake mixed temperature."),
        Key(
            name="household", kind="text", example='"upper house"',
            help="Whose it is, by the name of a [[household]].", default="everybody's",
        ),
        Key(
            name="use", kind="word", words=("private", "public"), example='"public"',
            help="Who uses it, where not those of the project.", default="the project's",
        ),
        Key(
            name="room", kind="text", example='"bath up"',
            help="The room it stands in: one room's fixtures count as a group where the demand "
            "method has groups.",
            default="read from the pipes, where one run feeds one room",
        ),
    ),
)  # fmt: skip
HOUSEHOLD = Section(
    name="household", many=True,
    help="One of several houses, or a barn, on one source; each fixture says whose it is.",
    keys=keys_of(
        ServedHousehold,
        _name("What fixtures call it.", "upper house"),
        Key(
            name="people", kind="count", example="3", least=0, most=1000, required=True,
            help="How many live there; 0 in a barn.",
        ),
        Key(
            name="use", kind="word", words=("private", "public"), example='"public"',
            help="Who uses its fixtures, for a code's rows.", default="the project's",
        ),
    ),
)  # fmt: skip
DRAW = Section(
    name="draw", many=True, help="Water drawn at set times, for `supplycalc day`.",
    keys=keys_of(
        Draw,
        Key(
            name="fixture", kind="text", example='"upstairs bath"', required=True,
            help="The fixture that is opened.",
        ),
        Key(
            name="at", kind="times", example='["6:30", "21:15"]', required=True,
            help="Times of day at which it is opened.",
        ),
        quantity_key("duration", "8 min", "How long it stays open.", positive=True),
        quantity_key(
            "volume", "30 gal", "What it draws before it shuts, instead of a duration.",
            positive=True,
        ),
        quantity_key(
            "share", "50 %", "How far it is opened.", default="100 %", positive=True, most=1.0,
        ),
        Key(
            name="side", kind="word", words=("cold", "hot", "both"), example='"hot"',
            help="Which water is drawn.", default="every side that the fixture has",
        ),
    ),
)  # fmt: skip
READING = Section(
    name="reading", many=True,
    help="What a gauge, or bucket and watch, showed in the house that is there, for `supplycalc "
    "gauge`.",
    keys=keys_of(
        GaugeReading,
        Key(
            name="at", kind="text", example='"garden tap"', required=True,
            help="Where: a fixture, one side of it (bath (hot)), a point where runs meet, or "
            "source, the gauge at the tank or the meter.",
        ),
        Key(
            name="open", kind="names", example='["upstairs bath", "kitchen sink (cold)"]',
            help='What ran meanwhile, as `flow --open` takes it.', default="nothing: it stood",
        ),
        quantity_key("pressure", "38 psi", "What the gauge showed."),
        quantity_key(
            "flow", "5 gal in 28 s", "What ran into a bucket out of that fixture.", positive=True,
        ),
        quantity_key(
            "source_pressure", "46 psi", "What the gauge at the source showed at that moment.",
        ),
        Key(
            name="when", kind="word",
            words=("cut-in", "cut-out", "pump alone", "lowest level", "highest level"),
            example='"cut-in"',
            help="How the source stood, where its gauge was not read: as the pump starts or stops, "
            "pump alone once that gauge holds still while water runs, or the open tank's level.",
            default="anywhere between",
        ),
        quantity_key("fell", "4 psi", "How far the pressure fell by itself, nothing running."),
        quantity_key("fell_in", "20 min", "In which time.", positive=True),
        quantity_key(
            "accuracy", "1 psi", "Of the gauge, more or less.", positive=True, default="2 psi",
        ),
        quantity_key(
            "flow_accuracy", "10 %", "Of bucket and watch, more or less.", positive=True, most=1.0,
            default="5 %",
        ),
    ),
)  # fmt: skip
LAYOUT = Section(
    name="layout", many=False, help="Wishes for `supplycalc layout`.",
    keys=keys_of(
        Layout,
        Key(
            name="from", kind="text", example='"treated"',
            help="The point where distribution in the house begins.",
            default="the last point that feeds the heater and all mixed fixtures",
        ),
        quantity_key(
            "grid", "2 ft", "Distance between the manifold places that are tried.", positive=True,
            default="2 ft or 0.5 m, wider where that makes very many",
        ),
        quantity_key(
            "height", "4 ft", "Height of a manifold above its floor.", default="4 ft or 1.2 m",
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
    keys=keys_of(
        Storey,
        Key(name="name", kind="text", example='"ground floor"', required=True, help=_CALLED),
        quantity_key("floor", "0 ft", "Finished floor above the datum.", required=True),
        quantity_key(
            "pipes_at", "-6 in",
            "Level at which pipes run from place to place: under the floor, above a ceiling.",
            default="the floor",
        ),
        flag_key("in_slab", "Whether that level lies in or under a slab."),
        Key(
            name="manifolds", kind="flag", example="false", default="true",
            help="Whether a manifold may stand on this floor.",
        ),
    ),
)  # fmt: skip
WALL = Section(
    name="wall", many=True, help="A line along which a manifold may stand.",
    keys=(
        Key(name="name", kind="text", example='"utility wall"', required=True, help=_CALLED),
        _corner("start", "Where it begins; the third number is its floor.",
                '["10 ft", "0 ft", "0 ft"]'),
        _corner("end", "Where it ends.", '["10 ft", "12 ft", "0 ft"]'),
    ),
)  # fmt: skip
ZONE = Section(
    name="zone", many=True, help="A box through which no pipe may go.",
    keys=(
        Key(name="name", kind="text", example='"stair well"', required=True, help=_CALLED),
        _corner("corner", "One corner of the box.", '["18 ft", "4 ft", "-1 ft"]'),
        _corner("opposite", "The corner across from it.", '["22 ft", "12 ft", "9 ft"]'),
    ),
)  # fmt: skip
_SOURCE_NOTE = Key(
    name="source", kind="text", example='"maker\'s sheet, 2024"', help="Where the figures are from."
)
TUBE = Section(
    name="tube", many=True, help="A tube family of your own.",
    keys=keys_of(
        OwnTube,
        _name("What runs call it.", "old-lead"),
        Key(
            name="sizes", kind="tube-sizes", required=True,
            example='[["1/2", "0.840 in", "0.622 in"], ["3/4", "1.050 in", "0.824 in"]]',
            help="Nominal size, outside and inside diameter, small to large.",
        ),
        quantity_key("roughness", "0.0015 mm", "Of the inside wall.", required=True),
        Key(
            name="hazen_williams_c", kind="number", example="140", default="140", least=20,
            most=200, help="Coefficient C of the Hazen-Williams formula.",
        ),
        quantity_key("pressure_rating", "160 psi", "At the water's temperature."),
        quantity_key("max_velocity_cold", "8 ft/s", "Highest, cold.", positive=True),
        quantity_key("max_velocity_hot", "5 ft/s", "Highest, hot.", positive=True),
        flag_key("hot", "Whether it may carry hot water."),
        quantity_key("density", "940 kg/m3", "Of its material.", default="1000 kg/m3"),
        Key(
            name="joining", old_name="fittings", kind="word", among="joinings",
            example='"insert"', default="none", help=_JOINED_HELP,
        ),
        _SOURCE_NOTE,
    ),
)  # fmt: skip
FITTING = Section(
    name="fitting", many=True, help="A fitting of your own.",
    keys=(
        _name("What runs call it.", "swing-elbow"),
        Key(
            name="k", kind="number", example="1.2", required=True, least=0, most=10000,
            help="Loss coefficient K by the velocity in the run's tube.",
        ),
        Key(
            name="joined", kind="word", among="joinings", example='"threaded"', help=_JOINED_HELP,
            default="every way of joining",
        ),
        _SOURCE_NOTE,
    ),
)  # fmt: skip
DEVICE_KIND = Section(
    name="device_kind", many=True, help="A device kind of your own.",
    keys=(_name("What devices call it.", "barn-filter"), _LOSS, _LOSS_CURVE, _SOURCE_NOTE),
)  # fmt: skip

SECTIONS: tuple[Section, ...] = (
    PROJECT, SOURCE_SECTION, TANK, WELL, WATER, LIMITS, DEFAULTS, POINT, RUN, DEVICE, MANIFOLD,
    HOUSEHOLD, FIXTURE, DRAW, READING, LAYOUT, STOREY, WALL, ZONE, TUBE, FITTING, DEVICE_KIND,
)  # fmt: skip
"""In the order in which a file is best written."""

"""Houses on wells: those that work as thousands stand, weak wells, low switches, wrong settings.

Sources of the judgements, where there is one: switch settings and precharge, Water Systems Council
(switch 30/50 commonest, 40/60 for two storeys, precharge 2 psi below cut-in); a gallon a minute per
outlet, The Driller and Water Systems Council; a well's day in two hours from yield and bore,
Groundwater Project, Domestic Wells, box 1; head of a pump, National Driller; a drop pipe of 330 ft
and 50 psi bears 192.9 psi, a published well pipe selection.
"""

from __future__ import annotations

from tests.verdicts.judged import House
from tests.verdicts.writing import (
    ONE_AND_A_HALF_HP,
    SMALL_PUMP,
    curve,
    inside,
    line,
    one_bath,
    project,
    two_baths,
    well,
)

STRONG = f"curve = {curve(ONE_AND_A_HALF_HP)}"
WEAK = f"curve = {curve(SMALL_PUMP)}"
INCH_OR_MORE = 'sizes = ["3/4", "1", "1-1/4", "1-1/2"]'
ONE_STOREY = inside(one_bath())
TWO_BATHS = inside(two_baths())
TWO_STOREYS = inside(two_baths(9.0))
PLAIN_BATH = inside(one_bath(), more={"bath": 'valve = "plain"'})

ORDINARY = (
    House(
        name="cabin with a three quarter horsepower pump",
        text=project("cabin") + well() + line(60, INCH_OR_MORE) + ONE_STOREY,
        why="One bath, six outlets: by the trade's gallon a minute for each outlet 6 gpm, and the "
        "pump gives about 10 at cut-in (60 ft of lift and 92 ft for 40 psi are 152 ft; its sheet "
        "says 10 gpm at 190 ft, 12 at 145). The code's peak of some 14 gpm is more than that: a "
        "word of warning, no failure. 40 psi less 4 for the height and 10 for pipe and heater "
        "leaves more than the 20 of the bath.",
        answer="works",
        findings=("pump-cannot-hold",),
        none_of=("pressure-short", "switch-above-pump", "rating-exceeded", "relief-valve"),
        sizes={"service": ("1", "1-1/4"), "basin cold": ("3/8", "1/2")},
        exits={"well": 0, "parts": 0, "slab": 0},
    ),
    House(
        name="two baths on one floor",
        text=project("ranch") + well() + line(100, INCH_OR_MORE) + TWO_BATHS,
        why="Ten outlets, and the pump gives 10 to 11 gpm at cut-in: enough by the count of "
        "outlets, short of a code's 17 to 18 gpm. At 1-1/4 inch that flow loses 7 psi in 100 ft "
        "(Hazen-Williams, C 150), height takes 4, the house 6 to 8: 20 are kept.",
        answer="works",
        findings=("pump-cannot-hold",),
        none_of=("pressure-short",),
        sizes={"service": ("1", "1-1/4", "1-1/2")},
    ),
    House(
        name="two storeys with the pump for it",
        text=project("farmhouse")
        + well(50, 70, pump=STRONG, tank="260 gal", relief=90)
        + line(80, INCH_OR_MORE)
        + TWO_STOREYS,
        why="50/70 and a pump of some 25 gpm at cut-in: the whole code's peak of 18 gpm is held. "
        "50 less 8 for the upstairs, 6 for the service and 9 in the house is above 20.",
        answer="works",
        none_of=("pump-cannot-hold", "pressure-short", "short-cycling", "switch-above-pump"),
        sizes={"service": ("1-1/4", "1-1/2")},
        exits={"well": 0},
    ),
    House(
        name="constant pressure of 60",
        text=project("drive")
        + well(
            55,
            60,
            tank="20 gal",
            precharge=42,
            relief=90,
            pump=f'kind = "constant-pressure"\nset_pressure = "60 psi"\n{STRONG}',
        )
        + line(80, INCH_OR_MORE)
        + TWO_STOREYS,
        why="A drive that holds 60 psi while it can: 60 is what the house gets, not the 55 at "
        "which it wakes. The curve holds the peak at 60 with 199 ft and friction at 20 gpm and "
        "more. Its small tank does not make a pump with a drive cycle.",
        answer="works",
        none_of=("pump-cannot-hold", "pressure-short", "short-cycling"),
        says=(r"60(\.0)? psi",),
        silent=(r"switch to \d", r"switch \d"),
        exits={"well": 0},
    ),
    House(
        name="what really runs at once",
        text=project("listed", "listed", listed='["second shower", "sink"]')
        + well()
        + line(100, INCH_OR_MORE)
        + TWO_BATHS,
        why="The owner lists a shower and the kitchen tap: 4 to 5 gpm. Any well house carries "
        "that, and the pump gives twice as much.",
        answer="works",
        none_of=("pump-cannot-hold", "pressure-short"),
        sizes={"service": ("3/4", "1")},
        exits={"well": 0},
    ),
    House(
        name="thirty fifty beside the tank",
        text=project("cottage")
        + well(30, 50, gauge=0)
        + line(15, INCH_OR_MORE, more="")
        + PLAIN_BATH,
        why="The commonest switch, tank in the house, one floor, a bath with a plain two-handle "
        "valve that asks for 8 psi; the closet asks for 20 at 1 ft. 30 less 1 or 2 for height and "
        "5 to 6 for pipe: enough. 1-1/4 inch leaves 4.7 psi; the file permits 1-1/2, which keeps "
        "5.",
        answer="works",
        none_of=("pressure-short", "tank-place", "pressure-thin"),
        sizes={"service": ("1-1/4", "1-1/2"), "cold main": ("3/4", "1", "1-1/4")},
        says=(r"3\.0 69\.\d service at 1-1/4",),
        exits={"well": 0},
    ),
    House(
        name="three gallons a minute",
        text=project("slow", people="3")
        + well(more='recovery = "3 gpm"')
        + line(60, INCH_OR_MORE)
        + ONE_STOREY,
        why="3 gpm is 360 gal in two hours, and 100 ft of 6 inch bore hold 147 more (1.47 gal/ft, "
        "MIL-HDBK-1164): 507 for the 300 gal of three people. It keeps up (rule of Groundwater "
        "Project, box 1); what more it wants at once is storage. Neither a larger nor a smaller "
        "pump is an answer to a well of 3 gpm.",
        answer="works",
        none_of=("pressure-short", "yield-short"),
        silent=(r"(?<!not a )larger pump", r"smaller pump"),
        exits={"well": 0},
    ),
)

CAMP = tuple((f"shower {i}", "shower", 4.0, 20.0 + i, "ch") for i in range(1, 13))
"""Showers of a camp."""

WEAK_WELLS = (
    House(
        name="a camp whose showers all run after the hike",
        text=project("camp", use='"public"')
        + well(50, 70, pump=STRONG, tank="220 gal", relief=90)
        + line(100)
        + inside(CAMP),
        why="The well trade counts a home's uses, which seldom meet. Twelve showers of a camp run "
        "together for half an hour: 30 gpm by the public rows where the pump gives some 20, and "
        "a tank of 220 gal holds 60. No rule for homes excuses that pump.",
        answer="fails",
        findings=("pump-cannot-hold",),
        silent=(r"allowances for a home's uses", r"count of \d+ outlets"),
    ),
    House(
        name="half a gallon a minute",
        text=project("drip", people="4")
        + well(more='recovery = "0.5 gpm"')
        + line(60, INCH_OR_MORE)
        + ONE_STOREY,
        why="0.5 gpm is 60 gal in two hours and the bore holds 147 more: about half of the 400 gal "
        "that four people ask (Groundwater Project, box 1). Over the day it gives 720, so storage "
        "mends it and no pump does. Whoever says that the house works must say that in the first "
        "sentences.",
        answer="works",
        none_of=("pressure-short",),
        says=(r"well sustains|stor(age|ed)",),
        silent=(r"(?<!not a )larger pump", r"smaller pump"),
        exits={"well": 0},
    ),
    House(
        name="a fifth of a gallon a minute",
        text=project("dry", people="4")
        + well(more='recovery = "0.2 gpm"')
        + line(60, INCH_OR_MORE)
        + ONE_STOREY,
        why="0.2 gpm are 288 gal in a whole day, and four people ask 400: no tank mends that, and "
        "no authority takes such a well (Maryland asks 1 gpm for six hours, New York 5). The house "
        "has not enough water: to call it one that works is wrong, whatever its pipe.",
        answer="fails",
        none_of=("pressure-short",),
        findings=("yield-short",),
        says=(r"well: gives 288 gal in a day; 4 people need 400 gal",),
        silent=(r"(?<!not a )larger pump", r"smaller pump"),
        exits={"well": 1},
    ),
    House(
        name="a pump for a tap",
        text=project("tap") + well(pump=WEAK) + line(60, INCH_OR_MORE) + ONE_STOREY,
        why="At 40 psi and 60 ft of lift (152 ft) the sheet says 4.3 gpm, 4 with friction. Six "
        "outlets ask for 6 by the count, the garden tap alone for 5: the pump is too small, "
        "whatever the pipe. The pipe is sized at cut-in all the same.",
        answer="fails",
        findings=("pump-cannot-hold",),
        none_of=("pressure-short",),
        sizes={"service": ("1", "1-1/4")},
        says=(r"pump",),
        exits={"well": 1},
    ),
    House(
        name="a switch beyond the pump",
        text=project("switch") + well(60, 80, relief=100, pump=WEAK) + line(60) + ONE_STOREY,
        why="Shut off, 215 ft less 60 ft are 67 psi: the pump never reaches 80, runs on and burns "
        "out.",
        answer="fails",
        findings=("switch-above-pump",),
        exits={"well": 1},
    ),
    House(
        name="water too deep for the pump",
        text=project("deep water")
        + well(level=170, depth=250, pump=WEAK)
        + line(60, INCH_OR_MORE)
        + ONE_STOREY,
        why="215 ft shut off less 170 ft of lift are 19 psi: it never reaches the cut-in of 40. "
        "Nothing comes at the pressure that the switch promises.",
        answer="fails",
        says=(r"pump[^.]* never reaches|pump[^.]*gives nothing",),
        exits={"well": 1},
    ),
    House(
        name="bucket test of a small pump",
        text=project("bucket")
        + well(pump='measured_flow = "5 gal in 40 s"\nmeasured_pressure = "35 psi"', level=80)
        + line(60, INCH_OR_MORE)
        + ONE_STOREY,
        why="7.5 gpm at 35 psi, so less at 40, by how much nobody knows: more than the 6 of the "
        "count of outlets and less than the code's 14. Told, not failed, and never a division by "
        "zero.",
        answer="works",
        none_of=("pressure-short", "pump-oversized"),
        says=(r"pump",),
    ),
)

SETTINGS = (
    House(
        name="twenty forty upstairs",
        text=project("low", "listed", listed='["second shower", "sink"]')
        + well(20, 40)
        + line(60, INCH_OR_MORE)
        + TWO_STOREYS,
        why="20 psi at a gauge 19 ft below the shower upstairs leave 12 (0.433 psi/ft) before any "
        "pipe; its balanced valve asks for 20 (IRC P2903.1). No pipe mends that, 40/60 does: "
        "the setting that the trade takes for two storeys. With 30/50 nothing would be to spare. "
        "Nobody lays 1-1/2 inch for 5 gpm. "
        "Which fixture is worst depends on the branches of the schedule that 40/60 allows.",
        answer="fails",
        findings=("pressure-short",),
        says=(r"(40|50)(\.0)? psi / (60|70)(\.0)? psi|40/60|50/70",),
        sizes={"service": ("3/4", "1", "1-1/4")},
    ),
    House(
        name="forty sixty upstairs",
        text=project("mended", "listed", listed='["second shower", "sink"]')
        + well(40, 60)
        + line(60, INCH_OR_MORE)
        + TWO_STOREYS,
        why="The same house with its switch at 40/60: 40 less 8 for height leaves 32, and 12 are "
        "enough for pipe and heater at 4 to 5 gpm.",
        answer="works",
        none_of=("pressure-short", "pump-cannot-hold"),
    ),
    House(
        name="thirty fifty with the code's bath upstairs",
        text=project("upstairs") + well(30, 50) + line(100, INCH_OR_MORE) + TWO_STOREYS,
        why="30 less 8 for the height is 22: 2 psi for 100 ft of service, heater, main and branch "
        "at 18 gpm. A higher switch, not a larger pipe.",
        answer="fails",
        worst=(
            "second shower",
            "second toilet",
        ),
        findings=("pressure-short",),
        says=(r"(40|50)(\.0)? psi / (60|70)(\.0)? psi|40/60|50/70",),
    ),
    House(
        name="a tank like a bucket",
        text=project("cycling") + well(tank="4 gal") + line(60, INCH_OR_MORE) + ONE_STOREY,
        why="4 gal give back 1 between 60 and 40 (0.258 of the volume): at 10 gpm that is 6 s of "
        "running where a minute is asked. It works, and the pump will not last.",
        answer="works",
        findings=("short-cycling",),
    ),
    House(
        name="precharge above cut-in",
        text=project("air") + well(precharge=50) + line(60, INCH_OR_MORE) + ONE_STOREY,
        why="50 psi of air against a cut-in of 40: the tank is empty 10 psi before the pump wakes "
        "(rule: 2 psi below cut-in, Water Systems Council).",
        answer="works",
        findings=("precharge",),
    ),
    House(
        name="relief valve below cut-out",
        text=project("spill") + well(relief=55) + line(60, INCH_OR_MORE) + ONE_STOREY,
        why="The valve opens at 55 and the switch wants 60: the pump never stops and the well is "
        "pumped onto the floor. A failure, and no remedy may stand above the valve.",
        answer="fails",
        findings=("relief-valve",),
        exits={"well": 1},
    ),
    House(
        name="drop pipe too weak",
        text=project("deep")
        + well(
            30,
            50,
            gauge=0,
            level=330,
            depth=420,
            relief=65,
            pump="curve = " + curve(((0, 700), (5, 640), (8, 560), (10, 480), (12, 380))),
            drop_pipe='{ material = "pe-sidr15", size = "1-1/4", length = "420 ft" }',
        )
        + line(30, INCH_OR_MORE)
        + PLAIN_BATH,
        why="330 ft of lift and 50 psi at the tank are 192.9 psi at the water in the well "
        "(published example: take 200 psi pipe). This pipe is made for 100.",
        answer="fails",
        findings=("rating-exceeded",),
        exits={"well": 1},
    ),
    House(
        name="service pipe of 80 psi on a well without relief",
        text=project("bursts")
        + well(relief=None)
        + line(100, 'sizes = ["1", "1-1/4", "1-1/2"]', material="pe-sidr19")
        + ONE_STOREY,
        why="A switch that sticks lets the pump go to its shut-off: 290 ft less 60 ft are 99 psi, "
        "and no relief valve stands between. The pipe is made for 80, and a service pipe must be "
        "of 160 at least (IRC P2906.4 and IPC 605.3, service pipe).",
        answer="fails",
        findings=("service-rating",),
    ),
)

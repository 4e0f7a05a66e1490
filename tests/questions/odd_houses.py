"""Odd invented houses: weak wells, low switches, jet pumps, long lines, tall ones, other books."""

from __future__ import annotations

from tests.verdicts.metric import flat, metric_house, metric_main, metric_well
from tests.verdicts.writing import (
    ONE_AND_A_HALF_HP,
    SMALL_PUMP,
    THREE_QUARTER_HP,
    curve,
    device,
    inside,
    line,
    main,
    one_bath,
    project,
    two_baths,
    well,
)

SMALL, STRONG = f"curve = {curve(SMALL_PUMP)}", f"curve = {curve(ONE_AND_A_HALF_HP)}"
JET = f'kind = "jet"\ncurve = {curve(((0, 150), (4, 130), (8, 100), (12, 55)))}'
SUCTION = '{ material = "pe-sidr7", size = "1-1/4", length = "30 ft" }'
INCH = 'sizes = ["3/4", "1", "1-1/4", "1-1/2"]'
ONE, TWO, UP = inside(one_bath()), inside(two_baths()), inside(two_baths(9.0))
HELD = f'kind = "constant-pressure"\nset_pressure = "60 psi"\n{STRONG}'
WEAK_HELD = (
    f'kind = "constant-pressure"\nset_pressure = "50 psi"\ncurve = {curve(THREE_QUARTER_HP)}'
)
OLD = "existing = true"


def drive(cut_in: float, held: float, pump: str, level: float | None = 60, more: str = "") -> str:
    """A well with a constant-pressure pump and its small tank."""
    return well(
        cut_in,
        held,
        tank="20 gal",
        precharge=0.7 * held,
        relief=held + 30,
        pump=pump,
        level=level,
        more=more,
    )


def reduced(setting: float) -> str:
    """A reducing valve where the line enters the house."""
    return device(
        "reducer", "pressure-reducing-valve", "entry", "reduced", "", f'setting = "{setting} psi"'
    )


ODD: dict[str, str] = {
    "a third of a gallon": project("third", people="2")
    + well(more='recovery = "0.3 gpm"')
    + line(60, INCH)
    + ONE,
    "a gallon and four people": project("gallon", people="4")
    + well(more='recovery = "1 gpm"')
    + line(60, INCH)
    + TWO,
    "a tenth of a gallon, nobody counted": project("tenth")
    + well(more='recovery = "0.1 gpm"')
    + line(60, INCH)
    + ONE,
    "two gallons behind a strong pump": project("outrun", people="3")
    + well(pump=STRONG, more='recovery = "2 gpm"')
    + line(80, INCH)
    + UP,
    "twenty forty": project("low") + well(20, 40) + line(60, INCH) + UP,
    "twenty five forty five": project("low two") + well(25, 45) + line(60, INCH) + TWO,
    "thirty fifty up a floor": project("low three") + well(30, 50) + line(150, INCH) + UP,
    "a tiny tank": project("tiny") + well(tank="5 gal") + line(60, INCH) + TWO,
    "held at sixty": project("held") + drive(55, 60, HELD) + line(80, INCH) + UP,
    "held at fifty by a small pump": project("held low")
    + drive(45, 50, WEAK_HELD)
    + line(120, INCH)
    + UP,
    "held without a level": project("held blind")
    + drive(55, 60, HELD, level=None)
    + line(80, INCH)
    + TWO,
    "held in a weak well": project("held dry", people="4")
    + drive(55, 60, HELD, more='recovery = "0.2 gpm"')
    + line(80, INCH)
    + TWO,
    "jet pump": project("jet")
    + well(30, 50, gauge=0, pump=JET, level=12, depth=20, drop_pipe=SUCTION)
    + line(15, INCH, more="")
    + ONE,
    "jet pump too deep": project("jet deep")
    + well(30, 50, gauge=0, pump=JET, level=32, depth=40, drop_pipe=SUCTION).replace(
        'pump_depth = "40 ft"\n', ""
    )
    + line(15, INCH, more="")
    + ONE,
    "small pump in the house": project("small") + well(pump=SMALL) + line(40, INCH) + TWO,
    "four hundred feet": project("far")
    + well(50, 70, at_well=True, pump=STRONG, tank="260 gal", relief=90)
    + line(400, "")
    + TWO,
    "eight hundred feet": project("very far")
    + well(40, 60, at_well=True, pump=STRONG, tank="260 gal")
    + line(800, "")
    + TWO,
    "where is the tank": project("where") + well(pump=STRONG) + line(350, INCH) + ONE,
    "three storeys": project("tall")
    + well(40, 60, gauge=-8, pump=STRONG, tank="220 gal")
    + line(40, INCH)
    + inside(two_baths(30.0)),
    "four storeys on a main": project("taller")
    + main(62, 55)
    + line(40, INCH)
    + inside(two_baths(40.0)),
    "uniform code on a main": project("uniform", "upc") + main(58, 52) + line(70, INCH) + TWO,
    "uniform code on a well": project("uniform well", "upc") + well() + line(70, INCH) + UP,
    "plumbing code for guests": project("guests", "ipc", use='"public"')
    + main(70, 60, 30)
    + line(60, "")
    + TWO,
    "probability": project("chance", "peak-demand-study") + well() + line(100, INCH) + TWO,
    "German on a main": metric_house("Haus", metric_main(4.0, 3.5), flat(2.8)),
    "German under the roof": metric_house("Dach", metric_main(2.6, 2.3), flat(9.0)),
    "German too strong": metric_house("Druck", metric_main(7.0, 6.5), flat(2.8)),
    "European on a borehole": metric_house(
        "Hus", metric_well(), flat(2.8), demand="en806", service=40
    ),
    "European on a low switch": metric_house(
        "Lav", metric_well(1.2, 2.4), flat(5.6), demand="en806", service=40
    ),
    "reducing valve at forty": project("reduced low")
    + main(95, 90)
    + line(80, INCH)
    + reduced(40)
    + inside(two_baths(9.0), feed="reduced"),
    "reducing valve at sixty": project("reduced")
    + main(95, 90)
    + line(80, INCH)
    + reduced(60)
    + inside(two_baths(9.0), feed="reduced"),
    "reducing valve at ninety": project("reduced high")
    + main(120, 115)
    + line(80, INCH)
    + reduced(90)
    + inside(two_baths(9.0), feed="reduced"),
    "ninety five without a valve": project("strong") + main(95, 90) + line(80, INCH) + TWO,
    "old line on a main": project("old") + main(60, 55) + line(80, OLD, material="copper-l") + ONE,
    "old line that is short": project("old short")
    + main(50, 46)
    + line(120, OLD, material="galvanized-sch40")
    + TWO,
    "softener and filter": project("soft")
    + well(50, 70, pump=STRONG, tank="260 gal", relief=90)
    + line(60, INCH)
    + device("filter", "cartridge-filter", "entry", "clear")
    + device("softener", "softener", "clear", "soft")
    + inside(two_baths(9.0), feed="soft"),
    "tankless": project("tankless")
    + main(60, 56)
    + line(60, INCH)
    + TWO.replace('kind = "heater"', 'kind = "tankless-heater"').replace(
        "2 psi at 10 gpm", "15 psi at 6 gpm"
    ),
    "two at once": project("listed", "listed", listed='["bath", "washer"]')
    + main(44, 41)
    + line(170, 'size = "3/4"')
    + ONE,
    "relief below cut-out": project("spill") + well(relief=55) + line(60, INCH) + ONE,
}
"""By name, the text of a file."""

"""Several wells on one tank: pumps that hold each other shut, push back, or outrun their well."""

from __future__ import annotations

from collections.abc import Iterator

from supplycalc.catalogue import CHECK_VALVES
from supplycalc.findings.open_water import THROTTLED
from supplycalc.findings.rule import YOUR_FILE, Remark, Values, rule
from supplycalc.findings.words import listed
from supplycalc.model import Device, House, Run
from supplycalc.network import well_side
from supplycalc.sizing.design import Design, Level
from supplycalc.supply.several_wells import well_names, wells_alone, wells_apart
from supplycalc.supply.well_shares import stored_in_all, sustained_by_all, well_shares


@rule("well-outrun", "warn", well=True)
def well_outrun(design: Design) -> Iterator[Remark]:
    """One of several wells whose pump gives more than it sustains."""
    house = well_side(design.house)
    lasting = sustained_by_all(house)
    wells = zip(well_shares(house), wells_alone(house), strict=False)
    for share, alone in wells:
        fills = house is not design.house
        allowed = THROTTLED if fills else 1.0
        if share.sustained is None or share.at_cut_in <= allowed * share.sustained:
            continue
        stored = stored_in_all(alone)
        calls = (
            "while the float calls for water it runs dry"
            if fills
            else ("a long draw can run it dry")
        )
        message = f"its pump gives {{0}}, and the well sustains {{1}}: {calls}"
        values = [(share.at_cut_in, "flow"), (share.sustained, "flow")]
        if stored > 0.0:
            message += ", after about {2} of pumping"
            values.append((stored / (share.at_cut_in - share.sustained), "minutes"))
        if lasting is not None:
            message += f"; {'both' if len(house.further_wells) == 1 else 'all'} wells together "
            message += f"sustain {{{len(values)}}}"
            values.append((lasting, "flow"))
        yield Remark(
            where=share.name,
            message=message,
            values=tuple(values),
            remedy="fit dry-run protection on this pump, so that the other goes on alone, or "
            "throttle it to what its well gives"
            + ("" if fills else "; where long draws are usual, store water and pump it twice"),
            source=YOUR_FILE,
        )


@rule("pump-shut-off", "fail", well=True)
def pump_shut_off(design: Design) -> Iterator[Remark]:
    """One of several pumps that is held shut by the pressure of the others."""
    house = well_side(design.house)
    cut_in, cut_out = house.source.cut_in or 0.0, house.source.cut_out or 0.0
    for share in well_shares(house):
        if share.at_cut_out > 0.0:
            continue
        values: Values = ((cut_in, "setting"), (max(share.highest, 0.0), "pressure"))
        level: Level = "fail"
        if house is not design.house or share.highest <= 0.0:
            message = "its pump lifts no water to the tank while the others run"
        elif share.at_cut_in <= 0.0:
            message = (
                "its pump gives nothing while the others run: at the cut-in of {0} it is held "
                "shut, as it reaches at most {1} at the tank"
            )
        else:
            message = (
                "its pump gives nothing at the cut-out of {2}, as it reaches at most {1} at the "
                "tank: towards the end of each run the other holds it shut"
            )
            values, level = (*values, (cut_out, "setting")), "warn"
        yield Remark(
            level=level,
            where=share.name,
            message=f"{message}. It churns the same water, which heats it and its pipe, and wears "
            "out",
            values=values,
            remedy="fit a pump with more head there, or lower the switch; a pressure switch of its "
            "own, set to stop it below that pressure, guards it but is not reckoned here",
            source=YOUR_FILE,
        )


@rule("well-backflow", "warn", well=True)
def well_backflow(design: Design) -> Iterator[Remark]:
    """Wells that join without a check valve in each one's own line."""
    house = well_side(design.house)
    if not house.further_wells:
        return
    open_lines = [
        name
        for name, apart in zip(well_names(house), wells_apart(house), strict=True)
        if not any(_checks(apart, link) for link in apart.before_tank)
    ]
    if open_lines:
        yield Remark(
            where=listed(open_lines),
            message="no check valve is listed before the lines of the wells meet: while the other "
            "pump runs, or both rest, water can go down this well, spin its pump backwards and "
            "carry what one well has into the other",
            remedy="fit a check valve in each well's own line, at the pump or where the lines "
            "meet, and list it (check_valves, a check-valve among fittings, or a device)",
        )


def _checks(house: House, link: Run | Device) -> bool:
    if isinstance(link, Device):
        return "closes" in house.catalogue.devices[link.kind].roles
    return any(kind in CHECK_VALVES for kind, _ in link.fittings or ())

"""Loss coefficients of fittings, on the tube's own velocity head.

Families published as equivalent lengths are turned into K once, at 4 ft/s and 60 degF in the tube
itself, so that a design holds one kind of figure only.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Sequence

from fluids.fittings import contraction_sharp, diffuser_sharp

from supplycalc.catalogue import Joining, Tube, TubeSize, nominal_inches
from supplycalc.hydraulics.friction import friction_factor, velocity
from supplycalc.hydraulics.water import density, viscosity
from supplycalc.model import House, Run
from supplycalc.tables import Citation, citation_of, kelvin, load_table, to_si
from supplycalc.units import INCH, PSI
from supplycalc.units.quantities import Diameter, Length

REFERENCE_VELOCITY = to_si(4.0, "ft/s")
"""[m/s] The middle of what house pipes carry; common practice, no source."""
REFERENCE_TEMPERATURE = kelvin(60.0, "degF")
LEAST_DIAMETER_RATIO = 0.4
"""No fitting is made narrower; bounds the assumed wall in very small tube."""


def fitting_k(joining: Joining, kind: str, tube: Tube, size: TubeSize) -> float:
    """Loss coefficient of one fitting in one size of a tube.

    Sizes between those of the table take the nearest one by nominal size (by inside diameter for
    metric tube); so do sizes beyond it, with lengths in proportion to the size.

    Args:
        kind: of fitting, such as "elbow-90".

    Returns:
        K on the tube's own velocity head.

    Source: named in fittings.toml; inserts by sudden contraction into the fitting and Borda-Carnot
        enlargement behind it plus the turn's own K, and the same around a valve.
    """
    if kind in joining.own:
        return joining.own[kind]
    if kind in joining.figures:
        length = published_length(joining, kind, tube, size)
        if length is not None:
            return equivalent_length_k(length, tube, size)
        return _printed_k(joining, joining.figures[kind], tube, size)
    if kind in joining.bodies:
        return insert_fitting_k(turn_k(joining, kind, size), insert_diameter_ratio(joining, size))
    if kind in joining.valves:
        body = joining.valves[kind] * _complete_turbulence(size, tube)
        if joining.form == "diameter-ratio":  # the inserts at its ends are narrower than the tube
            body += insert_fitting_k(0.0, insert_diameter_ratio(joining, size))
        return body
    if kind == "stop":
        return cv_k(load_table("fittings")["stop"]["cv"], size.inside_diameter)
    raise KeyError(kind)


def insert_diameter_ratio(joining: Joining, size: TubeSize) -> float:
    """Inside diameter of an insert fitting over that of its tube.

    Returns:
        The ratio, never below `LEAST_DIAMETER_RATIO`.

    Source: geometry; the fitting's wall or the ratio is assumed, as the joining says.
    """
    if joining.insert_wall <= 0.0:
        return joining.diameter_ratio
    return max(1.0 - 2.0 * joining.insert_wall / size.inside_diameter, LEAST_DIAMETER_RATIO)


def turn_k(joining: Joining, kind: str, size: TubeSize) -> float:
    """K of the turn in an insert fitting, on the fitting's own velocity head.

    Source: named in fittings.toml.
    """
    ratio = insert_diameter_ratio(joining, size)
    rise = _rise_at_low_flow(size.inside_diameter / ratio) if kind == "elbow-90" else 1.0
    return joining.bodies[kind] * rise


def insert_fitting_k(body_k: float, diameter_ratio: float) -> float:
    """K on the tube's velocity head of an insert fitting.

    Args:
        body_k: K of the turn on the fitting's own velocity head.
        diameter_ratio: inside diameter of the fitting over that of the tube.

    Source: sudden contraction 0.5(1-b^2) as Crane has it and Borda-Carnot enlargement (1-b^2)^2,
        both by `fluids` on the fitting's velocity head; over b^4 that is on the tube's. The
        contraction that `fluids` takes by default (Rennels) would be a quarter to a third higher.
    """
    contraction = contraction_sharp(Di1=1.0, Di2=diameter_ratio, method="Crane")
    enlargement = diffuser_sharp(Di1=diameter_ratio, Di2=1.0)
    return float(contraction + enlargement + body_k) / diameter_ratio**4


def equivalent_length_k(length: Length, tube: Tube, size: TubeSize) -> float:
    """K that an equivalent length stands for, at 4 ft/s and 60 degF in the tube itself."""
    return reference_factor(tube, size) * length / size.inside_diameter


def published_length(joining: Joining, kind: str, tube: Tube, size: TubeSize) -> Length | None:
    """Length of the tube that a fitting's book says it stands for; None where it tells a K [m]."""
    if kind in joining.own or kind not in joining.figures or joining.form == "k":
        return None
    figures = joining.figures[kind]
    wanted = size.inside_diameter / INCH if tube.metric else size.rank
    length = figures[_nearest(joining.at, size, tube)] * max(wanted / joining.at[-1], 1.0)
    return 0.0 if math.isnan(length) else length


def reference_factor(tube: Tube, size: TubeSize) -> float:
    """Friction factor of a tube at 4 ft/s and 60 degF."""
    return _reference_factor(tube.roughness, size.inside_diameter)


def cv_k(cv: float, inside_diameter: Diameter) -> float:
    """K of a valve known by its Cv.

    Args:
        cv: flow of 60 degF water at 1 psi [gpm/psi^0.5].

    Source: definition of Cv (ISA-75.01.01). `fluids.Cv_to_K` rounds the constant and takes water
        of 1000 kg/m3, which makes K 0.03 % lower.
    """
    speed = velocity(to_si(cv, "gpm"), inside_diameter)
    return PSI / (density(REFERENCE_TEMPERATURE) * speed**2 / 2.0)


def default_allowance() -> tuple[float, Citation]:
    """Share of length that stands for fittings where none are listed, and its source."""
    entry = load_table("fittings")["allowance"]
    return float(entry["value"]), citation_of(entry)


def manifold_port_k() -> float:
    """K of a manifold's port on the branch's velocity head."""
    return float(load_table("fittings")["manifold_port"]["value"])


def manifold_port_citation() -> Citation:
    """Where the K of a manifold's port comes from."""
    return citation_of(load_table("fittings")["manifold_port"])


def _printed_k(joining: Joining, figures: tuple[float, ...], tube: Tube, size: TubeSize) -> float:
    printed = [(at, k) for at, k in zip(joining.at, figures, strict=True) if not math.isnan(k)]
    return printed[_nearest([at for at, _ in printed], size, tube)][1]


@functools.lru_cache(maxsize=1024)
def _reference_factor(roughness: float, inside_diameter: float) -> float:
    return friction_factor(_reference_reynolds(inside_diameter), roughness / inside_diameter)


@functools.lru_cache(maxsize=1024)
def _reference_reynolds(inside_diameter: float) -> float:
    rho, mu = density(REFERENCE_TEMPERATURE), viscosity(REFERENCE_TEMPERATURE)
    return rho * REFERENCE_VELOCITY * inside_diameter / mu


def _rise_at_low_flow(inside_diameter: float) -> float:
    """How much more than at high flow an elbow's K is, at the velocity of the other figures.

    Args:
        inside_diameter: that has the Reynolds number of the fitting at that velocity in the tube;
            for a narrower fitting the tube's own over the ratio [m].

    Source: NIST, push-to-connect elbow of 3/4 in: K 1.0 above Re 40 000, more below.
    """
    rise, reynolds = load_table("fittings")["elbow_low_flow"], _reference_reynolds(inside_diameter)
    exponent = math.log(rise["factor"]) / math.log(rise["reynolds"] / rise["low"])
    return float(max(rise["reynolds"] / reynolds, 1.0) ** exponent)


def _nearest(at: Sequence[float], size: TubeSize, tube: Tube) -> int:
    wanted = size.inside_diameter / INCH if tube.metric else size.rank
    return min(range(len(at)), key=lambda i: abs(at[i] - wanted))


@functools.cache
def _turbulence_table() -> tuple[tuple[float, ...], tuple[float, ...]]:
    table = load_table("fittings")["valves"]
    return tuple(nominal_inches(nominal) for nominal in table["sizes"]), tuple(table["ft"])


def _complete_turbulence(size: TubeSize, tube: Tube) -> float:
    """Crane's fT of the nearest nominal size."""
    at, ft = _turbulence_table()
    return ft[_nearest(at, size, tube)]


def counted_length(run: Run, house: House) -> Length:
    """Developed length with the share for fittings where none are listed [m].

    Source: Wisconsin Administrative Code SPS 382.40(7) for the default share.
    """
    if run.fittings is not None:
        return run.length
    share = run.fitting_allowance
    if share is None:
        share = house.defaults.fitting_allowance
    if share is None:
        share = default_allowance()[0]
    return run.length * (1.0 + share)

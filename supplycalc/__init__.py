"""Well-to-fixture water supply sizing and pressure-loss calculator.

import supplycalc as sc

house = sc.load("house.toml")
design = sc.size(house)
design.worst.residual  # [Pa gauge]
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from supplycalc.api import (
        batch,
        check,
        commission,
        compare,
        compare_demand,
        day,
        draw,
        flow,
        gauge,
        hot,
        layout,
        load,
        load_prices,
        loads,
        parts,
        replace,
        report,
        risk,
        size,
        slab,
        surge,
        well,
        write,
    )
    from supplycalc.model import House
    from supplycalc.problems import ComputationError, InputError
    from supplycalc.sizing.design import Design

__version__ = "0.1.0"

__all__ = [
    "ComputationError",
    "Design",
    "House",
    "InputError",
    "__version__",
    "batch",
    "check",
    "commission",
    "compare",
    "compare_demand",
    "day",
    "draw",
    "flow",
    "gauge",
    "hot",
    "layout",
    "load",
    "load_prices",
    "loads",
    "parts",
    "replace",
    "report",
    "risk",
    "size",
    "slab",
    "surge",
    "well",
    "write",
]

_HOMES = {
    "ComputationError": "problems",
    "InputError": "problems",
    "House": "model",
    "Design": "sizing.design",
}
"""Where a public name lives; the others live in `api`."""


def __getattr__(name: str) -> Any:
    """Load a public name when it is first used, so that importing the package stays light."""
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    import importlib

    module = importlib.import_module(f"supplycalc.{_HOMES.get(name, 'api')}")
    value = getattr(module, name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted(__all__)

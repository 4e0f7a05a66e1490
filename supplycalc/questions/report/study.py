"""All that the page holds: each question that the file has the data for, asked once."""

from __future__ import annotations

from typing import Any, ClassVar

from supplycalc.model import House
from supplycalc.problems import ComputationError, InputError
from supplycalc.questions.commission.study import CommissionStudy, commission_of
from supplycalc.questions.compare.study import Comparison, compare
from supplycalc.questions.draw.study import SupplyDrawing, supply_drawing
from supplycalc.questions.gauge.study import GaugeStudy, gauge_of
from supplycalc.questions.hot.study import HotStudy, hot_of
from supplycalc.questions.parts.parts_list import PartsList
from supplycalc.questions.parts.study import parts_of
from supplycalc.questions.report.calculation import calculation
from supplycalc.questions.size.study import size
from supplycalc.questions.slab.study import SlabStudy, slab
from supplycalc.questions.surge.study import SurgeStudy, surge_of
from supplycalc.questions.well.study import WellCheck, well_check
from supplycalc.reading.prices import PriceList
from supplycalc.records import Form, to_data
from supplycalc.sizing.design import Design, DesignAnswer, RunResult
from supplycalc.units import UnitSystem

SIZES_BESIDE = 1
"""Sizes smaller and larger than the chosen one that the service is compared in."""


class Report(DesignAnswer, frozen=True, kw_only=True):
    """A house with every answer that goes on its page."""

    schema: ClassVar[str] = "supplycalc-report/1"
    form: ClassVar[Form] = Form(
        omit=(
            "design",
            "drawn",
            "comparison",
            "well",
            "hot",
            "slab",
            "surge",
            "commission",
            "gauge",
            "parts",
        )
    )
    more_schema: ClassVar[dict[str, Any]] = {
        "size": {"type": "object"},
        "draw": {"type": "object"},
        "calculation": {"type": "object"},
        **{
            name: {"type": ["object", "null"]}
            for name in ("compare", "well", "hot", "slab", "surge", "commission", "gauge", "parts")
        },
    }

    drawn: SupplyDrawing
    comparison: Comparison | None
    """The service in other sizes; None where there are none."""
    well: WellCheck | None
    hot: HotStudy | None
    slab: SlabStudy | None
    surge: SurgeStudy
    commission: CommissionStudy
    gauge: GaugeStudy | None
    """None where nothing was read yet."""
    parts: PartsList

    @property
    def answers(
        self,
    ) -> tuple[Design | WellCheck | HotStudy | SurgeStudy | GaugeStudy | PartsList, ...]:
        """Those that have findings."""
        answers = (self.design, self.well, self.hot, self.surge, self.gauge, self.parts)
        return tuple(answer for answer in answers if answer is not None)

    @property
    def ok(self) -> bool:
        """Whether nothing on the page fails."""
        return all(answer.ok for answer in self.answers)

    def to_data(self, system: UnitSystem) -> dict[str, Any]:
        """As JSON has it: each question's own answer under its name, and the sheet."""
        answers = {
            "size": self.design,
            "draw": self.drawn,
            "compare": self.comparison,
            "well": self.well,
            "hot": self.hot,
            "slab": self.slab,
            "surge": self.surge,
            "commission": self.commission,
            "gauge": self.gauge,
            "parts": self.parts,
        }
        data: dict[str, Any] = {
            name: None if answer is None else answer.to_dict(system)
            for name, answer in answers.items()
        }
        sheet = calculation(self.design, system)
        data["calculation"] = {
            "digits": sheet.digits,
            "lines": [to_data(line, system) for line in (*sheet.given, *sheet.water, *sheet.way)],
            "runs": [
                dict(zip((column.name for column in sheet.runs.columns), row, strict=True))
                for row in sheet.runs.rows
            ],
        }
        return data


def report(house: House, method: str | None = None, *, prices: PriceList | None = None) -> Report:
    """Ask every question that the file has the data for.

    Raises:
        ComputationError: no trustworthy result can be computed.
    """
    design = size(house, method, prices=prices, daily=True)
    covered = any(run.run.buried is not None or run.run.embedded for run in design.every_run)
    return Report(
        design=design,
        drawn=supply_drawing(design),
        comparison=_service_compared(design, method),
        well=well_check(design) if house.source.kind != "main" else None,
        hot=hot_of(design) if "hot" in design.tree.side else None,
        slab=slab(house, method) if covered else None,
        surge=surge_of(design),
        commission=commission_of(design),
        gauge=gauge_of(design) if house.readings else None,
        parts=parts_of(design, prices=prices),
    )


def _service_compared(design: Design, method: str | None) -> Comparison | None:
    """The service in the sizes that the file allows, or in those beside its own."""
    service = design.service
    if service is None or service.run.existing:
        return None
    sizes = _beside(service)
    if len(sizes) < 2:
        return None
    try:
        return compare(design.house, run=service.name, sizes=sizes, method=method)
    except (InputError, ComputationError):
        return None


def _beside(service: RunResult) -> tuple[str, ...]:
    """Sizes to compare, ascending: those the file names, else the neighbours of the chosen one."""
    if len(service.run.sizes) > 1 and service.run.size is None:
        named = [size.nominal for size in service.tube.sizes]
        return tuple(size for size in named if size in service.run.sizes)
    common = [
        size.nominal
        for size in service.tube.sizes
        if size.common or size.nominal == service.nominal
    ]
    place = common.index(service.nominal)
    return tuple(common[max(place - SIZES_BESIDE, 0) : place + SIZES_BESIDE + 1])

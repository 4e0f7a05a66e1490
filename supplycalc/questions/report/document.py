"""The page as one HTML file."""

from __future__ import annotations

from importlib import metadata

from supplycalc.output.html import Document, to_page
from supplycalc.questions.report.page import report_page
from supplycalc.questions.report.study import Report
from supplycalc.units import UnitSystem


def page_of(report: Report, system: UnitSystem, *, source: str = "", watched: str = "") -> str:
    """A report as the text of an HTML file."""
    made_from = f" from {source}" if source else ""
    return to_page(
        Document(
            title=report.house.project.name,
            subtitle="Water supply: sizes, pressures and how they were computed",
            blocks=tuple(report_page(report, system)),
            system=system,
            made_by=f"Made by supplycalc {_version()}{made_from}.",
        ),
        watched=watched,
    )


def _version() -> str:
    """Of the installed package; empty where it runs uninstalled."""
    try:
        return metadata.version("supplycalc")
    except metadata.PackageNotFoundError:
        return ""

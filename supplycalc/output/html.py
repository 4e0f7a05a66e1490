"""A page as one HTML file: no network, no script, every text escaped."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

from msgspec import Struct

from supplycalc.output.blocks import (
    Account,
    Bars,
    Block,
    Chart,
    Checklist,
    Figure,
    FindingBlock,
    Heading,
    Outline,
    Paragraph,
    Picture,
    Sheet,
    Verdict,
)
from supplycalc.output.drawing import Drawing
from supplycalc.output.plot import BarRow, Series, bars, plot
from supplycalc.output.svg import parts_svg
from supplycalc.output.text import clean
from supplycalc.records.sentences import cite
from supplycalc.records.table import Table
from supplycalc.units import DIMENSIONS, UnitSystem, show

TALLEST = 330.0
"""Of a part of a picture that is not cut between two pages [units of its sheet]."""
NARROW_TABLE = 3
"""Columns that a phone still shows side by side."""
WIDE_TABLE = 9
"""Columns that a small screen still shows side by side."""
CHART_WIDTH, PHONE = 640.0, 340.0
MOST_PLOT = 680.0
"""A picture wider than that is a drawing, and is printed as wide as the sheet."""
UNITS = sorted({unit for it in DIMENSIONS.values() for unit in it.units}, key=len, reverse=True)
ANY_UNIT = "|".join(map(re.escape, UNITS))
WHOLE = re.compile(
    rf"(?:-?\d[\d.]* )?± \d[\d.]*(?: (?:{ANY_UNIT})(?![\w']))?"  # -5.0 ± 3.5, ± 5.4 psi
    rf"|(?<![\w.])\d[\d.,/-]* (?:{ANY_UNIT}|inch)(?![\w'])"  # 50.0 psi
    r"|\d+-\d+/\d+|\bR-\d+\b"  # 1-1/4, R-3
    r"|\b[a-z]+\d*(?:-[a-z]+)*-(?:[a-z]*\d+|[a-z])\b"  # pe-cts-sdr9, pe100-sdr11, copper-l
)
"""What reads as something else where a line ends within it."""
CODE = re.compile(r"`([^`]+)`")
WORDS = {"fail": "Fails", "warn": "Warning", "note": "Note"}


class Document(Struct, frozen=True, kw_only=True):
    """A page with its title."""

    title: str
    subtitle: str
    blocks: tuple[Block, ...]
    system: UnitSystem
    made_by: str
    """At its foot: by what and from what it was made."""


def to_page(document: Document, *, watched: str = "") -> str:
    """A page as the text of an HTML file.

    Args:
        watched: state of the page that a server on this machine shows; the page asks for it and
            loads itself anew when it changes. Empty: a file, which asks for nothing.
    """
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("supplycalc.output", "templates"),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=StrictUndefined,
    )
    environment.filters["whole"] = _whole
    template = environment.get_template("page.html.jinja")
    sections = _sections(document.blocks, document.system)
    return template.render(
        title=clean(document.title),
        subtitle=clean(document.subtitle),
        made_by=clean(document.made_by),
        opening=sections[0]["blocks"],
        sections=sections[1:],
        watched=watched,
    )


def _whole(text: str) -> str:
    """A text, escaped, with sizes, tubes and numbers with their units kept on one line."""
    from markupsafe import Markup, escape

    kept = WHOLE.sub(r'<span class="size">\g<0></span>', str(escape(text)))
    return Markup(CODE.sub(r"<code>\1</code>", kept))


def _sections(blocks: Iterable[Block], system: UnitSystem) -> list[dict[str, Any]]:
    """The blocks by heading; what stands before the first has none."""
    sections: list[dict[str, Any]] = [{"heading": "", "name": "", "blocks": []}]
    for block in blocks:
        if isinstance(block, Heading):
            name = f"section-{len(sections)}"
            sections.append({"heading": clean(block.text), "name": name, "blocks": []})
        else:
            sections[-1]["blocks"].append(_view(block, system))
    return [section for section in sections if section["blocks"] or not section["heading"]]


def _view(block: Block, system: UnitSystem) -> dict[str, Any]:
    """A block as the template reads it."""
    match block:
        case Verdict():
            return {"kind": "verdict", "text": clean(block.text), "mood": block.mood}
        case Paragraph():
            label = WORDS.get(block.label.lower(), clean(block.label))
            return {"kind": "words", "text": clean(block.text), "label": label, "mood": block.mood}
        case Table():
            return _table(block, system)
        case Account():
            return {**_table(block.table, system), "sums": 2}
        case FindingBlock():
            return _finding(block, system)
        case Checklist():
            items = [clean(item) for item in block.items]
            return {"kind": "list", "items": items, "boxes": block.mark == "[ ]"}
        case Picture():
            return {"kind": "lines", "text": "\n".join(clean(line) for line in block.lines)}
        case Outline():
            return {"kind": "lines", "text": "\n".join(f"{it.stem}{it.name}" for it in block.lines)}
        case Figure():
            return _figure(block.wide, block.narrow, block.caption)
        case Sheet():
            return _sheet(block)
        case Chart():
            line = Series(name="", points=block.points)
            drawing = plot("Chart", "", [line], x_name="", y_name="", width=CHART_WIDTH)
            return _figure(drawing, drawing, "")
        case Bars():
            return _bars_figure(block, system)
        case Heading():
            raise TypeError("a heading begins a section")


def _table(table: Table, system: UnitSystem) -> dict[str, Any]:
    columns = [
        {"name": clean(column.name), "unit": column.unit(system), "number": column.is_number}
        for column in table.columns
    ]
    rows = [[clean(text) for text in row] for row in table.texts(system)]
    return {
        "kind": "table",
        "title": clean(table.title),
        "columns": columns,
        "rows": rows,
        "cards": len(columns) > NARROW_TABLE,
        "counted": table.columns[0].name == "no.",
        "many": len(columns) > WIDE_TABLE,
        "sums": 0,
    }


def _finding(block: FindingBlock, system: UnitSystem) -> dict[str, Any]:
    finding = block.finding
    where = finding.opening(system) if block.where else ""
    return {
        "kind": "finding",
        "level": finding.level,
        "label": WORDS[finding.level],
        "text": clean(f"{where}{finding.said(system)}"),
        "remedy": clean(finding.remedy_said(system)),
        "remedy_label": "To do" if finding.level == "note" else "To mend it",
        "source": clean(cite(finding.source)),
    }


def _figure(wide: Drawing, narrow: Drawing, caption: str) -> dict[str, Any]:
    from markupsafe import Markup

    return {
        "kind": "figure",
        "caption": clean(caption),
        # the module that makes the picture escapes every text in it
        "wide": [Markup(part) for part in parts_svg(wide, TALLEST)],
        "narrow": [Markup(part) for part in parts_svg(narrow, TALLEST)],
        "wide_width": f"{wide.width:.0f}",
        "narrow_width": f"{narrow.width:.0f}",
        "plot": wide.width <= MOST_PLOT,
    }


def _bars_figure(block: Bars, system: UnitSystem) -> dict[str, Any]:
    rows = [
        BarRow(
            name=f"{bar.name}, {bar.size}" if bar.size else bar.name,
            value=max(bar.value, 0.0),
            shown=show(max(bar.value, 0.0), block.dimension, system),
            strong=bar.limit,
        )
        for bar in block.bars
    ]
    told = "; ".join(f"{row.name}: {row.shown}" for row in rows)
    wide, narrow = (bars(block.title, told, rows, width=width) for width in (CHART_WIDTH, PHONE))
    return _figure(wide, narrow, block.title)


def _sheet(sheet: Sheet) -> dict[str, Any]:
    lines = [
        {
            "words": clean(line.words),
            "formula": clean(line.equation),
            "numbers": clean(line.numbers),
            "result": clean(f"{line.result} {line.unit}".strip()),
            "source": clean(line.source),
        }
        for line in sheet.lines
    ]
    computed = any(line["numbers"] for line in lines)
    return {"kind": "sheet", "title": clean(sheet.title), "lines": lines, "computed": computed}

"""Sections laid out: as text for the terminal, as HTML for notebook cells, as the report page.

The sections are composed once, by `run_report`, `check_report`, `trim_report` and others; here they
are only laid out. People read bar and psi, mL and cc, degC and degF, two or three digits.
"""

from __future__ import annotations

import datetime
import io
import textwrap
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from evenfront import pages
from evenfront import words as w
from evenfront.layout import Block, Items, Section, Table
from evenfront.run import Run
from evenfront.trimming import Answer, TrimResult

if TYPE_CHECKING:
    pass
from evenfront.run_report import run_sections
from evenfront.shot_words import delivers
from evenfront.trim_report import answer_verdict, gauge_table, trim_sections


def as_text(sections: Sequence[Section], width: int = 80) -> str:
    """Sections as plain text."""
    lines: list[str] = []
    for section in sections:
        lines.extend(textwrap.wrap(section.title, width))
        for block in section.blocks:
            lines.extend(_block_lines(block, width))
    return "\n".join(lines)


def _block_lines(block: Block, width: int) -> list[str]:
    if isinstance(block, str):
        return textwrap.wrap(block, width, initial_indent="  ", subsequent_indent="  ")
    if isinstance(block, Items):
        return [
            line
            for sentence in block.sentences
            for line in textwrap.wrap(
                sentence, width, initial_indent="  - ", subsequent_indent="    "
            )
        ]
    return _table_lines(block, width)


def _table_lines(table: Table, width: int) -> list[str]:
    """Columns as wide as their widest cell; the widest is folded where all do not fit."""
    grid = [table.header, *table.rows]
    wide = [max(len(row[i]) for row in grid) for i in range(len(table.header))]
    room = width - 2 - 2 * (len(wide) - 1)
    while sum(wide) > room and max(wide) > 12:
        wide[wide.index(max(wide))] -= 1
    lines = []
    for row in grid:
        cells = [textwrap.wrap(cell, w) or [""] for cell, w in zip(row, wide, strict=True)]
        for k in range(max(map(len, cells))):
            parts = [
                (cell[k] if k < len(cell) else "").ljust(w)
                for cell, w in zip(cells, wide, strict=True)
            ]
            lines.append(("  " + "  ".join(parts)).rstrip())
    return lines


def run_text(run: Run, width: int = 80) -> str:
    """Screen of a run as plain text."""
    return as_text(run_sections(run), width)


def trim_text(result: TrimResult, width: int = 80) -> str:
    """First screen of a trim as plain text."""
    return as_text(trim_sections(result), width)


def as_html(sections: Sequence[Section], level: int = 4) -> str:
    """Sections as a piece of HTML, everything in them escaped."""
    template = pages.environment().get_template("sections.html.j2")
    return template.render(sections=sections, level=level)


def run_html(run: Run) -> str:
    """Show a run in a notebook's cell."""
    return as_html([s for s in run_sections(run) if s.title not in _NOT_IN_NOTEBOOKS])


def answer_html(answer: Answer) -> str:
    """Show one answer of a trim in a notebook's cell."""
    blocks: tuple[Block, ...] = (answer_verdict(answer),)
    if answer.feasible:
        blocks = (*blocks, gauge_table(answer))
    return as_html([Section(w.plain(answer.before.case.title), blocks)])


def trim_html(result: TrimResult) -> str:
    """Show a trim in a notebook's cell."""
    return as_html([s for s in trim_sections(result) if s.title not in _NOT_IN_NOTEBOOKS])


_NOT_IN_NOTEBOOKS = ("Assumed",)


def page(result: Run | TrimResult) -> str:
    """Report page of a run or a trim: one file, pictures within it."""
    case = result.case
    trimmed = isinstance(result, TrimResult)
    sections = trim_sections(result) if isinstance(result, TrimResult) else run_sections(result)
    # The page has the title already.
    first = Section("Verdict", sections[0].blocks)
    return (
        pages.environment()
        .get_template("page.html.j2")
        .render(
            title=w.plain(case.title),
            kind="Trim" if trimmed else "Run",
            source=w.plain(case.source),
            version=w.version(),
            date=datetime.date.today().isoformat(),
            sections=[*([first] if first.blocks else []), *sections[1:]],
            level=2,
            pictures=_pictures(result),
            inputs=[(key, w.plain(str(value))) for key, value in leaves(case.to_dict())],
        )
    )


def write_html(result: Run | TrimResult, path: str | Path) -> None:
    """Write the report page of a run or a trim."""
    Path(path).write_text(page(result), encoding="utf-8")


def picture(result: Run | TrimResult, suffix: str) -> bytes:
    """Overview of a run or a trim as an image: ``png``, ``svg`` or ``pdf``."""
    import matplotlib as mpl

    from evenfront import overview_plot

    data = io.BytesIO()
    with mpl.rc_context({"text.parse_math": False}):  # a label may hold a dollar sign
        figure, _ = overview_plot.overview(result)
        figure.savefig(data, format=suffix, metadata=_NO_DATE.get(suffix, {}))
    return data.getvalue()


_NO_DATE = {"svg": {"Date": None}, "pdf": {"CreationDate": None}}  # same input, same file


def _pictures(result: Run | TrimResult) -> list[Markup]:
    """Overview of a run or a trim as inline SVG; none where nothing is delivered."""
    if not delivers(result.before if isinstance(result, TrimResult) else result):
        return []
    svg = picture(result, "svg").decode()
    return [Markup(svg[svg.index("<svg") :])]  # matplotlib escapes the text it draws


def leaves(node: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    """Key paths of nested tables with their values, in the order of the file."""
    if isinstance(node, Mapping):
        for key, value in node.items():
            yield from leaves(value, f"{path}.{key}" if path else str(key))
    elif isinstance(node, list) and any(isinstance(item, Mapping) for item in node):
        for i, item in enumerate(node):
            yield from leaves(item, f"{path}[{i}]")
    else:
        yield path, node

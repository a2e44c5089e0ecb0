"""Forms of the settings sheet: sections for the terminal, one sheet of paper for the machine."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from typing import Any

from evenfront import pages, run_report
from evenfront import units as u
from evenfront import words as w
from evenfront.layout import Block, Items, Section, Table
from evenfront.run import BAR
from evenfront.sheet import Band, Sheet

RECHECK = (
    (
        "material, batch, drum",
        "densities and weight ratio; viscosity at temperature; degas, then both closed gauges, "
        "trim and first catch",
    ),
    ("degassing, bleeding", "closed gauges; trim again, always"),
    ("hose", "bleed; stall test; pressures flowing; trim again"),
    ("mixer", "mixer pressure flowing, rating, purge volume; trim again if its kind changed"),
    ("seal, piston", "leak test of both sides closed; whole-shot weights; trim again"),
    ("shut-off, throttle", "zero of the throttle, both sides open together; set by gauge again"),
    ("temperature, drive, ratio", "new sheet"),
)
"""What changed, and what to check again."""


def sections(sheet: Sheet) -> tuple[Section, ...]:
    """Sheet for the terminal."""
    return tuple(_sections(sheet))


def _sections(sheet: Sheet) -> Iterator[Section]:
    numbers = sheet.to_dict()
    yield Section(w.plain(sheet.title), (f"Settings sheet. {sheet.verdict}",))
    yield Section("Set", (Table(("", "set to"), tuple(set_points(sheet))), *_notes(sheet)))
    yield Section(
        "Temperatures",
        (Table(("zone", "set to"), tuple(_zone(*row) for row in sheet.temperatures)),),
    )
    yield Section("Gauges, bar (psi)", (_read(sheet), sheet.gauge_band))
    yield Section(
        f"Catch weights, g; hardener per resin {_share(sheet.ratio_by_weight)}, "
        f"{_share(sheet.ratio_low)} to {_share(sheet.ratio_high)}",
        (
            Table(
                ("", *(w.plain(label) for label in sheet.run.case.labels)),
                tuple(
                    (c["what"], grams(c["resin_g"]), grams(c["hardener_g"]))
                    for c in numbers["catches"]
                ),
            ),
        ),
    )
    yield Section("Check again after a change of", (Table(("change", "check"), RECHECK),))
    yield Section("Cautions", (run_report.CAUTIONS, *_blocked_words(sheet)))
    if sheet.warnings:
        yield Section("Warnings", (Items(tuple(map(w.plain, sheet.warnings))),))


def set_points(sheet: Sheet) -> Iterator[tuple[str, str]]:
    """Rows of what to set, in the order in which it is set."""
    for t in sheet.throttles:
        text = f"{u.digits(t.value)} {t.unit}"
        if t.low is not None and t.high is not None:
            text += f" ({u.digits(t.low)}-{u.digits(t.high)} with backlash)"
        if abs(t.added) > 0.005 * BAR:
            text += f": by gauge, {w.pressure(t.added)} more than as written"
        yield f"{w.plain(t.label)} throttle", text
    if sheet.force is not None:
        yield "drive force", u.show(sheet.force, u.FORCE)
    for r in sheet.regulators:
        yield f"or air on {u.show(r.bore, u.LENGTH)}", w.pressure(r.pressure)
    if sheet.drive:
        yield "drive", w.plain(sheet.drive)
    rounds = f"; {sheet.repeat} times" if sheet.repeat > 1 else ""
    yield "steps", w.plain("; ".join(sheet.steps)) + rounds
    yield "shot", f"{w.volume(sheet.shot_volume)}, {w.gram(sheet.shot_weight)}, both streams"
    yield "shot takes", f"{u.digits(sheet.shot_time)} s, {u.show(sheet.travel, u.LENGTH)} of stroke"
    if sheet.counts is not None:
        yield "encoder target", f"{u.digits(sheet.counts, 4)} counts"
    yield "steady flow", u.show(sheet.flow, u.FLOW)
    densities = (
        sheet.run.machine.resin.liquid.density,
        sheet.run.machine.hardener.liquid.density,
    )
    yield "ratio", w.ratio(sheet.ratio, densities)


def _notes(sheet: Sheet) -> Iterator[str]:
    if sheet.regulators:
        yield (
            "Regulator: force over piston area, friction not counted; regulators droop 5 to 15 % "
            "while moving. Read it flowing."
        )
    notes = " ".join(filter(None, (sheet.turning_point, sheet.restoring)))
    if notes:
        yield notes


def _zone(place: str, kelvin: float) -> tuple[str, str]:
    return w.plain(place), u.show(kelvin, u.TEMPERATURE)


def _read(sheet: Sheet) -> Table:
    return Table(
        ("", "closed", "flowing", "highest", "rating"),
        tuple(
            (
                w.plain(g.place),
                _reading(g.closed),
                _reading(g.flowing),
                w.bar_psi(g.highest),
                w.bar_psi(g.rating),
            )
            for g in sheet.gauges
        ),
    )


def _reading(band: Band | None) -> str:
    if band is None:
        return "-"
    low, value, high = (u.digits(p / BAR) for p in (band.low, band.value, band.high))
    psi = u.digits(u.convert(band.value, u.PRESSURE, "psi"))
    return f"{value} ({psi})" if low == high else f"{value} ({psi}), {low}-{high}"


def grams(band: Any) -> str:
    """Weight with its band [g]."""
    low, value, high = (_gram(band[key]) for key in ("low", "value", "high"))
    return f"{value} ({low}-{high})"


def _gram(value: float) -> str:
    """Weight as a scale of 0.01 g shows it, four figures at most."""
    return f"{value:.2f}" if abs(value) < 100.0 else u.digits(value, 4)


def _share(ratio: float) -> str:
    return f"100:{u.digits(100.0 * ratio, 4)}"


def _blocked_words(sheet: Sheet) -> Iterator[Block]:
    for b in sheet.blocked:
        if b.pressure > b.rating:
            yield (
                f"If {w.plain(b.label)} alone is blocked, the whole drive puts "
                f"{w.pressure(b.pressure)} on it, above its rating of {w.pressure(b.rating)}: it "
                "needs a relief."
            )


def page(sheet: Sheet, date: datetime.date | None = None) -> str:
    """Sheet as one HTML file, to be printed on one sheet of paper.

    Parameters
    ----------
    sheet
        What it says.
    date
        Date to print; None: today.
    """
    template = pages.environment().get_template("sheet.html.j2")
    return template.render(**context(sheet, date))


def context(
    sheet: Sheet, date: datetime.date | None = None, within: dict[str, Any] | None = None
) -> dict[str, Any]:
    """Give what the sheet's part of a page needs.

    Parameters
    ----------
    sheet, date
        As for `page`.
    within
        Numbers of the page it is a part of, which hold its own under ``sheet``; None: its own page.
    """
    own = sheet.to_dict() if within is None else within["sheet"]
    prefix = "" if within is None else "sheet."
    return {
        "sheet": sheet,
        "sheet_numbers": own,
        "sheet_datum": lambda key, form: pages.datum(own, key, _FORMS[form], prefix),
        "set_points": list(set_points(sheet)),
        "zones": [_zone(*row) for row in sheet.temperatures],
        "notes": [*_notes(sheet)],
        "blocked": [*_blocked_words(sheet)],
        "recheck": RECHECK,
        "cautions": run_report.CAUTIONS,
        "labels": [w.plain(label) for label in sheet.run.case.labels],
        "plain": w.plain,
        "share": _share,
        "version": w.version(),
        "date": (date or datetime.date.today()).isoformat(),
    }


def _psi(bar: float) -> str:
    return u.digits(u.convert(bar * BAR, u.PRESSURE, "psi"))


_FORMS: dict[str, Any] = {
    "bar": u.digits,
    "psi": _psi,
    "g": _gram,
}

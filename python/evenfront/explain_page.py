"""The page that explains: one HTML file that needs nothing else.

First a screen for a reader who is no engineer, then everything an engineer asks for. Numbers stand
in ``data`` elements that hold them in full, under their key of `Explanation.to_dict`.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from typing import Any

from markupsafe import Markup, escape

from evenfront import explain_plot as plots
from evenfront import mending, pages, report, run_report, sheet_page
from evenfront import units as u
from evenfront import words as w
from evenfront.explain import COMPARED, MOST_FRAMES, Explanation
from evenfront.layout import Items, Section, Table
from evenfront.mixer_plot import mixer_movie, mixer_stills
from evenfront.part import LENGTHS
from evenfront.run import BAR, ML

FRAME_TIME = 0.16
"""How long an instant of the moving picture is shown [s]."""
MOST_MARKS = 5
"""Shots named in the picture of all of them."""
MOST_SHOTS = 10
"""Shots listed, the last ones, and the first two; JSON holds all."""


def page(explanation: Explanation, date: datetime.date | None = None) -> str:
    """Write an explanation as a page of HTML.

    Parameters
    ----------
    explanation
        What it says.
    date
        Date to print; None: today.

    Returns
    -------
    str
        One file: style, script and pictures within it, no reference to any network.
    """
    numbers = explanation.to_dict()
    written = explanation.case.to_dict()
    template = pages.environment().get_template("explain.html.j2")
    return template.render(
        **sheet_page.context(explanation.sheet, date, numbers),
        explanation=explanation,
        numbers=numbers,
        number=lambda key, form: pages.datum(numbers, key, _FORMS[form]),
        cost=cost,
        measures=_measures(explanation.case.labels),
        picture=pictures(explanation),
        own_length=LENGTHS.index(1.0),
        listed=_listed(len(numbers["shots"])),
        frames=MOST_FRAMES,
        frame_time=FRAME_TIME,
        inputs=[(_key(key), w.plain(str(value))) for key, value in report.leaves(written)],
    )


def _listed(count: int) -> list[int]:
    """Numbers of the shots that are listed, from 0."""
    everyone = list(range(count))
    return everyone if count <= MOST_SHOTS else everyone[:2] + everyone[2 - MOST_SHOTS :]


def _key(path: str) -> Markup:
    """Key path that may be broken into lines after points and strokes."""
    return Markup(escape(path).replace(".", Markup(".<wbr>")).replace("_", Markup("_<wbr>")))


def sections(explanation: Explanation) -> tuple[Section, ...]:
    """Explanation for the terminal: the first screen in words, causes and remedies."""
    return tuple(_sections(explanation))


def _sections(e: Explanation) -> Iterator[Section]:
    yield Section(w.plain(e.case.title), tuple(e.words))
    if e.causes:
        likely = [
            (w.plain(c.name), w.chance(c.probability), w.plain(c.shown)) for c in e.causes.told
        ]
        if others := e.causes.others:
            share = w.chance(sum(c.probability for c in others))
            likely.append((f"all {len(others)} others", share, ""))
        table = Table(("cause", "likely", "fits best"), tuple(likely))
        blocks = (table, w.plain(e.causes.tell_apart))
        yield Section("Causes of what was seen", blocks)
    rows = tuple(
        (r.name, w.ml(r.soft_after), w.ml(r.off_after), cost(r.to_dict())) for r in e.remedies
    )
    yield Section(
        "Remedies, most removed first", (Table(("mL (cc)", "soft", "off", "costs"), rows),)
    )
    yield Section("Cautions", (run_report.CAUTIONS,))
    if e.warnings:
        yield Section("Warnings", (Items(e.warnings),))


def cost(remedy: dict[str, Any]) -> str:
    """Say what a remedy costs, and whether it can be set."""
    told = [mending.EFFORTS[kind] for kind in remedy["kinds"] if kind in mending.EFFORTS]
    if abs(remedy["flow_change_fraction"]) >= 0.005:
        told.append(f"{w.percent(remedy['flow_change_fraction'], sign=True)} flow")
    if remedy["pressure_added_bar"] > 0.05:
        told.append(f"+{w.pressure(remedy['pressure_added_bar'] * BAR)}")
    if remedy["waste_mL"] > 0.0:
        told.append(f"{w.volume(remedy['waste_mL'] * ML)} a shot to the cup")
    if remedy["wait_s"] > 0.0:
        told.append(f"{u.digits(remedy['wait_s'], 2)} s a shot")
    if remedy["too_fine"]:
        told.append("finer than valves repeat")
    if not remedy["within_ratings"]:
        told.append("above a rating")
    return ", ".join(told) or "nothing"


def pictures(e: Explanation) -> dict[str, Markup]:
    """Every picture of the page by name."""
    made, after = e.before, e.after
    travels = [("as it is", e.travel)]
    outlet = [("as it is", made.production, *made.span)]
    if after is not None and e.travel_after is not None:
        travels.append(("mended", e.travel_after))
        outlet.append(("mended", after.production, *after.span))
    profile = next(iter(e.travel.profiles.values()))
    tolerance = max(made.run.target.tolerance_high, made.run.target.tolerance_low)
    scale = max(float(abs(profile).max()), 1.5 * tolerance)
    in_length = not e.assumed_part
    shots = made.production.shots
    whole = ("as it is", made.production, shots[0].start, shots[-1].end)
    every = -(-len(shots) // MOST_MARKS)
    marks = [(s.start - shots[0].start, f"shot {s.shot + 1}") for s in shots[::every]]
    found = {
        "part": plots.part_picture(made, in_length=in_length),
        "movie": mixer_movie(made.run, travels, scale),
        "stills": mixer_stills(made.run, travels, scale),
        "outlet": plots.outlet_picture(outlet, "outlet", "Ratio error of the part's liquid"),
        "shots": plots.outlet_picture(
            [whole], "shots", "Ratio error at the outlet, shot after shot", marks
        ),
    }
    if after is not None:
        found["mended"] = plots.part_picture(after, "part-mended", in_length=in_length)
    return found


def _scaled(size: float, shown: Any) -> Any:
    """Form of a number in another unit; broken into lines only before brackets."""
    return lambda value: (
        shown(value * size).replace(" ", "\N{NO-BREAK SPACE}").replace("\N{NO-BREAK SPACE}(", " (")
    )


_FORMS: dict[str, Any] = {
    "mL": _scaled(ML, w.ml),
    "mL (short)": _scaled(ML, lambda value: f"{w.ml(value)} mL"),
    "mL (cc)": _scaled(ML, w.volume),
    "chance": _scaled(1.0, w.chance),
    "signed": _scaled(1.0, lambda value: w.percent(value, sign=True)),
    "bar": _scaled(BAR, w.pressure),
    "flow": _scaled(ML, lambda value: u.show(value, u.FLOW)),
    "mm": _scaled(1e-3, lambda value: u.show(value, u.LENGTH)),
    "s": _scaled(1.0, lambda value: f"{u.digits(value, 3)} s"),
    "count": str,
    "figures": u.digits,
}


def _measures(labels: tuple[str, str]) -> dict[str, tuple[str, str]]:
    """Words and form of each measure that is compared."""
    resin, hardener = map(w.plain, labels)
    told = (
        ("off-ratio volume", "mL (cc)"),
        ("soft volume S", "mL (cc)"),
        ("hardener surplus", "mL (cc)"),
        ("hardener missing", "mL (cc)"),
        ("swing of the lead", "mL (cc)"),
        ("net lead", "mL (cc)"),
        (f"{resin} flow", "flow"),
        (f"{hardener} flow", "flow"),
        (f"{resin} cylinder, flowing", "bar"),
        (f"{hardener} cylinder, flowing", "bar"),
        ("mixer, flowing", "bar"),
    )
    return dict(zip(COMPARED, told, strict=True))

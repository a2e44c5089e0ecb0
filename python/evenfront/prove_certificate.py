"""The certificate of a proof: one HTML file that needs nothing else, to be printed on one sheet.

Every number stands in a ``data`` element that holds it in full, under its key of `Proof.to_dict`.
"""

from __future__ import annotations

import datetime
import io
import math
import re
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup, escape

from evenfront import prove_words as words
from evenfront import report
from evenfront import units as u
from evenfront.prove import Proof

MOST_CATCHES = 30
"""Catches the page lists; more would not fit a sheet."""


def certificate(proof: Proof, date: datetime.date | None = None) -> str:
    """Write a proof as a page of HTML.

    Parameters
    ----------
    proof
        What was proved.
    date
        Date to print; None: today.

    Returns
    -------
    str
        One file: style and picture within it, no script, no reference to any network.
    """
    environment = Environment(
        loader=PackageLoader("evenfront"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    numbers = proof.to_dict()
    return environment.get_template("certificate.html.j2").render(
        proof=proof,
        words=words,
        number=lambda key, form: _number(numbers, key, form),
        picture=_picture(proof),
        most=MOST_CATCHES,
        version=report.version(),
        date=(date or datetime.date.today()).isoformat(),
    )


_FORMS: dict[str, Any] = {
    "percent": words.percent,
    "size": words.size,
    "figures": lambda value: f"{value:.3g}",
    "ratio": lambda value: " or ".join(words.both_ways(value)),
    "mL": lambda value: f"{words.millilitres(value * 1e-6)} mL (cc)",
    "bare": lambda value: words.millilitres(value * 1e-6),
    "about": lambda value: f"{words.millilitres(value * 1e-6, 2)} mL (cc)",
    "g": lambda value: f"{value:.4g} g",
    "mL/s": lambda value: u.show(1e-6 * value, u.FLOW),
    "chance": words.chance,
}


def _number(numbers: Any, key: str, form: str) -> Markup:
    """Write the number at a key such as ``"starts.0.swing_mL"`` for people and machines."""
    value = numbers
    for step in key.split("."):
        value = value[int(step)] if isinstance(value, list) else value[step]
    if value is None:
        return Markup("-")
    shown = escape(_FORMS[form](value))
    return Markup('<data data-key="{}" value="{}">{}</data>').format(key, repr(value), shown)


def _picture(proof: Proof) -> Markup:
    """Draw the proof as inline SVG that takes the page's ink; its words stand in the caption."""
    from matplotlib import style
    from matplotlib.figure import Figure

    from evenfront.plot import HARDENER, RESIN
    from evenfront.prove_plot import plot_proof

    count = 1 + len(proof.starts)
    columns = min(2, count)
    rows = math.ceil(count / columns)
    with style.context(["default", {"svg.hashsalt": "evenfront", "font.size": 9.0}]):
        figure = Figure(figsize=(9.6, (2.8 if columns == 2 else 2.6) * rows), layout="constrained")
        axes = figure.subplots(rows, columns, squeeze=False).ravel()
        plot_proof(proof, axes=list(axes[:count]))
        for unused in axes[count:]:
            unused.set_visible(False)
        file = io.StringIO()
        figure.savefig(file, format="svg", transparent=True, metadata={"Date": None})
    svg = file.getvalue()
    svg = svg[svg.index("<svg") :]
    svg = re.sub(r"<metadata>.*?</metadata>", "", svg, flags=re.DOTALL)
    for drawn, ink in (
        ("#000000", "currentColor"),
        (RESIN, "var(--warm)"),
        (HARDENER, "var(--cool)"),
    ):
        svg = svg.replace(drawn, ink)
    return Markup(svg.replace("<svg ", '<svg aria-hidden="true" ', 1))  # matplotlib escapes text

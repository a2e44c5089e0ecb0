"""The certificate of a proof: one HTML file that needs nothing else, to be printed on one sheet.

Every number stands in a ``data`` element that holds it in full, under its key of `Proof.to_dict`.
"""

from __future__ import annotations

import datetime
import math
from typing import Any

from markupsafe import Markup

from evenfront import pages
from evenfront import prove_words as words
from evenfront import units as u
from evenfront.prove import Proof
from evenfront.words import version

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
    numbers = proof.to_dict()
    template = pages.environment().get_template("certificate.html.j2")
    return template.render(
        proof=proof,
        words=words,
        number=lambda key, form: pages.datum(numbers, key, _FORMS[form]),
        picture=_picture(proof),
        most=MOST_CATCHES,
        version=version(),
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


def _picture(proof: Proof) -> Markup:
    """Draw the proof as inline SVG that takes the page's ink; its words stand in the caption."""
    from matplotlib import style
    from matplotlib.figure import Figure

    from evenfront.plot_base import HARDENER, RESIN
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
    svg = pages.inline_svg(figure, {RESIN: "var(--warm)", HARDENER: "var(--cool)"})
    return Markup(svg.replace("<svg ", '<svg aria-hidden="true" ', 1))  # matplotlib escapes text

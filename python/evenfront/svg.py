"""Pieces of a picture as SVG text, everything in them escaped.

A picture is 360 units wide, as a phone is, with text of 12; its colours are classes of the page's
style. Too much hardener is hatched in lines, too little in dots.
"""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup

WIDTH = 360.0
"""Of every picture [units]."""


def picture(
    name: str, height: float, title: str, description: str, body: Sequence[Markup]
) -> Markup:
    """Picture with its words for those who do not see it, and hatches of its own.

    Parameters
    ----------
    name
        Unique on the page.
    height
        Of the picture [units].
    title, description
        What it shows; what there is to see.
    body
        What is drawn.
    """
    return Markup(
        '<svg class="picture" viewBox="0 0 {w:g} {h:g}" role="img" aria-labelledby="{n}-t {n}-d">'
        '<title id="{n}-t">{t}</title><desc id="{n}-d">{d}</desc><defs>'
        '<pattern id="{n}-soft" width="5" height="5" patternUnits="userSpaceOnUse" '
        'patternTransform="rotate(45)"><path class="wash-soft" d="M0 0H5V5H0Z"/>'
        '<path class="hatch-soft" d="M1.25 0V5"/></pattern>'
        '<pattern id="{n}-brittle" width="6" height="6" patternUnits="userSpaceOnUse">'
        '<path class="wash-brittle" d="M0 0H6V6H0Z"/>'
        '<circle class="dot-brittle" cx="1.5" cy="1.5" r="1.1"/>'
        '<circle class="dot-brittle" cx="4.5" cy="4.5" r="1.1"/></pattern></defs>{b}</svg>'
    ).format(w=WIDTH, h=height, n=name, t=title, d=description, b=Markup("").join(body))


def text(x: float, y: float, words: str, anchor: str = "start", kind: str = "") -> Markup:
    """Words at a point; `kind` is a class of the page's style."""
    return Markup('<text x="{:.4g}" y="{:.4g}" text-anchor="{}" class="{}">{}</text>').format(
        x, y, anchor, kind, words
    )


def path(d: str, kind: str, style: str = "") -> Markup:
    """Line or area along a route."""
    return Markup('<path d="{}" class="{}" style="{}"/>').format(d, kind, style)


def rect(x: float, y: float, width: float, height: float, kind: str, style: str = "") -> Markup:
    """Upright box."""
    return Markup(
        '<rect x="{:.5g}" y="{:.5g}" width="{:.5g}" height="{:.5g}" class="{}" style="{}"/>'
    ).format(x, y, width, height, kind, style)


def route(points: Sequence[tuple[float, float]]) -> str:
    """Straight lines from point to point."""
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points)


def hatch(name: str, verdict: str) -> str:
    """Paint for what is soft or brittle, in the picture of that name."""
    return f"url(#{name}-{verdict})"


def line(points: Sequence[tuple[float, float]], kind: str) -> Markup:
    """Straight lines from point to point, drawn."""
    return path(route(points), kind)

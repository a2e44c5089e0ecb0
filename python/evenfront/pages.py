"""What every page of HTML needs: templates, numbers that carry their key, pictures within the text.

A page is one file that needs no network. Everything a template is given is escaped, unless it is
markup made here.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Mapping, Sequence
from functools import cache
from typing import TYPE_CHECKING, Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup, escape

if TYPE_CHECKING:
    from matplotlib.figure import Figure


@cache
def environment() -> Environment:
    """Templates of the package: escaping, and strict about names that are missing."""
    return Environment(
        loader=PackageLoader("evenfront"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def at(numbers: Any, key: str) -> Any:
    """Value at a key such as ``"starts.0.swing_mL"`` of nested tables and lists."""
    value = numbers
    for step in key.split("."):
        value = value[int(step)] if isinstance(value, list | tuple) else value[step]
    return value


def datum(numbers: Any, key: str, form: Callable[[Any], str], prefix: str = "") -> Markup:
    """Write the number at a key for people, and in full for machines; a dash for None.

    The key it carries has the prefix before it: that of `numbers` in what the page tells as JSON.
    """
    value = at(numbers, key)
    if value is None:
        return Markup("-")
    return Markup('<data data-key="{}" value="{}">{}</data>').format(
        prefix + key, repr(value), escape(form(value))
    )


def cell(words: Sequence[str], pictures: Sequence[Markup]) -> str:
    """Words and pictures for a notebook's cell, the first words strong."""
    return environment().get_template("cell.html.j2").render(words=words, pictures=pictures)


def inline_svg(figure: Figure, inks: Mapping[str, str]) -> str:
    """SVG of a figure that takes the page's inks in place of the colours drawn.

    Parameters
    ----------
    figure
        Drawn in the default style.
    inks
        CSS colour for each colour drawn; black takes the ink of the text about it.

    Returns
    -------
    str
        An ``svg`` element; the same figure gives the same text.
    """
    from matplotlib import rc_context

    file = io.StringIO()
    with rc_context({"svg.hashsalt": "evenfront"}):
        figure.savefig(file, format="svg", transparent=True, metadata={"Date": None})
    svg = file.getvalue()
    svg = svg[svg.index("<svg") :]
    svg = re.sub(r"<metadata>.*?</metadata>", "", svg, flags=re.DOTALL)
    for drawn, ink in ({"#000000": "currentColor"} | dict(inks)).items():
        svg = svg.replace(drawn, ink)
    return svg

"""Explanations that several tests look at, each made once."""

from functools import cache
from pathlib import Path
from typing import Any

from evenfront import load_case
from evenfront.case import Case
from evenfront.causes import rank
from evenfront.explain import Explanation, explain
from evenfront.observed import Observed

CASES = Path(__file__).parents[2] / "data" / "cases"
RUDE = "<script>document.title = 'rude'</script> & \"Sons'"
"""A title that would do harm if it were not escaped."""
LONG = "ResinOfALabelThatHasNoEndAndNoSpaceAnywhereInIt"
"""A label that no line of a phone holds."""
HARDNESS = [["-100 %", 5], ["0 %", 85], ["100 %", 20]]
"""Invented."""
LAYERS = [
    {"name": "below the <b>coil</b>", "volume": "5 mL"},
    {"name": "around the coil", "volume": "5 mL"},
    {"name": "top", "volume": "3 mL"},
]
SEEN = {
    "title": "soft near the middle of every casting",
    "spot": [{"shot": "every", "from": "5.5 mL", "to": "6.7 mL", "kind": "soft"}],
}


def bled(changes: dict[str, Any] | None = None) -> Case:
    """Held shots with a pocket of air at the hardener's head, poured into a casting."""
    part = {"kind": "casting", "layers": LAYERS, "hardness": HARDNESS, "hardness_scale": "D, 15 s"}
    changes = {"title": RUDE, "part": part, "resin.label": LONG} | (changes or {})
    return load_case(CASES / "bleed-the-hardener.toml").changed(changes)


@cache
def explained() -> Explanation:
    """Explanation of it, with causes."""
    case = bled()
    return explain(case, rank(case, Observed.from_dict(SEEN, "seen.toml")))


@cache
def long_boom() -> Explanation:
    """Four shots from rest, a sealing bead each; nothing was seen."""
    return explain(load_case(CASES / "long-boom-held-shots.toml"))

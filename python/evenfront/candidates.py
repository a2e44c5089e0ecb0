"""What can make a part soft or brittle: name, a sentence for a customer, ways in which it shows."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from evenfront import defects
from evenfront.defects import Variant
from evenfront.observed import Drift
from evenfront.watched import Setup


@dataclass(frozen=True)
class Candidate:
    """A cause of soft or brittle spots.

    Parameters
    ----------
    name
        Short, as in a list.
    explanation
        One sentence for a customer.
    drift
        What it usually does over time.
    variants
        Ways in which it can show on a machine and its sequence; none where it cannot.
    """

    name: str
    explanation: str
    drift: Drift
    variants: Callable[[Setup], list[Variant]]


CANDIDATES: tuple[Candidate, ...] = (
    Candidate(
        "start-up lead",
        "When the valves open, both hoses give back what their pressure had stored, one faster "
        "than the other, so every shot begins off ratio though nothing is broken.",
        "no",
        defects.start_up,
    ),
    Candidate(
        "gas in the resin",
        "Air stirred into the resin makes it springy: it gives way and comes back late, and the "
        "hardener gets ahead of it.",
        "no",
        defects.gas_in_resin,
    ),
    Candidate(
        "air pocket in the hardener",
        "A bubble trapped in the hardener's line is squeezed at every start and every stop, so "
        "hardener comes late or runs on.",
        "no",
        defects.pocket_in_hardener,
    ),
    Candidate(
        "cold line after a pause",
        "In the break the resin in an unheated piece of line cools and thickens, so the first "
        "shots afterwards come late and short of resin.",
        "no",
        defects.cold,
    ),
    Candidate(
        "throttle set wrong",
        "One of the two throttles holds its stream back more, or less, than the other needs.",
        "no",
        defects.throttle,
    ),
    Candidate(
        "shut-offs out of step",
        "The two valves do not open together, so one liquid starts alone.",
        "no",
        defects.skew,
    ),
    Candidate(
        "seal leak",
        "A worn piston seal lets hardener slip away instead of pushing it into the part.",
        "over the day",
        defects.seal_leak,
    ),
    Candidate(
        "starved refill",
        "A cylinder does not fill completely because its feed is too narrow, and the next shots "
        "push on gas instead of liquid.",
        "along the stroke",
        defects.starved,
    ),
    Candidate(
        "settled filler",
        "The filler has sunk in the tank, so the machine meters resin of another make-up than the "
        "ratio was set for.",
        "over the day",
        defects.settled,
    ),
    Candidate(
        "wrong bore",
        "The hardener's metering cylinder is not of the size the ratio asks for, so everything is "
        "off by the same share.",
        "no",
        defects.bore,
    ),
    Candidate(
        "too few mixing elements",
        "The mixer spreads liquid along itself, so an uneven start smears into good liquid.",
        "no",
        defects.elements,
    ),
    Candidate(
        "gelled mixer",
        "Cured material narrows the mixer: less comes through, under more pressure.",
        "over the day",
        defects.gelled,
    ),
    Candidate(
        "drool between shots",
        "One valve does not close tight and its liquid creeps into the mixer between shots.",
        "no",
        defects.drool,
    ),
    Candidate(
        "suck-back",
        "A valve draws liquid back as it closes; the next shot has to push that in again before "
        "its stream reaches the mixer.",
        "no",
        defects.suck_back,
    ),
    Candidate(
        "stuck check valve",
        "A check valve at the mixing point sticks, so its stream starts late or lets the other one "
        "in.",
        "no",
        defects.check_valve,
    ),
)
"""Everything that is considered, in the order of a first talk."""


def applicable(setup: Setup) -> Iterable[tuple[Candidate, list[Variant]]]:
    """Candidates that can show on a machine, each with its ways."""
    for candidate in CANDIDATES:
        variants = candidate.variants(setup)
        if variants:
            yield candidate, variants

"""Write the invented catch weights of data/catches, or compare them with --check.

Every file names its seed and what was put in; nothing in it was measured.
"""

import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np

FOLDER = Path(__file__).parents[1] / "data" / "catches"
RESIN_DENSITY, HARDENER_DENSITY = 1.75, 1.05  # g/cm3
RATIO = 0.14  # by volume


@dataclass(frozen=True)
class Story:
    """What a file is made of."""

    name: str
    seed: int
    pairs: int
    offset: float  # of the ratio [-]
    scatter: float  # standard deviation of the ratio [-]
    drift: float = 0.0  # of the ratio over the stroke [-]
    lead: float | None = None  # final lead of a shot caught in cups [mL]; None: not caught
    settle: float = 0.12  # its time constant [s]


STORIES = (
    Story("full-stroke", seed=5, pairs=10, offset=0.006, scatter=0.006),
    Story("full-stroke-and-start", seed=3, pairs=10, offset=0.004, scatter=0.006, lead=0.55),
    Story("after-trim", seed=12, pairs=10, offset=0.004, scatter=0.006, lead=0.06),
    Story("too-few", seed=5, pairs=4, offset=0.004, scatter=0.008),
    Story("drifting", seed=8, pairs=12, offset=0.0, scatter=0.004, drift=0.05),
)


def text_of(story: Story) -> str:
    """The whole file."""
    rng = np.random.default_rng(story.seed)
    header = [
        "# Invented: no machine was caught, no material of this kind exists.",
        f"# Made by tests/make_catches.py: numpy default_rng({story.seed}); pairs of 8 s at",
        "# 20 mL/s of resin (sd 1 %) over positions 10 to 180 mm, ratio by volume",
        f"# 100:{100 * RATIO:g} times",
        f"# 1 + {story.offset:g} + {story.drift:g} x (share of the stroke - 1/2) + normal of sd "
        f"{story.scatter:g};",
        f"# densities {RESIN_DENSITY:g} and {HARDENER_DENSITY:g} g/cm3; scale steps of 0.01 g, "
        "sd 0.01 g.",
    ]
    if story.lead is not None:
        header.append(
            f"# Shot in cups of 0.2 s: lead {story.lead:g} mL x (1 - exp(-t/{story.settle:g} s)); "
            "drop sd 0.01 mL at each change of cups."
        )
    columns = "resin_g,hardener_g,time_s,position"
    start = story.lead is not None
    rows = [columns + (",shot,increment" if start else "")]
    position = np.linspace(10.0, 180.0, story.pairs)
    for x in position:
        resin = 160.0 * (1 + rng.normal(0, 0.01))
        share = (x - position[0]) / np.ptp(position) - 0.5
        error = story.offset + story.drift * share + rng.normal(0, story.scatter)
        weights = (resin * RESIN_DENSITY, resin * RATIO * (1 + error) * HARDENER_DENSITY)
        rows.append(f"{_scale(rng, weights)},8.0,{x:.1f}" + (",," if start else ""))
    if story.lead is not None:
        rows += _cups(rng, story, story.lead)
    return "\n".join([*header, *rows]) + "\n"


def _cups(rng: np.random.Generator, story: Story, lead: float) -> list[str]:
    ends = 0.2 * np.arange(1, 11)
    flow = 20.0
    resin = flow * ends + rng.normal(0, 0.01, ends.size)
    steady = RATIO * (1 + story.offset)
    ahead = lead * (1 - np.exp(-ends / story.settle))
    hardener = steady * flow * ends + ahead + rng.normal(0, 0.01, ends.size)
    in_cups = zip(np.diff(resin, prepend=0.0), np.diff(hardener, prepend=0.0), strict=True)
    return [
        f"{_scale(rng, (v_r * RESIN_DENSITY, v_h * HARDENER_DENSITY))},0.2,,1,{i}"
        for i, (v_r, v_h) in enumerate(in_cups, start=1)
    ]


def _scale(rng: np.random.Generator, weights: tuple[float, float]) -> str:
    return ",".join(f"{weight + rng.normal(0, 0.01):.2f}" for weight in weights)


def main() -> int:
    """Write, or compare; gives the number of files that differ."""
    differing = 0
    FOLDER.mkdir(parents=True, exist_ok=True)
    for story in STORIES:
        path = FOLDER / f"{story.name}.csv"
        if "--check" in sys.argv[1:]:
            differing += path.read_text() != text_of(story)
        else:
            path.write_text(text_of(story))
    return differing


if __name__ == "__main__":
    sys.exit(main())

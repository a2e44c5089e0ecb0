"""The mixer as a strip with the lead travelling through it: moving, and as a still series.

Every strip is the mixer from inlet to outlet; what is off ratio is hatched over its height, and a
line is the ratio error, up for too much hardener.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from markupsafe import Markup

from evenfront import svg
from evenfront import words as w
from evenfront.run import Run

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from evenfront.part import Travel

    Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Strip:
    """One mixer as it is drawn: where, how high, and what error fills its half height."""

    left: float
    right: float
    middle: float
    half: float
    scale: float

    def x(self, share: float) -> float:
        """Place along it."""
        return self.left + (self.right - self.left) * share

    def y(self, error: float) -> float:
        """Height of a ratio error."""
        return self.middle - self.half * max(-1.0, min(1.0, error / self.scale))


def mixer_movie(
    run: Run, travels: Sequence[tuple[str, Travel]], scale: float, name: str = "movie"
) -> Markup:
    """Lead moving through the mixer, one strip for each travel, a frame an instant.

    The frames are shown in turn by the page's style; the last words of each tell the volume.
    """
    model = next(iter(travels[0][1].profiles))
    pitch, top = 96.0, 44.0
    height = top + 24.0 + pitch * (len(travels) - 1) + 36.0
    strips = [
        Strip(8.0, svg.WIDTH - 22.0, top + 24.0 + pitch * row, 26.0, scale)
        for row in range(len(travels))
    ]
    body: list[Markup] = []
    for strip, (label, _) in zip(strips, travels, strict=True):
        body += _mixer(strip, _elements(run))
        body.append(svg.text(strip.left, strip.middle - 32.0, label, "start", "note"))
    count = len(travels[0][1].entered)
    for i in range(count):
        body.append(Markup('<g class="frame" style="--i:{}">').format(i))
        entered = travels[0][1].entered[i]
        body.append(svg.text(strips[0].left, 14.0, _clock(entered), "start", "label"))
        for strip, (_, travel) in zip(strips, travels, strict=True):
            body += _filled(strip, run, travel.profiles[model][i], name)
        body.append(Markup("</g>"))
    names = " and ".join(label for label, _ in travels)
    return svg.picture(
        name,
        height,
        "The lead moving through the mixer",
        f"Mixer from inlet, left, to outlet, right, {names}. The off-ratio plug enters as the "
        "valves open and moves with the liquid to the outlet.",
        body,
    )


def mixer_stills(
    run: Run, travels: Sequence[tuple[str, Travel]], scale: float, name: str = "stills"
) -> Markup:
    """Show the same as `mixer_movie` as a still series, early instants on top."""
    model = next(iter(travels[0][1].profiles))
    count = len(travels[0][1].entered)
    shown = [round((i + 1) * (count - 1) / 6.0) for i in range(6)]
    gap, top, pitch = 14.0, 22.0, 46.0
    wide = (svg.WIDTH - 62.0 - gap * (len(travels) - 1)) / len(travels)
    body: list[Markup] = []
    for column, (label, travel) in enumerate(travels):
        left = 56.0 + column * (wide + gap)
        body.append(svg.text(left, 12.0, label, "start", "note"))
        for row, i in enumerate(shown):
            strip = Strip(left, left + wide, top + pitch * row + 18.0, 16.0, scale)
            body += _mixer(strip, 0)
            body += _filled(strip, run, travel.profiles[model][i], name)
    for row, i in enumerate(shown):
        text = f"{w.ml(travels[0][1].entered[i])} mL"
        body.append(svg.text(50.0, top + pitch * row + 22.0, text, "end", "note"))
    return svg.picture(
        name,
        top + pitch * len(shown),
        "The lead moving through the mixer, a still series",
        "Each row is the mixer from inlet to outlet once so much liquid has entered since the "
        "valves opened.",
        body,
    )


def _clock(entered: float) -> str:
    return f"{w.ml(entered)} mL (cc) in since the valves opened"


def _elements(run: Run) -> int:
    given = run.case.data["mixer"].get("elements")
    return min(int(given), 40) if given else 16


def _mixer(strip: Strip, elements: int) -> Iterator[Markup]:
    """Tube, twisted elements, nozzle."""
    left, right, middle, half = strip.left, strip.right, strip.middle, strip.half
    yield svg.rect(left, middle - half, right - left, 2.0 * half, "tube")
    if elements:
        pitch = (right - left) / elements
        for phase in (-1.0, 1.0):
            steps = [f"M{left:.1f} {middle:.1f}"]
            for i in range(elements):
                up = phase * (1.0 if i % 2 else -1.0)
                steps.append(f"q{pitch / 2:.2f} {1.8 * half * up:.1f} {pitch:.2f} 0")
            yield svg.path("".join(steps), "element")
        tip = [(right, middle - 9.0), (right + 12.0, middle - 4.0)]
        yield svg.line([*tip, (right + 12.0, middle + 4.0), (right, middle + 9.0)], "tube")


def _filled(strip: Strip, run: Run, profile: Floats, name: str) -> Iterator[Markup]:
    """Hatch what is off ratio over the mixer's height, and draw the ratio error."""
    target = run.target
    edges = np.linspace(0.0, 1.0, len(profile) + 1)
    verdicts = [
        "soft" if e > target.tolerance_high else "brittle" if e < -target.tolerance_low else "ok"
        for e in profile
    ]
    start = 0
    for verdict, group in itertools.groupby(verdicts):
        end = start + len(list(group))
        if verdict != "ok":
            x = strip.x(edges[start])
            yield svg.rect(
                x,
                strip.middle - strip.half,
                strip.x(edges[end]) - x,
                2.0 * strip.half,
                "plug",
                f"fill:{svg.hatch(name, verdict)}",
            )
        start = end
    centres = (edges[:-1] + edges[1:]) / 2.0
    points = [(strip.x(c), strip.y(e)) for c, e in zip(centres, profile, strict=True)]
    yield svg.line(points, "curve")

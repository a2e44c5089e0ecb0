"""Live throttles in a notebook: two sliders, and what leaves the mixer follows the hand.

Each move is one run of the case, followed to the part, and one drawing.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import ipywidgets as widgets
from markupsafe import Markup

from evenfront import _core, pages, shot_words
from evenfront import words as w
from evenfront.explain_plot import outlet_picture, part_picture
from evenfront.made import Made, make
from evenfront.run import Run
from evenfront.sheet import SIDES
from evenfront.trimming import setting_unit, with_settings

if TYPE_CHECKING:
    from evenfront.case import Case

SHUT = 1e-3
"""Smallest setting of a slider where a throttle can be shut, over its largest [-]."""


class LiveThrottles:
    """Sliders for both throttles of a case, each in the throttle's own unit, on a log scale.

    Parameters
    ----------
    case
        Where it starts.

    Raises
    ------
    LookupError
        Where the case delivers no shot; the message says why.
    """

    def __init__(self, case: Case) -> None:
        run = Run(case)
        if not shot_words.delivers(run):
            raise LookupError(shot_words.verdict(run))
        self.assumed, self.written = make(run)
        self.made: Made | None = self.written
        self.sliders = tuple(self._slider(i) for i in range(2))
        self.view = widgets.HTML(self.draw())
        for slider in self.sliders:
            slider.observe(self._follow, names="value")
        self.widget = widgets.VBox([*self.sliders, self.view])

    def _slider(self, side: int) -> Any:
        case = self.written.run.case
        throttle = getattr(self.written.run.machine, SIDES[side]).throttle
        unit, scale = setting_unit(throttle)
        low, high = (value / scale for value in (throttle.lowest, throttle.highest))
        return widgets.FloatLogSlider(
            value=_core.setting(throttle) / scale,
            min=math.log10(low if low > 0.0 else SHUT * high),
            max=math.log10(high),
            step=0.01,
            description=w.plain(case.labels[side]),
            readout_format=".3g",
            tooltip=f"throttle [{unit}]",
            style={"description_width": "8rem"},
            layout={"width": "32rem"},
        )

    @property
    def settings(self) -> _core.Settings:
        """Settings of both throttles, resistance [Pa s/m^3] or turns."""
        machine = self.written.run.machine
        values = [
            slider.value * setting_unit(getattr(machine, side).throttle)[1]
            for side, slider in zip(SIDES, self.sliders, strict=True)
        ]
        return _core.Settings(resin=values[0], hardener=values[1])

    def run(self) -> Run:
        """Run the case where the sliders stand."""
        start = self.written.run
        return Run(start.case, with_settings(start.machine, self.settings), start.sequence)

    def follow(self) -> None:
        """Run, follow to the part and draw, where the sliders stand."""
        run = self.run()
        self.made = make(run, part=self.written.part)[1] if shot_words.delivers(run) else None
        self.view.value = self.draw()

    def _follow(self, _: Any) -> None:
        self.follow()

    def draw(self) -> str:
        """Words, outlet and part as they are now, beside the outlet as written."""
        now, written = self.made, self.written
        if now is None:
            return pages.cell(["Nothing to speak of flows at these settings."], [])
        curves = [("now", now.production, *now.span)]
        if now is not written:
            curves.append(("as written", written.production, *written.span))
        pictures: list[Markup] = [
            outlet_picture(curves, "live-outlet", "Ratio error of the part's liquid"),
            part_picture(now, "live-part", in_length=not self.assumed),
        ]
        return pages.cell([self.words(now)], pictures)

    def words(self, made: Made) -> str:
        """How much is off, and what the gauges at the heads read."""
        steady, labels = made.run.steady, made.run.case.labels
        heads = (steady.resin.throttle_pressure, steady.hardener.throttle_pressure)
        gauges = "; ".join(
            f"{w.plain(label)} head {w.pressure(head)}"
            for label, head in zip(labels, heads, strict=True)
        )
        return f"Off ratio {w.left(made.off)} of {w.volume(made.total)}. Flowing: {gauges}."

    def _repr_mimebundle_(self, **options: Any) -> Any:
        return self.widget._repr_mimebundle_(**options)

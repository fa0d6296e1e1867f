"""Play, pause, step and speed for the moment of a cycle: it stands still until the reader starts it."""

from __future__ import annotations

import ipywidgets as w

from aquacalc.notebook.slider import Knob

#: Speeds: words -> time between two pictures, ms. One cycle is a hundred pictures.
SPEEDS = {"slow": 400, "medium": 200, "fast": 100}


class Film(w.HBox):
    """Buttons that move a knob from 0 to 100 and begin again.

    The clock runs in the page; nothing moves before "play" is pressed.

    Parameters
    ----------
    moment : Knob
        In percent of a cycle.
    """

    def __init__(self, moment: Knob):
        self.moment = moment
        self.play = w.Play(
            min=0, max=100, step=1, interval=SPEEDS["medium"], repeat=True, show_repeat=False,
            value=round(moment.si), tooltip="Play and pause the water", layout={"width": "auto"},
        )  # fmt: skip
        self.back = w.Button(description="Step back", tooltip="One step back in the cycle")
        self.on = w.Button(description="Step on", tooltip="One step on in the cycle")
        self.speed = w.Dropdown(
            options=list(SPEEDS), value="medium", description="Speed", tooltip="Speed of the water",
            style={"description_width": "3.5em"}, layout={"width": "10em"},
        )  # fmt: skip
        self.play.observe(self._played, "value")
        moment.box.observe(self._slid, "value")  # the slider is made again with other units
        self.back.on_click(lambda _: self.step(-1))
        self.on.on_click(lambda _: self.step(1))
        self.speed.observe(self._hurried, "value")
        for button in (self.back, self.on):
            button.layout = {"width": "auto"}
        super().__init__([self.play, self.back, self.on, self.speed], layout={"flex_flow": "row wrap"})

    def step(self, by: int) -> None:
        """Pause, and go so many steps on; past the end it begins again."""
        self.play.playing = False
        self.play.value = (round(self.moment.si) + by) % 101

    def _played(self, change) -> None:
        self.moment.si = float(change["new"])

    def _slid(self, change) -> None:
        self.play.value = round(change["new"])

    def _hurried(self, change) -> None:
        self.play.interval = SPEEDS[change["new"]]

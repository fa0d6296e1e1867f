"""The pictures of a panel: each follows plan, run and moment, with axes that stay while a slider moves."""

from __future__ import annotations

from dataclasses import dataclass

from aquacalc.figures.inflow_window import WindowView, window
from aquacalc.figures.levels import LevelsView, levels
from aquacalc.figures.lips import LipsView, lips
from aquacalc.figures.live.svg import Live
from aquacalc.figures.picture import Picture
from aquacalc.figures.priming_map import PrimingMapView, priming_map
from aquacalc.figures.section import SectionView, section
from aquacalc.plan.model import Plan
from aquacalc.results.cycle import SystemCycle
from aquacalc.results.window import inflow_window


@dataclass(frozen=True)
class State:
    """What a panel shows: a plan, its run, and a moment `t` (s) of the run.

    `ends` are plans with each slider at its ends, which must fit the drawing;
    `flow_high` (m3/s) is the highest inflow that a slider reaches.
    """

    plan: Plan
    run: SystemCycle
    t: float
    system: str
    ends: tuple[Plan, ...]
    flow_high: float


class LivePicture:
    """One picture, made when it is first shown."""

    name = ""

    def __init__(self, state: State):
        self.view = self.make(state)
        self.live = None

    def svg(self, state: State) -> str:
        """Return the picture of a state as SVG."""
        self.live = self.live or Live(self.view.figure)
        self.bring(state)
        return self.live.svg(self.view.alt)

    def make(self, state: State):
        """Return the view, with axes that hold whatever the sliders can reach."""
        raise NotImplementedError

    def bring(self, state: State) -> None:
        """Bring the view to a state."""
        raise NotImplementedError

    @staticmethod
    def still(state: State) -> Picture:
        """Return the picture for a reader without a kernel."""
        raise NotImplementedError


class Section(LivePicture):
    """Every vessel with its water at the moment."""

    name = "Section"

    def make(self, state):
        """Return the view, in a scale that fits every plan the sliders reach."""
        return SectionView(state.plan, state.ends, system=state.system)

    def svg(self, state):
        """Return the picture of a state."""
        return self.view.show(state.plan, state.run, state.t).svg(f"panel{id(self)}")

    @staticmethod
    def still(state):
        """Return the picture for a reader without a kernel."""
        return section(state.plan, state.run, state.t, system=state.system)


class Levels(LivePicture):
    """Levels against time over one cycle."""

    name = "Levels"

    def make(self, state):
        """Return the view: whole vessels, and room for a longer cycle."""
        vessels = [v for p in (state.plan, *state.ends) for v in (*p.beds, *p.chambers)]
        limits = {"beds": (min(v.floor for v in vessels) - 0.02, max(v.rim for v in vessels) + 0.02)}
        sump = state.plan.sump
        limits["sump"] = (sump.floor, sump.rim + 0.05)
        return LevelsView(state.plan, system=state.system, limits=limits, scale=1.0)

    def bring(self, state):
        """Bring the view to a state; the time axis grows when it must and never shrinks."""
        start, end = state.run.one_cycle(self.view.siphon)
        span = 300.0
        while span < 1.02 * (end - start):
            span *= 2.0
        if span > self.view.limits.get("time", (0.0, 0.0))[1]:
            self.view.limits["time"] = (0.0, span)
        self.view.show(state.run, state.t)

    @staticmethod
    def still(state):
        """Return the picture for a reader without a kernel."""
        return levels(state.run, t=state.t, system=state.system)


class InflowWindow(LivePicture):
    """Inflows that start the siphon and let it stop, with today's."""

    name = "Inflow window"

    def make(self, state):
        """Return the view, up to the highest inflow of the slider."""
        data = _window(state)
        high = 1.1 * max(state.flow_high, data.start_high, min(data.stop, 2.0 * state.flow_high))
        return WindowView(state.system, high, scale=1.0)

    def bring(self, state):
        """Bring the view to a state."""
        self.view.show(_window(state))

    @staticmethod
    def still(state):
        """Return the picture for a reader without a kernel."""
        return window(_window(state), state.system)


class Lips(LivePicture):
    """A plain end and the wider lip, side by side with the pump's flow spilling into both."""

    name = "Two standpipes"

    def make(self, state):
        """Return the view."""
        return LipsView(state.system)

    def bring(self, state):
        """Bring the view to a state."""
        self.view.show(state.plan.siphons[0], _window(state).today)

    @staticmethod
    def still(state):
        """Return the picture for a reader without a kernel."""
        return lips(state.plan.siphons[0], state.system, _window(state).today)


class PrimingMap(LivePicture):
    """Bore and lip against inflow."""

    name = "Map of bore and lip"

    def make(self, state):
        """Return the view, up to the highest inflow of the slider."""
        return PrimingMapView(state.system, flow_high=state.flow_high, scale=1.0)

    def bring(self, state):
        """Bring the view to a state."""
        self.view.show(state.plan.siphons[0], _window(state).today)

    @staticmethod
    def still(state):
        """Return the picture for a reader without a kernel."""
        return priming_map(
            state.plan.siphons[0], _window(state).today, state.system, flow_high=state.flow_high
        )


def _window(state: State):
    return inflow_window(state.plan, state.plan.siphons[0], state.run)

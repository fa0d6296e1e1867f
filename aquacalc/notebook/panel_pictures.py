"""The pictures of a panel: each follows plan, run and moment, with axes that stay while a slider moves."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

from aquacalc.figures.inflow_window import window
from aquacalc.figures.levels import levels
from aquacalc.figures.lips import lips
from aquacalc.figures.priming_map import priming_map
from aquacalc.figures.section import SectionView
from aquacalc.figures.vector import Drawn
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
    """One picture that follows a panel; its axes hold whatever the sliders can reach and stay as they are."""

    name = ""
    _count = itertools.count()

    def __init__(self, state: State):
        self.fixed = self.fix(state)
        self.prefix = f"panel{next(self._count)}"

    def svg(self, state: State) -> str:
        """Return the picture of a state as SVG, without the style sheet: a new one would restyle the page."""
        return self.draw(state, **self.fixed).svg(self.prefix, styled=False)

    @staticmethod
    def fix(state: State) -> dict:
        """Return what `draw` is given to keep its axes."""
        return {}

    @staticmethod
    def draw(state: State, **fixed) -> Drawn:
        """Draw a state; without `fixed` axes for a reader without a kernel."""
        raise NotImplementedError


class Section(LivePicture):
    """Every vessel with its water at the moment."""

    name = "Section"

    @staticmethod
    def fix(state):
        """Return a view in a scale that fits every plan the sliders reach."""
        return {"view": SectionView(state.plan, state.ends, system=state.system)}

    @staticmethod
    def draw(state, view=None):
        """Draw a state."""
        view = view or SectionView(state.plan, system=state.system)
        return view.show(state.plan, state.run, state.t)


class Levels(LivePicture):
    """Levels against time over one cycle."""

    name = "Levels"

    @staticmethod
    def fix(state):
        """Return whole vessels as axes."""
        vessels = [v for p in (state.plan, *state.ends) for v in (*p.beds, *p.chambers)]
        sump = state.plan.sump
        return {
            "limits": {
                "beds": (min(v.floor for v in vessels) - 0.02, max(v.rim for v in vessels) + 0.02),
                "sump": (sump.floor, sump.rim + 0.05),
            }
        }

    @staticmethod
    def draw(state, limits=None):
        """Draw a state; the time axis grows when it must and never shrinks."""
        if limits is not None:
            start, end = state.run.one_cycle(state.plan.siphons[0].name)
            span = limits.get("time", (0.0, 300.0))[1]
            while span < 1.02 * (end - start):
                span *= 2.0
            limits["time"] = (0.0, span)
        return levels(state.run, t=state.t, system=state.system, limits=limits)


class InflowWindow(LivePicture):
    """Inflows that start the siphon and let it stop, with today's."""

    name = "Inflow window"

    @staticmethod
    def fix(state):
        """Return an axis up to the highest inflow of the slider."""
        data = _window(state)
        return {"high": 1.1 * max(state.flow_high, data.start_high, min(data.stop, 2.0 * state.flow_high))}

    @staticmethod
    def draw(state, high=None):
        """Draw a state."""
        return window(_window(state), state.system, high)


class Lips(LivePicture):
    """A plain end, the wider lip, and a pipe as wide all the way, with the pump's flow coming to each."""

    name = "Three standpipes"

    @staticmethod
    def draw(state):
        """Draw a state."""
        return lips(state.plan.siphons[0], state.system, _window(state).today)


class PrimingMap(LivePicture):
    """Bore and lip against inflow."""

    name = "Map of bore and lip"

    @staticmethod
    def fix(state):
        """Return axes up to the highest inflow of the slider, and the widest usual pipes."""
        return {"flow_high": state.flow_high, "bore_high": 0.055, "lip_high": 0.110}

    @staticmethod
    def draw(state, **ends):
        """Draw a state."""
        ends = {"flow_high": state.flow_high, **ends}
        return priming_map(state.plan.siphons[0], _window(state).today, state.system, **ends)


def _window(state: State):
    return inflow_window(state.plan, state.plan.siphons[0], state.run)

"""The section of a plan: every vessel at its elevation, with its water, and the siphon close up; it moves.

`section` draws one moment, without a third-party package. `moving_section` adds what `live/moving.js` needs
to bring the same drawing to any other moment in a page::

    const section = movingSection(figure, JSON.parse(figure.querySelector(".scene").textContent));
    section.show({t, levels, regime, outflow, pump, runs});      // one moment, SI, as `snapshot.Moment`
    section.show({..., siphons: {siphon: {height: 0.4}}});       // a slider moved a height of `facts`
    movingStage(figure, section, trace, {begin, end, start});    // play, pause, step, speed, scrub

`trace` is `{times, levels: {name: []}, rates: {name: []}, outflow: {siphon: []}, regime: {siphon: []},
pump: []}`, the fields of `results.cycle.Trace`; `momentOf(scene, trace, t)` gives the moment at `t` (s).
Names in `siphons` are the keys of `closeup.facts`; `levels` and the rest may be left out of a
later `show`, which then keeps what was shown.
"""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import replace
from html import escape
from itertools import pairwise
from math import atan2, degrees, hypot

from aquacalc.figures import vector
from aquacalc.figures.closeup import CloseUp, facts, grains, places
from aquacalc.figures.scene import (
    LEFT,
    Line,
    build_scene,
    fit_frame,
    least_width,
    wrapped,
)
from aquacalc.figures.snapshot import Moment, areas, inlets, moment
from aquacalc.figures.vector import PHONE, Drawing, Drawn, Movement, Word, value
from aquacalc.hydraulics.starting import choking_level
from aquacalc.plan.model import Bed, Chamber, Plan, Sump
from aquacalc.results.cycle import SystemCycle
from aquacalc.units import in_unit, show
from aquacalc.units.table import KINDS

WIDTH, HEIGHT = 580.0, 459.0
TOP, BOTTOM = 66.0, 93.0
#: What a siphon does, in large words, by its regime.
STAGES = {
    "at rest": "At rest", "filling": "Filling", "spilling": "Trickling over the lip",
    "priming": "Choking: air leaves the bell", "siphoning": "Running full",
}  # fmt: skip
#: What a page has to know to write numbers as `units.show` does.
SHOWN = ("elevation", "length", "flow")


class SectionView:
    """Draws the sections of a plan and of what it is changed to, to one scale.

    Parameters
    ----------
    plan : Plan
    others : sequence of Plan
        Further plans that must fit without a change of scale, such as those at a slider's ends.
    siphon : str, optional
        Name of the siphon drawn close up; the first if not given.
    system : {"metric", "us"}, optional
        Units shown; the plan's own if not given.
    """

    def __init__(
        self, plan: Plan, others: Sequence[Plan] = (), siphon: str | None = None, system: str | None = None
    ):
        self.system = system or plan.units
        self.siphon = siphon or plan.siphons[0].name
        self.plans = plans = (plan, *others)
        self.width = max(WIDTH, *(least_width(p) for p in plans))
        frame = fit_frame(plans, self.width - LEFT, HEIGHT - TOP - BOTTOM)
        self.frame = replace(frame, left=LEFT)
        self.height = TOP + BOTTOM + (frame.high - frame.low) * frame.up
        self.close = CloseUp(plans, self.siphon)

    def y(self, z):
        """Where an elevation (m) is drawn."""
        return TOP + (self.frame.high - z) * self.frame.up

    def show(self, plan: Plan, run: SystemCycle | None = None, t: float | None = None) -> Drawn:
        """Draw a plan at the moment `t` (s) of its run; drained without a run."""
        now = moment(plan, run, t)
        movement = Movement(
            *state(plan, now, self._when(run, now), self.siphon, self.system, most(plan, run))
        )
        self.scene = build_scene(plan, self.frame)
        self.drawing = Drawing(self.width, self.height, movement, PHONE)
        self._draw(plan)
        close = self.close.draw(plan, movement)
        self.drawing.alt = _alt(plan, now, movement.words["when"], self.siphon, self.system)
        self.drawing.role = "whole"
        close.alt = (
            f"{self.siphon} close up: its standpipe under the bell, with lip, bell rim and flood level"
        )
        close.role = "close"
        return Drawn((self.drawing, close), self.drawing.alt)

    def _when(self, run: SystemCycle | None, now: Moment) -> str:
        if run is None or now.t is None:
            return "drained"
        since = show(max(now.t - run.one_cycle(self.siphon)[0], 0.0), "time", self.system)
        cycles = run.group(self.siphon).outcome == "cycles"
        return f"{since} after the siphon broke" if cycles else f"{since} after the pump was switched on"

    def _draw(self, plan: Plan) -> None:
        d, scene, y = self.drawing, self.scene, self.y
        self._ladder(plan)
        for k, (name, placed) in enumerate(scene.placed.items()):
            self._water(plan, name, placed, k)
        self._flood_lines(plan)
        for line in scene.lines:
            self._pipe(plan, line)
        for x, z in scene.drops:
            d.path([(x, y(scene.header)), (x, y(z) + 5.0)], "fall", stroke_width=value("pump stream"))
        for placed in scene.placed.values():
            d.path([(x, y(z)) for x, z in placed.wall()], "wall")
        for siphon in plan.siphons:
            self._siphon(siphon.name, scene.placed[siphon.host].centre)
        for line in scene.lines:
            self._arrow(line)
        x, z = next(line for line in scene.lines if line.kind == "delivery").points[0]
        d.add("rect", "part", x=x - 6.0, y=y(z) - 6.0, width=12.0, height=12.0)
        for x, z in scene.tees.values():
            d.add("circle", "part", cx=x, cy=y(z), r=3.0)
        self._names(plan)
        d.text(4.0, self.height - BOTTOM + 38.0, Word("stage"), "stage", size=21.0)
        d.text(4.0, self.height - 31.0, Word("when"), "soft")
        d.text(4.0, self.height - 10.0, "The gaps between vessels are not to scale.", "soft")

    def _ladder(self, plan: Plan) -> None:
        """Elevations at the left edge, in round steps."""
        d, frame = self.drawing, self.frame
        per, unit = in_unit(1.0, "elevation", self.system)
        ticks = vector.nice_ticks(frame.low * per, frame.high * per, 6)
        for tick in ticks:
            z = self.y(tick / per)
            d.add("path", "grid", d=("M", LEFT - 5.0, " ", z, "H", self.width if tick == 0.0 else LEFT))
            digits = 0 if abs(ticks[1] - ticks[0]) >= 1.0 else 1
            d.text(LEFT - 8.0, z, f"{tick:.{digits}f}".replace("-", "−") if tick else "0", "e soft")
        d.text(0.0, TOP - 18.0, unit, "soft")

    def _water(self, plan: Plan, name: str, placed, k: int) -> None:
        """One vessel's media and water, with its level as a line and a mark."""
        d, y, vessel = self.drawing, self.y, placed.vessel
        inside = [(x, y(z)) for x, z in placed.filled(vessel.rim)]
        clip = f"cut-{k}"
        if isinstance(vessel, Bed):
            media = [(x, y(z)) for x, z in placed.filled(vessel.floor + vessel.media.depth)]
            d.path(media, "media", close=True)
            grains(d, media, f"{clip}-grain", 8.0)
        d.open("clipPath", id=clip)
        d.path(inside, "", close=True)
        d.shut("clipPath")
        d.open("g", clip_path=f"url(#{clip})")
        level = y(value(f"level {name}"))
        left, right = placed.left - 1.0, placed.right + 1.0
        d.add("rect", "water over" if isinstance(vessel, Bed) else "water", x=left, y=level,
              width=right - left, height=3.0 * HEIGHT)  # fmt: skip
        d.path([(left, level), (right, level)], "surface")
        # The surface mark of drawings: where the vessel is wide enough at any level.
        x = placed.centre - 0.62 * placed.half(vessel.floor + 0.05 * vessel.shape.depth)
        d.path([(x, level), (x - 5.0, level - 8.0), (x + 5.0, level - 8.0)], "sign", close=True)
        d.shut()
        left, right = self.scene.columns[name]
        lines = wrapped(name, right - left + 10.0)
        for line, words in enumerate(lines):
            d.text(0.5 * (left + right), 10.0 + 18.0 * line + (9.0 if len(lines) == 1 else 0.0), words, "m b")
        d.text(0.5 * (left + right), 49.0, Word(f"level {name}"), "m deep")

    def _flood_lines(self, plan: Plan) -> None:
        for siphon in plan.siphons:
            members = [self.scene.placed[name] for name in self.scene.groups[siphon.name]]
            z = self.y(value(f"{siphon.name} start"))
            ends = min(p.left for p in members) - 4.0, max(p.right for p in members) + 6.0
            self.drawing.path([(x, z) for x in ends], "level")

    def _pipe(self, plan: Plan, line: Line) -> None:
        """Draw a pipe, what fills it, and below a tail the stream into the sump."""
        d, key = self.drawing, _key(line)
        points = [(x, self.y(z)) for x, z in line.points]
        if line.kind == "tail":
            siphon = plan.siphon_in(line.start)
            last = line.points[-1][1]
            moves = self.y(value(f"{siphon.name} outlet") + (last - siphon.tail.outlet))
            points = [(x, moves if z == last else self.y(z)) for x, z in line.points]
            end = points[-1]
            sump = self.y(value(f"level {plan.sump.name}"))
            d.path([end, (end[0], sump)], "fall", stroke_width=value(f"{key} stream"))
        d.path(points, "tube pipe", stroke_width=max(line.outside, 2.0))
        inside = max(line.inside, 0.5 * line.outside, 1.4)
        d.path(points, "bore", stroke_width=inside)
        d.path(points, "bore wet", stroke_width=inside * value(f"{key} filled"))

    def _arrow(self, line: Line) -> None:
        """Draw an arrow in the middle of a pipe's longest part, as large as its flow."""
        points = [(x, self.y(z)) for x, z in line.points]
        (x0, y0), (x1, y1) = max(pairwise(points), key=lambda p: hypot(p[1][0] - p[0][0], p[1][1] - p[0][1]))
        turn = degrees(atan2(y1 - y0, x1 - x0))
        place = ("translate(", 0.5 * (x0 + x1), " ", 0.5 * (y0 + y1), f")rotate({turn:.1f})scale(")
        arrow = (*place, value(f"{_key(line)} arrow"), ")")
        self.drawing.add("path", "arrow", d="M9 0L-7 -8L-3 0L-7 8Z", transform=arrow)

    def _siphon(self, name: str, c: float) -> None:
        d, y, across = self.drawing, self.y, self.frame.across
        at = {key: value(f"{name} {key}") for key in ("lip", "rim", "crown", "inside")}
        v = {key: value(f"{name} {key}") * across for key in ("bore", "wall", "shell", "core")}
        floor = y(next(p for p in self.scene.placed.values() if p.centre == c).vessel.floor)
        d.open("g", data_stage=Word(f"stage {name}"))
        shell = [(c - v["shell"], y(at["rim"])), (c - v["shell"], y(at["crown"]))]
        shell += [(c + v["shell"], y(at["crown"])), (c + v["shell"], y(at["rim"]))]
        d.path(shell, "air", close=True)
        d.path([shell[0], (c - v["shell"], y(at["inside"])), (c + v["shell"], y(at["inside"])), shell[3]],
               "water", close=True)  # fmt: skip
        pipe = [(c - v["bore"], floor), (c - v["bore"], y(at["lip"])), (c + v["bore"], y(at["lip"])),
                (c + v["bore"], floor)]  # fmt: skip
        d.path(pipe, "empty", close=True)
        d.path(pipe, "water falls", close=True)
        d.path([(c, y(at["lip"])), (c, floor)], "core", stroke_width=2.0 * v["core"])
        for side in (-1.0, 1.0):
            x = c + side * v["bore"] + 0.5 * side * v["wall"]
            d.path([(x, floor), (x, y(at["lip"]))], "tube", stroke_width=v["wall"] + 0.8)
        d.path(shell, "wall shell")
        d.shut()

    def _free(self, plan: Plan, left: float, below: float) -> bool:
        """Whether no pipe or wall crosses a word so far (px) under the flood level, wherever it may stand."""
        levels = [self.y(choking_level(p, p.siphons[-1])) + below for p in self.plans]
        low, high, right = min(levels), max(levels), left + vector.text_width("flood level")
        sump = self.scene.placed[plan.sump.name].wall()
        ways = [*((line.points, 0.5 * line.outside) for line in self.scene.lines), (sump, 2.0)]
        return not any(
            max(x0, x1) + half > left
            and min(x0, x1) - half < right
            and self.y(min(z0, z1)) + half > low - 0.5 * PHONE
            and self.y(max(z0, z1)) - half < high + 0.5 * PHONE
            for points, half in ways
            for (x0, z0), (x1, z1) in pairwise(points)
        )

    def _names(self, plan: Plan) -> None:
        """Names of tees, flood level and pump, each where there is room."""
        d, scene, y = self.drawing, self.scene, self.y
        last = plan.siphons[-1]
        host, sump = scene.placed[last.host], scene.placed[plan.sump.name]
        x = sump.left + 0.80 * (sump.right - sump.left)
        room = x - host.right - 16.0
        if vector.text_width("flood level") < room:
            words: tuple[str | Word, ...] = ("flood level", Word(f"{last.name} start"))
            at = host.right + 9.0
            places = [k * PHONE for k in (-0.62, 0.62, 1.86) if self._free(plan, at, k * PHONE)]
            for word, place in zip(words, places[:2], strict=False):
                d.text(at, y(value(f"{last.name} start")) + place, word, "halo")
        previous = -1e9
        for name, (x, z) in sorted(scene.tees.items(), key=lambda item: item[1]):
            if x - vector.text_width(name) > previous:
                below = y(z) + 0.5 * max(line.outside for line in scene.lines) + 0.75 * PHONE
                d.text(x, below, name, "e soft halo")
                previous = x + 6.0
        d.text(self.width - 2.0, y(plan.sump.floor) + 0.75 * PHONE, Word("pump"), "e")


def section(
    plan: Plan,
    run: SystemCycle | None = None,
    t: float | None = None,
    siphon: str | None = None,
    system: str | None = None,
) -> Drawn:
    """Draw the section of a plan with its water at one moment.

    Parameters
    ----------
    plan : Plan
    run : SystemCycle, optional
        What `aquacalc.results.cycle.run_plan` gave, with its trace; drained vessels without it.
    t : float, optional
        Time (s) in the trace; the moment the siphon begins to run full if not given.
    siphon : str, optional
        Name of the siphon drawn close up; the first if not given.
    system : {"metric", "us"}, optional
        Units shown; the plan's own if not given.

    Returns
    -------
    Drawn
        The whole plan, and the siphon close up.
    """
    return SectionView(plan, siphon=siphon, system=system).show(plan, run, t)


def moving_section(
    plan: Plan,
    run: SystemCycle | None = None,
    t: float | None = None,
    others: Sequence[Plan] = (),
    siphon: str | None = None,
    system: str | None = None,
    prefix: str = "moving",
) -> str:
    """Write a section that `movingSection` of `live/moving.js` can move, as an HTML figure.

    Parameters
    ----------
    plan, run, siphon, system
        As of `section`.
    t : float, optional
        Time (s), as of `section`.
    others : sequence of Plan
        Further plans that must fit without a change of scale, such as those at a slider's ends.
    prefix : str
        Begins every id in it, so that several can stand in one page.

    Returns
    -------
    str
        `<figure>` with both drawings, a caption for screen readers, and the scene as JSON in `.scene`.
    """
    view = SectionView(plan, others, siphon, system)
    drawn = view.show(plan, run, t)
    m, now = drawn.parts[0].movement, moment(plan, run, t)
    scene = {
        "system": view.system,
        "siphon": view.siphon,
        "siphons": {s.name: facts(plan, s) for s in plan.siphons},
        "vessels": [*(v.name for v in plan.vessels), plan.sump.name],
        "sump": plan.sump.name,
        "lines": {_key(line): _drive(plan, line) for line in view.scene.lines},
        "most": most(plan, run),
        "areas": areas(plan),
        "inlets": inlets(plan),
        "stages": STAGES,
        "units": _units(view.system),
        "state": {**vars(now), "when": m.words["when"]},
        "moves": m.moves,
    }
    data = json.dumps(scene, separators=(",", ":"), ensure_ascii=False).replace("<", "\\u003c")
    return (
        f'<figure class="water">{drawn.svg(prefix)}<figcaption class="unseen">{escape(drawn.alt)}'
        f'</figcaption><script type="application/json" class="scene">{data}</script></figure>'
    )


def _units(system: str) -> dict[str, list]:
    """Return by kind: [unit, so many to the SI unit, decimals or None, significant digits]."""
    found = {}
    for kind in SHOWN:
        what = KINDS[kind]
        per, unit = in_unit(1.0, kind, system)
        decimals = None if what.decimals is None else what.decimals[0 if system == "metric" else 1]
        found[kind] = [unit, per, decimals, what.digits]
    return found


def _key(line: Line) -> str:
    return f"{line.kind} {line.start}"


def _drive(plan: Plan, line: Line) -> dict:
    """Return what fills a pipe: the water at its start above its lowest place, its siphon, or the pump."""
    if line.kind == "delivery":
        return {"pump": True}
    if line.kind == "tail":
        return {"siphon": plan.siphon_in(line.start).name}
    return {"run": line.start, "low": min(z for _, z in line.points)}


def most(plan: Plan, run: SystemCycle | None) -> float:
    """Flow (m3/s) whose arrow is the largest."""
    flows = [g.flow_high for g in run.groups] if run is not None else []
    return max([*flows, plan.pump.flow or 0.0, 1e-5])


def state(
    plan: Plan, now: Moment, when: str, siphon: str, system: str, most: float
) -> tuple[dict[str, float], dict[str, str]]:
    """Return the values and the words that a drawing of this moment follows; `most` is a flow, m3/s."""
    values = {f"level {name}": level for name, level in now.levels.items()}
    words = {f"level {name}": show(level, "elevation", system) for name, level in now.levels.items()}
    for each in plan.siphons:
        fact, stage = facts(plan, each), now.regime[each.name]
        at = places(fact, stage, now.levels[each.host], now.outflow[each.name])
        values |= {f"{each.name} {key}": z for key, z in at.items()}
        words[f"stage {each.name}"] = stage
        words |= {f"{each.name} {key}": text for key, text in _said(fact, at, system).items()}
        key, flow = f"tail {each.host}", now.outflow[each.name]
        values |= {f"{key} filled": at["filled"], f"{key} arrow": _arrow_size(flow, most)}
        values[f"{key} stream"] = _stream(flow, most)
    for run in plan.runs:
        low = run.outfall
        wet = 1.0 if now.levels[run.start] > low + 1e-3 else 0.0
        flow = now.runs.get(run.start, 0.0)
        values |= {f"run {run.start} filled": wet, f"run {run.start} arrow": _arrow_size(flow, most)}
    key = f"delivery {plan.sump.name}"
    values |= {f"{key} filled": float(now.pump > 0.0), f"{key} arrow": _arrow_size(now.pump, most)}
    values["pump stream"] = _stream(now.pump, most)
    flow = now.outflow[siphon]
    stage = STAGES[now.regime[siphon]]
    if len(plan.siphons) > 1:
        stage = f"{siphon}: {stage[0].lower()}{stage[1:]}"
    words["stage"] = f"{stage}, {show(flow, 'flow', system)}" if flow > 0.0 else stage
    words["when"] = when
    words["pump"] = f"pump {show(now.pump, 'flow', system)}" if now.pump > 0.0 else "pump"
    return values, {name: text.replace("-", "−") for name, text in words.items()}


def _said(fact: dict, at: dict[str, float], system: str) -> dict[str, str]:
    """Words beside the parts of a siphon."""

    def long(x: float) -> str:
        return show(x, "length", system)

    def high(z: float) -> str:
        return show(z, "elevation", system)

    return {
        "start": high(at["start"]),
        "lip": f"at {high(at['lip'])}",
        "wide": f"lip {long(fact['lip_diameter'])}",
        "bore": f"bore {long(fact['bore'])}",
        "rim": f"at {high(at['rim'])}",
        "outlet": f"at {high(at['outlet'])}",
        "height": f"standpipe {long(fact['height'])}",
    }


def _arrow_size(flow: float, most: float) -> float:
    """How large an arrow is, negative where it points back."""
    size = 0.5 + 0.7 * (min(abs(flow) / most, 1.0)) ** 0.5
    return math.copysign(size, flow) if flow else 0.0


def _stream(flow: float, most: float) -> float:
    return 6.0 * (min(flow / most, 1.0)) ** 0.5 if flow > 0.0 else 0.0


def _alt(plan: Plan, now: Moment, when: str, name: str, system: str) -> str:
    siphon = plan.siphon(name)

    def at(z: float) -> str:
        return show(z, "elevation", system).replace("-", "−")

    vessels: list[Bed | Chamber | Sump] = [*plan.vessels, plan.sump]
    water = ", ".join(f"{v.name} {at(now.levels[v.name])}" for v in vessels)
    where = "bed" if isinstance(plan.vessel(siphon.host), Bed) else "chamber"
    return (
        f"Section of {plan.name}, {when}: {name} is {now.regime[name]}. "
        f"Water levels above {plan.datum}: {water}. In its {where}, the standpipe is "
        f"{show(siphon.standpipe.height, 'length', system)} high with its lip at "
        f"{at(plan.lip_level(siphon))}, "
        f"the flood level is {at(choking_level(plan, siphon))} and the bell rim "
        f"{at(plan.rim_level(siphon))}; the tail ends at {at(siphon.tail.outlet)}. "
        "Vessels are seen end on; gaps between them are not to scale."
    )

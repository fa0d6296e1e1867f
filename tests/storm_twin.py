"""A whole plan, start and stop of its siphons included, in the storm water simulator SWMM (through `pyswmm`).

Beds, chambers and sump become storage nodes with tables of area against depth,
runs, lips and siphons become outlets with tables of flow against head, the
pump becomes a pump, and SWMM's own control rules switch the siphon: a clock (a
closed outlet that only marks that it runs) starts when the water reaches the
starting level, the full bore opens when enough water has gone over the lip to
take the air along, and it shuts when the water reaches the rim. The gate of a
bed's run is set once a step to pass no more than the pipe's mouth takes.

Nothing of the package steps time here: tables come from the geometry and from
`fluids` friction in `tests.independent`, which takes the list of pieces of each
path from the package, and SWMM
integrates volumes and heads by its dynamic wave routing.

Where SWMM's model differs from the plan's:

* A tee holds water, `SMALL` m2 of it, where the plan gives it none. As much is
  taken off the chamber, so that the whole holds what the plan holds. Left in
  both, it lengthens a cycle by its volume over the pump's flow: with two tees,
  4000 and 2000 mm2 each give 750.6 and 743.5 s, a straight line to 736.4 s
  at none, where aquacalc has 736.5 s.
* Rules and gates act at the end of a step of `STEP` s.
* An outlet of SWMM passes nothing below about 0.03 mm of head.
* A tail that is drowned is not modelled; none of the plans used drowns it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from pyswmm import Links, Nodes, Simulation

from aquacalc.plan.model import Bed, Plan
from tests.independent import Independent, edge

#: Water surface of a tee, m2. SWMM chatters between small nodes and loses water there below about 2e-3.
SMALL = 4e-3
STEP = 0.1
#: Least opening of a mouth; at none SWMM would not say what the pipe could carry.
CLOSED = 1e-3
#: Steps between two readings of the levels.
READ_EVERY = 10
#: Every node reaches this far below its floor (m), so that a head may be taken from an outfall down there.
BELOW = 0.3
_OPTIONS = """[OPTIONS]
FLOW_UNITS CMS
FLOW_ROUTING DYNWAVE
LINK_OFFSETS DEPTH
START_DATE 01/01/2024
START_TIME 00:00:00
END_DATE 01/01/2024
END_TIME 23:00:00
REPORT_STEP 12:00:00
WET_STEP 12:00:00
DRY_STEP 12:00:00
ROUTING_STEP {step}
RULE_STEP 00:00:00
VARIABLE_STEP 0
MAX_TRIALS 12
HEAD_TOLERANCE 1e-6
MIN_SURFAREA 1e-6
THREADS 1
"""
_RULES = """RULE set_{s}
IF SIMULATION TIME <= 0.00001
THEN OUTLET full_{s} SETTING = 0
AND OUTLET clock_{s} SETTING = 0
PRIORITY 9

RULE break_{s}
IF NODE {host} DEPTH <= {rim:.9f}
AND OUTLET full_{s} TIMEOPEN >= 0
THEN OUTLET full_{s} SETTING = 0
AND OUTLET lip_{s} SETTING = 1
AND OUTLET clock_{s} SETTING = 0
PRIORITY 5

RULE choke_{s}
IF NODE {host} DEPTH >= {start:.9f}
AND OUTLET clock_{s} TIMECLOSED >= 0
THEN OUTLET clock_{s} SETTING = 1
PRIORITY 3

"""
_SHUT = """RULE shut_{run}
IF SIMULATION TIME <= 0.00001
THEN OUTLET {run} SETTING = {closed}
PRIORITY 9
"""


def key(name: str) -> str:
    return name.replace(" ", "_")


class Input:
    """The plan as an input file of SWMM."""

    def __init__(self, plan: Plan, sump_level: float):
        self.plan = plan
        self.ind = Independent(plan)
        self.levels = dict(zip(self.ind.names, self.ind.initial(sump_level), strict=False))
        self.lines: dict[str, list[str]] = {"OUTFALLS": ["away -9 FREE NO"]}
        self.tee_host = {tee.name: self.host(tee.name) for tee in plan.tees}
        self.deep = {v.name: v.shape.depth * 1.3 for v in (*plan.beds, *plan.chambers, plan.sump)}
        for vessel in (*plan.beds, *plan.chambers, plan.sump):
            self.vessel(vessel)
        for tee in plan.tees:
            # It starts where its siphon's vessel does, of whose water it has a part.
            level = self.levels[self.tee_host[tee.name]]
            self.store(tee.name, tee.elevation, level, f"FUNCTIONAL 0 0 {SMALL}")
        for run in self.ind.runs:
            self.run(*run[2:])
        for siphon in plan.siphons:
            self.siphon(siphon)
        for bed in plan.beds:
            self.pump(bed)

    def host(self, name):
        runs = {run.start: run.to for run in self.plan.runs}
        while name in runs:
            name = runs[name]
        return name

    def add(self, section, line):
        self.lines.setdefault(section, []).append(line)

    def curve(self, name, kind, rows):
        for i, (x, y) in enumerate(rows):
            self.add("CURVES", f"{name} {kind if i == 0 else ''} {x:.9g} {y:.12g}")

    def vessel(self, v):
        marks = set(np.linspace(0.0, self.deep[v.name], 60))
        steps = [v.media.depth] if isinstance(v, Bed) else []
        for s in self.plan.siphons:
            if s.host == v.name:
                steps += [s.standpipe.height, s.bell.rim_height, s.bell.top_height]
        if v.shape.kind == "half drum":
            marks |= {v.shape.depth * (k / 40) ** 2 for k in range(1, 40)}
        marks |= {
            z + side
            for z in (*steps, *getattr(v.shape, "depths", ()))
            for side in (-1e-6, 1e-6)
            if z + side > 0
        }
        # A tee's water is taken off its siphon's vessel, so that the whole holds as much as the plan.
        less = SMALL * sum(host == v.name for host in self.tee_host.values())
        areas = [(z + BELOW, self.ind.water[v.name].area(v.floor + z) - less) for z in sorted(marks)]
        name = key(v.name)
        self.curve(f"area_{name}", "STORAGE", [(0.0, SMALL), (BELOW - 1e-6, SMALL), *areas])
        self.store(v.name, v.floor, self.levels[v.name], f"TABULAR area_{name}")

    def store(self, name, floor, level, shape):
        z = level - floor + BELOW
        self.add("STORAGE", f"{key(name)} {floor - BELOW:.9f} {BELOW + 3.0} {z:.9f} {shape} 0 0")

    def run(self, path, run, inlet):
        name, to = key(run.start), key(run.to)
        heads = np.geomspace(1e-6, 3.0, 160)
        self.curve(f"run_{name}", "RATING", [(0.0, 0.0), *((h, path.flow(h)) for h in heads)])
        vessels = (*self.plan.beds, *self.plan.chambers)
        above = next((v.floor for v in vessels if v.name == run.start), None)
        floor = self.ind.tees[run.start].elevation if above is None else above
        # The head is taken from the outfall while that stands above the water below.
        crest = 0.0 if run.to in self.ind.tees else run.outfall - floor + BELOW
        self.add("OUTLETS", f"run_{name} {name} {to} {crest:.9f} TABULAR/HEAD run_{name} NO")
        if above is not None:
            self.add("CONTROLS", _SHUT.format(run=f"run_{name}", closed=CLOSED))

    def siphon(self, s):
        host, name = self.plan.vessel(s.host), key(s.name)
        start, rim, _ = self.ind.start[s.name]
        lip, coefficient = s.standpipe.lip_diameter, s.lip_orifice
        drowned = lambda h: coefficient * math.pi / 4 * lip**2 * math.sqrt(2 * 9.80665 * h)  # noqa: E731
        heads = np.linspace(0.0, 0.2, 400)
        self.curve(f"lip_{name}", "RATING", [(h, min(edge(h, lip, s.lip_weir), drowned(h))) for h in heads])
        fall = host.floor - s.tail.outlet
        depths = np.linspace(0.0, self.deep[s.host], 160)
        flow = self.ind.siphons[s.name].flow
        self.curve(f"full_{name}", "RATING", [(0.0, 0.0), *((z + BELOW, flow(z + fall)) for z in depths)])
        ends = f"{key(s.host)} {key(self.plan.sump.name)}"
        self.add("OUTLETS", f"lip_{name} {ends} {s.standpipe.height + BELOW} TABULAR/DEPTH lip_{name} NO")
        self.add("OUTLETS", f"full_{name} {ends} 0 TABULAR/DEPTH full_{name} NO")
        self.add("OUTLETS", f"clock_{name} {ends} {BELOW + 2.5} TABULAR/DEPTH lip_{name} NO")
        self.add(
            "CONTROLS",
            _RULES.format(
                s=name,
                host=key(s.host),
                rim=rim - host.floor + BELOW,
                start=start - host.floor + BELOW,
            ),
        )

    def pump(self, bed):
        name, floor = key(bed.name), self.plan.sump.floor
        share = self.ind.share[bed.name]
        depths = np.linspace(0.0, self.deep[self.plan.sump.name], 120)
        self.curve(f"pump_{name}", "PUMP4", [(z + BELOW, share * self.ind.pump(floor + z)) for z in depths])
        self.add("PUMPS", f"pump_{name} {key(self.plan.sump.name)} {name} pump_{name} ON 0 0")

    def text(self):
        parts = [f"[{section}]\n" + "\n".join(lines) for section, lines in self.lines.items()]
        return "\n\n".join([_OPTIONS.format(step=STEP), *parts, "[REPORT]\nINPUT NO\nCONTROLS NO\n"])


@dataclass
class Storm:
    """What SWMM did: times (s), levels (m) and water held (m3) by node, events (time, siphon, what)."""

    times: list[float] = field(default_factory=list)
    levels: dict[str, list[float]] = field(default_factory=dict)
    volumes: dict[str, list[float]] = field(default_factory=dict)
    events: list[tuple[float, str, str]] = field(default_factory=list)

    def level(self, name, t):
        return float(np.interp(t, self.times, self.levels[name]))

    def volume(self, names, t):
        return sum(float(np.interp(t, self.times, self.volumes[name])) for name in names)


def run_storm(plan: Plan, sump_level: float, folder: Path, breaks: int = 2, limit: float = 7200.0) -> Storm:
    """Run until every siphon has broken `breaks` times."""
    made = Input(plan, sump_level)
    path = folder / "plan.inp"
    path.write_text(made.text(), encoding="utf-8")
    vessels = (*plan.beds, *plan.chambers, plan.sump)
    found = Storm()
    state = {s.name: (0.0, 0.0) for s in plan.siphons}
    left = dict.fromkeys(state, breaks)
    gone = dict.fromkeys(state, 0.0)
    with Simulation(str(path)) as simulation:
        nodes, links = Nodes(simulation), Links(simulation)
        watched = {v.name: (nodes[key(v.name)], v.floor) for v in vessels}
        watched |= {tee.name: (nodes[key(tee.name)], tee.elevation) for tee in plan.tees}
        siphons = {
            s.name: [links[f"{part}_{key(s.name)}"] for part in ("full", "clock", "lip")]
            for s in plan.siphons
        }
        mouths = [
            (
                links[f"run_{key(run.start)}"],
                nodes[key(run.start)],
                nodes[key(run.to)],
                run,
            )
            for *_, run, _ in made.ind.runs
            if run.start not in made.ind.tees
        ]
        for step, _ in enumerate(simulation, 1):
            t = step * STEP
            if step % READ_EVERY == 0:
                found.times.append(t)
                for name, (node, floor) in watched.items():
                    found.levels.setdefault(name, []).append(floor - BELOW + node.depth)
                    found.volumes.setdefault(name, []).append(node.volume)
            for link, node, to, run in mouths:
                setting = link.current_setting
                full_flow = link.flow / setting if setting > 0.0 else 0.0
                leaving = full_flow > 0.0
                at, source = (run.start, node) if leaving else (run.to, to)
                most = made.ind.taken(run, watched[at][1] - BELOW + source.depth, leaving)
                link.target_setting = max(min(1.0, most / abs(full_flow)), CLOSED) if full_flow else 1.0
            for name, (full, clock, lip) in siphons.items():
                if clock.current_setting == 1.0 and full.current_setting == 0.0:
                    gone[name] += lip.flow * STEP
                    if gone[name] >= made.ind.start[name][2]:
                        full.target_setting, lip.target_setting = 1.0, 0.0
                else:
                    gone[name] = 0.0
                now = (full.current_setting, clock.current_setting)
                if now != state[name]:
                    what = {(0.0, 1.0): "choke", (1.0, 1.0): "full", (0.0, 0.0): "break"}[now]
                    found.events.append((t, name, what))
                    state[name] = now
                    left[name] -= what == "break"
            if t > limit or max(left.values()) <= 0:
                break
    return found


def culvert_level(bore: float, flow: float, code: int, folder: Path) -> float:
    """Level (m) over the invert that SWMM holds before a steep pipe whose mouth is a culvert of this code.

    It falls 1 in 50, so that the mouth and not the pipe decides.
    """
    file = folder / "culvert.inp"
    file.write_text(
        _OPTIONS.format(step=0.5).replace("END_TIME 23:00:00", "END_TIME 00:30:00")
        + f"[OUTFALLS]\nout -0.2 FREE NO\n[STORAGE]\npool 0 3 0 FUNCTIONAL 0 0 0.05 0 0\n"
        f"[CONDUITS]\npipe pool out 10 0.009 0 0 0 0\n[XSECTIONS]\npipe CIRCULAR {bore} 0 0 0 1 {code}\n"
        f'[INFLOWS]\npool FLOW "" FLOW 1.0 1.0 {flow:.9f}\n',
        encoding="utf-8",
    )
    with Simulation(str(file)) as run:
        for _ in run:
            pass
        return Nodes(run)["pool"].depth

"""An independent solution of a plan, with scipy and `fluids` only.

It takes from the package the plan, the level that each outlet drains to, the
law of the air that a jump carries off, and the list of pieces of each path with
bore, length and loss coefficient of each, so what is wrong in these is wrong in
both. All else is its own: the state is levels (not volumes), friction comes
from `fluids.friction.friction_factor` at every call (no tables), areas are
taken from the geometry directly, tees are given 2 mm2 of water surface instead
of none, and time goes by `scipy.integrate.solve_ivp` at tight tolerance with
its own event location.

Known differences: between Re 2000 and 4000, where no law holds, this joins the
`fluids` values by a straight line and aquacalc by a cubic; a tee's 2 mm2 holds
less than 1 mL.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass

import numpy as np
from fluids.friction import friction_factor
from scipy.integrate import solve_ivp

from aquacalc.equations import priming
from aquacalc.geometry.strainers import outlet_level
from aquacalc.hydraulics.paths import delivery_path, run_path, siphon_path
from aquacalc.plan.model import Bed, Plan, Shape

G = 9.80665
TEE_AREA = 2e-6


def viscosity(celsius: float) -> float:
    """Kinematic viscosity of water by iapws, m2/s."""
    from iapws import IAPWS97

    water = IAPWS97(T=celsius + 273.15, P=0.101325)
    return water.mu / water.rho


def friction(reynolds: float, rough: float) -> float:
    """Darcy factor from `fluids`, joined by a straight line between Re 2000 and 4000."""
    if 2000.0 < reynolds < 4000.0:
        part = (reynolds - 2000.0) / 2000.0
        return (1.0 - part) * friction_factor(2000.0, rough) + part * friction_factor(4000.0, rough)
    return friction_factor(reynolds, rough)


class Path:
    """Flow through pieces in series: secant on logarithms, `fluids` friction at every trial."""

    def __init__(self, pieces, nu):
        self.pieces = [p.floats() for p in pieces]
        self.nu = nu
        self.last = min(p.area for p in pieces) * 0.3

    def loss(self, q):
        total = 0.0
        for area, diameter, length, rough, k in self.pieces:
            v = q / area
            f = friction(v * diameter / self.nu, rough / diameter) if length > 0 else 0.0
            total += (f * length / diameter + k) * v * v / (2 * G)
        return total

    def flow(self, head):
        if head <= 0.0:
            return 0.0
        goal, x = math.log(head), math.log(self.last)
        y = math.log(self.loss(self.last)) - goal
        slope = 1.8
        for _ in range(60):
            step = -y / slope
            if abs(step) < 1e-13:
                break
            new = math.log(self.loss(math.exp(x + step))) - goal
            if new != y:
                slope = min(max((new - y) / step, 0.9), 2.1)
            x, y = x + step, new
        self.last = max(math.exp(x), 1e-9)
        return math.exp(x)


def area_of(shape: Shape, z: float) -> float:
    """Plan area (m2) at height `z`; beyond floor and rim the end area goes on."""
    z = min(max(z, 0.0), shape.depth)
    if shape.kind == "rectangular":
        return shape.length * shape.width
    if shape.kind == "round":
        return math.pi / 4 * shape.diameter**2
    if shape.kind in ("tapered", "oval"):
        part = z / shape.depth
        corners = math.pi / 4 if shape.kind == "oval" else 1.0
        return (
            corners
            * (shape.length + part * (shape.top_length - shape.length))
            * (shape.width + part * (shape.top_width - shape.width))
        )
    if shape.kind == "half drum":
        radius = shape.diameter / 2
        z = max(z, 2e-4)
        return 2 * shape.length * math.sqrt(max(radius**2 - (radius - z) ** 2, 0.0))
    return float(np.interp(z, shape.depths, shape.areas))


class Water:
    """Free area of one vessel of a plan against elevation."""

    def __init__(self, plan: Plan, vessel):
        self.vessel = vessel
        self.siphon = next((s for s in plan.siphons if s.host == vessel.name), None)

    def area(self, level):
        v, s = self.vessel, self.siphon
        z = level - v.floor
        area = area_of(v.shape, z)
        if isinstance(v, Bed) and z < v.media.depth:
            guard = math.pi / 4 * s.media_guard**2 if s else 0.0
            area = v.media.porosity * (area - guard) + guard
        if s:
            if z < s.standpipe.height:
                area -= math.pi / 4 * s.standpipe.pipe.outside_diameter**2
            if s.bell.rim_height < z < s.bell.top_height:
                area -= math.pi / 4 * (s.bell.outside_diameter**2 - s.bell.bore**2)
        return area


def edge(depth, bore, weir=1.71):
    """Flow over a level round edge as a weir."""
    return weir * math.pi * bore * max(depth, 0.0) ** 1.5


@functools.cache
def critical(loss):
    """Levels over the invert and flows of a mouth, over D and sqrt(g) D^2.5, by the wetted angle."""
    angle = np.linspace(0.02, 5.2, 4000)
    area = (angle - np.sin(angle)) / 8
    wide = np.sin(angle / 2)
    depth = (1 - np.cos(angle / 2)) / 2
    return depth + (1 + loss) * area / (2 * wide), np.sqrt(area**3 / wide)


def mouth(level, bore, projecting):
    """Flow into a level pipe's mouth with a free surface; it fills at a level of one bore."""
    if level <= 0.0:
        return 0.0
    levels, flows = critical(0.5 if projecting else 0.2)
    over = level / bore
    if over < levels[0]:
        flow = flows[0] * (over / levels[0]) ** 2
    else:
        flow = math.exp(np.interp(math.log(min(over, 1.0)), np.log(levels), np.log(flows)))
    return flow * math.sqrt(G) * bore**2.5 * max(over, 1.0) ** 6


@dataclass
class History:
    """One run: its pieces as (end time, dense solution), its names, events as (time, siphon, what)."""

    pieces: list
    names: list[str]
    events: list[tuple[float, str, str]]

    def level(self, name, t):
        solution = next((sol for end, sol in self.pieces if t <= end), self.pieces[-1][1])
        return float(solution(t)[self.names.index(name)])


class Independent:
    """The plan as a set of ordinary differential equations in levels."""

    def __init__(self, plan: Plan):
        self.plan = plan
        nu = viscosity(plan.water_temperature)
        self.nu = nu
        tees = {t.name: t for t in plan.tees}
        self.names = [v.name for v in (*plan.beds, *plan.chambers)] + list(tees) + [plan.sump.name]
        self.at = {name: i for i, name in enumerate(self.names)}
        self.water = {v.name: Water(plan, v) for v in (*plan.beds, *plan.chambers, plan.sump)}
        self.tees = tees
        total = sum(b.inflow_share for b in plan.beds)
        self.share = {b.name: b.inflow_share / total for b in plan.beds}
        self.runs = []
        for run in plan.runs:
            start_is_tee = run.start in tees
            inlet = -math.inf if start_is_tee else outlet_level(plan, plan.vessel(run.start))
            self.runs.append((self.at[run.start], self.at[run.to], Path(run_path(plan, run), nu), run, inlet))
        self.siphons = {s.name: Path(siphon_path(plan, s), nu) for s in plan.siphons}
        # Without its tail, and with all that the water has left lost where it falls into an open one.
        self.open = {s.name: Path(siphon_path(plan, s)[:-1], nu) for s in plan.siphons}
        self.airy = {}
        for s in plan.siphons:
            area, bore, *_ = self.open[s.name].pieces[-1]
            self.open[s.name].pieces.append((area, bore, 0.0, 0.0, 1.0))
            lip, wide = plan.vessel(s.host).floor + s.standpipe.height, s.tail.pipe.bore
            full = s.priming.froude * math.pi / 4 * wide**2 * math.sqrt(G * wide)
            self.airy[s.name] = self.open[s.name].flow(lip - self.foot(s)) < min(
                full, self.siphons[s.name].flow(lip - s.tail.outlet)
            )
        self.regime = {s.name: "over the lip" for s in plan.siphons}
        self.start = {}
        for s in plan.siphons:
            floor = plan.vessel(s.host).floor
            choke = (
                s.priming.observed
                or s.priming.froude
                * math.pi
                / 4
                * s.standpipe.pipe.bore** 2
                * math.sqrt(G * s.standpipe.pipe.bore)
            )
            lip = s.standpipe.lip_diameter
            head = (choke / (s.lip_weir * math.pi * lip)) ** (2 / 3)
            as_orifice = (choke / (s.lip_orifice * math.pi / 4 * lip**2)) ** 2 / (2 * G)
            air = math.pi / 4 * s.bell.bore**2 * (s.bell.top_height - s.standpipe.height)
            purge = air / priming.air_carried(5.0)  # water over the lip that takes the air along
            self.start[s.name] = (
                floor + s.standpipe.height + max(head, as_orifice),
                floor + s.bell.rim_height,
                purge,
            )
        self.delivery = Path(delivery_path(plan.pump.delivery), nu) if plan.pump.flow is None else None

    def foot(self, s):
        """Elevation at which the standpipe ends and the tail begins."""
        return self.plan.vessel(s.host).floor if s.standpipe.foot is None else s.standpipe.foot

    def pump(self, sump):
        pump = self.plan.pump
        if pump.flow is not None:
            q = pump.flow
        else:
            flows, heads = zip(*pump.curve, strict=True)
            low, high = 0.0, flows[-1]
            lift = pump.delivery.outlet - sump
            for _ in range(50):
                mid = (low + high) / 2
                if np.interp(mid, flows, heads) - lift > (self.delivery.loss(mid) if mid > 0 else 0.0):
                    low = mid
                else:
                    high = mid
            q = low
        guard = self.plan.sump.floor + pump.intake
        return q * min(max((sump - guard) / 0.002, 0.0), 1.0)

    def siphon_out(self, s, z, sump):
        if self.regime[s.name] == "full" and self.airy[s.name]:
            return self.open[s.name].flow(z - max(self.foot(s), sump))
        if self.regime[s.name] == "full":
            return self.siphons[s.name].flow(z - max(s.tail.outlet, sump))
        lip = self.plan.vessel(s.host).floor + s.standpipe.height
        head, wide = max(z - lip, 0.0), s.standpipe.lip_diameter
        return min(
            edge(head, wide, s.lip_weir), s.lip_orifice * math.pi / 4 * wide**2 * math.sqrt(2 * G * head)
        )

    def rates(self, t, y):
        net = [0.0] * len(self.names)
        sump = y[self.at[self.plan.sump.name]]
        pump = self.pump(sump)
        for name, share in self.share.items():
            net[self.at[name]] += share * pump
        net[self.at[self.plan.sump.name]] -= pump
        for i, j, path, run, inlet in self.runs:
            up, down = max(y[i], inlet), max(y[j], run.outfall)
            if up > down:
                q = path.flow(up - down)
                q = min(q, self.taken(run, y[i], True))
            else:
                q = -min(path.flow(down - up), self.taken(run, y[j], False))
            net[i] -= q
            net[j] += q
        gone = {}
        for s in self.plan.siphons:
            q = gone[s.name] = self.siphon_out(s, y[self.at[s.host]], sump)
            net[self.at[s.host]] -= q
            net[self.at[self.plan.sump.name]] += q
        levels = [
            q / (TEE_AREA if name in self.tees else self.water[name].area(y[i]))
            for i, (name, q) in enumerate(zip(self.names, net, strict=True))
        ]
        return levels + [gone[s.name] if self.regime[s.name] == "priming" else 0.0 for s in self.plan.siphons]

    def taken(self, run, level, leaving):
        """Most that goes into a run's mouth from still water at `level`: out of where it starts, or back."""
        projecting = any(f.name == "entrance, projecting" for f in run.fittings)
        tee = self.tees.get(run.start)
        inlet = tee.elevation if tee else outlet_level(self.plan, self.plan.vessel(run.start))
        bore = run.pipe.bore
        if not tee and self.plan.vessel(run.start).outlet == "floor" and leaving:
            # The end faces up: an edge all round, and then what the far end lets out.
            return min(edge(level - inlet, bore), mouth(level - run.outfall, bore, False))
        projecting = projecting and (tee is not None or self.plan.vessel(run.start).outlet != "floor")
        return mouth(level - max(inlet, run.outfall), bore, projecting)

    def initial(self, sump_level):
        y = []
        for name in self.names:
            host = next((s for s in self.plan.siphons if s.host == name), None)
            if name == self.plan.sump.name:
                y.append(sump_level)
            elif name in self.tees:
                y.append(self.tees[name].elevation)
            elif host:
                y.append(self.plan.vessel(name).floor + host.bell.rim_height)
            else:
                y.append(outlet_level(self.plan, self.plan.vessel(name)))
        return y + [0.0] * len(self.plan.siphons)  # m3 that went over each lip while it purged

    def run(self, sump_level, breaks=3, limit=1e5, rtol=1e-7, atol=1e-8, method="BDF"):
        """Integrate until every siphon has broken `breaks` times, or to `limit` seconds."""
        t, y = 0.0, self.initial(sump_level)
        pieces, events = [], []
        count = dict.fromkeys(self.regime, 0)
        while t < limit and min(count.values()) < breaks:
            watch = []
            for k, s in enumerate(self.plan.siphons):
                start, rim, purge = self.start[s.name]
                regime = self.regime[s.name]
                at = len(self.names) + k if regime == "priming" else self.at[s.host]
                target = {"full": rim, "priming": purge}.get(regime, start)

                def event(_, y, at=at, target=target):
                    return y[at] - target

                event.terminal = True
                event.direction = -1 if self.regime[s.name] == "full" else 1
                watch.append((s.name, event))
            found = solve_ivp(
                self.rates,
                (t, limit),
                y,
                method=method,
                rtol=rtol,
                atol=atol,
                events=[e for _, e in watch],
                dense_output=True,
            )
            assert found.success, found.message
            t, y = found.t[-1], list(found.y[:, -1])
            pieces.append((t, found.sol))
            fired = [name for (name, _), hits in zip(watch, found.t_events, strict=True) if len(hits)]
            for name in fired:
                if self.regime[name] == "full":
                    self.regime[name] = "over the lip"
                    count[name] += 1
                    events.append((t, name, "break"))
                    y[self.at[next(s.host for s in self.plan.siphons if s.name == name)]] = self.start[name][
                        1
                    ]
                elif self.regime[name] == "priming":
                    self.regime[name] = "full"
                    events.append((t, name, "full"))
                else:
                    self.regime[name] = "priming"
                    y[len(self.names) + list(self.regime).index(name)] = 0.0
                    events.append((t, name, "choke"))
        return History(pieces, self.names, events)

"""Plans drawn by number: TOML text from a seed, with nothing but `random.Random(seed)`.

Every topology (one bed, beds in series, a star on one tee, a comb of tees, each bed on its own run, a
siphon inside a bed, several siphons on one sump) with every shape, outlet, strainer, pipe series,
reducer, pump and state of the beds. The plans are built so that they can be read, not picked out of
many: the text of a seed is the same on every machine and under every version of the checks. Numbers
kept for a seed (`tests.frozen`) rest on that, so what is here draws the same for good; something new
(a shape, a key) is drawn after everything else or for seeds of its own.
"""

from __future__ import annotations

import itertools
import math
import random
from collections import Counter

from aquacalc.plan.model import Bed, Plan

#: (outside diameter, bore) of the sizes drawn, mm, to choose what goes into what; the plan itself names
#: series and size only.
SIZES = {
    "ASTM D1785 schedule 40": {
        "1/2 in": (21.3, 15.8), "3/4 in": (26.7, 20.9), "1 in": (33.4, 26.6), "1-1/4 in": (42.2, 35.1),
        "1-1/2 in": (48.3, 40.9), "2 in": (60.3, 52.5), "3 in": (88.9, 77.9), "4 in": (114.3, 102.3),
    },
    "ASTM D1785 schedule 80": {
        "1/2 in": (21.3, 13.9), "3/4 in": (26.7, 18.8), "1 in": (33.4, 24.3), "1-1/4 in": (42.2, 32.5),
        "1-1/2 in": (48.3, 38.1), "2 in": (60.3, 49.3), "3 in": (88.9, 73.7), "4 in": (114.3, 97.2),
    },
    "AS/NZS 1477 PN12": {
        "DN 20": (26.8, 24.0), "DN 25": (33.6, 30.2), "DN 32": (42.3, 37.9), "DN 40": (48.3, 43.3),
        "DN 50": (60.4, 54.2), "DN 80": (88.9, 79.7), "DN 100": (114.3, 102.5),
    },
    "ISO 1452 PN16": {
        "20 mm": (20.0, 17.0), "25 mm": (25.0, 21.2), "32 mm": (32.0, 27.2), "40 mm": (40.0, 34.0),
        "50 mm": (50.0, 42.6), "63 mm": (63.0, 53.6), "90 mm": (90.0, 76.6), "110 mm": (110.0, 96.8),
    },
}  # fmt: skip
OWN = "own"
TOPOLOGIES = ("single", "series", "star", "comb", "own runs", "inside")
BED_SHAPES = ("rectangular", "tapered", "round", "half drum", "table")
UPRIGHT = ("round", "rectangular", "tapered", "table")
BETWEEN = (
    "bend 45",
    "bend 45, swept",
    "bend 90, short",
    "bend 90, swept",
    "bend 90, sharp",
    "ball valve, open",
)
ENTRANCES = ("entrance, square", "entrance, rounded", "entrance, projecting")
MEDIA = ("gravel", "expanded clay", "scoria")


def plan_text(seed: int) -> str:
    """Return the plan of `seed` as the text of a plan file."""
    return _Writer(seed).text()


def topology(plan: Plan, host: str) -> str:
    """How the beds of one siphon are joined, seen from the runs alone."""
    tees = {tee.name for tee in plan.tees}
    into = Counter(run.to for run in plan.runs)
    chain = [run for run in plan.runs if run.start in tees and run.to in tees]
    mine = [run for run in plan.runs if run.to == host]
    vessel = plan.vessel(host)
    if isinstance(vessel, Bed):
        return "inside a bed"
    if len(mine) > 1:
        return "own runs"
    last = mine[0].start
    if last not in tees:
        return "series" if into[last] else "single"
    return "comb" if any(run.to == last for run in chain) else "star"


class _Writer:
    """Draws one plan. Everything inside is in mm and L/min."""

    def __init__(self, seed: int):
        self.seed = seed
        self.draw = random.Random(seed)
        self.us = self.draw.random() < 0.25
        self.tables: list[str] = []
        self.shares: list[float] = []
        self.floors: list[float] = []
        self.held = 0.0
        self.target = 0.0

    # values as written

    def mm(self, value: float) -> str:
        if self.us and self.draw.random() < 0.5:
            return f'"{value / 25.4:.3f} in"'
        if self.draw.random() < 0.2:
            return f'"{value / 1000.0:.4f} m"'
        return f'"{value:.1f} mm"'

    def table(self, head: str, **keys: object) -> None:
        lines = [head, *(f"{key.strip('_')} = {value}" for key, value in keys.items() if value is not None)]
        self.tables.append("\n".join(lines))

    def between(self, low: float, high: float) -> float:
        return self.draw.uniform(low, high)

    def some(self, chance: float) -> bool:
        return self.draw.random() < chance

    # parts

    def pipe(self, low: float, high: float) -> tuple[dict, float, float]:
        """Return keys, outside diameter and bore of a pipe with its bore between `low` and `high`."""
        series = self.draw.choice((*SIZES, OWN))
        if series == OWN:
            bore = round(self.between(low, high), 1)
            outside = round(bore + self.between(3.0, 7.0), 1)
            keys = {
                "series": '"own"', "size": '"by hand"', "bore": f'"{bore} mm"',
                "outside_diameter": f'"{outside} mm"',
                "roughness": f'"{self.draw.choice((0.0015, 0.0021, 0.007, 0.05))} mm"',
            }  # fmt: skip
            return keys, outside, bore
        fits = [s for s, (_, bore) in SIZES[series].items() if low <= bore <= high]
        size = self.draw.choice(fits)
        outside, bore = SIZES[series][size]
        keys = {"series": f'"{series}"', "size": f'"{size}"'}
        if self.some(0.15):
            bore = round(0.98 * bore, 1)
            keys["bore"] = f'"{bore} mm"'
        return keys, outside, bore

    def fittings(self, bore: float, first: tuple[str, ...] = (), last: tuple[str, ...] = ()) -> str:
        found = [f'"{name}"' for name in first]
        for _ in range(self.draw.choice((0, 0, 1, 1, 2))):
            kind = self.draw.choice(("plain", "plain", "counted", "spaced", "given"))
            name = self.draw.choice(BETWEEN)
            if kind == "plain":
                found.append(f'"{name}"')
            elif kind == "counted":
                found.append(f'"{self.draw.randint(2, 3)} x {name}"')
            elif kind == "spaced":
                found.append(f'{{ fitting = "two 45s", spacing = "{bore * self.between(1.0, 5.0):.1f} mm" }}')
            else:
                found.append(f'{{ fitting = "hose tail", k = {self.between(0.1, 0.9):.2f} }}')
        found += [f'"{name}"' for name in last]
        return f"[{', '.join(found)}]"

    def shape(self, kind: str, least: float, most: float, depth: float) -> tuple[dict, float]:
        """Return keys of an inside between `least` and `most` wide, and its volume (L) about."""
        a, b = (round(self.between(least, most), 1) for _ in range(2))
        area = a * b
        if kind == "rectangular":
            keys = {"length": self.mm(a), "width": self.mm(b), "depth": self.mm(depth)}
        elif kind == "tapered":
            wider = self.between(1.02, 1.25)
            keys = {
                "length": self.mm(a), "width": self.mm(b), "top_length": self.mm(a * wider),
                "top_width": self.mm(b * wider), "depth": self.mm(depth),
            }  # fmt: skip
            area *= wider
        elif kind == "round":
            keys = {"diameter": self.mm(a), "depth": self.mm(depth)}
            area = math.pi * a * a / 4.0
        elif kind == "half drum":
            full = self.some(0.5)
            diameter = 2.0 * depth if full else 2.0 * depth + round(self.between(10.0, 80.0), 1)
            keys = {"length": self.mm(a), "diameter": f'"{diameter:.1f} mm"'}
            if not full:
                keys["depth"] = f'"{depth:.1f} mm"'
            area = a * diameter * 0.78
        else:
            area = math.pi * a * a / 4.0
            parts = (1.0, self.between(1.0, 1.2), self.between(1.1, 1.4))
            areas = ", ".join(f'"{area * p / 1e6:.4f} m2"' for p in parts)
            keys = {
                "depths": f'["0 mm", "{round(0.4 * depth, 1)} mm", "{depth:.1f} mm"]',
                "areas": f"[{areas}]",
            }
            area *= 1.2
        return {"shape": f'"{kind}"', **keys}, area * depth / 1e6

    def strainer(self) -> str | None:
        kind = self.draw.choice(("slots", "holes", "none"))
        if kind == "none":
            return None
        count = self.draw.randint(20, 60)
        width = round(self.between(2.0, 4.0) if kind == "slots" else self.between(4.0, 8.0), 1)
        parts = [f'kind = "{kind}"', f"count = {count}", f'width = "{width} mm"']
        if kind == "slots":
            parts.append(f'length = "{round(self.between(15.0, 40.0))} mm"')
        if self.some(0.2):
            parts.append("discharge_coefficient = 0.45")
        return f"{{ {', '.join(parts)} }}"

    def bed(self, name: str, floor: float, depth: float, host: bool) -> float:
        """Write a bed; return the elevation of its outlet."""
        shape, volume = self.shape(self.draw.choice(BED_SHAPES), 500.0, 1400.0, depth)
        side = not host and self.some(0.35)
        height = round(self.between(0.0, 50.0), 1) if side else 0.0
        share = self.draw.choice((1, 1, 1, 1, 1, 2, 0.5, 1.5, 1, 0))
        self.shares.append(share)
        self.floors.append(floor)
        self.held += 0.45 * volume
        own = self.some(0.4)
        self.table(
            "[[bed]]", name=f'"{name}"', **shape, floor=self.mm(floor),
            media=f'"{self.draw.choice(MEDIA)}"', media_depth=self.mm(depth * self.between(0.6, 0.98)),
            porosity=f"{self.between(0.35, 0.6):.2f}" if own else None,
            bulk_density=f'"{self.between(300, 1700):.0f} kg/m3"' if own else None,
            outlet='"side"' if side else None, outlet_height=f'"{height} mm"' if side else None,
            seal=f'"{self.draw.choice(("rubber pipe seal", "tank fitting"))}"',
            inflow_share=f"share {len(self.shares) - 1}", empty_mass=f'"{self.between(3, 30):.1f} kg"',
            supports=self.draw.choice((None, 2, 4, 6)), strainer=self.strainer(),
        )  # fmt: skip
        return floor + height

    def run(self, start: str, to: str, fall: float, first=(), last=(), outfall: float | None = None) -> None:
        keys, _, bore = self.pipe(20.0, 54.5)
        self.table(
            "[[run]]", from_=f'"{start}"', to=f'"{to}"', **keys,
            length=f'"{(abs(fall) + self.between(80.0, 2500.0)) / 1000.0:.3f} m"',
            fittings=self.fittings(bore, first, last),
            outfall=None if outfall is None else f'"{outfall:.1f} mm"',
        )  # fmt: skip

    def entrance(self) -> str:
        return self.draw.choice(ENTRANCES)

    def group(self, letter: str, topology: str) -> None:
        """Write one siphon with its beds, tees, runs and chamber."""
        depth = round(self.between(240.0, 400.0), 1)
        count = 1 if topology == "single" else self.draw.randint(2, 4)
        inside = topology == "inside"
        if inside:
            count = self.draw.randint(1, 3)
        step = round(self.between(5.0, 30.0), 1) if topology == "series" else 0.0
        names = [f"bed {letter}{i + 1}" for i in range(count)]
        floors = [round(700.0 + step * (count - 1 - i) + self.between(0.0, 3.0), 1) for i in range(count)]
        outlets = [
            self.bed(name, floor, depth, inside and i == count - 1)
            for i, (name, floor) in enumerate(zip(names, floors, strict=True))
        ]
        lowest = min(floors)
        lip = lowest + depth - round(self.between(12.0, 0.5 * depth), 1)
        if inside:
            host, floor, feeders = names[-1], floors[-1], names[:-1]
            into = floor + round(self.between(0.0, 15.0), 1)
        else:
            host, floor, feeders = f"chamber {letter}", round(self.between(400.0, 540.0), 1), names
            into = floor + round(self.between(15.0, 80.0), 1)
        way = self.draw.choice(("series", "star", "own runs")) if inside else topology
        self.lines(letter, way, feeders, floors, outlets, host, into)
        self.siphon(letter, host, floor, lip, inside)

    def lines(self, letter, way, feeders, floors, outlets, host, into) -> None:
        beds = list(zip(feeders, outlets, strict=False))
        if way == "star" and beds:
            tee, level = f"tee {letter}", round(self.between(600.0, 670.0), 1)
            self.table("[[tee]]", name=f'"{tee}"', elevation=f'"{level} mm"')
            for i, (name, outlet) in enumerate(beds):
                end = "tee, in line" if i == 0 else "tee, branch"
                self.run(name, tee, outlet - level, (self.entrance(),), (end,))
            self.run(tee, host, level - into, (), ("exit",), into)
        elif way == "comb" and beds:
            level = round(self.between(640.0, 670.0), 1)
            tees = []
            for i in range(max(len(beds) - 1, 1)):
                tees.append((f"tee {letter}{i + 1}", round(level - 8.0 * i, 1)))
                self.table("[[tee]]", name=f'"{tees[-1][0]}"', elevation=f'"{tees[-1][1]} mm"')
            for i, (name, outlet) in enumerate(beds):
                tee, at = tees[max(i - 1, 0)]
                end = "tee, in line" if i == 0 else "tee, branch"
                self.run(name, tee, outlet - at, (self.entrance(),), (end,))
            for (tee, at), (after, lower) in itertools.pairwise(tees):
                self.run(tee, after, at - lower, (), ("tee, in line",))
            tee, at = tees[-1]
            self.run(tee, host, at - into, (), ("exit",), into)
        else:
            for i, (name, outlet) in enumerate(beds):
                to, outfall = host, into
                if way == "series" and i + 1 < len(beds):
                    to, outfall = beds[i + 1][0], floors[i + 1] + round(self.between(0.0, 20.0), 1)
                self.run(name, to, outlet - outfall, (self.entrance(),), ("exit",), outfall)

    def siphon(self, letter: str, host: str, floor: float, lip: float, inside: bool) -> None:
        name, height = f"siphon {letter}", round(lip - floor, 1)
        pipe, outside, bore = self.pipe(15.0, 35.5)
        primes = 0.55 * math.sqrt(9.81 * bore / 1000.0) * math.pi * (bore / 1000.0) ** 2 / 4.0 * 60000.0
        self.target += primes * self.between(0.6, 2.6)
        entry = self.draw.choice(("square", "cone", "rounded"))
        widest = outside
        lip_diameter = cone = None
        if self.some(0.6):
            wide = round(bore * self.between(1.15, 1.6), 1)
            widest = max(outside, wide + outside - bore)
            lip_diameter = f'"{wide} mm"'
            cone = f'"{self.between(15.0, 50.0):.1f} mm"' if entry != "square" else None
        wanted = widest + 12.0
        choices = [
            (series, size, *sizes) for series, of in SIZES.items() for size, sizes in of.items()
            if wanted <= sizes[1] and sizes[0] < 120.0
        ]  # fmt: skip
        if self.some(0.2):
            bell_bore = round(self.between(wanted, 112.0), 1)
            bell_outside = round(bell_bore + 5.0, 1)
            bell = {"bore": f'"{bell_bore} mm"', "outside_diameter": f'"{bell_outside} mm"'}
        else:
            series, size, bell_outside, _ = self.draw.choice(choices)
            bell = {"series": f'"{series}"', "size": f'"{size}"'}
        guard = bell_outside + self.between(20.0, 80.0)
        if not inside:
            kind = self.draw.choice(UPRIGHT)
            least = bell_outside + 40.0
            shape, _ = self.shape(kind, least, least + 150.0, round(height + self.between(60.0, 140.0), 1))
            self.table("[[chamber]]", name=f'"{host}"', **shape, floor=f'"{floor:.1f} mm"')
        self.table(
            "[[siphon]]", name=f'"{name}"', host=f'"{host}"',
            media_guard=f'"{guard:.1f} mm"' if inside else None,
            lip_weir='"1.60 m^0.5/s"' if self.some(0.15) else None,
            lip_orifice="0.605" if self.some(0.15) else None,
        )  # fmt: skip
        self.table(
            "[siphon.standpipe]", **pipe, height=f'"{height:.1f} mm"', lip_diameter=lip_diameter,
            entry=f'"{entry}"', cone_length=cone,
        )  # fmt: skip
        rim = round(self.between(20.0, 40.0), 1)
        openings = self.draw.randint(3, 6)
        width = min(40.0, 0.8 * math.pi * bell_outside / openings) * self.between(0.6, 1.0)
        self.table(
            "[siphon.bell]", **bell, top_height=f'"{height + self.between(15.0, 45.0):.1f} mm"',
            rim_height=f'"{rim} mm"', openings=openings, opening_width=f'"{width:.1f} mm"',
            opening_height=f'"{rim * self.between(0.6, 1.0):.1f} mm"',
        )  # fmt: skip
        tail, _, tail_bore = self.pipe(15.0, 42.9)
        outlet = round(floor - self.between(60.0, 320.0), 1)
        self.table(
            "[siphon.tail]", **tail, length=f'"{floor - outlet + self.between(50.0, 500.0):.1f} mm"',
            fittings=self.fittings(tail_bore, (), ("exit",)), outlet=f'"{outlet} mm"',
        )  # fmt: skip
        if self.some(0.3):
            flow = primes * self.between(0.6, 1.3)
            self.table(
                "[siphon.priming]", observed=f'"{flow:.2f} L/min"',
                observed_error=f'"{0.05 * flow:.2f} L/min"' if self.some(0.7) else None,
            )  # fmt: skip
        elif self.some(0.2):
            self.table("[siphon.priming]", froude=0.6, froude_low=0.35, froude_high=0.9)

    def sump(self) -> tuple[float, float]:
        """Write the sump; return the elevations of its floor and of the intake."""
        depth = round(self.between(500.0, 800.0), 1)
        rim = round(self.between(150.0, 320.0), 1)
        floor = rim - depth
        wanted = self.held * self.between(0.9, 2.8) + 40.0
        side = math.sqrt(wanted * 1e6 / (0.6 * depth))
        shape, _ = self.shape(self.draw.choice(UPRIGHT), side, 1.15 * side, depth)
        level = depth * self.between(0.6, 0.95)
        intake = round(self.between(40.0, 120.0), 1)
        self.table(
            "[sump]", name='"tank"' if self.some(0.2) else None, **shape, floor=f'"{floor:.1f} mm"',
            water_level=f'"{level:.1f} mm"',
            measured_with=f'"{self.draw.choice(("beds drained", "beds flooded"))}"',
            freeboard=f'"{self.between(20, 80):.0f} mm"' if self.some(0.5) else None,
        )  # fmt: skip
        self.intake = intake
        return floor, floor + intake

    def pump(self, floor: float, intake: float) -> None:
        outlet = max(self.floors) + round(self.between(250.0, 500.0), 1)
        curve = flow = None
        if self.some(0.4):
            head, most = outlet - floor + self.between(400.0, 1600.0), 1.6 * self.target
            points = ((0.0, 1.0), (0.45, 0.82), (0.8, 0.45), (1.0, 0.0))
            curve = ", ".join(f'["{q * most:.2f} L/min", "{h * head / 1000.0:.3f} m"]' for q, h in points)
            curve = f"[{curve}]"
        else:
            flow = f'"{self.target:.2f} L/min"'
            if self.us:
                flow = f'"{self.target / 3.785411784:.3f} gpm"'
        self.table(
            "[pump]", flow=flow, curve=curve, intake=f'"{self.intake} mm"',
            power='"35 W"' if self.some(0.5) else None,
        )  # fmt: skip
        if curve or self.some(0.5):
            keys, _, bore = self.pipe(15.0, 35.5)
            self.table(
                "[pump.delivery]", **keys,
                length=f'"{(outlet - intake + self.between(300.0, 3000.0)) / 1000.0:.3f} m"',
                fittings=self.fittings(bore, (), ("exit",)), outlet=f'"{outlet:.1f} mm"',
            )  # fmt: skip

    def text(self) -> str:
        several = self.some(0.2)
        chosen = [self.draw.choice(TOPOLOGIES) for _ in range(self.draw.randint(2, 3) if several else 1)]
        self.table(
            "[plan]", name=f'"generated {self.seed}"', note='"All numbers are drawn at random."',
            datum='"floor of the shed"', units='"us"' if self.us else '"metric"',
            water_temperature=f'"{self.between(6.0, 32.0):.1f} degC"',
        )  # fmt: skip
        for letter, topology in zip("ABC", chosen, strict=False):
            self.group(letter, topology)
        self.pump(*self.sump())
        if self.some(0.3):
            self.table(
                "[limits]", bed_freeboard=f'"{self.between(10, 60):.0f} mm"', floods_low=0.5, floods_high=8,
                residual=f'"{self.between(10, 60):.0f} mm"', stop_margin='"15 %"', strainer_ratio=1.2,
                floor_load=f'"{self.between(400, 1500):.0f} kg/m2"',
            )  # fmt: skip
        if not any(self.shares):
            self.shares[0] = 1
        text = "\n\n".join(self.tables) + "\n"
        for i, share in enumerate(self.shares):
            text = text.replace(f"= share {i}\n", f"= {share}\n")
        return text

"""What a report must say of a plan, worked out a second way.

From the plan's own sizes and from the few numbers that only the run in time can give (`FROM_THE_RUN`);
areas and volumes by integrating the geometry of `tests.independent`, friction from `fluids`, viscosity from
`iapws`, and everything else by arithmetic written here. Keys are (section, siphon, row) and
(section, table, line, column) of the report's JSON.
"""

from __future__ import annotations

import itertools
import math

from iapws import IAPWS95, IAPWS97
from scipy.integrate import quad, solve_ivp

from aquacalc.plan.model import Bed, Plan
from tests.independent import G, Water, area_of, friction, viscosity

#: Rows that the run in time gives, or words.
FROM_THE_RUN = {
    "cycle": {"outcome", "period", "spill_time", "priming_time", "drain_time", "inflow", "flow_start",
              "flow_break", "flow_steady", "level", "breaks", "flood"},
    "window": {"today_low", "today_high", "stop", "stop_with_margin"},
    "standpipe": {"pipe"},
    "siphon": {"flow_lip", "flow_rim"},
    "sump": {"low", "high"},
    "pump": {"flow"},
    "power_cut": {"rest", "left"},
    "levels": {"low", "at_start", "at_break", "high"},
    "drain_lines": {"pipe", "flow"},
    "strainers": {"openings", "flow", "may_clog"},
}  # fmt: skip


def circle(diameter: float) -> float:
    return math.pi * diameter * diameter / 4.0


def carried_off(froude: float, air: float, flow: float) -> float:
    """Time (s) for air to leave: a hydraulic jump carries 0.0066 (Fr - 1)^1.4 of the water's flow as air."""
    return air / (0.0066 * (froude - 1.0) ** 1.4 * flow)


class SecondWay:
    """Everything a report says of `plan` whose JSON is `out`."""

    def __init__(self, plan: Plan, out: dict):
        self.plan, self.out = plan, out
        self.nu = viscosity(plan.water_temperature)
        self.sections = {(s["key"], s["subject"]): s for s in out["sections"]}
        self.hosts = {}
        after = {run.start: run.to for run in plan.runs}
        for bed in plan.beds:
            name = bed.name
            while name in after:
                name = after[name]
            self.hosts[bed.name] = next(s for s in plan.siphons if s.host == name)

    def value(self, section: str, row: str, subject: str = "") -> float:
        return self.sections[section, subject]["rows"][row]["value"]

    def cell(self, section: str, table: str, line: str, column: str) -> float:
        return self.sections[section, ""]["tables"][table]["lines"][line][column]["value"]

    def held(self, vessel, level: float) -> float:
        """Water (m3) that stands in a vessel up to an elevation."""
        water, marks = Water(self.plan, vessel), {vessel.floor, level}
        tops = [vessel.floor + z for z in getattr(vessel.shape, "depths", ())]
        if isinstance(vessel, Bed):
            tops.append(vessel.floor + vessel.media.depth)
        for siphon in self.plan.siphons:
            if siphon.host == vessel.name:
                heights = (siphon.standpipe.height, siphon.bell.rim_height, siphon.bell.top_height)
                tops += [vessel.floor + z for z in heights]
        marks |= {z for z in tops if vessel.floor < z < level}
        steps = sorted(marks)
        return sum(quad(water.area, a, b, limit=200)[0] for a, b in itertools.pairwise(steps))

    def lost(self, pipe, length: float, k: float, flow: float) -> tuple[float, float, float]:
        """Velocity, friction factor and head lost in a pipe; no factor where no law holds."""
        speed = flow / circle(pipe.bore)
        if 1900.0 < speed * pipe.bore / self.nu < 4100.0:
            return speed, math.nan, math.nan
        f = friction(speed * pipe.bore / self.nu, pipe.roughness / pipe.bore)
        return speed, f, (f * length / pipe.bore + k) * speed * speed / (2.0 * G)

    def rows(self) -> dict[tuple[str, str, str], float]:
        """Return what each row must hold."""
        found = {}
        for siphon in self.plan.siphons:
            for part in (self._cycle, self._window, self._standpipe, self._siphon):
                section = part.__name__.strip("_")
                found |= {(section, siphon.name, k): v for k, v in part(siphon).items()}
        for part in (self._sump, self._power_cut, self._pump, self._water):
            found |= {(part.__name__.strip("_"), "", k): v for k, v in part().items()}
        return found

    def _cycle(self, siphon) -> dict:
        def said(row: str):
            return self.value("cycle", row, siphon.name)

        floor = self.plan.vessel(siphon.host).floor
        outcome = said("outcome")
        if outcome == "spills without starting":
            return {"above": said("level") - floor - siphon.standpipe.height}
        if outcome == "runs on without stopping":
            return {"above": said("level") - floor - siphon.bell.rim_height}
        if outcome != "floods and drains":
            return {}
        period, drain = said("period"), said("drain_time")
        mean = said("pumped") / drain
        found = {
            "floods": 1.0 / period,
            "fill_time": period - drain - said("priming_time") - said("spill_time"),
            "pumped": said("inflow") * period,
        }
        if mean > said("inflow"):
            found["by_hand"] = said("flood") / said("inflow") + said("flood") / (mean - said("inflow"))
        return found

    def _primes(self, siphon, froude: float) -> float:
        bore = siphon.standpipe.pipe.bore
        return froude * math.sqrt(G * bore) * circle(bore)

    @staticmethod
    def _froude(pipe, flow: float) -> float:
        return flow / circle(pipe.bore) / math.sqrt(G * pipe.bore)

    def _starts(self, siphon) -> tuple[float, float, float]:
        p = siphon.priming
        if p.observed is not None:
            return p.observed - p.observed_error, p.observed, p.observed + p.observed_error
        low, middle, high = (self._primes(siphon, fr) for fr in (p.froude_low, p.froude, p.froude_high))
        # The narrowest bore may start it: flows of one Froude number go with the bore to the power 2.5.
        narrowest = min(1.0, siphon.tail.pipe.bore / siphon.standpipe.pipe.bore)
        return low * narrowest**2.5, middle, high

    def _window(self, siphon) -> dict:
        low, middle, high = self._starts(siphon)
        found = {
            "today": self.value("cycle", "inflow", siphon.name), "start_low": low, "start": middle,
            "start_high": high,
        }  # fmt: skip
        if "stop" in self.sections["window", siphon.name]["rows"]:
            stop = self.value("siphon", "flow_rim", siphon.name)
            full = next(w for w in self.out["windows"] if w["siphon"] == siphon.name)
            if full["tail_full"] == "full":
                kept = max(self.plan.limits.stop_margin, 0.0066 * 9.0**1.4)
                found |= {"stop": stop, "stop_with_margin": stop - kept * stop}
        return found

    def _over_lip(self, siphon, flow: float) -> float:
        """Head over the lip: as a weir or as an orifice, whichever passes less."""
        wide = siphon.standpipe.lip_diameter
        weir = (flow / (siphon.lip_weir * math.pi * wide)) ** (2 / 3)
        orifice = (flow / (siphon.lip_orifice * circle(wide))) ** 2 / (2.0 * G)
        return max(weir, orifice)

    def _standpipe(self, siphon) -> dict:
        stand, bell = siphon.standpipe, siphon.bell
        choking = self._starts(siphon)[1]
        inflow = self.value("cycle", "inflow", siphon.name)
        air = circle(bell.bore) * (bell.top_height - stand.height)
        lip = self.plan.vessel(siphon.host).floor + stand.height
        found = {
            "bore": stand.pipe.bore, "lip_diameter": stand.lip_diameter, "lip": lip, "choking_flow": choking,
            "priming_head": self._over_lip(siphon, choking),
            "priming_level": lip + self._over_lip(siphon, choking),
            "trapped_air": air,
            "purge_time": carried_off(5.0, air, choking),
        }  # fmt: skip
        if inflow > 0.0:
            found["froude"] = inflow / circle(stand.pipe.bore) / math.sqrt(G * stand.pipe.bore)
            found["lip_head"] = self._over_lip(siphon, inflow)
        return found

    def _siphon(self, siphon) -> dict:
        stand, bell, floor = siphon.standpipe, siphon.bell, self.plan.vessel(siphon.host).floor
        low, high = self.value("sump", "low"), min(self.value("sump", "high"), self.plan.sump.rim)
        lip, rim = floor + stand.height, floor + bell.rim_height
        found = {
            "head_lip": lip - max(siphon.tail.outlet, low), "head_rim": rim - max(siphon.tail.outlet, high),
            "bore_area": circle(stand.pipe.bore),
            "annulus_area": circle(bell.bore) - circle(max(stand.pipe.outside_diameter, stand.lip_diameter)),
            "openings_area": bell.openings * bell.opening_width * bell.opening_height,
        }  # fmt: skip
        rows, pressures = self.sections["siphon", siphon.name]["rows"], []
        for where, up in (("lip", 0.0), ("rim", lip - rim)):
            flow = rows[f"flow_{where}"]["value"] if f"flow_{where}" in rows else 0.0
            speed = flow / circle(stand.pipe.bore)
            taken = 0.0
            if flow:
                found[f"velocity_{where}"] = speed
                table = self.sections["siphon", siphon.name]["tables"][f"head_{where}"]["lines"]
                taken = sum(table[part]["head"]["value"] for part in ("bell openings", "bell annulus"))
                taken += (1.0 + table["standpipe"]["k"]["value"]) * speed * speed / (2.0 * G)
            density = self.value("water", "density")
            pressures.append(101325.0 - density * G * (up + taken))
        found["crest_pressure"] = min(pressures)
        found["vapour_pressure"] = IAPWS97(T=self.plan.water_temperature + 273.15, x=0.0).P * 1e6
        return found

    def _sump(self) -> dict:
        sump, plan = self.plan.sump, self.plan
        low, high = self.value("sump", "low"), self.value("sump", "high")
        drained = self._drained_sump()
        beds = sum(self.held(v, self._drained(v)) for v in (*plan.beds, *plan.chambers))
        back = circle(plan.pump.delivery.pipe.bore) * plan.pump.delivery.length if plan.pump.delivery else 0.0
        rim, intake = sump.floor + sump.shape.depth, sump.floor + plan.pump.intake
        off = self.value("sump", "pump_off")
        spare = self.held(sump, low) - self.held(sump, intake)
        area = sum(v.shape.area(v.shape.depth) for v in (*plan.beds, sump))
        dry = {"dry": spare / (area * 0.002) * 86400.0} if spare > 0.0 else {}  # 2 mm a day
        return dry | {
            "swing": high - low, "swing_volume": self.held(sump, high) - self.held(sump, low), "rim": rim,
            "freeboard": rim - max(high, off), "intake": intake, "cover": low - intake,
            "water": drained + beds, "pump_off": self._level(drained + back),
        }  # fmt: skip

    def _drained(self, vessel) -> float:
        for siphon in self.plan.siphons:
            if siphon.host == vessel.name:
                return vessel.floor + siphon.bell.rim_height
        if not isinstance(vessel, Bed):
            return vessel.floor
        # 6 mm of pipe through the seal and a chamfer of 4, or a tank fitting's flange of 10 mm.
        return vessel.floor + (vessel.outlet_height if vessel.outlet == "side" else 0.010)

    def _drained_sump(self) -> float:
        """Water (m3) in the sump with every bed drained."""
        plan = self.plan
        water = self.held(plan.sump, plan.sump.floor + plan.sump.water_level)
        if plan.sump.measured_with == "beds drained":
            return water
        for vessel in (*plan.beds, *plan.chambers):
            siphon = next((s for s in plan.siphons if s.host == vessel.name), None)
            siphon = siphon or self.hosts[vessel.name]
            lip = plan.vessel(siphon.host).floor + siphon.standpipe.height
            low = self._drained(vessel)
            water += self.held(vessel, max(lip, low)) - self.held(vessel, low)
        return water

    def _level(self, water: float) -> float:
        """Elevation at which the sump holds so much water, by halving; its walls go on above the rim."""
        low, high = self.plan.sump.floor, self.plan.sump.floor + 100.0
        for _ in range(60):
            middle = 0.5 * (low + high)
            low, high = (middle, high) if self.held(self.plan.sump, middle) < water else (low, middle)
        return low

    def _back(self) -> float:
        """Water that leaves the delivery pipe when the pump stops."""
        d = self.plan.pump.delivery
        return circle(d.pipe.bore) * d.length if d and d.check_valve == "none" else 0.0

    def _power_cut(self) -> dict:
        plan = self.plan
        vessels = (*plan.beds, *plan.chambers)

        def held(column: str, table: str = "power_cut") -> float:
            return sum(self.held(v, self.cell(table, table, v.name, column)) for v in vessels)

        before = "at_start"
        if any(self.cell("levels", "levels", v.name, "at_start") is None for v in vessels):
            before = "at_break"  # what does not cycle has come to rest
        still = held("left")
        found = {
            "sump": self._level(self.value("sump", "water") + self._back() - still),
            "pipe": self._back(),
            "held": held("stands") - sum(self.held(v, self._drained(v)) for v in vessels),
        }
        cycling = {self.value("cycle", "outcome", s.name) == "floods and drains" for s in plan.siphons}
        if len(cycling) == 1:
            found["comes_back"] = held(before, "levels") - still + self._back()
        return found

    def _power_cuts(self) -> dict:
        found = {}
        for vessel in (*self.plan.beds, *self.plan.chambers):
            siphon = next((s for s in self.plan.siphons if s.host == vessel.name), None)
            siphon = siphon or self.hosts[vessel.name]
            stands = max(self.plan.vessel(siphon.host).floor + siphon.standpipe.height, self._drained(vessel))
            if self.value("cycle", "outcome", siphon.name) == "does not flood":
                stands = min(
                    stands, max(self.cell("levels", "levels", vessel.name, "high"), self._drained(vessel))
                )
            end = self.plan.pump.delivery.outlet if self._back() else math.inf
            found[vessel.name] = {"stands": min(stands, end), "deep": min(stands, end) - vessel.floor}
        return found

    def _pump(self) -> dict:
        pump, flow = self.plan.pump, self.value("pump", "flow")
        found = {"turnover": flow / self.value("sump", "water")}
        if pump.delivery and flow > 0.0:
            d = pump.delivery
            _, _, lost = self.lost(d.pipe, d.length, sum(f.count * f.k for f in d.fittings), flow)
            middle = (self.value("sump", "low") + self.value("sump", "high")) / 2.0
            found["head"] = d.outlet - middle + lost
        if pump.power:
            found |= {"power": pump.power, "energy": pump.power * 24 * 3600}
        return found

    def _water(self) -> dict:
        water = IAPWS95(T=self.plan.water_temperature + 273.15, P=0.101325)
        return {"temperature": self.plan.water_temperature, "density": water.rho, "viscosity": self.nu}

    def cells(self) -> dict[tuple[str, str, str, str], float]:
        """Return what each cell of the tables on beds, runs and strainers must hold."""
        found = {}
        parts = (
            self._levels, self._power_cuts, self._drain_lines, self._strainers, self._outlets, self._weight,
            self._far_end,
        )  # fmt: skip
        for part in parts:
            table = {"power_cuts": "power_cut"}.get(part.__name__.strip("_"), part.__name__.strip("_"))
            section = "strainers" if table in ("outlets", "far_end") else table
            for line, values in part().items():
                found |= {(section, table, line, column): v for column, v in values.items()}
        return found

    def _levels(self) -> dict:
        plan, found = self.plan, {}
        for vessel in (*plan.beds, *plan.chambers, plan.sump):
            rim = vessel.floor + vessel.shape.depth
            high = self.cell("levels", "levels", vessel.name, "high")
            found[vessel.name] = {"rim": rim, "freeboard": rim - high}
            low = self.cell("levels", "levels", vessel.name, "low")
            if vessel is not plan.sump and low is not None:
                found[vessel.name]["left"] = max(low - self._drained(vessel), 0.0)
        return found

    def _drain_lines(self) -> dict:
        found = {}
        for run in self.plan.runs:
            line = f"{run.start} to {run.to}"
            k = sum(f.count * f.k for f in run.fittings)
            flow = self.cell("drain_lines", "drain_lines", line, "flow")
            found[line] = {"bore": run.pipe.bore, "length": run.length}
            if flow > 0.0:
                speed, f, head = self.lost(run.pipe, run.length, k, flow)
                found[line] |= {"velocity": speed, "friction": f, "k": k, "head": head}
        return found

    def _strainers(self) -> dict:
        found = {}
        for bed in self.plan.beds:
            run = next((r for r in self.plan.runs if r.start == bed.name), None)
            if run is None or bed.strainer is None:
                continue
            s = bed.strainer
            area = s.count * (s.width * s.length if s.kind == "slots" else circle(s.width))
            flow = self.cell("strainers", "strainers", bed.name, "flow")
            found[bed.name] = {
                "area": area, "bore_area": circle(run.pipe.bore), "ratio": area / circle(run.pipe.bore),
            }  # fmt: skip
            if flow > 0.0:
                found[bed.name]["head"] = (flow / (s.discharge_coefficient * area)) ** 2 / (2.0 * G)
        return found

    def _outlets(self) -> dict:
        found = {}
        for bed in self.plan.beds:
            if any(r.start == bed.name for r in self.plan.runs):
                low = self.cell("levels", "levels", bed.name, "low")
                found[bed.name] = {"sill": self._drained(bed) - bed.floor}
                if low is not None:
                    found[bed.name]["stays"] = low - bed.floor
        return found

    def _far_end(self) -> dict:
        """What the media holds up, Ergun's law integrated from the outlet by scipy."""
        found = {}
        for bed in self.plan.beds:
            siphon, media = self.hosts[bed.name], bed.media
            rows = self.sections["cycle", siphon.name]["rows"]
            told = self.sections.get(("strainers", ""), {"tables": {}})["tables"]
            if "far_end" not in told or "flow_break" not in rows or media.grain_smallest == 0.0:
                continue
            flow, at_break = rows["flow_break"]["value"], self.cell("levels", "levels", bed.name, "at_break")
            length = bed.shape.across(0.0)[0]
            inside = siphon.host == bed.name
            along = 0.0 if bed.outlet == "side" else bed.outlet_along
            along = 0.5 * length if inside or along is None else along
            away = max(along, length - along)
            lip = self.plan.vessel(siphon.host).floor + siphon.standpipe.height
            mine = [v for v in (*self.plan.beds, *self.plan.chambers) if self.group_of(v) is siphon]
            floods = {v.name: self.held(v, lip) - self.held(v, min(self._drained(v), lip)) for v in mine}
            gives = flow * floods[bed.name] / sum(floods.values()) * away / length
            shares = sum(b.inflow_share for b in self.plan.beds)
            comes = self.value("pump", "flow") * bed.inflow_share / shares
            near = siphon.media_guard if inside else self.plan.run_from(bed.name).pipe.outside_diameter
            low = self.cell("levels", "levels", bed.name, "low")
            cells = {"away": away}
            for when, level, q, spread in (("break", at_break, gives, True), ("low", low, comes, False)):
                for how, sphericity in (("easy", 1.0), ("hard", 0.7)):
                    rise = self._media_rise(bed, (0.5 * near, away), level, q, spread, sphericity)
                    cells[f"{when}_{how}"] = rise
            deep = max(at_break - bed.floor, 0.002) + 0.5 * cells["break_hard"]
            speed = gives / (area_of(bed.shape, deep) / length * deep)
            slope = max(cells["break_hard"] / away, 1e-9)
            cells["settles"] = media.porosity * away**2 * slope / (speed * deep)  # e L2 / (k h)
            found[bed.name] = cells
        return found

    def group_of(self, vessel):
        return self.hosts.get(vessel.name) or next(s for s in self.plan.siphons if s.host == vessel.name)

    def _media_rise(self, bed, span, level, flow, spread, sphericity) -> float:
        near, away = span
        media, water = bed.media, IAPWS95(T=self.plan.water_temperature + 273.15, P=0.101325)
        grain = sphericity * math.sqrt(media.grain_smallest * media.grain_largest)
        gone, e = 1.0 - media.porosity, media.porosity
        deep = max(level - bed.floor, 0.002)
        wide = area_of(bed.shape, deep) / bed.shape.across(0.0)[0]
        if away <= near or flow <= 0.0:
            return 0.0

        def slope(x, h):
            speed = flow * (1.0 - x / away if spread else 1.0) / (min(wide, math.pi * x) * h[0])
            thick = 150.0 * gone**2 * water.mu * speed / (e**3 * grain**2 * water.rho * G)
            return [(thick + 1.75 * gone * speed**2 / (e**3 * grain * G)) * (h[0] < media.depth)]

        return solve_ivp(slope, span, [deep], rtol=1e-7, atol=1e-8).y[0][-1] - deep

    def _weight(self) -> dict:
        found = {}
        for bed in self.plan.beds:
            shape, steps = bed.shape, 2000
            guards = sum(circle(s.media_guard) for s in self.plan.siphons if s.host == bed.name)
            dz = bed.media.depth / steps
            full = sum(area_of(shape, (i + 0.5) * dz) for i in range(steps)) * dz
            media = bed.media.bulk_density * (full - guards * bed.media.depth)
            high = min(self.cell("levels", "levels", bed.name, "high"), bed.floor + shape.depth)
            water = self.value("water", "density") * self.held(bed, high)
            area = area_of(shape, 0.0)
            if shape.kind == "half drum":
                area = shape.length * shape.diameter
            total = bed.empty_mass + media + water
            found[bed.name] = {
                "empty": bed.empty_mass, "media": media, "water": water, "total": total, "area": area,
                "load": total / area, "support": total / bed.supports,
            }  # fmt: skip
        return found

    def finding(self, key: str, subject: str) -> tuple[float, float | None, int] | None:
        """Return value, limit, and +1 where the value must be at least the limit, -1 where at most."""
        plan, limits, sump = self.plan, self.plan.limits, self.sections["sump", ""]["rows"]
        rim = sump["rim"]["value"]
        if key in ("sump_overflow", "drain_back"):
            level = sump["high" if key == "sump_overflow" else "pump_off"]["value"]
            return rim - level, plan.sump.freeboard, 1
        siphon = next((s for s in plan.siphons if s.name == subject), None)
        if siphon is not None:
            return self._siphon_finding(key, siphon, min(sump["high"]["value"], rim))
        high = max(
            self.cell("levels", "levels", vessel.name, "high") for vessel in (*plan.beds, *plan.chambers)
        )
        if key == "pump_cover":
            return round(sump["cover"]["value"], 6), 0.02, 1
        if key == "siphon_back":
            return plan.pump.delivery.outlet, high, 1
        level = self.sections["levels", ""]["tables"]["levels"]["lines"].get(subject, {})
        bed = next((bed for bed in plan.beds if bed.name == subject), None)
        if bed is not None and (found := self._bed_finding(key, bed, level)):
            return found
        if key == "drains":
            return level["left"]["value"], limits.residual, -1
        if key in ("bed_freeboard", "chamber_freeboard"):
            asked = limits.bed_freeboard if key == "bed_freeboard" else 0.010
            return level["freeboard"]["value"], asked, 1
        if key == "strainer" and bed.strainer is not None:
            return self.cell("strainers", "strainers", subject, "ratio"), limits.strainer_ratio, 1
        if key == "weight":
            return self.cell("weight", "weight", subject, "load"), limits.floor_load or None, -1
        return None

    def _bed_finding(self, key: str, bed: Bed, level: dict) -> tuple[float, float, int] | None:
        top, media = bed.floor + bed.media.depth, bed.media
        if key == "flood":
            high = level["high"]["value"] - bed.floor
            return (high, media.depth, -1) if high > media.depth + 0.003 else (high, 0.5 * media.depth, 1)
        if key == "dry_top":
            return top - level["high"]["value"], 0.0, 1
        if key == "far_end" and ("strainers", "") in self.sections:
            return self.cell("strainers", "far_end", bed.name, "low_easy"), self.plan.limits.residual, -1
        if key == "sill":
            return self._drained(bed) - (bed.floor + bed.outlet_height), self.plan.limits.residual, -1
        if key == "wet_zone":
            return bed.outlet_height, 0.050, -1
        if key == "strainer_grains" or (key == "strainer" and bed.strainer is None):
            coarse = media.grain_smallest + 0.85 * (media.grain_largest - media.grain_smallest)
            if bed.strainer is None:
                return self.plan.run_from(bed.name).pipe.bore, coarse, -1
            return bed.strainer.width, coarse / (1.2 if bed.strainer.kind == "slots" else 1.0), -1
        return None

    def fill(self) -> list[tuple[float, float]]:
        """Depths between which the sump is filled: the pump covered, the floor dry."""
        sump, low, high = self.plan.sump, self.value("sump", "low"), self.value("sump", "high")
        off = self.value("sump", "pump_off")
        less = self.held(sump, low) - self.held(sump, sump.floor + self.plan.pump.intake + 0.02)
        rim = sump.floor + sump.shape.depth
        more = self.held(sump, rim - sump.freeboard) - self.held(sump, max(high, off))
        cycles = all(self.value("cycle", "outcome", s.name) == "floods and drains" for s in self.plan.siphons)
        states = [off, low] if cycles and len(self.plan.siphons) == 1 else [off]
        return [
            tuple(self._level(max(self.held(sump, z) + change, 0.0)) - sump.floor for change in (-less, more))
            for z in states
        ]

    def losses(self, siphon, where: str) -> dict[str, dict[str, float]]:
        """Velocity, friction and head of each part of a siphon, by the flow of the table."""
        flow = self.value("siphon", f"flow_{where}", siphon.name)
        rows = self.sections["siphon", siphon.name]["rows"]
        stand = siphon.standpipe
        gap = siphon.bell.bore - max(stand.pipe.outside_diameter, stand.lip_diameter)
        parts = {  # area, and the bore that friction goes by
            "bell openings": (rows["openings_area"]["value"], 0.0),
            "bell annulus": (rows["annulus_area"]["value"], gap),
            "standpipe": (circle(stand.pipe.bore), stand.pipe.bore),
            "tail": (circle(siphon.tail.pipe.bore), siphon.tail.pipe.bore),
        }
        found = {}
        for part, cells in self.sections["siphon", siphon.name]["tables"][f"head_{where}"]["lines"].items():
            said = {name: cell["value"] for name, cell in cells.items()}
            area, bore = parts[part]
            speed, f = flow / area, 0.0
            found[part] = {"velocity": speed}
            if bore:
                pipe = siphon.tail.pipe if part == "tail" else stand.pipe
                Re = speed * bore / self.nu
                f = math.nan if 1900.0 < Re < 4100.0 else friction(Re, pipe.roughness / bore)
                found[part]["friction"] = f
                f *= said["length"] / bore
            found[part]["head"] = (f + said["k"]) * speed * speed / (2.0 * G)
        return found

    def _siphon_finding(self, key: str, siphon, high: float) -> tuple[float, float | None, int] | None:
        window = next(w for w in self.out["windows"] if w["siphon"] == siphon.name)
        rows = {k: of["value"] for k, of in self.sections["siphon", siphon.name]["rows"].items()}
        stand, bell = siphon.standpipe, siphon.bell
        over = math.pi * stand.lip_diameter * (bell.top_height - stand.height)
        lip = stand.lip_diameter + stand.pipe.outside_diameter - stand.pipe.bore
        ring = 0.25 * math.pi * (bell.bore**2 - max(lip, stand.pipe.outside_diameter) ** 2)
        cycle = self.sections["cycle", siphon.name]["rows"]
        steady = cycle.get("flow_steady", {"value": math.inf})["value"]
        if key == "cycle":
            return cycle["period"]["value"], None, 0
        if key == "floods":
            floods = cycle["floods"]["value"]
            low, many = self.plan.limits.floods_low / 3600.0, self.plan.limits.floods_high / 3600.0
            upper = floods > many or (floods >= low and many - floods <= floods - low)
            return (floods, many, -1) if upper else (floods, low, 1)
        return {
            "tail_full": (self._froude(siphon.tail.pipe, window["stop"]), None, 0),
            "start": (window["today_low"], window["start_high"], 1),
            "spills": (min(window["today_low"], steady), window["start_high"], 1),
            "stop": (window["today_high"], window["stop_with_margin"], -1),
            "runs_on": (window["today_high"], window["stop"], -1),
            "tail": (high, siphon.tail.outlet, -1),
            "crest": (rows["crest_pressure"], rows["vapour_pressure"] + 20e3, 1),
            "bell_gap": (ring / rows["bore_area"], 1.0, 1),
            "bell_openings": (rows["openings_area"] / rows["bore_area"], 1.0, 1),
            "bell_clearance": (over / rows["bore_area"], 1.0, 1),
        }.get(key)

"""Whether a plan can be built at all: ranges, network, geometry.

Whether it works is for the findings; here is refused only what has no meaning.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from aquacalc import catalogue, units
from aquacalc.plan import model
from aquacalc.plan.errors import PlanError
from aquacalc.plan.network import host_of
from aquacalc.plan.records import flatten, tables_of
from aquacalc.plan.schema import TABLES, Key

_SLACK = 1e-9


def range_problem(key: Key, value: float) -> tuple[str, str] | None:
    """Return (reason, fix) when a quantity is not finite, zero, negative or beyond belief, else None."""
    low, high = key.believed
    name = key.kind.replace("_", " ")
    fix = f"write it for example as {units.KINDS[key.kind].example}"
    if not math.isfinite(value):
        return "is not a finite number", fix
    if value == 0.0 and low == 0.0 and not key.zero:
        return "is zero", f"give the real {name}, above 0"
    if value < low and low == 0.0 and key.kind != "temperature":
        return "is negative", f"give the real {name}, above 0"
    if not low <= value <= high:
        shown = [units.show(v, key.kind) for v in (low, high)]
        return f"is beyond belief ({shown[0]} to {shown[1]})", f"check the number and the unit; {fix}"
    return None


def check_plan(plan: model.Plan, file: str = "plan") -> None:
    """Refuse a plan that cannot be built.

    Parameters
    ----------
    plan : Plan
    file : str
        Stands in the error as the file.

    Raises
    ------
    PlanError
        For the first thing found: a value out of its range, a network that is
        no tree ending at siphons, or sizes that contradict each other.
    """
    checker = _Checker(plan, file)
    for check in (
        checker.ranges,
        checker.names,
        checker.network,
        checker.beds,
        checker.runs,
        checker.siphons,
        checker.lips,
        checker.sump,
        checker.pump,
        checker.limits,
    ):
        check()


def narrowest(shape: model.Shape) -> float:
    """Return the smallest inside width of a vessel, m; of a table, the diameter of its smallest area."""
    if shape.kind == "round":
        return shape.diameter
    if shape.kind == "half drum":
        return min(shape.length, shape.diameter)
    if shape.kind == "table":
        return math.sqrt(4.0 * min(shape.areas) / math.pi)
    sides = [shape.length, shape.width]
    if shape.kind == "tapered":
        sides += [shape.top_length, shape.top_width]
    return min(sides)


class _Checker:
    def __init__(self, plan: model.Plan, file: str):
        self.plan = plan
        self.file = file
        self.vessels = {v.name: v for v in (*plan.beds, *plan.chambers)}
        self.tees = {t.name: t for t in plan.tees}
        self.hosts = {s.host: s for s in plan.siphons}

    def fail(self, key: str, value: object, reason: str, fix: str, kind: str = "length"):
        if isinstance(value, float):
            value = units.show(value, kind, self.plan.units)
        raise PlanError(self.file, key, value, reason, fix)

    def show(self, value: float, kind: str = "length") -> str:
        return units.show(value, kind, self.plan.units)

    def ranges(self):
        for path, place, record in tables_of(self.plan):
            table_keys = {k.name: k for k in TABLES[path].keys}
            for name, value in flatten(path, record).items():
                key = table_keys[name]
                if key.numeric and value is not None:
                    problem = range_problem(key, value)
                    if problem:
                        self.fail(f"{place}.{name}", repr(value), *problem)
            if hasattr(record, "shape"):
                self.shape(record.shape, place)
            if hasattr(record, "pipe") and record.pipe.bore >= record.pipe.outside_diameter:
                self.fail(f"{place}.bore", record.pipe.bore, "is not less than the outside diameter",
                          "measure both again")  # fmt: skip

    def shape(self, shape: model.Shape, place: str):
        if shape.kind == "half drum" and shape.depth > shape.diameter + _SLACK:
            self.fail(f"{place}.depth", shape.depth, f"is more than the drum's diameter "
                      f"({self.show(shape.diameter)})", "give the inside depth, half the diameter as a rule")  # fmt: skip
        if shape.kind == "table":
            if len(shape.depths) != len(shape.areas):
                self.fail(f"{place}.areas", f"{len(shape.areas)} values", "does not go with depths "
                          f"({len(shape.depths)} values)", "give one area for each depth")  # fmt: skip
            if shape.depths[0] != 0.0 or not _rising(shape.depths):
                self.fail(f"{place}.depths", [self.show(d) for d in shape.depths],
                          "does not rise from 0", "begin at 0 mm and let each be larger than the one before")  # fmt: skip
            if min(shape.areas) <= 0.0:
                self.fail(f"{place}.areas", min(shape.areas), "is zero", "give each area above 0", "area")

    def names(self):
        """Names are what runs, edits and findings go by."""
        plan = self.plan
        seen: dict[str, str] = {}
        for table, records in (("bed", plan.beds), ("tee", plan.tees), ("chamber", plan.chambers),
                               ("siphon", plan.siphons), ("sump", (plan.sump,))):  # fmt: skip
            for record in records:
                if record.name in seen:
                    self.fail(f"{table}.{record.name}.name", record.name,
                              f"is the name of a {seen[record.name]} too", "give each its own name")  # fmt: skip
                seen[record.name] = table

    def network(self):
        plan = self.plan
        for siphon in plan.siphons:
            key = f"siphon.{siphon.name}.host"
            if siphon.host not in self.vessels:
                self.fail(key, siphon.host, "is no chamber or bed of this plan", self.near(siphon.host, self.vessels))
            if self.hosts[siphon.host] is not siphon:
                self.fail(key, siphon.host, "holds two siphons", "give each siphon its own chamber or bed")
        for chamber in plan.chambers:
            if chamber.name not in self.hosts:
                self.fail(f"chamber.{chamber.name}", chamber.name, "has no siphon",
                          f'add [[siphon]] with host = "{chamber.name}", or take the chamber out')  # fmt: skip
        leaving: set[str] = set()
        entered: set[str] = set()
        ends = {**self.vessels, **self.tees}
        for run in plan.runs:
            if run.start not in ends:
                self.fail(f"run.{run.start}.from", run.start, "is no bed or tee of this plan",
                          self.near(run.start, ends))  # fmt: skip
            if run.to not in ends:
                self.fail(f"run.{run.start}.to", run.to, "is no bed, tee or chamber of this plan",
                          self.near(run.to, ends))  # fmt: skip
            if run.start in self.hosts:
                self.fail(f"run.{run.start}.from", run.start, "is emptied by its siphon and by this run",
                          "take the run out")  # fmt: skip
            if run.start in leaving:
                self.fail(f"run.{run.start}.from", run.start, "has two runs out of it",
                          "keep one run, and join pipes with a tee")  # fmt: skip
            leaving.add(run.start)
            entered.add(run.to)
        for bed in plan.beds:
            if bed.name not in leaving and bed.name not in self.hosts:
                self.fail(f"bed.{bed.name}", bed.name, "has no run out of it and no siphon in it",
                          f'add [[run]] with from = "{bed.name}"')  # fmt: skip
        for tee in plan.tees:
            if tee.name not in leaving:
                self.fail(f"tee.{tee.name}", tee.name, "has no run out of it",
                          f'add [[run]] with from = "{tee.name}"')  # fmt: skip
            if tee.name not in entered:
                self.fail(f"tee.{tee.name}", tee.name, "has no run into it",
                          f'lead a run to it with to = "{tee.name}", or take it out')  # fmt: skip
        for chamber in plan.chambers:
            if chamber.name not in entered:
                self.fail(f"chamber.{chamber.name}", chamber.name, "has no run into it",
                          f'lead a run to it with to = "{chamber.name}", or take it out')  # fmt: skip
        try:
            self.host_of = host_of(plan)
        except KeyError as error:
            run = next(r for r in plan.runs if r.start == error.args[0])
            self.fail(f"run.{run.start}.to", run.to, "makes a loop that never reaches a siphon",
                      "lead the last run of the line to the siphon's chamber")  # fmt: skip

    def near(self, name: str, known: Iterable[str]) -> str:
        known = tuple(known)
        return catalogue.suggestion(catalogue.near_matches(name, known), known)

    def beds(self):
        plan = self.plan
        runs = {run.start: run for run in plan.runs}
        for bed in plan.beds:
            place = f"bed.{bed.name}"
            if bed.media.depth > bed.shape.depth + _SLACK:
                self.fail(f"{place}.media_depth", bed.media.depth, f"is more than the bed's depth "
                          f"({self.show(bed.shape.depth)})", "lower the media or deepen the bed")  # fmt: skip
            if bed.outlet == "floor" and bed.outlet_height:
                self.fail(f"{place}.outlet_height", bed.outlet_height, "does not belong to a floor outlet",
                          'leave it out, or write outlet = "side"')  # fmt: skip
            run = runs.get(bed.name)
            if bed.outlet == "side" and run and bed.outlet_height + run.pipe.bore > bed.shape.depth + _SLACK:
                self.fail(f"{place}.outlet_height", bed.outlet_height, "puts the outlet above the bed's wall",
                          "lower the outlet")  # fmt: skip
            if bed.strainer:
                self.strainer(bed.strainer, f"{place}.strainer")
        if all(bed.inflow_share == 0.0 for bed in plan.beds):
            first = plan.beds[0].name
            self.fail(f"bed.{first}.inflow_share", "0", "and every other share is 0, so no bed gets water",
                      "give at least one bed a share above 0")  # fmt: skip

    def strainer(self, strainer: model.Strainer, place: str):
        if strainer.kind == "slots" and strainer.length == 0.0:
            self.fail(f"{place}.length", strainer.length, "is zero", "give the length of a slot")
        if strainer.kind == "holes" and strainer.length:
            self.fail(f"{place}.length", strainer.length, "does not belong to holes",
                      "leave it out; width is the diameter of a hole")  # fmt: skip

    def runs(self):
        for run in self.plan.runs:
            place = f"run.{run.start}"
            self.ends(run.fittings, place, run.start in self.vessels, run.to in self.vessels)
            start = self.vessels.get(run.start)
            top = start.outlet_level if start else self.tees[run.start].elevation
            if run.to in self.tees:
                level = self.tees[run.to].elevation
                if abs(run.outfall - level) > _SLACK:
                    self.fail(f"{place}.outfall", run.outfall, f"is not the elevation of {run.to} "
                              f"({self.show(level, 'elevation')})", "leave outfall out", "elevation")  # fmt: skip
            else:
                into = self.vessels[run.to]
                if run.outfall < into.floor - _SLACK or run.outfall + run.pipe.bore > into.rim + _SLACK:
                    self.fail(f"{place}.outfall", run.outfall, f"is outside the wall of {run.to} "
                              f"({self.show(into.floor, 'elevation')} to {self.show(into.rim, 'elevation')})",
                              "give an elevation that leaves room for the pipe", "elevation")  # fmt: skip
            self.long_enough(run.length, abs(top - run.outfall), place)

    def ends(self, fittings: tuple[model.Fitting, ...], place: str, entrance: bool, leaves: bool):
        """An entrance stands first where water leaves a vessel, an exit last where it ends, and nowhere else."""
        names = [f.name for f in fittings]
        key = f"{place}.fittings"
        if entrance and not (names and names[0].startswith("entrance")):
            self.fail(key, _listed(names), "does not begin with an entrance", 'begin it with "entrance, square"')
        if leaves and not (names and names[-1].startswith("exit")):
            self.fail(key, _listed(names), "does not end with an exit", 'end it with "exit"')
        inside = names[1 if entrance else 0 : -1 if leaves else None]
        doubled = [n for n in inside if n.startswith(("entrance", "exit"))]
        ended = [f.name for f in fittings if f.count > 1 and f.name.startswith(("entrance", "exit"))]
        if doubled or ended:
            self.fail(key, _listed(names), f'has "{(doubled + ended)[0]}" where there is no such end',
                      "keep one entrance at a bed's outlet and one exit into a vessel")  # fmt: skip

    def long_enough(self, length: float, drop: float, place: str):
        if length < drop - _SLACK:
            self.fail(f"{place}.length", length, f"is shorter than the difference of level it spans "
                      f"({self.show(drop)})", "measure the pipe along its middle, or check the elevations")  # fmt: skip

    def siphons(self):
        for siphon in self.plan.siphons:
            place = f"siphon.{siphon.name}"
            host = self.vessels[siphon.host]
            self.standpipe(siphon, host, f"{place}.standpipe")
            self.bell(siphon, host, f"{place}.bell")
            tail, rim = siphon.tail, host.floor + siphon.bell.rim_height
            self.ends(tail.fittings, f"{place}.tail", False, True)
            if tail.outlet >= rim:
                self.fail(f"{place}.tail.outlet", tail.outlet, f"is not below the bell rim "
                          f"({self.show(rim, 'elevation')}), so nothing is siphoned",
                          "lead the tail lower", "elevation")  # fmt: skip
            self.long_enough(tail.length, abs(host.floor - tail.outlet), f"{place}.tail")
            guard = siphon.media_guard
            if isinstance(host, model.Bed) and guard == 0.0:
                self.fail(f"{place}.media_guard", "", "is missing: the siphon stands in media",
                          "give the inside diameter of its media guard")  # fmt: skip
            if guard and not siphon.bell.outside_diameter < guard < narrowest(host.shape):
                self.fail(f"{place}.media_guard", guard, f"does not fit between the bell "
                          f"({self.show(siphon.bell.outside_diameter)}) and {siphon.host} "
                          f"({self.show(narrowest(host.shape))})", "choose another pipe for it")  # fmt: skip
            p = siphon.priming
            if not p.froude_low <= p.froude <= p.froude_high:
                self.fail(f"{place}.priming.froude", p.froude, "is outside froude_low to froude_high "
                          f"({p.froude_low:g} to {p.froude_high:g})", "let the band hold it", "number")  # fmt: skip
            if p.observed is not None and p.observed_error >= p.observed:
                self.fail(f"{place}.priming.observed_error", p.observed_error, "is as large as the flow itself",
                          "give the reading error, a small part of observed", "flow")  # fmt: skip

    def standpipe(self, siphon: model.Siphon, host, place: str):
        pipe, standpipe = siphon.standpipe.pipe, siphon.standpipe
        if standpipe.height >= host.shape.depth:
            self.fail(f"{place}.height", standpipe.height, f"puts the lip above the wall of {host.name} "
                      f"({self.show(host.shape.depth)})", "shorten the standpipe")  # fmt: skip
        if standpipe.lip_diameter < pipe.bore - _SLACK:
            self.fail(f"{place}.lip_diameter", standpipe.lip_diameter, f"is less than the bore "
                      f"({self.show(pipe.bore)})", "leave it out, or give the wide end of the reducer")  # fmt: skip
        if standpipe.cone_length >= standpipe.height:
            self.fail(f"{place}.cone_length", standpipe.cone_length, "is no less than the standpipe's height",
                      "give the height of the reducer alone")  # fmt: skip
        if standpipe.entry == "cone" and standpipe.lip_diameter > pipe.bore and standpipe.cone_length == 0.0:
            self.fail(f"{place}.cone_length", standpipe.cone_length, "is zero for a cone",
                      "give the height of the reducer")  # fmt: skip

    def bell(self, siphon: model.Siphon, host, place: str):
        bell, standpipe = siphon.bell, siphon.standpipe
        if bell.bore >= bell.outside_diameter:
            self.fail(f"{place}.bore", bell.bore, "is not less than the outside diameter", "measure both again")
        if bell.top_height <= standpipe.height:
            self.fail(f"{place}.top_height", bell.top_height, f"is not above the lip "
                      f"({self.show(standpipe.height)})", "lengthen the bell or shorten the standpipe")  # fmt: skip
        if bell.rim_height >= standpipe.height:
            self.fail(f"{place}.rim_height", bell.rim_height, f"is not below the lip "
                      f"({self.show(standpipe.height)})", "cut the openings lower")  # fmt: skip
        if bell.opening_height > bell.rim_height + _SLACK:
            self.fail(f"{place}.opening_height", bell.opening_height, f"reaches below the floor (the openings end "
                      f"at {self.show(bell.rim_height)})", "make it no more than rim_height")  # fmt: skip
        if bell.openings * bell.opening_width >= math.pi * bell.outside_diameter:
            self.fail(f"{place}.opening_width", bell.opening_width, f"leaves nothing of the bell with "
                      f"{bell.openings} openings", "make them fewer or narrower")  # fmt: skip
        wall = 0.5 * (standpipe.pipe.outside_diameter - standpipe.pipe.bore)
        widest = max(standpipe.pipe.outside_diameter, standpipe.lip_diameter + 2.0 * wall)
        if bell.bore <= widest:
            self.fail(f"{place}.bore", bell.bore, f"is not wider than the standpipe and its lip outside "
                      f"({self.show(widest)})", "choose a wider bell")  # fmt: skip
        if bell.outside_diameter >= narrowest(host.shape):
            self.fail(f"{place}.outside_diameter", bell.outside_diameter, f"does not go into {host.name} "
                      f"({self.show(narrowest(host.shape))})", "choose a narrower bell or a wider chamber")  # fmt: skip

    def lips(self):
        """Every bed has to hold the flood level of its siphon, and one at least has to be flooded."""
        for siphon in self.plan.siphons:
            key = f"siphon.{siphon.name}.standpipe.height"
            lip = self.vessels[siphon.host].floor + siphon.standpipe.height
            group = [b for b in self.plan.beds if self.host_of[b.name] == siphon.host]
            for bed in group:
                if lip >= bed.rim:
                    self.fail(key, siphon.standpipe.height, f"puts the lip ({self.show(lip, 'elevation')}) above "
                              f"the wall of {bed.name} ({self.show(bed.rim, 'elevation')})",
                              "shorten the standpipe or raise the bed")  # fmt: skip
            if group and all(lip <= bed.outlet_level for bed in group):
                lowest = min(bed.outlet_level for bed in group)
                self.fail(key, siphon.standpipe.height, f"puts the lip ({self.show(lip, 'elevation')}) below every "
                          f"bed's outlet (lowest {self.show(lowest, 'elevation')}), so no bed floods",
                          "lengthen the standpipe or lower the beds")  # fmt: skip

    def sump(self):
        sump, pump = self.plan.sump, self.plan.pump
        if sump.water_level > sump.shape.depth:
            self.fail("sump.water_level", sump.water_level, f"is above the sump's wall "
                      f"({self.show(sump.shape.depth)})", "measure it from the sump's floor")  # fmt: skip
        if sump.freeboard >= sump.shape.depth:
            self.fail("sump.freeboard", sump.freeboard, "is as deep as the sump", "ask for less")
        if pump.intake >= sump.water_level:
            self.fail("pump.intake", pump.intake, f"is not under water (water_level is "
                      f"{self.show(sump.water_level)})", "lower the intake or fill the sump")  # fmt: skip
        for siphon in self.plan.siphons:
            if siphon.tail.outlet < sump.floor:
                self.fail(f"siphon.{siphon.name}.tail.outlet", siphon.tail.outlet, f"is below the sump's floor "
                          f"({self.show(sump.floor, 'elevation')})", "end the tail in the sump", "elevation")  # fmt: skip

    def pump(self):
        pump, delivery = self.plan.pump, self.plan.pump.delivery
        if (pump.flow is None) == (not pump.curve):
            reason = "are both missing" if pump.flow is None else "are both given"
            self.fail("pump.flow", "" if pump.flow is None else pump.flow, f"flow and curve {reason}",
                      'write either flow = "18 L/min", or curve and [pump.delivery]', "flow")  # fmt: skip
        if pump.curve:
            shown = [[self.show(q, "flow"), self.show(h, "distance")] for q, h in pump.curve]
            flows, heads = zip(*pump.curve, strict=True)
            numbers = (*flows, *heads)
            if not all(math.isfinite(v) and v >= 0.0 for v in numbers):
                self.fail("pump.curve", shown, "holds a value that is negative or not finite", "give real points")
            if len(flows) < 2 or not _rising(flows) or not _rising(heads[::-1]):
                self.fail("pump.curve", shown, "is no falling curve",
                          "give two or more points, flow rising and head falling from each to the next")  # fmt: skip
            if delivery is None:
                self.fail("pump.delivery", "", "is missing, and a curve needs it", "add [pump.delivery]")
        if delivery is None:
            return
        self.ends(delivery.fittings, "pump.delivery", bool(delivery.fittings)
                  and delivery.fittings[0].name.startswith("entrance"), True)  # fmt: skip
        for bed in self.plan.beds:
            if bed.inflow_share and delivery.outlet < bed.floor:
                self.fail("pump.delivery.outlet", delivery.outlet, f"is below the floor of {bed.name} "
                          f"({self.show(bed.floor, 'elevation')})", "end the delivery above the beds", "elevation")  # fmt: skip
        rise = delivery.outlet - self.plan.sump.floor - pump.intake
        self.long_enough(delivery.length, max(rise, 0.0), "pump.delivery")

    def limits(self):
        asked = self.plan.limits
        if asked.floods_low > asked.floods_high:
            self.fail("limits.floods_low", f"{asked.floods_low:g}", f"is more than floods_high "
                      f"({asked.floods_high:g})", "swap them")  # fmt: skip


def _rising(values) -> bool:
    return all(a < b for a, b in zip(values, values[1:], strict=False))


def _listed(names: list[str]) -> str:
    return "[" + ", ".join(f'"{n}"' for n in names) + "]"

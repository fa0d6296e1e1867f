"""Plans that a practitioner would distrust, and the same mended: what is said of each, as a table.

    python -m tests.pairs.distrusted

Each is the demo plan with a few keys changed. Before, it must not be plainly working; after, it must be.
Where a point is about a number, that is printed beside what it may be. Points about words alone are held by
`tests/test_words.py`. Exit status 1 when one fails.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable
from dataclasses import dataclass

from aquacalc.buildsheet.weight import weights
from aquacalc.findings import find, verdict
from aquacalc.findings.beds import weight
from aquacalc.hydraulics.mouths import mouth_level_at
from aquacalc.plan import plan_from_text
from aquacalc.results.cycle import SystemCycle, run_plan

from .demo_edits import edited
from .pairs import _LONGER, _LOW_WALL, _NO_CURVE, _OVERFLOW, _SLOTS, flow, tail


@dataclass(frozen=True)
class Point:
    """A point: the plan with its fault, the plan mended, and the finding that has to name it."""

    name: str
    about: str
    fault: tuple = ()
    mended: tuple = ()


@dataclass(frozen=True)
class Number:
    """A point about numbers: what it is of the plan, and from where to where it may be."""

    name: str
    says: Callable[[], float]
    low: float
    high: float
    unit: str


def _bed(**keys: str) -> tuple[str, dict]:
    return ("bed", keys)


def _cycle(*edits: tuple[str, dict]) -> SystemCycle:
    return run_plan(plan_from_text(edited(*edits)), trace=False)


def _mouth() -> float:
    """Level (mm) over the invert of a side outlet of 40.9 mm at 18 L/min."""
    run = plan_from_text(edited()).runs[0]
    return 1000.0 * mouth_level_at(run, 18.0 / 60000.0)


def _priming() -> float:
    return _cycle(flow("32 L/min")).groups[0].priming_time


def _disagree() -> float:
    """At how many of these flows a plan is called working whose run does not flood and drain."""
    runs = [_cycle(flow(f"{litres} L/min")) for litres in (18, 26, 33, 34, 36, 38, 39, 40)]
    return float(sum(verdict(find(run)) == "works" and run.groups[0].outcome != "cycles" for run in runs))


def _masses() -> float:
    """How much (kg) the flooded mass of a bed differs between what report and build sheet weigh."""
    run = _cycle()
    found = [weight(run.plan, bed, run.node(bed.name).high).total for bed in run.plan.beds]
    return max(abs(w.wet - mass) for w, mass in zip(weights(run.plan, run), found, strict=True))


_END = {"outlet_along": '"60 mm"'}
_GRAVEL = {"grain_smallest": '"4 mm"', "grain_largest": '"6 mm"'}
_BOX = '[["0 L/min", "3.3 m"], ["78 L/min", "0 m"]]'
_READ = '[["0 L/min", "2.6 m"], ["20 L/min", "2.2 m"], ["40 L/min", "1.2 m"], ["55 L/min", "0 m"]]'
_SEEN = ("siphon.priming", {"observed": '"4 L/min"', "observed_error": '"0.3 L/min"'})

POINTS: tuple[Point | Number, ...] = (
    Point("A1 3 in tail under a 1 in standpipe, 18 L/min", "stop", (tail(size='"3 in"'),)),
    Point("A1 the same, 22 L/min", "runs_on", (flow("22 L/min"), tail(size='"3 in"')), (flow("22 L/min"),)),
    Point("A2 3/4 in tail may start it from 2.8 L/min: 4 L/min", "start",
          (flow("4 L/min"), tail(size='"3/4 in"')), (flow("18 L/min"), tail(size='"3/4 in"'))),
    Point("A3 side outlets of 26.6 mm at 6 L/min a bed", "drains",
          (_bed(outlet='"side"', outlet_height='"40 mm"'), *_LONGER, ("run", {"size": '"1 in"'})),
          (_bed(outlet='"side"', outlet_height='"40 mm"'), *_LONGER)),
    Number("A3 over the invert, 40.9 mm at 18 L/min", _mouth, 31.0, 35.0, "mm"),
    Point("A4 strainer in a coupling: 64 mm stay", "sill",
          (_bed(strainer=_SLOTS + ', fixing = "in a coupling" }'),)),
    Point("A5 9.5 L/min, inside the band of the start", "start", (flow("9.5 L/min"),)),
    Point("A6 36 L/min, inside the band of the stop", "stop", (flow("36 L/min"),), (flow("30 L/min"),)),
    Number("A7 time to lose the air at 32 L/min", _priming, 2.0, 18.0, "s"),
    Point("A8 4 mm gravel, outlet at one end", "far_end", (_bed(**_END, **_GRAVEL),)),
    Point("A9 tee 80 mm too high", "drains", (("tee", {"elevation": '"0.780 m"'}), *_LONGER), _LONGER),
    Point("A9 outfall 60 mm too high", "drains", (("run 5", {"outfall": '"0.760 m"'}),)),
    Point("A10 crest in a line", "line_crest",
          (("run 5", {"legs": '["along 0.4 m rising 60 mm", "along 0.4 m falling 80 mm"]', "length": None,
                      "fittings": '["exit"]'}),)),
    Point("A10 tee 17 mm under the next", "line_climbs",
          (("tee 1", {"elevation": '"0.563 m"'}), ("run 2", {"length": '"0.12 m"'}))),
    Point("A11 pump by two figures on its box", "stop", (("pump", _NO_CURVE | {"curve": _BOX}),),
          (("pump", _NO_CURVE | {"curve": _READ}),)),
    Point("A12 93 % of a bed's slots shut", "drains",
          (("bed 1", {"strainer": _SLOTS.replace("28", "2") + " }"}),)),
    Point("A13 sump marked with the beds flooded", "sump_overflow",
          (("sump", {"measured_with": '"beds flooded"'}),),
          (("sump", {"measured_with": '"beds flooded"', "water_level": '"300 mm"'}),)),
    Point("A14 two screwed bends in the tail, 28 L/min", "stop",
          (flow("28 L/min"), tail(fittings='["2 x bend 90, screwed", "exit"]')), (flow("28 L/min"),)),
    Point("A15 plain lip may start higher than the wall", "bed_freeboard",
          (("siphon.standpipe", {"lip_diameter": None, "entry": '"square"', "cone_length": None}),
           _LOW_WALL), (_LOW_WALL,)),
    Number("A17 flooded mass: report less build sheet", _masses, 0.0, 0.0, "kg"),
    Point("A18 delivery ends under the flood", "siphon_back", (("pump.delivery", {"outlet": '"0.850 m"'}),)),
    Point("A18 the same, check valve", "siphon_back", (("pump.delivery", {"outlet": '"0.850 m"'}),),
          (("pump.delivery", {"outlet": '"0.850 m"', "check_valve": '"fitted"'}),)),
    Point("A19 14 mm slots", "strainer_grains", (_bed(strainer=_SLOTS.replace("3 mm", "14 mm") + " }"),)),
    Point("A20 roof 2 mm over the lip", "bell_clearance", (("siphon.bell", {"top_height": '"432 mm"'}),)),
    Point("A21 tail 230 mm under water at the start", "bed_freeboard",
          (tail(outlet='"-0.200 m"', length='"1.2 m"'),)),
    Number("A22 flows at which window and cycle disagree", _disagree, 0.0, 0.0, ""),
    Point("A22 safety overflow under the lip", "overflow",
          (("siphon.overflow", _OVERFLOW | {"height": '"400 mm"'}),)),
    Point("A23 2 mm of wall at 5 L/min", "bed_freeboard",
          (flow("5 L/min"), _SEEN, _bed(depth='"238 mm"', media_depth='"200 mm"')), (flow("5 L/min"), _SEEN)),
)  # fmt: skip


def said(edits: tuple, about: str) -> tuple[str, str]:
    """Return the verdict on the demo plan with changes, and what a finding says of it."""
    found = find(run_plan(plan_from_text(edited(*edits)), trace=False))
    hits = [f for f in found if f.key == about]
    return verdict(found), f"{hits[0].title} ({hits[0].shown('metric')})" if hits else "-"


def main() -> int:
    bad = 0
    for point in POINTS:
        if isinstance(point, Number):
            value = point.says()
            fails = not point.low - 1e-9 <= value <= point.high + 1e-9 or not math.isfinite(value)
            print(f"{point.name}: {value:.3g} {point.unit} ({point.low:g} to {point.high:g})")
        else:
            before, after = (said(edits, point.about) for edits in (point.fault, point.mended))
            fails = before[0] == "works" or after[0] != "works" or before[1] == "-"
            print(f"{point.name}\n    before: {before[0]}; {before[1]}\n    after:  {after[0]}; {after[1]}")
        if fails:
            print("    FAILS")
        bad += fails
    print(f"{len(POINTS)} points: {bad} fail")
    return int(bad > 0)


if __name__ == "__main__":
    sys.exit(main())

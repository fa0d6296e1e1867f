"""The numbers of every plan we have, kept, and compared with what the code says today.

    python -m tests.frozen                     compare bit by bit; exit status 1 when anything differs
    python -m tests.frozen --tolerance 1e-9    compare with a tolerance
    python -m tests.frozen --write             write them anew, after saying what changed, and then what is
                                               shown (`python -m tests.shown --write`)

Kept are the verdict, each finding with value and limit, and the main numbers of the run, for every plan
of data/plans and tests/plans and for 200 plans drawn by number. They are our own past output: they keep a
change of code from changing an answer unseen, and are evidence of nothing.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import time
import zlib
from collections.abc import Iterable, Iterator
from pathlib import Path

# Everything of the library that is used here, in one place.
from aquacalc.buildsheet.weight import weights
from aquacalc.engine import runner
from aquacalc.findings import find, verdict
from aquacalc.plan import plan_from_text
from aquacalc.results.cycle import SystemCycle, run_plan
from aquacalc.results.window import inflow_window, sump_range
from tests.plan.generated import plan_text

ROOT = Path(__file__).parents[1]
FILE = ROOT / "tests" / "frozen.json"
SEEDS = range(200)
COMMAND = "python -m tests.frozen --write"

#: Numbers kept of each thing, in the order in which they stand in the file.
COLUMNS = {
    "finding": ("state", "value", "limit"),
    "group": (
        "outcome", "period", "fill_time", "spill_time", "priming_time", "drain_time", "inflow", "flow_start",
        "flow_high", "flow_break", "flow_steady", "level", "volume_low", "volume_high", "pumped", "drained",
        "cycles", "lip", "rim", "start_level", "choking",
    ),
    "node": ("low", "high", "at_start", "at_break"),
    "run": (
        "sump_low", "sump_high", "sump_drained", "pump", "pumped", "drained", "stored", "duration", "settled",
    ),
    "sump": ("low", "high", "pump_off"),
    "window": (
        "start_low", "start", "start_high", "observed", "stop", "stop_with_margin", "today", "today_low",
        "today_high", "head_at_rim",
    ),
    "weight": ("media", "water", "dry", "wet", "full", "per_support", "area", "per_area"),
}  # fmt: skip
#: Size (SI) below which a difference is measured against it and not against the number itself: a level of
#: 0.1 mm above the datum is the difference of levels of a metre, a flow of nothing that of 0.1 L/s.
SCALES = {"m": 1.0, "s": 1000.0, "m3/s": 1e-4, "m3": 0.1, "other": 1e-3}
_LEVELS = ("level", "lip", "rim", "start_level", "sump_low", "sump_high", "sump_drained", "head_at_rim",
           "low", "high", "at_start", "at_break", "pump_off")  # fmt: skip
_TIMES = ("period", "fill_time", "spill_time", "priming_time", "drain_time", "duration")
_FLOWS = ("inflow", "flow_start", "flow_high", "flow_break", "flow_steady", "choking", "pump", "start_low",
          "start", "start_high", "stop", "stop_with_margin", "today", "today_low", "today_high")  # fmt: skip
_VOLUMES = ("volume_low", "volume_high", "pumped", "drained", "stored")
_UNITS = dict.fromkeys(_LEVELS, "m") | dict.fromkeys(_TIMES, "s") | dict.fromkeys(_FLOWS, "m3/s")
_UNITS |= dict.fromkeys(_VOLUMES, "m3")
_KINDS = {"length": "m", "elevation": "m", "flow": "m3/s", "volume": "m3", "time": "s"}


def texts(seeds: Iterable[int] = SEEDS) -> Iterator[tuple[str, str]]:
    """Name and text of each plan: those of data/plans and tests/plans, and those drawn for `seeds`."""
    for folder in ("data/plans", "tests/plans"):
        for path in sorted((ROOT / folder).glob("*.toml")):
            yield f"{folder}/{path.name}", path.read_text(encoding="utf-8")
    for seed in seeds:
        yield f"seed {seed}", plan_text(seed)


def interpreted() -> None:
    """Let every run of this process go through the interpreter: machine code adds up in another order."""
    runner._compiled_wanted = lambda: False


def measure(text: str) -> dict:
    """Return what is kept of one plan."""
    plan = plan_from_text(text)
    run = run_plan(plan, trace=False)
    return {"plan": zlib.crc32(text.encode()), **_numbers(run)}


def _numbers(run: SystemCycle) -> dict:
    plan, found = run.plan, find(run)
    levels = sump_range(plan, run)
    windows = [inflow_window(plan, siphon, run, levels) for siphon in plan.siphons]

    def row(kind: str, record: object) -> list:
        return [getattr(record, name) for name in COLUMNS[kind]]

    return {
        "verdict": verdict(found),
        "finding": {f"{f.key}, {f.subject}, {f.kind}": row("finding", f) for f in found},
        "group": {g.name: row("group", g) for g in run.groups},
        "node": {n.name: row("node", n) for n in run.nodes},
        "run": {"plan": row("run", run)},
        "sump": {"range": row("sump", levels)},
        "window": {w.siphon: row("window", w) for w in windows},
        "weight": {w.bed: row("weight", w) for w in weights(plan, run)},
    }


def stored() -> dict[str, dict]:
    """Return what the file holds, by plan."""
    return json.loads(FILE.read_text(encoding="utf-8"))


def write(kept: dict[str, dict]) -> None:
    """Write the file, one plan a line."""
    lines = [f"{json.dumps(name)}: {json.dumps(one, separators=(',', ':'))}" for name, one in kept.items()]
    FILE.write_text("{\n" + ",\n".join(lines) + "\n}\n", encoding="utf-8")


def differences(name: str, old: dict | None, new: dict | None, tolerance: float = 0.0) -> list[str]:
    """Say what differs in one plan, a line each: plan, number, old, new."""
    if old is None or new is None:
        return [f"{name}: {'is not in the file' if old is None else 'is no longer there'}"]
    if old["plan"] != new["plan"]:
        return [f"{name}: the text of the plan is another"]
    found = (
        [] if old["verdict"] == new["verdict"] else [f"{name}: verdict: {old['verdict']} -> {new['verdict']}"]
    )
    for kind, columns in COLUMNS.items():
        for thing in sorted({*old[kind], *new[kind]}):
            before, after = old[kind].get(thing), new[kind].get(thing)
            place = f"{name}: {kind} {thing}"
            if before is None or after is None:
                found.append(f"{place}: {before} -> {after}")
                continue
            for column, was, now in zip(columns, before, after, strict=True):
                if not _same(was, now, tolerance, _scale(kind, thing, column)):
                    found.append(f"{place}, {column}: {was!r} -> {now!r}")
    return found


def _scale(kind: str, thing: str, column: str) -> float:
    if kind == "finding":
        return SCALES[_KINDS.get(thing.rpartition(", ")[2], "other")]
    return SCALES[_UNITS.get(column, "other")]


def _same(was, now, tolerance: float, scale: float) -> bool:
    numbers = all(isinstance(x, int | float) and not isinstance(x, bool) for x in (was, now))
    if not (numbers and tolerance):
        return was == now and type(was) is type(now)
    return abs(was - now) <= tolerance * max(abs(was), abs(now), scale)


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.frozen", description=__doc__.splitlines()[0])
    parser.add_argument("--write", action="store_true", help="write the numbers anew")
    parser.add_argument("--tolerance", type=float, default=0.0, help="relative; 0 (bit by bit) if not given")
    args = parser.parse_args(arguments)
    interpreted()
    started = time.perf_counter()
    old = stored() if FILE.exists() else {}
    new, changed, lines = {}, 0, 0
    for name, text in texts():
        new[name] = measure(text)
        found = differences(name, old.get(name), new[name], args.tolerance)
        changed, lines = changed + bool(found), lines + len(found)
        for line in found:
            print(line, flush=True)
    for name in old:
        if name not in new:
            changed, lines = changed + 1, lines + 1
            print(f"{name}: is no longer there")
    took = time.perf_counter() - started
    print(f"{len(new)} plans in {took:.0f} s: {lines} differences in {changed} plans.")
    if args.write:
        write(new)
        print(f"Written to {FILE.relative_to(ROOT)}.")
        subprocess.run([sys.executable, "-m", "tests.shown", "--write"], cwd=ROOT, check=True)
        return 0
    if lines:
        print(f"If that is meant, write them anew with: {COMMAND}, and say old, new and why in CHANGELOG.md.")
    return 1 if lines else 0


if __name__ == "__main__":
    sys.exit(main())

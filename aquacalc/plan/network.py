"""How runs join the vessels: which siphon drains what, and what is no network."""

from __future__ import annotations

import math
from collections.abc import Iterable

from aquacalc import catalogue
from aquacalc.plan import legs
from aquacalc.plan.errors import Checked
from aquacalc.plan.model import Bed, Delivery, Fitting, Plan, Run, Tail

#: Lengths (m) closer than this are one; those of pipe along its bends, which are measured to 5 mm.
SLACK, PIPE_SLACK = 1e-9, 5e-3


def downstream(plan: Plan) -> dict[str, str]:
    """Return {vessel or tee: where its run flows to}; siphon hosts have no entry."""
    return {run.start: run.to for run in plan.runs}


def host_of(plan: Plan) -> dict[str, str]:
    """Return {vessel or tee: host of the siphon that drains it}.

    Raises
    ------
    KeyError
        Names a node that leads to no siphon (`check_plan` refuses such a plan).
    """
    to = downstream(plan)
    hosts = {siphon.host for siphon in plan.siphons}
    found: dict[str, str] = {}
    for start in (*(vessel.name for vessel in plan.vessels), *(tee.name for tee in plan.tees)):
        name, passed = start, {}
        while name not in hosts and name not in found:
            if name in passed:
                raise KeyError(name)
            passed[name] = True
            name = to[name]
        found[start] = host = found.get(name, name)
        found.update(dict.fromkeys(passed, host))
    return found


def check_network(c: Checked):
    """Refuse what is no tree of runs with a siphon at each root."""
    plan = c.plan
    for siphon in plan.siphons:
        key = f"siphon.{siphon.name}.host"
        if siphon.host not in c.vessels:
            c.note(key, siphon.host, "is not a chamber or bed of this plan", _near(c, siphon.host, c.vessels))
        elif c.hosts[siphon.host] is not siphon:
            c.note(key, siphon.host, "holds two siphons", "give each siphon its own chamber or bed")
    lost, before = {s.host for s in plan.siphons if s.host not in c.vessels}, len(c.faults)
    for chamber in plan.chambers:
        if chamber.name not in c.hosts and not lost:
            c.note(
                f"chamber.{chamber.name}",
                chamber.name,
                "has no siphon",
                f'add [[siphon]] with host = "{chamber.name}", or take the chamber out',
            )
    leaving: set[str] = set()
    entered: set[str] = set()
    strays = bool(lost)
    ends = {**c.vessels, **c.tees}
    for run in plan.runs:
        if run.start not in ends:
            c.note(
                f"run.{run.start}.from",
                run.start,
                "is not a bed or tee of this plan",
                _near(c, run.start, ends),
            )
            strays = True
        if run.to not in ends:
            c.note(
                f"run.{run.start}.to",
                run.to,
                "is not a bed, tee or chamber of this plan",
                _near(c, run.to, ends),
            )
            strays = True
        if run.start in c.hosts:
            c.note(
                f"run.{run.start}.from",
                run.start,
                "is emptied by its siphon and by this run",
                "take the run out",
            )
            strays = True
        if run.start in leaving:
            c.note(
                f"run.{run.start}.from",
                run.start,
                "has two runs out of it",
                "keep one run, and join pipes with a tee",
            )
            strays = True
        leaving.add(run.start)
        entered.add(run.to)
    if strays:
        return  # which bed a run with a wrong end should drain is not known
    for bed in plan.beds:
        if bed.name not in leaving and bed.name not in c.hosts:
            c.note(
                f"bed.{bed.name}",
                bed.name,
                "has no run out of it and no siphon in it",
                f'add [[run]] with from = "{bed.name}"',
            )
    for tee in plan.tees:
        if tee.name not in leaving:
            c.note(
                f"tee.{tee.name}", tee.name, "has no run out of it", f'add [[run]] with from = "{tee.name}"'
            )
    if len(c.faults) > before:
        return
    try:
        host_of(plan)
    except KeyError as error:
        run = plan.run_from(error.args[0])
        c.note(
            f"run.{run.start}.to",
            run.to,
            "makes a loop that never reaches a siphon",
            "lead the last run of the line to the siphon's chamber",
        )
        return
    for kind, nodes in (("tee", plan.tees), ("chamber", plan.chambers)):
        for node in nodes:
            if node.name not in entered:
                c.note(
                    f"{kind}.{node.name}",
                    node.name,
                    "has no run into it",
                    f'lead a run to it with to = "{node.name}", or take it out',
                )


def _near(c: Checked, name: str, known: Iterable[str]) -> str:
    known = tuple(known)
    return catalogue.suggestion(catalogue.near_matches(name, known), known)


def check_runs(c: Checked):
    """Refuse runs whose ends, elevations or lengths contradict the vessels they join."""
    for run in c.plan.runs:
        place = f"run.{run.start}"
        if not c.sound(
            *(f"{kind}.{end}" for kind in ("bed", "tee", "chamber") for end in (run.start, run.to))
        ):
            continue
        check_ends(c, run.fittings, place, run.start in c.vessels, run.to in c.vessels)
        start = c.vessels.get(run.start)
        top = start.outlet_invert if isinstance(start, Bed) else c.tees[run.start].elevation
        if isinstance(start, Bed) and start.outlet == "floor":
            top -= 0.5 * run.pipe.bore  # the pipe's length is along its middle, its end an invert
        if run.to in c.tees:
            level = c.tees[run.to].elevation
            if abs(run.outfall - level) > SLACK:
                c.refuse(
                    f"{place}.outfall",
                    run.outfall,
                    f"is not the elevation of {run.to} ({c.level(level)})",
                    "leave outfall out",
                    "elevation",
                )
        else:
            into = c.vessels[run.to]
            if run.outfall < into.floor - SLACK or run.outfall + run.pipe.bore > into.rim + SLACK:
                c.refuse(
                    f"{place}.outfall",
                    run.outfall,
                    f"is outside the wall of {run.to} ({c.level(into.floor)} to {c.level(into.rim)})",
                    "give an elevation that leaves room for the pipe",
                    "elevation",
                )
        check_length(c, run.length, abs(top - run.outfall), place)
        half = 0.5 * run.pipe.bore
        begins = top + half  # the middle; a floor outlet begins at the floor itself
        check_legs(c, run, begins, run.outfall + half, place)


def check_ends(c: Checked, fittings: tuple[Fitting, ...], place: str, entrance: bool, leaves: bool):
    """Refuse a loss without meaning, and an entrance or exit that is missing or stands elsewhere.

    `entrance` and `leaves` say whether water enters the pipe from a vessel and leaves it into one.
    """
    names = [f.name for f in fittings]
    key = f"{place}.fittings"
    if entrance and not (names and names[0].startswith("entrance")):
        c.refuse(key, names, "does not begin with an entrance", 'begin it with "entrance, square"')
    if leaves and not (names and names[-1].startswith("exit")):
        c.refuse(key, names, "does not end with an exit", 'end it with "exit"')
    for fitting in fittings:
        if not (math.isfinite(fitting.k) and fitting.k >= 0.0 and fitting.count >= 1):
            c.refuse(
                key, fitting.k, f'is not a loss coefficient of "{fitting.name}"', "give k from 0 up", "number"
            )
    inside = names[1 if entrance else 0 : -1 if leaves else None]
    doubled = [n for n in inside if n.startswith(("entrance", "exit"))]
    ended = [f.name for f in fittings if f.count > 1 and f.name.startswith(("entrance", "exit"))]
    if doubled or ended:
        c.refuse(
            key,
            names,
            f'has "{(doubled + ended)[0]}" where there is no such end',
            "keep one entrance at a bed's outlet and one exit into a vessel",
        )


def check_legs(c: Checked, way: Run | Tail | Delivery, begins: float, ends: float, place: str):
    """Refuse legs that cannot be laid or that contradict length, fittings or levels.

    `begins` and `ends` are elevations of its middle, m.
    """
    if not way.legs:
        return
    wrong = legs.problem(way.legs, way.fittings)
    if wrong:
        c.refuse(f"{place}.legs", [legs.shown(leg) for leg in way.legs], *wrong)
    total = sum(leg.length for leg in way.legs)
    if abs(total - way.length) > legs.AGREES:
        c.refuse(
            f"{place}.length",
            way.length,
            f"is not the sum of its legs ({c.show(total)})",
            "leave length out, or correct a leg",
        )
    end = begins - sum(leg.drop for leg in way.legs)
    if abs(end - ends) > legs.AGREES:
        c.refuse(
            f"{place}.legs",
            [legs.shown(leg) for leg in way.legs],
            f"end at {c.level(end)}, and the pipe's middle has to end at {c.level(ends)}",
            "correct a leg or an elevation",
        )


def check_length(c: Checked, length: float, drop: float, place: str):
    """Refuse a pipe whose `length` (m) is less than the `drop` (m) between its ends."""
    if length < drop - PIPE_SLACK:
        c.refuse(
            f"{place}.length",
            length,
            f"is shorter than the difference of level it spans ({c.show(drop)})",
            "measure the pipe along its middle, or check the elevations",
        )


def order(plan: Plan) -> list[tuple[str, int]]:
    """Names of all nodes with their group, upstream before downstream, group after group."""
    feeders: dict[str, list[str]] = {}
    for run in plan.runs:
        feeders.setdefault(run.to, []).append(run.start)
    found: list[tuple[str, int]] = []
    for group, siphon in enumerate(plan.siphons):
        branch = [siphon.host]
        for name in branch:
            branch.extend(feeders.get(name, ()))
        found += [(name, group) for name in reversed(branch)]
    return found

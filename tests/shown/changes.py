"""What may be changed, moved or wrong of a plan, as the searches have it: edits and words, of nothing run."""

from __future__ import annotations

import functools
import itertools
import json
from collections.abc import Callable, Iterator
from dataclasses import replace

from aquacalc.plan import PlanError, plan_from_text
from aquacalc.plan.model import Plan
from aquacalc.units import KINDS
from tests.shown.commands import apart
from tests.shown.plans import TEXTS

MOVED = ("greenhouse", "us-units", "two-groups", "inside-bed", "pump-curve", "side-outlets", "odd")
#: Answers for first plans that are close to not working.
CLOSE = {
    "four beds": ({"beds": "4", "flow": "20 L/min"}, "metric"),
    "little flow": ({"beds": "2", "flow": "5 gpm", "sump": "120 gal"}, "us"),
    "much flow": ({"flow": "32 L/min", "sump": "300 L"}, "metric"),
}


def _json(rows: object) -> str:
    return json.dumps(rows, default=repr)


def _causes(plan: Plan) -> object:
    """What may be wrong with each siphon, at two strengths."""
    from aquacalc.design.trouble import causes

    for siphon in plan.siphons:
        for c in causes(plan, siphon):
            planted = [[c.says(s), c.plant(s)] for s in (0.3, 0.85)]
            yield [siphon.name, c.key, c.name, c.look, c.fix, c.minutes, c.often, c.leaks, *planted]


def _corners(plan: Plan) -> object:
    """The ends of what is not known, and points between them."""
    from aquacalc.design import corners

    yield corners.pump_ends(plan), corners.hard_start(plan)
    yield from corners.corners(plan)
    for shares in ((0.2, 0.7, 0.4, 0.9, 0.6), (0.0, 1.0, 0.5, 0.5, 0.25)):
        yield sorted(corners.inside(plan, shares).items(), key=str)


def _ways(plan: Plan) -> object:
    """What may make a plan sturdy, for each fault that it has."""
    from aquacalc.design.sturdy_ways import ways
    from aquacalc.findings import find
    from aquacalc.results.cycle import run_plan

    run = run_plan(plan, trace=False)
    found = find(run)
    for finding in found:
        alike = [f for f in found if f.key == finding.key]
        if finding.state != "good":
            stock = (("ASTM D1785 schedule 40", "1 in"),)
            for steps in ways(plan, finding, run, {}, alike, stock):
                told = [[step.cost, step.change.words, step.change.values] for step in steps]
                yield [finding.key, finding.subject, *told]


def _turns(plan: Plan) -> object:
    """Where the verdict turns, by formulas and by runs."""
    from aquacalc.design.closest import turns, worth_measuring
    from aquacalc.findings import find
    from aquacalc.results.cycle import run_plan

    run = run_plan(plan, trace=False)
    for turn in (*turns(run, find(run)), *worth_measuring(plan)):
        yield [turn.name, turn.says, turn.to, turn.far, turn.plausible]


def _page(told: Callable[[Plan], object], names: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    from aquacalc.design.start import plan_text

    with apart():
        for name in names:
            text = TEXTS[name] if name in TEXTS else plan_text(*CLOSE[name])
            yield f"{name}.json", _json(list(told(plan_from_text(text))))


def _first_plans() -> Iterator[tuple[str, str]]:
    """First plans from answers that make each size its least, its most and neither."""
    from aquacalc.design.start import plan_text

    for n, answers in enumerate(
        (
            {"flow": "3 L/min", "depth": "8 in", "floor": "300 mm"},
            {"flow": "60 L/min", "beds": "2", "floor": "1.4 m", "sump": "900 L"},
            {"beds": "14", "length": "500 mm", "width": "20 in", "depth": "180 mm"},
        )
    ):
        for system in ("metric", "us"):
            yield f"{n} {system}", plan_text(answers, system)


#: Trials of the demo, flows in L/min, each with a flow of the plan's pump: settled, not, and contradictory.
TRIED = (
    (18.0, ""),
    (18.0, "9.4: n; 13: started, stopped; 11: started; 10.4: n"),
    (6.0, "9.4: n; 13: started; 7: n"),
    (40.0, "28: started, ran on; 30: started, ran on; 33: started, ran on"),
    (11.0, "9.4: n; 13: started"),
    (20.0, "9: started; 14: n; 9.2: started; 13.8: n"),
    (18.0, "3: started, stopped"), (30.0, "20: n; 24: n"),
    (34.0, "20: started, stopped; 30: started, stopped; 36: started, ran on; 33: started, stopped"),
    (18.0, "9: n; 9.5: n; 10: n; 10.5: n; 11: n; 11.5: n; 12: started; 12.5: n; 13: started; 13.5: started"),
)  # fmt: skip


def _benches() -> Iterator[tuple[str, str]]:
    """What the bench test says after trials, in both systems of units."""
    from aquacalc.bench import words
    from aquacalc.bench.session import bench
    from aquacalc.bench.trials import trial
    from aquacalc.plan.edit import put

    said = (words.opening, words.tested, words.bands, words.remarks, words.worth, words.bar, words.lost)
    for k, (flow, trials) in enumerate(TRIED):
        demo = put(plan_from_text(TEXTS["greenhouse"]), {"pump.flow": flow / 60e3})
        pairs = [one.split(":") for one in trials.split(";") if one]
        error = ("3 %", "6 %", "1 L/min")[k % 3]
        made = [trial(f"{reading.strip()} L/min +- {error}", outcome.strip()) for reading, outcome in pairs]
        for system in ("metric", "us"):
            done = bench(replace(demo, units=system), trials=made, hose=25.0 / 60e3)
            lines = [*itertools.chain(*(of(done) for of in said)), words.next_line(done)]
            lines += words.verdict(done) if done.enough else []
            yield f"{k} {system}", "\n".join(lines)
            yield f"{k} {system}.json", json.dumps(words.as_data(done), default=str)


#: Values that most keys may not have, or not in this place.
WRONG = ('"bananas"', "0", '"0.1 mm"', '"900 mm"', '["1 in"]', '{ value = "2 in", mark = "assumd" }', "true")


def _damaged(names: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    """What is said of a file that lacks a line, has it twice or has another value in it, line by line."""
    with apart():
        for name in names:
            rows, said = TEXTS[name].splitlines(), []
            for k, row in enumerate(rows):
                if not row or row.startswith("#"):
                    continue
                key, equals, _ = row.partition(" = ")
                new = ([], [row, row], [f"{key[:-1]} = {WRONG[k % 7]}"], [f"{key} = {WRONG[k % 7]}"])
                for lines in new if equals else new[:2]:
                    try:
                        plan = plan_from_text("\n".join([*rows[:k], *lines, *rows[k + 1 :]]))
                        said.append(f"{k} {lines}: {plan!r}")
                    except PlanError as error:
                        said.append(f"{k} {lines}: {error}")
            yield name, "\n".join(said)


def _edited(names: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    """What follows from a value that is put as a person types it, and the file that is written then."""
    from aquacalc import catalogue
    from aquacalc.plan import edit
    from aquacalc.plan.differences import differences
    from aquacalc.plan.marks import values_of
    from aquacalc.plan.write import write_plan

    with apart():
        for name in names:
            plan, said = plan_from_text(TEXTS[name]), []
            for k, (path, key, value, mark) in enumerate(values_of(plan)):
                said.append(f"{path} {mark}")
                text = f"{1.25 * value:.6g}" if key.numeric else (*key.choices, "gravel", "2 in")[0]
                if key.numeric and KINDS[key.kind].si:
                    text = f"{text} {KINDS[key.kind].si}"
                if key.kind == "count":
                    text = f"{value + 1}"
                try:
                    changed = edit.put_text(plan, {path: text})
                except (PlanError, KeyError, TypeError, catalogue.CatalogueError) as error:
                    said.append(f"{path} = {text}: {error}")
                    continue
                said.append(f"{path} = {text}: {differences(plan, changed)}")
                if k % 6 == 0:
                    now = set(write_plan(changed).splitlines()) - set(TEXTS[name].splitlines())
                    said += sorted(now)
            yield name, "\n".join(said)


CHANGES: dict[str, Callable[[], Iterator[tuple[str, str]]]] = {
    "causes": functools.partial(_page, _causes, MOVED),
    "corners": functools.partial(_page, _corners, MOVED),
    "ways": functools.partial(_page, _ways, ("spills-without-starting", "us pump", "odd")),
    "turns": functools.partial(_page, _turns, ("two-groups", "side-outlets", "minimal", *CLOSE)),
    "first plans": _first_plans,
    "bench": _benches,
    "damaged files": functools.partial(_damaged, ("us-units", "minimal")),
    "edited plans": functools.partial(_edited, ("odd", "us-units", "minimal")),
}

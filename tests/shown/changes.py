"""What may be changed, moved or wrong of a plan, as the searches have it: edits and words, of nothing run."""

from __future__ import annotations

import functools
import json
from collections.abc import Callable, Iterator

from aquacalc.plan import plan_from_text
from aquacalc.plan.model import Plan
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


CHANGES: dict[str, Callable[[], Iterator[tuple[str, str]]]] = {
    "causes": functools.partial(_page, _causes, MOVED),
    "corners": functools.partial(_page, _corners, MOVED),
    "ways": functools.partial(_page, _ways, ("spills-without-starting", "us pump", "odd")),
    "turns": functools.partial(_page, _turns, ("two-groups", "side-outlets", "minimal", *CLOSE)),
    "first plans": _first_plans,
}

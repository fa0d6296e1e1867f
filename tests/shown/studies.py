"""Answers over many plans, exercises, and pictures of plans at several moments."""

from __future__ import annotations

from collections.abc import Iterator

from aquacalc.plan import plan_from_text
from tests.shown.plans import TEXTS
from tests.shown.screens import bundle, figure, screen_of


def studies(system: str) -> Iterator[tuple[str, str]]:
    """Answers over many plans, with a few: chances, a map, a fit and its tables."""
    from aquacalc.design.chances import study
    from aquacalc.design.fit import fit
    from aquacalc.design.sweep import sweep
    from aquacalc.notebook import alternatives, demo_plan, readings_form, saved_readings
    from aquacalc.plan.edit import put

    with screen_of(system):
        plan = demo_plan("one-bed")
        values = {"pump.flow": [q / 60e3 for q in (5, 9, 14, 22, 40)]}
        values["siphon.standpipe.height"] = [0.34, 0.43, 0.46]
        table = sweep(plan, values, findings=True)
        yield "unspoken.html", alternatives.unspoken(table).html
        yield "map.html", figure(alternatives.plans_map(table, plan))
        some = study(put(plan, {"pump.flow": 11 / 60e3}), size=8)
        yield "chances.html", figure(readings_form.chances_drawn(some))
        yield "chances", "\n".join(some.said)
        readings = saved_readings.invented(plan)
        found = fit(plan, readings, "siphon")
        yield "ranges.html", figure(readings_form.fitted_ranges(found))
        tables = readings_form.taken(readings), readings_form.estimates(found), readings_form.matches(found)
        for made in tables:
            yield f"{made.text.splitlines()[0][:30]}.html", made.html
        yield "changes.html", readings_form.changes(plan, found).html
        yield "fit", "\n".join(found.said)


def exercises() -> Iterator[tuple[str, str]]:
    """Replies to right and wrong answers of every exercise, hints, solutions and guesses."""
    from aquacalc.teaching import asking, guessing
    from aquacalc.teaching.checking import check
    from aquacalc.teaching.exercise import beliefs
    from aquacalc.teaching.exercise import exercises as numbers
    from aquacalc.units import show

    with screen_of():
        for key, asked in numbers().items():
            given = ["", "a", "B", "z", "seven", "3", "12 mm", "21 cm2", "-4 L/min", "1e9 kg"]
            if not asked.choices:
                right = asked.answer()
                for factor in (1, 1.01, 1.04, 1.12, 2, 0.5, 4, 10, 0.1, 1000, 60, 3.785, 25.4, -1):
                    given.append(show(right * factor, asked.kind))
                    given.append(show(right * factor, asked.kind, "us"))
            yield key, "\n".join(f"{text}: {check(key, text)}" for text in given)
        for key in (*numbers(), *beliefs()):
            for system in ("metric", "us"):
                for shown in (asking.ask(key, 1, system), asking.solution(key, 1, system)):
                    for ending, text in bundle(shown._repr_mimebundle_()):
                        yield f"{key} {system} {type(shown).__name__}{ending}", text
        for key in guessing.questions():
            guess = guessing.guess(key)
            assert guess.box is not None
            yield f"guess {key}", guess.text
            guess.give(guess.asked.choices[1])
            yield f"given {key}", guess.text
        yield "guesses", guessing.guesses()._repr_mimebundle_()["text/plain"]


def pictures() -> Iterator[tuple[str, str]]:
    """Pictures that no other page has, of plans at several moments."""
    from aquacalc.figures import levels, section
    from aquacalc.results.cycle import run_plan

    for name in ("greenhouse", "two-groups", "us-units", "inside-bed", "side-outlets", "series", "timer"):
        run = run_plan(plan_from_text(TEXTS[name]))
        for siphon in run.plan.siphons:
            start, end = run.one_cycle(siphon.name)
            for part in (0.0, 0.4, 0.66, 0.75, 0.95):
                shown = section.SectionView(run.plan).show(run.plan, run, start + part * (end - start))
                for n, drawn in enumerate(shown.parts):
                    yield f"{name} {siphon.name} {part} {n}.svg", drawn.svg()
            chart = levels.levels(run, siphon.name, system=run.plan.units)
            yield f"{name} {siphon.name} levels.svg", chart.svg()

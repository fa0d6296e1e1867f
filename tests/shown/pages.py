"""The pages that are looked at, by name: a page is a function that gives file names and texts.

Each runs in a folder of its own, so that no run leaves anything for another.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterator

from tests.pairs import pairs
from tests.pairs.demo_edits import edited
from tests.plan.generated import plan_text
from tests.shown.changes import CHANGES
from tests.shown.commands import build, command, found, live, page, report
from tests.shown.plans import ROOT, TEXTS
from tests.shown.screens import driven, workbook
from tests.shown.studies import exercises, pictures, studies

Page = Callable[[], Iterator[tuple[str, str]]]
#: Plans by number that are drawn, with every topology, shape and outlet among them.
SEEDS = (7, 11, 18, 23, 57, 64, 99)
WIDE = ("greenhouse", "us-units", "two-groups", "inside-bed", "half-drums", "star", "timer", "us pump", "odd")
BUILT = ("us-units", "two-groups", "inside-bed", "star", "side-outlets", "series", "bins", "odd")
MOVED = ("greenhouse", "us-units", "two-groups", "inside-bed", "pump-curve", "timer")
SHOP = ROOT / "data" / "workshop-demo.toml"
TRIALS = (
    "2 L in 8.5 s: started, stopped",
    "2 L in 13 s: did not within ten minutes",
    "10 L in 16 s: started, ran on",
)
READINGS = ROOT / "tests" / "shown" / "readings.csv"


def _asked(texts: dict[str, str]) -> dict[str, Page]:
    """Pages of what is asked: name -> page."""
    one, demo, two, us = (texts[name] for name in ("one-bed", "greenhouse", "two-groups", "us-units"))
    spills = texts["spills-without-starting"]
    asked = {
        "standpipe": ("standpipe", one),
        "standpipe b": ("standpipe", two, "--siphon", "siphon B"),
        "pump": ("pump", one, "--floods", "3"),
        "pump us": ("pump", us),
        "siphon": ("siphon", demo, "--flow", "25 L/min", "--priming-head", "20 mm"),
        "siphon spills": ("siphon", spills),
        "siphon us": ("siphon", us),
        "drain": ("drain", demo),
        "drain us": ("drain", us, "--difference", "1 in", "--residual", "1 in"),
        "strainer": ("strainer", demo),
        "strainer bare": ("strainer", texts["minimal"], "--width", "3 mm", "--length", "25 mm"),
        "strainer us": ("strainer", us, "--bed", "trough", "--head", "0.5 in"),
        "sump": ("sump", demo),
        "sump over": ("sump", texts["sump-overflows"]),
        "sump us": ("sump", us),
        "chances": ("chances", one, "--size", "12"),
        "sturdy": ("sturdy", texts["single"]),
        "sturdy shop": ("sturdy", spills, "--workshop", SHOP),
        "trouble": ("trouble", one, "--seen", "never stops"),
        "trouble read": (
            "trouble",
            one,
            "--seen",
            "fills slowly",
            "--jug",
            "14 L/min",
            "--fill",
            "9 min",
            "--drain",
            "4 min",
        ),
        "trouble left": (
            "trouble",
            texts["single"],
            "--seen",
            "stays wet",
            "--left",
            "bed=30 mm",
            "--top",
            "bed=40 mm",
        ),
        "upkeep": ("upkeep", one),
        "water": ("water", demo),
        "water us": ("water", us),
        "powercut": ("powercut", demo),
        "powercut over": ("powercut", texts["sump-overflows"]),
        "even": ("even", texts["star"]),
        "even us": ("even", us),
        "bed": ("bed", demo),
        "bed us": ("bed", us),
        "map": ("map", one, "--over", "pump.flow=6 to 40 L/min", "--steps", "6"),
        "map two": (
            "map",
            one,
            "--over",
            "pump.flow=6 to 40 L/min",
            "--over",
            "siphon.standpipe.height=300 to 470 mm",
            "--steps",
            "4",
        ),
        "fit": ("fit", demo, "--readings", READINGS),
    }
    made: dict[str, Page] = {}
    for name, (question, text, *more) in asked.items():
        made[f"ask {name}"] = functools.partial(_both, question, text, more)
    return made


def _both(question: str, text: str, more) -> Iterator[tuple[str, str]]:
    """An answer as a page and as JSON, in one go."""
    yield from command("ask", question, "plan.toml", *more, "--out", "then.toml", files={"plan.toml": text})
    yield from command(
        "ask", question, "plan.toml", *more, "--json", "--html", "page.html", files={"plan.toml": text}
    )


def _others_said(texts: dict[str, str]) -> dict[str, Page]:
    """Pages of the commands that are left."""
    demo, us = texts["greenhouse"], texts["us-units"]
    trials = [word for trial in TRIALS for word in ("--add", trial)]
    files = {"plan.toml": demo, "b.toml": texts["spills-without-starting"]}
    four = {"a.toml": 'beds = 4\nlength = "1.5 m"\nflow = "?"\n'}
    lesson = next((ROOT / "workbooks").glob("01-*.ipynb"))
    argv = {
        "compare": (("compare", "plan.toml", "b.toml", "--workshop", SHOP, "--html", "page.html"), files),
        "compare set": (
            ("compare", "plan.toml", "--set", "pump.flow=30 L/min", "--set", "bed.bed 1.depth=12 in"),
            files,
        ),
        "compare us": (
            ("compare", "plan.toml", "--set", "siphon.standpipe.height=15 in", "--json"),
            {"plan.toml": us},
        ),
        "report set": (
            ("report", "plan.toml", "--set", "bed.*.depth=0.35 m", "--set", "pump.flow=12 L/min"),
            files,
        ),
        "start": (("start", "--yes"), {}),
        "start four": (("start", "--yes", "--beds", "4", "--units", "us", "--flow", "6 gpm"), {}),
        "start file": (("start", "--answers", "a.toml"), four),
        "keys": (("keys",), {}),
        "keys of the report": (("keys", "--report"), {}),
        "bench": (("bench", "plan.toml", "--read"), files),
        "bench added": (("bench", "plan.toml", *trials), files),
        "bench added us": (
            ("bench", "plan.toml", "--siphon", "siphon", *trials[:4], "--json"),
            {"plan.toml": us},
        ),
        "bench bed": (("bench", "plan.toml", "--bed", *trials), files),
        "bench sheet": (("bench", "plan.toml", "--sheet", "sheet.html", "--hose", "20 L/min"), files),
        "bench sheet us": (("bench", "plan.toml", "--sheet", "sheet.html"), {"plan.toml": us}),
        "learner": (("learner", lesson, "--out", "mine.ipynb"), {}),
        "handout": (("handout", lesson, "--out", "page.html"), {}),
        "evidence": (("evidence", "--out", "page.html"), {}),
        "lesson": (("live", lesson, "--out", "page.html"), {}),
    }
    made: dict[str, Page] = {
        name: functools.partial(command, *words, files=given) for name, (words, given) in argv.items()
    }
    words = "2 L in 12.8 s\nn\n5 L in 21 s\nten\n0 L in 3 s\n20 L/min\ns t\nq\n"
    made["bench typed"] = functools.partial(command, "bench", "plan.toml", typed=words, files=files)
    words = "4\n1.5 m\n?\nwide\n12 in\n\ndo not know\n20 lpm\n500 L\n"
    made["start typed"] = functools.partial(command, "start", typed=words)
    return made


def _panels() -> dict[str, Page]:
    """Pages of panels and forms, moved."""
    from aquacalc.notebook import (
        BedForm,
        BedPanel,
        BedsPanel,
        BenchPanel,
        BendsPanel,
        FittedPanel,
        KitchenForm,
        LipPanel,
        ReadingsForm,
        StartForm,
        StrainerPanel,
        SumpPanel,
        demo_plan,
    )
    from aquacalc.teaching import FaultHunt, ScoreForm

    made: dict[str, Page] = {}

    def with_readings():
        form = ReadingsForm(demo_plan())
        for line, value in zip(form.lines, (650.0, 300.0, 19 / 60e3), strict=False):
            line.put(value, 0.02 * value)
        return form

    jug = ("300 mm", "2 L in 11.4 s")
    for system in ("metric", "us"):
        made[f"BenchPanel {system}"] = functools.partial(driven, lambda: BenchPanel(demo_plan()), system, jug)
        made[f"ReadingsForm {system}"] = functools.partial(driven, with_readings, system, ())
    for kind in (LipPanel, BedPanel, BedsPanel, SumpPanel, BendsPanel, StrainerPanel, FittedPanel, BedForm):
        demo = "one-bed" if kind in (BedPanel, BedForm) else "greenhouse"
        for system in ("metric", "us"):
            made[f"{kind.__name__} {system}"] = functools.partial(
                driven, lambda kind=kind, demo=demo: kind(demo_plan(demo)), system
            )
    for kind in (KitchenForm, StartForm, FaultHunt, ScoreForm):
        made[f"{kind.__name__}"] = functools.partial(driven, kind)
    return made


def _pages() -> dict[str, Page]:
    texts = TEXTS
    made: dict[str, Page] = {}
    for name, text in texts.items():
        made[f"{name}: report"] = functools.partial(report, text)
    for make, names in ((page, WIDE), (build, BUILT), (live, MOVED)):
        for name in names:
            made[f"{name}: {make.__name__}"] = functools.partial(make, texts[name])
    made["greenhouse: build"] = functools.partial(build, texts["greenhouse"], "--workshop", SHOP)
    for seed in SEEDS:
        made[f"drawn {seed}: report"] = functools.partial(report, plan_text(seed))
    made |= _asked(texts)
    every = pairs.PAIRS + pairs.MORE + pairs.AGAIN
    for k in range(0, len(every), 6):
        faults = {pair.name: edited(*pair.fault) for pair in every[k : k + 6]}
        made[f"faults {k}"] = functools.partial(found, faults, ("metric", "us")[k // 6 % 2])
    for number in range(11):
        made[f"workbook {number:02d}"] = functools.partial(workbook, f"{number:02d}")
    for system in ("metric", "us"):
        made[f"studies {system}"] = functools.partial(studies, system)
    made |= {f"changes {name}": page for name, page in CHANGES.items()}
    return made | _others_said(texts) | _panels() | {"exercises": exercises, "pictures": pictures}


PAGES = _pages()

"""Commands and what they print and write, and the findings of plans."""

from __future__ import annotations

import contextlib
import io
import json
import os
import re
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path
from unittest import mock

from aquacalc.__main__ import main
from aquacalc.commands import plans
from aquacalc.engine import runner
from aquacalc.plan import plan_from_text


@contextlib.contextmanager
def apart() -> Iterator[Path]:
    """Work in a new folder, at 80 columns, and compile nothing."""
    with (
        tempfile.TemporaryDirectory() as name,
        contextlib.chdir(name),
        mock.patch.dict(os.environ, COLUMNS="80"),
        mock.patch.object(runner, "compile_now", return_value=False),
        mock.patch.object(runner, "compile_aside"),
        mock.patch.object(plans, "PATIENCE", 1e6),
    ):
        yield Path(name)


def _written(folder: Path, but: frozenset[str] = frozenset()) -> Iterator[tuple[str, str]]:
    for path in sorted(folder.rglob("*")):
        name = str(path.relative_to(folder))
        if path.is_file() and path.suffix != ".pdf" and name not in but:
            yield name, path.read_text(encoding="utf-8")


def command(*argv: object, typed: str = "", files: dict[str, str] | None = None) -> Iterator[tuple[str, str]]:
    """What a command prints, and the files it writes."""
    with apart() as folder:
        for name, text in (files or {}).items():
            Path(name).write_text(text, encoding="utf-8")
        out, err = io.StringIO(), io.StringIO()
        before, sys.stdin = sys.stdin, io.StringIO(typed)
        try:
            with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
                status = main([str(a) for a in argv])
        except SystemExit as ended:
            status = ended.code
        finally:
            sys.stdin = before
        said = out.getvalue() + (err.getvalue() if status == 2 else "")
        named = "printed.json" if "--json" in argv and status != 2 else "printed"
        text = said.replace(os.path.realpath(folder), "DIR").replace(str(folder), "DIR")
        yield named, text if named == "printed.json" else f"{text}\nexit status {status}\n"
        yield from _written(folder, frozenset(files or ()))


def report(text: str) -> Iterator[tuple[str, str]]:
    """The report as text and JSON."""
    files = {"plan.toml": text}
    yield from command("report", "plan.toml", files=files)
    yield from command("report", "plan.toml", "--json", files=files)


def page(text: str) -> Iterator[tuple[str, str]]:
    """The report as a page."""
    yield from command("report", "plan.toml", "--html", "page.html", files={"plan.toml": text})


def live(text: str) -> Iterator[tuple[str, str]]:
    """The page with sliders, and what is packed in it."""
    for name, made in command("live", "plan.toml", "--out", "page.html", files={"plan.toml": text}):
        yield name, made
        found = re.findall(r'<script type="application/json"[^>]*>(.*?)</script>', made, re.DOTALL)
        for k, packed in enumerate(found):
            yield f"{k}.json", packed.replace("<\\/", "</")


def build(text: str, *more: object) -> Iterator[tuple[str, str]]:
    """Every file of the build sheet but the PDF, of which the content is looked at before it is typeset."""
    from aquacalc.buildsheet import paper

    def typeset(name, content, drawings=()):
        typeset.made[f"{name}-{content['paper']}.json"] = json.dumps(content)
        return b""

    typeset.made = {}
    with mock.patch.object(paper, "_typeset", typeset):
        for name, made in command("build", "plan.toml", "--out", "sheet", *more, files={"plan.toml": text}):
            if not name.endswith("-letter.svg") or "template" in name:
                yield name, made
    yield "sheet-a4.json", typeset.made["sheet-a4.json"]
    yield "card-a4.json", typeset.made["card-a4.json"]


def found(texts: dict[str, str], system: str = "metric") -> Iterator[tuple[str, str]]:
    """Findings of plans with their sentences, the first advice, and every change that may be tried."""
    from aquacalc.design.advice import advise
    from aquacalc.design.mends import MENDS
    from aquacalc.findings import find, verdict
    from aquacalc.results.cycle import run_plan

    with apart():
        for name, text in texts.items():
            run = run_plan(plan_from_text(text), trace=False)
            findings = find(run, system)
            told = [{k: v for k, v in asdict(f).items() if v not in ("", None)} for f in findings]
            advice = [asdict(a) for a in advise(run, findings)[:2]]
            yield f"{name}.json", json.dumps([verdict(findings), told, advice], default=str)
            doubted = [f for f in findings if f.state != "good" and f.key in MENDS]
            offered = [[f.key, f.subject, c.words, c.values] for f in doubted for c in MENDS[f.key](run, f)]
            yield f"{name} offered.json", json.dumps(offered, default=str)

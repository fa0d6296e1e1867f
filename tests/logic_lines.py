"""Which test runs which line: each test file runs once under coverage, with a context for each test.

Kept in the folder for temporary files until library, data or the test file change. As a pytest plugin this
module names the context of each test, for the processes that a test starts as well.
"""

from __future__ import annotations

import ast
import contextlib
import functools
import hashlib
import itertools
import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

#: Test files that are not run: browsers, whole workbooks, those of programs like this one, and one that
#: looks at how sources are written.
LEFT_OUT = (
    "tests/browser/", "tests/test_workbooks", "tests/test_logic", "tests/equations/test_mutation",
    "tests/test_layout",
)  # fmt: skip
#: Notices any edit of a source that is translated; of the translator it tests what comes out.
TRANSLATED = "tests/test_regenerate"
TRANSLATOR = ("aquacalc/live/emit.py", "aquacalc/live/translate.py")
SETTINGS = """[run]
source = {folder}/aquacalc
data_file = {data}/lines
parallel = true
sigterm = true
context = ${{AQUACALC_TEST-}}
"""
OPTIONS = ("-q", "--tb=no", "-rfE", "-p", "no:cacheprovider", "-p", "no:xdist", "--hypothesis-seed=0")
TIMES = "AQUACALC_TIMES"


@dataclass(frozen=True)
class Lines:
    """What one test file runs: the seconds of each test, and its tests by line of each source.

    In `at` -1 is what importing runs; tests that fail unchanged are not run.
    """

    name: str
    seconds: dict[str, float]
    at: dict[str, dict[int, list[int]]] = field(repr=False)
    fails: frozenset[str] = frozenset()

    @functools.cached_property
    def tests(self) -> list[str]:
        return list(self.seconds)

    def running(self, source: str, lines: set[int]) -> list[str]:
        """Tests that run one of the lines; where only an import does, all that run that source at all."""
        by_line = self.at.get(source, {})
        found = {n for line in lines for n in by_line.get(line, ())}
        if found == {-1}:
            found = {n for tests in by_line.values() for n in tests} - {-1} or set(range(len(self.tests)))
        return [self.tests[n] for n in sorted(found - {-1}) if self.tests[n] not in self.fails]


def spent() -> float:
    """Seconds of a core that this process and those it started have taken."""
    return sum(os.times()[:4])


def pytest_runtest_protocol(item, nextitem) -> None:
    """Name the context of a test before it begins."""
    from coverage import Coverage

    os.environ["AQUACALC_TEST"] = item.nodeid
    running = Coverage.current()
    if running is not None:
        running.switch_context(item.nodeid)
    _took[item.nodeid] = -spent()


def pytest_runtest_logfinish(nodeid, location) -> None:
    _took[nodeid] += spent()


def pytest_sessionfinish(session, exitstatus) -> None:
    Path(os.environ[TIMES]).write_text(json.dumps(_took), encoding="utf-8")


_took: dict[str, float] = {}


def shared(folder: Path, test: str) -> set[str]:
    """Files of tests/ that a test file takes things from, itself and those of pytest among them."""
    found = {str(path.relative_to(folder)) for path in (folder / "tests").rglob("conftest.py")}
    todo = {test, *found}
    while todo:
        name = todo.pop()
        found.add(name)
        here = Path(name).parent
        for node in ast.walk(ast.parse((folder / name).read_text(encoding="utf-8"))):
            if not isinstance(node, ast.ImportFrom):
                continue
            up = here.parents[node.level - 2] if node.level > 1 else here if node.level else Path()
            base = up / (node.module or "").replace(".", "/")
            for path in (base.with_suffix(".py"), *(base / f"{alias.name}.py" for alias in node.names)):
                if str(path).startswith("tests/") and str(path) not in found and (folder / path).is_file():
                    todo.add(str(path))
    return found


def key_of(folder: Path, test: str) -> str:
    """Name of what a test file's lines depend on: library, data, itself and what it takes from others."""
    digest = hashlib.sha256()
    rest = {
        str(path.relative_to(folder))
        for room in ("aquacalc", "data", "workbooks")
        for path in (folder / room).rglob("*")
        if path.suffix in (".py", ".toml", ".csv", ".ipynb")
    }
    for name in sorted(rest | shared(folder, test)):
        digest.update(name.encode() + (folder / name).read_bytes())
    return digest.hexdigest()[:16]


def measured(folder: Path, work: Path, test: str) -> dict:
    """Run one test file of the copy in `folder` unchanged; return what it ran, or how it failed."""
    from coverage import CoverageData

    data = work / "measuring"
    shutil.rmtree(data, ignore_errors=True)
    data.mkdir()
    settings, times = data / "settings", data / "times"
    settings.write_text(SETTINGS.format(folder=folder, data=data), encoding="utf-8")
    environment = {**surroundings(folder, work), "COVERAGE_PROCESS_START": str(settings), TIMES: str(times)}
    command = [sys.executable, "-m", "pytest", *OPTIONS, "-p", "tests.logic_lines", test]
    ended = subprocess.run(
        command, cwd=folder, env=environment, capture_output=True, text=True, stdin=subprocess.DEVNULL
    )
    seconds = json.loads(times.read_text(encoding="utf-8")) if times.exists() else {}
    number = {node: n for n, node in enumerate(seconds)}
    at: dict[str, dict[int, set[int]]] = {}
    for part in data.glob("lines.*"):
        read = CoverageData(basename=str(part))
        with contextlib.suppress(Exception):  # of a process killed while it wrote
            read.read()
            for path in read.measured_files():
                lines = at.setdefault(str(Path(path).relative_to(folder)), {})
                for line, contexts in read.contexts_by_lineno(path).items():
                    lines.setdefault(line, set()).update(number.get(name, -1) for name in contexts)
    fails = re.findall(r"^(?:FAILED|ERROR) (\S+)", ended.stdout, re.MULTILINE)
    if ended.returncode and not fails:
        fails = [test]
    kept = {name: {line: sorted(of) for line, of in lines.items()} for name, lines in at.items()}
    return {"seconds": seconds, "fails": fails, "at": kept}


def surroundings(folder: Path, work: Path) -> dict[str, str]:
    """Return the environment in which tests of the copy run."""
    return {
        **os.environ, "PYTHONPATH": str(folder), "XDG_CACHE_HOME": str(work / "cache"), "MPLBACKEND": "agg",
        "PYTHONHASHSEED": "0", "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1",
    }  # fmt: skip


def lines_by_test(folder: Path, work: Path, tests: str, say: Callable[[str], None]) -> list[Lines]:
    """Return what each test file under `tests` runs, measuring those that are not known yet."""
    store = work / "lines"
    store.mkdir(parents=True, exist_ok=True)
    found = []
    files = sorted(str(p.relative_to(folder)) for p in (folder / "tests").rglob("test_*.py"))
    for file in files:
        if not file.startswith(tests) or file.startswith(LEFT_OUT):
            continue
        kept = store / f"{file.replace('/', '-')}.json"
        key = key_of(folder, file)
        known = json.loads(kept.read_text(encoding="utf-8")) if kept.exists() else {}
        if known.get("key") != key:
            known = {"key": key, **measured(folder, work, file)}
            kept.write_text(json.dumps(known, separators=(",", ":")), encoding="utf-8")
            say(f"measured {file}: {len(known['seconds'])} tests, {sum(known['seconds'].values()):.0f} s "
                f"{' '.join(known['fails'])}")  # fmt: skip
        if file not in known["fails"]:
            at = {name: {int(n): of for n, of in lines.items()} for name, lines in known["at"].items()}
            found.append(Lines(file, known["seconds"], at, frozenset(known["fails"])))
    return found


def in_turns(tests: list[str], seconds: dict[str, float]) -> Iterator[str]:
    """Order tests: the quickest of each function, then the next of each."""
    functions: dict[str, list[str]] = {}
    for test in sorted(tests, key=seconds.__getitem__):
        functions.setdefault(test.partition("[")[0], []).append(test)
    for turn in itertools.zip_longest(*functions.values()):
        yield from filter(None, turn)


def batches(known: list[Lines], source: str, lines: set[int], most: float) -> list[list[str]]:
    """Return the tests that run these lines in the order to run them, of one file at a time.

    First those of the changed package's own files and a few of each other, the quickest files first; then the
    others of them, and the others of these files, which may use what the first ones left behind. What takes
    more than `most` seconds in all is left out.
    """
    package = Path(source).parts[1].removesuffix(".py")
    running = [
        (of, tests) for of in known if (tests := list(in_turns(of.running(source, lines), of.seconds)))
    ]
    first, then, rest = [], [], []
    for of, tests in running:
        far = package not in of.name
        head, tail = (tests[:FIRST], tests[FIRST:]) if far else (tests, [])
        first.append((far, sum(map(of.seconds.__getitem__, head)), head, of))
        then.append((far, sum(map(of.seconds.__getitem__, tail)), tail, of))
        others = [test for test in in_turns(of.tests, of.seconds) if test not in {*tests, *of.fails}]
        rest.append((far, sum(map(of.seconds.__getitem__, others)), others, of))
    chosen, spare = [], most
    for stage in (first, then, rest):
        for _, _, tests, of in sorted(stage, key=lambda each: each[:2]):
            fits = []
            for test in tests:
                if of.seconds[test] < spare or (not chosen and not fits):
                    fits.append(test)
                    spare -= of.seconds[test]
            if fits:
                chosen.append(fits)
                spare -= OVERHEAD
    return chosen


#: Tests of a file that run before those of the next; seconds that a file's start takes.
FIRST, OVERHEAD = 4, 0.7

"""Which test runs which line: each test file runs once under coverage, with a context for each test.

Kept in the folder for temporary files until the test file or what it takes from others of tests/ changes.
When the library changes, lines that are still there keep their tests, and a new line gets those of the lines
around it; `--measure` runs all test files again (20 minutes). As a pytest plugin this module names the
context of each test, for the processes that a test starts as well.
"""

from __future__ import annotations

import ast
import contextlib
import difflib
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
    "tests/browser/", "tests/test_workbooks.py", "tests/test_logic", "tests/equations/test_mutation",
    "tests/test_layout",
)  # fmt: skip
#: Notices any edit of a source that is translated; of the translator it tests what comes out.
TRANSLATED = "tests/test_regenerate.py::test_file_is_current[engine-js]"
TRANSLATOR = ("aquacalc/live/emit.py", "aquacalc/live/expressions.py", "aquacalc/live/translate.py")
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
        tests = (self.tests[n] for n in sorted(found - {-1}))
        left_out = self.fails if source in TRANSLATOR else self.fails | {TRANSLATED}
        return [test for test in tests if test not in left_out]


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
    """Name of what a test file's lines depend on beside the library: itself and what it takes from others."""
    digest = hashlib.sha256()
    for name in sorted(shared(folder, test)):
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
    fails = re.findall(r"^(?:FAILED|ERROR) (.+?)(?: - .*)?$", ended.stdout, re.MULTILINE)
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


class Sources:
    """The library's sources as they were when a test file was measured, to find its lines in today's."""

    def __init__(self, folder: Path, store: Path):
        self.store = store
        self.now = {
            str(path.relative_to(folder)): path.read_text(encoding="utf-8").splitlines()
            for path in sorted((folder / "aquacalc").rglob("*.py"))
        }
        text = json.dumps(self.now)
        self.name = hashlib.sha256(text.encode()).hexdigest()[:16]
        self.path(self.name).write_text(text, encoding="utf-8")
        self.moves: dict[tuple[str, str], dict[int, tuple[int, ...]]] = {}

    def path(self, name: str) -> Path:
        return self.store / f"sources-{name}.json"

    @functools.cache  # noqa: B019 (one for the whole program)
    def then(self, name: str) -> dict[str, list[str]]:
        return json.loads(self.path(name).read_text(encoding="utf-8"))

    def today(self, at: dict[str, dict[int, list[int]]], name: str) -> dict[str, dict[int, list[int]]]:
        """Return tests by line of each source, measured under `name`, for the lines of today."""
        if name == self.name:
            return at
        found: dict[str, dict[int, list[int]]] = {}
        for file in self.now:
            if file in at:
                lines = {n: self.from_lines(file, name, n) for n in range(1, len(self.now[file]) + 1)}
                of = {n: {t for old in olds for t in at[file].get(old, ())} for n, olds in lines.items()}
                found[file] = {n: sorted(tests) for n, tests in of.items() if tests}
        return found

    def from_lines(self, file: str, name: str, line: int) -> tuple[int, ...]:
        """Lines of then that a line of today comes from: itself, or those around what is new."""
        if (file, name) not in self.moves:
            was, now = self.then(name).get(file, []), self.now[file]
            moved: dict[int, tuple[int, ...]] = {}
            for what, i, j, k, m in difflib.SequenceMatcher(None, was, now, autojunk=False).get_opcodes():
                for n in range(k, m):
                    old = (i + n - k + 1,) if what == "equal" else tuple(range(max(i - 1, 1), j + 3))
                    moved[n + 1] = old
            self.moves[file, name] = moved
        return self.moves[file, name].get(line, ())


def lines_by_test(
    folder: Path, work: Path, tests: str, say: Callable[[str], None], anew: bool = False
) -> list[Lines]:
    """Return what each test file under `tests` runs, measuring those not known yet, or all `anew`."""
    store = work / "lines"
    store.mkdir(parents=True, exist_ok=True)
    sources, found = Sources(folder, store), []
    files = sorted(str(p.relative_to(folder)) for p in (folder / "tests").rglob("test_*.py"))
    for file in files:
        if not file.startswith(tests) or file.startswith(LEFT_OUT):
            continue
        kept = store / f"{file.replace('/', '-')}.json"
        key = key_of(folder, file)
        known = json.loads(kept.read_text(encoding="utf-8")) if kept.exists() else {}
        if known.get("key") != key or (anew and known["sources"] != sources.name):
            known = {"key": key, "sources": sources.name, **measured(folder, work, file)}
            kept.write_text(json.dumps(known, separators=(",", ":")), encoding="utf-8")
            say(f"measured {file}: {len(known['seconds'])} tests, {sum(known['seconds'].values()):.0f} s "
                f"{' '.join(known['fails'])}")  # fmt: skip
        if file not in known["fails"]:
            at = {name: {int(n): of for n, of in lines.items()} for name, lines in known["at"].items()}
            at = sources.today(at, known["sources"])
            found.append(Lines(file, known["seconds"], at, frozenset(known["fails"])))
    return found


def in_turns(tests: list[str], seconds: dict[str, float]) -> Iterator[str]:
    """Order tests: the quickest of each function, then the next of each; a kind of page is a function."""
    functions: dict[str, list[str]] = {}
    for test in sorted(tests, key=seconds.__getitem__):
        function, _, case = test.partition("[")
        if case and function.startswith(SHOWN):
            function = case.partition(": ")[2] or case.split()[0]
        functions.setdefault(function, []).append(test)
    for turn in itertools.zip_longest(*functions.values()):
        yield from filter(None, turn)


def batches(known: list[Lines], source: str, lines: set[int], most: float) -> list[list[str]]:
    """Return the tests that run these lines in the order to run them, of one file at a time.

    First some pages that are kept as they were shown, then the tests of the changed package's own files and a
    few of each other, the quickest files first; then the others of them, and the others of these files, which
    may use what the first ones left behind. What takes more than `most` seconds in all is left out, and so is
    a single test that takes more than `SLOW`.
    """
    package = Path(source).parts[1].removesuffix(".py")
    running = [
        (of, tests)
        for of in known
        if (tests := [t for t in in_turns(of.running(source, lines), of.seconds) if of.seconds[t] < SLOW])
    ]
    first, then, rest = [], [], []
    for of, tests in running:
        shown = of.name.startswith(SHOWN)
        far = -1 if shown else int(package not in of.name)
        first_ones = PAGES if shown else FIRST if far else len(tests)
        head, tail = tests[:first_ones], tests[first_ones:]
        first.append((far, sum(map(of.seconds.__getitem__, head)), head, of))
        then.append((far, sum(map(of.seconds.__getitem__, tail)), tail, of))
        others = [
            test
            for test in in_turns(of.tests, of.seconds)
            if test not in {*tests, *of.fails, TRANSLATED} and of.seconds[test] < SLOW and not shown
        ]
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


#: Tests of a file that run before those of the next, and kept pages; seconds that a file's start takes, and
#: that a single test may take.
FIRST, PAGES, OVERHEAD, SLOW = 4, 12, 0.7, 20.0
SHOWN = "tests/test_shown.py"

"""Make single changes of logic at random and say which no test notices.

    python -m tests.logic_mutation --seed 1 --count 600
    python -m tests.logic_mutation --seed 2 --count 30 --only aquacalc/report
    python -m tests.logic_mutation --seed 1 --count 600 --numbers 4,17    # two of them again
    python -m tests.logic_mutation --again RESULTS.jsonl     # what survived then, in today's sources

Each change (see `tests.logic_changes`) is made in a copy of the tree in the folder for temporary files,
never here. Which test runs a line is measured once (see `tests.logic_lines`). A change costs a few seconds:
a copy of this process, which has loaded pytest and all libraries already, runs the tests of the changed line,
those of the same package and the quickest first, until one fails. A change that none notices is a survivor,
and so is one on a line that no test runs. Each result is kept at once, so that the same command goes on where
it was ended; Ctrl-C shows what it has so far. The exit status is 1 when there are survivors.

Changes that change nothing are listed with the reason in `tests/logic_same.toml`, and counted apart.

Tests that take a browser or run whole workbooks are left out, and so are those that notice any edit of a
source: a survivor here may be noticed there. A change in the kernels runs them in the interpreter.
"""

from __future__ import annotations

import argparse
import contextlib
import gc
import hashlib
import json
import os
import random
import re
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import tomllib
from dataclasses import dataclass, field, replace
from importlib import import_module
from pathlib import Path

import pytest

from tests.logic_changes import Change, changes, made
from tests.logic_lines import OPTIONS, Lines, batches, lines_by_test, surroundings
from tests.logic_patch import exchanged, put_in

ROOT = Path(__file__).parents[1]
WORK = Path(tempfile.gettempdir()) / "aquacalc-logic"
#: Library files that hold only how things look.
LOOKS = ("style.py",)
#: Seconds of one core that a change may take over three times what its tests take unchanged, and one test
#: over three times its own; longer is noticed. On a busy machine a second of one core may take BUSY.
PATIENCE, OF_ONE, BUSY = 30.0, 10.0, 20.0
#: Batches of tests that run first with the change put into what is imported already.
QUICK = 2
#: Loaded once, before any change.
LIBRARIES = (
    "hypothesis", "hypothesis.strategies", "ipywidgets", "matplotlib.figure", "nbformat", "numba", "numpy",
    "pandas", "pint", "pytest", "scipy.integrate", "scipy.optimize", "scipy.stats", "sympy",
)  # fmt: skip


@dataclass(frozen=True)
class Sampled:
    """One change of a sample, and what became of it: `noticed` names the test."""

    number: int
    file: str
    change: Change
    source: str = field(repr=False)
    noticed: str = ""
    same: str = ""
    ran: int = 0
    seconds: float = 0.0

    @property
    def place(self) -> str:
        return f"{self.number}: {self.file}:{self.change.line}: {self.change.before} -> {self.change.after}"

    def lines(self) -> tuple[str, str]:
        """The line before and after."""
        at = self.change.line - 1
        return tuple(text.splitlines()[at].strip() for text in (self.source, made(self.source, self.change)))


def sample(root: Path, seed: int, count: int | None, only: str = "") -> list[Sampled]:
    """Draw changes without repetition, the same for the same sources and seed."""
    places = []
    for path in sorted((root / "aquacalc").rglob("*.py")):
        name = str(path.relative_to(root))
        if name.startswith(only) and path.name not in LOOKS:
            source = path.read_text(encoding="utf-8")
            places += [(name, site, source) for site in changes(source)]
    draw = random.Random(seed)
    chosen = draw.sample(places, len(places))[:count]
    return [Sampled(i, name, draw.choice(site), source) for i, (name, site, source) in enumerate(chosen)]


def survivors(root: Path, results: Path) -> list[Sampled]:
    """Find what survived in a file of results in today's sources, by its line before and after."""
    found = {of["number"]: of for of in map(json.loads, results.read_text(encoding="utf-8").splitlines())}
    again = []
    for number, of in sorted(found.items()):
        if of["noticed"] or of["same"]:
            continue
        _, name, line, _ = of["place"].replace(" ", "").split(":", 3)
        source = (root / name).read_text(encoding="utf-8") if (root / name).is_file() else ""
        every = (Sampled(number, name, change, source) for site in changes(source) for change in site)
        alike = [one for one in every if one.lines() == (of["before"], of["after"])]
        if alike:
            again.append(min(alike, key=lambda one, line=int(line): abs(one.change.line - line)))
        else:
            print(f"{of['place']}: is no longer there")
    return again


class Copy:
    """A copy of the tree to make changes in."""

    def __init__(self, work: Path):
        self.folder, self.work, self.output = work / "tree", work, work / "output"
        self.passing: dict[tuple[str, bool, bool], bool] = {}

    def renew(self) -> None:
        """Make the copy like the tree; files that are alike keep their time, and so their code."""
        listed = subprocess.run(
            ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
            cwd=ROOT, capture_output=True, text=True, check=True,
        )  # fmt: skip
        names = {name for name in listed.stdout.split("\0") if name and (ROOT / name).is_file()}
        for path in [p for p in self.folder.rglob("*") if p.is_file() and p.suffix != ".pyc"]:
            if str(path.relative_to(self.folder)) not in names:
                path.unlink()
        for name in names:
            source, target = ROOT / name, self.folder / name
            if not target.exists() or target.read_bytes() != source.read_bytes():
                target.parent.mkdir(parents=True, exist_ok=True)
                shutil.copyfile(source, target)
        command = [sys.executable, "-m", "aquacalc.engine.compiled"]
        subprocess.run(command, cwd=self.folder, env=surroundings(self.folder, self.work), check=True)

    def load(self) -> None:
        """Import what kept pages use, from the copy, before any change: see `tests.logic_patch`."""
        self.leave()
        import_module("aquacalc.__main__")
        import_module("tests.shown.pages")

    def leave(self) -> None:
        """Import from the copy and in its surroundings from now on, and nothing from where this was begun."""
        os.environ.update(surroundings(self.folder, self.work))
        os.environ["PYTHONDONTWRITEBYTECODE"] = "1"  # the code of a changed source must not outlive it
        sys.dont_write_bytecode = True
        sys.path[:] = [
            str(self.folder),
            *(p for p in sys.path if not (Path(p) / "aquacalc" / "__init__.py").is_file()),
        ]
        for name in [name for name in sys.modules if name.partition(".")[0] in ("aquacalc", "tests")]:
            del sys.modules[name]

    def attempt(self, one: Sampled, known: list[Lines], most: float) -> Sampled:
        """Make a change, run its tests, and put the source back; first the quick way, for kept pages."""
        wanted = set(range(one.change.first, one.change.last + 1))
        chosen = batches(known, one.file, wanted, most)
        if not chosen:
            return one
        slower = 10.0 if interpreted(one.file) else 3.0
        cost = {test: slower * seconds for of in known for test, seconds in of.seconds.items()}
        path, started = self.folder / one.file, time.monotonic()
        new = exchanged(str(path), one.source, made(one.source, one.change))
        noticed = self.run(chosen[:QUICK], cost, one.file, new) if new else ""
        if noticed and ("::" not in noticed or self.passes(noticed, cost, one.file, {})):
            took = round(time.monotonic() - started, 1)
            return replace(one, noticed=noticed, ran=sum(map(len, chosen)), seconds=took)
        times = path.stat()
        while True:
            try:
                path.write_text(made(one.source, one.change), encoding="utf-8")
                noticed = self.run(chosen, cost, one.file)
            finally:
                path.write_text(one.source, encoding="utf-8")
                os.utime(path, ns=(times.st_atime_ns, times.st_mtime_ns))  # code is kept by time
            if not noticed or "::" not in noticed or self.passes(noticed, cost, one.file):
                break
            chosen = [[test for test in tests if test != noticed] for tests in chosen]
            chosen = [tests for tests in chosen if tests]
        return replace(
            one, noticed=noticed, ran=sum(map(len, chosen)), seconds=round(time.monotonic() - started, 1)
        )

    def passes(self, test: str, cost: dict[str, float], changed: str, new: dict | None = None) -> bool:
        """Whether a test passes unchanged, as its kernels run here: it may fail by itself."""
        key = test, interpreted(changed), new is None
        if key not in self.passing:
            self.passing[key] = not self.run([[test]], cost, changed, new)
        return self.passing[key]

    def run(
        self, chosen: list[list[str]], cost: dict[str, float], changed: str, new: dict | None = None
    ) -> str:
        """Run tests in a copy of this process until one fails; return what noticed, or "".

        `cost` is what each test may take, s of one core; `new` is code to put into what is imported already,
        instead of importing the changed source.
        """
        seconds = sum(cost[test] for tests in chosen for test in tests) + PATIENCE
        child = os.fork()
        if not child:
            status = 99
            try:
                status = self.inside(chosen, cost, seconds, changed, new)
            finally:
                os._exit(status)
        until, status = time.monotonic() + BUSY * seconds, None
        try:
            while status is None and time.monotonic() < until:
                ended, how = os.waitpid(child, os.WNOHANG)
                status = os.waitstatus_to_exitcode(how) if ended else None
                if status is None:
                    time.sleep(0.02)
        finally:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(child, signal.SIGKILL)  # with what it started
            if status is None:
                os.waitpid(child, 0)
        if status == 0:
            return ""
        if status == -signal.SIGINT:
            raise KeyboardInterrupt
        if status in (None, -signal.SIGKILL, -signal.SIGXCPU, -signal.SIGPROF):
            return "takes too long"
        output = self.output.read_text(encoding="utf-8", errors="replace")
        found = re.search(r"^(?:FAILED|ERROR) (.+?)(?: - .*)?$", output, re.MULTILINE)
        if found is None and status == pytest.ExitCode.USAGE_ERROR:
            raise RuntimeError(f"pytest ends with status {status}:\n{output[-2000:]}")
        return found[1] if found else f"the tests end with status {status}"

    def inside(
        self, chosen: list[list[str]], cost: dict[str, float], seconds: float, changed: str, new: dict | None
    ) -> int:
        """In the process of one change: run the batches, ending with the first that fails."""
        os.setsid()
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, signal.SIG_DFL)
        with self.output.open("wb") as output:
            os.dup2(output.fileno(), 1)
            os.dup2(output.fileno(), 2)
        os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
        resource.setrlimit(resource.RLIMIT_CPU, (int(seconds), int(seconds) + 5))
        os.chdir(self.folder)
        if new is None:
            self.leave()
        elif new and not put_in(str(self.folder / changed), new):
            return 0
        others = [Interpreted()] if interpreted(changed) else []
        for tests in chosen:
            file = tests[0].partition("::")[0]
            status = pytest.main(["-x", *OPTIONS, file], plugins=[Chosen(tests, cost), *others])
            if status not in (0, pytest.ExitCode.NO_TESTS_COLLECTED):
                return int(status)
        return 0


def interpreted(changed: str) -> bool:
    """Whether a change of this source is one of the kernels, which then run in the interpreter."""
    kernels = (ROOT / "aquacalc" / "engine" / "compiled.py").read_text(encoding="utf-8")
    return f'"{changed[:-3].replace("/", ".")}",' in kernels


class Interpreted:
    """A pytest plugin that keeps kernels from being compiled, here and aside."""

    @staticmethod
    @pytest.hookimpl(tryfirst=True)
    def pytest_configure(config) -> None:
        from aquacalc.engine import compiled

        config.workerinput = {}
        compiled.ready = compiled.build = lambda: False


class Chosen:
    """A pytest plugin that runs the tests chosen of a file, in order, and ends one that takes too long."""

    def __init__(self, tests: list[str], cost: dict[str, float]):
        self.place, self.cost = {test: n for n, test in enumerate(tests)}, cost

    def pytest_collection_modifyitems(self, items) -> None:
        # A change may take a test away: what is not there notices nothing.
        items[:] = [item for item in items if item.nodeid in self.place]
        items.sort(key=lambda item: self.place[item.nodeid])

    def pytest_runtest_logstart(self, nodeid, location) -> None:
        signal.setitimer(signal.ITIMER_PROF, self.cost[nodeid] + OF_ONE)

    def pytest_runtest_logfinish(self, nodeid, location) -> None:
        signal.setitimer(signal.ITIMER_PROF, 0.0)


class Kept:
    """Results on disk, a line each; the last one of a number counts."""

    def __init__(self, drawn: list[Sampled], name: str):
        digest = hashlib.sha256("".join(one.source for one in drawn).encode()).hexdigest()[:8]
        self.path = WORK / f"{name}-{digest}.jsonl"
        self.found: dict[int, dict] = {}
        if self.path.exists():
            for line in self.path.read_text(encoding="utf-8").splitlines():
                of = json.loads(line)
                self.found[of["number"]] = of

    def add(self, one: Sampled) -> None:
        before, after = one.lines()
        of = {
            "number": one.number, "place": one.place, "noticed": one.noticed, "same": one.same,
            "ran": one.ran, "seconds": one.seconds, "before": before, "after": after,
        }  # fmt: skip
        with self.path.open("a", encoding="utf-8") as file:
            file.write(json.dumps(of) + "\n")
        self.found[one.number] = of


def same() -> dict[tuple[str, str, str], str]:
    """Changes that change nothing: file, line before and line after -> why."""
    listed = tomllib.loads((ROOT / "tests" / "logic_same.toml").read_text(encoding="utf-8")).get("same", [])
    return {(one["file"], one["before"], one["after"]): one["why"] for one in listed}


def summary(found: dict[int, dict], asked: int) -> int:
    """Print the survivors, how many of how many by room, and return how many."""
    known = same()
    for of in found.values():
        file = of["place"].split(":")[1].strip()
        of["same"] = known.get((file, of["before"], of["after"]), "")
    alive = [of for _, of in sorted(found.items()) if not (of["noticed"] or of["same"])]
    for of in alive:
        why = f"{of['ran']} tests run it and none notices" if of["ran"] else "no test runs it"
        print(f"\n{of['place']}   ({why})\n    - {of['before']}\n    + {of['after']}")
    rooms: dict[str, list[int]] = {}
    for of in found.values():
        room = rooms.setdefault(of["place"].split(":")[1].strip().split("/")[1], [0, 0])
        room[0] += 1
        room[1] += not (of["noticed"] or of["same"])
    print("\n| Room | Sampled | Survived |\n|---|---|---|")
    for name, (sampled, survived) in sorted(rooms.items()):
        print(f"| {name} | {sampled} | {survived} |")
    done = f" (of {asked} asked for)" if len(found) < asked else ""
    nothing = sum(1 for of in found.values() if of["same"] and not of["noticed"])
    print(f"\n{len(alive)} of {len(found)} changes{done} survive; {nothing} more change nothing.")
    return len(alive)


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(
        prog="python -m tests.logic_mutation",
        description=__doc__,
        formatter_class=argparse.RawTextHelpFormatter,
    )
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--count", type=int, default=60, help="changes to draw")
    parser.add_argument("--only", default="", help="files whose path begins so: aquacalc/report")
    parser.add_argument("--tests", default="tests", help="test files whose path begins so: tests/report")
    parser.add_argument("--numbers", default="", help="only these numbers of the sample, again: 4,17")
    parser.add_argument("--again", type=Path, help="run again what survives in a file of results")
    parser.add_argument("--most", type=float, default=30.0, help="seconds of tests a change, about")
    parser.add_argument("--measure", action="store_true", help="measure anew which test runs which line")
    parser.add_argument("--list", action="store_true", help="show the sample and change nothing")
    args = parser.parse_args(arguments)
    numbers = {int(n) for n in args.numbers.split(",") if n}
    again = args.again
    drawn = survivors(ROOT, again) if again else sample(ROOT, args.seed, args.count, args.only)
    todo = [one for one in drawn if not numbers or one.number in numbers]
    where = f"again {again.name}" if args.again else f"seed {args.seed}"
    print(f"{where}, {len(todo)} changes{' in ' + args.only if args.only else ''}", flush=True)
    if args.list:
        print("\n".join(one.place for one in todo))
        return 0

    WORK.mkdir(exist_ok=True)
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    nothing = same()
    kept, copy = Kept(drawn, "again" if again else f"seed-{args.seed}"), Copy(WORK)
    try:
        copy.renew()
        known = lines_by_test(
            copy.folder, WORK, args.tests, lambda text: print(text, flush=True), args.measure
        )
        for name in LIBRARIES:
            import_module(name)
        copy.load()
        gc.freeze()  # a copy of this process has nothing of it to look through
        for one in todo:
            if one.number in kept.found and not (numbers or again):
                continue
            why = nothing.get((one.file, *one.lines()), "")
            one = replace(one, same=why) if why else copy.attempt(one, known, args.most)
            kept.add(one)
            said = f"noticed by {one.noticed}" if one.noticed else "changes nothing" if why else "SURVIVES"
            print(f"{one.place}   {said} ({one.seconds:.0f} s)", flush=True)
    except KeyboardInterrupt:
        print("\nEnded before it was done.")
    asked = {one.number for one in todo}
    return 1 if summary({n: of for n, of in kept.found.items() if n in asked}, len(todo)) else 0


if __name__ == "__main__":
    sys.exit(main())

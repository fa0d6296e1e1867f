"""Make single changes of logic at random and say which no test notices.

    python -m tests.logic_mutation --seed 1 --count 60
    python -m tests.logic_mutation --seed 2 --count 30 --only aquacalc/report --jobs 2
    python -m tests.logic_mutation --seed 2 --only aquacalc/report --numbers 4,17    # two of them again

Each change (see `tests.logic_changes`) is made in a copy of the tree in the folder for temporary files,
never here. Which test files run a line is measured once, file by file, and kept there until library or
tests change; the files that run the changed line are run, those of the same package and the quickest
first, until one fails. A change that none notices is a survivor, and so is one on a line that no test
runs. Ctrl-C ends it and shows what it has so far. The exit status is 1 when there are survivors.

Tests that take a browser or run whole workbooks are left out: a survivor here may be noticed there. With
`--tests tests/report` the tests of one folder alone have to notice.
"""

from __future__ import annotations

import argparse
import ast
import contextlib
import hashlib
import json
import math
import os
import queue
import random
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from coverage import CoverageData

from tests.logic_changes import Change, changes, made

ROOT = Path(__file__).parents[1]
WORK = Path(tempfile.gettempdir()) / "aquacalc-logic"
#: Test files that are not run: browsers, whole workbooks, and those of programs like this one.
LEFT_OUT = ("tests/browser/", "tests/test_workbooks", "tests/test_logic", "tests/equations/test_mutation")
#: Library files that hold only how things look.
LOOKS = ("style.py", "page_style.py")
#: Seconds of one core that a change may take over three times what its tests take unchanged; longer is
#: noticed. Twice as much where the tests have to compile it first.
PATIENCE = 60.0
#: On a busy machine a second of one core may take so many.
BUSY = 20.0
MEASURE = """[run]
source = {folder}/aquacalc
data_file = {data}
parallel = true
patch = subprocess
sigterm = true
"""


@dataclass(frozen=True)
class Sampled:
    """One change of a sample, and what became of it: `noticed` names the test."""

    number: int
    file: str
    change: Change
    source: str
    noticed: str = ""
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


class Stopped(Exception):
    """Somebody ended the program."""


class Copy:
    """A copy of the tree to make changes in."""

    def __init__(self, number: int, stop: threading.Event):
        self.folder = WORK / f"tree-{number}"
        self.output = WORK / f"output-{number}"
        self.stop = stop

    def renew(self) -> None:
        shutil.rmtree(self.folder, ignore_errors=True)
        listed = subprocess.run(
            ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
            cwd=ROOT, capture_output=True, text=True, check=True,
        )  # fmt: skip
        for name in filter(None, listed.stdout.split("\0")):
            if (ROOT / name).is_file():
                target = self.folder / name
                target.parent.mkdir(parents=True, exist_ok=True)
                shutil.copy2(ROOT / name, target)
        for path in (self.folder / "aquacalc").rglob("compiled.py"):
            module = ".".join(path.relative_to(self.folder).with_suffix("").parts)
            self.run([sys.executable, "-m", module], 600.0)

    def run(self, command: list[str], seconds: float, bytecode: bool = True) -> tuple[int | None, str]:
        """Run a command in the copy; return its exit status (None when it took too long) and output.

        `seconds` are of one core, for each process.
        """
        environment = {
            **os.environ, "PYTHONPATH": str(self.folder), "XDG_CACHE_HOME": str(WORK / "cache"),
            "MPLBACKEND": "agg", "PYTHONHASHSEED": "0",
        }  # fmt: skip
        if not bytecode:  # the code of a changed source must not outlive it
            environment["PYTHONDONTWRITEBYTECODE"] = "1"
        with self.output.open("w+", encoding="utf-8", errors="replace") as output:
            limited = ["sh", "-c", f'ulimit -t {math.ceil(seconds)}; exec "$@"', "sh", *command]
            process = subprocess.Popen(
                limited, cwd=self.folder, env=environment, start_new_session=True, stdin=subprocess.DEVNULL,
                stdout=output, stderr=subprocess.STDOUT,
            )  # fmt: skip
            until = time.monotonic() + BUSY * seconds
            try:
                while process.poll() is None and time.monotonic() < until and not self.stop.is_set():
                    time.sleep(0.05)
            finally:
                status = process.poll()
                with contextlib.suppress(ProcessLookupError):
                    os.killpg(process.pid, signal.SIGKILL)  # with what it started, such as a compiler
                process.wait()
            if self.stop.is_set():
                raise Stopped
            output.seek(0)
            return None if status == -signal.SIGKILL else status, output.read()

    def test(self, files: list[str], seconds: float) -> str:
        """Run test files until one fails; return what noticed, or ""."""
        options = ["-x", "-q", "--tb=no", "-rfE", "-p", "no:cacheprovider", "-p", "no:xdist"]
        status, output = self.run([sys.executable, "-m", "pytest", *options, *files], seconds, bytecode=False)
        if status == 0:
            return ""
        if status is None:
            return "takes too long"
        found = re.search(r"^(?:FAILED|ERROR) (\S+)", output, re.MULTILINE)
        return found[1] if found else f"pytest ends with status {status}"

    def measured(self, file: str) -> dict:
        """Run one test file unchanged; return the lines it runs, its time and whether it passes."""
        data = WORK / f"lines-{self.folder.name}"
        data.mkdir(exist_ok=True)
        settings = WORK / f"{self.folder.name}.rc"
        settings.write_text(MEASURE.format(folder=self.folder, data=data / "lines"), encoding="utf-8")
        options = ["-q", "--tb=no", "-rfE", "-p", "no:cacheprovider", "-p", "no:xdist", file]
        command = [sys.executable, "-m", "coverage", "run", f"--rcfile={settings}", "-m", "pytest", *options]
        before = os.times()
        status, output = self.run(command, 1200.0)
        after = os.times()
        took = after.children_user + after.children_system - before.children_user - before.children_system
        lines: dict[str, set[int]] = {}
        for part in data.iterdir():
            read = CoverageData(basename=str(part))
            with contextlib.suppress(Exception):  # of a process killed while it wrote
                read.read()
                for path in read.measured_files():
                    name = str(Path(path).relative_to(self.folder))
                    lines.setdefault(name, set()).update(read.lines(path) or ())
        shutil.rmtree(data)
        end = output.strip().splitlines()[-1:] if status else []
        return {"seconds": took, "fails": end, "lines": {name: sorted(at) for name, at in lines.items()}}


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


def lines_by_test(copies: list[Copy], tests: str, say: Callable[[str], None]) -> dict[str, dict]:
    """Return what each test file under `tests` runs, measuring those that are not known yet."""
    store = WORK / "lines.json"
    known = json.loads(store.read_text(encoding="utf-8")) if store.exists() else {}
    folder = copies[0].folder
    files = sorted(str(p.relative_to(folder)) for p in (folder / "tests").rglob("test_*.py"))
    keys = {
        file: key_of(folder, file)
        for file in files
        if file.startswith(tests) and not file.startswith(LEFT_OUT)
    }
    missing = [file for file in keys if known.get(file, {}).get("key") != keys[file]]

    def measure(copy: Copy, file: str) -> tuple[str, dict]:
        return file, {"key": keys[file], **copy.measured(file)}

    for file, found in spread(copies, measure, missing):
        known[file] = found
        store.write_text(json.dumps(known), encoding="utf-8")
        say(f"measured {file} ({found['seconds']:.0f} s){' FAILS: ' if found['fails'] else ''}"
            f"{' '.join(found['fails'])}")  # fmt: skip
    return {file: known[file] for file in keys if not known[file]["fails"]}


def spread(copies: list[Copy], work: Callable, things: list):
    """Yield the results of `work(copy, thing)`, one thread to a copy."""
    todo, done = queue.SimpleQueue(), queue.SimpleQueue()
    for thing in things:
        todo.put(thing)

    def worker(copy: Copy):
        with contextlib.suppress(queue.Empty, Stopped):
            while True:
                thing = todo.get_nowait()
                try:
                    done.put((work(copy, thing), None))
                except Exception as error:
                    done.put((None, error))
                    raise Stopped from None

    for copy in copies:
        threading.Thread(target=worker, args=(copy,), daemon=True).start()
    for _ in things:
        result, error = done.get()
        if error is not None:
            raise error
        yield result


def files_for(one: Sampled, known: dict[str, dict]) -> list[str]:
    """Test files that run the changed line, in the order to run them."""
    wanted = set(range(one.change.first, one.change.last + 1))
    found = [file for file, of in known.items() if wanted & set(of["lines"].get(one.file, ()))]
    package = Path(one.file).parts[1].removesuffix(".py")
    return sorted(found, key=lambda file: (package not in file, known[file]["seconds"]))


def attempt(copy: Copy, one: Sampled, known: dict[str, dict], most: float) -> Sampled:
    """Make a change, run its tests, and put the source back."""
    files = files_for(one, known)
    while len(files) > 1 and sum(known[file]["seconds"] for file in files) > most:
        files.pop()
    if not files:
        return replace(one, noticed="")
    path = copy.folder / one.file
    times = path.stat()
    compilers = [p.read_text(encoding="utf-8") for p in (copy.folder / "aquacalc").rglob("compiled.py")]
    compiled = any(f'"{one.file[:-3].replace("/", ".")}"' in text for text in compilers)
    patience = 3.0 * sum(known[file]["seconds"] for file in files) + PATIENCE * (2 if compiled else 1)
    started = time.monotonic()
    try:
        path.write_text(made(one.source, one.change), encoding="utf-8")
        noticed = copy.test(files, patience)
    finally:
        path.write_text(one.source, encoding="utf-8")
        os.utime(path, ns=(times.st_atime_ns, times.st_mtime_ns))  # machine code is kept by time too
    return replace(one, noticed=noticed, ran=len(files), seconds=time.monotonic() - started)


def summary(results: list[Sampled], asked: int) -> None:
    """Print the survivors, and how many of how many."""
    alive = sorted((one for one in results if not one.noticed), key=lambda one: one.number)
    for one in alive:
        why = f"{one.ran} test files run it and none notices" if one.ran else "no test runs it"
        before, after = one.lines()
        print(f"\n{one.place}   ({why})\n    - {before}\n    + {after}")
    done = f" (of {asked} asked for)" if len(results) < asked else ""
    print(f"\n{len(alive)} of {len(results)} changes{done} survive.")


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
    parser.add_argument("--numbers", default="", help="only these numbers of the sample: 4,17")
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--most", type=float, default=120.0, help="seconds of tests a change, about")
    parser.add_argument("--list", action="store_true", help="show the sample and change nothing")
    args = parser.parse_args(arguments)
    numbers = [int(n) for n in args.numbers.split(",") if n]
    drawn = sample(ROOT, args.seed, max([args.count, *(n + 1 for n in numbers)]), args.only)
    drawn = [one for one in drawn if not numbers or one.number in numbers]
    print(f"seed {args.seed}, {len(drawn)} changes{' in ' + args.only if args.only else ''}", flush=True)
    if args.list:
        print("\n".join(one.place for one in drawn))
        return 0

    os.nice(10)
    WORK.mkdir(exist_ok=True)
    stop = threading.Event()
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    copies = [Copy(i, stop) for i in range(max(args.jobs, 1))]
    results: list[Sampled] = []
    try:
        for copy in copies:
            copy.renew()
        known = lines_by_test(copies, args.tests, lambda text: print(text, flush=True))
        for one in spread(copies, lambda copy, one: attempt(copy, one, known, args.most), drawn):
            results.append(one)
            said = f"noticed by {one.noticed}" if one.noticed else "SURVIVES"
            print(f"{len(results)}/{len(drawn)} {one.place}   {said} ({one.seconds:.0f} s)", flush=True)
    except KeyboardInterrupt:
        stop.set()
        print("\nEnded before it was done.")
    summary(results, len(drawn))
    return 1 if any(not one.noticed for one in results) else 0


if __name__ == "__main__":
    sys.exit(main())

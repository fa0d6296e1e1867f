"""Faults put into commands as they run: what they write is whole or absent, and the next run goes on.

    python -m tests.faults --seed 1 --runs 10
    python -m tests.faults --only cache

Commands are killed and told to end at random moments, write to a disk that is full at a random byte, to
folders without rights and to a reader that has gone; machine code is damaged, open to others, from the
future, or cannot be kept. "Whole" is byte for byte what an undisturbed run wrote (numbers of tables to 8
digits), "absent" is no trace of it; everything else, a traceback or an unfinished file that is left, is
wrong. Prints a table; exit status 1 when anything is wrong.
"""

from __future__ import annotations

import argparse
import contextlib
import csv
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
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).parents[1]
PLAN = ROOT / "data" / "plans" / "greenhouse.toml"
SWEEP = (
    "import sys; from aquacalc.plan import read_plan; from aquacalc.design.sweep import save_table, sweep;"
    "table = sweep(read_plan(sys.argv[1]), {'pump.flow': [2e-4, 2.5e-4, 3e-4]}, findings=True);"
    "table.attrs['complete'] or sys.exit('stopped, and what is done was handed back');"
    "save_table(table, sys.argv[2])"
)
#: What writes, and the end of the name that it writes to; "" for a folder.
JOBS = {
    "build": (["-m", "aquacalc", "build", str(PLAN), "--out"], ""),
    "report --html": (["-m", "aquacalc", "report", str(PLAN), "--html"], ".html"),
    "live": (["-m", "aquacalc", "live", str(PLAN), "--out"], ".html"),
    "start": (["-m", "aquacalc", "start", "--yes", "--out"], ".toml"),
    "sweep": (["-c", SWEEP, str(PLAN)], ".csv"),
}
#: The last line of what a call of the library may raise, which is no command.
LIBRARY = re.compile(r"\n(aquacalc\.failure\.\w+: .*|KeyboardInterrupt)\s*$")
#: Ctrl-C while Python itself begins, before any line of ours.
BEFORE = re.compile(r"<frozen site>(?!.*aquacalc).*KeyboardInterrupt\s*$", re.DOTALL)
#: Ends of a command: done (works, may or may not, does not), refused, stopped, nobody reads.
ENDS = {0, 1, 2, 3, 128 + 2, 128 + 13, -signal.SIGKILL, -signal.SIGTERM, -signal.SIGINT}
#: Seconds that any run may take, compiling on a busy machine included.
LONGEST = 3600.0
NOBODY = 65534
WITHOUT_RIGHTS = ("setpriv", "--bounding-set", "-dac_override,-dac_read_search,-fowner")


@dataclass
class Job:
    """A command, its target, and what it writes when nothing disturbs it."""

    name: str
    folder: Path
    env: dict[str, str]
    whole: dict[str, bytes] = field(default_factory=dict)
    seconds: float = 0.0

    @property
    def target(self) -> Path:
        return self.folder / f"mine{JOBS[self.name][1]}"

    def begin(self, before: tuple[str, ...] = (), **keywords) -> subprocess.Popen:
        command = [*before, sys.executable, *JOBS[self.name][0], str(self.target)]
        given = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "env": self.env} | keywords
        return subprocess.Popen(command, cwd=ROOT, text=True, errors="replace", **given)

    def run(self, **keywords) -> tuple[int, str]:
        """Run it to its end; its status and what it said of it."""
        process = self.begin(**keywords)
        said = process.communicate(timeout=LONGEST)[1]
        return process.returncode, said or ""

    def found(self, ended: int, said: str, killed: bool = False) -> str:
        """Say "whole", "absent", or what is wrong; and clear the target away."""
        left = [path for path in self.folder.iterdir() if path != self.target]
        there = contents(self.target)
        clear(self.target)
        if left and not killed:
            return f"left {left[0].name}"
        if self.name == "sweep" and LIBRARY.search(said):
            ended, said = 2, "the library raised it"
        if BEFORE.search(said):
            ended, said = 130, "stopped while Python itself began"
        if ended not in ENDS or "Traceback" in said:
            return f"ended with {ended}: {said[-200:]}"
        if ended in (2, 130) and said.strip().splitlines()[-1:] == []:
            return f"ended with {ended} and said nothing"
        if not there:
            return "absent"
        return "whole" if same(there, self.whole) else f"{len(there)} of {len(self.whole)} files, or others"


def contents(target: Path) -> dict[str, bytes]:
    """Return every file at or below a place."""
    files = [target] if target.is_file() else sorted(p for p in target.rglob("*") if p.is_file())
    return {path.relative_to(target).as_posix(): path.read_bytes() for path in files}


def clear(target: Path) -> None:
    if target.is_dir():
        shutil.rmtree(target)
    else:
        target.unlink(missing_ok=True)


def same(one: dict[str, bytes], other: dict[str, bytes]) -> bool:
    """Whether two runs wrote the same; compiled and interpreted numbers may differ in their last digits."""
    if one.keys() != other.keys():
        return False
    for name, content in one.items():
        if content != other[name] and _cells(content) != _cells(other[name]):
            return False
    return True


def _cells(content: bytes) -> list[list[object]]:
    with contextlib.suppress(UnicodeDecodeError):
        return [[_rounded(cell) for cell in row] for row in csv.reader(content.decode().splitlines())]
    return [[content]]


def _rounded(cell: str) -> object:
    with contextlib.suppress(ValueError):
        return f"{float(cell):.8g}"
    return cell


@dataclass
class Bench:
    """Where faults are tried, with what chance and how often."""

    folder: Path
    chance: random.Random
    runs: int

    def job(self, name: str, **env: str) -> Job:
        """Return a job with a folder and a home of its own."""
        folder = Path(tempfile.mkdtemp(dir=self.folder))
        path = f"{ROOT}{os.pathsep}{os.environ.get('PYTHONPATH', '')}"
        job = Job(name, folder, os.environ | {"PYTHONPATH": path} | env)
        for _ in range(2):  # the first may compile, and signals are to come while the second still works
            clear(job.target)
            began = time.monotonic()
            job.run()
            job.seconds, job.whole = time.monotonic() - began, contents(job.target)
        if not job.whole:
            raise SystemExit(f"{name}: writes nothing even when nothing disturbs it.")
        clear(job.target)
        return job


def ended_by(number: int) -> Callable[[Bench, str], Iterator[str]]:
    """Return the fault of a signal at random moments, and what the next run does."""

    def fault(bench: Bench, name: str) -> Iterator[str]:
        job = bench.job(name)
        for _ in range(bench.runs):
            process = job.begin()
            with contextlib.suppress(subprocess.TimeoutExpired):
                process.wait(bench.chance.uniform(0.0, 1.1 * job.seconds))
            process.send_signal(number)
            said = process.communicate(timeout=LONGEST)[1]
            yield job.found(process.returncode, said, killed=number == signal.SIGKILL)
        again = job.found(*job.run())
        yield "whole" if again == "whole" else f"the next run: {again}"

    return fault


def full_disk(bench: Bench, name: str) -> Iterator[str]:
    """No file grows beyond a random size; and, where a disk can be mounted, a small one that fills up."""
    job = bench.job(name)
    largest = max(map(len, job.whole.values()))
    for _ in range(bench.runs):
        size = bench.chance.randrange(largest)

        def limited(size: int = size) -> None:
            resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))

        yield job.found(*job.run(preexec_fn=limited))
    whole = sum(map(len, job.whole.values()))
    for _ in range(bench.runs):
        size = bench.chance.randrange(4096, max(whole // 4096 * 4096, 8192))
        options = ["-t", "tmpfs", "-o", f"size={size}", "tmpfs", str(job.folder)]
        if subprocess.run(["mount", *options], capture_output=True, check=False).returncode:
            return
        try:
            yield job.found(*job.run())
        finally:
            subprocess.run(["umount", str(job.folder)], check=True)


def no_rights(bench: Bench, name: str) -> Iterator[str]:
    """A folder and a home in which this user may not write; root gives up what makes it root before."""
    job = bench.job(name)
    job.folder.chmod(0o555)
    job.env |= {"HOME": f"{job.folder}/home", "XDG_CACHE_HOME": f"{job.folder}/cache"}
    ended, said = job.run(before=WITHOUT_RIGHTS if os.getuid() == 0 else ())
    job.folder.chmod(0o755)
    found = job.found(ended, said)
    refused = ended == 2 or LIBRARY.search(said)
    yield found if refused or found != "absent" else f"ended with {ended}: {said[-200:]}"


def closed_pipe(bench: Bench, name: str) -> Iterator[str]:
    """Nobody reads what is printed, and a printer that is full."""
    job = bench.job(name)
    for _ in range(2):
        process = job.begin()
        process.stdout.close()
        said = process.stderr.read()
        yield job.found(process.wait(LONGEST), said)
        process.stderr.close()
    with open("/dev/full", "w") as full:
        yield job.found(*job.run(stdout=full))


def _kept(home: Path) -> Path:
    return next(path for path in (home / "aquacalc").iterdir() if path.is_dir())


def _damaged(home: Path) -> None:
    for path in _kept(home).rglob("*.nb?"):
        path.write_bytes(path.read_bytes()[:1000])


def _open(home: Path) -> None:
    for path in (home / "aquacalc", *(home / "aquacalc").rglob("*")):
        path.chmod(0o777)


def _foreign(home: Path) -> None:
    for path in (home / "aquacalc", *(home / "aquacalc").rglob("*")):
        os.chown(path, NOBODY, NOBODY)


def _set_back(home: Path) -> None:
    for path in (home / "aquacalc").rglob("*"):
        os.utime(path, (time.time() + 40 * 86400.0,) * 2)


def _lock(home: Path) -> None:
    _kept(home).with_suffix(".turn").write_text("left over")


def _read_only(home: Path) -> None:
    shutil.rmtree(home / "aquacalc")
    (home / "aquacalc").write_text("a file where the folder should be")


def _killed(home: Path) -> None:
    """The folder as a kernel leaves it that is closed while it compiles."""
    shutil.rmtree(home / "aquacalc")
    env = os.environ | {"XDG_CACHE_HOME": str(home)}
    process = subprocess.Popen([sys.executable, "-m", "aquacalc.engine.compiled"], cwd=ROOT, env=env)
    with contextlib.suppress(subprocess.TimeoutExpired):
        process.wait(random.uniform(2.0, 12.0))
    process.kill()
    process.wait()


CACHES = {
    "machine code cut short": _damaged, "machine code open to others": _open,
    "machine code of another user": _foreign, "clock set back 40 days": _set_back, "lock left over": _lock,
    "no place for machine code": _read_only, "closed while compiling": _killed,
}  # fmt: skip


def cache(damage: Callable[[Path], None]) -> Callable[[Bench, str], Iterator[str]]:
    """Return the fault of damaged machine code: the answer comes, now and the next time."""

    def fault(bench: Bench, name: str) -> Iterator[str]:
        if damage is _foreign and os.getuid() != 0:
            return
        home = Path(tempfile.mkdtemp(dir=bench.folder))
        job = bench.job(name, XDG_CACHE_HOME=str(home))
        damage(home)
        for _ in range(2):
            found = job.found(*job.run())
            yield found if found == "whole" else f"no answer: {found}"

    return fault


FAULTS: dict[str, tuple[tuple[str, ...], Callable[[Bench, str], Iterator[str]]]] = {
    "kill -9": (tuple(JOBS), ended_by(signal.SIGKILL)),
    "TERM": (tuple(JOBS), ended_by(signal.SIGTERM)),
    "Ctrl-C": (tuple(JOBS), ended_by(signal.SIGINT)),
    "disk full": (tuple(JOBS), full_disk),
    "no rights": (tuple(JOBS), no_rights),
    "output closed": (tuple(JOBS), closed_pipe),
    **{f"cache: {name}": (("sweep",), cache(damage)) for name, damage in CACHES.items()},
}


def main(argv: list[str] | None = None) -> int:
    """Try every fault on every command it can meet; 1 when anything is wrong."""
    parser = argparse.ArgumentParser(prog="python -m tests.faults", description=__doc__.splitlines()[0])
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--runs", type=int, default=10, help="runs of each random fault on each command")
    parser.add_argument("--only", default="", metavar="WORD", help="faults and commands with this word")
    given = parser.parse_args(argv)
    # A shell that starts this in the background has Ctrl-C ignored, by what is started here as well.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    print("| Fault | Command | Runs | Whole | Absent | Wrong |\n|---|---|---|---|---|---|")
    wrong = 0
    with tempfile.TemporaryDirectory(prefix="aquacalc-faults-") as folder:
        os.chmod(folder, 0o755)
        for fault, (names, tried) in FAULTS.items():
            for name in names:
                if given.only not in f"{fault} {name}":
                    continue
                bench = Bench(Path(folder), random.Random(f"{given.seed} {fault} {name}"), given.runs)
                found = list(tried(bench, name))
                count = Counter(found)
                bad = [one for one in found if one not in ("whole", "absent")]
                whole, absent = count["whole"], count["absent"]
                print(f"| {fault} | {name} | {len(found)} | {whole} | {absent} | {len(bad)} |", flush=True)
                for one in dict.fromkeys(bad):
                    print(f"  {fault}, {name}: {one}", file=sys.stderr, flush=True)
                wrong += len(bad)
    return int(wrong > 0)


if __name__ == "__main__":
    sys.exit(main())

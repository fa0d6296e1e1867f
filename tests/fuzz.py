"""Damaged files for every reader: each is read, or refused in one message that a grower can use.

    python -m tests.fuzz --seed 1 --count 10000
    python -m tests.fuzz --seed 1 --first 4711 --count 1     # one of them again

A good file is damaged in its bytes, its structure, its units or its size, and read in a process of its own
that may take 5 s of processor time and 500 MB for it. Prints a table; exit status 1 when a reader raises
anything but its own error, writes something that cannot be shown, or takes too long or too much.
"""

from __future__ import annotations

import argparse
import io
import json
import os
import random
import re
import resource
import select
import shutil
import signal
import sys
import tempfile
import time
import traceback
from collections.abc import Callable
from contextlib import redirect_stdout
from dataclasses import dataclass
from pathlib import Path

from tests.plan.generated import plan_text

ROOT = Path(__file__).parents[1]
#: What one file may take: seconds of a core, bytes; and what a message may be long.
SECONDS, MEMORY, LETTERS = 5.0, 500_000_000, 20_000
#: Letters of the largest damaged file.
MOST = 30_000_000
KINDS = ("bytes", "structure", "units", "sizes")
#: Values for any place of a file.
JUNK = (
    "", " ", "0", "-1", "-0.0", "nan", "inf", "1e308", "1e-308", "9" * 400, "true", "None", "[]", "{}",
    "[[]]", '""', "*", ".", "=1+1", "@x", "\u202e", "\x00", "\x1b[2J", "\ud7ff", "\U0001f41f", "1,5",
    "1/0", "1_000",
    "0x1f", "1979-05-27", "07:32:00", "$x^2$", "<script>alert(1)</script>", "../../etc/passwd", "a.b.c",
)  # fmt: skip
UNITS = (
    "m", "mm", "in", "ft", "ft 3 in", "L", "L/min", "gpm", "m3/s", "kg", "lb/ft3", "%", "degC", "degF", "K",
    "Pa", "W", "s", "min", "m**99999", "furlong", "mm mm", "/min", "L/0", "m^0.5/s", "mL", "1 m", "",
)  # fmt: skip
NUMBERS = (
    "0", "-0", "1", "-1", "0.001", "1e9", "1e308", "1e999", "1e-300", "nan", "inf", "1/3", "3 1/2", "1,000.5",
    "1.2.3", "0x10", "\u0663", "\uff11", "1e", "1" * 300, "+5", "5.",
)  # fmt: skip


@dataclass(frozen=True)
class Reader:
    """A reader of files: the end of its files' names, good files, and what reads one."""

    suffix: str
    good: Callable[[], list[str]]
    read: Callable[[Path], object]


def _plans() -> list[str]:
    folders = (ROOT / "data" / "plans", ROOT / "tests" / "plans")
    written = [
        path.read_text(encoding="utf-8") for folder in folders for path in sorted(folder.glob("*.toml"))
    ]
    return written + [plan_text(seed) for seed in range(20)]


def _read_plan(path: Path):
    from aquacalc.plan import read_plan, write_plan

    write_plan(read_plan(path))


def _pages() -> list[str]:
    from aquacalc.live.page import live_page
    from aquacalc.plan import read_plan

    return [
        live_page(read_plan(ROOT / "data" / "plans" / f"{name}.toml")) for name in ("greenhouse", "one-bed")
    ]


def _read_workshop(path: Path):
    from aquacalc.buildsheet.stock import read_workshop

    read_workshop(path)


def _read_prices(path: Path):
    from aquacalc.buildsheet.stock import read_prices

    read_prices(path)


def _sheets() -> list[str]:
    from aquacalc.notebook.saved_readings import COLUMNS

    rows = (
        ("drain_time", "bed 1", "s", "215", "5"), ("fill_time", "", "min", "14.5", "0.2"),
        ("level_at_break", "bed 2", "mm", "12 mm", "3 mm"), ("jug_flow", "", "L/min", "17.5", "2"),
    )  # fmt: skip
    cells = (dict(zip(("key", "bed", "unit", "value", "error"), row, strict=True)) for row in rows)
    lines = [",".join({"siphon": "siphon", **row}.get(column, "") for column in COLUMNS) for row in cells]
    return ["\n".join([",".join(COLUMNS), *lines, ""])]


def _read_readings(path: Path):
    from aquacalc.notebook.saved_readings import read_readings

    read_readings(path, "siphon")


def _trials() -> list[str]:
    from aquacalc.bench.trials import TrialFile, trial, trial_text

    trials = tuple(
        trial(reading, outcome)
        for reading, outcome in (
            ("2 L in 12 s", "started, stopped"),
            ("0.5 gal in 11.4 s", "did not within ten minutes"),
        )
    )
    return [trial_text(TrialFile(Path("x"), "siphon", "standpipe 25 mm", trials[:n])) for n in (1, 2)]


def _read_trials(path: Path):
    from aquacalc.bench.trials import read_trials, trial_text

    trial_text(read_trials(path))


def _notebooks() -> list[str]:
    return [path.read_text(encoding="utf-8") for path in sorted((ROOT / "workbooks").glob("0[0289]*.ipynb"))]


def _read_notebook(path: Path):
    import nbformat

    from aquacalc.commands.notebooks import read_notebook
    from aquacalc.teaching.handout import handout
    from aquacalc.teaching.learner import without_answers

    notebook = read_notebook(path)
    page = handout(notebook, path.name, path.parent)
    if re.search(r"<script|javascript:|\son\w+\s*=", page.partition("<body")[2], re.IGNORECASE):
        kept = re.sub(r"<(pre|code)\b.*?</\1>", "", page.partition("<body")[2], flags=re.S)
        if re.search(r"<script|<[^>]+\s(on\w+)\s*=|=[\"']?\s*javascript:", kept, re.IGNORECASE):
            raise AssertionError("the handout runs something")
    nbformat.writes(without_answers(notebook)[0])


READERS = {
    "plan": Reader(".toml", _plans, _read_plan),
    "live page": Reader(".html", _pages, _read_plan),
    "workshop": Reader(".toml", lambda: [(ROOT / "data" / "workshop-demo.toml").read_text()], _read_workshop),
    "price list": Reader(".csv", lambda: [(ROOT / "data" / "prices-demo.csv").read_text()], _read_prices),
    "readings": Reader(".csv", _sheets, _read_readings),
    "bench trials": Reader(".toml", _trials, _read_trials),
    "workbook": Reader(".ipynb", _notebooks, _read_notebook),
}


def in_bytes(draw: random.Random, text: str) -> bytes:
    """Change bytes at one to five places, or cut the file short."""
    raw = bytearray(text.encode())
    for _ in range(draw.randint(1, 5)):
        at, how = draw.randrange(len(raw) + 1), draw.randrange(7)
        if how == 0:
            raw[at : at + 1] = bytes([draw.randrange(256)])
        elif how == 1:
            raw[at : at + draw.randint(1, 40)] = b""
        elif how == 2:
            raw[at:at] = draw.randbytes(draw.randint(1, 30))
        elif how == 3:
            raw = raw[:at]
        elif how == 4:
            raw[at:at] = raw[draw.randrange(len(raw) + 1) :][:200]
        elif how == 5:
            raw[at:at] = draw.choice(
                (b"\0", b"\xff\xfe", b"\xef\xbb\xbf", b"\r", b'"""', b"\x1b[31m", b"\xc3")
            )
        else:
            raw = bytearray(text.encode(draw.choice(("utf-16", "utf-8-sig", "utf-7"))))
    return bytes(raw)


def in_structure(draw: random.Random, text: str, suffix: str) -> bytes:
    """Lose, move, double or rename parts; in JSON put junk in any place."""
    if suffix in (".ipynb", ".html") and draw.random() < 0.8:
        return _json_changed(draw, text, suffix).encode()
    lines = text.split("\n")
    for _ in range(draw.randint(1, 4)):
        at, to, how = draw.randrange(len(lines)), draw.randrange(len(lines)), draw.randrange(7)
        line = lines[at]
        if how == 0:
            lines[at] = ""
        elif how == 1:
            lines.insert(to, line)
        elif how == 2:
            lines[at], lines[to] = lines[to], line
        elif how == 3:
            key, is_, _ = line.partition(" = ")
            junk = draw.choice((*JUNK, *(json.dumps(j) for j in JUNK), "[1]", "[[1, 2]]", "{a = 1}", "[{}]"))
            lines[at] = f"{key} = {junk}" if is_ else f"{line}{junk}"
        elif how == 4:
            lines[at] = re.sub(
                r"\w+", lambda m: draw.choice((m[0], m[0][::-1], m[0] + "s", "")), line, count=2
            )
        elif how == 5:
            lines[at] = draw.choice(("[plan]", "[[plan]]", "[siphon.bell]", "[[bed]]", "[[trial]]", "[pump]"))
        else:
            cells = line.split(",")
            cells.insert(draw.randrange(len(cells) + 1), draw.choice((*JUNK, '"', '""', '"a\nb"')))
            lines[at] = ",".join(cells)
    return "\n".join(lines).encode("utf-8", "surrogatepass")


def _json_changed(draw: random.Random, text: str, suffix: str) -> str:
    block = None
    if suffix == ".html":
        block = re.search(r'<script type="application/json" class="plan-data">(.*?)</script>', text, re.S)
    held = json.loads(block[1] if block else text)
    for _ in range(draw.randint(1, 3)):
        spot, key = None, None
        here = held
        while isinstance(here, dict | list) and here:
            spot, key = here, draw.choice(list(here) if isinstance(here, dict) else range(len(here)))
            here = here[key]
            if draw.random() < 0.25:
                break
        junk = draw.choice((None, True, 0, -1.5, "", [], {}, [[]], [1], {"a": 1}, ["x"], *JUNK))
        if spot is None:
            held = junk
        elif draw.random() < 0.3:
            spot.pop(key)
        elif isinstance(spot[key], str) and draw.random() < 0.5:
            spot[key] += draw.choice((*JUNK, "<img src=x onerror=alert(1)>", "$$\\frac{", "|a|\n|-|", "```"))
        else:
            spot[key] = junk
    new = json.dumps(held)
    if block is None:
        return new
    new = new.replace("<", "\\u003c")
    return text[: block.start(1)] + new + text[block.end(1) :]


def in_units(draw: random.Random, text: str) -> bytes:
    """Write other numbers and units for one to four quantities."""
    places = list(re.finditer(r'(?<=["\s,=\[])-?\d[\d.]*(?: ?[A-Za-z%][\w/%^.]*)?(?=["\s,\]])', text))
    for place in sorted(draw.sample(places, min(len(places), draw.randint(1, 4))), key=lambda m: -m.start()):
        number, _, unit = place[0].partition(" ")
        number = draw.choice((number, draw.choice(NUMBERS)))
        unit = draw.choice((unit, draw.choice(UNITS)))
        text = text[: place.start()] + f"{number} {unit}".strip() + text[place.end() :]
    return text.encode()


def in_sizes(draw: random.Random, text: str) -> bytes:
    """Make the whole or one part far too large."""
    lines = text.split("\n")
    at, many = draw.randrange(len(lines)), 10 ** draw.randint(2, 5)
    how = draw.randrange(9)
    if how == 0:
        lines[at : at + 1] = [lines[at]] * min(many, MOST // (len(lines[at]) + 1) + 1)
    elif how == 1:
        lines[at] += "x" * many * 10
    elif how == 2:
        lines[at] = f"{lines[at].partition('=')[0]} = {'[' * many}{']' * many}"
    elif how == 3:
        lines[at] = f"{'a.' * many}b = 1"
    elif how == 4:
        lines[at] = re.sub(r"\d+", "7" * many, lines[at], count=1)
    elif how == 5:
        lines = lines * min(many, MOST // 10 // (len(text) + 1) + 2)
    elif how == 6:
        lines[at] = f"{lines[at].partition('=')[0]} = {'{a = ' * many}1{'}' * many}"
    elif how == 7:
        line = f"{lines[at]},"
        lines[at] = (line * min(many, 20 * many // len(line) + 1))[: 20 * many]
    else:
        lines[at:at] = [draw.choice(("#", '"', "'", "(", "\\", "$", "*", "<b>", "[a](", "\u0301")) * many]
    return "\n".join(lines)[:MOST].encode()


_good: dict[str, list[str]] = {}


def damaged(seed: int, number: int) -> tuple[str, str, bytes]:
    """Return reader, kind of damage and content of one file; the same for the same numbers."""
    name = list(READERS)[number % len(READERS)]
    kind = KINDS[number // len(READERS) % len(KINDS)]
    reader, draw = READERS[name], random.Random(f"{seed} {number}")
    if name not in _good:
        _good[name] = reader.good()
    text = draw.choice(_good[name])
    if kind == "bytes":
        return name, kind, in_bytes(draw, text)
    if kind == "structure":
        return name, kind, in_structure(draw, text, reader.suffix)
    return name, kind, in_units(draw, text) if kind == "units" else in_sizes(draw, text)


class TooLong(BaseException):
    """No reader catches this."""


def _alarm(*_):
    raise TooLong


def complaint(message: str) -> str:
    """Say what is wrong with what a reader says, or ""."""
    if len(message) > LETTERS:
        return f"says {len(message)} letters"
    bad = next((c for c in message if not c.isprintable() and c != "\n"), "")
    if bad:
        return f"says {bad!r}"
    return "" if "Fix:" in message or "; " in message else "says no fix"


def attempt(seed: int, number: int, folder: Path) -> dict:
    """Read one file in this process; return what became of it."""
    from aquacalc.bench.trials import TrialError
    from aquacalc.failure import Failure
    from aquacalc.plan import PlanError

    name, kind, content = damaged(seed, number)
    path = folder / f"damaged{READERS[name].suffix}"
    path.write_bytes(content)
    before, began = _memory(reset=True), time.process_time()
    fault, read = "", False
    # What damaged the file is not counted: the limit is on top of what this process has by now.
    most = _status("VmSize") + MEMORY
    resource.setrlimit(resource.RLIMIT_AS, (most, resource.RLIM_INFINITY))
    signal.setitimer(signal.ITIMER_PROF, SECONDS)
    try:
        with redirect_stdout(io.StringIO()):
            READERS[name].read(path)
        read = True
    except (PlanError, TrialError, Failure) as error:
        fault = complaint(str(error))
    except TooLong:
        fault = "takes too long"
    except MemoryError:
        fault = "takes too much memory"
    except BaseException as error:
        where = traceback.extract_tb(error.__traceback__)[-1]
        fault = f"{type(error).__name__}: {str(error)[:100]} ({Path(where.filename).name}:{where.lineno})"
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
        resource.setrlimit(resource.RLIMIT_AS, (resource.RLIM_INFINITY,) * 2)
    return {
        "number": number, "reader": name, "kind": kind, "read": read, "fault": fault,
        "seconds": time.process_time() - began, "memory": _memory() - before, "size": len(content),
    }  # fmt: skip


def _memory(reset: bool = False) -> int:
    """Most bytes in memory since the last reset, or at once with `reset`."""
    if reset:
        Path("/proc/self/clear_refs").write_text("5")
    return _status("VmRSS" if reset else "VmHWM")


def _status(name: str) -> int:
    """Bytes that the system counts of this process."""
    status = Path("/proc/self/status").read_text()
    return 1024 * int(re.search(rf"{name}:\s+(\d+)", status)[1])


def worker(seed: int, first: int, last: int, pipe: int, folder: Path) -> None:
    """Read files one after the other and tell each result."""
    shutil.copy(ROOT / "data" / "prices-demo.csv", folder)  # the workshop names it
    for reader in READERS.values():  # loads what each needs before memory is counted
        good = folder / f"good{reader.suffix}"
        good.write_text(reader.good()[0], encoding="utf-8")
        reader.read(good)
    signal.signal(signal.SIGPROF, _alarm)
    for number in range(first, last):
        os.write(pipe, (json.dumps(attempt(seed, number, folder)) + "\n").encode())


def results(seed: int, first: int, last: int, folder: Path):
    """Yield what became of each file; a worker that dies or hangs is one fault, and another goes on."""
    while first < last:
        out, into = os.pipe()
        child = os.fork()
        if not child:
            os.close(out)
            status = 1
            try:
                worker(seed, first, last, into, folder)
                status = 0
            except BaseException:
                traceback.print_exc()
            finally:
                os._exit(status)
        os.close(into)
        began = first
        with os.fdopen(out) as told:
            while first < last:
                ready, _, _ = select.select([told], [], [], 300.0)
                line = told.readline() if ready else ""
                if not line:
                    break
                yield json.loads(line)
                first += 1
        os.kill(child, signal.SIGKILL)
        status = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
        if first < last:
            name, kind, content = damaged(seed, first)
            if first == began and status == 1:
                raise SystemExit("a good file could not be read; see above")
            yield {
                "number": first, "reader": name, "kind": kind, "read": False, "seconds": 0.0, "memory": 0,
                "size": len(content), "fault": f"ends the process ({status})",
            }  # fmt: skip
            first += 1


def table(found: list[dict]) -> str:
    """Return the results by reader and kind of damage."""
    lines = [
        "| Reader | " + " | ".join(KINDS) + " | Read, refused | Slowest, s | Most MB | Faults |",
        "|---|" + "---|" * (len(KINDS) + 4),
    ]
    for name in READERS:
        mine = [of for of in found if of["reader"] == name]
        if mine:
            kinds = " | ".join(str(sum(of["kind"] == kind for of in mine)) for kind in KINDS)
            read, faults = sum(of["read"] for of in mine), sum(bool(of["fault"]) for of in mine)
            slowest, most = (max(of[what] for of in mine) for what in ("seconds", "memory"))
            ends = f"{read}, {len(mine) - read} | {slowest:.2f} | {most / 1e6:.0f} | {faults} |"
            lines.append(f"| {name} | {kinds} | {ends}")
    return "\n".join(lines)


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--first", type=int, default=0, help="number of the first file")
    parser.add_argument("--count", type=int, default=10_000, help="number of files")
    given = parser.parse_args(arguments)
    found, began = [], time.monotonic()
    with tempfile.TemporaryDirectory(prefix="aquacalc-fuzz-") as folder:
        for of in results(given.seed, given.first, given.first + given.count, Path(folder)):
            found.append(of)
            if of["fault"]:
                place = f"{of['number']}: {of['reader']}, {of['kind']}, {of['size']} bytes"
                print(f"{place}: {of['fault']}", flush=True)
            if len(found) % 1000 == 0:
                print(f"{len(found)} files in {time.monotonic() - began:.0f} s", flush=True)
    bad = sum(bool(of["fault"]) for of in found)
    print(f"\n{table(found)}\n\nseed {given.seed}: {len(found)} files, {bad} faults.")
    return int(bad > 0)


if __name__ == "__main__":
    sys.exit(main())

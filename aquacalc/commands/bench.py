"""`aquacalc bench`: find by bucket, hose and jug where a siphon starts and stops, before it is cut."""

from __future__ import annotations

import argparse
import datetime as dt
import json
import sys
import textwrap
from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from aquacalc.failure import Failure

if TYPE_CHECKING:
    from aquacalc.bench.jug import Jug
    from aquacalc.bench.session import Bench
    from aquacalc.bench.trials import Trial, TrialFile

SUMMARY = "find by bucket, hose and jug where a siphon starts and stops"
EPILOG = (
    "Without an option it asks: it proposes a flow, takes the jug's reading and what the siphon did, and "
    "says what is known now. Every trial is kept at once in PLAN.bench-DATE.toml beside the plan; that file "
    "is added to and never overwritten. q or Ctrl-C stops, and the next call goes on from there. A trial "
    'for --add is "READING: OUTCOME", for example "2 L in 11.4 s: started, stopped" or '
    '"10.5 L/min +/- 0.5 L/min: did not within ten minutes". A file of trials has, for each, [[trial]], '
    'reading = "2 L in 11.4 s", outcome = "started, stopped" and, if known, error = "4 %". In the JSON, '
    "band holds the starting flow nine times in ten; at one_flood a single flood starts once and nineteen "
    "times in twenty; flows are m3/s. Exit status: 0 answered, 2 something could "
    "not be read or written."
)
WIDTH = 80


def arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.epilog = EPILOG
    parser.add_argument("plan", metavar="PLAN.toml", type=Path, help="the plan; see `aquacalc keys`")
    parser.add_argument("--siphon", metavar="NAME", help="which siphon, where the plan has several")
    parser.add_argument("--hose", metavar="FLOW", help='largest flow that your hose gives, "25 L/min"')
    parser.add_argument("--bed", action="store_true", help="the trials are of the built bed, not of a bucket")
    what = parser.add_mutually_exclusive_group()
    what.add_argument("--read", action="store_true", help="say what the kept trials tell, and ask nothing")
    what.add_argument("--trials", metavar="FILE", type=Path, help="the same of another file of trials")
    what.add_argument("--add", metavar="TRIAL", action="append", help="keep a trial, and say what it tells")
    what.add_argument("--sheet", metavar="FILE.html", type=Path, help="write the sheet to take to the bench")
    parser.add_argument("--json", action="store_true", help="say it as JSON for programs, in SI units")
    parser.add_argument(
        "--into-plan", action="store_true", help="put what was measured into the plan, marked with its parts"
    )
    parser.add_argument("--force", action="store_true", help="let --sheet replace any file")


def run(args: argparse.Namespace) -> int:
    """Hold the bench test; 0."""
    from aquacalc.bench.session import HOSE, bench
    from aquacalc.bench.trials import TrialError
    from aquacalc.plan.errors import PlanError
    from aquacalc.plan.read import read_plan
    from aquacalc.units import UnitError, read

    try:
        plan = read_plan(args.plan)
        hose = read(args.hose, "flow", "--hose") if args.hose else HOSE
        test = bench(plan, args.siphon, hose=hose)
        if args.sheet:
            return _sheet(test, args)
        test, notes = _counted(test, args)
        asking = not (args.read or args.trials or args.add)
        if args.json and asking:
            raise Failure("--json asks nothing. Fix: add --read, --trials or --add.")
        if args.add:
            test = _added(test, args)
        elif asking:
            _say([*_title(test), *notes])
            test = _ask(test, args)
    except (PlanError, UnitError, TrialError) as error:
        raise Failure(str(error)) from None
    except ValueError as error:
        raise Failure(f"{args.plan}: {error}. Fix: use --siphon NAME.") from None
    if args.json:
        from aquacalc.bench.words import as_data

        print(json.dumps(as_data(test), indent=1, ensure_ascii=False))
    elif not asking:
        _say([*_title(test), *notes, *_state(test)])
    if args.into_plan:
        _put(test, args)
    return 0


def _say(lines: Iterable[str]) -> None:
    """Print sentences, wrapped; a drawn line has two blanks or dashes in a row and stays as it is."""
    for line in lines:
        drawn = "   " in line or "---" in line
        print(line if drawn or not line else textwrap.fill(line, WIDTH))
    sys.stdout.flush()


def _title(test: Bench) -> list[str]:
    from aquacalc.bench.words import lost, opening, tested

    said = [f"Bench test of {test.siphon.name}, {test.plan.name}", "Parts tested:"]
    said += [f"- {line}" for line in tested(test)]
    return [*said, *opening(test), *lost(test)]


def _counted(test: Bench, args: argparse.Namespace) -> tuple[Bench, list[str]]:
    """Return the test with the trials that are kept for these parts, and what is said of the others."""
    from aquacalc.bench.trials import beside, read_trials
    from aquacalc.plan.tested import changed

    trials: list[Trial] = []
    notes: list[str] = []
    for path in [args.trials] if args.trials else beside(args.plan):
        file = read_trials(path)
        if file.siphon and file.siphon != test.siphon.name:
            notes.append(f"{path.name}: of another siphon, {file.siphon}; it does not count here.")
        elif other := changed(replace(test.siphon, tested=file.parts)):
            named = " and ".join(other)
            notes.append(f"{path.name}: {_count(file)} of another {named}; they do not count here.")
        else:
            trials += file.trials
            notes.append(f"{path.name}: {_count(file)} of these parts.")
    return test.after(*trials), notes


def _count(file: TrialFile) -> str:
    return "1 trial" if len(file.trials) == 1 else f"{len(file.trials)} trials"


def _state(test: Bench) -> list[str]:
    """Say all that is known, and what comes next."""
    from aquacalc.bench.words import KEY, bands, bar, next_line, remarks, verdict, worth

    said = ["", *bar(test), f"{'':12}{KEY}", "", *bands(test), *remarks(test)]
    if test.enough:
        return [*said, *verdict(test), *worth(test)]
    if test.answer:
        said.append("Your flow is outside all published values; one trial at it makes sure.")
    return [*said, next_line(test)]


def _kept(test: Bench, args: argparse.Namespace, trial: Trial) -> Bench:
    """Write a trial to today's file, and return the test with it."""
    from aquacalc.bench.trials import add, today
    from aquacalc.plan.tested import written

    now = dt.datetime.now()
    file = today(args.plan, test.siphon.name, written(test.siphon, test.plan.units), now.date())
    where = "bed" if args.bed else "bench"
    trial = replace(trial, when=now.isoformat(sep=" ", timespec="minutes"), where=where)
    add(file, trial)
    return test.after(trial)


def _checked(test: Bench, reading: str) -> Jug:
    """Read a jug; a flow that no such siphon sees is refused as a slip."""
    from aquacalc.bench.jug import read_jug
    from aquacalc.bench.words import flow_text
    from aquacalc.units import UnitError

    jug = read_jug(reading)
    if not test.plausible(jug):
        low, high = (flow_text(q, test.plan.units) for q in test.sizes)
        raise UnitError(
            "reading", reading, f"is {flow_text(jug.flow, test.plan.units)}, which no such siphon ever sees",
            f"look at the unit; {low} to {high} are believed",
        )  # fmt: skip
    return jug


def _added(test: Bench, args: argparse.Namespace) -> Bench:
    from aquacalc.bench.trials import Trial, TrialError, read_outcome

    trials = []
    for text in args.add:
        reading, colon, outcome = text.partition(":")
        if not colon:
            raise TrialError(f'--add: "{text}" has no colon. Fix: write "2 L in 11.4 s: started, stopped".')
        trials.append(Trial(_checked(test, reading), *read_outcome(outcome.strip(), "--add")))
    for trial in trials:
        test = _kept(test, args, trial)
    return test


def _lines() -> Iterator[str]:
    """Yield what is typed, until it ends or somebody stops it."""
    while True:
        try:
            line = input("> ").strip()
        except (EOFError, KeyboardInterrupt):
            print()
            return
        if line.lower() in ("q", "quit", "stop"):
            return
        yield line


def _ask(test: Bench, args: argparse.Namespace) -> Bench:
    """Propose flows and take trials until it is enough or somebody stops it."""
    from aquacalc.bench.words import flow_text

    typed = _lines()
    _say(_state(test))
    while not test.enough:
        asked = test.next.flow
        print(f"\nTrial {len(test.trials) + 1}. What does the jug say? 2 L in 11.4 s, or 10.5 L/min; q: stop")
        jug = _until(typed, lambda line, test=test: _checked(test, line))
        if jug is None:
            break
        if not 0.85 < jug.flow / asked < 1.15:
            s = test.plan.units
            print(f"It counts as {flow_text(jug.flow, s)}, not as the {flow_text(asked, s)} asked for.")
        print(f"Taken as good to {100 * jug.error:.2g} %. What did it do? s: started, n: did not within ten")
        print("minutes, t: stopped, r: ran on; s t: started and then stopped")
        trial = _until(typed, lambda line, jug=jug: _trial(jug, line))
        if trial is None:
            break
        test = _kept(test, args, trial)
        _say(_state(test))
    if not test.enough:
        count = len(test.trials)
        kept = "1 trial is" if count == 1 else f"{count} trials are"
        print(f"Stopped. {kept} kept; the same command goes on from here.")
    return test


def _trial(jug: Jug, line: str) -> Trial:
    from aquacalc.bench.trials import Trial, read_outcome

    return Trial(jug, *read_outcome(line))


def _until(typed: Iterator[str], read):
    """Return what `read` makes of the first line that it takes; None when no more are typed."""
    from aquacalc.bench.trials import TrialError
    from aquacalc.units import UnitError

    for line in typed:
        try:
            return read(line)
        except (UnitError, TrialError) as error:
            _say([str(error)])
    return None


def _put(test: Bench, args: argparse.Namespace) -> None:
    """Write what was measured into the plan's file."""
    from aquacalc.bench.words import next_line, remarks
    from aquacalc.plan.write import save_plan

    if not test.trials:
        raise Failure("there are no trials of these parts, so nothing has been measured. Fix: make one.")
    if test.doubted:
        raise Failure(
            f"the trials do not fit, so nothing was put into the plan: {' '.join(remarks(test))} "
            f"Fix: {next_line(test)}"
        )
    try:
        save_plan(test.measured(), args.plan, force=True)
    except OSError as error:
        raise Failure(
            f"{args.plan}: cannot be written ({error.strerror}). Fix: look at its rights."
        ) from None
    if not args.json:
        _say([f"Put into {args.plan}: the flows observed, and the parts for which they hold."])


def _sheet(test: Bench, args: argparse.Namespace) -> int:
    from aquacalc.bench.sheet import page
    from aquacalc.files import write_file

    write_file(args.sheet, page(test), source=args.plan, force=args.force, ours=True)
    print(f"Sheet written: {args.sheet.resolve()}")
    return 0

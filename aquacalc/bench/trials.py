"""Trials of a siphon, and the dated file beside the plan that keeps them.

A file is added to trial by trial and written whole or not at all. It names the parts that were
tested; another day or other parts make another file.
"""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from aquacalc.bench.jug import Jug, read_jug
from aquacalc.failure import AlreadyThere, NotWritten
from aquacalc.files import write_file
from aquacalc.plan.errors import PlanError
from aquacalc.plan.model import Siphon
from aquacalc.plan.tested import changed
from aquacalc.plan.text import read_text, read_toml
from aquacalc.units import UnitError

#: What a trial may come to, as it is written, and what each says: (it started, it stopped).
OUTCOMES: dict[str, tuple[bool | None, bool | None]] = {
    "started": (True, None),
    "did not within ten minutes": (False, None),
    "stopped": (None, True),
    "ran on": (None, False),
}
#: Shorter words for the same.
SHORT = {
    "s": "started",
    "n": "did not within ten minutes",
    "no": "did not within ten minutes",
    "did not": "did not within ten minutes",
    "did not start": "did not within ten minutes",
    "t": "stopped",
    "r": "ran on",
}
_HEAD = (
    "# Trials of a siphon by hose and jug. aquacalc adds to this file and never overwrites it;\n"
    "# the trials hold for the parts named here and for no others.\n"
)


class TrialError(ValueError):
    """Something in a file of trials that cannot be used: `str()` names the place, the value and the fix."""


@dataclass(frozen=True)
class Trial:
    """One flow held steady, and what the siphon did.

    Attributes
    ----------
    jug : Jug
        The flow, with the error of its reading.
    started : bool or None
        Whether it started within ten minutes; None when it was running before.
    stopped : bool or None
        Whether it then drew air and stopped, or ran on; None when nobody waited for it.
    when : str
        Date and time of day.
    where : {"bench", "bed"}
        A bucket before anything is built, or the bed itself.
    """

    jug: Jug
    started: bool | None
    stopped: bool | None
    when: str = ""
    where: str = "bench"

    @property
    def outcome(self) -> str:
        """What it came to, in the words of `OUTCOMES`."""
        said = []
        if self.started is not None:
            said.append("started" if self.started else "did not within ten minutes")
        if self.stopped is not None:
            said.append("stopped" if self.stopped else "ran on")
        return ", ".join(said)


@dataclass(frozen=True)
class TrialFile:
    """A file of trials.

    Attributes
    ----------
    path : Path
    siphon : str
    parts : str
        The parts tested, as `aquacalc.plan.tested.written` has them; "" when the file names none.
    trials : tuple of Trial
    """

    path: Path
    siphon: str
    parts: str
    trials: tuple[Trial, ...] = ()


def read_outcome(text: str, place: str = "outcome") -> tuple[bool | None, bool | None]:
    """Read what a trial came to: one of `OUTCOMES`, or "started" and how it ended.

    Parameters
    ----------
    text : str
        "started", "did not within ten minutes", "started, stopped", "ran on"; or the first letters
        "s", "n", "s t", "s r".
    place : str
        Where it is, for the error message.

    Returns
    -------
    tuple of (bool or None, bool or None)
        Whether it started, and whether it stopped.

    Raises
    ------
    TrialError

    Examples
    --------
    >>> read_outcome("started, ran on")
    (True, False)
    """
    words = [w.strip() for w in text.lower().replace(" and ", ",").replace(";", ",").split(",")]
    if text.strip() and all(len(w) == 1 for w in text.split()):
        words = text.lower().split()
    started = stopped = None
    for word in words:
        name = SHORT.get(word, word)
        if name not in OUTCOMES:
            known = '", "'.join(OUTCOMES)
            raise TrialError(
                f'{place}: "{text}" is not an outcome. Fix: write one of "{known}", or "started, stopped".'
            )
        start, stop = OUTCOMES[name]
        if start is not None and started not in (None, start):
            raise TrialError(f'{place}: "{text}" says that it started and that it did not. Fix: keep one.')
        if stop is not None and stopped not in (None, stop):
            raise TrialError(f'{place}: "{text}" says that it stopped and that it ran on. Fix: keep one.')
        started = start if start is not None else started
        stopped = stop if stop is not None else stopped
    if started is False and stopped is not None:
        raise TrialError(
            f'{place}: "{text}": a siphon that did not start cannot stop or run on. Fix: keep the first.'
        )
    return started, stopped


def trial(reading: str, outcome: str) -> Trial:
    """Return a trial from what was read and what it came to.

    Parameters
    ----------
    reading : str
        As `aquacalc.bench.jug.read_jug` takes it.
    outcome : str
        As `read_outcome` takes it.

    Raises
    ------
    UnitError, TrialError

    Examples
    --------
    >>> trial("2 L in 12 s", "started, stopped").outcome
    'started, stopped'
    """
    return Trial(read_jug(reading), *read_outcome(outcome))


def read_trials(path: Path) -> TrialFile:
    """Read a file of trials.

    Raises
    ------
    TrialError
        Naming the file, the trial, what is wrong and what to write.
    """
    try:
        return _parsed(read_text(path, what="a file of trials"), path)
    except PlanError as error:
        raise TrialError(str(error)) from None


def _parsed(text: str, path: Path) -> TrialFile:
    try:
        return _trials(read_toml(text, str(path)), path)
    except (PlanError, TrialError) as error:
        raise TrialError("".join(c if c.isprintable() else " " for c in str(error))) from None


def _trials(found: dict, path: Path) -> TrialFile:
    known = {"siphon", "parts", "trial"}
    for key in found:
        if key not in known:
            raise TrialError(f"{path}: {key} is not known. Fix: remove it; a trial begins with [[trial]].")
    rows = found.get("trial", [])
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise TrialError(f"{path}: trial is not a list of tables. Fix: begin each trial with [[trial]].")
    trials = tuple(_trial(row, f"{path.name}, trial {n}") for n, row in enumerate(rows, 1))
    return TrialFile(path, str(found.get("siphon", "")), str(found.get("parts", "")), trials)


def _trial(row: dict, place: str) -> Trial:
    for key in row:
        if key not in ("reading", "error", "outcome", "when", "where"):
            raise TrialError(f"{place}: {key} is not known. Fix: remove it.")
    for key in ("reading", "outcome"):
        if not isinstance(row.get(key), str):
            raise TrialError(
                f"{place}: {key} is missing or no text. Fix: write it in quotes, for example "
                'reading = "2 L in 11.4 s" and outcome = "started".'
            )
    where = row.get("where", "bench")
    if where not in ("bench", "bed"):
        raise TrialError(f'{place}, where: "{where}" is not known. Fix: write "bench" or "bed".')
    try:
        jug = read_jug(row["reading"], str(row.get("error", "")), f"{place}, reading")
    except UnitError as error:
        raise TrialError(str(error)) from None
    started, stopped = read_outcome(row["outcome"], f"{place}, outcome")
    return Trial(jug, started, stopped, str(row.get("when", "")), where)


def trial_text(file: TrialFile) -> str:
    """Return a file of trials as it is written."""
    head = (
        f"{_HEAD}siphon = {json.dumps(file.siphon)}\nparts = {json.dumps(file.parts, ensure_ascii=False)}\n"
    )
    rows = []
    for trial in file.trials:
        pairs = {"reading": trial.jug.text, "error": f"{100 * trial.jug.error:g} %", "outcome": trial.outcome}
        pairs |= {"when": trial.when} if trial.when else {}
        pairs |= {"where": trial.where} if trial.where != "bench" else {}
        lines = (f"{key} = {json.dumps(value, ensure_ascii=False)}\n" for key, value in pairs.items())
        rows.append("\n[[trial]]\n" + "".join(lines))
    return head + "".join(rows)


def beside(plan: Path) -> list[Path]:
    """Return the files of trials beside a plan, oldest first."""
    return sorted(plan.parent.glob(f"{_stem(plan)}.bench-*.toml"), key=lambda path: path.stem)


def _stem(plan: Path) -> str:
    return plan.name.removesuffix(".toml")


def today(plan: Path, siphon: str, parts: str, date: dt.date) -> TrialFile:
    """Return the file that a trial of today goes to: one of the day with the same parts, or a new one.

    Parameters
    ----------
    plan : Path
        The plan's own file.
    siphon, parts : str
        Siphon and parts tested.
    date : datetime.date

    Returns
    -------
    TrialFile
        Not written yet when it has no trials.
    """
    name = f"{_stem(plan)}.bench-{date.isoformat()}"
    count = 1
    while True:
        path = plan.with_name(f"{name}{f'-{count}' if count > 1 else ''}.toml")
        if not path.exists():
            return TrialFile(path, siphon, parts)
        try:
            file = read_trials(path)
        except TrialError:
            file = None  # spoilt: left as it is
        if file and (file.siphon, file.parts) == (siphon, parts):
            return file
        count += 1


def add(file: TrialFile, trial: Trial) -> TrialFile:
    """Write one more trial to a file, whole or not at all, and return it.

    Raises
    ------
    TrialError
        When the file is not what was read, or cannot be written.
    """
    if file.trials and read_trials(file.path) != file:
        raise TrialError(f"{file.path}: has changed since it was read. Fix: start again; nothing is lost.")
    new = replace(file, trials=(*file.trials, trial))
    text = trial_text(new)
    if _parsed(text, file.path).trials != new.trials:
        raise TrialError(f"{file.path}: {trial.jug.text!r} would not be read back. Fix: write it simply.")
    try:
        write_file(file.path, text, force=bool(file.trials))
    except AlreadyThere:
        raise TrialError(f"{file.path}: is there already. Fix: start again; it is then added to.") from None
    except NotWritten as error:
        raise TrialError(str(error)) from None
    return new


def of_parts(files: Sequence[TrialFile], siphon: Siphon) -> tuple[Trial, ...]:
    """Return the trials of all files that were made with this siphon as it is, or that name no parts."""
    mine = [f for f in files if f.siphon in ("", siphon.name)]
    return tuple(trial for f in mine if not changed(replace(siphon, tested=f.parts)) for trial in f.trials)

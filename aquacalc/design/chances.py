"""How sure: the chance of each finding when flow, porosity, bores, coefficients and start vary.

Every varied thing is a factor on the plan, log-normal about 1. The plans are
drawn and the shares of each in the result are worked out by SALib (Sobol's
total-order indices after Saltelli's sampling).
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from aquacalc.design.answer import positive
from aquacalc.design.many_plans import Progress, Stop, run_plans, spread
from aquacalc.design.varied import VARIED, plan_spreads, varied
from aquacalc.findings import STATES, find, verdict
from aquacalc.hydraulics.starting import start_band
from aquacalc.plan.check import check_plan
from aquacalc.plan.errors import PlanError
from aquacalc.plan.model import Plan

if TYPE_CHECKING:
    import pandas as pd

#: Findings that are the other end of another one, and are counted with it.
SAME = {"spills": "start"}
#: Key and subject of the finding that a plan cannot be built; it then has no other.
UNBUILT = ("cannot_be_built", "the plan")
#: Plans in a job: half a second of work, so that stopping is prompt.
CHUNK = 64
#: Quantile of the normal distribution that leaves 95 % between its minus and plus (from memory).
NORMAL = 1.959964


@dataclass(frozen=True)
class Share:
    """How much one varied thing matters: its part `index` of 1, and the part's 95 % `error`.

    The part is its total-order Sobol index over the sum of all, so that the parts add up to 1.
    """

    name: str
    words: str
    index: float
    error: float


@dataclass(frozen=True)
class Chance:
    """The chance of one finding.

    Attributes
    ----------
    key, subject : str
        As in `aquacalc.findings.Finding`.
    parts : dict of str to float
        Part of the plans in which it has each of `aquacalc.findings.STATES`; in the rest it does not arise.
    error : float
        Standard error of the part that "does not".
    shares : tuple of Share
        What the margin depends on, most first; empty when it never changes, or
        too seldom to tell.
    titles : dict of str to str
        Title by state, as most plans of that state have it.
    ranges : dict of str to (float, float)
        Where each of `parts` is with 95 % confidence.
    """

    key: str
    subject: str
    parts: dict[str, float]
    error: float
    shares: tuple[Share, ...]
    titles: dict[str, str]
    ranges: dict[str, tuple[float, float]]

    @property
    def matters_most(self) -> str:
        """Words for what the finding depends on most; "" when nothing varied matters."""
        return self.shares[0].words if self.shares else ""


@dataclass(frozen=True)
class Prior:
    """One belief about the flow that starts siphons: its middle over the band's, and what then works."""

    middle: float
    works: float


@dataclass(frozen=True, repr=False)
class Study:
    """A tolerance study.

    Attributes
    ----------
    plan : Plan
    spreads : dict of str to float
        Standard deviation of the logarithm of each thing varied.
    works, error : float
        Part of the plans whose verdict is "works", and the standard error of that part.
    works_range : (float, float)
        Where `works` is with 95 % confidence.
    priors : tuple of Prior
        What `works` would be if siphons started at other flows than the middle of the band; empty where
        the grower has seen it start.
    chances : tuple of Chance
        Most likely not to work first.
    table : pandas.DataFrame
        One row for each plan run: the factors by name, "verdict", "reason" of a
        plan that cannot be built, and the margin of each finding as "<key>.<subject>".
    complete : bool
        False when it was stopped.
    """

    plan: Plan
    spreads: dict[str, float]
    works: float
    error: float
    works_range: tuple[float, float]
    priors: tuple[Prior, ...]
    chances: tuple[Chance, ...]
    table: pd.DataFrame
    complete: bool

    def __repr__(self) -> str:
        """Say what to take from it, a sentence a line."""
        return "\n".join(self.said)

    @property
    def plausible(self) -> tuple[float, float]:
        """Where `works` is over the beliefs about the start as well as over the sample."""
        moved = [prior.works - self.works for prior in self.priors]
        low, high = self.works_range
        return max(low + min(moved, default=0.0), 0.0), min(high + max(moved, default=0.0), 1.0)

    @property
    def said(self) -> tuple[str, ...]:
        """What to take from it, in plain sentences."""
        low, high = self.plausible
        said = [f"The plan works in {low:.0%} to {high:.0%} of {len(self.table)} plans."]
        if not self.complete:
            said = ["Stopped early: only what was finished counts.", *(said if len(self.table) else ())]
        if self.priors:
            ends = " to ".join(f"{prior.middle:.2g}" for prior in self.priors)
            said.append(
                f"No published source says where siphons start, so the range allows for {ends} "
                "times the middle "
                "of the band. Watching yours start narrows it."
            )
        for c in self.chances:
            told = [f"{c.titles[s]} in {c.parts[s]:.0%}" for s in STATES[:-1] if c.parts[s] > 0.005]
            if told:
                line = f"{c.subject}: {', '.join(told)}"
                said.append(f"{line}; it depends most on {c.matters_most}." if c.shares else f"{line}.")
        return tuple(said)


def study_rows(plan: Plan, names: Sequence[str], rows: Sequence[Sequence[float]]) -> list[dict[str, Any]]:
    """Run the plans that rows of factors make; factors, margins and states of each.

    Parameters
    ----------
    plan : Plan
    names : sequence of str, length k
    rows : sequence of sequences, shape (n, k)

    Returns
    -------
    list of dict, length n
        "factors"; "reason"; "verdict"; "margins", "states" and "titles" by (key, subject).
    """
    found: list[dict[str, Any]] = []
    plans, places = [], []
    for row in rows:
        factors = dict(zip(names, row, strict=True))
        found.append({"factors": factors, "reason": "", "margins": {}, "states": {}, "titles": {}})
        try:
            # A bore that is a little out is fitted all the same: pipe is cut to the length it needs.
            check_plan(varied(plan, factors | {"bore": 1.0}))
        except PlanError as error:
            found[-1]["reason"] = str(error)
            found[-1]["verdict"] = found[-1]["states"][UNBUILT] = "does not"
            found[-1]["titles"][UNBUILT] = "Cannot be built"
            continue
        places.append(len(found) - 1)
        plans.append(varied(plan, factors))
    for at, run in zip(places, run_plans(plans), strict=True):
        findings = find(run)
        found[at]["verdict"] = verdict(findings)
        for finding in findings:
            key = (SAME.get(finding.key, finding.key), finding.subject)
            found[at]["states"].setdefault(key, finding.state)
            found[at]["margins"].setdefault(key, finding.margin)
            found[at]["titles"].setdefault(key, finding.title)
    return found


def _jobs(plan: Plan, names: Sequence[str], rows: list[list[float]]) -> Iterator[tuple]:
    for at in range(0, len(rows), CHUNK):
        yield plan, names, rows[at : at + CHUNK]


def study(
    plan: Plan,
    spread_of: Mapping[str, float] | None = None,
    size: int = 128,
    *,
    seed: int = 1,
    progress: Progress | None = None,
    stop: Stop = None,
    client: Any = None,
    threads: int | None = None,
) -> Study:
    """Run a plan many times with everything uncertain varied, and count what happens.

    Parameters
    ----------
    plan : Plan
        A checked plan.
    spread_of : mapping of str to float, optional
        Standard deviation of the logarithm of some of `VARIED`; the rest is
        as `plan_spreads` has it. 0.05 says that two in three lie within 5 %.
    size : int
        Base of the sample, a power of 2; with six things varied eight plans are run for each.
        Below 128 the shares can be far off.
    seed : int
        Of the sample.
    progress : callable, optional
        Called with (plans done, plans in all).
    stop : threading.Event or callable, optional
        When it asks, the study is closed with what is finished.
    client, threads : optional
        As in `aquacalc.design.sweep.sweep_rows`.

    Returns
    -------
    Study

    Raises
    ------
    ValueError
        For an unknown name, and a spread or size that is not positive.
    """
    import numpy as np
    from SALib.sample import sobol

    for name in spread_of or ():
        if name not in VARIED:
            raise ValueError(f'"{name}" is not varied; write one of {", ".join(VARIED)}')
    if size < 2 or size & (size - 1):
        raise ValueError(f"size = {size}: give a power of 2, for example 128")
    widths = {**plan_spreads(plan), **(spread_of or {})}
    positive(**{f"spread of {name}": width for name, width in widths.items()})
    problem = {
        "num_vars": len(VARIED),
        "names": list(VARIED),
        "bounds": [[0.0, widths[name]] for name in VARIED],
        "dists": ["norm"] * len(VARIED),
    }
    rows = np.exp(sobol.sample(problem, size, calc_second_order=False, seed=seed)).tolist()
    found: list[dict[str, Any]] = []
    if progress is not None:
        progress(0, len(rows))
    for part in spread(
        study_rows, _jobs(plan, tuple(VARIED), rows), stop=stop, client=client, threads=threads
    ):
        found += part
        if progress is not None:
            progress(len(found), len(rows))
    return _close(plan, widths, problem, found, len(rows))


def _close(
    plan: Plan, widths: dict[str, float], problem: dict[str, Any], found: list[dict[str, Any]], asked: int
) -> Study:
    """Count the states of whole blocks of the sample and work out the shares."""
    import numpy as np
    import pandas as pd

    block = len(VARIED) + 2
    complete = len(found) == asked
    found = found[: len(found) // block * block]
    if len(found) < 2 * block:
        empty = pd.DataFrame(columns=[*VARIED, "verdict", "reason"])
        return Study(plan, widths, math.nan, math.nan, (0.0, 1.0), (), (), empty, False)
    keys = list(dict.fromkeys(key for row in found for key in row["states"]))

    def part(flags: Sequence[bool]) -> tuple[float, float, tuple[float, float]]:
        means = np.reshape(np.array(flags, dtype=float), (-1, block)).mean(axis=1)
        mean, error = float(means.mean()), float(means.std(ddof=1) / math.sqrt(len(means)))
        return mean, error, likely(mean, error, len(means))

    chances = []
    for key in keys:
        states = [row["states"].get(key, "") for row in found]
        each = {state: part([s == state for s in states]) for state in STATES}
        chances.append(
            Chance(
                key=key[0],
                subject=key[1],
                parts={state: mean for state, (mean, _, _) in each.items()},
                error=each["does not"][1],
                shares=_shares(problem, _margins([row["margins"].get(key) for row in found], states)),
                titles=_titles(found, key),
                ranges={state: ends for state, (_, _, ends) in each.items()},
            )
        )
    table = pd.DataFrame(
        [
            {
                **row["factors"],
                "verdict": row["verdict"],
                "reason": row["reason"],
                **{
                    f"{key}.{subject}": row["margins"].get((key, subject))
                    for key, subject in keys
                    if (key, subject) != UNBUILT
                },
            }
            for row in found
        ]
    )
    chances.sort(key=lambda c: [-c.parts[state] for state in STATES[:-1]])
    works = part([row["verdict"] == "works" for row in found])
    priors = _priors(plan, widths["start"], found)
    return Study(plan, widths, *works, priors, tuple(chances), table, complete)


def _priors(plan: Plan, spread: float, found: list[dict[str, Any]]) -> tuple[Prior, ...]:
    """Weigh the plans anew for a start whose middle is a standard deviation lower and higher.

    The band of Froude numbers is a range of opinions and its middle is one of them: a lower or higher one is
    as plausible. Each plan's weight is the ratio of the two log-normal densities at its own factor.
    """
    if all(start_band(siphon).measured for siphon in plan.siphons):
        return ()
    made = []
    for shift in (-spread, spread):
        weights = [
            math.exp((shift * math.log(row["factors"]["start"]) - 0.5 * shift**2) / spread**2)
            for row in found
        ]
        works = sum(w for w, row in zip(weights, found, strict=True) if row["verdict"] == "works")
        made.append(Prior(math.exp(shift), works / sum(weights)))
    return tuple(made)


def likely(part: float, error: float, blocks: int) -> tuple[float, float]:
    """Return where a part seen in a study is with 95 % confidence.

    Wilson's interval (1927, from memory) for as many independent plans as the
    study is worth. The eight plans of a block share values: of what depends on
    one thing alone six see one value of it and two another, which is worth
    8**2 / (6**2 + 2**2) = 1.6 plans; that is taken where the part never or
    always occurs, and is the least.

    Parameters
    ----------
    part, error : float
        Part of all plans and its standard error.
    blocks : int
        Blocks of the sample.

    Returns
    -------
    tuple of (float, float)
    """
    size = len(VARIED) + 2
    least = size**2 / ((size - 2) ** 2 + 4) * blocks
    worth = least if error <= 0.0 else min(max(part * (1.0 - part) / error**2, least), size * blocks)
    shift = NORMAL**2 / worth
    middle = (part + 0.5 * shift) / (1.0 + shift)
    half = NORMAL / (1.0 + shift) * math.sqrt(part * (1.0 - part) / worth + shift / (4.0 * worth))
    return max(middle - half, 0.0), min(middle + half, 1.0)


def _titles(found: list[dict[str, Any]], key: tuple[str, str]) -> dict[str, str]:
    """Return the commonest title of a finding in each state seen."""
    seen: dict[str, Counter] = {state: Counter() for state in STATES}
    for row in found:
        if key in row["titles"]:
            seen[row["states"][key]][row["titles"][key]] += 1
    return {state: titles.most_common(1)[0][0] for state, titles in seen.items() if titles}


def _margins(margins: Sequence[float | None], states: Sequence[str]) -> list[float]:
    """Fill missing margins with the lowest seen, or take the states where most are missing."""
    seen = [m for m in margins if m is not None and math.isfinite(m)]
    if len(seen) < 0.5 * len(margins):
        return [-float(s == "does not") for s in states]
    lowest = min(seen)
    return [m if m is not None and math.isfinite(m) else lowest for m in margins]


def _shares(problem: dict[str, Any], values: list[float]) -> tuple[Share, ...]:
    """Return what each varied thing adds to the values, largest first; none when the values do not tell."""
    import numpy as np
    from SALib.analyze import sobol

    y = np.array(values)
    if np.ptp(y) <= 1e-9 * max(1e-12, float(np.abs(y).max())):
        return ()
    found = sobol.analyze(problem, y, calc_second_order=False, num_resamples=50, seed=1)
    indices = [max(float(index), 0.0) for index in found["ST"]]
    whole = sum(indices)
    if whole <= 0.0:  # one odd value outside the base sample gives 0
        return ()
    shares = [
        Share(name, VARIED[name], index / whole, float(error) / whole)
        for name, index, error in zip(VARIED, indices, found["ST_conf"], strict=True)
    ]
    return tuple(sorted(shares, key=lambda s: -s.index))

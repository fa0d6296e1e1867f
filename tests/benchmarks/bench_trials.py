"""Simulated siphons on the bench, by laws not the tool's: `python -m tests.benchmarks.bench_trials`.

The siphons are those of the plans drawn by number. Each starts, and no longer stops, at a flow drawn over
the whole printed band and then moved by laws other than the tool's: another exponent of the bore, a
dependence on lip and tail. It scatters from flood to flood, the hose is set by hand, the jug misreads, and
one trial in fifty is simply odd. All of it is invented; only the bands are from print.
"""

from __future__ import annotations

import functools
import itertools
import math
import sys
import time
from dataclasses import dataclass

import numpy as np

from aquacalc.bench.belief import Answer, Belief
from aquacalc.bench.jug import Jug
from aquacalc.bench.next_flow import EXPECTED_ERROR, next_flow
from aquacalc.bench.session import Bench, bench, free_stop
from aquacalc.bench.trials import Trial
from aquacalc.equations.formulas import GRAVITY, choking_flow
from aquacalc.plan import plan_from_text
from tests.plan.generated import plan_text

FIXED = 0.55
TRIALS = 10
#: Width, as a factor, that is asked of a band.
WIDTH = 1.3
#: Most that the hose gives where bands are narrowed whatever the plan's own flow, m3/s.
HOSE = 300 / 60000
#: Largest scatter from flood to flood, and its classes, as parts of the flow.
SCATTER = 0.2
CLASSES = (0.0, 0.05, 0.1, 0.15, 0.2)
#: How far other laws move the start and the stop: exponents of bore, lip and tail.
LAWS = {"start": (0.5, 0.3, 0.15), "stop": (0.25, 0.1, 0.1)}


@dataclass(frozen=True)
class Truth:
    """A simulated siphon: flows (m3/s) at which it starts and runs on, and how they scatter."""

    start: float
    stop: float
    scatter: float

    def above(self, what: str, flow: float, rng: np.random.Generator) -> bool:
        """Whether one flood at `flow` lies above its start or stop."""
        return bool(flow > getattr(self, what) * math.exp(rng.normal(0.0, self.scatter)))

    def trial(self, what: str, asked: float, rng: np.random.Generator) -> Answer:
        """Set the hose to about `asked`, read the jug, and see what it does."""
        flow = asked * math.exp(rng.normal(0.0, 0.05))
        jug = flow * math.exp(rng.normal(0.0, EXPECTED_ERROR))
        return Answer(jug, EXPECTED_ERROR, self.above(what, flow, rng) != (rng.random() < 0.02))


@functools.cache
def tests(siphons: int, seed: int) -> tuple[Bench, ...]:
    """Return the bench tests of so many siphons of the plans drawn by number."""
    each = (plan_from_text(plan_text(1000 * seed + n)) for n in itertools.count())
    return tuple(itertools.islice((bench(p, s.name) for p in each for s in p.siphons), siphons))


def draw(test: Bench, rng: np.random.Generator) -> Truth:
    """Draw what the siphon of a test really does."""
    stand, tail = test.siphon.standpipe, test.siphon.tail
    parts = stand.pipe.bore / 0.0266, stand.lip_diameter / stand.pipe.bore, tail.length / 0.6
    flows = []
    for what, powers in LAWS.items():
        belief = getattr(test, what)
        flow = math.exp(rng.uniform(math.log(belief.low), math.log(belief.high)))
        for part, power in zip(parts, powers, strict=True):
            flow *= part ** rng.uniform(-power, power)
        flows.append(flow)
    return Truth(*flows, rng.uniform(0.0, SCATTER))


def bisect(truth: Truth, what: str, low: float, high: float, rng: np.random.Generator) -> list:
    """Halve the range by its middle, each answer taken at its word; the range after each trial."""
    found = [(low, high)]
    for _ in range(TRIALS):
        answer = truth.trial(what, math.sqrt(low * high), rng)
        if low < answer.flow < high:
            low, high = (low, answer.flow) if answer.above else (answer.flow, high)
        found.append((low, high))
    return found


def fixed_flow(test: Bench, what: str) -> float:
    """Flow (m3/s) by a rule that knows no band: one Froude number; what the siphon carries at the rim."""
    if what == "start":
        return choking_flow(FIXED, test.siphon.standpipe.pipe.bore, GRAVITY)
    return free_stop(test.plan, test.siphon).flow


def run(siphons: int, seed: int = 1, what: str = "start") -> dict[str, np.ndarray]:
    """Narrow the band of `siphons` of them, ten trials each.

    Returns
    -------
    dict of str to numpy array
        "truth", shape (siphons,), logarithm; "scatter", shape (siphons,); "band", "bisected", shape (siphons,
        trials + 1, 2), logarithms. Of a flow drawn over the band, shape (siphons, trials + 1): "chance" that
        was said of the next flood, whether it "came" above, and what the fixed "rule" says; "above", shape
        (siphons,): whether that flow lies above the truth.
    """
    rng = np.random.default_rng(seed)
    names = ("truth", "scatter", "band", "bisected", "chance", "came", "rule", "above")
    found: dict[str, list] = {name: [] for name in names}
    for test in tests(siphons, seed):
        truth, belief = draw(test, rng), getattr(test, what)
        flow = math.exp(rng.uniform(math.log(belief.low / 1.3), math.log(belief.high * 1.3)))
        bands, chance, came = [], [], []
        for n in range(TRIALS + 1):
            bands.append(belief.band())
            chance.append(belief.chance(flow))
            came.append(truth.above(what, flow, rng))
            if n < TRIALS:
                belief = belief.after(truth.trial(what, asked(belief, what), rng))
        true = getattr(truth, what)
        found["truth"].append(math.log(true))
        found["scatter"].append(truth.scatter)
        found["band"].append(np.log(bands))
        found["bisected"].append(np.log(bisect(truth, what, belief.low, belief.high, rng)))
        found["chance"].append(chance)
        found["came"].append(came)
        found["rule"].append([flow > fixed_flow(test, what)] * (TRIALS + 1))
        found["above"].append(flow > true)
    return {name: np.array(each) for name, each in found.items()}


#: A siphon that starts at any flow, for trials of the stop alone.
STARTS = Belief(1e-7, 2e-7)


def asked(belief: Belief, what: str) -> float:
    """Flow (m3/s) that the tool asks for when only the one band is wanted."""
    both = (belief, None, belief) if what == "start" else (None, belief, STARTS)
    return next_flow(*both, "metric", HOSE).flow


def held(truth: np.ndarray, bands: np.ndarray) -> np.ndarray:
    """Share of the siphons whose truth lies in its band, after each number of trials."""
    return ((bands[..., 0] <= truth[:, None]) & (truth[:, None] <= bands[..., 1])).mean(axis=0)


def width(bands: np.ndarray) -> np.ndarray:
    """Median width of the bands as a factor, after each number of trials."""
    return np.exp(np.median(np.diff(bands)[..., 0], axis=0))


def calibrated(truth: np.ndarray, bands: np.ndarray) -> np.ndarray:
    """Factor by which bands must be wide about their middles to hold nine truths in ten, by trials."""
    off = np.abs(bands.mean(axis=-1) - truth[:, None])
    return np.exp(2.0 * np.quantile(off, 0.9, axis=0))


def bits(chance: np.ndarray, came: np.ndarray) -> np.ndarray:
    """Mean log score, bits a flood, by trials; 0 is a rule that always knows, -1 a tossed coin."""
    return np.log2(np.where(came, chance, 1.0 - chance).clip(1e-9)).mean(axis=0)


def fixed_rule(found: dict[str, np.ndarray]) -> float:
    """Log score of the fixed rule, given the chance of being right that it really has."""
    right = (found["rule"] == found["came"]).mean()
    return right * math.log2(right) + (1.0 - right) * math.log2(1.0 - right)


def sessions(siphons: int, seed: int = 1) -> dict[str, np.ndarray]:
    """Hold whole bench tests at the plans' own flows, with a garden hose, until the tool says enough.

    Returns
    -------
    dict of str to numpy array
        Each of shape (siphons,): "answer"; "trials"; whether the truth is that it "starts" and "stops" at
        the plan's flow, and whether one flood "started" and "stopped".
    """
    rng = np.random.default_rng(seed)
    names = ("answer", "trials", "starts", "stops", "started", "stopped")
    found: dict[str, list] = {name: [] for name in names}
    for test in tests(siphons, seed):
        truth = draw(test, rng)
        while not test.enough:
            flow = test.next.flow
            start = truth.trial("start", flow, rng)
            ran_on = truth.above("stop", start.flow, rng) != (rng.random() < 0.02)
            jug = Jug(start.flow, EXPECTED_ERROR, "")
            test = test.after(Trial(jug, start.above, not ran_on if start.above else None))
        low, high = test.inflow_low, test.inflow_high / test.part
        found["answer"].append(test.answer or "may or may not")
        found["trials"].append(len(test.trials))
        found["starts"].append(low > truth.start)
        found["stops"].append(high < truth.stop)
        found["started"].append(truth.above("start", low, rng))
        found["stopped"].append(not truth.above("stop", high, rng))
    return {name: np.array(each) for name, each in found.items()}


def wrong(found: dict[str, np.ndarray]) -> tuple[float, float]:
    """Share of those said to work that do not at the truth, and share of their next floods that do not."""
    yes = found["answer"] == "works"
    each = (found["starts"] & found["stops"], found["started"] & found["stopped"])
    return tuple(float(1.0 - good[yes].mean()) for good in each)


def main(siphons: int = 1000, seed: int = 1):
    """Print the tables."""
    began = time.perf_counter()
    for what in LAWS:
        found = run(siphons, seed, what)
        truth, bands, halved = found["truth"], found["band"], found["bisected"]
        print(f"\n{what}: {siphons} siphons, seed {seed}\n")
        print("| Trials | Band: width, holds | for 9 in 10 | Bisection: the same | for 9 in 10 | Log score |")
        print("|---|---|---|---|---|---|")
        columns = (width(bands), held(truth, bands), calibrated(truth, bands), width(halved))
        columns += (held(truth, halved), calibrated(truth, halved), bits(found["chance"], found["came"]))
        for n, row in enumerate(zip(*columns, strict=True)):
            w, h, fair, half, hold, fair_2, score = row
            print(
                f"| {n} | {w:.2f}, {h:.1%} | {fair:.2f} | "
                f"{half:.2f}, {hold:.1%} | {fair_2:.2f} | {score:.3f} |"
            )
        print(f"\nFixed rule: log score {fixed_rule(found):.3f} bits a flood")
        for low, high in itertools.pairwise(CLASSES):
            some = (found["scatter"] >= low) & (found["scatter"] < high)
            print(
                f"Scatter {low:.0%} to {high:.0%} ({some.sum()}): after ten trials "
                f"{width(bands[some])[TRIALS]:.2f} wide, holds {held(truth[some], bands[some])[TRIALS]:.1%}"
            )
    found = sessions(siphons, seed)
    print("\n| Said after the bench test | Plans | Trials, median |\n|---|---|---|")
    for answer in ("works", "does not start", "runs on", "may or may not"):
        some = found["answer"] == answer
        print(f"| {answer} | {some.mean():.1%} | {np.median(found['trials'][some]):.0f} |")
    truth, flood = wrong(found)
    print(f"\nSaid to work and does not: {truth:.1%} at the truth, {flood:.1%} of next floods")
    for answer, did in (("does not start", "starts"), ("runs on", "stops")):
        print(f'Said "{answer}" and wrong at the truth: {found[did][found["answer"] == answer].mean():.1%}')
    print(f"{time.perf_counter() - began:.0f} s")


if __name__ == "__main__":
    main(*(int(x) for x in sys.argv[1:]))

"""Simulated siphons on the bench, by laws not the tool's: `python -m tests.benchmarks.bench_trials`.

Each siphon starts at a flow drawn over the whole printed band and then moved by laws other than the
tool's: another exponent of the bore, a dependence on lip and tail. It scatters from flood to flood, the
hose is set by hand, the jug misreads, and one trial in fifty is simply odd. All of it is invented; only
the band is from print.
"""

from __future__ import annotations

import math
import sys
import time
from dataclasses import dataclass

import numpy as np

from aquacalc.bench.belief import SURE, Answer, Belief
from aquacalc.bench.next_flow import EXPECTED_ERROR, next_flow
from aquacalc.equations.formulas import GRAVITY, choking_flow

#: Bores of nominal 1/2 to 2 in pipe, m (ASTM D1785 schedule 40).
BORES = (0.0158, 0.0209, 0.0266, 0.0351, 0.0409, 0.0525)
LOW, HIGH, FIXED = 0.3, 1.0, 0.55
TRIALS = 10
#: Width, as a factor, that is asked of a band.
WIDTH = 1.3
#: Most that a hose gives, m3/s.
HOSE = 300 / 60000


@dataclass(frozen=True)
class Truth:
    """A simulated siphon: where it starts (m3/s), how that scatters, and its bore (m)."""

    start: float
    scatter: float
    bore: float

    def trial(self, asked: float, rng: np.random.Generator) -> Answer:
        """Set the hose to about `asked`, read the jug, and see what it does."""
        flow = asked * math.exp(rng.normal(0.0, 0.05))
        jug = flow * math.exp(rng.normal(0.0, EXPECTED_ERROR))
        started = flow > self.start * math.exp(rng.normal(0.0, self.scatter))
        return Answer(jug, EXPECTED_ERROR, bool(started != (rng.random() < 0.02)))


def draw(rng: np.random.Generator) -> Truth:
    """Draw a siphon."""
    bore = rng.choice(BORES)
    froude = math.exp(rng.uniform(math.log(LOW), math.log(HIGH)))
    start = choking_flow(froude, bore, GRAVITY)
    start *= (bore / 0.0266) ** rng.uniform(-0.5, 0.5)  # goes with bore^2 to bore^3 instead of bore^2.5
    start *= rng.uniform(1.0, 1.6) ** rng.uniform(-0.3, 0.3)  # a wide lip helps, or hinders
    start *= rng.uniform(0.5, 2.0) ** rng.uniform(-0.15, 0.15)  # and so does a long tail
    return Truth(start, rng.uniform(0.0, 0.12), bore)


def printed(truth: Truth) -> Belief:
    """What is believed before any trial."""
    return Belief(*(choking_flow(fr, truth.bore, GRAVITY) for fr in (LOW, HIGH)))


def bisect(truth: Truth, low: float, high: float, rng: np.random.Generator) -> list[tuple[float, float]]:
    """Halve the range by its middle, each answer taken at its word; the range after each trial."""
    found = [(low, high)]
    for _ in range(TRIALS):
        answer = truth.trial(math.sqrt(low * high), rng)
        if low < answer.flow < high:
            low, high = (low, answer.flow) if answer.above else (answer.flow, high)
        found.append((low, high))
    return found


def run(siphons: int, seed: int = 1) -> dict[str, np.ndarray]:
    """Test `siphons` of them.

    Returns
    -------
    dict of str to numpy array
        "start", shape (siphons,), ln of the truth; "band", "flood", "bisected", shape (siphons, trials + 1,
        2), logarithms. Of a plan whose pump's flow is drawn over the band, shape (siphons, trials + 1):
        "chance" that was said of the next flood, whether it "starts", and what the fixed "rule" says;
        "above", shape (siphons,): whether that flow lies above the truth.
    """
    rng = np.random.default_rng(seed)
    found: dict[str, list] = {
        k: [] for k in ("start", "band", "flood", "bisected", "chance", "starts", "rule", "above")
    }
    for _ in range(siphons):
        truth = draw(rng)
        belief = printed(truth)
        flow = math.exp(rng.uniform(math.log(belief.low / 1.3), math.log(belief.high * 1.3)))
        bands, floods, chance, starts = [], [], [], []
        for n in range(TRIALS + 1):
            bands.append(belief.band())
            floods.append(belief.any_flood())
            chance.append(belief.chance(flow))
            starts.append(flow > truth.start * math.exp(rng.normal(0.0, truth.scatter)))
            if n < TRIALS:
                trial = next_flow(belief, None, belief, "metric", HOSE)
                belief = belief.after(truth.trial(trial.flow, rng))
        found["start"].append(math.log(truth.start))
        found["band"].append(np.log(bands))
        found["flood"].append(np.log(floods))
        found["bisected"].append(np.log(bisect(truth, belief.low, belief.high, rng)))
        found["chance"].append(chance)
        found["starts"].append(starts)
        found["rule"].append([flow > choking_flow(FIXED, truth.bore, GRAVITY)] * (TRIALS + 1))
        found["above"].append(flow > truth.start)
    return {name: np.array(each) for name, each in found.items()}


def held(start: np.ndarray, bands: np.ndarray) -> np.ndarray:
    """Share of the siphons whose truth lies in its band, after each number of trials."""
    return ((bands[..., 0] <= start[:, None]) & (start[:, None] <= bands[..., 1])).mean(axis=0)


def calibrated(start: np.ndarray, bands: np.ndarray) -> np.ndarray:
    """Factor by which bands must be wide about their middles to hold nine truths in ten, by trials."""
    off = np.abs(bands.mean(axis=-1) - start[:, None])
    return np.exp(2.0 * np.quantile(off, 0.9, axis=0))


def bits(chance: np.ndarray, came: np.ndarray) -> np.ndarray:
    """Mean log score, bits a flood, by trials; 0 is a rule that always knows, -1 a tossed coin."""
    return np.log2(np.where(came, chance, 1.0 - chance).clip(1e-9)).mean(axis=0)


def fixed_rule(found: dict[str, np.ndarray]) -> float:
    """Log score of the fixed Froude number, given the chance of being right that it really has."""
    right = (found["rule"] == found["starts"]).mean()
    return right * math.log2(right) + (1.0 - right) * math.log2(1.0 - right)


def decided(found: dict[str, np.ndarray]) -> tuple[np.ndarray, np.ndarray]:
    """Trials, one at least, until it is enough for each plan's flow (0: never), and the chance then said."""
    chance = found["chance"][:, 1:]
    enough = (chance >= SURE) | (chance <= 1.0 - SURE)
    trials = np.where(enough.any(axis=1), enough.argmax(axis=1) + 1, 0)
    return trials, np.take_along_axis(chance, np.maximum(trials - 1, 0)[:, None], axis=1)[:, 0]


def main(siphons: int = 1000, seed: int = 1):
    """Print the table."""
    began = time.perf_counter()
    found = run(siphons, seed)
    start = found["start"]
    print(f"{siphons} siphons, seed {seed}, {time.perf_counter() - began:.0f} s\n")
    ours, theirs = held(start, found["band"]), held(start, found["bisected"])
    width = np.exp(np.median(np.diff(found["band"])[..., 0], axis=0))
    half = np.exp(np.median(np.diff(found["bisected"])[..., 0], axis=0))
    fair, fair_half = calibrated(start, found["band"]), calibrated(start, found["bisected"])
    score = bits(found["chance"], found["starts"])
    print("| Trials | Band: width, holds | for 9 in 10 | Bisection: width, holds | for 9 in 10 | Log score |")
    print("|---|---|---|---|---|---|")
    for n in range(TRIALS + 1):
        print(
            f"| {n} | {width[n]:.2f}, {ours[n]:.1%} | {fair[n]:.2f} | {half[n]:.2f}, {theirs[n]:.1%} | "
            f"{fair_half[n]:.2f} | {score[n]:.3f} |"
        )
    print(f"\nFixed Froude number {FIXED}: log score {fixed_rule(found):.3f} bits a flood")
    trials, chance = decided(found)
    yes = (trials > 0) & (chance >= SURE)
    no = (trials > 0) & (chance <= 1.0 - SURE)
    median, never = np.median(trials[trials > 0]), (trials == 0).mean()
    print(f"Enough after {median:.0f} trials in the median; never: {never:.0%}")
    print(f"Called to start: {yes.mean():.0%}; wrong at the truth {1 - found['above'][yes].mean():.1%}")
    print(f"Called not to start: {no.mean():.0%}; wrong at the truth {found['above'][no].mean():.1%}")
    print(f"Floods that did not start where it was called to: {1 - found['starts'][yes].mean():.1%}")


if __name__ == "__main__":
    main(*(int(x) for x in sys.argv[1:]))

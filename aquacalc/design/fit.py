"""Match your stopwatch: what a few readings say about porosity, inflow, loss and the start of the siphon.

Readings and the plan's own uncertainty are weighed together by least squares,
so what the readings do not tell stays as uncertain as it was.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from aquacalc import catalogue, units
from aquacalc.design.answer import positive, shower, the_siphon
from aquacalc.design.many_plans import run_plans
from aquacalc.design.readings import (
    FITTED,
    NINE_IN_TEN,
    READINGS,
    Reading,
    adjusted,
    check_readings,
    contradictions,
    members,
    predict,
    spreads,
)
from aquacalc.hydraulics.starting import choke
from aquacalc.plan import edit
from aquacalc.plan.model import Fitting, Plan, Siphon
from aquacalc.plan.tested import written

if TYPE_CHECKING:
    import numpy as np
    import pandas as pd

#: A correlation from which two of the fitted are said to be tied to each other.
TIED = 0.7
#: A standard deviation this part of the one before says that the readings told next to nothing.
UNTOLD = 0.8
#: Standard deviations from what was thought before beyond which a fitted value is not to be believed, and
#: errors off beyond which a reading does not fit.
STRANGE = 3.0
#: Largest error of a fitted start, as a part of it: its band stays above 0.
MOST_ERROR = 0.9
#: Step of the differences, in ln(factor): far above the engine's own noise.
STEP = 0.003
#: Said first of a fit that was stopped.
STOPPED = "Stopped early: the values had not settled yet, so no plan is written of them. Ask again for more."
#: Residual given to a reading that the plan cannot have, its siphon not cycling.
FAR = 100.0


@dataclass(frozen=True)
class Estimate:
    """One fitted thing.

    Attributes
    ----------
    name, kind : str
        Key of `FITTED`; key of `aquacalc.units.KINDS`.
    value, low, high : float
        Fitted value and the interval at the fit's level, SI. Porosity is the
        mean of the beds, loss the factor on the coefficients.
    before, before_low, before_high : float
        The same before any reading.
    factor, spread, spread_before : float
        Factor on the plan's value; standard deviation of its logarithm after and before.
    """

    name: str
    kind: str
    value: float
    low: float
    high: float
    before: float
    before_low: float
    before_high: float
    factor: float
    spread: float
    spread_before: float

    @property
    def told(self) -> bool:
        """Whether the readings tell more than was thought before."""
        return self.spread <= UNTOLD * self.spread_before


@dataclass(frozen=True)
class Match:
    """A reading beside what the fitted plan does, in SI; `pull` is the difference over the reading error."""

    reading: Reading
    fitted: float
    pull: float


@dataclass(frozen=True, repr=False)
class Fit:
    """What the readings say.

    Attributes
    ----------
    plan : Plan
        The plan with the fitted values put in.
    estimates : tuple of Estimate
        In the order of `FITTED`.
    correlation : tuple of tuple of float
        Of the logarithms, in the same order.
    matches : tuple of Match
    level : float
        The share of cases in which an interval holds the truth.
    said : tuple of str
        What the readings tell and cannot tell, in plain sentences.
    complete : bool
        False when it was stopped before the values had settled.
    """

    plan: Plan
    estimates: tuple[Estimate, ...]
    correlation: tuple[tuple[float, ...], ...]
    matches: tuple[Match, ...]
    level: float
    said: tuple[str, ...]
    complete: bool = True

    def __repr__(self) -> str:
        """Say what the readings tell, a sentence a line."""
        return "\n".join(self.said)

    def frame(self) -> pd.DataFrame:
        """Return the estimates as a pandas frame, a row for each."""
        import pandas as pd

        return pd.DataFrame([vars(e) for e in self.estimates]).set_index("name")

    def estimate(self, name: str) -> Estimate:
        """Return the estimate called `name`."""
        return next(e for e in self.estimates if e.name == name)


class _Model:
    """Residuals of readings and of what was thought before, against the logarithms of the factors."""

    def __init__(self, plan: Plan, siphon: Siphon, readings: Sequence[Reading], before: Mapping[str, float]):
        import numpy as np

        self.np, self.plan, self.siphon, self.readings = np, plan, siphon, readings
        self.before = np.array([before[name] for name in FITTED])
        self.errors = np.array([r.error for r in readings])
        self.values = np.array([r.value for r in readings])
        #: The last point that was better than those before, and its slopes.
        self.kept = np.zeros(len(FITTED)), np.eye(len(FITTED))

    def at(self, x: np.ndarray) -> Plan:
        """Return the plan at logarithms of the factors."""
        factors = dict(zip(FITTED, self.np.exp(x).tolist(), strict=True))
        return adjusted(self.plan, self.siphon, factors)

    def predictions(self, points: Sequence[np.ndarray]) -> np.ndarray:
        """Return what the readings would be at each point, shape (points, readings)."""
        plans = [self.at(x) for x in points]
        rows = []
        for plan, run in zip(plans, run_plans(plans), strict=True):
            siphon = the_siphon(plan, self.siphon.name)
            rows.append([predict(plan, run, siphon, r) for r in self.readings])
        return self.np.array(rows)

    def residuals(self, x: np.ndarray) -> np.ndarray:
        """Return the weighted residuals, readings first."""
        off = (self.predictions([x])[0] - self.values) / self.errors
        off = self.np.where(self.np.isfinite(off), off, FAR)
        return self.np.concatenate([off, x / self.before])

    def jacobian(self, x: np.ndarray) -> np.ndarray:
        """Return the slopes of `residuals` by differences, all plans in one batch."""
        np = self.np
        steps = STEP * np.eye(len(x))
        here, *beyond = self.predictions([x, *(x + steps)])
        slopes = (np.array(beyond) - here) / STEP
        slopes = np.where(np.isfinite(slopes), slopes, 0.0)
        self.kept = x, np.vstack([slopes.T / self.errors[:, None], np.diag(1.0 / self.before)])
        return self.kept[1]


def fit(
    plan: Plan,
    readings: Sequence[Reading],
    siphon: str | None = None,
    before: Mapping[str, float] | None = None,
    level: float = 0.9,
) -> Fit:
    """Fit porosity, inflow, loss and start to readings.

    Parameters
    ----------
    plan : Plan
        A checked plan whose siphon cycles.
    readings : sequence of Reading
        Any of `READINGS`, in any number, of one siphon.
    siphon : str, optional
        Which siphon, where there are several.
    before : mapping of str to float, optional
        Standard deviation of the logarithm of each of `FITTED` before any
        reading, instead of `spreads`.
    level : float
        The share of cases in which the intervals shall hold the truth.

    Returns
    -------
    Fit

    Raises
    ------
    ValueError
        For a reading that cannot be used, or a siphon that is not known.
    KeyboardInterrupt
        When stopped before the first step; stopped later, what is fitted so far is returned.
    """
    import numpy as np
    from scipy.optimize import least_squares
    from scipy.stats import norm

    s = the_siphon(plan, siphon)
    check_readings(plan, s, readings)
    for name in before or {}:
        if name not in FITTED:
            fix = catalogue.suggestion(catalogue.near_matches(name, FITTED), tuple(FITTED))
            raise ValueError(f'before: "{name}" is nothing that is fitted; {fix}')
    if not 0.0 < level < 1.0:
        raise ValueError(f"level is {level:g}; give the share of cases to cover, 0.9 for example")
    spread = {**spreads(plan, s.name), **(before or {})}
    positive(**{f"uncertainty of {name}": spread[name] for name in FITTED})
    model = _Model(plan, s, readings, spread)
    complete = True
    try:
        found = least_squares(
            model.residuals,
            np.zeros(len(FITTED)),
            jac=model.jacobian,
            x_scale=model.before,
            ftol=1e-4,  # of the sum of squares: a hundredth of a standard deviation
            xtol=1e-3,
            gtol=1e-4,
            max_nfev=30,
        )
        point, slopes = found.x, found.jac
    except KeyboardInterrupt:
        complete, (point, slopes) = False, model.kept
        if not point.any():
            raise KeyboardInterrupt("stopped before the first step of the fit; nothing was fitted") from None
    covariance = np.linalg.inv(slopes.T @ slopes)
    deviation = np.sqrt(np.diag(covariance))
    correlation = covariance / np.outer(deviation, deviation)
    z = float(norm.ppf(0.5 + 0.5 * level))
    base = _values(plan, s)
    estimates = tuple(
        _estimate(name, base[name], float(x), float(sd), spread[name], z)
        for name, x, sd in zip(FITTED, point, deviation, strict=True)
    )
    fitted = _kept(model.at(point), s, estimates[-1])
    each = model.predictions([point])[0]
    matches = tuple(
        Match(r, float(value), float((value - r.value) / r.error))
        for r, value in zip(readings, each, strict=True)
    )
    table = tuple(tuple(row) for row in correlation.tolist())
    said = _said(plan, estimates, table, matches)
    return Fit(fitted, estimates, table, matches, level, said if complete else (STOPPED, *said), complete)


def _values(plan: Plan, siphon: Siphon) -> dict[str, float]:
    """Return the fitted things as the plan has them; of a pump with a curve the flow at its middle."""
    names = members(plan, siphon)
    porous = [b.media.porosity for b in plan.beds if b.name in names]
    pump = plan.pump
    flow = pump.flow if pump.flow is not None else 0.5 * pump.curve[-1][0]
    return {"porosity": sum(porous) / len(porous), "inflow": flow, "loss": 1.0, "start": choke(siphon)}


def _estimate(name: str, base: float, x: float, spread: float, before: float, z: float) -> Estimate:
    value = base * math.exp(x)
    return Estimate(
        name,
        FITTED[name][1],
        value,
        value * math.exp(-z * spread),
        value * math.exp(z * spread),
        base,
        base * math.exp(-z * before),
        base * math.exp(z * before),
        math.exp(x),
        spread,
        before,
    )


def _short(value: float, kind: str, system: str) -> float:
    """Round a fitted value (SI) to four digits in the reader's unit: no reading gives more."""
    number, unit = units.in_unit(value, kind, system)
    return units.read(f"{number:.4g} {unit}".strip(), kind)


def _shorter(fittings: tuple[Fitting, ...]) -> tuple[Fitting, ...]:
    """Round the losses of fittings to four digits."""
    return tuple(dataclasses.replace(f, k=float(f"{f.k:.4g}")) for f in fittings)


def _kept(plan: Plan, before: Siphon, start: Estimate) -> Plan:
    """Return the fitted plan with its fitted values marked, and the start's own error.

    A start that the readings cannot tell stays as the plan had it: its band may not narrow unseen.
    """
    names = members(plan, before)
    paths = [f"bed.{bed.name}.porosity" for bed in plan.beds if bed.name in names]
    paths += ["pump.flow"] if plan.pump.flow is not None else []
    values = {path: edit.get(plan, path) for path in paths}
    kinds = dict.fromkeys(values, "ratio") | {"pump.flow": "flow"}
    at = f"siphon.{before.name}"
    if start.told:
        error = min(NINE_IN_TEN * start.spread, MOST_ERROR) * start.value
        values |= {f"{at}.priming.observed": start.value, f"{at}.priming.observed_error": error}
        kinds |= dict.fromkeys((f"{at}.priming.observed", f"{at}.priming.observed_error"), "flow")
    values = {path: _short(value, kinds[path], plan.units) for path, value in values.items()}
    runs = tuple(
        dataclasses.replace(run, fittings=_shorter(run.fittings)) if run.start in names else run
        for run in plan.runs
    )
    siphons = tuple(
        dataclasses.replace(
            s,
            tail=dataclasses.replace(s.tail, fittings=_shorter(s.tail.fittings)),
            priming=s.priming if start.told else before.priming,
            tested=written(s, plan.units) if start.told else s.tested,
        )
        if s.name == before.name
        else s
        for s in plan.siphons
    )
    curve = tuple((_short(flow, "flow", plan.units), head) for flow, head in plan.pump.curve)
    pump = dataclasses.replace(plan.pump, curve=curve)
    fitted = dataclasses.replace(plan, runs=runs, siphons=siphons, pump=pump)
    return edit.put(fitted, values, "derived", "fitted to readings")


def _would_tell(names: tuple[str, ...], had: set[str]) -> str:
    """Name the readings not taken yet that would tell these fitted things."""
    wanted = [what for name in names for what in FITTED[name][2] if what not in had]
    if not wanted:
        return " The same readings taken more closely would tell."
    return f" What would tell: {' or '.join(dict.fromkeys(wanted))}."


def _said(
    plan: Plan,
    estimates: tuple[Estimate, ...],
    correlation: tuple[tuple[float, ...], ...],
    matches: tuple[Match, ...],
) -> tuple[str, ...]:
    """Say what the readings tell and cannot tell."""
    show = shower(plan.units)
    said = list(contradictions(plan, [m.reading for m in matches]))
    off = [m for m in matches if not abs(m.pull) < STRANGE]
    if off:
        each = ", ".join(
            f"{m.reading.what} {show(m.reading.value, READINGS[m.reading.what][0])}" for m in off
        )
        said.append(
            f"No plan near yours has all of these readings ({each}): what follows is a compromise between "
            "them. Do not use it before you have read them again."
        )
    had = {m.reading.what for m in matches}
    for e in estimates:
        words, kind, _ = FITTED[e.name]
        if not e.told:
            said.append(
                f"The readings cannot tell {words}: it stays nearly as uncertain as before."
                f"{_would_tell((e.name,), had)}"
            )
        else:
            said.append(
                f"The readings put {words} at {show(e.value, kind)}, between {show(e.low, kind)} and "
                f"{show(e.high, kind)}."
            )
            if abs(math.log(e.factor)) > STRANGE * e.spread_before:
                said.append(
                    f"That is far from what was expected, {show(e.before_low, kind)} to "
                    f"{show(e.before_high, kind)}: look for a slip, or for what the plan leaves out."
                )
    for i, a in enumerate(estimates):
        for j, b in enumerate(estimates[:i]):
            r = correlation[i][j]
            if abs(r) >= TIED:
                said.append(
                    f"They cannot tell {FITTED[b.name][0]} from {FITTED[a.name][0]}: more of one with "
                    f"{'more' if r > 0.0 else 'less'} of the other fits nearly as well (correlation {r:.2f})."
                    f"{_would_tell((b.name, a.name), had)}"
                )
    for m in off:
        kind = READINGS[m.reading.what][0]
        said.append(
            f"The {m.reading.what} of {show(m.reading.value, kind)} does not fit the rest: the fitted "
            f"plan has {show(m.fitted, kind)}. Read it again, or look for what the plan leaves out."
        )
    return tuple(said)

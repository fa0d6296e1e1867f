"""The fault finder: from what a grower sees to what is most likely wrong, and what to look at first.

Each cause is planted in the plan at several strengths and run; a cause that gives what was seen is named,
the one that fits best first. Nothing here is a table of symptoms: what a cause does is what the engine says
that it does to this plan.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from aquacalc import catalogue
from aquacalc.design.advice import advise
from aquacalc.design.answer import Answer, positive, the_siphon
from aquacalc.design.change import built
from aquacalc.design.many_plans import Progress, run_plans
from aquacalc.design.readings import members
from aquacalc.findings import find, verdict
from aquacalc.findings.record import the
from aquacalc.hydraulics.pump import lowest_pump_level
from aquacalc.plan.model import Bed, Fitting, Plan, Siphon
from aquacalc.results.cycle import SystemCycle
from aquacalc.results.window import sump_range
from aquacalc.units import show

#: A time counts as changed beyond this part of it, a level beyond so many m: less is not noticed by eye.
NOTICED, NOTICED_LEVEL = 0.15, 0.012
#: How well a grower reads, two times in three: a time as a part of it, a flow by jug, a level by tape (m).
TIME_ERROR, FLOW_ERROR, LEVEL_ERROR = 0.04, 0.03, 0.005
#: What one reading may speak against a cause at most, so that a slip of the pen does not decide.
MOST_AGAINST = 40.0
#: Strengths of a cause that are tried first, and about the best of them again for so many causes.
STEPS, FINER, LOOKED_AT = 8, 6, 8
#: What the strongest clogging leaves of an opening, and a sharp edge of the area it opens (both parts).
LEAST_OPEN, CONTRACTION = 0.03, 0.62
#: Causes that fit worse than the best by more than this are not told.
FAR_WORSE = 12.0
#: Causes told at most.
TOLD = 5


@dataclass(frozen=True)
class Cause:
    """One thing that goes wrong.

    Attributes
    ----------
    key, name : str
    look, fix : str
        How to see whether it is this, and what to do then.
    minutes : float
        What looking takes, min.
    often : float
        How rare it is, a number: 0 for what happens everywhere, 3 for what hardly does (common practice, no
        source).
    plant : callable
        From a strength, 0 to 1 (part), to the edits that put it into the plan.
    says : callable
        From a strength to words for it.
    leaks : bool
        Whether the water is lost after the jug, which then shows the pump's whole flow. A leak is run as that
        much less inflow; that it grows with the level is left out.
    """

    key: str
    name: str
    look: str
    fix: str
    minutes: float
    often: float
    plant: Callable[..., Any]
    says: Callable[..., str]
    leaks: bool = False


@dataclass(frozen=True)
class Seen:
    """What was seen: signs (keys of `SIGNS`) and readings, {what: SI value}, levels as (what, bed)."""

    signs: tuple[str, ...] = ()
    readings: Mapping[tuple[str, str], float] | None = None


@dataclass(frozen=True)
class Suspect:
    """A cause that gives what was seen, its `strength` (part) and a number for what speaks `against` it."""

    cause: Cause
    strength: float
    against: float
    run: SystemCycle


def _outcome(*outcomes: str) -> Callable:
    return lambda siphon, run, base: run.group(siphon.name).outcome in outcomes


def _longer(field: str, side: float) -> Callable:
    def sign(siphon: Siphon, run: SystemCycle, base: SystemCycle) -> bool:
        # NaN where one of them does not cycle, which is not more than anything.
        change = reading(run.plan, run, siphon, field, "") / reading(base.plan, base, siphon, field, "") - 1.0
        return change * side > NOTICED

    return sign


def _stays_wet(siphon: Siphon, run: SystemCycle, base: SystemCycle) -> bool:
    if run.group(siphon.name).outcome != "cycles":
        return False
    names = members(run.plan, siphon)
    beds = [b.name for b in run.plan.beds if b.name in names]
    return any(
        reading(run.plan, run, siphon, "left", b) - reading(base.plan, base, siphon, "left", b)
        > NOTICED_LEVEL
        for b in beds
    )


def _uneven(siphon: Siphon, run: SystemCycle, base: SystemCycle) -> bool:
    def spread(r: SystemCycle) -> float:
        tops = [b.rim - r.node(b.name).high for b in r.plan.beds]
        return max(tops) - min(tops)

    return spread(run) - spread(base) > NOTICED_LEVEL


def _overflows(siphon: Siphon, run: SystemCycle, base: SystemCycle) -> bool:
    return any(run.node(bed.name).high > bed.rim for bed in run.plan.beds)


def _sump_overflows(siphon: Siphon, run: SystemCycle, base: SystemCycle) -> bool:
    levels = sump_range(run.plan, run)
    return max(levels.high, levels.pump_off) > run.plan.sump.rim


def _draws_air(siphon: Siphon, run: SystemCycle, base: SystemCycle) -> bool:
    return sump_range(run.plan, run).low < lowest_pump_level(run.plan)


#: What a grower may see: words for it -> whether a run has it, beside the plan as it should be.
SIGNS: dict[str, Callable[[Siphon, SystemCycle, SystemCycle], bool]] = {
    "never starts": _outcome("spills"),
    "never stops": _outcome("runs on"),
    "never fills": _outcome("no inflow", "unsettled"),
    "floods and drains": _outcome("cycles"),
    "fills slowly": _longer("fill", 1.0),
    "fills fast": _longer("fill", -1.0),
    "drains slowly": _longer("drain", 1.0),
    "drains fast": _longer("drain", -1.0),
    "stays wet": _stays_wet,
    "floods unevenly": _uneven,
    "bed overflows": _overflows,
    "sump overflows": _sump_overflows,
    "pump draws air": _draws_air,
}
#: The same in other words.
ALSO = {
    "trickles over": "never starts",
    "trickles on": "never stops",
    "never breaks": "never stops",
    "runs on": "never stops",
    "stops early": "stays wet",
}
#: Readings: what -> (kind of unit, what it is).
READ = {
    "fill": ("time", "from the siphon's break until it runs full again"),
    "drain": ("time", "from running full until the break"),
    "jug": ("flow", "the pump's whole flow, by jug and watch"),
    "top": ("length", "dry at the top of a bed just before the siphon starts"),
    "left": ("length", "water above a bed's floor when the siphon breaks"),
}


def reading(plan: Plan, run: SystemCycle, siphon: Siphon, what: str, bed: str) -> float:
    """Return what a reading of `READ` would be, SI; NaN where there is none.

    Parameters
    ----------
    plan : Plan
    run : SystemCycle
    siphon : Siphon
    what, bed : str
    """
    group = run.group(siphon.name)
    if what == "jug":
        return run.pump
    if what == "top":
        return plan.vessel(bed).rim - run.node(bed).high
    if group.outcome != "cycles":
        return math.nan
    if what == "fill":
        return group.fill_time + group.spill_time + group.priming_time
    return group.drain_time if what == "drain" else run.node(bed).low - plan.vessel(bed).floor


def causes(plan: Plan, siphon: Siphon) -> Iterator[Cause]:
    """Yield what may be wrong with a siphon and what drains to it, as edits of the plan."""
    system, at, names = plan.units, f"siphon.{siphon.name}", members(plan, siphon)
    it = the(siphon.name)
    beds = [bed for bed in plan.beds if bed.name in names]

    def length(value: float) -> str:
        return show(value, "length", system, digits=2)

    def percent(part: float) -> str:
        return f"about {100.0 * part:.0f} %"

    if plan.pump.flow is not None:
        flow = plan.pump.flow
        yield Cause(
            "pump weak", "The pump delivers less than the plan says",
            "Time how long it takes to fill a bucket where the water comes out.",
            "Clean the pump's intake and impeller and the pipe; open the valve.", 3.0, 0.0,
            lambda s: {"pump.flow": flow * (1.0 - 0.75 * s)},
            lambda s: f"{percent(0.75 * s)} less")  # fmt: skip
        yield Cause(
            "pump strong", "The pump delivers more than the plan says",
            "Time how long it takes to fill a bucket where the water comes out.",
            "Close the valve, or lead part of the water back to the sump.", 3.0, 1.0,
            lambda s: {"pump.flow": flow * (1.0 + 2.0 * s)},
            lambda s: f"{percent(2.0 * s)} more")  # fmt: skip
        yield Cause(
            "leak", f"The standpipe's seal leaks in the floor under {it}",
            "Switch the pump off with the beds half full: if the water falls by itself, it leaks.",
            "Clean and wet the seal, press the standpipe home; smooth a scratched pipe or take a new seal.",
            10.0, 0.5,
            lambda s: {"pump.flow": flow * (1.0 - 0.9 * s)},
            lambda s: f"about {show(0.9 * flow * s, 'flow', system, digits=2)}", leaks=True)  # fmt: skip
    for bed in beds:
        if bed.strainer is not None:
            path = f"bed.{bed.name}.strainer.discharge_coefficient"
            coefficient = bed.strainer.discharge_coefficient
            yield Cause(
                f"strainer of {bed.name}", f"The strainer of {bed.name} is clogged",
                "Lift it out and look.", "Rinse and brush it; cut roots off around it.", 5.0, 0.0,
                lambda s, p=path, c=coefficient: {p: max(c * _open(s), 0.01)},
                lambda s: f"{percent(1.0 - _open(s))} of its openings shut")  # fmt: skip
    for line in plan.runs:
        if line.start in names:
            yield Cause(
                f"line from {line.start}", f"Roots or dirt in the drain line from {line.start}",
                "Take the strainer out and look down the pipe with a lamp; push a hose through.",
                "Flush it against its flow, and keep roots out with a media guard.", 15.0, 1.0,
                lambda s, n=line.start, f=line.fittings: {f"run.{n}.fittings": _blocked(f, s)},
                lambda s: f"{percent(1.0 - _open(s))} shut")  # fmt: skip
    yield Cause(
        "tail", f"Slime, roots or a kink in the tail of {it}",
        "Look into its end; push a bottle brush through.", "Brush it out; take out the kink.", 5.0, 0.5,
        lambda s: {f"{at}.tail.fittings": _blocked(siphon.tail.fittings, s)},
        lambda s: f"{percent(1.0 - _open(s))} shut")  # fmt: skip
    rim, lip = siphon.bell.rim_height, siphon.standpipe.height
    top = 0.9 * (lip - rim)
    yield Cause(
        "air leak", f"Air gets into the bell of {it} above its rim: a crack, a hole, a loose cap",
        "Watch where it gulps air; hold the bell under water and look for bubbles.",
        "Glue or tape the place, or use another bell.", 5.0, 1.0,
        lambda s: {f"{at}.bell.notch_height": rim + top * s},
        lambda s: f"{length(top * s)} above the rim")  # fmt: skip
    opening = siphon.bell.opening_height
    yield Cause(
        "bell openings", f"Roots or media in the openings at the foot of the bell of {it}",
        "Lift the bell and look.", "Clear them, and put a guard around the bell.", 3.0, 0.5,
        lambda s: {f"{at}.bell.opening_height": opening * _open(s)},
        lambda s: f"{percent(1.0 - _open(s))} shut")  # fmt: skip
    yield Cause(
        "media", "The media is full of roots and fines, so less water fits between the grains",
        "Dig a hand deep at the inlet; measure the drainable water of a bucketful.",
        "Wash or replace part of it; take old roots out.", 20.0, 1.0,
        lambda s: {f"bed.{b.name}.porosity": b.media.porosity * (1.0 - 0.7 * s) for b in beds},
        lambda s: f"{percent(0.7 * s)} less water")  # fmt: skip
    for bed in beds if len(beds) > 1 else []:
        for side, word, often in ((-1.0, "sunk", 0.5), (1.0, "risen", 1.5)):
            yield Cause(
                f"{bed.name} {word}", f"{bed.name} has {word} out of level",
                "Lay a hose level or a long level across the rims of the beds.",
                "Pack it up, or let it down.",
                10.0, often,
                lambda s, b=bed, d=side: _moved(plan, b, d * 0.08 * s),
                lambda s: f"by {length(0.08 * s)}")  # fmt: skip
    for side, word, why in (
        (1.0, "too tall", "it is not pressed home"),
        (-1.0, "too short", "it was cut short"),
    ):
        yield Cause(
            f"standpipe {word}", f"The standpipe of {it} is {word}: {why}",
            "Measure its lip from the floor of the chamber.", "Press it home, or cut a new one.", 3.0, 1.0,
            lambda s, d=side: {f"{at}.standpipe.height": lip + d * 0.3 * (lip - rim) * s}
            | ({f"{at}.bell.top_height": siphon.bell.top_height + 0.3 * (lip - rim) * s} if d > 0 else {}),
            lambda s: f"by {length(0.3 * (lip - rim) * s)}")  # fmt: skip
    level, deep = plan.sump.water_level, plan.sump.shape.depth
    yield Cause(
        "sump low", "There is too little water in the sump",
        f"Measure its depth with the {plan.sump.measured_with}; the plan has {length(level)}.",
        "Top it up, and find where the water went.", 1.0, 0.0,
        lambda s: {"sump.water_level": level * (1.0 - 0.7 * s)},
        lambda s: f"{length(0.7 * level * s)} less")  # fmt: skip
    yield Cause(
        "sump full", "There is too much water in the sump, so the tail is under water",
        f"Measure its depth with the {plan.sump.measured_with}; the plan has {length(level)}.",
        "Take water out.", 1.0, 0.5,
        lambda s: {"sump.water_level": level + (deep - level) * 0.99 * s},
        lambda s: f"{length((deep - level) * 0.99 * s)} more")  # fmt: skip
    low, high = siphon.priming.froude_low, siphon.priming.froude_high
    if siphon.priming.observed is None:
        middle = siphon.priming.froude
        yield Cause(
            "starts late", f"Nothing is broken: {it} only needs more flow than the published middle",
            "Pour a bucket in quickly at the chamber: if it starts and then runs well, it is this.",
            "Open the valve, put a wider reducer on the lip, or fit a narrower standpipe.", 2.0, 0.5,
            lambda s: dict.fromkeys((f"{at}.priming.froude",), middle + (high - middle) * s)
            | {f"{at}.priming.froude_low": min(low, middle)},
            lambda s: f"at a Froude number of {middle + (high - middle) * s:.2g}")  # fmt: skip


def _open(strength: float) -> float:
    """Part of an opening that is left."""
    return LEAST_OPEN**strength


def _blocked(fittings: tuple[Fitting, ...], strength: float) -> tuple[Fitting, ...]:
    """Put in, before the last fitting, what shuts a part of a pipe: as a sharp-edged opening loses."""
    loss = Fitting("blockage", 1, (1.0 / (CONTRACTION * _open(strength)) - 1.0) ** 2, given=True)
    return (*fittings[:-1], loss, *fittings[-1:])


def _moved(plan: Plan, bed: Bed, up: float) -> dict[str, float]:
    """Lift a bed by `up` (m), its drain line stretched with it."""
    longer = {f"run.{r.start}.length": r.length + max(up, 0.0) for r in plan.runs if r.start == bed.name}
    return {f"bed.{bed.name}.floor": bed.floor + up} | (longer if up > 0.0 else {})


class Finder:
    """What each cause at each strength does to one plan, run once for any number of sightings.

    Parameters
    ----------
    plan : Plan
        As it was meant.
    siphon : str, optional
        Its name; the only one when left out.
    progress : callable, optional
        Called with (plans run, plans in all).
    """

    def __init__(self, plan: Plan, siphon: str | None = None, progress: Progress | None = None):
        self.plan, self.siphon = plan, the_siphon(plan, siphon)
        self.base = run_plans([plan])[0]
        self.causes = tuple(causes(plan, self.siphon))
        self.ladder: list[tuple[Cause, float, SystemCycle]] = []
        for number, cause in enumerate(self.causes):
            self.ladder += self._run(cause, [(k + 1) / STEPS for k in range(STEPS)])
            if progress is not None:
                progress((number + 1) * STEPS, len(self.causes) * STEPS)

    def suspects(self, seen: Seen) -> tuple[Suspect, ...]:
        """Return the causes that give what was seen, the one that fits best first.

        Raises
        ------
        ValueError
            For an unknown sign or bed, a reading that is not above 0, and when nothing was seen.
        """
        _check(self.plan, self.siphon, seen)
        found = sorted(self._fitting(self.ladder, seen), key=_order)
        finer = []
        for cause in list(dict.fromkeys(one.cause for one in found))[:LOOKED_AT]:
            best = next(one for one in found if one.cause is cause).strength
            finer += self._run(
                cause, [best + (k - FINER / 2) / (FINER / 2 + 1) / STEPS for k in range(FINER + 1)]
            )
        best_of: dict[str, Suspect] = {}
        for one in sorted([*found, *self._fitting(finer, seen)], key=_order):
            best_of.setdefault(one.cause.key, one)
        return tuple(best_of.values())

    def _run(self, cause: Cause, strengths: list[float]) -> list[tuple[Cause, float, SystemCycle]]:
        """Run a cause at strengths between 0 and 1, those that can be built."""
        made = [(s, built(self.plan, cause.plant(s))) for s in strengths if 0.0 < s <= 1.0]
        made = [(s, plan) for s, plan in made if plan is not None]
        runs = run_plans([plan for _, plan in made])
        return [(cause, s, run) for (s, _), run in zip(made, runs, strict=True)]

    def _fitting(self, tried: list[tuple[Cause, float, SystemCycle]], seen: Seen) -> list[Suspect]:
        """Keep what gives every sign, with what the readings have against it."""
        return [
            Suspect(cause, strength, self._against(cause, run, seen), run)
            for cause, strength, run in tried
            if all(SIGNS[sign](self.siphon, run, self.base) for sign in seen.signs)
        ]

    def _against(self, cause: Cause, run: SystemCycle, seen: Seen) -> float:
        """Add up by how many of its errors (squared) each reading differs."""
        total = 0.0
        for (what, bed), value in (seen.readings or {}).items():
            source = self.base if what == "jug" and cause.leaks else run
            here = reading(run.plan, source, self.siphon, what, bed)
            kind = READ[what][0]
            error = {"time": TIME_ERROR * value + 5.0, "flow": FLOW_ERROR * value, "length": LEVEL_ERROR}[
                kind
            ]
            total += MOST_AGAINST if math.isnan(here) else min(((here - value) / error) ** 2, MOST_AGAINST)
        return total


def _order(suspect: Suspect) -> tuple[float, float]:
    """Best first: what speaks against it, how rare it is, how strong it must be; then what looking takes."""
    return suspect.against + suspect.cause.often + 2.0 * suspect.strength, suspect.cause.minutes


def _check(plan: Plan, siphon: Siphon, seen: Seen) -> None:
    if not seen.signs and not seen.readings:
        raise ValueError(f"nothing was seen; give one of: {', '.join(SIGNS)}")
    for sign in seen.signs:
        if sign not in SIGNS:
            fix = catalogue.suggestion(catalogue.near_matches(sign, SIGNS), tuple(SIGNS))
            raise ValueError(f'"{sign}" is not a known sign of trouble; {fix}')
    names = members(plan, siphon)
    for (what, bed), value in (seen.readings or {}).items():
        if what in ("top", "left") and bed not in {b.name for b in plan.beds if b.name in names}:
            raise ValueError(f'there is no bed "{bed}" on {the(siphon.name)}; name one of its beds')
        if what not in ("top", "left"):
            positive(**{what: value})
        elif what == "top" and value > plan.bed(bed).shape.depth:
            raise ValueError(f"top of {bed}: is more than its depth; measure it again")


def trouble(plan: Plan, seen: Seen, siphon: str | None = None, progress: Progress | None = None) -> Answer:
    """Answer what is most likely wrong, and what to look at first.

    Parameters
    ----------
    plan : Plan
    seen : Seen
    siphon : str, optional
    progress : callable, optional

    Returns
    -------
    Answer
        A point for each cause that gives what was seen: how strong, how to look, what to do.
    """
    _check(plan, the_siphon(plan, siphon), seen)
    finder = Finder(plan, siphon, progress)
    stands = finder.siphon
    said = [f"Seen: {', '.join(_words(plan, seen))}."]
    question = f"What is wrong with {the(stands.name)}, and what do I look at first?"
    signs = [SIGNS[sign] for sign in seen.signs if sign != "floods and drains"]
    if signs and all(sign(stands, finder.base, finder.base) for sign in signs):
        said.append("The plan itself does this, with nothing broken: see `aquacalc report`.")
        if not seen.readings:  # any part that is a little off gives it too, so none is to blame
            findings = find(finder.base)
            for advice in advise(finder.base, findings)[:1] if verdict(findings) != "works" else ():
                said.append(f"A change that was tried: {advice.words} {advice.gives}")
            return Answer(question, "number", plan.units, steps=tuple(said))
    found = finder.suspects(seen)
    near = [one for one in found if _order(one)[0] <= _order(found[0])[0] + FAR_WORSE][:TOLD]
    if not near:
        said.append(
            "No single cause on the list gives all of this on this plan. Measure again, or look for two."
        )
    elif near[0].against > len(seen.readings or {}) * 9.0:
        said.append("No single cause fits all readings well; these come closest. Measure again.")
    for number, one in enumerate(near, 1):
        cause = one.cause
        said.append(
            f"{number}. {cause.name} ({cause.says(one.strength)}). Look (about {cause.minutes:g} min): "
            f"{cause.look} Then: {cause.fix}"
        )
    said.append(
        "The order follows from how well each fits, and from what happens often (common practice, no source)."
    )
    return Answer(question, "number", plan.units, steps=tuple(said))


def _words(plan: Plan, seen: Seen) -> Iterator[str]:
    yield from seen.signs
    for (what, bed), value in (seen.readings or {}).items():
        yield f"{what}{f' of {bed}' if bed else ''} {show(value, READ[what][0], plan.units)}"

"""What is said on the bench, in lines of plain text no wider than a terminal."""

from __future__ import annotations

import math
from typing import Any

from aquacalc.bench.belief import Belief
from aquacalc.bench.jug import jug_time
from aquacalc.bench.remarks import Contradiction, again, against_print
from aquacalc.bench.session import MOST_TRIALS, Bench
from aquacalc.plan.tested import changed, parts
from aquacalc.units import in_unit, show

#: Characters of a bar, and of the label before it.
BAR, LABEL = 64, 12
#: A trial that tells at least this much, bits, is worth a try when enough is known already.
STILL_WORTH = 0.3
#: Error of a jug, as a part of the flow, from which a larger one is asked for.
COARSE = 0.08


def flow_text(flow: float, system: str) -> str:
    """Write a flow (m3/s) as it can be set by hose and jug, three digits at most.

    Examples
    --------
    >>> flow_text(10.5 / 60000, "metric"), flow_text(18 / 60000, "metric")
    ('10.5 L/min', '18 L/min')
    >>> flow_text(1200 / 60000, "metric")
    '1200 L/min'
    """
    number, unit = in_unit(flow, "flow", system)
    return f"{float(f'{number:.3g}'):g} {unit}"


def two_digits(flow: float, system: str) -> str:
    """Write a flow (m3/s) of which no more is known."""
    number, unit = in_unit(flow, "flow", system)
    return f"{float(f'{number:.2g}'):g} {unit}"


def of_100(chance: float) -> str:
    """Write a chance as a whole number of floods; never as certain.

    Examples
    --------
    >>> of_100(0.973)
    '97 of 100'
    """
    return f"{min(max(round(100 * chance), 1), 99)} of 100"


def opening(bench: Bench) -> list[str]:
    """Say what is known before the bench has told anything."""
    s, low, high = bench.plan.units, bench.start.low, bench.start.high
    brings = f"Your plan gives it {_inflow(bench)}."
    if bench.start.both_sides:
        return [brings]
    return [
        f"By published values it starts somewhere between {two_digits(low, s)} and {two_digits(high, s)}; "
        "no published source says where.",
        brings,
    ]


def _inflow(bench: Bench) -> str:
    s, low, high = bench.plan.units, bench.inflow_low, bench.inflow_high
    one = flow_text(low, s)
    return one if flow_text(high, s) == one else f"{one} to {flow_text(high, s)}"


def tested(bench: Bench) -> list[str]:
    """Name the parts tested, in the plan's units."""
    s = bench.plan.units
    each = parts(bench.siphon, lambda size: show(size, "length", s))
    return [f"{name}: {words}" for name, words in each.items()]


def bands(bench: Bench) -> list[str]:
    """Say what is believed now, and what of it no trial has shown."""
    s, said, start, stop = bench.plan.units, [], bench.start, bench.stop
    if start.answers:
        said.append(_band(start, "It starts from", s))
    if start.both_sides:
        said.append(f"On 19 floods of 20 it starts from {flow_text(start.any_flood()[1], s)}.")
    elif len(start.answers) > 1:
        low, high = (flow_text(pick(a.flow for a in start.answers), s) for pick in (min, max))
        said.append(
            f"It started at every flow tried, down to {low}: where it no longer does is a guess."
            if start.answers[0].above
            else f"It did not start at any flow tried, up to {high}: from where it does is a guess."
        )
    if stop.both_sides:
        said.append(_band(stop, "With the tail's end free it stops up to", s))
    elif stop.answers:
        flows = [a.flow for a in stop.answers]
        said.append(
            f"It ran on at every flow at which it was watched, down to {flow_text(min(flows), s)}."
            if stop.answers[0].above
            else f"It stopped each time it was watched, up to {flow_text(max(flows), s)}."
        )
    worst = max((t.jug.error for t in bench.trials), default=0.0)
    if worst >= COARSE:
        said.append(
            f"The jug is good to {100 * worst:.2g} % only, so the band stays wide: fill a larger one, which "
            "takes ten seconds or more."
        )
    return said


def _band(belief: Belief, words: str, system: str) -> str:
    low, high = (flow_text(q, system) for q in belief.band())
    return f"{words} somewhere between {low} and {high} (nine chances in ten)."


def remarks(bench: Bench) -> list[str]:
    """Say which trials do not fit each other, or nothing that is published."""
    s, said = bench.plan.units, []
    each = (
        (bench.start, bench.start_odd, "started", "did not start", "start somewhere from {} to {}"),
        (bench.stop, bench.stop_odd, "ran on", "stopped", "stop up to {} and run on from {}"),
    )
    for belief, found, yes, no, published in each:
        if found is not None:
            said += _contradiction(belief, found, (yes, no), s, bench.enough)
        flows = [q for q in against_print(belief) if found is None or q != found.odd]
        if not flows:
            continue
        below = [flow_text(q, s) for q in flows if q < belief.low]
        over = [flow_text(q, s) for q in flows if q > belief.high]
        did = " and ".join(f"{what} at {' and '.join(at)}" for what, at in ((yes, below), (no, over)) if at)
        known = published.format(two_digits(belief.low, s), two_digits(belief.high, s))
        line = f"It {did}; published values have it {known}."
        if again(belief) in flows:
            line += " Is the unit right, the bell seated and tight, the bucket still? Try it once more."
        else:
            line += " Look for a leak at the bell and a sag in the tail; if there is none, trust your trials."
        said.append(line)
    return said


def _contradiction(
    belief: Belief, found: Contradiction, words: tuple[str, str], s: str, enough: str
) -> list[str]:
    """Say which trials of one kind do not fit each other; `words` are those for "yes" and "no"."""
    yes, no = words
    low, high = flow_text(found.yes, s), flow_text(found.no, s)
    if found.reversed:
        last = flow_text(max(a.flow for a in belief.answers if a.above), s)
        first = flow_text(min(a.flow for a in belief.answers if not a.above), s)
        return [
            f"It {yes} at all lower flows ({low} to {last}) and {no} at all higher ones ({first} to {high}): "
            "the wrong way round. Were the outcomes mixed up, or was something changed in between? Nothing "
            "follows from these trials before that is clear."
        ]
    line = f"It {yes} at {low} but {no} at {high}."
    if found.odd is not None:
        line += (
            f" The other trials speak against the one at {flow_text(found.odd, s)}: was the bell seated, "
            "the bucket still, the jug read right?"
        )
    else:
        line += " Both are kept, so the band reaches over both."
    if found.again is not None and not enough:
        line += f" Try about {flow_text(found.again, s)} again."
    return [line]


def next_line(bench: Bench) -> str:
    """Say which flow to try next, and why."""
    s, trial = bench.plan.units, bench.next
    line = f"Try {flow_text(trial.flow, s)} ({jug_time(trial.flow, s)})."
    if any(odd is not None and odd.reversed for odd in (bench.start_odd, bench.stop_odd)):
        return f"{line} Why: it shows which way round they are."
    if trial.retry:
        return f"{line} Why: it shows whether the trial that does not fit was odd."
    if trial.stop > trial.start:
        return f"{line} Why: whether it still stops at such a flow is what is known least."
    return f"{line} Why: it may start there or not ({of_100(trial.chance)}), so the answer tells most."


def verdict(bench: Bench) -> list[str]:
    """Say what the trials mean for the plan's own inflow, once no more are asked for."""
    s = bench.plan.units
    starts = f"it starts on {of_100(bench.chance_starts)} floods"
    stops = f"stops on {of_100(bench.chance_stops)}"
    at = f"at your {_inflow(bench)}"
    sure, most = bench.start.any_flood()[1], bench.stop.any_flood()[0] * bench.part
    if bench.answer == "works":
        guess = "" if bench.stop.answers else " (that it stops is by published values alone)"
        return [
            f"Enough: cut. A{at[1:]} {starts} and {stops}.",
            f"It would at {flow_text(sure, s)} to {flow_text(most, s)}{guess}: see with the same jug what "
            "your pump really brings.",
        ]
    no = f"Enough: do not cut these parts for this flow. A{at[1:]} "
    if bench.answer == "does not start":
        seen = f"From {flow_text(sure, s)} it would on 19 of 20: raise the flow, or test"
        if not any(a.above for a in bench.start.answers):
            seen = "No flow tried has started it: look for a leak at the bell, raise the flow, or test"
        return [f"{no}{starts}. {seen} a narrower standpipe."]
    if bench.answer == "runs on":
        seen = f"Up to {flow_text(most, s)} it would on 19 of 20: turn the flow down, or test"
        if all(a.above for a in bench.stop.answers):
            seen = "It has stopped at no flow tried: turn the flow down, or test"
        return [f"{no}it {stops} floods. {seen} a longer or wider tail."]
    why = {
        "ten trials": f"{MOST_TRIALS} trials are done.",
        "narrow": "The band is as narrow as it need be.",
        "nothing more to learn": "No flow that your hose can give would tell much more.",
    }.get(bench.enough, "")
    said = [f"{why} It may or may not work: {at} {starts} and {stops}.".strip()]
    if bench.start_open:
        said.append(f"Bring the flow above {flow_text(sure, s)}, or test a narrower standpipe.")
    if bench.stop_open:
        said.append(f"Bring the flow below {flow_text(most, s)}, or test a longer or wider tail.")
    return said


def worth(bench: Bench) -> list[str]:
    """Say what else is worth a try when enough is known."""
    if len(bench.trials) >= MOST_TRIALS or bench.next.tells < STILL_WORTH:
        return []
    return [f"If you have ten minutes more: {next_line(bench)[0].lower()}{next_line(bench)[1:]}"]


def bar(bench: Bench) -> list[str]:
    """Draw the bands on one scale of flow, a line of text each."""
    s = bench.plan.units
    ends = [bench.start.low, bench.start.high, bench.stop.high, bench.inflow_low, bench.inflow_high]
    low, high = math.log(0.7 * min(ends)), math.log(1.2 * max(ends))

    def at(flow: float) -> int:
        return round((BAR - 1) * (min(max(math.log(flow), low), high) - low) / (high - low))

    def line(label: str, band: tuple[float, float], inside: str) -> str:
        first, last = at(band[0]), at(band[1])
        drawn = ("-" * first + inside * (last - first + 1)).ljust(BAR, "-")
        return f"{label:<{LABEL}}{drawn}"

    def marks(label: str, points: list[tuple[float, str]]) -> str:
        drawn = [" "] * BAR
        for flow, mark in points:
            drawn[at(flow)] = mark
        return f"{label:<{LABEL}}{''.join(drawn)}".rstrip()

    lines = [_scale(at, low, high, s), line("starts from", (bench.start.low, bench.start.high), "=")]
    tried = [(t.jug.flow, "s" if t.started else "n") for t in bench.trials if t.started is not None]
    if tried:
        lines += [line("  measured", bench.start.band(), "#"), marks("  tried", tried)]
    lines.append(line("stops up to", (bench.stop.low, bench.stop.high), "="))
    ended = [(t.jug.flow, "t" if t.stopped else "r") for t in bench.trials if t.stopped is not None]
    if ended:
        if bench.stop.both_sides:
            lines.append(line("  measured", bench.stop.band(), "#"))
        lines.append(marks("  tried", ended))
    lines.append(marks("your plan", [(bench.inflow_low, "^"), (bench.inflow_high, "^")]))
    return lines


def _scale(at, low: float, high: float, system: str) -> str:
    """Write round flows above the bars."""
    _, unit = in_unit(1.0, "flow", system)
    one = in_unit(1.0, "flow", system)[0]
    drawn = [" "] * (BAR + 6)
    free = 0
    for power in range(-2, 4):
        for step in (1, 1.5, 2, 3, 5, 7):
            number = step * 10.0**power
            if low <= math.log(number / one) <= high:
                text, place = f"{number:g}", at(number / one)
                if place >= free:
                    drawn[place : place + len(text)] = text
                    free = place + len(text) + 2
    return f"{unit:<{LABEL}}{''.join(drawn)}".rstrip()


KEY = "= published  # measured  s started  n did not  t stopped  r ran on"


def lost(bench: Bench) -> list[str]:
    """Say that readings in the plan are of other parts than the plan now has."""
    parts = changed(bench.siphon)
    if not parts:
        return []
    names = " and ".join(parts)
    return [f"The flows observed in this plan are of another {names} and do not count here."]


def as_data(bench: Bench) -> dict[str, Any]:
    """Return what is known as plain data for programs.

    Parameters
    ----------
    bench : Bench

    Returns
    -------
    dict
        "start" and "stop", each with "band" (the flow at which it does as often as not lies there nine
        times in ten), "one_flood" (at the first a single flood does once in twenty, at the second nineteen
        times), "scatter" from flood to flood as a part of the flow, "trials" and the "chance" at the plan's
        inflow (that it starts, that it stops); "answer", "enough", "next", "remarks", "said", "trials" and
        "inflow" (least, most). Flows in m3/s.
    """

    def told(belief: Belief, chance: float) -> dict[str, Any]:
        low, high = belief.band()
        never, always = belief.any_flood()
        return {
            "band": [low, high],
            "one_flood": [never, always],
            "scatter": belief.scatter,
            "trials": len(belief.answers),
            "chance": chance,
        }

    trial = bench.next
    return {
        "siphon": bench.siphon.name,
        "inflow": [bench.inflow_low, bench.inflow_high],
        "start": told(bench.start, bench.chance_starts),
        "stop": told(bench.stop, bench.chance_stops),
        "answer": bench.answer or "may or may not",
        "enough": bench.enough,
        "next": {"flow": trial.flow, "bits": trial.tells, "words": next_line(bench)},
        "remarks": remarks(bench),
        "said": [*bands(bench), *(verdict(bench) if bench.enough else [])],
        "trials": [
            {"flow": t.jug.flow, "error": t.jug.error, "outcome": t.outcome, "where": t.where}
            for t in bench.trials
        ],
    }

"""A flow by jug and watch: "2 L in 11.4 s", or the flow itself, with the error of the reading."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from aquacalc.units import UnitError, read

#: Error of a stopwatch pressed by hand, s, and of a jug's own mark as a part of it: common practice,
#: no source.
WATCH, MARK = 0.3, 0.02
#: Error taken of a flow given as such, as a part of it: common practice, no source.
GIVEN = 0.05
#: Largest error of use, and the least that is believed, as a part of the flow.
WORST, BEST = 0.3, 0.005
_PLUS_MINUS = re.compile(r"\s*(?:\+/-|\+-|±|give or take)\s*")


@dataclass(frozen=True)
class Jug:
    """A reading.

    Attributes
    ----------
    flow : float
        m3/s.
    error : float
        As a part of the flow, to a tenth of a percent; two readings in three are that close.
    text : str
        As it was written, without the error.
    """

    flow: float
    error: float
    text: str


def read_jug(text: str, error: str = "", place: str = "reading") -> Jug:
    """Read a flow by jug and watch.

    Parameters
    ----------
    text : str
        "2 L in 11.4 s", "10.5 L/min", "10.5 L/min +/- 0.3 L/min", "2 L in 11.4 s +/- 4 %".
    error : str
        Its error where the text itself gives none: "0.3 L/min" or "4 %".
    place : str
        Where it is, for the error message.

    Returns
    -------
    Jug

    Raises
    ------
    UnitError
        For text that is not a reading, a volume, time or flow of 0, and an error that is as good as none or
        too large to tell anything.

    Examples
    --------
    >>> jug = read_jug("2 L in 12 s")
    >>> round(jug.flow * 60000, 6), round(jug.error, 3)
    (10.0, 0.032)
    """
    given, *stated = _PLUS_MINUS.split(text.strip(), maxsplit=1)
    volume, *time = re.split(r"\s+in\s+(?=[\d.])", given, maxsplit=1)
    if time:
        litres, seconds = _positive(volume, "volume", place), _positive(time[0], "time", place)
        flow, spread = litres / seconds, math.hypot(WATCH / seconds, MARK)
    else:
        flow, spread = _positive(given, "flow", place), GIVEN
    wanted = stated[0] if stated else error
    if wanted:
        spread = _error(wanted, flow, place)
    if spread > WORST:
        raise UnitError(
            place, text, f"has an error of {spread:.0%} of the flow, which tells nothing",
            "fill a larger jug, so that it takes ten seconds or more",
        )  # fmt: skip
    return Jug(flow, round(max(spread, BEST), 3), given.strip())


def _positive(text: str, kind: str, place: str) -> float:
    """Read a quantity that cannot be 0."""
    value = read(text, kind, place)
    if value == 0.0:
        fix = 'give the volume caught and the time, for example "2 L in 11.4 s"'
        if kind == "flow":
            fix += "; with the hose shut there is no trial"
        raise UnitError(place, text, "is zero", fix)
    return value


def _error(text: str, flow: float, place: str) -> float:
    """Read the error of a flow, as a part of it."""
    if text.strip().endswith("%"):
        return read(text, "ratio", f"{place}, its error")
    return read(text, "flow", f"{place}, its error") / flow


def jug_time(flow: float, system: str) -> str:
    """Say how long a jug takes at a flow (m3/s): "2 L in 11.4 s"; the jug takes ten seconds or more.

    Examples
    --------
    >>> jug_time(10 / 60000, "metric")
    '2 L in 12.0 s'
    """
    jugs = ((1, "L"), (2, "L"), (5, "L"), (10, "L")) if system == "metric" else ((1, "gal"), (5, "gal"))
    for count, unit in jugs:
        text = f"{count} {unit}"
        seconds = read(text, "volume") / flow
        if seconds >= 10.0:
            break
    return f"{text} in {seconds:.0f} s" if seconds >= 20.0 else f"{text} in {seconds:.1f} s"

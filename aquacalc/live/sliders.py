"""The sliders of a plan's live page, and the TOML that they leave behind."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace
from difflib import SequenceMatcher
from fractions import Fraction
from typing import Any

from aquacalc import catalogue, units
from aquacalc.live.settings import SETTINGS, value_at
from aquacalc.plan import edit
from aquacalc.plan.model import Pipe, Plan
from aquacalc.plan.schema import TABLES
from aquacalc.plan.write import write_plan
from aquacalc.results.cycle import run_plan
from aquacalc.units.table import UNITS

#: What a slider moves by, in the units shown: (metric, us) as fractions of them.
STEPS = {
    "flow": (Fraction(1, 5), Fraction(1, 20)),
    "length": (Fraction(1), Fraction(1, 20)),
    "elevation": (Fraction(1, 200), Fraction(1, 5)),
    "ratio": (Fraction(1, 100), Fraction(1, 100)),
    "number": (Fraction(1), Fraction(1)),
}


#: Keys that one slider gives the same value in every bed.
SAME = ("porosity", "count")


@dataclass(frozen=True)
class Slider:
    """One slider: whole numbers from `low` to `high`, of which each is a value.

    Attributes
    ----------
    key : str
        Of `settings.SETTINGS`.
    place : int
        Number of the siphon.
    label, kind : str
    unit : str
        As shown and as written to the plan.
    low, high : int
        Its ends.
    per, over : int
        A number times `per` over `over` is the value in SI units.
    step : float
        A number times this is the value in `unit`.
    decimals : int
    start : float
        The plan's own value, in SI units.
    sizes : tuple of Pipe
        For a choice of pipes: number k is the k-th.
    paths : tuple of (str, tuple)
        What it changes: place in the plan's file, and the fields that lead to it.
    """

    key: str
    place: int
    label: str
    kind: str
    unit: str
    low: int
    high: int
    per: int
    over: int
    step: float
    decimals: int
    start: float
    sizes: tuple[Pipe, ...]
    paths: tuple[tuple[str, tuple], ...]


def grid(
    key: str,
    label: str,
    kind: str,
    system: str,
    start: float,
    ends: tuple[float, float],
    paths=(),
    place: int = 0,
) -> Slider:
    """Lay a slider's grid, so that each of its values is written exactly and read back the same.

    Parameters
    ----------
    key, label : str
    kind : str
        Key of `aquacalc.units.KINDS`.
    system : {"metric", "us"}
    start : float
        Its value now, SI.
    ends : tuple of float
        Least and greatest value, SI.
    paths : sequence
        See `Slider`.
    place : int
        Number of the siphon.
    """
    what = units.KINDS[kind]
    unit = what.metric if system == "metric" else what.us
    size = UNITS[what.dimension][unit]
    fine = float(Fraction(ends[1] - ends[0]) / size) / 200.0
    round_step = Fraction(10) ** math.floor(math.log10(fine)) if fine > 0.0 else Fraction(1)
    step = STEPS[kind][system == "us"] if kind in STEPS else round_step
    per = step * size
    tiny = Fraction(1, 10**6)  # an end that is a value of the grid but for its last digit
    low, high = math.ceil(Fraction(ends[0]) / per - tiny), math.floor(Fraction(ends[1]) / per + tiny)
    own = round(Fraction(start) / per)
    low, high = min(low, own), max(high, own)
    decimals = max(0, len(f"{float(step):.10f}".rstrip("0").partition(".")[2]))
    return Slider(
        key, place, label, kind, unit, low, high, per.numerator, per.denominator, float(step),
        decimals, start, (), tuple(paths),
    )  # fmt: skip


def sliders(plan: Plan, system: str) -> list[Slider]:
    """Return the sliders that a plan's page has, in the order in which they are put into the plan."""
    found = []
    flow, label = plan.pump.flow, "Pump flow"
    if flow is None:  # the valve is open
        flow, label = run_plan(plan, trace=False).pump, "Pump flow, by its valve"
    if flow > 0.0:
        ends = (min(2.0 / 60e3, flow), flow if plan.pump.curve else max(40.0 / 60e3, 2.0 * flow))
        paths: list[tuple[str, tuple]] = [("pump.flow", ("pump", "flow"))]
        found.append(grid("flow", label, "flow", system, flow, ends, paths))
    for place in range(len(plan.siphons)):
        found += _of_siphon(plan, place, system)
    pipes = {run.pipe for run in plan.runs}
    if len(pipes) == 1 and not any(run.legs for run in plan.runs):
        (pipe,) = pipes
        paths = [(f"run.{run.start}.size", ("runs", k, "pipe", "size")) for k, run in enumerate(plan.runs)]
        paths += [(f"run.{run.start}.length", ("runs", k, "length")) for k, run in enumerate(plan.runs)]
        found += _sizes("drains", "Drain lines", pipe, (0.019, 0.080), paths)
    if len({bed.media.porosity for bed in plan.beds}) == 1:
        paths = [
            (f"bed.{bed.name}.porosity", ("beds", k, "media", "porosity")) for k, bed in enumerate(plan.beds)
        ]
        label = "Part of the media that drains"
        start = plan.beds[0].media.porosity
        found.append(grid("porosity", label, "ratio", system, start, (0.2, 0.7), paths))
    strained = [(k, bed) for k, bed in enumerate(plan.beds) if bed.strainer]
    if strained and len({(bed.strainer.count, bed.strainer.kind) for _, bed in strained}) == 1:
        strainer = strained[0][1].strainer
        paths = [(f"bed.{bed.name}.strainer.count", ("beds", k, "strainer", "count")) for k, bed in strained]
        label = f"{strainer.kind.capitalize()} in each strainer"
        ends = (1.0, max(60.0, 2.0 * strainer.count))
        found.append(grid("openings", label, "number", system, float(strainer.count), ends, paths))
    ends = (0.2 * plan.sump.shape.depth, plan.sump.shape.depth)
    label = f"Water in the {plan.sump.name}, {plan.sump.measured_with}"
    paths = [("sump.water_level", ("sump", "water_level"))]
    found.append(grid("water", label, "length", system, plan.sump.water_level, ends, paths))
    order = list(SETTINGS)
    return sorted(found, key=lambda slider: (order.index(slider.key), slider.place))


def _of_siphon(plan: Plan, place: int, system: str) -> list[Slider]:
    siphon = plan.siphons[place]
    stand, bell, tail = siphon.standpipe, siphon.bell, siphon.tail
    of = f" of {siphon.name}" if len(plan.siphons) > 1 else ""
    at, here = f"siphon.{siphon.name}", ("siphons", place)
    top = (f"{at}.bell.top_height", (*here, "bell", "top_height"))
    lip = (f"{at}.standpipe.lip_diameter", (*here, "standpipe", "lip_diameter"))
    host = plan.vessel(siphon.host)
    room = bell.top_height - stand.height

    def slider(key: str, label: str, kind: str, start: float, low: float, high: float, *paths):
        return grid(key, label + of, kind, system, start, (low, high), paths, place)

    widest = bell.bore - (stand.pipe.outside_diameter - stand.pipe.bore)
    both = stand.pipe == tail.pipe
    sized = [(f"{at}.standpipe.size", (*here, "standpipe", "pipe", "size")), lip]
    sized += [(f"{at}.tail.size", (*here, "tail", "pipe", "size"))] if both else []
    found = _sizes("bore", f"Standpipe{' and tail' if both else ''}{of}", stand.pipe,
                   (0.015, max(0.5 * widest, stand.pipe.bore)), sized, place)  # fmt: skip
    found.append(slider("lip", "Lip of the standpipe", "length", stand.lip_diameter,
                        0.015, widest - 0.002, lip))  # fmt: skip
    low = max(2.5 * bell.rim_height, 0.4 * stand.height)
    height = (f"{at}.standpipe.height", (*here, "standpipe", "height"))
    found.append(slider("height", "Standpipe height", "length", stand.height,
                        low, host.shape.depth - 0.5 * room, height, top))  # fmt: skip
    found.append(slider("room", "Room from lip to bell top", "length", room, 0.005, max(0.1, room), top))
    if bell.rim_height == bell.opening_height:
        paths = [(f"{at}.bell.{k}", (*here, "bell", k)) for k in ("rim_height", "opening_height")]
        ends = (0.01, max(0.08, 0.3 * stand.height))
        found.append(
            slider("rim", "Openings at the bell's foot, up to", "length", bell.rim_height, *ends, *paths)
        )
    if not tail.legs:
        paths = [(f"{at}.tail.{k}", (*here, "tail", k)) for k in ("outlet", "length")]
        ends = (plan.sump.floor + 0.02, min(host.floor - 0.02, tail.outlet + 0.5))
        found.append(slider("outlet", "End of the tail", "elevation", tail.outlet, *ends, *paths))
    return found


def _sizes(
    key: str, label: str, pipe: Pipe, bores: tuple[float, float], paths, place: int = 0
) -> list[Slider]:
    """Make a slider of the sizes of a pipe's own series; none for a pipe that is in no table."""
    if pipe.series == catalogue.OWN:
        return []
    fits = [s for s in catalogue.sizes(pipe.series) if bores[0] <= s.bore <= bores[1] or s.size == pipe.size]
    sizes = tuple(Pipe(s.series, s.size, s.bore, s.outside_diameter, s.roughness) for s in fits)
    if pipe not in sizes or len(sizes) < 2:
        return []
    start = sizes.index(pipe)
    shown = (key, place, label, "number", "", 0, len(sizes) - 1, 1, 1, 1.0, 0, float(start))
    return [Slider(*shown, sizes, tuple(paths))]


#: A value in a plan's file: in quotes, or a bare number.
_TOKEN = re.compile(r'"[^"\n]*"|[-+]?[0-9][0-9_.eE+-]*')


@dataclass(frozen=True)
class Path:
    """One value that sliders change: its place in the file, the fields that lead to it, what it is now."""

    path: str
    fields: tuple
    start: float | int | str
    text: str


def places(found: list[Slider]) -> dict[str, tuple]:
    """Return {place in the file: fields} of all that sliders change."""
    return {path: fields for slider in found for path, fields in slider.paths}


def saved(plan: Plan, found: list[Slider]) -> tuple[list[Path], list[dict]]:
    """Return what the page needs to write the plan with other values.

    Parameters
    ----------
    plan : Plan
    found : list of Slider

    Returns
    -------
    paths : list of Path
    pieces : list of dict
        The file in pieces, its tables in the usual order where they were in another. `before` is a piece as
        it is; `after`, where a slider can change it, is the same with the number of a path in `paths`
        wherever its value stands.
    """
    fields = places(found)
    marked: dict[str, Any] = {}
    alike: dict[str, int] = {}
    flow = next((slider.start for slider in found if slider.key == "flow"), None)
    for k, path in enumerate(fields):
        value = value_at(plan, list(fields[path]))
        value = flow if value is None else value
        if not isinstance(value, str):  # near its own value, and like no other in the file
            k = alike.setdefault(fields[path][-1], k) if fields[path][-1] in SAME else k
            marked[path] = 900_000_000 + k if isinstance(value, int) else value + (k + 1) * 1e-7
    explicit = edit.put(plan, marked | ({"pump.curve": ()} if flow is not None and plan.pump.curve else {}))
    for slider in found:
        if slider.sizes:  # a size that was assumed is given once it is moved: so it is in `after`
            sizes, other = _other_size(explicit, slider)
            own = {path: edit.get(plan, path) for path in sizes}
            explicit = edit.put(edit.put(explicit, dict.fromkeys(sizes, other)), own)
    whole = _lines(explicit)
    numbers = {path: k for k, path in enumerate(fields)}
    sized = [_sizes_in(explicit, slider, whole, numbers) for slider in found if slider.sizes]
    values: dict = {}
    for path, value in marked.items():
        values.setdefault(value, (numbers[path], _kind(path)))
    lines = [
        _marked(line, values, {n: k for one in sized for n, k in one.get(i, {}).items()})
        for i, line in enumerate(whole)
    ]
    seen = {part for line in lines for part in line if isinstance(part, int)}
    lost = {number for number, _ in values.values()} - seen
    if lost:
        raise ValueError(f"not found in the plan's text: {', '.join(list(fields)[k] for k in sorted(lost))}")
    before = write_plan(plan).splitlines(keepends=True)
    if plan.text and _reordered(before, lines):
        return saved(replace(plan, text=""), found)
    paths = [
        Path(path, at, value_at(plan, list(at)), _text(value_at(plan, list(at)), _kind(path), plan.units))
        for path, at in fields.items()
    ]
    return paths, _pieces(before, lines)


def _kind(path: str) -> str:
    """Kind of quantity at a place of the file."""
    table, *inner, key = [part for k, part in enumerate(path.split(".")) if k != 1 or path.count(".") == 1]
    found = TABLES[".".join((table, *inner))].key(key)
    return found.kind


def _text(value: float | int | str | None, kind: str, system: str) -> str:
    """Write a value as the file has it; None is not in it."""
    if isinstance(value, str):
        return f'"{value}"'
    if value is None or isinstance(value, int) or kind not in units.KINDS or not units.KINDS[kind].si:
        return repr(value)
    what = units.KINDS[kind]
    return f'"{units.text_of(value, what.metric if system == "metric" else what.us)}"'


def _marked(line: str, values: dict, sizes: dict[int, int]) -> list:
    """Take a line apart at the values that sliders change; `sizes` are at these tokens of it."""
    parts: list = [""]
    at = 0
    for n, token in enumerate(_TOKEN.finditer(line)):
        number = sizes.get(n)
        for kind in dict.fromkeys(kind for _, kind in values.values()):
            if number is None:
                number, of = values.get(_read(token[0].strip('"'), kind), (None, ""))
                number = number if of == kind else None
        if number is not None:
            parts[-1] += line[at : token.start()]
            parts += [number, ""]
            at = token.end()
    parts[-1] += line[at:]
    return [part for part in parts if part != ""]


def _read(text: str, kind: str) -> float | int | None:
    try:
        return int(text) if kind == "count" else units.read(text, kind)
    except ValueError:
        return None


def _other_size(plan: Plan, slider: Slider) -> tuple[list[str], str]:
    """Return the places of a slider's size, and one that it does not have now."""
    paths = [path for path, fields in slider.paths if fields[-1] == "size"]
    return paths, next(pipe.size for pipe in slider.sizes if pipe.size != edit.get(plan, paths[0]))


def _sizes_in(plan: Plan, slider: Slider, whole: list[str], numbers: dict) -> dict[int, dict[int, int]]:
    """Return {line: {token: number of a path}} of where the sizes of one slider stand."""
    paths, other = _other_size(plan, slider)
    changed = _lines(edit.put(plan, dict.fromkeys(paths, other)))
    found: dict[int, dict[int, int]] = {}
    for i, (a, b) in enumerate(zip(whole, changed, strict=True)):
        for n, (was, now) in enumerate(zip(_TOKEN.findall(a), _TOKEN.findall(b), strict=True)):
            if was != now:
                found.setdefault(i, {})[n] = numbers[paths[0]]
    return found


def _lines(plan: Plan) -> list[str]:
    """Write a plan as lines; a flow in place of a curve stands where that was."""
    lines = write_plan(plan).splitlines(keepends=True)
    if "curve = []\n" in lines:
        (flow,) = [line for line in lines if line.startswith("flow = ")]
        lines = [flow if line == "curve = []\n" else line for line in lines if line != flow]
    return lines


def _steps(before: list[str], lines: list[list]):
    return SequenceMatcher(None, _keys(before), _keys(_plain(lines)), autojunk=False).get_opcodes()


def _reordered(before: list[str], lines: list[list]) -> bool:
    """Whether a file's tables come in another order than they are written in, or a curve in several lines."""
    steps = _steps(before, lines)
    gone = [line for kind, i, end, *_ in steps if kind in ("delete", "replace") for line in before[i:end]]
    split = [line for line in before if line.startswith("curve = [") and not line.rstrip().endswith("]")]
    return bool(split) or any(line.startswith("[") for line in gone)


def _plain(lines: list[list]) -> list[str]:
    return ["".join(str(part) for part in line) for line in lines]


def _pieces(before: list[str], lines: list[list]) -> list[dict]:
    """Pair the file's lines with those that sliders change."""
    pieces: list[dict] = []
    for kind, i, i_end, j, j_end in _steps(before, lines):
        pairs = list(zip(before[i:i_end], lines[j:j_end], strict=False))
        if kind == "insert" and all(_moves(line) for line in lines[j:j_end]):
            pairs = [("", line) for line in lines[j:j_end]]
        elif kind != "equal":
            pairs = [("".join(before[i:i_end]), [part for line in lines[j:j_end] for part in line])]
        for old, new in pairs:
            if _moves(new):
                pieces.append({"before": old, "after": new})
            elif pieces and "after" not in pieces[-1]:
                pieces[-1]["before"] += old
            else:
                pieces.append({"before": old})
    return pieces


def _moves(line: list) -> bool:
    """Whether a slider changes something in a line."""
    return any(isinstance(part, int) for part in line)


def _keys(lines: list[str]) -> list[tuple[str, str]]:
    """Return of each line the table it is in, which of its name, and its key or itself."""
    found, table, record = [], "", 0
    for line in lines:
        table = line.strip() if line.startswith("[") else table
        record += line.startswith("[[")
        key, value, _ = line.partition("=")
        found.append((f"{record} {table}", key.strip() if value and not key.startswith("#") else line))
    return found

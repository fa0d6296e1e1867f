"""Change every coefficient by 3 % and see whether an outside value notices.

Run as ``python -m tests.mutation``. Each float constant of each formula (and of
each table and default it uses), each number of the tables of pipes, fittings,
media, seals, sockets and take-offs, and each constant that the engine takes is
changed by +3 % and -3 % in turn, and the values it is held against are looked
at. A change that none notices is printed as a survivor; the exit status
is the number of survivors, at most 1. A constant that only steers a calculation
is shown to leave every answer as it was. Numbers of common practice, for which
there is nothing to hold them to, are counted and left alone.
"""

from __future__ import annotations

import dataclasses
import math
import types
from collections.abc import Callable, Iterator

from aquacalc import catalogue
from aquacalc.engine import packing as layout
from aquacalc.engine import pipe_flow
from aquacalc.equations import RECORDS, formulas, losses, priming
from aquacalc.hydraulics import paths
from aquacalc.plan.schema import TABLES
from tests.equations.cases import (
    all_cases,
    all_cells,
    all_constants,
    all_grids,
    data_tables,
    is_outside,
    source_key,
)

#: Constants that steer a calculation and leave its answer as it is, with the reason: (function, value).
STEERING = {
    ("_colebrook_root", 1e-14): "stop of an iteration",
    ("_colebrook_root", -1.8): "start of an iteration",
    ("_colebrook_root", 1.11): "start of an iteration",
    ("_colebrook_root", 6.9): "start of an iteration",
    ("_colebrook_root", 1.0): "slope of a step of an iteration",
    ("drum_volume", -1.0): "limit of a cosine against rounding, which 3 % further out is never reached",
    ("drum_volume", 1.0): "limit of a cosine against rounding, which 3 % further out is never reached",
}
#: An answer is the same to this, relative: the last digits of an iteration.
SAME = 1e-12
#: Thresholds that the grower replaces by an observation; shown with their band, not coefficients.
CHOSEN = ("choking_flow: Fr", "priming_head: Fr")
#: Places of the engine's constants: object and name, or the plan's table and key.
ENGINE = (
    (pipe_flow, "MOUTH_WEIR"),
    (paths, "OPENING_DISCHARGE"),
    (paths, "TURN_LOSS"),
    (paths, "GRAVITY"),
    (layout, "GRAVITY"),
    ("siphon", "lip_weir"),
    ("siphon", "lip_orifice"),
    ("bed.strainer", "discharge_coefficient"),
    ("siphon.priming", "froude_low"),
    ("siphon.priming", "froude_high"),
    ("limits", "strainer_ratio"),
)
#: What the physical constants taken as defaults are held against, by symbol.
CONSTANTS = {
    "g": (9.80665, 0.0),  # CGPM 1901
    "p_a": (101325.0, 0.0),  # standard atmosphere, CGPM 1954
    "rho": (998.206, 0.01),  # iapws 1.5.5 at 20 degC
}


@dataclasses.dataclass(frozen=True)
class Change:
    """One constant of the code: `apply(factor)` changes it, `apply(1.0)` puts it back.

    `steering` is the reason why its change leaves every answer as it is, if it should.
    """

    name: str
    users: frozenset[str]
    apply: Callable[[float], None] = dataclasses.field(compare=False)
    steering: str = ""


def called(function: Callable) -> set[Callable]:
    """A function and all functions of this package that it calls."""
    found, waiting = set(), [function]
    while waiting:
        now = waiting.pop()
        if now in found:
            continue
        found.add(now)
        for name in now.__code__.co_names:
            other = now.__globals__.get(name, getattr(formulas, name, None))
            if isinstance(other, types.FunctionType) and other.__module__.startswith("aquacalc"):
                waiting.append(other)
    return found


def in_code(users: dict[Callable, set[str]]) -> Iterator[Change]:
    """Float constants inside the functions."""
    for function, keys in users.items():
        code = function.__code__
        for i, constant in enumerate(code.co_consts):
            if not isinstance(constant, float) or constant == 0.0:
                continue

            def apply(factor, function=function, code=code, i=i, constant=constant):
                constants = list(code.co_consts)
                constants[i] = constant * factor
                function.__code__ = code.replace(co_consts=tuple(constants))

            reason = STEERING.get((function.__name__, constant), "")
            yield Change(f"{function.__name__}: {constant:g}", frozenset(keys), apply, reason)


def in_tables(users: dict[Callable, set[str]]) -> Iterator[Change]:
    """Entries of the tables, one by one."""
    for name in ("ROUNDED_ENTRANCE", "TWO_45_SMOOTH", "TWO_45_ROUGH"):
        table = getattr(losses, name)
        keys = {k for f, ks in users.items() if name in f.__code__.co_names for k in ks}
        for row in range(len(table)):

            def apply(factor, name=name, table=table, row=row):
                x, K = table[row]
                setattr(losses, name, (*table[:row], (x, K * factor), *table[row + 1 :]))

            yield Change(f"{name}: row {row}", frozenset(keys), apply)


def in_defaults() -> Iterator[Change]:
    """Default values of the symbols: gravity, discharge and weir coefficients."""
    for key, record in list(RECORDS.items()):
        for symbol in record.symbols:
            if symbol.default is None or f"{key}: {symbol.key}" in CHOSEN:
                continue

            def apply(factor, key=key, record=record, symbol=symbol):
                changed = dataclasses.replace(symbol, default=symbol.default * factor)
                symbols = tuple(changed if s is symbol else s for s in record.symbols)
                RECORDS[key] = dataclasses.replace(record, symbols=symbols)

            yield Change(f"{key}: default {symbol.key}", frozenset({key, "constants"}), apply)


def in_modules(users: dict[Callable, set[str]]) -> Iterator[Change]:
    """Constants of the modules."""
    for name in ("LAMINAR_END", "TURBULENT_START", "_LOG10_SCALE"):
        value = getattr(formulas, name)
        keys = {k for f, ks in users.items() if name in f.__code__.co_names for k in ks}

        def apply(factor, name=name, value=value):
            setattr(formulas, name, value * factor)

        yield Change(name, frozenset(keys), apply)
    for i, value in enumerate(priming.PURGE_FROUDE):

        def apply_froude(factor, i=i, value=value):
            band = list(priming.PURGE_FROUDE)
            band[i] = value * factor
            priming.PURGE_FROUDE = tuple(band)

        yield Change(f"PURGE_FROUDE: {value:g}", frozenset({"purge_band"}), apply_froude)


def fixed(grid):
    """Work a grid's reference values out once."""
    points = tuple(grid.points())
    return dataclasses.replace(grid, points=lambda: points)


def checks(outside_only: bool = False) -> dict[str, list[Callable[[], bool]]]:
    """Equation -> the checks on it, reference values worked out once."""
    found: dict[str, list[Callable[[], bool]]] = {}
    for case in all_cases():
        for key in case.equations if is_outside(case) or not outside_only else ():
            found.setdefault(key, []).append(lambda case=case: not case.off())
    for grid in map(fixed, all_grids()):
        found.setdefault(grid.equation, []).append(lambda grid=grid: not grid.off())

    def purge() -> bool:
        printed = ((0.143, 5e-4), (0.046, 5e-4), (0.0174, 5e-5))
        times = priming.purge_band(1e-3, 1e-3)
        return all(abs(1 / t - share) <= spread for t, (share, spread) in zip(times, printed, strict=True))

    def constants() -> bool:
        taken = [s for r in RECORDS.values() for s in r.symbols if s.key in CONSTANTS and s.default]
        return all(abs(s.default - CONSTANTS[s.key][0]) <= CONSTANTS[s.key][1] for s in taken)

    def indeterminate() -> bool:
        """Hydraulic Institute: laminar up to 2000, turbulent from 4000."""
        words = {1999.0: "is laminar", 2001.0: "neither", 3999.0: "neither", 4001.0: "is turbulent"}
        choose = RECORDS["friction_factor"].choose
        return all(word in choose({"Re": Re, "e": 0.0}).sentence for Re, word in words.items())

    found["purge_band"] = [purge]
    found["constants"] = [constants]
    found["friction_factor"].append(indeterminate)
    return found


def notices(check: Callable[[], bool]) -> bool:
    """Whether a check fails; a formula that breaks down is noticed too."""
    try:
        return not check()
    except (ValueError, ZeroDivisionError, OverflowError, TypeError):
        return True


def answers(keys: frozenset[str]) -> list[float]:
    """What our own equations give at every outside value."""
    cases = [c.ours() for c in all_cases() if c.equations & keys]
    return cases + [ours for g in all_grids() if g.equation in keys for *_, ours in g.differences()]


def numbers() -> Iterator[tuple[str, int, dict, str]]:
    """Numbers of the tables but noughts: table, row's number, row as the package reads it, column."""
    for table in data_tables():
        # What `read_table` gives is a copy of these rows.
        for number, row in enumerate(catalogue._rows(table)):
            for column, value in row.items():
                if isinstance(value, float) and value != 0.0:
                    yield table, number, row, column


def held_cells() -> dict[tuple[str, int, str], list]:
    """(table, row's number, column) -> outside values held against the number there."""
    held: dict[tuple[str, int, str], list] = {}
    for cell in all_cells():
        rows = catalogue.read_table(cell.table)
        number = next(i for i, row in enumerate(rows) if row.items() >= cell.row.items())
        held.setdefault((cell.table, number, cell.column), []).append(cell)
    return held


def in_cells() -> Iterator[tuple[str, list, Callable[[float], None]]]:
    """Numbers of the tables: name, outside values held against it, change."""
    held = held_cells()
    for table, number, row, column in numbers():

        def apply(factor, row=row, column=column, value=row[column]):
            row[column] = value * factor

        words = ", ".join(v for v in list(row.values())[:3] if isinstance(v, str))
        cells = held.get((table, number, column), [])
        if cells or not beyond_sources(table, row, column):
            yield f"{table}: {words}: {column}", cells, apply


def left_alone() -> int:
    """How many numbers of the tables are counts or common practice, with nothing outside to hold them to."""
    held = held_cells()
    return sum((t, n, c) not in held and beyond_sources(t, row, c) for t, n, row, c in numbers())


def beyond_sources(table: str, row: dict, column: str) -> bool:
    """Whether a number is a count, or common practice, for which there is no outside value."""
    sources = catalogue.sidecar(table)["source"]
    return column == "parts" or sources[source_key(row, column)]["status"] == "common practice, no source"


def in_engine() -> Iterator[tuple[str, list, Callable[[float], None]]]:
    """Constants of the engine, as `in_cells`; all outside values on them are looked at."""
    held = list(all_constants())
    for place, name in ENGINE:
        if isinstance(place, str):
            key = next(k for k in TABLES[place].keys if k.name == name)

            def apply(factor, key=key, default=key.default):
                number, _, unit = str(default).partition(" ")
                changed = default if factor == 1.0 else float(number) * factor
                # The key is frozen; this is the only way to have it hold another default.
                object.__setattr__(key, "default", f"{changed} {unit}" if unit and factor != 1.0 else changed)

            yield f"plan default {place}.{name}", held, apply
        else:
            value = getattr(place, name)

            def apply_constant(factor, place=place, name=name, value=value):
                setattr(place, name, value * factor)

            yield f"{place.__name__}.{name}", held, apply_constant


def table_survivors() -> tuple[list[str], int]:
    """Changes of tables and engine that no outside value notices, and how many were tried."""
    alive, tried = [], 0
    for name, held, apply in (*in_cells(), *in_engine()):
        if any(notices(lambda h=h: not h.off()) for h in held):
            raise SystemExit(f"{name}: the outside values fail before any change")
        for factor in (1.03, 0.97):
            tried += 1
            apply(factor)
            noticed = any(notices(lambda h=h: not h.off()) for h in held)
            apply(1.0)
            if not noticed:
                alive.append(f"{name} x {factor}")
    return alive, tried


def survivors(outside_only: bool = False) -> tuple[list[str], list[str], int]:
    """Changes that no value notices; those that change no answer; how many were tried."""
    users: dict[Callable, set[str]] = {}
    for key, record in RECORDS.items():
        for function in called(record.function):
            users.setdefault(function, set()).add(key)
    by_equation = checks(outside_only)
    for key, tests in by_equation.items():
        if any(notices(t) for t in tests):
            raise SystemExit(f"{key}: the outside checks fail before any change")
    alive, idle, tried = [], [], 0
    for change in (*in_code(users), *in_tables(users), *in_defaults(), *in_modules(users)):
        before = answers(change.users) if change.steering else []
        for factor in (1.03, 0.97):
            tried += 1
            change.apply(factor)
            noticed = any(notices(t) for key in sorted(change.users) for t in by_equation.get(key, ()))
            after = [] if noticed or not change.steering else answers(change.users)
            change.apply(1.0)
            if noticed:
                continue
            same = all(math.isclose(a, b, rel_tol=SAME) for a, b in zip(after, before, strict=True))
            if change.steering and same:
                idle.append(f"{change.name} x {factor} ({change.steering})")
            else:
                alive.append(f"{change.name} x {factor}")
    return alive, idle, tried


def main() -> int:
    """Print the survivors."""
    alive, idle, tried = survivors()
    more, also = table_survivors()
    for name in (*alive, *more):
        print("survives:", name)
    for name in idle:
        print("changes no answer:", name)
    found = len(alive) + len(more)
    alone = survivors(outside_only=True)[0]
    print(f"{len(alone) - len(alive)} of {tried} changes of equations are noticed by own arithmetic alone:")
    print("  " + ", ".join(dict.fromkeys(name.partition(" x ")[0] for name in alone)))
    print(f"left alone: {', '.join(CHOSEN)}, chosen within a band")
    print(f"left alone: {left_alone()} counts and numbers of common practice in the tables")
    print(f"{tried + also} changes, {found} survivors, {len(idle)} that change no answer")
    return min(1, found)


if __name__ == "__main__":
    raise SystemExit(main())

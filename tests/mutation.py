"""Change every coefficient by 3 % and see whether an outside value notices.

Run as ``python tests/mutation.py``. Each float constant of each formula (and of
each table and default it uses), each number of the tables of pipes, fittings,
media, seals, sockets and take-offs, and each constant that the engine takes is
changed by +3 % and -3 % in turn, and the outside values held against it are
looked at. A change that none notices is printed as a survivor; the exit status
is the number of survivors without a reason, at most 1.
"""

from __future__ import annotations

import dataclasses
import sys
import types
from collections.abc import Callable, Iterator
from pathlib import Path

from aquacalc import catalogue, formulas
from aquacalc.equations import RECORDS, losses, priming
from aquacalc.flow import layout, paths, runs
from aquacalc.plan.schema import TABLES

sys.path.insert(0, str(Path(__file__).parent.parent))

from tests.equations.cases import all_cases, all_cells, all_constants, all_grids

#: Constants left alone, with the reason: (function, value).
EXEMPT = {
    # Start, stop and step of an iteration: its answer does not depend on them.
    ("_colebrook_root", 1e-14): "stop of an iteration",
    ("_colebrook_root", -1.8): "start of an iteration",
    ("_colebrook_root", 1.11): "start of an iteration",
    ("_colebrook_root", 6.9): "start of an iteration",
    ("_colebrook_root", 1.0): "slope of a step",
    # Between Re 2000 and 4000 nothing is published: the ends are checked, the slope there is a convention.
    ("friction_join", 3.7): "slope of the join",
    ("friction_join", 2.51): "slope of the join",
    ("friction_join", -2.0): "slope of the join",
    ("friction_join", -64.0): "slope of the join",
    # Kell's temperatures are of the scale of 1968: at 60 degC that shifts density by as much as this.
    ("water_density", 280.54253e-12): "3 % of it is 3 parts in a million at 60 degC",
    ("drum_volume", -1.0): "limit of a cosine, against rounding",
    ("drum_volume", 1.0): "limit of a cosine, against rounding",
    ("table_value", 1.0): "end of a table, beyond which its last value is held",
}
#: Thresholds that the grower replaces by an observation; shown with their band, not coefficients.
CHOSEN = ("choking_flow: Fr", "priming_head: Fr")
_AUTHORS = "authors differ by 10 % and more; the value is held to their mean and span"
_TWO_DIGITS = "its source gives one or two digits, of which 3 % is less than half a step"
#: Fittings of which 3 % cannot be told, with the reason.
UNTOLD = {
    "bend 90, swept": _AUTHORS,
    "bend 90, short": _AUTHORS,
    "bend 45, swept": _AUTHORS,
    "contraction to 0.5": _AUTHORS,
    "contraction to 0.7": _AUTHORS,
    "contraction to 0.9": _AUTHORS,
    "entrance, rounded": _AUTHORS,
    "contraction, cone": _TWO_DIGITS,
    "ball valve, open": _TWO_DIGITS,
}
#: Places of the engine's constants: object and name, or the plan's table and key.
ENGINE = (
    (runs, "MOUTH_WEIR"),
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
    """One constant of the code: `apply(factor)` changes it, `apply(1.0)` puts it back."""

    name: str
    users: frozenset[str]
    apply: Callable[[float], None] = dataclasses.field(compare=False)


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
            if (function.__name__, constant) in EXEMPT:
                continue

            def apply(factor, function=function, code=code, i=i, constant=constant):
                constants = list(code.co_consts)
                constants[i] = constant * factor
                function.__code__ = code.replace(co_consts=tuple(constants))

            yield Change(f"{function.__name__}: {constant:g}", frozenset(keys), apply)


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


def checks() -> dict[str, list[Callable[[], bool]]]:
    """Equation -> the outside checks on it, reference values worked out once."""
    found: dict[str, list[Callable[[], bool]]] = {}
    for case in all_cases():
        found.setdefault(case.equation, []).append(case.agrees)
    for grid in all_grids():
        found.setdefault(grid.equation, []).append(fixed(grid).agrees)

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


def cell_name(cell) -> str:
    return f"{cell.table}: {', '.join(cell.row.values())}: {cell.column}"


def untold(cell) -> str:
    """The reason why 3 % of a cell cannot be told, or nothing."""
    return UNTOLD.get(cell.row["name"], "") if cell.table == "fittings" else ""


def in_cells() -> Iterator[tuple[str, list, Callable[[float], None], str]]:
    """Cells of the tables: name, outside values held against it, change, reason why 3 % is not noticed."""
    held: dict[str, list] = {}
    for cell in all_cells():
        held.setdefault(cell_name(cell), []).append(cell)
    for name, cells in held.items():
        first = cells[0]
        # The rows that the tables are read into; what `read_table` gives is a copy of them.
        row = next(r for r in catalogue._rows(first.table) if r.items() >= first.row.items())
        value = row[first.column]

        def apply(factor, row=row, column=first.column, value=value):
            row[column] = value * factor

        yield name, cells, apply, untold(first)


def in_engine() -> Iterator[tuple[str, list, Callable[[float], None], str]]:
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

            yield f"plan default {place}.{name}", held, apply, ""
        else:
            value = getattr(place, name)

            def apply_constant(factor, place=place, name=name, value=value):
                setattr(place, name, value * factor)

            yield f"{place.__name__}.{name}", held, apply_constant, ""


def table_survivors() -> tuple[list[str], list[str], int]:
    """Changes of tables and engine that no outside value notices: unexplained, explained; how many tried."""
    alive, explained, tried = [], [], 0
    for name, held, apply, reason in (*in_cells(), *in_engine()):
        if any(notices(h.agrees) for h in held):
            raise SystemExit(f"{name}: the outside values fail before any change")
        for factor in (1.03, 0.97):
            tried += 1
            apply(factor)
            noticed = any(notices(h.agrees) for h in held)
            apply(1.0)
            if not noticed:
                found = explained if reason else alive
                found.append(f"{name} x {factor}" + (f" ({reason})" if reason else ""))
    return alive, explained, tried


def survivors() -> tuple[list[str], int]:
    """Changes that no outside value notices, and how many were tried."""
    users: dict[Callable, set[str]] = {}
    for key, record in RECORDS.items():
        for function in called(record.function):
            users.setdefault(function, set()).add(key)
    by_equation = checks()
    for key, tests in by_equation.items():
        if any(notices(t) for t in tests):
            raise SystemExit(f"{key}: the outside checks fail before any change")
    alive, tried = [], 0
    for change in (*in_code(users), *in_tables(users), *in_defaults(), *in_modules(users)):
        for factor in (1.03, 0.97):
            tried += 1
            change.apply(factor)
            noticed = any(notices(t) for key in sorted(change.users) for t in by_equation.get(key, ()))
            change.apply(1.0)
            if not noticed:
                alive.append(f"{change.name} x {factor}")
    return alive, tried


def main() -> int:
    """Print the survivors."""
    alive, tried = survivors()
    more, explained, also = table_survivors()
    for name in (*alive, *more):
        print("survives:", name)
    for name in explained:
        print("survives with a reason:", name)
    for (function, constant), reason in EXEMPT.items():
        print(f"left alone: {function}: {constant:g} ({reason})")
    found = len(alive) + len(more)
    print(f"{tried + also} changes, {found} survivors, {len(explained)} more with a reason")
    return min(1, found)


if __name__ == "__main__":
    raise SystemExit(main())

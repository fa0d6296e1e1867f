"""Change every coefficient by 3 % and see whether an outside value notices.

Run as ``python tests/mutation.py``. Each float constant of each formula (and of
each table and default it uses) is changed by +3 % and -3 % in turn, and the
outside cases and grids of the equations that use it are run. A change that no
outside value notices is printed as a survivor; the exit status is the number
of survivors, at most 1.
"""

from __future__ import annotations

import dataclasses
import sys
import types
from collections.abc import Callable, Iterator
from pathlib import Path

from aquacalc import formulas
from aquacalc.equations import RECORDS, losses, priming

sys.path.insert(0, str(Path(__file__).parent.parent))

from tests.equations.cases import all_cases, all_grids

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
    for name in alive:
        print("survives:", name)
    for (function, constant), reason in EXEMPT.items():
        print(f"left alone: {function}: {constant:g} ({reason})")
    print(f"{tried} changes, {len(alive)} survivors")
    return min(1, len(alive))


if __name__ == "__main__":
    raise SystemExit(main())

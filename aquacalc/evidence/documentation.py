"""The documentation of an equation: formula, units, range, references and an example that runs."""

from __future__ import annotations

import textwrap

from aquacalc.equations import RECORDS, Equation, Symbol
from aquacalc.evidence.kinds import MEANING
from aquacalc.evidence.outside import Outside, held_by
from aquacalc.units import KINDS


def documentation(key: str) -> str:
    """Write the documentation of an equation in the manner of numpydoc.

    Parameters
    ----------
    key : str
        Key of `aquacalc.equations.RECORDS`.

    Returns
    -------
    str
        Formula, every symbol with its unit and the range it holds in, the
        source, the work that gives the example, and the example as a doctest.

    Examples
    --------
    >>> print(documentation("velocity_head").splitlines()[0])
    Velocity head: h_v = v**2/(2*g)
    """
    record = RECORDS[key]
    value = example_value(key)
    relations = [relation for relation, _ in branches(key)]
    parts = [
        record.title + ": " + (relations[0] if len(relations) == 1 else "by branches"),
        *(relations if len(relations) > 1 else ()),
        *(textwrap.fill(assumption, 88) for assumption in record.assumptions),
        _section("Parameters", [_symbol(s) for s in record.symbols[1:]] or ["none"]),
        _section("Returns", [_symbol(record.output)]),
    ]
    if record.limits:
        ratios = [f"{m.name}\n    Holds from {m.low:g} to {m.high:g}: {m.why}." for m in record.limits]
        parts.append(_section("Notes", ratios))
    parts += [_section("References", _references(record, value)), _section("Examples", [example(key)])]
    return "\n\n".join(parts) + "\n"


def branches(key: str) -> list[tuple[str, tuple[Symbol, ...]]]:
    """List the formula of an equation, or its branches, each with the table values that it uses.

    Branches are those that the values fall into which hold the equation.
    """
    record = RECORDS[key]
    if not record.choose:
        return [(record.relation, ())]
    found = {}
    for value in held_by()[key]:
        if value.subject == key and value.place == record.output.key:
            full = {s.key: s.default for s in record.symbols if s.default is not None}
            choice = record.choose(full | value.asked.values())
            found[choice.relation] = tuple(symbol for symbol, _ in choice.looked_up)
    return list(found.items())


def example_value(key: str) -> Outside:
    """Return the value that an equation's example is taken from: its best, put into the equation itself."""
    own = [value for value in held_by()[key] if value.subject == key]
    order = list(MEANING)
    return min(own, key=lambda value: order.index(value.kind))


def example(key: str) -> str:
    """Write the example of an equation as a doctest: what to type, and what comes."""
    record, value = RECORDS[key], example_value(key)
    inputs = {k: float(f"{v:.10g}") for k, v in value.asked.values().items()}
    wanted = value.place if value.place != record.output.key else ""
    found = record.solve_for(wanted, **inputs) if wanted else record.compute(**inputs)
    asked = ", ".join(f"{k}={v!r}" for k, v in inputs.items())
    call = f'solve_for("{wanted}", {asked})' if wanted else f"compute({asked})"
    lines = [
        ">>> from aquacalc.equations import RECORDS",
        f'>>> found = RECORDS["{key}"].{call}',
        '>>> print(f"{found.value:.6g}")',
        f"{found.value:.6g}",
    ]
    return "\n".join(lines)


def _section(name: str, entries: list[str]) -> str:
    return "\n".join([name, "-" * len(name), *entries])


def unit(symbol: Symbol) -> str:
    """Return the SI unit of a symbol; "no unit" where it has none."""
    return KINDS[symbol.kind].si or "no unit"


def _symbol(symbol: Symbol) -> str:
    default = "" if symbol.default is None else f"; {symbol.default:g} when not given"
    words = (
        f"{symbol.name[0].upper()}{symbol.name[1:]}, {unit(symbol)}{default}: {symbol.meaning}. "
        f"Holds from {symbol.low:g} to {symbol.high:g}: {symbol.why}."
    )
    return f"{symbol.key} : float\n" + textwrap.indent(textwrap.fill(words, 84), "    ")


def _references(record: Equation, value: Outside) -> list[str]:
    read = f"; read in {record.source.read}" if record.source.read else ""
    printed = f"{value.printed} {value.unit}".rstrip()
    said = [
        f"{record.source.primary}{read} ({record.source.status}).",
        f"The example's value is {printed} by {value.cited} ({value.kind}).",
    ]
    return [textwrap.fill(line, 88) for line in said]

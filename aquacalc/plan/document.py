"""The key-by-key document of a plan file, made from the schema.

`python -m tests.regenerate keys` writes it again.
"""

from __future__ import annotations

from aquacalc import catalogue, units
from aquacalc.plan.key import PLAIN_KINDS, REQUIRED, Key, Table
from aquacalc.plan.marks import left_out
from aquacalc.plan.schema import TABLES

_HEAD = """# The plan file, key by key

A plan is a text file in TOML. Text and quantities go in quotes; a quantity
carries its unit: `"26.6 mm"`, `"3/4 in"`, `"18 L/min"`, `"68 degF"`. Plain
numbers and counts go without quotes. Elevations are above the plan's one
datum and may be negative; heights are above the floor of the vessel they
belong to. Names tell beds, tees, chambers, siphons and the sump apart, so each
is used once. `[table]` comes once in a file, `[[table]]` as often as needed.

Each value has a mark: given (plain in the file), measured, assumed (not
given, so the usual value is used) or derived (it follows from others). Any
value can say more: `porosity = { value = "45 %", mark = "measured", note = "bucket test 27 November" }`.

Every bed and tee has one run out of it. Runs lead, over tees or other beds, to
the chamber or the bed in which a siphon stands; what has a siphon has no run.
"""


def document() -> str:
    """Return the document as Markdown."""
    parts = [_HEAD, *(_table(table) for table in TABLES.values()), _names()]
    return "\n".join(parts)


def _table(table: Table) -> str:
    one = f"[[{table.path}]]" if table.many else f"[{table.path}]"
    need = "" if table.required else " May be left out."
    lines = [f"## `{one}`", "", table.meaning + need, ""]
    lines += ["| key | value | when left out | meaning | example |", "|---|---|---|---|---|"]
    lines += [
        f"| `{k.name}` | {_value(k)} | {_default(k)} | {_meaning(k)} | `{k.name} = {_example(k)}` |"
        for k in table.keys
    ]
    return "\n".join(lines) + "\n"


def _value(key: Key) -> str:
    if key.choices:
        return " or ".join(f'"{c}"' for c in key.choices)
    if key.kind in PLAIN_KINDS:
        return PLAIN_KINDS[key.kind]
    return units.KINDS[key.kind].name.replace("_", " ")


def _default(key: Key) -> str:
    if key.derived:
        return f"{key.derived}: {left_out(key).mark}" + (f" ({key.reason})" if key.reason else "")
    if key.default is REQUIRED:
        return "must be given"
    if key.default is None or key.default in ("", ()):
        return "none"
    value = f'"{key.default}"' if isinstance(key.default, str) else f"{key.default:g}"
    return f"{value}: assumed ({key.reason})"


def _meaning(key: Key) -> str:
    shapes = f" ({', '.join(key.shapes)})" if key.shapes else ""
    return key.meaning + shapes


def _example(key: Key) -> str:
    return key.example.split(" or ")[0]


def _names() -> str:
    lines = ["## Names in the tables", ""]
    for series in catalogue.series():
        lines.append(f"- `{series}`: " + ", ".join(f"`{s.size}`" for s in catalogue.sizes(series)))
    own = f"or `{catalogue.OWN}` with porosity, bulk density and grains of its own"
    lines.append(f"- media: {', '.join(f'`{m}`' for m in catalogue.media_names())}, {own}")
    kinds = dict.fromkeys(s.fitting for s in catalogue.seals())
    lines.append(f"- seals: {', '.join(f'`{k}`' for k in kinds)}")
    lines += ["", "| fitting | K | range | form |", "|---|---|---|---|"]
    for f in catalogue.fittings():
        k = "by spacing" if f.k is None else _coefficient(f.k)
        lines.append(f"| `{f.name}` | {k} | {_coefficient(f.k_low)} to {_coefficient(f.k_high)} | {f.how} |")
    return "\n".join(lines) + "\n"


def _coefficient(k: float) -> str:
    """Write a loss coefficient with two decimals, or as many as the table has."""
    return max(f"{k:.2f}", f"{k:g}", key=len)

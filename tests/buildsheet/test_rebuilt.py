"""The plan written again from the build sheet alone: the same verdict, and levels within 2 mm.

Nothing is read here but the tables as CSV: lengths of pipes are added up from the cut list, strainers come
from the table of openings, the rest from what the plan says of its parts.
"""

import csv
import io
import re

import pytest

from aquacalc.buildsheet.files import contents
from aquacalc.buildsheet.sheet import build_sheet
from aquacalc.catalogue import data_dir
from aquacalc.findings import find, verdict
from aquacalc.plan import plan_from_text, read_plan
from aquacalc.results.cycle import run_plan

pytestmark = pytest.mark.identity
PLANS = {path.stem: read_plan(path) for path in sorted((data_dir() / "plans").glob("*.toml"))}
#: The demo with every part that a plan may have and does not need.
PLANS["every part"] = plan_from_text(
    (data_dir() / "plans" / "greenhouse.toml").read_text()
    .replace('opening_height = "30 mm"', 'opening_height = "30 mm"\nnotch_height = "40 mm"')
    .replace('flow = { value = "18 L/min"', 'on = "30 min"\noff = "30 min"\nflow = { value = "18 L/min"')
    .replace('outlet = "1.050 m"', 'outlet = "1.050 m"\ncheck_valve = "fitted"')
    .replace('"ball valve, open", "exit"', '"ball valve, open", "union", "exit"')
    .replace(
        'fittings = ["tee, in line"]\n',
        'fittings = ["union", "clean-out", { fitting = "hose tail", k = 0.37 }, "tee, in line"]\n',
    )
    + """[siphon.breather]
bore = "6 mm"
length = "520 mm"
mouth = "60 mm"
[siphon.overflow]
bore = "50 mm"
height = "480 mm"
"""
)  # fmt: skip
#: Keys whose value is text, or a list of lengths.
NUMBERS = ("count", "supports", "openings", "porosity", "inflow_share", "froude", "floods_low", "floods_high",
           "stop_margin", "strainer_ratio", "lip_orifice")  # fmt: skip


def rows_of(sheet, key):
    # A spreadsheet takes a leading apostrophe for "this is text".
    rows = csv.DictReader(io.StringIO(sheet.table(key).csv()))
    return [{head: cell.removeprefix("'") for head, cell in row.items()} for row in rows]


def written(what, value):
    """A value of the sheet as a plan file has it."""
    if what in NUMBERS:
        return value
    if what == "fittings":
        each = []
        for one in value.split("; "):
            one, _, own = one.partition(" of k ")
            apart = re.fullmatch(r"(.*) ([\d.]+) mm apart", one)
            count, _, name = (apart[1] if apart else one).rpartition(" x ")
            spaced = f', spacing = "{apart[2]} mm"' if apart else f", k = {own}" if own else ""
            each.append(f'{{ fitting = "{name}"{spaced}, count = {count or 1} }}')
        return f"[{', '.join(each)}]"
    if what == "legs":
        return f"[{', '.join(f'{chr(34)}{leg}{chr(34)}' for leg in value.split('; '))}]"
    return f'"{value}"'.replace("kg/m²", "kg/m2")


def lengths(sheet, parts):
    """Length of each way by what it is of, m: the middles of its pieces added up."""
    found = {}
    for row in rows_of(sheet, "cut-list"):
        if row["mark"]:
            found.setdefault(row["way"], []).append(int(row["between middles, mm"]) / 1e3)
    sums = {way: sum(each) for way, each in found.items()}
    ways = {}
    for way, length in sums.items():
        if " to " in way:
            ways["run", way.partition(" to ")[0]] = length
        elif way == "delivery":
            ways["pump.delivery", ""] = length
        elif way.endswith(": standpipe and tail"):
            siphon = way.partition(": ")[0]
            stand = parts["siphon.standpipe", siphon]
            height = float(stand["height"].removesuffix(" mm")) - float(stand.get("cone_length", "0 mm")[:-3])
            ways["siphon.tail", siphon] = length - height / 1e3
        elif way.endswith(": tail"):
            ways["siphon.tail", way.partition(": ")[0]] = length
    return ways


def rebuilt(sheet):
    parts = {}
    for row in rows_of(sheet, "as-planned"):
        for name in row["which"].split(", "):
            for one in row["as planned"].split(" | "):
                what, _, value = one.partition(": ")
                parts.setdefault((row["part of"], name), {})[what.replace(" ", "_")] = value
    for key, length in lengths(sheet, parts).items():
        parts[key]["length"] = f"{length:.4f} m"
    fixings = {row["bed"]: row["strainer"] for row in rows_of(sheet, "outlets")}
    for row in rows_of(sheet, "openings"):
        kind, of, name = row["piece"].partition(" of ")
        if kind == "strainer" and of:
            size = re.fullmatch(r"(slot|hole) ([\d.]+)(?: x ([\d.]+))? mm", row["opening"])
            parts["bed.strainer", name] = {"kind": f"{size[1]}s", "count": row["count"],
                                           "width": f"{size[2]} mm", "fixing": fixings[name]}  # fmt: skip
            if size[3]:
                parts["bed.strainer", name]["length"] = f"{size[3]} mm"
    for table, name in list(parts):  # what has only usual values has no line of its own
        parts.setdefault((table.partition(".")[0], name), {})
    text = []
    for (table, name), values in parts.items():
        many = table in ("bed", "tee", "run", "chamber", "siphon")
        if "." in table:
            continue
        text.append(f"[[{table}]]" if many else f"[{table}]")
        if many:
            text.append(f'{"from" if table == "run" else "name"} = "{name}"')
        text += [f"{what} = {written(what, value)}" for what, value in values.items()]
        for (inner, other), more in parts.items():
            if inner.startswith(f"{table}.") and other == name:
                text.append(f"[{inner}]")
                text += [f"{what} = {written(what, value)}" for what, value in more.items()]
    return plan_from_text("\n".join(text) + "\n")


@pytest.mark.parametrize("name", PLANS)
def test_the_sheet_alone_is_enough(name):
    plan = PLANS[name]
    again = rebuilt(build_sheet(plan))
    one, other = run_plan(plan, trace=False), run_plan(again, trace=False)
    assert verdict(find(other)) == verdict(find(one))
    levels = {n.name: (n.low, n.high, n.at_break) for n in one.nodes if not n.junction}
    for node in other.nodes:
        if not node.junction:
            assert (node.low, node.high, node.at_break) == pytest.approx(levels[node.name], abs=0.002), (
                node.name
            )
    assert (other.sump_low, other.sump_high) == pytest.approx((one.sump_low, one.sump_high), abs=0.002)


def test_every_part_is_on_the_lists_and_in_the_steps():
    """A part that the water knows is bought, cut or drilled for, and a step says how it goes in."""
    made = contents(sheet := build_sheet(PLANS["every part"]))[0]
    bought = {row["item"]: row for row in rows_of(sheet, "materials")}
    for item in (
        "union",
        "plug",
        "tee",
        "ball valve",
        "coupling",
        "breather tube",
        "check valve",
        "timer",
        "reducer",
        "cap",
    ):
        assert item in bought, item
    ways = {row["way"] for row in rows_of(sheet, "cut-list")}
    assert {"breather of siphon", "overflow of siphon", "bell of siphon", "strainer of bed 1"} <= ways
    assert any(row["hole"] == "overflow of siphon" for row in rows_of(sheet, "drilling"))
    bell = next(row for row in rows_of(sheet, "openings") if row["piece"] == "bell of siphon")
    assert "notch 10 mm wide, its top edge 40 mm above the foot" in bell["where"]
    told = " ".join(step.text for step in sheet.steps)
    words_of_steps = ("mouth 60.0 mm above that floor", "safety overflow opens 480 mm", "ball valve",
                      "check valve", "each union", "clean-out")  # fmt: skip
    for words in words_of_steps:
        assert words in told, words
    drawn = made["drawing-siphon-a4.svg"].decode()
    for words in ("breather, bore 6.00 mm", "mouth of breather", "mouth of overflow", "top of notch"):
        assert words in drawn, words

"""Quantities and money, counted by hand from the plan files."""

import re
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from aquacalc.buildsheet.cut_list import cut_list
from aquacalc.buildsheet.drilling import drilling
from aquacalc.buildsheet.materials import bill, fitting_counts, money, reducer_size
from aquacalc.buildsheet.sheet import build_sheet
from aquacalc.buildsheet.stock import Price, Prices, Workshop, WorkshopError, read_workshop
from aquacalc.plan import edit
from aquacalc.plan.read import plan_from_text, read_plan

ROOT = Path(__file__).resolve().parents[2]
ASTM = "ASTM D1785 schedule 40"


def listed(name, workshop=None):
    workshop = workshop or Workshop()
    folder = ROOT / "data" / "plans" if name == "greenhouse" else ROOT / "tests" / "plans"
    plan = read_plan(folder / f"{name}.toml")
    return bill(plan, cut_list(plan, workshop), drilling(plan, workshop), workshop.prices)


def counts(made):
    return {(i.item, i.size): i.quantity for i in made.items if i.item != "pipe"}


@pytest.mark.identity
def test_demo_counted_by_hand():
    # Three beds of 1.2 x 0.5 m with 0.27 m of media: 3 x 162 L.
    # Drain line: one bend from bed 1, two 45s before the chamber, tees 2 and 3.
    # Seals 1-1/2 in: three beds and the chamber's inlet; 1 in: the standpipe through the chamber's floor.
    # Strainers: a cap and a coupling each. Bell: a cap. Standpipe: a reducer on top.
    # Tail: two bends. Delivery: four bends and a valve.
    assert counts(listed("greenhouse")) == {
        ("bend 90, short", "1-1/2 in"): 1,
        ("bend 45", "1-1/2 in"): 2,
        ("tee", "1-1/2 in"): 2,
        ("rubber pipe seal", "1-1/2 in"): 4,
        ("rubber pipe seal", "1 in"): 1,
        ("cap", "2 in"): 3,
        ("cap", "3 in"): 1,
        ("reducer", "1-1/2 in x 1 in"): 1,
        ("bend 90, short", "1 in"): 2,
        ("bend 90, short", "3/4 in"): 4,
        ("ball valve", "3/4 in"): 1,
        ("expanded clay", ""): 486,
        ("grow bed", ""): 3,
        ("siphon chamber", ""): 1,
        ("sump", ""): 1,
        ("pump", ""): 1,
        ("cement and primer", ""): 1,
    }


#: By hand from the plan: pieces, fittings (seals apart), holes, saw cuts. Demo: 2 + 1 + 1 + 1 + 3 of drain
#: line, 3 of standpipe and tail, 6 of delivery, bell, 3 strainers; bends 1 + 2 + 4, 45s 2, tees 2, caps 4,
#: reducer, valve; 3 outlets, inlet, standpipe. Side outlets: 2 + 1 + 2, standpipe, tail 2, bell, 2 strainers;
#: bends 3, tee, caps 3, reducer; 2 outlets, inlet, standpipe. US units: 2 + 1 + 3, 2, bell, 2 strainers;
#: bends 2, 45s 2, tee, caps 3, reducer; 2 outlets, inlet, standpipe. No length of pipe is used up.
COUNTED = {"data/plans/greenhouse": (21, 17, 5, 21), "tests/plans/side-outlets": (11, 8, 4, 11),
           "tests/plans/us-units": (11, 9, 4, 11)}  # fmt: skip


@pytest.mark.identity
@pytest.mark.parametrize("name", COUNTED)
def test_three_plans_counted_by_hand(name):
    plan = read_plan(ROOT / f"{name}.toml")
    sheet = build_sheet(plan)
    cuts = re.search(r"(\d+) saw cuts", " ".join(sheet.table("stock").notes))[1]
    parts = sum(fitting_counts(plan).values())
    assert (len(sheet.cuts.cuts), parts, len(sheet.holes), int(cuts)) == COUNTED[name]
    bought = sheet.bill.items
    seals = sum(i.quantity for i in bought if i.item in ("rubber pipe seal", "tank fitting"))
    assert seals == COUNTED[name][2]
    other = ("pipe", "cement and primer", "rubber pipe seal", "tank fitting")
    shop = [i.quantity for i in bought if i.shop == "plumbing" and i.item not in other]
    assert sum(shop) == COUNTED[name][1]


@pytest.mark.identity
def test_single_counted_by_hand():
    # A strainer of 2 in stands over the outlet of 1-1/2.
    # One bed of 1.0 x 0.6 m with 0.26 m of gravel: 156 L. Two swept bends in the run, one short in the tail;
    # seals for bed and inlet, and for the standpipe. No delivery in the plan.
    assert counts(listed("single")) == {
        ("bend 90, swept", "1-1/2 in"): 2,
        ("rubber pipe seal", "1-1/2 in"): 2,
        ("rubber pipe seal", "1 in"): 1,
        ("cap", "2 in"): 1,
        ("cap", "3 in"): 1,
        ("reducer", "1-1/2 in x 1 in"): 1,
        ("bend 90, short", "1 in"): 1,
        ("gravel", ""): 156,
        ("grow bed", ""): 1,
        ("siphon chamber", ""): 1,
        ("sump", ""): 1,
        ("pump", ""): 1,
        ("cement and primer", ""): 1,
    }


@pytest.mark.identity
def test_side_outlets_counted_by_hand():
    # Two beds of 156 L, tank fittings of DN 40: two outlets and the chamber's inlet; of 1 in: the standpipe.
    # Strainers lie in the sockets of the tank fittings.
    # A bend in the run of bed 1 and one after the tee; one tee; a bend in the tail.
    assert counts(listed("side-outlets")) == {
        ("bend 90, short", "DN 40"): 2,
        ("tee", "DN 40"): 1,
        ("tank fitting", "DN 40"): 3,
        ("tank fitting", "1 in"): 1,
        ("cap", "DN 40"): 2,
        ("cap", "3 in"): 1,
        ("reducer", "1-1/2 in x 1 in"): 1,
        ("bend 90, short", "1 in"): 1,
        ("gravel", ""): 312,
        ("grow bed", ""): 2,
        ("siphon chamber", ""): 1,
        ("sump", ""): 1,
        ("pump", ""): 1,
        ("cement and primer", ""): 1,
    }


@pytest.mark.identity
@pytest.mark.parametrize(
    ("fitting", "size"),
    [("contraction to 0.7", "2-1/2 in x 1-1/2 in"), ("enlargement from 0.7", "2-1/2 in x 1-1/2 in"),
     ("contraction to 0.5", "3 in x 1-1/2 in"), ("enlargement from 0.5", "3 in x 1-1/2 in"),
     ("contraction to 0.9", "45 mm x 1-1/2 in")],
)  # fmt: skip
def test_a_reducer_is_named_by_the_wider_pipe_beside_this_one(fitting, size):
    """Its loss is of the line's own 40.9 mm, the narrower of the two: 58 mm (2-1/2 in: 62.7), 82 mm (3 in:
    77.9), and 45 mm, which no other size is near."""
    text = (ROOT / "data" / "plans" / "greenhouse.toml").read_text(encoding="utf-8")
    old = '{ fitting = "two 45s", spacing = "80 mm" }'
    assert old in text
    plan = plan_from_text(text.replace(old, f'{old}, "{fitting}"'))
    assert fitting_counts(plan)["reducer", ASTM, size] == 1


@pytest.mark.identity
def test_pipe_is_not_priced_by_volume():
    prices = Prices("coins", (Price("pipe", ASTM, "1 in", "L", Decimal(3)),), file="p.csv")
    with pytest.raises(WorkshopError, match=r'pipe.unit = "L": is not a unit of length. Fix: price it per m'):
        listed("greenhouse", Workshop(prices=prices))


@pytest.mark.identity
def test_pipe_bought_by_hand():
    """1 in: 474 + 317 + 52 mm do not go into the offcut of 560; 3/4 in: 3979 mm are two lengths of 3 m."""
    made = listed("greenhouse", read_workshop(ROOT / "data" / "workshop-demo.toml"))
    pipe = {i.size: (i.quantity, i.total) for i in made.items if i.item == "pipe"}
    assert pipe == {"1 in": (3, Decimal("6.30")), "3/4 in": (6, Decimal("8.40"))}


@pytest.mark.identity
def test_demo_total_by_hand():
    made = listed("greenhouse", read_workshop(ROOT / "data" / "workshop-demo.toml"))
    lines = [
        "6.30", "8.40",  # pipe
        "1.65", "2.90", "4.40", "10.40", "1.90", "4.80", "4.80", "1.30", "1.90", "2.80", "6.50",
        "204.12",  # 486 L at 0.42
        "114.00", "12.00", "65.00", "54.00", "9.50",
    ]  # fmt: skip
    assert made.total == sum(map(Decimal, lines)) == Decimal("516.67")
    assert made.total == sum(i.total for i in made.items)
    assert made.unpriced == 0
    assert made.currency == "credits"


@pytest.mark.identity
def test_money_is_exact_and_keeps_the_currency():
    assert money(Decimal("0.125"), 2) == Decimal("0.13")
    yen = Prices(
        "coins",
        (Price("pipe", ASTM, "1 in", "ft", Decimal(7)), Price("sump", "", "", "each", Decimal(90))),
        0,
    )
    made = listed("greenhouse", Workshop(prices=yen))
    pipe = next(i for i in made.items if (i.item, i.size) == ("pipe", "1 in"))
    assert pipe.quantity == Decimal("9.84")  # 3 m in feet
    assert pipe.total == Decimal(69)  # 68.88
    assert made.total == Decimal(159)
    assert made.unpriced == len(made.items) - 2


@pytest.mark.identity
def test_a_price_in_the_wrong_unit_is_refused():
    wrong = Prices("coins", (Price("pump", "", "", "m", Decimal(7)),), 0, "list.csv")
    with pytest.raises(WorkshopError, match=r"list.csv: pump.unit = \"m\".*price it per each"):
        listed("greenhouse", Workshop(prices=wrong))


@pytest.mark.identity
def test_tees_with_more_ways():
    """Four runs into one tee are three tees; a tee with one run in is capped; a thinner run has a reducer."""
    plan = read_plan(ROOT / "data" / "plans" / "greenhouse.toml")
    to_one = tuple(
        replace(r, to="tee 3", outfall=0.59) if r.start in ("bed 1", "bed 2") else r for r in plan.runs
    )
    thin = replace(to_one[1].pipe, size="1 in", outside_diameter=0.0334, bore=0.0266)
    runs = (to_one[0], replace(to_one[1], pipe=thin), *to_one[2:])
    made = bill(replace(plan, runs=runs), cut_list(replace(plan, runs=runs), Workshop()), (), Prices())
    # tee 3: beds 1, 2, 3 and tee 2 run in, one out: 3 tees. tee 2: nothing runs in any more: 1.
    assert made.count("tee") == 4
    assert made.count("reducer") == 2  # the standpipe's and the thin run's


@pytest.mark.identity
@pytest.mark.parametrize(("bore", "size"), [
    (0.0627, "2-1/2 in x 1-1/2 in"), (0.0780, "3 in x 1-1/2 in"), (0.0690, "2-1/2 in x 1-1/2 in"),
    (0.0715, "3 in x 1-1/2 in"), (0.0409, "41 mm x 1-1/2 in"), (0.045, "45 mm x 1-1/2 in"),
    (0.4, "400 mm x 1-1/2 in"),
])  # fmt: skip
def test_a_bore_is_named_by_the_size_within_a_tenth_of_it(bore, size):
    """2-1/2 in has 62.7 mm and 3 in 77.9: 69 is 9 % over the first, 71.5 is 9 % under the second."""
    pipe = read_plan(ROOT / "data" / "plans" / "greenhouse.toml").runs[0].pipe
    assert reducer_size(bore, pipe) == size
    assert reducer_size(bore, replace(pipe, series="own")) == f"{bore * 1e3:.0f} mm x {pipe.size}"


@pytest.mark.identity
def test_a_tee_of_pipes_of_two_sizes_is_the_wider_with_a_reducer():
    """Tee 2 of the demo joins three runs of 1-1/2 in; with one of 2 in it is wider and has two reducers."""
    plan = read_plan(ROOT / "data" / "plans" / "greenhouse.toml")
    joined = [run for run in plan.runs if "tee 2" in (run.start, run.to)]
    assert len(joined) == 3
    two = edit.put_text(plan, {f"run.{joined[0].start}.size": '"2 in"'})
    before, after = fitting_counts(plan), fitting_counts(two)
    assert (before["tee", ASTM, "1-1/2 in"], before["tee", ASTM, "2 in"]) == (2, 0)
    assert (after["tee", ASTM, "1-1/2 in"], after["tee", ASTM, "2 in"]) == (1, 1)
    assert after["reducer", ASTM, "2 in x 1-1/2 in"] == 2
    assert after["tee", ASTM, "2 in x 1-1/2 in"] == 0

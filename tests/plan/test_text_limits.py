"""What no plan, workshop file, price list or sheet of readings needs is counted before it is read."""

import time
from dataclasses import replace

import pytest

from aquacalc.buildsheet.stock import WorkshopError, read_prices, read_workshop
from aquacalc.buildsheet.table import Table
from aquacalc.catalogue import data_dir
from aquacalc.plan import PlanError, check_plan, edit, plan_from_text, read_plan
from aquacalc.plan.text import clean
from aquacalc.results.cycle import run_plan

pytestmark = pytest.mark.identity
MINIMAL = (data_dir() / "plans" / "minimal.toml").read_text(encoding="utf-8")
HEAD = "item,series,size,unit,price,currency\n"
HOSTILE = {
    "dotted keys": ("a." * 150_000 + "b = 1", "parts"),
    "many dotted keys": ("\n".join(f"a{i}" + ".b" * 30 + " = 1" for i in range(5000)), "parts"),
    "dotted with spaces": ("a . " * 70_000 + "b = 1", "parts"),
    "comment": ("# " + "x.y" * 313_000, "comment"),
    "nested lists": ("a = " + "[" * 5000 + "]" * 5000, "nested"),
    "nested tables": ("a = " + "{b=" * 5000 + "1" + "}" * 5000, "nested"),
    "digits": ("a = " + "1" * 5000, "digits"),
    "lines": ("\n" * 30_000, "lines"),
    "long line": ('a = "' + "x" * 50_000 + '"', "too long"),
    "quotes": ("'" * 200_000, "too long"),
    "triple quotes": ('"""' * 100_000, "too long"),
    "line ends of CR alone": (MINIMAL.replace("\n", "\r"), "CR alone"),  # once "a comment that is too long"
}


@pytest.mark.parametrize("case", HOSTILE)
def test_hostile_text_is_refused_in_a_moment(case, tmp_path):
    text, reason = HOSTILE[case]
    start = time.process_time()
    with pytest.raises(PlanError, match=reason):
        plan_from_text(text)
    file = tmp_path / "workshop.toml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(WorkshopError, match=reason):
        read_workshop(file)
    assert time.process_time() - start < 5.0


@pytest.mark.parametrize(
    "held",
    [
        "{",
        "[]",
        '{"pieces": [{}]}',
        '{"pieces": 3}',
        '{"pieces": [{"before": 1}]}',
        "[" * 100_000,
        "1" * 9999,
    ],
)
def test_a_page_whose_plan_is_damaged_is_refused(held, tmp_path):
    page = tmp_path / "page.html"
    for name in ("data", "moved"):
        page.write_text(f'<!doctype html><script type="application/json" class="plan-{name}">{held}</script>')
        with pytest.raises(PlanError, match=r"plan is damaged|without a plan"):
            read_plan(page)


def test_prices_have_limits(tmp_path):
    file = tmp_path / "prices.csv"
    for text, reason in (
        (HEAD + "pump,,,each,1,EUR\n" * 48_000, "lines"),
        (HEAD + "pump,,,each," + "1" * 20_000 + ",EUR\n", "too long"),
        (HEAD + "pu\x1bmp,,,each,1,EUR\n", "nobody can see"),
        (HEAD + "pump\x00,,,each,1,EUR\n", "binary"),
    ):
        file.write_text(text, encoding="utf-8")
        with pytest.raises(WorkshopError, match=reason):
            read_prices(file)


@pytest.mark.parametrize("name", ["bed\u202e1", "be\u0007d", "bed\u200b", "\ufeffbed", "bed\u2066"])
def test_names_hold_only_what_can_be_seen(name):
    escaped = name.encode("unicode_escape").decode().replace("\\x", "\\u00")
    text = MINIMAL.replace("count = 3", f'name = "{escaped}"').replace('"every bed"', f'"{escaped}"')
    with pytest.raises(PlanError, match="nobody can see"):
        plan_from_text(text)


def test_long_notes_and_names_are_refused():
    with pytest.raises(PlanError, match="too long"):
        plan_from_text(MINIMAL.replace("All numbers are invented.", "x" * 5000))


@pytest.mark.parametrize(
    "cell", ["=1+1", "\uff1d1+1", "\uff0b1", "\uff0dx", "\uff20SUM", " =1", "\t=1", "@x", "-x"]
)
def test_no_cell_of_a_csv_is_a_formula(cell):
    table = Table("t", "", "", ("name",), ((cell,),))
    assert table.csv().splitlines()[-1].lstrip('"').startswith("'")


@pytest.mark.parametrize(
    ("path", "value", "reason"),
    [
        ("run.*.bore", 1e-70, "cannot be right"),
        ("bed.*.porosity", 1e-12, "cannot be right"),
        ("sump.depth", 6e-4, "cannot be right"),
        ("bed.bed 1.media", "bananas", "not in the tables"),
        ("bed.bed 1.seal", "bananas", "not in the tables"),
        ("sump.measured_with", "bananas", "choices"),
        ("siphon.standpipe.entry", "bananas", "choices"),
        ("bed.bed 1.outlet", "bananas", "choices"),
        ("bed.bed 1.supports", 0, "whole number"),
        ("siphon.bell.openings", -3, "whole number"),
        ("bed.bed 1.name", "a.b", "usable name"),
        ("bed.bed 1.name", "a*b", "usable name"),
        ("plan.name", " ", "is empty"),
    ],
)
def test_an_edited_plan_is_checked_like_one_that_is_read(path, value, reason):
    plan = plan_from_text(MINIMAL)
    with pytest.raises(PlanError, match=reason):
        check_plan(edit.put(plan, {path: value}))


def test_more_than_500_beds_are_refused_in_one_sentence():
    plan = plan_from_text(MINIMAL)
    many = replace(plan, beds=tuple(replace(plan.beds[0], name=f"bed {i}") for i in range(501)))
    with pytest.raises(PlanError, match="500") as caught:
        check_plan(many)
    assert len(caught.value.faults) == 1
    with pytest.raises(PlanError, match="500") as caught:
        plan_from_text(
            MINIMAL.replace("count = 3", "count = 400") + '\n[[bed]]\nlike = "bed 1"\nname = "x"\n' * 120
        )
    assert any("500" in fault.reason for fault in caught.value.faults)


def test_a_result_that_cannot_be_is_not_given():
    plan = read_plan(data_dir() / "plans" / "one-bed.toml")
    nothing = replace(plan, sump=replace(plan.sump, floor=float("nan")))
    with pytest.raises((ArithmeticError, ValueError)):
        run_plan(nothing)


def test_eight_faults_give_eight_in_their_order():
    changes = {
        'length = "1.2 m"': "length = 1.2",
        'depth = "300 mm"': 'depth = "300 L"',
        'media = "expanded clay"': 'media = "expanded cly"',
        'size = "50 mm"': 'sise = "50 mm"',
        'length = "1 m"': 'length = "-1 m"',
        'diameter = "250 mm"': 'diameter = "wide"',
        'entry = "cone"': 'entry = "cown"',
        "pump = {": "pump = { pover = 3,",
    }
    text = MINIMAL
    for old, new in changes.items():
        assert old in text
        text = text.replace(old, new, 1)
    with pytest.raises(PlanError) as caught:
        plan_from_text(text, "mine.toml")
    faults = caught.value.faults
    assert [fault.line for fault in faults] == sorted(fault.line for fault in faults)
    assert len({fault.line for fault in faults}) == 8
    assert len(faults) == 8
    assert 'did you mean "size"?' in str(caught.value)
    assert str(caught.value).startswith(f"mine.toml: {len(faults)} faults\n")
    told = caught.value.as_dict()
    assert told["file"] == "mine.toml"
    assert [f["line"] for f in told["faults"]] == [f.line for f in faults]


def test_first_twenty_faults_and_how_many_more():
    text = MINIMAL.replace('length = "1.2 m"', "length = 1.2\n" + "\n".join(f"x{i} = 1" for i in range(30)))
    with pytest.raises(PlanError) as caught:
        plan_from_text(text)
    message = str(caught.value)
    assert message.count("\n") == 21
    assert "more" in message.splitlines()[-1]


def test_a_sign_of_formulas_in_a_name_is_refused():
    plan = plan_from_text(MINIMAL)
    for path in ("bed.bed 1.name", "plan.name", "plan.datum"):
        with pytest.raises(PlanError, match="formula"):
            check_plan(edit.put(plan, {path: "bed $x^2$"}))


@pytest.mark.parametrize(
    ("text", "alone", "in_lines"),
    [
        ("bed 1", True, True), ("Beet 1, östlich: 20 °C", True, True), ("床一", True, True), ("", True, True),
        ("one\ttwo", False, True), ("one\ntwo", False, True), ("one\r\ntwo", False, True),
        ("one\x00", False, False), ("one\x1b[31m", False, False), ("one\x7f", False, False),
        ("\u202eone", False, False), ("one\u2066two", False, False), ("one\u200btwo", False, False),
        ("one\u2028two", False, False), ("one\u2029two", False, False), ("one\ud800", False, False),
        ("one\ue000", False, False), ("one\u00a0two", True, True), ("one\n\x1b", False, False),
    ],
)  # fmt: skip
def test_only_what_can_be_seen_is_clean(text, alone, in_lines):
    """Controls, private and half characters, marks that turn a text around; line ends only in notes."""
    assert (clean(text), clean(text, lines=True)) == (alone, in_lines)

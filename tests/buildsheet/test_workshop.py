"""The workshop file and the price list: read, and refused with one clear error."""

from decimal import Decimal
from pathlib import Path

import pytest

from aquacalc.buildsheet.materials import _unmatched
from aquacalc.buildsheet.stock import KERF, WorkshopError, read_prices, read_workshop
from aquacalc.buildsheet.table import _safe
from aquacalc.plan.errors import PlanError

ROOT = Path(__file__).resolve().parents[2]
pytestmark = pytest.mark.identity
HEAD = "item,series,size,unit,price,currency\n"


def test_the_demo():
    shop = read_workshop(ROOT / "data" / "workshop-demo.toml")
    assert "nvented" in shop.note
    assert "nvented" in shop.prices.note
    assert shop.kerf == 0.002
    assert shop.hole_saws == (0.025, 0.032, 0.044, 0.064)
    assert shop.stock[0].offcuts == (0.64, 0.41, 0.18)
    assert shop.prices.currency == "credits"
    assert shop.prices.find("sump").price == Decimal("65.00")


def test_what_is_left_out(tmp_path):
    path = tmp_path / "w.toml"
    path.write_text("")
    shop = read_workshop(path)
    assert (shop.kerf, shop.hole_saws, shop.stock) == (KERF, (), ())
    assert shop.prices.find("pipe") is None


def test_counted_lengths_and_inches(tmp_path):
    path = tmp_path / "w.toml"
    path.write_text(
        '[workshop]\nhole_saws = ["2-1/2 in"]\n'
        '[[stock]]\nseries = "astm d1785 schedule 40"\nsize = "1 in"\nowned = ["2 x 10 ft"]\n'
    )
    shop = read_workshop(path)
    assert shop.hole_saws == (0.0635,)
    assert shop.stock[0].owned == pytest.approx((3.048, 3.048))
    assert shop.stock[0].series == "ASTM D1785 schedule 40"


@pytest.mark.parametrize(
    ("text", "key", "fix"),
    [
        ("[workshop]\nkerf = 2\n", "workshop.kerf", "mm"),
        ('[workshop]\nkerf = "-2 mm"\n', "workshop.kerf", ""),
        ('[workshop]\nkerf = "0 mm"\n', "workshop.kerf", "length up to"),
        ('[workshop]\nkerf = "nan mm"\n', "workshop.kerf", ""),
        ('[workshop]\nkerf = "2 L"\n', "workshop.kerf", ""),
        ('[workshop]\nkerv = "2 mm"\n', "workshop.kerv", "kerf"),
        ("[workshop]\nname = 3\n", "workshop.name", "quotes"),
        ('[workshop]\nname = "a\\u0007"\n', "workshop.name", "again by hand"),
        ('[workshop]\nname = "a\\nb"\n', "workshop.name", "again by hand"),
        (f'[workshop]\nnote = "{"x" * 5000}"\n', "workshop.note", "characters"),
        ('[workshop]\nhole_saws = "32 mm"\n', "workshop.hole_saws", "2 x 3 m"),
        ('[workshop]\nhole_saws = ["32"]\n', "workshop.hole_saws", "mm"),
        ("[shop]\n", "shop", "workshop"),
        ("workshop = 3\n", "workshop", "[workshop]"),
        ("stock = 3\n", "stock", "[[stock]]"),
        ("[[stock]]\n", "stock 1.series", "as in the plan"),
        ('[[stock]]\nseries = "nothing"\nsize = "1 in"\n', "stock 1", "ASTM"),
        ('[[stock]]\nseries = "own"\nsize = "a"\nowned = ["0 m"]\n', "stock 1.owned", "length up to"),
        ('[[stock]]\nseries = "own"\nsize = "a"\n[[stock]]\nseries = "own"\nsize = "a"\n', "stock 2", "join"),
        ('[workshop]\nprices = "none.csv"\n', "", "check the name"),
        ("[workshop\n", "line 1, column 10", "key ="),
    ],
)
def test_one_error_with_key_and_fix(tmp_path, text, key, fix):
    path = tmp_path / "w.toml"
    path.write_text(text)
    with pytest.raises(WorkshopError) as caught:
        read_workshop(path)
    assert caught.value.key == key
    assert fix in caught.value.fix
    assert isinstance(caught.value, PlanError)
    assert str(tmp_path) in str(caught.value)


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("item,price\n", "line 1"),
        ("", "line 1"),
        (HEAD + "pump,,,each,5\n", "line 2"),
        (HEAD + "pump,,,each,five,coins\n", "line 2.price"),
        (HEAD + "pump,,,each,-5,coins\n", "line 2.price"),
        (HEAD + "pump,,,each,NaN,coins\n", "line 2.price"),
        (HEAD + "pump,,,each,Infinity,coins\n", "line 2.price"),
        (HEAD + "pump,,,each,1e40,coins\n", "line 2.price"),
        (HEAD + "pump,,,box,5,coins\n", "line 2.unit"),
        (HEAD + "pump,,,each,5,coins\nsump,,,each,5,shells\n", "line 3.currency"),
        (HEAD + "pump,,,each,5,coins\npump,,,each,6,coins\n", "line 3.item"),
    ],
)
def test_price_lists_refused(tmp_path, text, key):
    path = tmp_path / "prices.csv"
    path.write_text(text)
    with pytest.raises(WorkshopError) as caught:
        read_prices(path)
    assert caught.value.key == key
    assert caught.value.fix


def test_prices_of_what_nobody_sells_are_named(tmp_path):
    path, series = tmp_path / "p.csv", "ASTM D1785 schedule 40"
    rows = ("banana,,", "pipe,NOPE,1 in", f"pipe,{series},7 in", f"pipe,{series},1 in", "pipe,own,own")
    path.write_text(HEAD + "".join(f"{row},m,3,credits\n" for row in rows))
    said = _unmatched(read_prices(path), ())
    assert [line.partition(": ")[2].partition(": ")[0] for line in said] == [
        'nothing that is bought is called "banana"', 'there is no pipe "NOPE", "1 in"',
        f'there is no pipe "{series}", "7 in"',
    ]  # fmt: skip


def test_decimals_of_the_currency(tmp_path):
    path = tmp_path / "prices.csv"
    path.write_text(HEAD + "# made up\npump,,,each,500,coins\nsump,,,each,7,coins\n")
    found = read_prices(path)
    assert found.places == 0
    assert found.note == "made up"


def test_files_that_are_none(tmp_path):
    with pytest.raises(WorkshopError, match="no such file"):
        read_workshop(tmp_path / "none.toml")
    binary = tmp_path / "b.toml"
    binary.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(WorkshopError, match="UTF-8"):
        read_workshop(binary)


def test_lines_of_a_price_list(tmp_path):
    """Empty lines and notes are passed over, and the same item in another size is another price."""
    path = tmp_path / "prices.csv"
    path.write_text(HEAD + "\n  # made up, by us\ncap,S,1 in,each,2.50,coins\n#\ncap,S,2 in,each,3,coins\n")
    found = read_prices(path)
    assert [(p.size, str(p.price)) for p in found.lines] == [("1 in", "2.50"), ("2 in", "3")]
    assert (found.places, found.currency) == (2, "coins")
    assert found.note.split() == ["made", "up,", "by", "us"]


@pytest.mark.parametrize(("text", "fits"), [
    ("0", True), ("-0.01", False), ("1000000000", True), ("1000000001", False), ("0.000001", True),
    ("0.0000001", False), ("inf", False), ("nan", False),
])  # fmt: skip
def test_prices_at_their_limits(tmp_path, text, fits):
    path = tmp_path / "prices.csv"
    path.write_text(HEAD + f"pump,,,each,{text},coins\n")
    if fits:
        assert str(read_prices(path).lines[0].price) == str(Decimal(text))
        return
    with pytest.raises(WorkshopError) as caught:
        read_prices(path)
    assert caught.value.key == "line 2.price"


@pytest.mark.parametrize(("cell", "safe"), [
    ("=1+1", "'=1+1"), (" =1", "' =1"), ("+x", "'+x"), ("-1.5", "-1.5"), ("-x", "'-x"), ("@a", "'@a"),
    ("plain", "plain"), ("", ""), ("1-1/2 in", "1-1/2 in"), ("\uff1dx", "'\uff1dx"),
])  # fmt: skip
def test_no_cell_is_a_formula_and_numbers_stay_numbers(cell, safe):
    assert _safe(cell) == safe


@pytest.mark.parametrize(("item", "meant"), [("cupling", "coupling"), ("zzzzz", "")])
def test_what_was_probably_meant_is_said_where_something_resembles_it(tmp_path, item, meant):
    path = tmp_path / "p.csv"
    path.write_text(HEAD + f"{item},,,each,3,credits\n")
    (said,) = _unmatched(read_prices(path), ())
    assert said.endswith(f'"{item}"') == (not meant)
    assert meant in said

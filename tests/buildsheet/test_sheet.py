"""The sheet as files: the same sums everywhere, nothing written over, drawings to their scale."""

import csv
import io
import re
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest

from aquacalc.buildsheet import paper as paper_module
from aquacalc.buildsheet.canvas import PAPER, PHONE
from aquacalc.buildsheet.files import contents, drawings
from aquacalc.buildsheet.heights import elevations
from aquacalc.buildsheet.page import page
from aquacalc.buildsheet.sheet import build_sheet
from aquacalc.buildsheet.stock import read_workshop
from aquacalc.buildsheet.table import Table
from aquacalc.design.readings import READINGS
from aquacalc.files import write_folder
from aquacalc.plan.read import read_plan

ROOT = Path(__file__).resolve().parents[2]
pytestmark = pytest.mark.identity
DEMO = read_plan(ROOT / "data" / "plans" / "greenhouse.toml")


@pytest.fixture(scope="module")
def sheet():
    return build_sheet(DEMO, read_workshop(ROOT / "data" / "workshop-demo.toml"))


@pytest.fixture(scope="module")
def made(sheet):
    return contents(sheet)[0]


class Cells(HTMLParser):
    """Rows of the tables of a page, by the id of their section."""

    def __init__(self, text):
        super().__init__()
        self.rows, self.key, self.cell = {}, None, None
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        if tag == "section":
            self.key = dict(attrs)["id"]
            self.rows[self.key] = []
        elif tag == "tr" and self.key:
            self.rows[self.key].append([])
        elif tag in ("td", "th"):
            self.cell = ""

    def handle_data(self, data):
        if self.cell is not None:
            self.cell += data

    def handle_endtag(self, tag):
        if tag in ("td", "th"):
            self.rows[self.key][-1].append(self.cell)
            self.cell = None


def read(made, name):
    return list(csv.reader(io.StringIO(made[name].decode())))


def test_page_and_spreadsheet_have_the_same_cells(sheet, made):
    rows = Cells(made["build-sheet.html"].decode()).rows
    assert list(rows) == [t.key for t in sheet.tables]
    for key in rows:
        cells = [[c.removeprefix("'") for c in row] for row in read(made, f"{key}.csv")]
        assert rows[key] == cells, key


def test_sums_are_the_sums_of_the_rows(made):
    for name, columns in (("cut-list", [7]), ("stock", [2, 4, 5]), ("materials", [7])):
        *rows, total = read(made, f"{name}.csv")[1:]
        for k in columns:
            # Whole units of the last decimal, so that money is not added as floats.
            units = [round(float(row[k]) * 100) for row in rows if row[k]]
            assert sum(units) == round(float(total[k]) * 100), name


def test_every_piece_cut_is_in_the_stock_table_once(sheet, made):
    marks = [row[0] for row in read(made, "cut-list.csv")[1:-1]]
    nested = [m for row in read(made, "stock.csv")[1:-1] for m in row[3].split()]
    assert sorted(nested) == sorted(marks)


def test_readings_have_the_keys_that_the_fit_reads(made):
    rows = read(made, "readings.csv")
    assert [row[0].replace("_", " ") for row in rows[1:]] == list(READINGS)
    assert rows[0][-2:] == ["value", "error"]
    assert all(row[-2:] == ["", ""] for row in rows[1:])


def test_a_floor_that_carries_too_little_is_warned_of(sheet):
    """Full to the rim a bed lays 257.3 kg on each m2: 14 kg and 162 L of clay at 380 and 90.8 L on 0.6."""
    assert not any("lays" in warning for warning in sheet.warnings)
    weak = replace(DEMO, limits=replace(DEMO.limits, floor_load=250.0))
    said = [warning for warning in build_sheet(weak).warnings if "lays" in warning]
    full = (14.0 + 0.162 * 380.0 + 998.2 * 0.6 * (0.27 * 0.45 + 0.03)) / 0.6
    text = f"lays {full:.0f} kg/m² on its area when full; the plan's floor takes 250 kg/m²."
    assert said == [f"bed {k} {text}" for k in (1, 2, 3)]


def test_cautions_stand_where_they_matter(sheet):
    words = {
        "Drill the holes": "reverse",
        "Fit the rubber pipe seals": "soapy water",
        "Cement": "Vapour",
        "Connect the pump": "residual-current",
        "Cover the water": "child",
        "Set out the elevations": "Lift",
        "Check the place": "licensed",
    }
    for title, word in words.items():
        step = next(s for s in sheet.steps if s.title == title)
        assert word in " ".join((step.text, *step.cautions)), title
    pump = next(s for s in sheet.steps if s.title == "Connect the pump")
    assert "drinking water" in " ".join(pump.cautions)
    assert not any("{" in words for s in (*sheet.steps, *sheet.checks) for words in (s.text, *s.cautions))
    # No tank fitting in this plan.
    assert all(s.title != "Fit the tank fittings" for s in sheet.steps)


def test_check_the_seal_is_said_for_every_hole(made):
    assert all("check the" in row[-1] for row in read(made, "drilling.csv")[1:])


def test_nothing_is_written_over(tmp_path, made):
    folder = tmp_path / "out"
    written = write_folder(folder, made)
    assert {p.name for p in written} == set(made)
    mine = folder / "materials.csv"
    mine.write_text("mine")
    (folder / "cut-list.csv").unlink()
    with pytest.raises(FileExistsError, match="as-planned"):
        write_folder(folder, made)
    assert mine.read_text() == "mine"
    assert not (folder / "cut-list.csv").exists()
    write_folder(folder, made, force=True)
    assert mine.read_bytes() == made["materials.csv"]
    assert sorted(p.name for p in folder.iterdir()) == sorted(made)


def test_the_same_plan_makes_the_same_files(sheet, made):
    again = contents(sheet)[0]
    assert {name for name in made if made[name] != again[name]} == set()


def test_no_typesetter_is_said_and_the_rest_is_made(sheet, monkeypatch):
    def missing(*_):
        raise paper_module.PaperMissing("the PDF needs typst")

    monkeypatch.setattr("aquacalc.buildsheet.files.paper", missing)
    less, said = contents(sheet)
    assert said == "the PDF needs typst"
    assert not any(name.startswith("build-sheet-") for name in less)
    assert "drawing-section-a4.svg" in less


def test_drawings_for_a_phone_have_letters_of_eleven_px(sheet, made):
    """A window of 390 px has 361 for a drawing (tests in a browser would say the same, slower)."""
    page = made["build-sheet.html"].decode()
    small = drawings(sheet, PHONE)
    assert [d.name for d in small] == [
        *(f"{view}-{k}" for view in ("section", "plan-view") for k in (1, 2, 3)),
        "assembly", *(f"assembly-{k}" for k in (1, 2, 3, 4)), "siphon",
    ]  # fmt: skip
    for drawing in small:
        wide = float(re.search(r'width="([\d.]+)mm"', drawing.svg())[1])
        assert min(float(s) for s in re.findall(r'font-size="([\d.]+)"', drawing.svg())) * 361 / wide >= 11.0
        assert drawing.svg() in page
    # Each vessel and each piece is on one of the details.
    said = " ".join(d.svg() for d in small)
    for name in (*(cut.mark for cut in sheet.cuts.cuts), "bed 1", "bed 2", "bed 3", "chamber", "sump"):
        assert f">{name}</text>" in said, name


@pytest.mark.parametrize("paper", [p for p in PAPER if p != PHONE])
def test_drawings_are_as_large_as_their_paper(sheet, paper):
    for drawing in drawings(sheet, paper):
        width, height = re.search(r'width="([\d.]+)mm" height="([\d.]+)mm"', drawing.svg()).groups()
        assert sorted((float(width), float(height))) == sorted(PAPER[paper])


def test_drawings_hold_no_colour(made):
    for name, content in made.items():
        if name.endswith(".svg"):
            colours = set(re.findall(r"#([0-9a-f]{6})\b", content.decode()))
            assert all(c[:2] == c[2:4] == c[4:] for c in colours), name


@pytest.mark.parametrize("paper", PAPER)
def test_every_label_lies_on_its_paper(sheet, paper):
    for drawing in drawings(sheet, paper):
        for left, top, right, foot in drawing.canvas.texts:
            assert left > 0.0, drawing.name
            assert top > 0.0, drawing.name
            assert right < drawing.canvas.width, drawing.name
            assert foot < drawing.canvas.height, drawing.name


def test_elevations_of_the_demo():
    marks = {words: round(z, 4) for z, words in elevations(DEMO)}
    assert marks["lip"] == 0.93
    assert marks["floor, beds"] == 0.7
    assert marks["inlet's invert"] == 0.56
    assert marks["tail's end"] == 0.32
    assert marks["water, pump off"] == 0.21
    assert list(marks.values()) == sorted(marks.values(), reverse=True)


def test_a_name_is_no_formula_in_a_spreadsheet():
    table = Table("t", "", "", ("a", "b"), (("=1+1", "-3"), ("@x", "-a")))
    assert table.csv().splitlines() == ["a,b", "'=1+1,-3", "'@x,'-a"]
    assert table.numeric(1) is False


def test_hostile_names_stay_text(sheet):
    name = '<script>alert(1)</script> #panic() *x* \\ "q"'
    plan = replace(DEMO, name=name, text="")
    hostile = replace(sheet, plan=plan)
    text = page(hostile, ())
    assert "<script>" not in text
    assert paper_module.paper(hostile, (), "A4").startswith(b"%PDF")

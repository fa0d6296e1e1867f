"""The workbooks with the reader's own plan in the folder, whatever that is."""

import contextlib
import io
import shutil

import nbformat
import pytest

from aquacalc.catalogue import data_dir, workbooks_dir
from aquacalc.plan import read_plan

LAYOUTS = data_dir().parent / "tests" / "plans"
CASES = [
    ("00", "side-outlets"),
    ("01", "half-drums"), ("01", "inside-bed"), ("01", "us-units"),
    ("04", "half-drums"), ("04", "inside-bed"), ("04", "us-units"),
    ("05", "series"), ("05", "inside-bed"), ("05", "side-outlets"), ("05", "us-units"),
    ("06", "two-groups"), ("06", "pump-curve"), ("06", "us-units"),
]  # fmt: skip


@pytest.mark.identity
@pytest.mark.parametrize(("number", "layout"), CASES)
def test_every_cell_runs_with_a_saved_plan(number, layout, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("aquacalc.notebook.showing.Following", lambda make: make())  # nobody displays it here
    shutil.copy(LAYOUTS / f"{layout}.toml", tmp_path / "my-plan.toml")
    book = nbformat.read(next(workbooks_dir().glob(f"{number}-*.ipynb")), as_version=4)
    space: dict = {}
    said = io.StringIO()
    with contextlib.redirect_stdout(said):
        for cell in book.cells:
            if cell.cell_type == "code":
                exec(compile(cell.source, f"{number}: {cell.source[:40]!r}", "exec"), space)
    assert "my-plan.toml" in said.getvalue()
    assert ("Opened" in said.getvalue()) == (space["plan"].name != "School greenhouse herbs")
    if number == "04":  # its table, map and question are of this plan, not of the demo
        assert space["own"] == space["bed"].plan == space["plan"]
        assert {space["own"].pump.flow} != {space["tuned"].plan.pump.flow}


@pytest.mark.identity
def test_page_07_goes_on_with_what_was_typed(tmp_path, monkeypatch):
    """From the form to the fit, the fitted plan, its verdict and its file; run again, nothing is lost."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("aquacalc.notebook.entry._typed", {})
    monkeypatch.setattr("aquacalc.notebook.showing.Following", lambda make: make())
    book = nbformat.read(next(workbooks_dir().glob("07-*.ipynb")), as_version=4)
    cells = [cell.source for cell in book.cells if cell.cell_type == "code"]
    first, later = (
        cells.index("form = ReadingsForm(plan)\nform"),
        next(k for k, source in enumerate(cells) if source.startswith("FittedPanel(")),
    )
    space: dict = {}
    with contextlib.redirect_stdout(io.StringIO()):
        for source in cells[: first + 1]:
            exec(source, space)
        for line, typed in ((0, ("16:00", "10")), (2, ("12", "0.2"))):
            for box, text in zip(space["form"].lines[line].boxes, typed, strict=True):
                box.value = text
        for source in cells[first:later]:  # "Run Selected Cell and All Below", the form too
            exec(source, space)
        panel = eval(cells[later], space)
    assert [r.value for r in space["readings"]] == pytest.approx([960.0, 12 / 60e3])
    assert space["found"].plan.pump.flow == pytest.approx(12 / 60e3, rel=0.02)
    assert panel.plan == space["found"].plan
    panel.saving.button.click()
    saved, fitted = read_plan(tmp_path / "my-plan.toml"), space["found"].plan
    assert saved.pump == fitted.pump
    assert saved.beds == fitted.beds
    assert saved.runs[0].fittings[0].k == pytest.approx(fitted.runs[0].fittings[0].k, rel=1e-6)

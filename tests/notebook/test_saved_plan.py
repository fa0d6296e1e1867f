"""The workbooks with the reader's own plan in the folder, whatever that is."""

import contextlib
import io
import shutil

import nbformat
import pytest

from aquacalc.catalogue import data_dir, workbooks_dir

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

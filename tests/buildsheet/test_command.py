"""The command: exit status, one-line errors, files."""

import argparse
import re
from pathlib import Path

import pytest

from aquacalc.commands import build
from aquacalc.failure import Failure

ROOT = Path(__file__).resolve().parents[2]
pytestmark = pytest.mark.identity
SINGLE = ROOT / "tests" / "plans" / "single.toml"


def run(*words):
    parser = argparse.ArgumentParser()
    build.arguments(parser)
    return build.run(parser.parse_args([str(w) for w in words]))


def test_a_plan_is_built_and_not_over_anything(tmp_path, capsys):
    out = tmp_path / "new" / "folder"
    status = run(SINGLE, "--out", out)
    said = capsys.readouterr().out
    assert "files written" in said
    assert status == (1 if "!" in said else 0)
    for name in ("cut-list.csv", "materials.csv", "readings.csv", "build-sheet.html", "build-sheet-a4.pdf",
                 "build-sheet-letter.pdf", "valve-card-a4.pdf", "valve-card-letter.pdf",
                 "drawing-section-a4.svg", "drawing-labels-a4.svg"):  # fmt: skip
        assert (out / name).stat().st_size > 100, name
    names = [path.name for path in out.iterdir()]  # of any system of files
    assert len({name.casefold() for name in names}) == len(names)
    for name in names:
        assert re.fullmatch(r"[\w .-]{1,100}\w", name), name
        assert not re.match(r"(?i)(con|prn|aux|nul|com\d|lpt\d)(\.|$)", name), name
    before = {p: p.read_bytes() for p in out.iterdir()}
    with pytest.raises(Failure, match="--force"):
        run(SINGLE, "--out", out)
    assert {p: p.read_bytes() for p in out.iterdir()} == before


def test_a_plan_that_does_not_work_gives_1_and_its_files(tmp_path, capsys):
    plan = ROOT / "data" / "plans" / "spills-without-starting.toml"
    assert run(plan, "--out", tmp_path) == 1
    assert "does not work" in capsys.readouterr().out
    assert (tmp_path / "cut-list.csv").exists()


def test_a_plan_that_may_or_may_not_work_gives_3(tmp_path, capsys):
    text = (ROOT / "data" / "plans" / "greenhouse.toml").read_text(encoding="utf-8")
    plan = tmp_path / "plan.toml"
    plan.write_text(text.replace('"18 L/min"', '"9.4 L/min"'), encoding="utf-8")
    assert run(plan, "--out", tmp_path / "out") == 3
    assert "may or may not work" in capsys.readouterr().out


@pytest.mark.parametrize("bad", ["plan", "workshop", "out"])
def test_what_cannot_be_read_or_written_is_one_line(tmp_path, bad):
    plan, out, shop = SINGLE, tmp_path / "out", ROOT / "data" / "workshop-demo.toml"
    if bad == "plan":
        plan = tmp_path / "none.toml"
    elif bad == "workshop":
        shop = tmp_path / "none.toml"
    else:
        out.write_text("a file")
    with pytest.raises(Failure) as caught:
        run(plan, "--out", out, "--workshop", shop)
    assert "Fix:" in str(caught.value)
    assert "\n" not in str(caught.value)

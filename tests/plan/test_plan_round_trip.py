"""A plan read and written is the same plan, and its text keeps what was not changed."""

import os
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from random_plans import plans

from aquacalc.catalogue import data_dir
from aquacalc.plan import check_plan, edit, plan_from_text, read_plan, save_plan, write_plan
from aquacalc.plan.network import host_of

pytestmark = pytest.mark.identity
FILES = sorted(
    [*(data_dir() / "plans").glob("*.toml"), *(Path(__file__).parents[1] / "plans").glob("*.toml")]
)
GREENHOUSE = data_dir() / "plans" / "greenhouse.toml"


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_file_read_and_written_is_the_same_text(path):
    plan = read_plan(path)
    assert write_plan(plan) == path.read_text(encoding="utf-8")
    assert plan_from_text(write_plan(replace(plan, text=""))) == plan
    assert "invented" in plan.note


def test_the_layouts_are_there():
    assert {p.stem for p in FILES} >= {
        "greenhouse", "spills-without-starting", "runs-on-without-stopping", "sump-overflows", "single",
        "series", "star", "inside-bed", "half-drums", "two-groups", "pump-curve", "side-outlets", "us-units",
    }  # fmt: skip


@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
@given(plans())
def test_any_plan_survives_its_text(plan):
    check_plan(plan)
    text = write_plan(plan)
    again = plan_from_text(text)
    assert again == plan
    assert write_plan(again) == text
    assert set(host_of(plan).values()) == {s.host for s in plan.siphons}


@settings(max_examples=20, deadline=None, suppress_health_check=list(HealthCheck))
@given(plans(), plans())
def test_text_of_one_plan_patched_to_another(plan, other):
    """The hardest edit: everything changes, tables come and go."""
    text = write_plan(plan)
    changed = replace(other, text=text)
    assert plan_from_text(write_plan(changed)) == other


def test_only_changed_keys_are_rewritten():
    plan = read_plan(GREENHOUSE)
    new = edit.put(plan, {"siphon.standpipe.lip_diameter": 0.0521, "bed.bed 2.floor": 0.71})
    before, after = plan.text.splitlines(), write_plan(new).splitlines()
    assert len(before) == len(after)
    different = [(a, b) for a, b in zip(before, after, strict=True) if a != b]
    assert different == [
        ('floor = "0.700 m"', 'floor = "0.71 m"'),
        (
            'lip_diameter = "40.9 mm"     # a reducer from 1-1/2 in to 1 in',
            'lip_diameter = "52.1 mm"     # a reducer from 1-1/2 in to 1 in',
        ),
    ]


def test_unit_of_the_text_is_kept():
    plan = read_plan(Path(__file__).parents[1] / "plans" / "us-units.toml")
    text = write_plan(edit.put(plan, {"pump.flow": 3e-4, "bed.trough.media_depth": 0.254}))
    assert 'media_depth = "10 in"' in text
    assert plan_from_text(text).pump.flow == 3e-4
    assert "gpm" in text.partition("[pump]")[2]


@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_line_ends_and_byte_order_mark_are_kept(tmp_path, mark):
    data = (mark + GREENHOUSE.read_text(encoding="utf-8").replace("\n", "\r\n")).encode("utf-8")
    path = tmp_path / "plan.toml"
    path.write_bytes(data)
    plan = read_plan(path)
    assert plan == read_plan(GREENHOUSE)
    assert write_plan(plan).encode("utf-8") == data
    text = write_plan(edit.put(plan, {"pump.flow": 2e-4, "siphon.priming.froude": 0.6}))
    assert text.startswith(mark)
    assert text.count("\r\n") == text.count("\n") == data.count(b"\n") + 3
    assert plan_from_text(text).pump.flow == 2e-4


def test_beds_added_and_removed():
    plan = read_plan(GREENHOUSE)
    third = plan.beds[2]
    runs = tuple(r for r in plan.runs if r.start not in ("bed 3", "tee 2"))
    straight = replace(plan.runs[2], to="chamber", outfall=0.56, fittings=plan.runs[4].fittings)
    less = replace(
        plan,
        beds=plan.beds[:2],
        tees=plan.tees[:1],
        runs=(*[r for r in runs if r.start != "tee 3"], straight),
    )
    text = write_plan(less)
    assert plan_from_text(text) == less
    assert "bed 3" not in text.replace("beds 2 and 3", "")
    more = replace(plan, beds=(*plan.beds, replace(third, name="bed 4")))
    more = replace(more, runs=(*plan.runs, replace(plan.runs[3], start="bed 4")))
    assert plan_from_text(write_plan(more)) == more


def test_saving_never_overwrites_unasked(tmp_path):
    plan = read_plan(GREENHOUSE)
    path = tmp_path / "mine.toml"
    save_plan(plan, path)
    assert path.read_bytes() == GREENHOUSE.read_bytes()
    changed = edit.put(plan, {"pump.flow": 2e-4})
    with pytest.raises(FileExistsError, match=r"mine\.toml"):
        save_plan(changed, path)
    assert path.read_bytes() == GREENHOUSE.read_bytes()
    save_plan(changed, path, force=True)
    assert read_plan(path) == changed
    with pytest.raises(OSError, match="none"):
        save_plan(plan, tmp_path / "none" / "mine.toml")
    assert os.listdir(tmp_path) == ["mine.toml"]

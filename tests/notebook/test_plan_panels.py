"""Panels of a plan, without a browser: values, words, picture, units, saving."""

import gc
import re
import shutil

import pytest

from aquacalc.catalogue import data_dir
from aquacalc.equations.formulas import GRAVITY, choking_flow, lip_head
from aquacalc.figures.section import STAGES
from aquacalc.findings import find
from aquacalc.notebook import (
    BedPanel,
    BedsPanel,
    LipPanel,
    SumpPanel,
    demo_plan,
    open_plan,
    plan_panel,
    units,
    use,
)
from aquacalc.notebook.drain_panels import BendsPanel
from aquacalc.notebook.panel_pictures import Section
from aquacalc.notebook.strainer_panels import StrainerPanel, openings_panel
from aquacalc.notebook.tuning_panels import FittedPanel
from aquacalc.plan import check_plan, read_plan
from aquacalc.results.cycle import run_plan
from aquacalc.results.window import inflow_window, sump_range
from aquacalc.units import show
from tests.figures.checks import clear

EVERY = (LipPanel, BedPanel, BedsPanel, SumpPanel, BendsPanel, StrainerPanel)
PANELS = {"lip": LipPanel, "bed": BedPanel, "beds": BedsPanel, "sump": SumpPanel}


@pytest.fixture(scope="module")
def demo():
    return read_plan(data_dir() / "plans" / "greenhouse.toml")


@pytest.fixture(scope="module")
def one_bed():
    return read_plan(data_dir() / "plans" / "one-bed.toml")


@pytest.mark.identity
@pytest.mark.parametrize("name", PANELS)
def test_untouched_panel_gives_back_the_very_plan(demo, name):
    assert PANELS[name](demo).plan == demo


@pytest.mark.identity
@pytest.mark.parametrize("name", PANELS)
def test_every_slider_changes_plan_words_and_picture(demo, name):
    panel = PANELS[name](demo)
    for key, knob in panel.knobs.items():
        plan, text, picture = panel.plan, panel.text, panel.above
        for kind in panel.kinds:  # one picture at least shows it
            panel.chooser.value = kind
        before = {kind: panel.drawn[kind].svg(panel._state()) for kind in panel.kinds}
        start = knob.value if hasattr(knob, "list") else knob.si
        if hasattr(knob, "list"):
            sizes = [size for _, size in knob.slider._options_full]
            panel.set(**{key: sizes[sizes.index(start) - 1]})
        else:
            knob.slider.value = round(knob.slider.value - 4 * knob.step, 6)
        after = {kind: panel.drawn[kind].svg(panel._state()) for kind in panel.kinds}
        assert panel.plan != plan, key
        assert panel.text != text, key
        assert any(before[kind] != after[kind] for kind in panel.kinds), key
        assert panel.above == after[panel.chooser.value]
        assert "<svg" in picture
        check_plan(panel.plan)
        panel.set(**{key: start})
        assert panel.plan == plan, key


def test_a_full_collection_of_rubbish_does_not_hold_up_a_slider(demo):
    BedPanel(demo)
    watched = len(gc.get_objects())
    assert watched < 5_000, f"{watched} objects to go through while a key is held"


@pytest.mark.identity
def test_words_are_those_of_the_library(one_bed):
    panel = BedPanel(one_bed)
    panel.set(standpipe=0.400, inflow=12 / 60e3, bore="3/4 in")
    run = run_plan(panel.plan)
    assert panel.plan.siphons[0].standpipe.height == 0.400
    assert panel.plan.siphons[0].tail.pipe.size == "3/4 in"
    assert panel.plan.pump.flow == 12 / 60e3
    group = run.groups[0]
    assert f"a cycle takes {show(group.period, 'time')}" in panel.text
    assert f"draining {show(group.drain_time, 'time')}" in panel.text
    for finding in find(run):
        told = f"{finding.title.lower()} ({finding.subject})"
        assert (told in panel.text) == (finding.state != "good")


@pytest.mark.identity
def test_lip_panel_says_where_it_starts_and_how_high(demo):
    panel = LipPanel(demo)
    panel.set(lip=0.050, bore="3/4 in")
    siphon = panel.plan.siphons[0]
    bore = siphon.standpipe.pipe.bore
    flow = choking_flow(0.55, bore, GRAVITY)
    assert show(flow, "flow") in panel.text
    assert show(lip_head(1.71, 0.60, 0.050, flow, GRAVITY), "head") in panel.text
    assert show(lip_head(1.71, 0.60, bore, flow, GRAVITY), "head") in panel.text
    window = inflow_window(panel.plan, siphon, panel.run)
    assert show(window.stop, "flow") in panel.text


@pytest.mark.identity
def test_lip_panel_says_at_every_flow_what_happens_and_draws_it(demo):
    panel = LipPanel(demo)
    said, drawn = {}, {}
    for litres in (5, 8, 18, 40):
        panel.set(inflow=litres / 60e3)
        said[litres], drawn[litres] = panel.text, panel.above
    assert "never starts" in said[5]
    assert "then stands" not in said[5]
    assert "may start" in said[8]
    assert "never stops" in said[40]
    for litres in (5, 8, 18):
        assert "never stops" not in said[litres]
    assert len(set(drawn.values())) >= 3  # from the flow that fills it on, the water rises no further
    assert drawn[5].count(">air<") == 3
    assert drawn[18].count(">air<") == 1  # in the pipe that is as wide as the lip all the way
    assert "only trickles" in said[8]


@pytest.mark.identity
def test_pump_with_a_curve_begins_at_what_it_delivers():
    plan = read_plan(data_dir().parent / "tests" / "plans" / "pump-curve.toml")
    panel = BedPanel(plan)
    assert panel.knobs["inflow"].si == pytest.approx(run_plan(plan).pump)
    assert panel.plan == plan


@pytest.mark.identity
def test_lip_is_never_narrower_than_the_bore(demo):
    panel = LipPanel(demo)
    panel.set(lip=0.016)
    stand = panel.plan.siphons[0].standpipe
    assert stand.lip_diameter == stand.pipe.bore
    check_plan(panel.plan)


@pytest.mark.identity
def test_sump_panel_says_the_swing(demo):
    panel = SumpPanel(demo)
    panel.set(sump=0.8)
    levels = sump_range(panel.plan, run_plan(panel.plan))
    assert show(levels.low, "elevation") in panel.text
    assert show(levels.high, "elevation") in panel.text


@pytest.mark.identity
def test_moment_moves_the_water_only(demo):
    panel = BedPanel(demo)
    words, first = panel.text, panel.above
    panel.moment.slider.value = 20
    assert panel.text == words
    assert panel.above != first
    trace = panel.run.trace
    start, end = panel.run.one_cycle("siphon")
    level = trace.level("bed 1", start + 0.2 * (end - start))
    assert show(level, "elevation") in panel.above


@pytest.mark.identity
def test_what_cannot_be_built_is_said_and_changes_nothing(demo):
    panel = LipPanel(demo)
    move = next(m for m in panel.moves if m.key == "lip")
    wide = panel.start.siphons[0].bell.bore
    panel.moves = tuple(
        type(m)(m.key, m.label, m.kind, m.get, lambda p, v, m=m: m.put(p, wide), m.low, m.high)
        if m is move else m for m in panel.moves
    )  # fmt: skip
    plan = panel.plan
    panel.set(lip=0.050)
    assert panel.text.startswith("This cannot be built")
    assert panel.plan is plan


@pytest.mark.identity
@pytest.mark.parametrize("name", PANELS)
def test_units_switch_changes_what_is_shown_and_not_the_plan(demo, name):
    panel = PANELS[name](demo)
    use("us")
    assert panel.plan == demo
    assert "gpm" in panel.text or "in;" in panel.text or "min" in panel.text
    assert not re.search(r"\d (L|L/min|mm|m|m²|kg)\b", panel.html + panel.above)
    for knob in panel.knobs.values():
        if not hasattr(knob, "list") and knob.unit:
            assert f"({knob.unit})" in knob.slider.description
    use("metric")
    assert "gpm" not in panel.text + panel.above


@pytest.mark.identity
def test_what_speaks_against_a_plan_is_said_in_the_units_chosen(one_bed):
    panel = BedPanel(one_bed)
    assert re.search(r"Each takes \d+ L of", panel.html)
    use("us")
    assert re.search(r"Each takes [\d.]+ gal of", panel.html)


@pytest.mark.identity
@pytest.mark.parametrize("name", PANELS)
def test_picture_after_moves_is_the_picture_drawn_afresh(demo, name):
    moved = PANELS[name](demo)
    key = next(k for k, knob in moved.knobs.items() if not hasattr(knob, "list"))
    knob = moved.knobs[key]
    goal = round(knob.slider.value - 3 * knob.step, 6)
    for k in (9, 1, 6, 3):
        knob.slider.value = round(knob.slider.value, 6) if k == 3 else knob.slider.min + k * knob.step
    knob.slider.value = goal
    for kind in moved.kinds:
        moved.chooser.value = kind
        state = moved._state()
        fresh = kind(state)
        if kind.name == "Levels":  # its time axis has grown on the way
            fresh.fixed = moved.drawn[kind].fixed
        came, made = (re.sub(r"panel\d+", "panel", x.svg(state)) for x in (moved.drawn[kind], fresh))
        assert came == made


@pytest.mark.identity
def test_saved_plan_opens_again_and_is_never_written_over(demo, tmp_path):
    panel = SumpPanel(demo)
    panel.set(standpipe=0.410)
    path = tmp_path / "my-plan.toml"
    panel.save(path)
    assert read_plan(path) == panel.plan
    assert open_plan(mine=path) == panel.plan
    panel.set(standpipe=0.400)
    with pytest.raises(FileExistsError):
        panel.save(path)
    assert read_plan(path).siphons[0].standpipe.height == 0.410
    panel.save(path, force=True)
    assert read_plan(path).siphons[0].standpipe.height == 0.400


@pytest.mark.identity
def test_save_button_asks_before_it_replaces(demo, tmp_path):
    panel = BedsPanel(demo)
    path = tmp_path / "a.toml"
    panel.saving.name.value = str(path)
    panel.saving.button.click()
    assert "Saved" in panel.note.value
    first = path.read_text()
    panel.set(standpipe=0.400)
    panel.saving.button.click()
    assert "there already" in panel.note.value
    assert path.read_text() == first
    panel.saving.replace.value = True
    panel.saving.button.click()
    assert read_plan(path).siphons[0].standpipe.height == 0.400
    assert panel.saving.replace.value is False
    panel.saving.name.value = str(tmp_path / "no" / "such.toml")
    panel.saving.button.click()
    assert "could not be written" in panel.note.value


@pytest.mark.identity
def test_without_a_saved_plan_the_demo_opens(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert open_plan("one-bed").name == "One bed of herbs"
    assert "invented" in capsys.readouterr().out


@pytest.mark.identity
def test_own_plan_sets_the_units_until_the_reader_chooses(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("aquacalc.notebook.reader_units._chosen", False)
    shutil.copy(data_dir().parent / "tests" / "plans" / "us-units.toml", "my-plan.toml")
    assert (open_plan().units, units()) == ("us", "us")
    use("metric")
    plan = open_plan()
    assert (plan.units, units()) == ("metric", "metric")
    BedPanel(plan).save("metric.toml")
    saved = read_plan("metric.toml")
    check_plan(saved)
    assert (saved.units, saved.pump, saved.beds) == ("metric", plan.pump, plan.beds)
    use("us")
    assert (open_plan("one-bed", mine="none.toml").units, demo_plan().units) == ("us", "us")


@pytest.mark.identity
@pytest.mark.parametrize("system", ["metric", "us"])
def test_what_cannot_be_built_is_said_in_the_units_chosen(demo, system):
    use(system)
    panel = BedPanel(demo)
    panel.set(standpipe=0.170)
    assert "cannot be built" in panel.text
    found = re.findall(r"\d (mm|m|in|ft)\b", panel.text)
    assert set(found) <= ({"mm", "m"} if system == "metric" else {"in", "ft"})
    assert found
    use("us" if system == "metric" else "metric")
    assert "cannot be built" in panel.text
    assert set(re.findall(r"\d (mm|m|in|ft)\b", panel.text)).isdisjoint(found)


@pytest.mark.identity
@pytest.mark.parametrize(
    ("kind", "system"), [*((kind, "metric") for kind in EVERY), (BedPanel, "us"), (SumpPanel, "us")]
)
def test_every_picture_is_clear_with_each_slider_at_its_ends(kind, system):
    use(system)
    panel = kind(demo_plan("one-bed" if kind is BedPanel else "greenhouse"))
    seen = set()
    for picture in panel.kinds:
        panel.chooser.value = picture
        for move in panel.moves:
            at = move.get(panel.start)
            for end in move.ends:
                panel.set(**{move.key: end})
                if "cannot be built" not in panel.text:
                    clear(picture.draw(panel._state(), **panel.drawn[picture].fixed))
                    seen.add((picture, move.key))
            panel.set(**{move.key: at})
    assert len(seen) == len(panel.kinds) * len(panel.moves)


@pytest.mark.identity
@pytest.mark.parametrize("name", PANELS)
def test_bundle_without_a_kernel_has_pictures_with_alt_text_and_words(demo, name):
    panel = PANELS[name](demo)
    data, _ = panel._repr_mimebundle_()
    assert data["text/plain"] == panel.text
    assert "\n" not in data["text/plain"]
    alts = re.findall(r'<img src="data:image/svg\+xml;base64,[^"]+" alt="([^"]{40,})"', data["text/html"])
    assert len(alts) == len(panel.kinds) + (Section in panel.kinds)  # a section is two drawings
    assert 'role="status"' in data["text/html"]
    assert 'role="img"' in panel.above
    assert re.search(r'aria-label="[^"]{40,}"', panel.above)


@pytest.mark.identity
def test_slow_start_is_said_until_the_solver_is_there(demo, monkeypatch):
    ready = []
    monkeypatch.setattr("aquacalc.notebook.compile_ahead.compiled.loaded", lambda: False)
    monkeypatch.setattr("aquacalc.notebook.compile_ahead.compiled.ready", lambda: False)
    monkeypatch.setattr("aquacalc.notebook.compile_ahead.runner.compile_aside", lambda: None)
    monkeypatch.setattr("aquacalc.notebook.compile_ahead.runner.compiling", lambda: not ready)
    panel = SumpPanel(demo)
    assert "compiled" in panel.note.value
    ready.append(True)
    panel.set(standpipe=0.410)
    assert panel.note.value == ""


@pytest.mark.identity
def test_sliders_and_boxes_have_names(demo):
    panel = BedPanel(demo)
    for knob in (*panel.knobs.values(), panel.moment):
        assert knob.slider.description
        assert knob.slider.tooltip
        assert (knob.list if hasattr(knob, "list") else knob.box).tooltip


@pytest.mark.identity
def test_water_plays_steps_and_follows_and_stands_still_at_first(demo):
    panel = BedPanel(demo)
    film = panel.film
    assert film.play.playing is False
    at, picture = panel.moment.si, panel.above
    film.on.click()
    assert panel.moment.si == at + 1
    assert panel.above != picture
    film.back.click()
    assert panel.moment.si == at
    film.play.value = 42  # as the page's clock does
    assert (panel.moment.si, panel.moment.slider.value) == (42.0, 42.0)
    use("us")
    panel.moment.slider.value = 100.0
    assert film.play.value == 100
    film.on.click()  # past the end it begins again
    assert panel.moment.si == 0.0
    film.speed.value = "slow"
    assert film.play.interval == 400


@pytest.mark.identity
def test_stage_is_said_in_the_picture_air_is_named_and_arrows_follow_the_flow(demo):
    panel = BedPanel(demo)
    panel.chooser.value = panel.kinds[0]
    view = panel.drawn[panel.kinds[0]].fixed["view"]
    run, siphon = panel.run, demo.siphons[0].name
    group = run.group(siphon)
    stages = {
        "filling": group.began + 0.5 * group.fill_time,
        "siphoning": group.began + group.fill_time + group.spill_time + group.priming_time + 5.0,
    }
    arrows = {}
    for stage, t in stages.items():
        whole, close = view.show(panel.plan, run, t).parts
        assert 'class="stage"' in whole.svg()
        assert STAGES[stage] in whole.svg()
        assert f'data-stage="{stage}"' in close.svg()
        assert ">air<" in close.svg()  # which the style sheet hides while the pipe runs full
        arrows[stage] = len(re.findall(r"scale\((?!0\))", whole.svg()))
    assert arrows["siphoning"] > arrows["filling"] > 0  # the tail runs only then


@pytest.mark.parametrize("keep", [True, False])
def test_a_plan_fitted_to_invented_readings_cannot_be_saved(demo, keep):
    panel = FittedPanel(demo, keep=keep)
    assert (panel.saving.button in panel.saving.children) is keep
    assert ("cannot be saved" in panel.saving.children[0].value) is not keep


@pytest.mark.identity
@pytest.mark.parametrize("name", ["spills-without-starting", "runs-on-without-stopping"])
def test_a_plan_that_does_not_cycle_is_shown_at_its_end(name):
    panel = LipPanel(read_plan(data_dir() / "plans" / f"{name}.toml"))
    assert panel.run.groups[0].outcome != "cycles"
    assert panel.moment.si == 100


@pytest.mark.identity
def test_openings_are_moved_from_one_on(demo):
    knobs = openings_panel(demo).knobs
    ends = {key: (knob.slider.min, knob.slider.max, knob.si) for key, knob in knobs.items()}
    assert ends == {"n": (1, 60, 28), "w": (1, 8, 0.003), "l": (5, 60, 0.025)}


@pytest.mark.identity
def test_the_note_on_compiling_stays_until_it_is_there(monkeypatch):
    """Moved meanwhile, a slider leaves the note alone; moved after, it takes it away, and no other."""
    ready = [False]
    monkeypatch.setattr(plan_panel, "there", lambda: ready[0])
    monkeypatch.setattr(plan_panel, "prepare", lambda say: say("Compiling."))
    panel = LipPanel(demo_plan())
    knob = next(knob for knob in panel.knobs.values() if hasattr(knob, "box"))
    for now, noted in ((False, True), (True, False)):
        ready[0] = now
        knob.box.value = knob.box.value + knob.step
        assert ("Compiling." in panel.note.value) == noted
    panel._say_note("Else.")
    knob.box.value = knob.box.value - knob.step
    assert "Else." in panel.note.value

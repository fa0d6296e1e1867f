"""What the sliders of a live page do to a plan, in Python; `tests/browser/test_live_pages.py` moves them."""

import ast
import math
import re
import socket
import threading
from dataclasses import replace
from http.client import HTTPConnection
from pathlib import Path

import pytest

from aquacalc.__main__ import main
from aquacalc.files import MARK
from aquacalc.findings import find, verdict
from aquacalc.live import ENGINE
from aquacalc.live.answer import answer, drawn, told
from aquacalc.live.charts import levels
from aquacalc.live.emit import Emitter
from aquacalc.live.equations import FUNCTIONS, SYMBOLS, solved
from aquacalc.live.expressions import NotTranslated
from aquacalc.live.page import own_number
from aquacalc.live.serve import own_address, server
from aquacalc.live.settings import SETTINGS, moved, value_at
from aquacalc.live.sliders import _kind, _text, grid, saved, sliders
from aquacalc.live.translate import KNOWN
from aquacalc.plan import plan_from_text, read_plan
from aquacalc.plan.check import contradictions
from aquacalc.results.cycle import run_plan
from aquacalc.units import in_unit
from tests.plan.generated import plan_text
from tests.report.test_text import PLANS

pytestmark = pytest.mark.identity
NAMES = ("greenhouse", "one-bed", "two-groups", "us-units")


#: A name that only the translation has, and where one is declared: functions, values, what they are given.
NAME = re.compile(r"(?<![\w$.])_\d*[a-z]\b")
DECLARED = re.compile(
    r"(?:(?:\bfunction\*? ?|\bclass |catch\()(_\d*[a-z])\b|(?:\b(?:const|let) |,)(_\d*[a-z])=(?![=>])"
    r"|(_\d*[a-z])\)?=>)"
)


def undeclared(code):
    return {*NAME.findall(code)} - {name for found in DECLARED.findall(code) for name in found}


def test_every_name_of_the_translation_is_declared():
    """Also where no run comes to, which a browser would only notice there."""
    assert len({*NAME.findall(ENGINE)}) > 300
    assert undeclared(ENGINE) == set()
    assert undeclared(ENGINE.replace("return", "return _999z(_a)||", 1)) == {"_999z"}


def value_of(slider, number):
    return slider.sizes[number] if slider.sizes else number * slider.per / slider.over


@pytest.mark.parametrize("name", NAMES)
def test_a_slider_moves_what_it_names_and_nothing_else(name):
    plan = read_plan(PLANS[name])
    found = sliders(plan, plan.units)
    assert [s.key for s in found] == sorted((s.key for s in found), key=list(SETTINGS).index)
    for slider in found:
        own = {path: value_at(plan, list(fields)) for path, fields in slider.paths}
        assert slider.low < slider.high, slider.key
        for number in (slider.low, slider.high):
            value = value_of(slider, number)
            new = moved(plan, [(slider.key, slider.place, value)])
            now = {path: value_at(new, list(fields)) for path, fields in slider.paths}
            path = next(iter(own))
            wanted = value.size if slider.sizes else value
            if slider.key == "lip":  # never narrower than its pipe
                wanted = max(wanted, plan.siphons[slider.place].standpipe.pipe.bore)
            if slider.key == "room":  # over the lip, where the file has the top over the floor
                wanted += plan.siphons[slider.place].standpipe.height
            assert now[path] == (wanted if slider.sizes else pytest.approx(wanted, rel=1e-9)), slider.key
            back = moved(new, [(slider.key, slider.place, start_of(slider, plan))])
            untouched = {other: value_at(back, list(fields)) for other, fields in slider.paths}
            if slider.key not in (
                "lip",
                "bore",
                "drains",
            ):  # a bore widens the lip, and stretches a short drop
                assert untouched == pytest.approx(own), slider.key


def start_of(slider, plan):
    return slider.start if not slider.sizes else plan.runs[0].pipe


@pytest.mark.parametrize("name", NAMES)
def test_a_page_keeps_the_plan_and_answers_as_the_report(name):
    plan = read_plan(PLANS[name])
    _, pieces = saved(plan, sliders(plan, plan.units))
    text = "".join(piece["before"] for piece in pieces)
    assert plan_from_text(text) == replace(plan, text="")
    found = answer(plan, [])
    assert found.faults == ()
    assert found.verdict == verdict(find(run_plan(plan)))
    markup = drawn(found, 400.0) | told(found, 400.0)
    assert set(markup) == {"result", "levels", "window", "findings"}
    assert markup["window"].count("<svg") == len(plan.siphons)


@pytest.mark.parametrize("name", ["pump-curve", "minimal", 1003, 1011, 1025])
def test_only_what_a_slider_moves_becomes_given(name):
    """1011 and 1025 have their tables in an order of their own, 1003 a curve with other keys after it."""
    plan = plan_from_text(plan_text(name)) if isinstance(name, int) else read_plan(PLANS[name])
    found = sliders(plan, plan.units)
    paths, pieces = saved(plan, found)
    for slider in found:
        own = {path for path, _ in slider.paths}
        number = slider.low if slider.sizes else min(own_number(slider) + 1, slider.high)
        new = moved(plan, [(slider.key, slider.place, value_of(slider, number))])
        if contradictions(new):  # which the page refuses
            continue
        text = ""
        for piece in pieces:
            parts = piece.get("after", [])
            values = {k: value_at(new, list(paths[k].fields)) for k in parts if isinstance(k, int)}
            if all(value == paths[k].start for k, value in values.items()):
                text += piece["before"]
                continue
            shown = {k: _text(value, _kind(paths[k].path), "metric") for k, value in values.items()}
            text += "".join(shown[part] if isinstance(part, int) else part for part in parts)
        again = plan_from_text(text)
        other = {k for k in {*plan.marks, *again.marks} if plan.marks.get(k) != again.marks.get(k)}
        assert other <= own | ({"pump.curve"} if slider.key == "flow" else set()), (slider.key, other)


def test_what_cannot_be_built_is_said_and_not_run():
    plan = read_plan(PLANS["greenhouse"])
    found = answer(plan, [("rim", 0, plan.siphons[0].standpipe.height + 0.1)])
    assert found.run is None
    assert found.verdict == ""
    assert any("rim_height" in fault or "rim height" in fault for fault in found.faults), found.faults


def test_flows_of_the_window_are_in_the_readers_unit():
    plan = read_plan(PLANS["greenhouse"])
    for system, unit in (("metric", "L/min"), ("us", "gpm")):
        shown = told(answer(replace(plan, units=system), []), 400.0)["window"]
        assert unit in shown


def test_what_cannot_be_served_is_one_sentence(tmp_path, capsys):
    """No page of ours; a port that is none; one that another program has."""
    (tmp_path / "other.html").write_text("<p>mine</p>", encoding="utf-8")
    ours = tmp_path / "ours"
    ours.mkdir()
    (ours / "one.html").write_text(f"<html>{MARK}</html>", encoding="utf-8")
    with socket.create_server(("", 0)) as taken:
        port = taken.getsockname()[1]
        for argv, said in (
            ((tmp_path,), f"{tmp_path}: holds no page that aquacalc wrote. Fix: write one with --out"),
            ((tmp_path / "none",), "holds no page"),
            ((ours, "--port", "99999"), "port 99999: not from 0 to 65535. Fix: name another"),
            ((ours, "--port", "-1"), "port -1: not from 0 to 65535"),
            ((ours, "--port", port), f"port {port}: Address already in use. Fix: name another with --port"),
        ):
            assert main(["live", "--serve", *map(str, argv)]) == 2
            assert said in capsys.readouterr().err
    assert main(["live"]) == 2
    assert "--out FILE.html, or --serve FOLDER" in capsys.readouterr().err


def test_only_pages_of_ours_are_served(tmp_path):
    """Names that climb out of the folder, other files, and pages of others are not found."""
    (tmp_path / "in").mkdir()
    for name, text in {"in/a b.html": f"<html>{MARK} é</html>", "in/other.html": "<p>", "in/plan.toml": "x",
                       "out.html": MARK}.items():  # fmt: skip
        Path(tmp_path, name).write_text(text, encoding="utf-8")
    with server(tmp_path / "in", "127.0.0.1", 0) as made:
        threading.Thread(target=made.serve_forever, kwargs={"poll_interval": 0.01}, daemon=True).start()
        ask = HTTPConnection("127.0.0.1", made.server_port)
        found = {}
        for path in (
            "/",
            "/a%20b.html?x=1",
            "/other.html",
            "/plan.toml",
            "/../out.html",
            "/..%2Fout.html",
            "/in",
        ):
            ask.request("GET", path)
            answer_ = ask.getresponse()
            found[path] = answer_.status, answer_.read().decode()
            ask.close()
        made.shutdown()
    assert [status for status, _ in found.values()] == [200, 200, 404, 404, 404, 404, 404]
    assert '<li><a href="/a%20b.html">a b.html</a></li></ul>' in found["/"][1]
    assert found["/a%20b.html?x=1"][1] == f"<html>{MARK} é</html>"
    assert own_address().count(".") == 3


@pytest.mark.parametrize("text", ["list[float]()", "list @ float", "max(list, key=list.get)"])
def test_what_has_no_translation_is_refused(text):
    emitter = Emitter(
        {"list": list, "float": float}.get, KNOWN.__getitem__, lambda thing: None, "here", False
    )
    with pytest.raises(NotTranslated, match="here, line 1"):
        emitter.expr(ast.parse(text, mode="eval").body)


@pytest.mark.parametrize("key", SYMBOLS)
def test_a_slider_of_an_equation_finds_the_symbol_that_gives_the_result(key):
    """From 1.1, 1.2, 1.3 and so on the result is worked out; halving finds each that it rises with."""
    output, *inputs = [name for name, *_ in SYMBOLS[key]]
    given = {name: 1.1 + 0.1 * n for n, name in enumerate(inputs)}
    values = given | {output: FUNCTIONS[key](*given.values())}
    rises = []
    for name in inputs:
        found = [
            FUNCTIONS[key](*(given | {name: x}).values()) for x in (0.01, 0.2, given[name], 3.0, 40.0, 900.0)
        ]
        rises += [name] if found == sorted(set(found)) else []
    assert rises
    for name in (output, *rises):
        assert solved(key, name, values | {name: math.nan}) == pytest.approx(values[name], rel=1e-12), name


@pytest.mark.parametrize(("kind", "system", "start", "ends", "step"), [
    ("flow", "metric", 18.1 / 60e3, (5 / 60e3, 40 / 60e3), 0.2), ("length", "metric", 0.43, (0.2, 0.6), 1.0),
    ("volume", "metric", 0.0121, (0.0, 0.0301), 0.1), ("time", "metric", 60.0, (0.0, 600.0), 1.0),
    ("volume", "metric", 0.0121, (0.0121, 0.0121), 1.0), ("length", "us", 0.43, (0.2, 0.6), 0.05),
    ("flow", "us", 18.1 / 60e3, (5 / 60e3, 40 / 60e3), 0.05), ("elevation", "us", 0.4, (0.2, 0.6), 0.2),
    ("elevation", "metric", 0.4, (0.2, 0.6), 0.005), ("ratio", "us", 0.3, (0.1, 0.6), 0.01),
])  # fmt: skip
def test_a_sliders_grid_holds_its_start_and_ends_inside_its_range(kind, system, start, ends, step):
    """Without a step of its own a slider has one of 1, 10, 0.1 ... so that 200 to 2000 are in its range."""
    made = grid("key", "label", kind, system, start, ends)
    assert made.step == pytest.approx(step)
    size = made.per / made.over
    assert size == pytest.approx(step * in_unit_size(kind, system), rel=1e-12)
    assert made.low * size == pytest.approx(min(max(ends[0], made.low * size), start), abs=size)
    assert ends[0] - 1e-9 * size <= made.low * size < ends[0] + size or made.low == round(start / size)
    assert ends[1] - size < made.high * size <= ends[1] + 1e-5 * size or made.high == round(start / size)
    assert made.low <= round(start / size) <= made.high
    assert made.decimals == len(f"{step:.10f}".rstrip("0").partition(".")[2])


def in_unit_size(kind, system):
    return 1.0 / in_unit(1.0, kind, system)[0]


@pytest.mark.parametrize("system", ["us", "metric"])
def test_ticks_of_the_levels_are_where_the_lips_say(system):
    """Round numbers of the reader's unit from the lowest to the highest level, on the scale of the lines."""
    plan = read_plan(PLANS["greenhouse"])
    run = run_plan(replace(plan, units=system, sump=replace(plan.sump, floor=plan.sump.floor - 0.5)))
    drawn, per = levels(run, 480.0), in_unit(1.0, "elevation", run.plan.units)[0]
    ticks = re.findall(r'class="end" x="[\d.]+" y="([\d.]+)">([^<]+)<', drawn)
    places = {float(text.replace("\u2212", "-")): float(y) - 4.0 for y, text in ticks}
    assert len(places) >= 3
    (lip, *_) = (float(y) for y in re.findall(r'class="mark" d="M[\d.]+ ([\d.]+)h', drawn))
    (low, y0), *_, (high, y1) = sorted(places.items())
    level = per * run.plan.lip_level(run.plan.siphons[0])
    assert y0 + (level - low) * (y1 - y0) / (high - low) == pytest.approx(lip, abs=0.3)
    shown = [per * z for n in run.nodes for z in (n.low, n.high) if not n.junction]
    shown += [per * run.sump_low, per * run.sump_high]
    step = (high - low) / (len(places) - 1)
    assert low - step < min(shown) <= low
    assert high <= max(shown) < high + step

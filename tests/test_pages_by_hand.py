"""Files, pages, what is served, and values of evidence, each at its limits and by hand."""

import base64
import http.client
import json
import math
import threading
import zlib
from dataclasses import replace

import pytest

from aquacalc import files
from aquacalc.catalogue import data_dir
from aquacalc.evidence import choices, outside
from aquacalc.evidence.given import Given, parse
from aquacalc.evidence.kinds import best
from aquacalc.failure import AlreadyThere, NotWritten
from aquacalc.files import MARK, check_folder, check_target, is_ours, write_file, write_folder
from aquacalc.live import page as live
from aquacalc.live import serve
from aquacalc.live.sliders import sliders
from aquacalc.pages import maths
from aquacalc.pages.skeleton import packed, skeleton
from aquacalc.plan.read import read_plan

pytestmark = pytest.mark.identity
DEMO = data_dir() / "plans" / "greenhouse.toml"


# Files


def test_a_mark_counts_in_the_head_of_a_file_only(tmp_path):
    page = tmp_path / "page.html"
    for blanks, ours in ((4096 - len(MARK), True), (4097 - len(MARK), False)):
        page.write_text(" " * blanks + MARK)
        assert is_ours(page) == ours
    assert not is_ours(tmp_path / "none.html")
    assert not is_ours(tmp_path)


@pytest.mark.parametrize(("there", "more"), [(1, ""), (2, " and 1 more"), (3, " and 2 more")])
def test_files_that_are_there_are_counted(tmp_path, there, more):
    for name in ("a", "b", "c")[:there]:
        (tmp_path / name).write_text("mine")
    with pytest.raises(AlreadyThere) as caught:
        check_folder(tmp_path, ("c", "b", "a"))
    assert str(caught.value).startswith(f"{tmp_path / 'a'}{more}: there already.")
    assert check_folder(tmp_path, ("d",)) == tmp_path


def test_a_folder_is_no_file_and_no_link(tmp_path):
    (tmp_path / "file").write_text("")
    (tmp_path / "real").mkdir()
    (tmp_path / "link").symlink_to(tmp_path / "real")
    for name in ("file", "link"):
        with pytest.raises(NotWritten, match="is not a folder"):
            check_folder(tmp_path / name, ("a",))
    assert check_folder(tmp_path / "real", ("a",)) == tmp_path / "real"


@pytest.mark.parametrize("writable", [True, False])
def test_rights_are_asked_of_the_folder_that_is_there(tmp_path, monkeypatch, writable):
    asked = []
    monkeypatch.setattr(files.os, "access", lambda path, how: asked.append((path, how)) or writable)
    if writable:
        check_folder(tmp_path / "new" / "er", ("a",))
        assert asked == [(tmp_path, files.os.W_OK | files.os.X_OK)] * 2
        asked.clear()
        check_folder(tmp_path, ("a",))
        assert [path for path, _ in asked] == [tmp_path, tmp_path.parent]
    else:
        with pytest.raises(NotWritten, match="Permission denied"):
            check_folder(tmp_path, ("a",))


def test_what_it_is_made_from_is_known_by_any_name(tmp_path):
    path, other = tmp_path / "plan.toml", tmp_path / "other.toml"
    path.write_text("plan")
    other.write_text("other")
    assert check_target(other, source=path, force=True) == other
    assert check_target(other, source=tmp_path / "gone", force=True) == other
    with pytest.raises(NotWritten, match="is what it is made from"):
        check_target(tmp_path / "." / "plan.toml", source=path, force=True)


def test_unless_told_nothing_is_replaced_not_even_a_page_of_ours(tmp_path):
    page = tmp_path / "page.html"
    page.write_text(f'{MARK} 1">')
    with pytest.raises(AlreadyThere, match="is there already\\. Fix"):
        check_target(page)
    assert check_target(page, ours=True) == check_target(page, force=True) == page


def test_what_is_new_has_the_users_rights_and_what_is_left_over_goes(tmp_path):
    (made,) = write_folder(tmp_path / "a" / "b", {"deep/c.txt": "é"})
    assert made.read_bytes() == "é".encode()
    assert made.stat().st_mode & 0o777 == 0o666 & ~files._umask()
    assert made.parent.parent.stat().st_mode & 0o777 == 0o777 & ~files._umask()
    left = tmp_path / "a" / f"{files._beside(made.parent.parent)}old"
    left.mkdir()
    (left / "x").write_text("")
    write_folder(tmp_path / "a" / "b", {"d.txt": b"1"})
    assert not left.exists()
    assert (tmp_path / "a" / "b" / "deep" / "c.txt").exists()
    assert len(files._beside(tmp_path / ("n" * 99))) == 1 + 50 + len(files._PART)
    empty = tmp_path / "empty"
    empty.mkdir()
    write_folder(empty, {"x/y.txt": "1"})
    assert (empty / "x" / "y.txt").read_text() == "1"
    write_folder(empty, {"z/y.txt": "2"})
    assert (empty / "z" / "y.txt").read_text() == "2"


def test_an_error_without_a_reason_of_the_system_is_said_in_its_own_words(tmp_path):
    with pytest.raises(NotWritten, match=r"cannot be written \(embedded null"), files._said(tmp_path, "do"):
        raise ValueError("embedded null byte")
    with (
        pytest.raises(NotWritten, match=r"x: cannot be written \(No room\)\. Fix: do\."),
        files._said("x", "do"),
    ):
        raise OSError(28, "No room")
    path = write_file(tmp_path / "a.html", "1")
    assert path.read_text() == "1"


# Pages


def test_a_page_names_the_hash_of_each_style_once_and_of_its_scripts():
    body = "<style>a</style><style>b</style><style>a</style>"
    still = skeleton("T", body, kind="report")
    assert still.count(maths_hash("a")) == 1
    assert maths_hash("b") in still
    assert "script-src" not in still
    runs = skeleton("T", body, kind="report", scripts=("one;", "two;"))
    assert maths_hash("one;\ntwo;") in runs
    program = runs.partition('id="program"')[2].partition(">")[2].partition("<")[0].strip()
    assert zlib.decompress(base64.b64decode(program)).decode() == "one;\ntwo;"
    assert packed("one;\ntwo;") == program


def maths_hash(text):
    from hashlib import sha256

    return f"'sha256-{base64.b64encode(sha256(text.encode()).digest()).decode()}'"


def test_units_in_math_are_text():
    made = maths.mathml(r"A = 1\,\mathrm{cm^{2}}", "A = 1 cm²")
    assert "cm²" in made
    assert made.count('displaystyle="true"') == 1
    assert 'alttext="A = 1 cm²"' in made
    assert "xmlns" not in made
    assert maths._UNIT.sub(maths._unit, r"\mathrm{m^{3}}") == r"\text{m³}"


def test_a_source_that_was_read_elsewhere_says_where():
    from aquacalc.equations import RECORDS

    seen = {key: maths.source_text(record) for key, record in RECORDS.items()}
    for key, record in RECORDS.items():
        read = record.source.read and record.source.read != record.source.primary
        assert ("; read in " in seen[key]) == bool(read), key
        assert seen[key].startswith(record.source.primary or "no source"), key


# Live pages


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    folder = tmp_path_factory.mktemp("pages")
    (folder / "a b.html").write_text(f'{MARK} 1">one')
    (folder / "theirs.html").write_text("two")
    (folder / "plan.toml").write_text(f'{MARK} 1">three')
    (folder / "dir.html").mkdir()
    made = serve.server(folder, "127.0.0.1", 0)
    assert made.daemon_threads is True
    threading.Thread(target=made.serve_forever, daemon=True).start()
    yield made.server_port
    made.shutdown()
    made.server_close()


@pytest.mark.parametrize(
    ("path", "status", "says"),
    [
        ("/", 200, '<a href="/a%20b.html">a b.html</a>'), ("/?x=1", 200, "<h1>Live pages</h1>"),
        ("/a%20b.html", 200, "one"), ("/a%20b.html?x", 200, "one"), ("/theirs.html", 404, ""),
        ("/plan.toml", 404, ""), ("/dir.html", 404, ""), ("/../plan.toml", 404, ""),
    ],
)  # fmt: skip
def test_only_our_pages_are_served(served, path, status, says):
    asked = http.client.HTTPConnection("127.0.0.1", served, timeout=30)
    asked.request("GET", path)
    answer = asked.getresponse()
    body = answer.read().decode()
    assert answer.status == status
    assert says in body
    assert "theirs" not in body
    if status == 200:
        assert answer.getheader("Content-Length") == str(len(body.encode()))
        assert answer.getheader("X-Content-Type-Options") == "nosniff"
    asked.close()


def test_a_machine_on_no_network_is_at_home(monkeypatch):
    class Probe:
        def __init__(self, *args): ...
        def __enter__(self):
            return self

        def __exit__(self, *args): ...
        def connect(self, address):
            raise OSError

        def getsockname(self):
            return ("10.0.0.7", 1)

    monkeypatch.setattr(serve.socket, "socket", Probe)
    assert serve.own_address() == "127.0.0.1"
    monkeypatch.setattr(Probe, "connect", lambda self, address: None)
    assert serve.own_address() == "10.0.0.7"


def test_a_slider_of_a_page_stands_at_the_plans_own_value():
    """Numbers of a slider times per over over are SI."""
    for slider in sliders(read_plan(DEMO), "metric"):
        own = live.own_number(slider)
        step = slider.per / slider.over
        assert abs(own * step - slider.start) <= 0.5 * step * (1.0 + 1e-9), slider.key
        rows = live.slider_rows([slider, slider], "metric", 3)
        assert f'id="s3-0" min="{slider.low}" max="{slider.high}" value="{own}"' in rows
        assert 'id="s3-1"' in rows
        if slider.sizes:
            assert live._words(slider, "metric") == slider.sizes[int(slider.start)].size
        elif not slider.unit:
            assert live._words(slider, "metric") == f"{slider.start:g}"


def test_a_page_opens_in_the_units_asked_for_with_the_others_packed():
    shown = live.switched({"metric": "<p>mm</p>", "us": "<p>in</p>"}, "us")
    assert '<div class="switched"><p>in</p></div>' in shown
    assert packed("<p>mm</p>") in shown
    assert 'value="us" checked>' in shown
    assert 'value="metric">' in shown


def test_a_page_holds_what_it_computes_with():
    plan = read_plan(DEMO)
    page = live.live_plan(plan, "metric", ("flow", "height"), 2)
    data = json.loads(page.partition('class="plan-data">')[2].partition("</script>")[0])
    assert sorted(s["key"] for s in data["sliders"]) == ["flow", "height"]
    assert data["file"].endswith(".toml")
    assert data["plan"]["$"] == "Plan"
    own = {s.key: live.own_number(s) for s in sliders(plan, "metric")}
    for slider in data["sliders"]:
        assert slider["own"] == own[slider["key"]]
    assert 'name="picture2" value="beds" checked>' in page
    assert page.count(" checked>") == 1
    assert '<details class="fold"><summary>' in page
    assert '<div data-part="findings"></div>' in live.live_plan(plan, "metric", ("flow",), still=False)


@pytest.mark.parametrize(
    ("name", "file"), [("Rows & Co. 2", "rows-co-2"), ("!!!", "plan"), ("-a-", "a"), ("Häuser", "h-user")]
)
def test_a_file_is_named_after_its_plan(name, file):
    page = live._data(replace(read_plan(DEMO), text="", marks={}), replace(read_plan(DEMO), name=name), [])
    data = json.loads(page.partition('class="plan-data">')[2].partition("</script>")[0])
    assert data["file"] == f"{file}.toml"


def test_no_text_of_a_plan_ends_the_block_it_stands_in():
    block = live._block("x", {"a": "</script><b>"})
    assert block.count("</script>") == 1
    assert json.loads(block.partition(">")[2].rpartition("</script>")[0]) == {"a": "</script><b>"}


# Evidence


class Fixed(outside.Outside):
    """A value of evidence whose own value stands in its note."""

    def ours(self):
        return float(self.note)


def fixed(ours, **more):
    first = outside.outside()[0]
    given = {name: getattr(first, name) for name in first.__dataclass_fields__}
    return Fixed(**{**given, "note": str(ours), **more})


@pytest.mark.parametrize(
    ("ours", "low", "high", "agrees"),
    [
        (10.0, "10", "10", True), (10.0 + 0.9e-7, "10", "10", True), (10.0 + 1.1e-7, "10", "10", False),
        (10.0 - 0.9e-7, "10", "10", True), (10.0 - 1.1e-7, "10", "10", False), (5.0, "4", "6", True),
        (-10.0 - 0.9e-7, "-10", "-2", True), (3.9, "4", "6", False), (6.1, "4", "6", False),
    ],
)  # fmt: skip
def test_a_value_agrees_to_ten_digits_between_its_ends(ours, low, high, agrees):
    assert fixed(ours, low=low, high=high).agrees() == agrees


@pytest.mark.parametrize(
    ("printed", "ours", "shown", "difference"),
    [
        ("9.17", 9.16731, "9.167", "-0.029 %"), ("12", 12.34, "12.3", "+2.8 %"), ("2", 2.02, "2.0", "+1 %"),
        ("2", 1.98, "2.0", "-1 %"), ("1.5e-3", 0.0015234, "0.00152", "+1.6 %"),
        ("0.0", 0.00123, "0.00", "0.0012"),
        ("2e3", 2000.0, "2e+03", "0"), ("1.23456789012e5", 123456.789012, "123456.789", "0"),
        ("-0.012e2", -1.2, "-1.2", "0"), ("2.0", 2.0 * (1.0 + 4e-7), "2.00", "0"),
        ("2.0", 2.0 * (1.0 + 6e-7), "2.00", "+6e-05 %"), ("1 to 2", 1.0, "1.0", "inside"),
        ("1 to 2", 2.0, "2.0", "inside"),
        ("1 to 2", 2.1, "2.1", "outside"), ("1 to 2", 0.9, "0.9", "outside"),
    ],
)  # fmt: skip
def test_our_value_has_a_digit_more_than_the_printed_one_and_its_difference(printed, ours, shown, difference):
    value = fixed(ours, printed=printed)
    assert outside.shown_ours(value) == shown
    assert outside.shown_difference(value) == difference


def test_an_equation_that_nothing_holds_is_named(monkeypatch):
    monkeypatch.setattr(outside, "outside", lambda: ())
    with pytest.raises(LookupError, match=r"no value in data/evidence\.csv holds this equation"):
        outside.held_by()


def test_what_is_given_is_written_as_it_is_read():
    text = "reynolds.v(Re=2300, D=annulus_area(D_b=0.08, D_o=0.0334), nu=1e-06)"
    read = parse(text)
    assert read == Given("reynolds", {"Re": 2300.0, "D": Given("annulus_area", {"D_b": 0.08, "D_o": 0.0334}),
                                      "nu": 1e-6}, "v")  # fmt: skip
    assert read.call() == text
    assert list(read.equations()) == ["reynolds", "annulus_area"]
    area = math.pi / 4 * (0.08**2 - 0.0334**2)
    assert read.values() == {"Re": 2300.0, "D": pytest.approx(area, rel=1e-12), "nu": 1e-6}
    assert read.result().value == pytest.approx(2300.0 * 1e-6 / area, rel=1e-9)
    for wrong in ("reynolds", "reynolds(1.0)", "1 + 2"):
        with pytest.raises(ValueError, match="is not an equation with named values"):
            parse(wrong)


def test_the_best_kind_is_the_first_in_the_list():
    assert best(["own arithmetic", "common practice", "reference library"]) == "reference library"


def test_choices_change_what_they_say_and_mark_the_one_taken():
    plan = read_plan(DEMO)
    for name, tried, ours in choices._VARIANTS["lips"](plan):
        assert tried.siphons[0].lip_weir == pytest.approx(float(name), abs=0.005)
        assert ours == (tried.siphons[0].lip_weir == plan.siphons[0].lip_weir)
    p = plan.siphons[0].priming
    froudes = choices._VARIANTS["froude"](plan)
    assert [t.siphons[0].priming.froude for _, t, _ in froudes] == [p.froude_low, p.froude, p.froude_high]
    assert [ours for _, _, ours in froudes] == [False, True, False]
    b = plan.siphons[0].standpipe.pipe.bore / plan.siphons[0].standpipe.lip_diameter
    crane = choices.losses.sudden_contraction(b, 1.0)
    laws = {
        "Crane": crane,
        "Hooper": (0.6 + 0.48 * 0.025) * (1 - b**2),
        "Rennels": choices.contraction_rennels(b),
    }
    contracted = choices._VARIANTS["contractions"](plan)
    assert [ours for _, _, ours in contracted] == [True, False, False]
    for (name, tried, _), (law, k) in zip(contracted, laws.items(), strict=True):
        assert name == f"{law}, K {k:.2f}"
        more = tried.siphons[0].tail.fittings[-1]
        assert (more.count, more.k) == (1, pytest.approx(k - crane, abs=1e-12))
        assert tried.siphons[0].standpipe.entry == "square"
    projecting = choices._VARIANTS["projecting"](plan)
    assert [ours for _, _, ours in projecting] == [k == 0.6 for k in choices.PROJECTING]
    for (_, tried, _), k in zip(projecting, choices.PROJECTING, strict=True):
        entries = [f.k for run in tried.runs for f in run.fittings if f.name.startswith("entrance")]
        others = [f for run in tried.runs for f in run.fittings if not f.name.startswith("entrance")]
        assert set(entries) == {k}
        assert others == [f for run in plan.runs for f in run.fittings if not f.name.startswith("entrance")]
    (_, least, taken), (_, mean, not_taken) = choices._VARIANTS["walls"](plan)
    assert (least, taken, not_taken) == (plan, True, False)
    assert mean.siphons[0].standpipe.pipe.bore == pytest.approx(0.02644)

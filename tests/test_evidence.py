"""The page that says what every number rests on: its files current, its numbers worked out, all there."""

import csv
import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest

from aquacalc.__main__ import main
from aquacalc.catalogue import data_dir, pipe, read_table
from aquacalc.equations import RECORDS
from aquacalc.evidence import choices
from aquacalc.evidence.kinds import COUNTED, MEANING, MEMORY, OWN
from aquacalc.evidence.outside import best_kinds, outside, shown_difference, shown_ours
from aquacalc.evidence.page import demo_plan, page
from aquacalc.evidence.unpublished import unpublished
from aquacalc.plan.model import Pipe
from aquacalc.plan.read import read_plan
from aquacalc.results.cycle import run_plan
from aquacalc.units import show
from tests import evidence
from tests.regenerate import renew
from tests.test_system import our_events


@pytest.fixture(scope="module")
def written():
    return page()


@pytest.fixture(scope="module")
def effects():
    plan = demo_plan()
    return {c.title: c.effects(plan) for c in choices.contradictions()}


@pytest.mark.identity
def test_cases_file_is_current():
    with (data_dir() / "evidence.csv").open(encoding="utf-8", newline="") as file:
        there = list(csv.reader(file))
    now = [evidence.COLUMNS, *evidence.case_rows()]
    assert len(there) == len(now), renew("evidence")
    for row, (old, new) in enumerate(zip(there, now, strict=True), start=1):
        for name, a, b in zip(evidence.COLUMNS, old, new, strict=True):
            same = a == b
            if name in ("printed", "low", "high") and not same:  # another release of a library
                same = float(a) == pytest.approx(float(b), rel=1e-6)
            assert same, f"row {row}, {new[1]}: {name} is {a!r}, now {b!r}; {renew('evidence')}"


@pytest.mark.identity
def test_whole_plans_file_is_current():
    """Our own values in it; what the other solvers give is held by tests of their own."""
    rows = read_table("evidence-system")
    layouts = dict.fromkeys(r["layout"] for r in rows)
    assert len(layouts) >= 9
    for layout in layouts:
        run = run_plan(read_plan(evidence.plan_file(layout)))
        for group in run.groups:
            events = dict(reversed([(what, t) for t, what in our_events(run, group.name)]))
            own = {
                "one cycle": group.period,
                "running full": group.drain_time,
                "pump on to running full": events["full"],
                "pump on to the first break": events["break"],
            }
            mine = [r for r in rows if (r["layout"], r["siphon"]) == (layout, group.name)]
            assert {r["solver"].split()[0] for r in mine} == {"scipy", "SWMM", "EPANET"}
            for row in mine:
                if row["quantity"] in own:
                    assert float(row["ours"]) == pytest.approx(own[row["quantity"]], abs=0.06), (
                        f"{row}; {renew('systems')}"
                    )


@pytest.mark.outside
def test_whole_plans_agree():
    """Times: scipy within 0.2 %, SWMM within 0.5 s; falls with EPANET within 0.6 %, for its friction."""
    for row in read_table("evidence-system"):
        theirs, ours = float(row["theirs"]), float(row["ours"])
        within = {"scipy": 0.002 * theirs, "SWMM": 0.5, "EPANET": 0.006 * theirs}[row["solver"].split()[0]]
        assert ours == pytest.approx(theirs, abs=within), row


@pytest.mark.identity
def test_every_value_on_the_page_agrees():
    """The cases themselves are held in tests/equations/test_cases.py; this is what the page makes of them."""
    wrong = [
        f"row {row}, {v.subject} {v.place}: ours {shown_ours(v)} {v.unit}, printed {v.printed}, {v.cited}"
        for row, v in enumerate(outside(), start=2)
        if not v.agrees()
    ]
    assert wrong == []


@pytest.mark.identity
def test_page_counts_equations_by_the_best_kind(written):
    kinds = best_kinds()
    rest = {key for key, kind in kinds.items() if kind not in COUNTED}
    assert len(kinds) == len(RECORDS)
    assert len(kinds) - len(rest) >= 60
    head = written[: written.index("<nav")]
    assert (
        f"{len(kinds) - len(rest)} of {len(kinds)} equations rest on print that was read, "
        "here or second-hand or recomputed, or on a reference library."
    ) in head
    assert set(re.findall(r'<a href="#(\w+)">', head)) == rest
    # The lip's laws were found in no print; own arithmetic is never called anything better.
    assert kinds["lip_flow"] == MEMORY
    assert {"trapped_air", "cone_angle", "floor_load"} <= {k for k, kind in kinds.items() if kind == OWN}
    assert {v.kind for v in outside()} <= set(MEANING)


@pytest.mark.identity
def test_a_value_that_is_off_is_seen():
    value = next(v for v in outside() if v.subject == "mean_velocity")
    assert value.agrees()
    assert not replace(value, low="9.3", high="9.4").agrees()
    assert shown_ours(value) == "9.167"
    assert shown_difference(value) == "-0.029 %"
    band = next(v for v in outside() if v.is_band)
    assert shown_difference(band) == "inside"
    assert shown_difference(replace(band, printed="0.1 to 0.2")) == "outside"


@pytest.mark.identity
def test_page_has_every_equation_and_value(written):
    for key, record in RECORDS.items():
        assert f'<h3 id="{key}">' in written
        assert record.source.primary.replace("&", "&amp;").replace("'", "&#x27;") in written
    rows = len(re.findall(r'<tr[^>]*><th scope="row">', written))
    limits = sum(len(r.symbols) + len(r.limits) for r in RECORDS.values())
    assert rows >= len(outside()) + limits + len(read_table("evidence-system"))
    assert written.count("<math") >= len(RECORDS)


class Reader(HTMLParser):
    def __init__(self):
        super().__init__()
        self.open, self.ids, self.links, self.tags = [], [], [], set()

    def handle_starttag(self, tag, attrs):
        found = dict(attrs)
        self.tags.add(tag)
        self.ids += [found["id"]] if "id" in found else []
        self.links += [found["href"]] if "href" in found else []
        assert not {"src", "srcset", "onclick"} & set(found)
        if tag not in ("meta", "br", "hr"):
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag


@pytest.mark.identity
def test_page_is_whole_and_fetches_nothing(written):
    reader = Reader()
    reader.feed(written)
    assert reader.open == []
    assert not {"script", "link", "img", "iframe"} & reader.tags
    assert len(reader.ids) == len(set(reader.ids))
    assert [link for link in reader.links if link[0] != "#" or link[1:] not in reader.ids] == []
    assert "http:" not in re.sub(r"http://www.w3.org/1998/Math/MathML", "", written)
    assert "https:" not in written


@pytest.mark.identity
def test_choices_are_worked_out_on_the_plan(written, effects):
    plan = demo_plan()
    run = run_plan(plan, trace=False)
    for found in list(effects.values())[:3]:
        (own,) = [e for e in found if e.chosen]
        assert (own.outcome, own.period) == (run.groups[0].outcome, run.groups[0].period)
        others = [e for e in found if not e.chosen]
        assert others
        for other in others:
            changed = (other.period, other.start, other.stop, other.head)
            assert changed != (own.period, own.start, own.stop, own.head)
        for e in found:
            assert show(e.period, "time", plan.units) in written
    assert [title for title in effects if title not in written] == []


@pytest.mark.identity
def test_choices_move_the_answers_the_way_they_must(effects):
    least, mean = effects["Bore by least wall or as made"]
    assert mean.stop < least.stop
    assert mean.start < least.start
    low, middle, high = effects["Weir coefficient of a lip, per metre of lip"]
    assert low.head > middle.head > high.head
    assert low.start == middle.start == high.start
    low, middle, high = effects["Froude number at which a bore fills"]
    assert low.start < middle.start < high.start
    crane, hooper, rennels = effects["Sudden contraction"]
    assert crane.stop > hooper.stop > rennels.stop
    times = [e.drain_time for e in effects["Pipe that projects into the bed"]]
    assert len(times) == len(choices.PROJECTING)
    assert times == sorted(set(times))


@pytest.mark.outside
@pytest.mark.parametrize("b", [0.3, 0.5, 0.7, 0.9])
def test_contractions_of_the_other_authors(b):
    """fluids 1.3.1, contraction_sharp by Hooper (turbulent) and Rennels."""
    from fluids.fittings import contraction_sharp

    given = {"Di1": 1.0, "Di2": b, "fd": 0.02, "Re": 1e5, "roughness": 1e-5}
    hooper, rennels = (contraction_sharp(**given, method=m) for m in ("Hooper", "Rennels"))
    assert choices.contraction_hooper(b, 0.02) == pytest.approx(hooper, rel=1e-9)
    assert choices.contraction_rennels(b) == pytest.approx(rennels, rel=1e-9)


@pytest.mark.outside
@pytest.mark.parametrize("size", list(choices.MEAN_BORE))
def test_mean_bore_is_narrower_than_by_the_least_wall(size):
    """Hydraulic Institute, Engineering Data Book: 0.3 to 1.1 % narrower for schedule 40, by size."""
    own = pipe("ASTM D1785 schedule 40", size)
    made = choices.as_made(Pipe(own.series, size, own.bore, own.outside_diameter, own.roughness))
    assert 0.0025 < 1.0 - made.bore / own.bore < 0.0115


@pytest.mark.identity
def test_only_a_pipe_of_schedule_40_is_changed():
    for run in demo_plan().runs:
        own = replace(run.pipe, series="own")
        assert choices.as_made(own) == own


@pytest.mark.identity
def test_what_was_not_found_in_print_ends_the_page(written):
    plan = demo_plan()
    items = unpublished(plan, run_plan(plan, trace=False))
    assert [word for i in items for word in ("starts", "stops", "choking") if word in i.title] == [
        "starts", "stops", "choking",
    ]  # fmt: skip
    assert written.index("What we found no source for</h2>") > written.index("Where sources disagree</h2>")
    end = written[written.index("What we found no source for</h2>") :]
    assert "<section" not in end
    assert "observed_error" in items[0].replaced
    for key in ("drain time", "highest stop", "fill time"):
        from aquacalc.design.readings import READINGS

        assert key in READINGS
        assert key in end


@pytest.mark.identity
def test_command_writes_the_page_and_spares_other_files(tmp_path, capsys):
    target = tmp_path / "evidence.html"
    assert main(["evidence", "--out", str(target)]) == 0
    assert "What this rests on" in target.read_text(encoding="utf-8")
    assert main(["evidence", "--out", str(target)]) == 0  # a page of ours is written again
    target.write_text("mine", encoding="utf-8")
    assert main(["evidence", "--out", str(target)]) == 2
    assert target.read_text(encoding="utf-8") == "mine"
    assert "--force" in capsys.readouterr().err

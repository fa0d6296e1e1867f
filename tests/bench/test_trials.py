"""Readings, outcomes and the dated file: what is refused, what is kept, and what is never overwritten."""

import datetime as dt
import math

import pytest

from aquacalc import files
from aquacalc.bench import jug
from aquacalc.bench.jug import jug_time, read_jug
from aquacalc.bench.trials import Trial, TrialError, add, beside, read_outcome, read_trials, today
from aquacalc.units import UnitError

pytestmark = pytest.mark.identity
L = 1 / 60000
DAY = dt.date(2026, 3, 14)
PARTS = "standpipe bore 26.6 mm; lip 40.9 mm; bell 78 mm; tail 26.6 mm"


@pytest.mark.parametrize(
    ("text", "flow", "error"),
    [
        ("2 L in 12 s", 10.0, math.hypot(jug.WATCH / 12, jug.MARK)),
        ("1 gal in 20 s", 3.785411784 * 3, math.hypot(jug.WATCH / 20, jug.MARK)),
        ("5 L in 1 min", 5.0, math.hypot(jug.WATCH / 60, jug.MARK)),
        ("10.5 L/min", 10.5, jug.GIVEN),
        ("10.5 L/min +/- 0.3 L/min", 10.5, 0.3 / 10.5),
        ("10.5 L/min +- 4 %", 10.5, 0.04),
        ("2 L in 12 s ± 6 %", 10.0, 0.06),
    ],
)
def test_a_jug_is_read(text, flow, error):
    found = read_jug(text)
    assert found.flow == pytest.approx(flow * L, rel=1e-9)
    assert found.error == pytest.approx(error, abs=5e-4)


#: A reading that would be refused by anybody at the bench, and the same mended.
REFUSED = [
    ("0 L in 3 s", "2 L in 3 s", "zero"),
    ("2 L in 0 s", "2 L in 9 s", "zero"),
    ("0 L/min", "9 L/min", "zero"),
    ("10", "10 L/min", "bare number"),
    ("2 L in 12", "2 L in 12 s", "bare number"),
    ("2 s in 12 L", "12 L in 20 s", ""),
    ("-3 L/min", "3 L/min", ""),
    ("2 L in 0.5 s", "2 L in 5 s", "tells nothing"),
    ("9 L/min +/- 9 L/min", "9 L/min +/- 0.9 L/min", "tells nothing"),
    ("nan L/min", "9 L/min", ""),
    ("", "9 L/min", ""),
    ("about ten", "10 L/min", ""),
]


@pytest.mark.parametrize(("wrong", "right", "word"), REFUSED)
def test_a_reading_that_is_none_is_refused(wrong, right, word):
    with pytest.raises(UnitError) as error:
        read_jug(wrong)
    assert word in str(error.value)
    assert read_jug(right).flow > 0.0


def test_a_jug_takes_ten_seconds_or_more():
    for flow in (2.0, 5.9, 6.1, 11.9, 12.1, 29.0):
        text = jug_time(flow * L, "metric")
        assert read_jug(text).flow == pytest.approx(flow * L, rel=0.03)
        assert float(text.split()[-2]) >= 9.95, text


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("started", (True, None)),
        ("did not within ten minutes", (False, None)),
        ("Did not start", (False, None)),
        ("stopped", (None, True)),
        ("ran on", (None, False)),
        ("started, stopped", (True, True)),
        ("started and ran on", (True, False)),
        ("s t", (True, True)),
        ("n", (False, None)),
    ],
)
def test_an_outcome_is_read(text, found):
    assert read_outcome(text) == found


@pytest.mark.parametrize("text", ["", "maybe", "started, did not", "stopped, ran on", "n, stopped", "s x"])
def test_an_outcome_that_is_none_is_refused(text):
    with pytest.raises(TrialError, match="Fix:"):
        read_outcome(text)


def trial(text="2 L in 12 s", started=True, stopped=None):
    return Trial(read_jug(text), started, stopped, "2026-03-14 09:10")


@pytest.fixture
def plan(tmp_path):
    path = tmp_path / "beds.toml"
    path.write_text("", encoding="utf-8")
    return path


def test_a_file_is_read_back_as_it_was_written(plan):
    file = today(plan, "siphon", PARTS, DAY)
    assert not file.path.exists()
    for one in (trial(), trial("9 L/min +- 0.4 L/min", False), trial("8 L in 20 s", True, False)):
        file = add(file, one)
        assert read_trials(file.path) == file
    assert [t.outcome for t in file.trials] == ["started", "did not within ten minutes", "started, ran on"]
    assert file.path.name == "beds.bench-2026-03-14.toml"
    assert not list(plan.parent.glob("*.part"))


def test_a_second_trial_of_the_day_is_added(plan):
    add(today(plan, "siphon", PARTS, DAY), trial())
    add(today(plan, "siphon", PARTS, DAY), trial("9 L/min", False))
    (path,) = beside(plan)
    assert len(read_trials(path).trials) == 2


@pytest.mark.parametrize(
    ("siphon", "parts", "day", "name"),
    [
        ("siphon", PARTS, dt.date(2026, 3, 15), "beds.bench-2026-03-15.toml"),
        ("siphon", PARTS.replace("78", "83"), DAY, "beds.bench-2026-03-14-2.toml"),
        ("other", PARTS, DAY, "beds.bench-2026-03-14-2.toml"),
    ],
)
def test_another_day_or_part_or_siphon_makes_another_file(plan, siphon, parts, day, name):
    first = add(today(plan, "siphon", PARTS, DAY), trial())
    before = first.path.read_bytes()
    add(today(plan, siphon, parts, day), trial("9 L/min", False))
    assert {path.name for path in beside(plan)} == {first.path.name, name}
    assert first.path.read_bytes() == before


def test_a_file_that_is_something_else_is_left_alone(plan):
    path = plan.with_name("beds.bench-2026-03-14.toml")
    path.write_text("my own notes", encoding="utf-8")
    file = add(today(plan, "siphon", PARTS, DAY), trial())
    assert file.path.name == "beds.bench-2026-03-14-2.toml"
    assert path.read_text(encoding="utf-8") == "my own notes"


def test_a_file_that_changed_meanwhile_is_not_overwritten(plan):
    mine = add(today(plan, "siphon", PARTS, DAY), trial())
    add(mine, trial("9 L/min", False))  # somebody at another screen
    with pytest.raises(TrialError, match="has changed"):
        add(mine, trial("8 L/min", False))
    assert len(read_trials(mine.path).trials) == 2


def test_a_file_that_came_meanwhile_is_not_overwritten(plan):
    mine = today(plan, "siphon", PARTS, DAY)
    other = add(today(plan, "siphon", PARTS, DAY), trial())
    with pytest.raises(TrialError, match="is there already"):
        add(mine, trial("8 L/min", False))
    assert read_trials(other.path) == other


def test_nothing_is_lost_when_writing_fails(plan, monkeypatch):
    file = add(today(plan, "siphon", PARTS, DAY), trial())
    before = file.path.read_bytes()

    def full(*_args):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(files.os, "fsync", full)
    with pytest.raises(TrialError, match="No space left"):
        add(file, trial("9 L/min", False))
    assert file.path.read_bytes() == before
    assert [path.name for path in plan.parent.glob("*bench*")] == [file.path.name]


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ('[[trial]]\nreading = "9 L/min"\n', "outcome"),
        ('[[trial]]\noutcome = "started"\n', "reading"),
        ('[[trial]]\nreading = "0 L/min"\noutcome = "started"\n', "zero"),
        ('[[trial]]\nreading = "9 L/min"\noutcome = "perhaps"\n', "perhaps"),
        ('[[trial]]\nreading = 9\noutcome = "started"\n', "reading"),
        ('[[trial]]\nreading = "9 L/min"\noutcome = "started"\nflow = "9 L/min"\n', "flow"),
        ('[trial]\nreading = "9 L/min"\n', "[[trial]]"),
        ('trials = "none"\n', "trials"),
        ("[[trial\n", "TOML"),
        ("trial = [1]\n", "[[trial]]"),
        ('"be\ufeffd" = 1\n', "not known"),
        ("a = " + "[" * 5000 + "]" * 5000, "nested"),
        ("a = " + "1" * 5000, "digits"),
        ('[[trial]]\nreading = "9 L/min"\noutcome = "started"\nwhere = "pond"\n', "pond"),
    ],
)
def test_a_file_edited_by_hand_is_refused_by_its_place(plan, text, word):
    path = plan.with_name("mine.toml")
    path.write_text(text, encoding="utf-8")
    with pytest.raises(TrialError) as error:
        read_trials(path)
    assert word in str(error.value)
    assert "mine.toml" in str(error.value)
    assert str(error.value).isprintable()

"""Whatever stands in a plan file, reading it gives a plan or one PlanError."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from aquacalc.catalogue import data_dir
from aquacalc.plan import PlanError, plan_from_text, write_plan

pytestmark = pytest.mark.identity
LINES = (data_dir() / "plans" / "greenhouse.toml").read_text(encoding="utf-8").splitlines()
KEYED = [i for i, line in enumerate(LINES) if " = " in line]
JUNK = [
    "0", "-1", "1e308", "-0.0", "nan", "inf", "true", "1979-05-27", "07:32:00", "[]", "{}", "[[]]", '[""]',
    '""',
    '" "', '"0"', '"-0 mm"', '"1e308 m"', '"1e-308 m"', '"1/0 m"', '"nan mm"', '"1 mm mm"', '"m"', '"1,5 m"',
    '"\\u0000"', '"\\n"', '"\\u202e"', '"1 m**99999"', '"1 degC"', '"9e999 L/min"', '"1.2.3 m"', '"*"', '"."',
    '"bed 1"', '"chamber"', '"own"', '"round"', '"table"', '"half drum"', '"tapered"',
    "0x7fffffffffffffffffff",
    '["exit"]', '["0 x exit"]', '["99999 x exit"]', '[{fitting = "exit", count = 0}]', '[{fitting = 3}]',
    "[1]",
    '[{fitting = "two 45s", spacing = "0 mm"}]', '[{fitting = "a", k = inf}]', '[["0 L/min", "1 m"]]',
    '[["a"]]',
]  # fmt: skip


def read(text):
    plan, message = None, ""
    try:
        plan = plan_from_text(text, "fuzz.toml")
    except PlanError as error:
        message = str(error)
    if plan is None:
        assert message.startswith("fuzz.toml")
        assert "Fix: " in message
        for line in message.splitlines():
            assert line.isprintable(), repr(line)
            assert len(line) < 700
    else:
        assert plan_from_text(write_plan(plan)) == plan


@settings(max_examples=200, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.lists(st.tuples(st.sampled_from(KEYED), st.sampled_from(JUNK)), min_size=1, max_size=2))
def test_junk_for_a_value(changes):
    lines = list(LINES)
    for i, junk in changes:
        lines[i] = lines[i].partition(" = ")[0] + " = " + junk
    read("\n".join(lines))


@settings(max_examples=100, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.integers(0, len(LINES) - 1), st.integers(0, len(LINES) - 1), st.booleans())
def test_lines_lost_or_moved(i, j, lost):
    lines = list(LINES)
    line = lines.pop(i)
    if not lost:
        lines.insert(j, line)
    read("\n".join(lines))


@settings(max_examples=100, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.text(max_size=200))
def test_any_text(text):
    read(text)


@settings(max_examples=100, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.data())
def test_characters_put_in(data):
    text = "\n".join(LINES)
    at = data.draw(st.integers(0, len(text)))
    read(text[:at] + data.draw(st.text(min_size=1, max_size=5)) + text[at + data.draw(st.integers(0, 5)) :])

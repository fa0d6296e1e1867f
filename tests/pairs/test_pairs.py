"""A plan with one fault is not called working; mended, it is."""

from __future__ import annotations

import functools

import pytest

from aquacalc.findings import find, verdict
from aquacalc.plan import plan_from_text
from aquacalc.results.cycle import run_plan

from .demo_edits import edited
from .pairs import PAIRS

#: Pairs that are not told apart yet: name -> why.
_LATER = "the water does not decide yet"
NOT_YET: dict[str, str] = {
    "3 in tail under a 1 in standpipe": _LATER,
    "3 in tail, inflow close to what the open tail lets out": _LATER,
    "3 in tail with the standpipe's foot at the floor": _LATER,
    "flow under the start band": _LATER,
    "38 L/min near the stop": _LATER,
    "42 L/min over the stop": _LATER,
    "36 L/min, and a breather tube": _LATER,
    "breather tube with its mouth over the lip": _LATER,
    "roof of the bell 2 mm over the lip": _LATER,
    "tail drowned at the start": _LATER,
    "sump over the bell rim": _LATER,
    "side outlet that keeps 30 mm": _LATER,
    "tee 80 mm too high": _LATER,
    "outfall 60 mm too high": _LATER,
    "box figures of a pump, then more points": _LATER,
    "delivery ends under the flood": _LATER,
    "delivery ends under the flood, with a check valve": _LATER,
    "strainer openings wider than the grains": _LATER,
    "safety overflow under the level at which it starts": _LATER,
}


def _pairs():
    found = []
    for pair in PAIRS:
        why = NOT_YET.get(pair.name)
        marks = [pytest.mark.xfail(strict=True, reason=why)] if why else []
        found.append(pytest.param(pair, id=pair.name, marks=marks))
    return found


@functools.cache
def findings(edits: str):
    return find(run_plan(plan_from_text(edits), trace=False))


def told(found) -> str:
    return "; ".join(f"{f.state}: {f.title} ({f.subject})" for f in found if f.state != "good")


@pytest.mark.identity
@pytest.mark.parametrize("pair", _pairs())
def test_fault_and_mend(pair):
    faulty, mended = findings(edited(*pair.fault)), findings(edited(*pair.mended))
    assert verdict(faulty) in pair.said, told(faulty)
    named = [f for f in faulty if f.key == pair.about and f.state in ("does not", "may or may not")]
    assert named, f"{pair.about} says nothing: {told(faulty)}"
    text = " ".join(f"{f.title} {f.cause} {f.change}" for f in named)
    assert pair.word in text, text
    assert verdict(mended) == "works", told(mended)


@pytest.mark.identity
def test_pairs_differ_in_what_they_say():
    assert len({p.name for p in PAIRS}) == len(PAIRS) >= 20

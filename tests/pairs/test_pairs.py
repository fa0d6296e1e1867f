"""A plan with one fault is not called working; mended, it is."""

from __future__ import annotations

import functools

import pytest

from aquacalc.findings import find
from aquacalc.plan import plan_from_text
from aquacalc.results.cycle import run_plan

from .demo_edits import edited
from .pairs import PAIRS

#: Pairs that are not told apart yet: name -> why.
NOT_YET: dict[str, str] = {}
_WORDS = {"bad": "does not", "watch": "works", "good": "works"}


def _pairs():
    for pair in PAIRS:
        why = NOT_YET.get(pair.name)
        yield pytest.param(
            pair, id=pair.name, marks=[pytest.mark.xfail(strict=True, reason=why)] if why else []
        )


@functools.cache
def findings(edits: str):
    return find(run_plan(plan_from_text(edits), trace=False))


def verdict(found) -> str:
    states = {_WORDS.get(f.verdict, f.verdict) for f in found}
    return next((s for s in ("does not", "may or may not") if s in states), "works")


def told(found) -> str:
    return "; ".join(f"{f.verdict}: {f.title} ({f.subject})" for f in found if f.verdict != "good")


@pytest.mark.identity
@pytest.mark.parametrize("pair", _pairs())
def test_fault_and_mend(pair):
    faulty, mended = findings(edited(*pair.fault)), findings(edited(*pair.mended))
    assert verdict(faulty) in pair.said, told(faulty)
    named = [f for f in faulty if f.key == pair.about and _WORDS.get(f.verdict, f.verdict) != "works"]
    assert named, f"{pair.about} says nothing: {told(faulty)}"
    text = " ".join(f"{f.title} {f.reason} {f.change}" for f in named)
    assert pair.word in text, text
    assert verdict(mended) == "works", told(mended)


@pytest.mark.identity
def test_pairs_differ_in_what_they_say():
    assert len({p.name for p in PAIRS}) == len(PAIRS) >= 20

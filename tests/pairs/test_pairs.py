"""A plan with one fault is not called working; mended, it is."""

from __future__ import annotations

import functools

import pytest

from aquacalc.design.advice import advise
from aquacalc.findings import find, verdict
from aquacalc.plan import plan_from_text
from aquacalc.results.cycle import run_plan

from .demo_edits import DEMO, PLANS, edited
from .pairs import AGAIN, MORE, OTHERS, PAIRS

EVERY = PAIRS + MORE + AGAIN + OTHERS

#: A fault that is sure has a key of its own.
_SURE = {"start": "spills", "stop": "runs_on"}


@functools.cache
def ran(edits: str):
    run = run_plan(plan_from_text(edits), trace=False)
    return run, find(run)


def told(found) -> str:
    return "; ".join(f"{f.state}: {f.title} ({f.subject})" for f in found if f.state != "good")


@pytest.mark.identity
@pytest.mark.parametrize("pair", EVERY, ids=lambda pair: pair.name)
def test_fault_and_mend(pair):
    text = (PLANS / f"{pair.plan}.toml").read_text(encoding="utf-8") if pair.plan else DEMO
    (run, faulty), (_, mended) = (ran(edited(*changes, text=text)) for changes in (pair.fault, pair.mended))
    assert verdict(faulty) in pair.said, told(faulty)
    named = [
        f
        for f in faulty
        if f.key in (pair.about, _SURE.get(pair.about)) and f.state in ("does not", "may or may not")
    ]
    assert named, f"{pair.about} says nothing: {told(faulty)}"
    text = " ".join(f"{f.title} {f.cause} {f.change}" for f in named)
    assert pair.word in text, text
    assert verdict(mended) == "works", told(mended)
    best = advise(run, faulty)[:1]
    assert [a.verdict for a in best] == ["works"], "no change that was tried mends it"


@pytest.mark.identity
def test_pairs_differ_in_what_they_say():
    assert len({p.name for p in EVERY}) == len(EVERY) >= 90

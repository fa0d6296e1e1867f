"""One change of a plan: words for the grower, and the same as edits."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import Any

from aquacalc import catalogue
from aquacalc.plan import edit
from aquacalc.plan.check import check_plan
from aquacalc.plan.errors import PlanError
from aquacalc.plan.model import Pipe, Plan, Siphon
from aquacalc.plan.tested import written

#: What is kept beyond a limit, as a part of it: a valve is not set finer.
SPARE = 0.02


@dataclasses.dataclass(frozen=True)
class Change:
    """One change: what to do in the reader's units, and the plan's paths with their SI values."""

    words: str
    values: dict[str, Any] = dataclasses.field(default_factory=dict)


def kept(plan: Plan, siphon: Siphon) -> dict[str, Any]:
    """Edits that keep a reading from counting for parts that it was not taken with."""
    seen = siphon.priming.observed is not None or siphon.stopping.observed is not None
    return {f"siphon.{siphon.name}.tested": written(siphon, plan.units)} if seen and not siphon.tested else {}


def built(plan: Plan, values: dict[str, Any]) -> Plan | None:
    """Return the plan with other values, or None where it cannot be built."""
    try:
        changed = edit.put(plan, values)
        check_plan(changed)
    except (PlanError, KeyError, TypeError, catalogue.CatalogueError):
        return None
    return changed


def sizes_of(pipe: Pipe) -> list[catalogue.PipeSize]:
    """Sizes of a pipe's series, by bore; none for a pipe that is in no table."""
    if pipe.series not in catalogue.series():
        return []
    return sorted(catalogue.sizes(pipe.series), key=lambda size: size.bore)


def whose(plan: Plan, siphon: Siphon) -> str:
    """Say of which siphon a part is: " of siphon A"; nothing where there is only one."""
    return f" of {siphon.name}" if len(plan.siphons) > 1 else ""


def listed(names: Sequence[str]) -> str:
    """Write names as a list: "bed 1, bed 2 and bed 3"."""
    return " and ".join([*([", ".join(names[:-1])] if len(names) > 1 else []), names[-1]])

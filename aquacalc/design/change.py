"""One change of a plan: words for the grower, and the same as edits."""

from __future__ import annotations

import dataclasses
from typing import Any

from aquacalc.plan.model import Siphon
from aquacalc.plan.tested import written


@dataclasses.dataclass(frozen=True)
class Change:
    """One change: what to do in the reader's units, and the plan's paths with their SI values."""

    words: str
    values: dict[str, Any] = dataclasses.field(default_factory=dict)


def kept(siphon: Siphon) -> dict[str, Any]:
    """Edits that keep a reading from counting for parts that it was not taken with."""
    seen = siphon.priming.observed is not None or siphon.stopping.observed is not None
    return {f"siphon.{siphon.name}.tested": written(siphon)} if seen and not siphon.tested else {}

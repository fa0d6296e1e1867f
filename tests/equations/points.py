"""Points inside the range of a record, the same on every run."""

from __future__ import annotations

import math
import random

from aquacalc.equations import Equation


def draw(low: float, high: float, rng: random.Random) -> float:
    """One value of a range, spread over its powers of ten where it has several."""
    if low > 0.0 and high / low > 20.0:
        return math.exp(rng.uniform(math.log(low), math.log(high)))
    return rng.uniform(low, high)


def in_range(record: Equation, wanted: int, seed: int = 1) -> list[dict[str, float]]:
    """`wanted` points at which every input and every combination is inside its range."""
    rng = random.Random(f"{record.key} {seed}")
    found = []
    for _ in range(40000):
        values = {s.key: draw(s.low, s.high, rng) for s in record.symbols[1:]}
        if all(m.low <= m.value(values) <= m.high for m in record.limits):
            try:
                record.compute(**values)
            except ValueError:
                continue
            found.append(values)
        if len(found) == wanted or not values:
            break
    return found

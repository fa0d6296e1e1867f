"""All records, gathered by topic."""

from __future__ import annotations

from dataclasses import replace

from aquacalc.equations import (
    friction,
    lip,
    local_losses,
    orifice,
    priming,
    pump,
    siphon,
    storage,
    strainer,
    water,
    weight,
)
from aquacalc.equations.record import Equation, check_kinds

#: topic -> module, in the order a reader meets them.
TOPICS = {
    "orifice": orifice,
    "lip": lip,
    "priming": priming,
    "friction": friction,
    "local losses": local_losses,
    "strainer": strainer,
    "siphon": siphon,
    "storage": storage,
    "pump": pump,
    "water": water,
    "weight": weight,
}

#: key -> record, ordered by topic.
RECORDS: dict[str, Equation] = {
    record.key: replace(record, topic=topic)
    for topic, module in TOPICS.items()
    for record in module.EQUATIONS
}
check_kinds(RECORDS.values())

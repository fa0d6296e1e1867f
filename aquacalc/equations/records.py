"""All records, gathered by topic."""

from __future__ import annotations

from dataclasses import replace

from aquacalc.equations import (
    friction,
    lip,
    local_losses,
    media_flow,
    mouth,
    orifice,
    priming,
    pump,
    running_full,
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
    "running full": running_full,
    "friction": friction,
    "local losses": local_losses,
    "mouth": mouth,
    "media": media_flow,
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

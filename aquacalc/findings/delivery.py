"""Findings on the pump's delivery pipe: does water run back through it when the pump stops."""

from __future__ import annotations

from typing import Any

from aquacalc.findings.record import Finding
from aquacalc.hydraulics.levels import level_at, volume_at
from aquacalc.hydraulics.storage import vessel_cells
from aquacalc.plan.model import Plan
from aquacalc.results.cycle import SystemCycle
from aquacalc.units import show

#: To how much the levels of water are known, m (our own estimate).
CLOSE = 0.010


def find_delivery(plan: Plan, run: SystemCycle) -> list[Finding]:
    """Judge whether the end of the delivery pipe stays above the water in the beds."""
    delivery = plan.pump.delivery
    if delivery is None:
        return []
    s = plan.units
    fed = [(bed, run.node(bed.name).high) for bed in plan.beds if bed.inflow_share]
    bed, high = max(fed, key=lambda pair: pair[1])
    end = delivery.outlet
    values: dict[str, Any] = {
        "key": "siphon_back", "subject": "pump", "value": end, "limit": high, "direction": "at least",
        "kind": "elevation",
    }  # fmt: skip
    cause = (
        f"The delivery pipe ends at {show(end, 'elevation', s)}; the water in {bed.name} reaches "
        f"{show(high, 'elevation', s)}."
    )
    if end > high and end < high + CLOSE and delivery.check_valve != "fitted":
        return [
            Finding(
                title="Delivery ends close to the water",
                state="may or may not",
                band=(high, high + CLOSE),
                cause=f"{cause} Levels are good to {show(CLOSE, 'length', s)}: a little higher, and the beds "
                "run back through the pipe when the pump stops.",
                change="Stop the pump with the beds full and watch. Or end it above "
                f"{show(high + CLOSE, 'elevation', s)}, or fit a check valve.",
                **values,
            )
        ]
    if end > high:
        return [Finding(title="Delivery ends above the water", state="good", cause=cause, **values)]
    if delivery.check_valve == "fitted":
        cause += (
            " When the pump stops, the check valve keeps the beds from running back: test it now and then."
        )
        return [Finding(title="Check valve holds the beds' water", state="good", cause=cause, **values)]
    # Beds that are joined by drain lines fall together, fed or not.
    back = sum(
        volume_at(cells, run.node(b.name).high) - volume_at(cells, min(end, run.node(b.name).high))
        for b in plan.beds
        for cells in [vessel_cells(plan, b)]
    )
    cells = vessel_cells(plan, plan.sump)
    sump = level_at(cells, volume_at(cells, run.sump_low) + back)
    cause += (
        f" When the pump stops, up to {show(back, 'volume', s)} of the beds' water runs back through it into "
        f"the sump, which then fills to {show(sump, 'elevation', s)}."
    )
    return [
        Finding(
            title="Beds run back through the pump when it stops",
            state="does not" if sump > plan.sump.rim else "may or may not",
            cause=cause,
            change=f"End the delivery pipe above {show(high, 'elevation', s)} with an air gap, or fit a "
            "check valve. To settle it, stop the pump with the beds full and watch.",
            **values,
        )
    ]

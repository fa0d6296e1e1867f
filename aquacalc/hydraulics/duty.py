"""Kernels: the flow at which a pump's curve and its delivery pipe agree."""

from __future__ import annotations

from aquacalc.hydraulics.path_flow import path_loss

#: The pump loses its flow over this much of sump level, m.
PUMP_GUARD_BAND = 0.002


def curve_head(flows, heads, Q):
    """Head (m) on a pump curve at `Q` (m3/s): straight lines between its points."""
    k = 0
    while k < len(flows) - 2 and flows[k + 1] < Q:
        k += 1
    return heads[k] + (heads[k + 1] - heads[k]) * (Q - flows[k]) / (flows[k + 1] - flows[k])


def duty_flow(flows, heads, pieces, first, end, lift, nu, g):
    """Flow (m3/s) at which a pump curve meets `lift` (m) and the loss of a path; 0 if it cannot lift."""
    low = 0.0
    high = flows[len(flows) - 1]
    if curve_head(flows, heads, 0.0) <= lift:
        return 0.0
    if curve_head(flows, heads, high) - lift - path_loss(pieces, first, end, high, nu, g) >= 0.0:
        return high
    for _ in range(60):
        mid = 0.5 * (low + high)
        if curve_head(flows, heads, mid) - lift > path_loss(pieces, first, end, mid, nu, g):
            low = mid
        else:
            high = mid
        if high - low < 1e-14:
            break
    return 0.5 * (low + high)

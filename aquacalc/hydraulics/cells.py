"""Kernels: level from volume and back, in a vessel given as cells."""

from collections.abc import Sequence
from typing import NamedTuple


class Cells(NamedTuple):
    """Slices of one or more vessels, floor upwards: elevations (m), volumes (m3), areas (m2) at both ends."""

    z0: Sequence[float]
    z1: Sequence[float]
    V0: Sequence[float]
    V1: Sequence[float]
    A0: Sequence[float]
    A1: Sequence[float]


def level_of(cells, first, last, V, k):
    """Level (m), plan area (m2) and cell of a storage that holds `V` (m3), looked for from cell `k` on.

    Each cell is a cubic in height through the volumes and areas at its ends;
    below the first and above the last the end area goes on.
    """
    while k < last and cells.V1[k] < V:
        k += 1
    while k > first and cells.V0[k] > V:
        k -= 1
    z0 = cells.z0[k]
    V0 = cells.V0[k]
    A0 = cells.A0[k]
    if V <= V0:
        return z0 + (V - V0) / A0, A0, k
    V1 = cells.V1[k]
    A1 = cells.A1[k]
    if V >= V1:
        return cells.z1[k] + (V - V1) / A1, A1, k
    dz = cells.z1[k] - z0
    rise = V1 - V0
    a0 = A0 * dz
    a1 = A1 * dz
    s = (V - V0) / rise
    c2 = 3.0 * rise - 2.0 * a0 - a1
    c3 = a0 + a1 - 2.0 * rise
    if abs(c2) + abs(c3) > 1e-13 * rise:
        for _ in range(40):
            error = s * (a0 + s * (c2 + s * c3)) - (V - V0)
            slope = a0 + s * (2.0 * c2 + 3.0 * s * c3)
            s -= error / slope
            if s < 0.0:
                s = 0.0
            elif s > 1.0:
                s = 1.0
            if abs(error) <= 1e-14 * V1:
                break
    return z0 + s * dz, (a0 + s * (2.0 * c2 + 3.0 * s * c3)) / dz, k


def volume_of(cells, first, last, z):
    """Volume (m3) of a storage filled to level `z` (m)."""
    k = first
    while k < last and z > cells.z1[k]:
        k += 1
    z0 = cells.z0[k]
    z1 = cells.z1[k]
    V0 = cells.V0[k]
    if z <= z0:
        return V0 + cells.A0[k] * (z - z0)
    if z >= z1:
        return cells.V1[k] + cells.A1[k] * (z - z1)
    dz = z1 - z0
    s = (z - z0) / dz
    rise = cells.V1[k] - V0
    a0 = cells.A0[k] * dz
    a1 = cells.A1[k] * dz
    return V0 + s * (a0 + s * (3.0 * rise - 2.0 * a0 - a1 + s * (a0 + a1 - 2.0 * rise)))

"""Kernels: level from volume and back, in a vessel given as flat cells."""

from __future__ import annotations

CELL = 6  #: numbers in a cell: z0, z1, V0, V1, A0, A1


def level_of(F, cells, count, V, hint):
    """Level (m), plan area (m2) and cell of a storage that holds `V` (m3).

    Each cell is a cubic in height through the volumes and areas at its ends;
    below the first and above the last the end area goes on.
    """
    k = hint
    while k < count - 1 and F[cells + CELL * k + 3] < V:
        k += 1
    while k > 0 and F[cells + CELL * k + 2] > V:
        k -= 1
    p = cells + CELL * k
    z0 = F[p]
    V0 = F[p + 2]
    A0 = F[p + 4]
    if V <= V0:
        return z0 + (V - V0) / A0, A0, k
    V1 = F[p + 3]
    A1 = F[p + 5]
    if V >= V1:
        return F[p + 1] + (V - V1) / A1, A1, k
    dz = F[p + 1] - z0
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


def volume_of(F, cells, count, z):
    """Volume (m3) of a storage filled to level `z` (m)."""
    k = 0
    while k < count - 1 and z > F[cells + CELL * k + 1]:
        k += 1
    p = cells + CELL * k
    z0 = F[p]
    z1 = F[p + 1]
    if z <= z0:
        return F[p + 2] + F[p + 4] * (z - z0)
    if z >= z1:
        return F[p + 3] + F[p + 5] * (z - z1)
    dz = z1 - z0
    s = (z - z0) / dz
    rise = F[p + 3] - F[p + 2]
    a0 = F[p + 4] * dz
    a1 = F[p + 5] * dz
    return F[p + 2] + s * (a0 + s * (3.0 * rise - 2.0 * a0 - a1 + s * (a0 + a1 - 2.0 * rise)))

"""Loss coefficients of fittings, as plain functions that import nothing heavy.

Every K is on the velocity head of the pipe named in its docstring. The records
with sources and ranges stand in `entrances`, `bends`, `reducers` and `tees`.
"""

from __future__ import annotations

import itertools
import math

#: Rounded entrance: (edge radius over bore, K). Idelchik, Handbook of Hydraulic Resistance.
ROUNDED_ENTRANCE = (
    (0.0, 0.50), (0.01, 0.44), (0.02, 0.37), (0.03, 0.31), (0.04, 0.26), (0.05, 0.22), (0.06, 0.20),
    (0.08, 0.15), (0.12, 0.09), (0.16, 0.06), (0.20, 0.03),
)  # fmt: skip
#: Two 45 degree mitres: (spacing of the mitres along the axis over bore, K). Hydraulic Institute.
TWO_45_SMOOTH = ((0.71, 0.507), (1.174, 0.333), (1.42, 0.261), (1.86, 0.289), (3.14, 0.346), (6.28, 0.399))
TWO_45_ROUGH = ((0.71, 0.510), (1.174, 0.384), (1.42, 0.377), (1.86, 0.390), (3.14, 0.426), (6.28, 0.444))


def table_rows(table, x):
    """Return the two rows (x, K) of `table` between which the ratio `x` lies; the last two beyond its end."""
    for low, high in itertools.pairwise(table):
        if x <= high[0]:
            return low, high
    return table[-2], table[-1]


def table_value(table, x):
    """Interpolate a `table` of (ratio `x`, K) on a straight line; its end value beyond its ends."""
    (x_1, K_1), (x_2, K_2) = table_rows(table, x)
    return K_1 + (K_2 - K_1) * min(1.0, max(0.0, (x - x_1) / (x_2 - x_1)))


def velocity_head(v, g):
    """Velocity head (m) of water moving at `v` (m/s)."""
    return v**2 / (2.0 * g)


def loss_head(K, v, g):
    """Head (m) lost in a fitting with coefficient `K` at velocity `v` (m/s)."""
    return K * v**2 / (2.0 * g)


def referred_loss(K_1, D_1, D_2):
    """Coefficient on a bore `D_2` (m) of a loss stated as `K_1` on a bore `D_1` (m)."""
    return K_1 * (D_2 / D_1) ** 4


def entrance_square():
    """K of a square-edged entrance flush with a wall, on the pipe."""
    return 0.5


def entrance_projecting(t, D):
    """K of a square-cut pipe that stands into the water, wall `t`, bore `D` (m), on the pipe."""
    x = min(t / D, 0.05)
    return 1.12 - 22.0 * x + 216.0 * x**2 + 80.0 * x**3


def entrance_rounded(r, D):
    """K of an entrance with edge radius `r` on a bore `D` (m), on the pipe."""
    return table_value(ROUNDED_ENTRANCE, r / D)


def exit_loss():
    """K of any exit into still water or free air, on the pipe: all the velocity head."""
    return 1.0


def mitre_90_smooth():
    """K of one sharp 90 degree mitre in smooth pipe, on the pipe."""
    return 1.129


def mitre_90_rough():
    """K of one sharp 90 degree mitre in rough pipe, on the pipe."""
    return 1.265


def two_45_smooth(a, D):
    """K of two 45 degree mitres `a` apart along the axis in smooth pipe of bore `D` (m), both together."""
    return table_value(TWO_45_SMOOTH, a / D)


def two_45_rough(a, D):
    """K of two 45 degree mitres `a` apart along the axis in rough pipe of bore `D` (m), both together."""
    return table_value(TWO_45_ROUGH, a / D)


def elbow_90():
    """K of a regular screwed 90 degree elbow of 1 in, on the pipe."""
    return 1.5


def elbow_90_long():
    """K of a long-radius screwed 90 degree elbow of 1 in, on the pipe."""
    return 0.75


def elbow_45():
    """K of a screwed 45 degree elbow of 1 in, on the pipe."""
    return 0.33


def bend_swept(f, R, D, theta):
    """K of a swept bend of centreline radius `R` on bore `D` (m) through `theta` (deg), own wall friction in.

    `f` is the Darcy friction factor of the straight pipe.
    """
    half = math.sin(math.radians(theta) / 2.0)
    return (
        f * math.radians(theta) * (R / D)
        + (0.10 + 2.4 * f) * half
        + 6.6 * f * (math.sqrt(half) + half) / (R / D) ** (4.0 * math.radians(theta) / math.pi)
    )


def sudden_contraction(D_s, D_l):
    """K of a sudden step from bore `D_l` down to `D_s` (m), on the small bore."""
    return 0.5 * (1.0 - (D_s / D_l) ** 2)


def sudden_enlargement(D_s, D_l):
    """K of a sudden step from bore `D_s` up to `D_l` (m), on the small bore."""
    return (1.0 - (D_s / D_l) ** 2) ** 2


def cone_angle(D_s, D_l, L):
    """Whole angle (deg) of a cone of length `L` between bores `D_s` and `D_l` (m)."""
    return math.degrees(2.0 * math.atan((D_l - D_s) / (2.0 * L)))


def cone_contraction(D_s, D_l, theta):
    """K of a cone of whole angle `theta` (deg) from bore `D_l` down to `D_s` (m), on the small bore."""
    half = math.sin(math.radians(theta) / 2.0)
    if theta <= 45.0:
        return 0.8 * half * (1.0 - (D_s / D_l) ** 2)
    return 0.5 * math.sqrt(half) * (1.0 - (D_s / D_l) ** 2)


def cone_enlargement(D_s, D_l, theta):
    """K of a cone of whole angle `theta` (deg) from bore `D_s` up to `D_l` (m), on the small bore."""
    if theta <= 45.0:
        return 2.6 * math.sin(math.radians(theta) / 2.0) * sudden_enlargement(D_s, D_l)
    return sudden_enlargement(D_s, D_l)


def tee_line():
    """K of a screwed 1 in tee for flow straight through, on the pipe."""
    return 0.9


def tee_branch():
    """K of a screwed 1 in tee for flow that turns through the branch, on the pipe."""
    return 1.8


def tee_run_joining(Q_b, Q_c):
    """K of the run of a 90 degree tee where `Q_b` joins to make `Q_c` (m3/s), on the joined flow."""
    return 1.55 * (Q_b / Q_c) - (Q_b / Q_c) ** 2


def tee_branch_joining(Q_b, Q_c, D_b, D_c):
    """K of the branch of a 90 degree tee where `Q_b` joins to make `Q_c` (m3/s), on the joined flow.

    `D_b`, `D_c` are the bores of branch and run (m). Below zero the run draws the branch along.
    """
    area_ratio = (D_b / D_c) ** 2
    share = Q_b / Q_c
    if area_ratio <= 0.35:
        C = 1.0
    elif share <= 0.4:
        C = 0.9 * (1.0 - share)
    else:
        C = 0.55
    return C * (1.0 + (share / area_ratio) ** 2 - 2.0 * (1.0 - share) ** 2)

"""How colours look to a colour-blind reader, and how far apart they then are."""

from __future__ import annotations

import numpy as np
from matplotlib.colors import to_rgb

#: Machado, Oliveira & Fernandes 2009, "A Physiologically-based Model for Simulation of Color Vision
#: Deficiency", severity 1.0, on linear RGB. From memory.
MATRICES = {
    "protanopia": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "deuteranopia": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
    "tritanopia": [
        [1.255528, -0.076749, -0.178779],
        [-0.078411, 0.930809, 0.147602],
        [0.004733, 0.691367, 0.303900],
    ],
    # Rec. 709 luminance: a print in black and white.
    "grey": [[0.2126, 0.7152, 0.0722]] * 3,
}
#: Linear sRGB to CIE XYZ under D65 (IEC 61966-2-1, from memory).
_XYZ = np.array(
    [[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750], [0.0193339, 0.1191920, 0.9503041]]
)


def seen(colour, eye: str) -> np.ndarray:
    """Return the CIE L*a*b* of a colour as `eye` sees it; "" for full colour vision."""
    c = np.array(to_rgb(colour))
    linear = np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)
    if eye:
        linear = np.clip(np.array(MATRICES[eye]) @ linear, 0.0, 1.0)
    x, y, z = (_XYZ @ linear) / (_XYZ @ np.ones(3))
    f = [t ** (1 / 3) if t > (6 / 29) ** 3 else t / (3 * (6 / 29) ** 2) + 4 / 29 for t in (x, y, z)]
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def apart(one, other, eye: str) -> float:
    """CIE 1976 colour difference of two colours as `eye` sees them."""
    return float(np.linalg.norm(seen(one, eye) - seen(other, eye)))

"""Regions of a map made of cells: their outlines, and places for words that lie on nothing else."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from aquacalc.figures.outline import Point

#: Pixels between the places tried for a label; fewer where cells are smaller.
GRAIN = 3.0


def edges(values: Sequence[float]) -> np.ndarray:
    """Return the borders of cells around rising `values`: half way between them, as wide outside."""
    v = np.asarray(values, dtype=float)
    between = 0.5 * (v[1:] + v[:-1])
    return np.concatenate(([2.0 * v[0] - between[0]], between, [2.0 * v[-1] - between[-1]]))


def path_of(polygons: Sequence[Sequence[Point]]):
    """Join closed polygons into one matplotlib path."""
    from matplotlib.path import Path

    return Path.make_compound_path(*(Path([*polygon, polygon[0]], closed=True) for polygon in polygons))


def outlines(inside: np.ndarray, x: np.ndarray, y: np.ndarray) -> list[list[Point]]:
    """Return closed outlines of the cells that are inside, holes turning the other way round.

    Parameters
    ----------
    inside : numpy.ndarray of bool, shape (n, m)
    x, y : numpy.ndarray, shape (n + 1,) and (m + 1,)
        Borders of the cells.
    """
    n, m = inside.shape
    ahead: dict[tuple[int, int], list[tuple[int, int]]] = {}

    def at(i: int, j: int) -> bool:
        return bool(0 <= i < n and 0 <= j < m and inside[i, j])

    for i, j in np.argwhere(inside).tolist():
        corners = ((i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1))
        beside = ((i, j - 1), (i + 1, j), (i, j + 1), (i - 1, j))
        for k, cell in enumerate(beside):
            if not at(*cell):
                ahead.setdefault(corners[k], []).append(corners[(k + 1) % 4])
    found = []
    while ahead:
        start = next(iter(ahead))
        corner, loop = start, []
        while True:
            loop.append((float(x[corner[0]]), float(y[corner[1]])))
            ways = ahead[corner]
            following = ways.pop()
            if not ways:
                del ahead[corner]
            corner = following
            if corner == start:
                break
        found.append(loop)
    return found


class Room:
    """What is free for words on a map of `width` by `height` pixels.

    Parameters
    ----------
    of : numpy.ndarray of int, shape (n, m)
        Region of each cell.
    x, y : numpy.ndarray, shape (n + 1,) and (m + 1,)
        Borders of the cells, pixels.
    """

    def __init__(self, of: np.ndarray, x: np.ndarray, y: np.ndarray):
        self.grain = grain = float(min(GRAIN, np.diff(x).min(), np.diff(y).min()))
        self.x = np.arange(x[0] + 0.5 * grain, x[-1], grain)
        self.y = np.arange(y[0] + 0.5 * grain, y[-1], grain)
        columns = np.searchsorted(x, self.x) - 1
        rows = np.searchsorted(y, self.y) - 1
        self.of = of[np.ix_(columns, rows)]
        self.free = np.ones(self.of.shape, dtype=bool)

    def take(self, x: float, y: float, width: float, height: float) -> None:
        """Keep further words off a box around (x, y), `width` by `height`, px."""
        across = np.abs(self.x - x) < 0.5 * width + self.grain
        up = np.abs(self.y - y) < 0.5 * height + self.grain
        self.free[np.ix_(across, up)] = False

    def has(self, x: float, y: float, width: float, height: float) -> bool:
        """Whether a box around (x, y), `width` by `height`, px, lies on the map and on no other words."""
        if x - 0.5 * width < self.x[0] or x + 0.5 * width > self.x[-1]:
            return False
        if y - 0.5 * height < self.y[0] or y + 0.5 * height > self.y[-1]:
            return False
        across = np.abs(self.x - x) < 0.5 * width
        up = np.abs(self.y - y) < 0.5 * height
        return bool(self.free[np.ix_(across, up)].all())

    def place(self, region: int, width: float, height: float) -> Point | None:
        """Return the middle of a free box (`width` by `height`, px) in a region, near the middle of all.

        None without one.
        """
        bad = np.cumsum(np.cumsum(~(self.free & (self.of == region)), axis=0), axis=1)
        bad = np.pad(bad, ((1, 0), (1, 0)))
        w, h = int(np.ceil(width / self.grain)), int(np.ceil(height / self.grain))
        if w >= len(self.x) or h >= len(self.y):
            return None
        within = bad[w:, h:] - bad[:-w, h:] - bad[w:, :-h] + bad[:-w, :-h]
        starts = np.argwhere(within == 0)
        if not len(starts):
            return None
        i, j = _middle(starts)
        return float(self.x[i] + 0.5 * (w - 1) * self.grain), float(self.y[j] + 0.5 * (h - 1) * self.grain)

    def inmost(self, region: int) -> Point:
        """Return the point of a region that is farthest inside it, the rightmost of several."""
        left = self.of == region
        while True:
            p = np.pad(left, 1)
            smaller = left & p[2:, 1:-1] & p[:-2, 1:-1] & p[1:-1, 2:] & p[1:-1, :-2]
            if not smaller.any():
                break
            left = smaller
        places = np.argwhere(left)
        i, j = _middle(places[places[:, 0] == places[:, 0].max()])
        return float(self.x[i]), float(self.y[j])


def _middle(places: np.ndarray) -> np.ndarray:
    """Return the place nearest to the mean of all."""
    return places[np.square(places - places.mean(axis=0)).sum(axis=1).argmin()]

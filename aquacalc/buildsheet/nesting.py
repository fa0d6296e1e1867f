"""Pieces into lengths of pipe: offcuts first, then what stands on the rack, then the shop.

An exact integer programme over cutting patterns where there are few enough of
them; first-fit decreasing is where it starts from and what it falls back on,
so it is never worse. Lengths in m; whole tenths of a millimetre inside.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from aquacalc.buildsheet.stock import Stock

#: What a metre costs the grower, in a metre of offcut: the shop's is a hundred, the rack's ten.
SHOP, RACK, OFFCUT = 100, 10, 1
SOURCES = {SHOP: "buy", RACK: "own", OFFCUT: "offcut"}
#: More cutting patterns than this are left to first-fit decreasing.
MOST_PATTERNS = 20_000
#: Longest search, s.
TIME_LIMIT = 10.0
_PER_METRE = 10_000


@dataclass(frozen=True)
class Bar:
    """One length of pipe and what is cut from it.

    Attributes
    ----------
    source : {"offcut", "own", "buy"}
    length : float
        m.
    pieces : tuple of int
        Indices of the pieces, longest first.
    used, kerf, left : float
        Sum of the pieces, of the saw cuts, and what is left over, m.
    """

    source: str
    length: float
    pieces: tuple[int, ...]
    used: float
    kerf: float
    left: float


@dataclass(frozen=True)
class Nesting:
    """Every piece in a length of pipe.

    Attributes
    ----------
    bars : tuple of Bar
    cost, bound : float
        Weighted metres of this nesting and the least that any could have.
    method : {"exact", "first fit", "bounded"}
        "bounded": the search was cut short at `bound`.
    """

    bars: tuple[Bar, ...]
    cost: float
    bound: float
    method: str

    @property
    def bought(self) -> float:
        """Pipe to buy, m."""
        return sum(bar.length for bar in self.bars if bar.source == "buy")

    def sold(self) -> Counter:
        """How many of each length (m) to buy."""
        return Counter(bar.length for bar in self.bars if bar.source == "buy")


def _whole(length: float) -> int:
    return round(length * _PER_METRE)


@dataclass(frozen=True)
class _Kind:
    """Lengths of pipe of one kind: `room` includes one kerf, since the last piece needs no cut after it."""

    length: int
    room: int
    weight: int
    count: int

    @property
    def cost(self) -> int:
        return self.length * self.weight


def _kinds(stock: Stock, kerf: int, pieces: int) -> list[_Kind]:
    found = []
    for lengths, weight in ((stock.offcuts, OFFCUT), (stock.owned, RACK), (stock.sold, SHOP)):
        for length, count in sorted(Counter(_whole(x) for x in lengths).items()):
            found.append(_Kind(length, length + kerf, weight, pieces if weight == SHOP else count))
    return found


def nest(lengths: Sequence[float], stock: Stock, kerf: float) -> Nesting:
    """Lay pieces into lengths of pipe.

    Parameters
    ----------
    lengths : sequence of float
        Of the pieces, m.
    stock : Stock
        Offcuts and owned lengths once each, shop lengths as often as wanted.
    kerf : float
        Lost at each cut, m.

    Returns
    -------
    Nesting

    Raises
    ------
    ValueError
        When a piece is longer than every length there is.
    """
    cut = _whole(kerf)
    need = [_whole(x) + cut for x in lengths]
    kinds = _kinds(stock, cut, len(need))
    if need and max(need) > max((k.room for k in kinds), default=0):
        raise ValueError(f"a piece of {max(lengths) * 1e3:.0f} mm is longer than any length of pipe there is")
    best = min((_first_fit(need, kinds, shop) for shop in _shops(kinds)), key=_cost_of, default=[])
    cost, bound, method = _cost_of(best), _least(need, kinds), "first fit"
    if need and cost > bound:
        patterns = _patterns(need, kinds)
        if patterns is not None:
            found, low = _programme(need, kinds, patterns)
            bound = max(bound, low)
            if found is not None and _cost_of(found) < cost:  # equal ones differ by scipy's release
                best, cost = found, _cost_of(found)
            method = "exact" if cost <= bound * (1 + 1e-6) + 1 else "bounded"
    else:
        method = "exact"
    _gather(need, best)
    scale = float(_PER_METRE)
    bars = tuple(_bar(kind, at, lengths, kerf, scale) for kind, at in best)
    return Nesting(bars, cost / scale, bound / scale, method)


def _bar(kind: _Kind, at: list[int], lengths: Sequence[float], kerf: float, scale: float) -> Bar:
    length = kind.length / scale
    used = sum(lengths[i] for i in at)
    cuts = min(len(at) * kerf, max(length - used, 0.0))
    ordered = tuple(sorted(at, key=lambda i: -lengths[i]))
    return Bar(SOURCES[kind.weight], length, ordered, used, cuts, max(length - used - cuts, 0.0))


def _gather(need: list[int], bars: list[tuple[_Kind, list[int]]]) -> None:
    """Move pieces out of the length that has most left into the others, so that one long offcut is left."""

    def left(kind: _Kind, at: list[int]) -> int:
        return kind.room - sum(need[i] for i in at)

    moved = len(bars) > 1
    while moved:
        moved = False
        best = max(range(len(bars)), key=lambda k: left(*bars[k]))
        for i in sorted(bars[best][1], key=lambda i: need[i]):
            others = [k for k in range(len(bars)) if k != best and left(*bars[k]) >= need[i]]
            if others and len(bars[best][1]) > 1:
                bars[best][1].remove(i)
                bars[min(others, key=lambda k: left(*bars[k]))][1].append(i)
                moved = True


def _cost_of(bars: Iterable[tuple[_Kind, list[int]]]) -> int:
    return sum(kind.cost for kind, _ in bars)


def _shops(kinds: list[_Kind]) -> list[int | None]:
    """Each shop length to try as the one that first-fit buys; None buys the shortest that serves."""
    return [None, *(k.length for k in kinds if k.weight == SHOP)]


def _first_fit(need: list[int], kinds: list[_Kind], shop: int | None) -> list[tuple[_Kind, list[int]]]:
    """First-fit decreasing; a new length is the cheapest that holds the piece, offcuts first."""
    left = {i: kind.count for i, kind in enumerate(kinds)}
    open_: list[tuple[_Kind, list[int], list[int]]] = []
    for i in sorted(range(len(need)), key=lambda i: -need[i]):
        for _, room, at in open_:
            if need[i] <= room[0]:
                room[0] -= need[i]
                at.append(i)
                break
        else:
            fits = [j for j, k in enumerate(kinds) if left[j] and need[i] <= k.room]
            wanted = [j for j in fits if kinds[j].weight != SHOP or shop in (None, kinds[j].length)]
            j = (wanted or fits)[0]
            left[j] -= 1
            open_.append((kinds[j], [kinds[j].room - need[i]], [i]))
    return [(kind, at) for kind, _, at in open_]


def _least(need: list[int], kinds: list[_Kind]) -> int:
    """Least cost if pieces could be cut up: the cheapest lengths' material, each in full at most."""
    total, cost = sum(need), 0.0
    for kind in sorted(kinds, key=lambda k: k.cost / k.room):
        take = min(total, kind.room * kind.count)
        cost += take * kind.cost / kind.room
        total -= take
    return int(cost)


def _patterns(need: list[int], kinds: list[_Kind]) -> list[tuple[int, tuple[int, ...]]] | None:
    """Every full pattern as (kind, how many of each size), or None when there are too many."""
    sizes = Counter(need)
    ordered = sorted(sizes, reverse=True)
    found: list[tuple[int, tuple[int, ...]]] = []
    for j, kind in enumerate(kinds):
        # A depth-first walk: counts of the sizes so far, and the room left.
        walk: list[tuple[tuple[int, ...], int]] = [((), kind.room)]
        while walk:
            counts, room = walk.pop()
            if len(counts) == len(ordered):
                if any(counts):
                    found.append((j, counts))
                if len(found) > MOST_PATTERNS:
                    return None
                continue
            size = ordered[len(counts)]
            most = min(room // size, sizes[size])
            last = len(counts) == len(ordered) - 1
            for k in (most,) if last else range(most + 1):
                walk.append(((*counts, k), room - k * size))
    return found


def _programme(need: list[int], kinds: list[_Kind], patterns: list[tuple[int, tuple[int, ...]]]):
    """Choose patterns by an integer programme; return the bars (or None) and the bound."""
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import csr_array

    sizes = Counter(need)
    ordered = sorted(sizes, reverse=True)
    cost = np.array([kinds[j].cost for j, _ in patterns], dtype=float)
    made = csr_array(np.array([counts for _, counts in patterns], dtype=float).T)
    of_kind = csr_array(np.array([[j == i for j, _ in patterns] for i in range(len(kinds))], dtype=float))
    result = milp(
        cost,
        integrality=np.ones(len(patterns)),
        bounds=Bounds(0, np.inf),
        constraints=[
            LinearConstraint(made, [sizes[s] for s in ordered], np.inf),
            LinearConstraint(of_kind, 0, [k.count for k in kinds]),
        ],
        options={"time_limit": TIME_LIMIT, "mip_rel_gap": 0.0},
    )
    low = int(result.mip_dual_bound) if result.mip_dual_bound is not None else 0
    if result.x is None:
        return None, low
    waiting = {s: [i for i, n in enumerate(need) if n == s] for s in ordered}
    bars = []
    for (j, counts), times in zip(patterns, np.rint(result.x).astype(int), strict=True):
        for _ in range(times):
            at = [
                waiting[s].pop() for s, k in zip(ordered, counts, strict=True) for _ in range(k) if waiting[s]
            ]
            if at:
                bars.append((kinds[j], at))
    return bars, low

"""Nesting: every piece once, never worse than first fit, as good as trying everything on small cases."""

import itertools
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from aquacalc.buildsheet import nesting
from aquacalc.buildsheet.nesting import nest
from aquacalc.buildsheet.stock import Stock

KERF = 0.002


def first_fit(lengths, stock, kerf):
    """First-fit decreasing, written again: weighted metres with the shop's shortest length that serves."""
    racks = [(x, 1) for x in sorted(stock.offcuts)] + [(x, 10) for x in sorted(stock.owned)]
    bars, cost = [], 0.0
    for piece in sorted(lengths, reverse=True):
        for bar in bars:
            if piece + kerf <= bar[0] + 1e-9:
                bar[0] -= piece + kerf
                break
        else:
            fits = next((r for r in racks if piece <= r[0] + 1e-9), None)
            if fits:
                racks.remove(fits)
                length, weight = fits
            else:
                length, weight = min(x for x in stock.sold if piece <= x + 1e-9), 100
            cost += length * weight
            bars.append([length + kerf - piece - kerf])
    return cost


def best_of_all(lengths, stock, kerf):
    """Least cost over every way to share the pieces out, by trying them all."""
    racks = [(x, 1) for x in stock.offcuts] + [(x, 10) for x in stock.owned]
    best = float("inf")

    def partitions(items):
        if not items:
            yield []
            return
        first, rest = items[0], items[1:]
        for n in range(len(rest) + 1):
            for with_first in itertools.combinations(range(len(rest)), n):
                left = [x for i, x in enumerate(rest) if i not in with_first]
                for others in partitions(left):
                    yield [[first, *(rest[i] for i in with_first)], *others]

    def cheapest(needs, racks):
        if not needs:
            return 0.0
        need, rest = needs[0], needs[1:]
        tried = [
            length * weight + cheapest(rest, racks[:i] + racks[i + 1 :])
            for i, (length, weight) in enumerate(racks)
            if need <= length + 1e-9
        ]
        tried += [length * 100 + cheapest(rest, racks) for length in stock.sold if need <= length + 1e-9]
        return min(tried, default=float("inf"))

    for split in partitions(list(lengths)):
        needs = [sum(part) + kerf * (len(part) - 1) for part in split]
        best = min(best, cheapest(needs, racks))
    return best


millimetres = st.integers(40, 1000).map(lambda mm: mm / 1e3)
stocks = st.builds(
    Stock,
    st.just("s"),
    st.just("1 in"),
    owned=st.lists(st.sampled_from([1.0, 1.5, 2.0]), max_size=2).map(tuple),
    offcuts=st.lists(millimetres, max_size=3).map(tuple),
    sold=st.sampled_from([(1.0,), (1.0, 2.5), (3.0,)]),
)


@pytest.mark.identity
@settings(max_examples=60, deadline=None)
@given(st.lists(millimetres, min_size=1, max_size=5), stocks)
def test_as_good_as_trying_everything(lengths, stock):
    found = nest(lengths, stock, KERF)
    exact = best_of_all(lengths, stock, KERF)
    assert found.cost <= exact * 1.02 + 1e-6
    assert found.cost >= exact - 1e-6
    assert found.bound <= exact + 1e-3


@pytest.mark.identity
@settings(max_examples=40, deadline=None)
@given(st.lists(millimetres, min_size=1, max_size=40), stocks)
def test_never_worse_than_first_fit_and_every_piece_once(lengths, stock):
    found = nest(lengths, stock, KERF)
    assert found.cost <= first_fit(lengths, stock, KERF) + 1e-6
    assert sorted(i for bar in found.bars for i in bar.pieces) == list(range(len(lengths)))
    for source, mine in (("offcut", stock.offcuts), ("own", stock.owned)):
        used = sorted(bar.length for bar in found.bars if bar.source == source)
        left = sorted(mine)
        for length in used:
            near = next(x for x in left if abs(x - length) < 1e-6)
            left.remove(near)
    for bar in found.bars:
        assert bar.used == pytest.approx(sum(lengths[i] for i in bar.pieces))
        assert bar.used + bar.kerf + bar.left == pytest.approx(bar.length)
        assert bar.used + KERF * (len(bar.pieces) - 1) <= bar.length + 1e-9


@pytest.mark.identity
def test_better_than_first_fit_where_it_errs():
    """First fit lays 0.5 + 0.4, then 0.35 + 0.3 + 0.25, and opens a third length for 0.2."""
    lengths = [0.5, 0.4, 0.35, 0.3, 0.25, 0.2]
    stock = Stock("s", "1 in", sold=(1.0,))
    assert first_fit(lengths, stock, 0.0) == pytest.approx(300.0)
    found = nest(lengths, stock, 0.0)
    assert found.cost == pytest.approx(200.0)  # 0.5 + 0.3 + 0.2 and 0.4 + 0.35 + 0.25
    assert found.method == "exact"


@pytest.mark.identity
def test_offcuts_come_first_then_the_rack_then_the_shop():
    stock = Stock("s", "1 in", owned=(2.0,), offcuts=(0.6,), sold=(3.0,))
    found = nest([0.55, 1.9, 2.9], stock, KERF)
    assert [(b.source, b.pieces) for b in sorted(found.bars, key=lambda b: b.length)] == [
        ("offcut", (0,)),
        ("own", (1,)),
        ("buy", (2,)),
    ]
    assert found.bought == 3.0
    assert found.sold() == {3.0: 1}
    # Left over: 50, 100 and 100 mm, the saw cuts among them.
    assert sum(bar.left + bar.kerf for bar in found.bars) == pytest.approx(0.25)


@pytest.mark.identity
def test_a_piece_that_fills_a_length_needs_no_saw_cut():
    found = nest([1.0, 0.499, 0.499], Stock("s", "1 in", sold=(1.0,)), KERF)
    assert found.cost == pytest.approx(200.0)  # 499 + 2 + 499 is 1000 exactly


@pytest.mark.identity
def test_too_long_a_piece_is_refused():
    with pytest.raises(ValueError, match="3500 mm is longer"):
        nest([0.2, 3.5], Stock("s", "1 in", sold=(3.0,)), KERF)
    assert nest([], Stock("s", "1 in", sold=(3.0,)), KERF).bars == ()


@pytest.mark.identity
def test_too_many_patterns_are_left_to_first_fit(monkeypatch):
    monkeypatch.setattr(nesting, "MOST_PATTERNS", 3)
    lengths = [0.41, 0.37, 0.33, 0.29, 0.23, 0.19, 0.17]
    found = nest(lengths, Stock("s", "1 in", sold=(1.0,)), KERF)
    assert found.method == "first fit"
    assert found.bound <= found.cost <= first_fit(lengths, Stock("s", "1 in", sold=(1.0,)), KERF) + 1e-6


def tried():
    """Lengths and stocks drawn by number: what first fit, the bound and the gathering are tried on."""
    draw = random.Random(5)
    for n in range(40):
        lengths = [draw.randint(40, 1000) / 1e3 for _ in range(draw.randint(2, 9))]
        owned = tuple(draw.choice((1.0, 1.5, 2.0)) for _ in range(n % 3))
        offcuts = tuple(draw.randint(200, 900) / 1e3 for _ in range(n % 4))
        sold = ((1.0,), (1.0, 2.5), (3.0,))[n % 3]
        yield lengths, Stock("s", "1 in", owned=owned, offcuts=offcuts, sold=sold)


@pytest.mark.identity
def test_first_fit_alone_is_first_fit():
    """Written again above, in m and with the shop's shortest length that serves."""
    for lengths, stock in tried():
        need, kinds = [round((x + KERF) * 1e4) for x in lengths], nesting._kinds(stock, 20, len(lengths))
        bars = nesting._first_fit(need, kinds, None)
        assert nesting._cost_of(bars) / 1e4 == pytest.approx(first_fit(lengths, stock, KERF))
        assert sorted(i for _, at in bars for i in at) == list(range(len(lengths)))
        for length in stock.sold:
            if length >= max(lengths):  # of this length alone, but for what fits into what is there
                used = {kind.length for kind, _ in nesting._first_fit(need, kinds, round(length * 1e4))
                        if kind.weight == nesting.SHOP}  # fmt: skip
                assert used <= {round(length * 1e4)}


@pytest.mark.identity
def test_the_least_cost_is_that_of_pieces_that_may_be_cut_up():
    """By a linear programme: so much of each kind as there is, at its cost for its room."""
    for lengths, stock in tried():
        need, kinds = [round((x + KERF) * 1e4) for x in lengths], nesting._kinds(stock, 20, len(lengths))
        best = linprog([k.cost / k.room for k in kinds], A_eq=[[1.0] * len(kinds)], b_eq=[sum(need)],
                       bounds=[(0, k.room * k.count) for k in kinds])  # fmt: skip
        assert nesting._least(need, kinds) == pytest.approx(best.fun, abs=1.0)


@pytest.mark.identity
def test_patterns_are_all_that_fit_and_have_no_room_for_one_more_of_the_shortest():
    for lengths, stock in itertools.islice(tried(), 12):
        need, kinds = [round((x + KERF) * 1e4) for x in lengths], nesting._kinds(stock, 20, len(lengths))
        sizes = sorted(set(need), reverse=True)
        counts = [need.count(size) for size in sizes]
        full = []
        for j, kind in enumerate(kinds):
            for each in itertools.product(*(range(n + 1) for n in counts)):
                left = kind.room - sum(k * size for k, size in zip(each, sizes, strict=True))
                if any(each) and left >= 0 and (each[-1] == counts[-1] or left < sizes[-1]):
                    full.append((j, each))
        assert sorted(nesting._patterns(need, kinds)) == full


@pytest.mark.identity
def test_what_is_left_is_gathered_into_one_length():
    """No piece of the length with most left over goes into another."""
    for lengths, stock in tried():
        need, kinds = [round((x + KERF) * 1e4) for x in lengths], nesting._kinds(stock, 20, len(lengths))
        bars = nesting._first_fit(need, kinds, None)
        left = [kind.room - sum(need[i] for i in at) for kind, at in bars]
        nesting._gather(need, bars)
        after = [kind.room - sum(need[i] for i in at) for kind, at in bars]
        assert (max(after), sum(after), min(after) >= 0) == (max(max(after), max(left)), sum(left), True)
        assert sorted(i for _, at in bars for i in at) == list(range(len(lengths)))
        most = after.index(max(after))
        if len(bars) > 1 < len(bars[most][1]):
            room = max(room for k, room in enumerate(after) if k != most)
            assert min(need[i] for i in bars[most][1]) > room


@pytest.mark.identity
def test_what_is_sold_stays_between_the_bound_and_first_fit():
    for lengths, stock in itertools.islice(tried(), 15):
        found = nest(lengths, stock, KERF)
        assert found.method == ("exact" if found.cost <= found.bound * (1 + 1e-6) + 1e-4 else "bounded")
        weights = {"offcut": 1, "own": 10, "buy": 100}
        assert found.cost == pytest.approx(sum(bar.length * weights[bar.source] for bar in found.bars))
        assert found.bought == pytest.approx(sum(k * n for k, n in found.sold().items()))
        for bar in found.bars:
            assert list(bar.pieces) == sorted(bar.pieces, key=lambda i: -lengths[i])
            assert bar.kerf == pytest.approx(min(len(bar.pieces) * KERF, bar.length - bar.used))


@pytest.mark.identity
def test_two_lengths_of_three_metres_hold_what_first_fit_cannot_lay_into_them():
    """5.01 m and seven cuts: 1.12 + 0.94 + 0.94 is 3.0 without its cuts, so another way has to be found."""
    lengths = [0.94, 0.94, 0.31, 1.12, 0.71, 0.66, 0.42, 0.83]
    stock = Stock("s", "1 in", owned=(1.0,), offcuts=(0.7,), sold=(3.0,))
    found = nest(lengths, stock, KERF)
    assert (found.cost, found.method) == (pytest.approx(600.0), "exact")
    assert [bar.source for bar in found.bars] == ["buy", "buy"]

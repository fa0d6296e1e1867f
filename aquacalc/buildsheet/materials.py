"""The bill of materials: quantities from the plan, prices from the grower's own list."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from aquacalc import catalogue
from aquacalc.buildsheet.cut_list import CutList, Nested
from aquacalc.buildsheet.drilling import Hole
from aquacalc.buildsheet.stock import Price, Prices, WorkshopError
from aquacalc.geometry.routes import overflow_pipe, run_fittings, seal_of
from aquacalc.geometry.strainers import strainers
from aquacalc.plan.model import Fitting, Pipe, Plan
from aquacalc.units import show

FOOT = Decimal("0.3048")
#: Litres in each unit that media is sold by.
VOLUMES = {"L": 1.0, "gal": 3.785411784}
#: Kinds of shop, in the order of the list; what is not named here is sold where pipe is.
SHOPS = {"rubber pipe seal": "ponds", "tank fitting": "ponds", "pump": "ponds", "grow bed": "containers",
         "siphon chamber": "containers", "sump": "containers", "bell": "containers",
         "media guard": "containers", "breather tube": "ponds", "timer": "ponds"}  # fmt: skip
SHOP_ORDER = ("plumbing", "ponds", "containers", "garden")


@dataclass(frozen=True)
class Item:
    """One line of the bill.

    Attributes
    ----------
    item, series, size : str
        As a price list names it.
    use : str
        What it is for.
    quantity : Decimal
    unit : str
        "m", "ft", "L", "gal" or "each".
    price, total : Decimal or None
        Of one unit and of the line; None without a price.
    """

    item: str
    series: str
    size: str
    use: str
    quantity: Decimal
    unit: str
    price: Decimal | None
    total: Decimal | None

    @property
    def shop(self) -> str:
        """Kind of shop that sells it."""
        return SHOPS.get(self.item, "garden" if self.unit in VOLUMES else "plumbing")

    @property
    def key(self) -> tuple[str, str, str]:
        """What it is, whatever it is for and however many."""
        return self.item, self.series, self.size


@dataclass(frozen=True)
class Bill:
    """The bill of materials; `total` adds up the lines that have a price.

    `unpriced` counts the others; `unmatched` says which prices are of nothing that is bought.
    """

    items: tuple[Item, ...]
    currency: str
    places: int
    total: Decimal
    unpriced: int
    unmatched: tuple[str, ...] = ()

    @property
    def parts(self) -> int:
        """Number of single things to buy, pipe and media apart."""
        return sum(int(i.quantity) for i in self.items if i.unit == "each" and i.item != "pipe")

    def quantity(self, key: tuple[str, str, str]) -> Decimal:
        """Quantity of an item by its `Item.key`."""
        return sum((i.quantity for i in self.items if i.key == key), Decimal(0))

    def count(self, item: str, size: str = "") -> Decimal:
        """Quantity of an item, of one size or of all."""
        return sum((i.quantity for i in self.items if i.item == item and size in ("", i.size)), Decimal(0))


def money(value: Decimal, places: int) -> Decimal:
    """Round to the currency's decimals, halves up."""
    return value.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP)


def reducer_size(wide: Pipe | float, narrow: Pipe) -> str:
    """Name a reducer by both its sizes, "1-1/2 in x 1 in"; `wide` is a pipe, or a bore to look for, m."""
    if isinstance(wide, float):
        known = catalogue.sizes(narrow.series) if narrow.series in catalogue.series() else ()
        near = min(known, key=lambda size: abs(size.bore - wide), default=None)
        if near is None or abs(near.bore - wide) > 0.1 * wide or near.size == narrow.size:
            return f"{wide * 1e3:.0f} mm x {narrow.size}"
        return f"{near.size} x {narrow.size}"
    return f"{wide.size} x {narrow.size}"


def bought_name(name: str) -> str:
    """Return what a fitting of the plan is bought as."""
    if name.startswith(("contraction", "enlargement")):
        return "reducer"
    if name.startswith("tee") or name == "clean-out":
        return "tee"
    return "bend 45" if name == "two 45s" else name.removesuffix(", open")


def fitting_counts(plan: Plan) -> Counter:
    """Count the fittings to buy as {(item, series, size): number}."""
    found: Counter = Counter()

    def add(fittings: Iterable[Fitting], pipe: Pipe):
        for f in fittings:
            if not f.name.startswith(("entrance", "exit")):
                name, size, ratio = bought_name(f.name), pipe.size, f.name.rpartition(" ")[2]
                if name == "reducer" and ratio.replace(".", "").isdigit():
                    size = reducer_size(pipe.bore / float(ratio), pipe)
                if f.name == "clean-out":
                    found["plug", pipe.series, size] += f.count
                found[name, pipe.series, size] += (2 if f.name == "two 45s" else 1) * f.count

    for run in plan.runs:
        add(run_fittings(plan, run), run.pipe)
    for siphon in plan.siphons:
        add(siphon.tail.fittings, siphon.tail.pipe)
    if plan.pump.delivery is not None:
        delivery = plan.pump.delivery
        add(delivery.fittings, delivery.pipe)
        if delivery.check_valve == "fitted":
            found["check valve", delivery.pipe.series, delivery.pipe.size] += 1
    for tee in plan.tees:
        pipes = [run.pipe for run in plan.runs if tee.name in (run.start, run.to)]
        widest = max(pipes, key=lambda p: p.outside_diameter)
        # Three ways to a tee: one more for each run beyond two into it; a single one leaves a way to cap.
        into = len(pipes) - 1
        found["tee", widest.series, widest.size] += max(into - 1, 1)
        if into == 1:
            found["cap", widest.series, widest.size] += 1
        for pipe in pipes:
            if pipe.outside_diameter < widest.outside_diameter - 1e-6:
                found["reducer", pipe.series, reducer_size(widest, pipe)] += 1
    for siphon in plan.siphons:
        stand = siphon.standpipe
        if stand.lip_diameter > stand.pipe.bore + 1e-6:
            found["reducer", stand.pipe.series, reducer_size(stand.lip_diameter, stand.pipe)] += 1
        if siphon.overflow is not None and seal_of(plan, siphon.host) == "rubber pipe seal":
            pipe = overflow_pipe(siphon)
            found["coupling", pipe.series, pipe.size] += 1
        if siphon.bell.series:
            found["cap", siphon.bell.series, siphon.bell.size] += 1
    for cut in strainers(plan):
        if cut.fixing != "media guard":
            found["cap", cut.pipe.series, cut.pipe.size] += 1
        if cut.foot in ("coupling", "bend 90, sharp"):
            found[cut.foot, cut.pipe.series, cut.pipe.size] += 1
    return found


def bill(plan: Plan, cuts: CutList, holes: Iterable[Hole], prices: Prices) -> Bill:
    """Return the bill of materials.

    Parameters
    ----------
    plan : Plan
    cuts : CutList
        Its nesting says how much pipe is bought beyond what the grower owns.
    holes : iterable of Hole
        A seal or tank fitting goes into each.
    prices : Prices

    Returns
    -------
    Bill

    Raises
    ------
    WorkshopError
        When the price list has an item in a unit that it is not bought in.
    """
    counts = fitting_counts(plan)
    for way in cuts.ways:
        if any(p.last.name == "reducer below the floor" for p in way.pieces):
            stand = next(s.standpipe.pipe for s in plan.siphons if way.name == f"{s.name}: standpipe")
            tail = next(s.tail.pipe for s in plan.siphons if way.name == f"{s.name}: standpipe")
            wide, narrow = sorted((stand, tail), key=lambda p: -p.outside_diameter)
            counts["reducer", narrow.series, reducer_size(wide, narrow)] += 1
    for pipe in cuts.couplings:
        counts["coupling", pipe.series, pipe.size] += 1
    for hole in holes:
        counts[hole.fitting, hole.pipe.series, hole.pipe.size] += 1
    items = [_pipe_item(n, prices, plan.units) for n in cuts.nested if n.nesting.bought > 0.0]
    items += [
        _item(item, series, size, "", Decimal(n), prices)
        for (item, series, size), n in sorted(counts.items())
    ]
    for siphon in plan.siphons:
        if not siphon.bell.series:
            inside = f"inside diameter {show(siphon.bell.bore, 'length', plan.units)}, closed on top"
            items.append(_item("bell", "", "", inside, Decimal(1), prices))
        if siphon.media_guard:
            guard = show(siphon.media_guard, "length", plan.units)
            inside = f"inside diameter {guard}, with openings all round"
            items.append(_item("media guard", "", "", inside, Decimal(1), prices))
        if siphon.breather:
            tube = siphon.breather
            bore, length = (show(x, "length", plan.units) for x in (tube.bore, tube.length))
            use = f"bore {bore}, {length} long, with a grommet or hose tail for the bell's top"
            items.append(_item("breather tube", "", "", use, Decimal(1), prices))
    if plan.pump.on is not None:
        on, off = (show(x, "time", plan.units) for x in (plan.pump.on, plan.pump.off))
        items.append(_item("timer", "", "", f"on {on}, off {off}", Decimal(1), prices))
    volumes: defaultdict[str, float] = defaultdict(float)
    for bed in plan.beds:
        volumes[bed.media.name] += bed.shape.volume(bed.media.depth) * 1e3
    for name, litres in volumes.items():
        priced = prices.find(name)
        unit = priced.unit if priced and priced.unit in VOLUMES else "gal" if plan.units == "us" else "L"
        whole = Decimal(math.ceil(round(litres / VOLUMES[unit], 6)))
        items.append(_item(name, "", "", "rinse it before filling", whole, prices, unit))
    vessels = (("grow bed", len(plan.beds)), ("siphon chamber", len(plan.chambers)), ("sump", 1), ("pump", 1))
    items += [_item(name, "", "", "", Decimal(n), prices) for name, n in vessels if n]
    items.append(_item("cement and primer", "", "", "for the kind of pipe", Decimal(1), prices))
    items.sort(key=lambda i: SHOP_ORDER.index(i.shop))
    totals = [i.total for i in items if i.total is not None]
    return Bill(
        tuple(items),
        prices.currency,
        prices.places,
        sum(totals, Decimal(0)),
        sum(1 for i in items if i.total is None),
        _unmatched(prices, items),
    )


def _unmatched(prices: Prices, items: Iterable[Item]) -> tuple[str, ...]:
    """Say which items of the price list are nothing that any bill has, with what was probably meant."""
    names = {i.item for i in items} | {bought_name(f.name) for f in catalogue.fittings()} | {"pipe", "cap"}
    names |= {s.fitting for s in catalogue.seals()} | set(catalogue.media_names())
    names |= {"tee", "plug", "coupling", "reducer", "check valve", "timer", *SHOPS}
    found = []
    for item in dict.fromkeys(line.item for line in prices.lines if line.item not in names):
        near = catalogue.near_matches(item, names)
        meant = f": {catalogue.suggestion(near, ())}" if near else ""
        found.append(f'{prices.file}: nothing that is bought is called "{item}"{meant}')
    for line in prices.lines:
        if line.item == "pipe" and line.series.casefold() != catalogue.OWN:
            try:
                catalogue.pipe(line.series, line.size)
            except catalogue.CatalogueError as error:
                found.append(f'{prices.file}: there is no pipe "{line.series}", "{line.size}": {error.fix}')
    return tuple(found)


def _item(
    item: str, series: str, size: str, use: str, quantity: Decimal, prices: Prices, unit: str = "each"
) -> Item:
    price = prices.find(item, series, size)
    if price is not None and price.unit != unit:
        raise WorkshopError(
            prices.file, f"{item}.unit", price.unit, "is not what it is bought in", f"price it per {unit}"
        )
    total = money(price.price * quantity, prices.places) if price else None
    return Item(item, series, size, use, quantity, unit, price.price if price else None, total)


def _pipe_item(nested: Nested, prices: Prices, system: str) -> Item:
    sold = nested.nesting.sold()
    pipe = nested.pipe
    price: Price | None = prices.find("pipe", pipe.series, pipe.size)
    unit = price.unit if price else "ft" if system == "us" else "m"
    if unit in VOLUMES:
        raise WorkshopError(
            prices.file, "pipe.unit", unit, "is not a unit of length", "price it per m, ft or each"
        )
    metres = sum((Decimal(str(round(length, 4))) * n for length, n in sold.items()), Decimal(0))
    quantity = {"m": metres, "ft": metres / FOOT, "each": Decimal(sum(sold.values()))}[unit]
    if unit == "ft":
        quantity = quantity.quantize(Decimal("0.01"))
    use = ", ".join(f"{n} of {show(length, 'distance', system)}" for length, n in sorted(sold.items()))
    total = money(price.price * quantity, prices.places) if price else None
    return Item("pipe", pipe.series, pipe.size, use, quantity, unit, price.price if price else None, total)

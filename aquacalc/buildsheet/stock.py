"""What the grower owns and pays: pipe on the rack, offcuts, saws, prices.

A small TOML file beside the plan. Money is `Decimal` throughout.
"""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any

from aquacalc import catalogue, units
from aquacalc.plan.errors import PlanError
from aquacalc.plan.key import LONGEST_TEXT
from aquacalc.plan.model import Pipe
from aquacalc.plan.text import check_rows, clean, read_text, read_toml

#: Kerf of a hand or mitre saw where the grower gives none (common practice, no source), m.
KERF = 0.002
#: Length in which pipe is sold where the grower gives none (common practice, no source), m.
SOLD = {"metric": 3.0, "us": 3.048}
PRICE_COLUMNS = ("item", "series", "size", "unit", "price", "currency")
PRICE_UNITS = ("m", "ft", "each", "L", "gal")


class WorkshopError(PlanError):
    """A workshop file or price list that cannot be used: file, key, value, reason, fix."""


@dataclass(frozen=True)
class Stock:
    """Pipe of one series and size: lengths (m) on the rack, left over, and as the shop sells it."""

    series: str
    size: str
    owned: tuple[float, ...] = ()
    offcuts: tuple[float, ...] = ()
    sold: tuple[float, ...] = ()


@dataclass(frozen=True)
class Price:
    """One line of the price list; `unit` is "m", "ft", "each", "L" or "gal"."""

    item: str
    series: str
    size: str
    unit: str
    price: Decimal


@dataclass(frozen=True)
class Prices:
    """A price list in one currency; `places` decimals of money."""

    currency: str = ""
    lines: tuple[Price, ...] = ()
    places: int = 2
    file: str = ""
    note: str = ""

    def find(self, item: str, series: str = "", size: str = "") -> Price | None:
        """Return the line for an item; one without series and size stands for every size.

        A reducer's is also found by its narrow end alone.
        """
        same = [p for p in self.lines if p.item == item]
        sizes = [size, size.rpartition(" x ")[2]]
        exact = [p for s in sizes for p in same if (p.series, p.size) == (series, s)]
        return next(iter(exact), next((p for p in same if not p.series and not p.size), None))


@dataclass(frozen=True)
class Workshop:
    """What the grower has.

    Attributes
    ----------
    name, note : str
    kerf : float
        Width of a saw cut, m.
    hole_saws : tuple of float
        Diameters, m.
    stock : tuple of Stock
    prices : Prices
    file : str
        "" when the grower gave none.
    """

    name: str = ""
    note: str = ""
    kerf: float = KERF
    hole_saws: tuple[float, ...] = ()
    stock: tuple[Stock, ...] = ()
    prices: Prices = field(default_factory=Prices)
    file: str = ""

    def of(self, pipe: Pipe, system: str) -> Stock:
        """Stock of `pipe`; a shop length of 3 m (10 ft) where the file names none."""
        found = next((s for s in self.stock if (s.series, s.size) == (pipe.series, pipe.size)), None)
        found = found or Stock(pipe.series, pipe.size)
        sold = found.sold or (SOLD[system],)
        return Stock(pipe.series, pipe.size, found.owned, found.offcuts, sold)


def read_workshop(path) -> Workshop:
    """Read a workshop file and the price list it names.

    Raises
    ------
    WorkshopError
        One error naming file, key, value and fix.
    """
    path = Path(path)
    file = str(path)
    raw = read_toml(read_text(path, WorkshopError, "a workshop file"), file, WorkshopError)
    _known(file, "", raw, ("workshop", "stock"))
    shop = _table(file, "workshop", raw.get("workshop", {}))
    _known(file, "workshop", shop, ("name", "note", "kerf", "hole_saws", "prices"))
    for key in ("name", "note", "prices"):
        if not isinstance(shop.get(key, ""), str):
            raise WorkshopError(file, f"workshop.{key}", shop[key], "is not text", "write it in quotes")
        if not clean(shop.get(key, ""), lines=key == "note") or len(shop.get(key, "")) > LONGEST_TEXT:
            fix = f"type it again by hand, up to {LONGEST_TEXT} characters"
            raise WorkshopError(file, f"workshop.{key}", shop[key], "is not a usable text", fix)
    kerf = _length(file, "workshop.kerf", shop["kerf"], 0.02) if "kerf" in shop else KERF
    saws = _lengths(file, "workshop.hole_saws", shop.get("hole_saws", []), 1.0)
    stock = raw.get("stock", [])
    if not isinstance(stock, list):
        raise WorkshopError(file, "stock", stock, "is not a list of tables", "head each with [[stock]]")
    listed = shop.get("prices", "")
    return Workshop(
        name=shop.get("name", ""),
        note=shop.get("note", ""),
        kerf=kerf,
        hole_saws=saws,
        stock=_stocks(file, stock),
        prices=read_prices(path.parent / listed) if listed else Prices(),
        file=file,
    )


def _stocks(file: str, raw: list) -> tuple[Stock, ...]:
    found: dict[tuple[str, str], Stock] = {}
    for n, one in enumerate(raw, 1):
        place = f"stock {n}"
        one = _table(file, place, one)
        _known(file, place, one, ("series", "size", "owned", "offcuts", "sold"))
        for key in ("series", "size"):
            if not isinstance(one.get(key), str):
                fix = 'add series and size as in the plan, for example "ASTM D1785 schedule 40" and "1 in"'
                raise WorkshopError(file, f"{place}.{key}", one.get(key, ""), "is not text", fix)
        series, size = one["series"], one["size"]
        if series != catalogue.OWN:
            try:
                pipe = catalogue.pipe(series, size)
            except catalogue.CatalogueError as error:
                value, fix = error.value, error.fix
                raise WorkshopError(file, place, value, "is not in the tables", fix) from None
            series, size = pipe.series, pipe.size
        if (series, size) in found:
            raise WorkshopError(file, place, f"{series} {size}", "is here twice", "join the two")
        lengths = {
            key: _lengths(file, f"{place}.{key}", one.get(key, []), 100.0)
            for key in ("owned", "offcuts", "sold")
        }
        found[series, size] = Stock(series, size, **lengths)
    return tuple(found.values())


def _table(file: str, place: str, raw: Any) -> dict:
    if not isinstance(raw, dict):
        raise WorkshopError(file, place, raw, "is not a table", f"write [{place}] and its keys below")
    return raw


def _known(file: str, place: str, raw: dict, known: tuple[str, ...]):
    for key in raw:
        if key not in known:
            where = f"{place}.{key}" if place else key
            fix = catalogue.suggestion(catalogue.near_matches(key, known), known)
            raise WorkshopError(file, where, raw[key], "is not a key of a workshop file", fix)


def _length(file: str, place: str, raw: Any, largest: float) -> float:
    try:
        value = units.read(raw, "length", place)
    except units.UnitError as error:
        raise WorkshopError(file, place, raw, error.reason, error.fix) from None
    if not 0.0 < value <= largest:
        fix = f"write a length up to {units.show(largest, 'distance')}"
        raise WorkshopError(file, place, raw, "is zero or cannot be right", fix)
    return value


def _lengths(file: str, place: str, raw: Any, largest: float) -> tuple[float, ...]:
    """Read a list of lengths; "2 x 3 m" counts twice."""
    if not isinstance(raw, list) or len(raw) > 1000:
        raise WorkshopError(file, place, raw, "is not a list", 'write it as ["2 x 3 m", "640 mm"]')
    found: list[float] = []
    for one in raw:
        counted = re.fullmatch(r"(\d{1,3})\s*[x×]\s+(\S.*)", one.strip()) if isinstance(one, str) else None
        times, text = (int(counted[1]), counted[2]) if counted else (1, one)
        found += [_length(file, place, text, largest)] * times
    return tuple(found)


def read_prices(path) -> Prices:
    """Read a price list: a CSV with the columns item, series, size, unit, price, currency.

    A line whose item begins with "#" is a note.

    Raises
    ------
    WorkshopError
        One error naming file, line, value and fix.
    """
    file = str(path)
    text = read_text(path, WorkshopError, "a price list")
    rows = csv.reader(check_rows(text, file, WorkshopError))
    header = [h.strip() for h in next(rows, [])]
    if tuple(header) != PRICE_COLUMNS:
        fix = f"head the columns {','.join(PRICE_COLUMNS)}"
        raise WorkshopError(file, "line 1", ",".join(header), "is not the header of a price list", fix)
    lines, notes, currencies, places, priced = [], [], set(), 0, set()
    for number, row in enumerate(rows, 2):
        if not row or row[0].lstrip().startswith("#"):
            notes += [",".join(row).lstrip("# ").rstrip(", ")] if row else []
            continue
        where = f"line {number}"
        if len(row) != len(PRICE_COLUMNS):
            fix = f"give {len(PRICE_COLUMNS)} values, empty ones too"
            raise WorkshopError(file, where, ",".join(row), f"has {len(row)} values", fix)
        item, series, size, unit, text, currency = (cell.strip() for cell in row)
        if unit not in PRICE_UNITS:
            fix = catalogue.suggestion((), PRICE_UNITS)
            raise WorkshopError(file, f"{where}.unit", unit, "is not a unit of a price", fix)
        price = _money(file, f"{where}.price", text)
        places = max(places, -int(price.as_tuple().exponent))
        currencies.add(currency)
        if len(currencies) > 1:
            fix = f"keep one currency in a list ({sorted(currencies)[0]} came first)"
            raise WorkshopError(file, f"{where}.currency", currency, "is a second currency", fix)
        if (item, series, size) in priced:
            raise WorkshopError(file, f"{where}.item", item, "is priced twice", "keep one of the lines")
        priced.add((item, series, size))
        lines.append(Price(item, series, size, unit, price))
    return Prices(next(iter(currencies), ""), tuple(lines), places, file, " ".join(notes))


def _money(file: str, place: str, text: str) -> Decimal:
    fix = "write a plain number such as 4.50"
    try:
        price = Decimal(text)
    except InvalidOperation:
        raise WorkshopError(file, place, text, "is not a number", fix) from None
    if not price.is_finite() or price < 0 or -int(price.as_tuple().exponent) > 6 or price > 10**9:
        raise WorkshopError(file, place, text, "is not a usable price", fix)
    return price

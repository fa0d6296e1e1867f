"""The tables in data/: pipes, fittings, media and seals, each with its source.

Every NAME.csv has a NAME.toml beside it that says what each column means, in
which unit, and where the values come from. Lengths in the tables are mm; what
the functions here return is SI.
"""

from __future__ import annotations

import csv
import functools
import tomllib
from dataclasses import dataclass
from pathlib import Path

#: Name of a pipe series or a media that is in no table: the plan gives all its values.
OWN = "own"


class CatalogueError(LookupError):
    """A name that is in no table.

    Attributes
    ----------
    what : str
        What was looked for: "pipe series", "fitting".
    value : str
        The name as given.
    known : tuple of str
        Every name there is.
    near : tuple of str
        Names that resemble it, best first; empty where the whole list is short.
    """

    def __init__(self, what: str, value: str, known: tuple[str, ...]):
        self.what = what
        self.value = value
        self.known = known
        # Sizes that differ by a digit all look alike, and a short list of them is clearer whole.
        words = not any(c.isdigit() for c in value)
        self.near = near_matches(value, known) if words or len(known) > 12 else ()
        super().__init__(f'{what} "{value}" is not in the tables. Fix: {self.fix}')

    @property
    def fix(self) -> str:
        """What to write instead."""
        return suggestion(self.near, self.known)


def near_matches(name: str, known) -> tuple[str, ...]:
    """Return up to three of the names `known` that resemble `name`, best first."""
    import difflib

    folded = {_fold(k): k for k in known}
    found = difflib.get_close_matches(_fold(str(name)), folded, n=3, cutoff=0.6)
    return tuple(folded[f] for f in found)


def suggestion(near, known) -> str:
    """Say what to write instead: the names that resemble it, else all of them."""
    if near:
        return "did you mean " + " or ".join(f'"{n}"' for n in near) + "?"
    return "write one of " + ", ".join(f'"{k}"' for k in known)


@dataclass(frozen=True)
class Source:
    """Where a value comes from, as the table's sidecar states it."""

    primary: str
    read: str
    status: str
    page: str
    date: str
    how_read: str
    uncertainty: str


@dataclass(frozen=True)
class PipeSize:
    """One size of a pipe series; `outside_diameter`, `wall`, `bore`, `roughness` in m.

    The bore is by the least wall that the series allows.
    """

    series: str
    size: str
    outside_diameter: float
    wall: float
    bore: float
    roughness: float
    source: Source


@dataclass(frozen=True)
class FittingType:
    """A fitting: loss coefficient `k` on the pipe's bore, from `k_low` to `k_high` over the sources.

    `role` is "entrance", "exit", "fitting" or "spaced"; a spaced one has no
    `k` of its own: `aquacalc.equations.losses` has it.
    """

    name: str
    role: str
    k: float | None
    k_low: float
    k_high: float
    how: str
    source: Source


@dataclass(frozen=True)
class MediaType:
    """A media: drainable porosity (a ratio) and dry bulk density (kg/m3), each with its range.

    The fields are `porosity`, `porosity_low`, `porosity_high`, `bulk_density`,
    `bulk_density_low` and `bulk_density_high`; `grain_low` and `grain_high` are
    the smallest and largest grains of the usual grade, m.
    """

    name: str
    porosity: float
    porosity_low: float
    porosity_high: float
    bulk_density: float
    bulk_density_low: float
    bulk_density_high: float
    grain_low: float
    grain_high: float
    porosity_source: Source
    density_source: Source
    grain_source: Source


@dataclass(frozen=True)
class SealHole:
    """The hole for a pipe through a rubber pipe seal or tank fitting; `hole_diameter` in m."""

    fitting: str
    series: str
    size: str
    hole_diameter: float
    saw: str
    caution: str
    source: Source


def data_dir() -> Path:
    """Return the directory of the tables, in a checkout or in an installed wheel.

    Raises
    ------
    FileNotFoundError
        When neither is there.
    """
    return _travelling("data", "pipes.csv")


def workbooks_dir() -> Path:
    """Return the directory of the workbooks, in a checkout or in an installed wheel.

    Raises
    ------
    FileNotFoundError
        When neither is there.
    """
    return _travelling("workbooks", "*.ipynb")


def _travelling(name: str, holds: str) -> Path:
    """Return a directory that stands beside the package in a checkout and inside it in a wheel."""
    here = Path(__file__).resolve().parent
    for place in (here / "_share" / name, here.parent / name):
        if any(place.glob(holds)):
            return place
    raise FileNotFoundError(f"the {name} of aquacalc are missing beside {here}; install it again")


@functools.cache
def sidecar(name: str) -> dict:
    """Return the sidecar of table `name`: title, columns, sources."""
    return tomllib.loads((data_dir() / f"{name}.toml").read_text(encoding="utf-8"))


@functools.cache
def _rows(name: str) -> tuple[dict, ...]:
    units = {column: described["unit"] for column, described in sidecar(name)["columns"].items()}
    with (data_dir() / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return tuple(
            {
                column: text if units[column] == "text" else (float(text) if text else None)
                for column, text in row.items()
            }
            for row in csv.DictReader(file)
        )


def read_table(name: str) -> list[dict]:
    """Return the rows of data/`name`.csv, numbers as floats in the unit its sidecar states.

    An empty cell of a numeric column is None.
    """
    return [dict(row) for row in _rows(name)]


def _source(name: str, key: str) -> Source:
    return Source(**sidecar(name)["source"][key])


def _fold(name: str) -> str:
    """One spelling of a name: case, spaces, hyphens and commas do not count."""
    return " ".join(name.casefold().replace("-", " ").replace(",", " ").split())


def _find(what: str, name: str, table: dict):
    """Look `name` up in {name: entry}, whatever its case and spacing."""
    if name in table:
        return table[name]
    folded = {_fold(k): k for k in table}
    if isinstance(name, str) and _fold(name) in folded:
        return table[folded[_fold(name)]]
    raise CatalogueError(what, str(name), tuple(table))


def _metres(mm: float) -> float:
    """Return the float nearest to a decimal number of mm; a division can be off in the last digit."""
    return float(f"{mm!r}e-3")


@functools.cache
def _pipes() -> dict[str, dict[str, PipeSize]]:
    table: dict[str, dict[str, PipeSize]] = {}
    for row in _rows("pipes"):
        sizes = {k: _metres(row[k]) for k in ("outside_diameter", "wall", "bore", "roughness")}
        entry = PipeSize(row["series"], row["size"], **sizes, source=_source("pipes", row["source"]))
        table.setdefault(entry.series, {})[entry.size] = entry
    return table


def series() -> tuple[str, ...]:
    """Return the names of the pipe series."""
    return tuple(_pipes())


def sizes(series_name: str) -> tuple[PipeSize, ...]:
    """Return the sizes of a pipe series, smallest first; CatalogueError for an unknown series."""
    return tuple(_find("pipe series", series_name, _pipes()).values())


@functools.lru_cache(maxsize=1024)
def pipe(series_name: str, size: str) -> PipeSize:
    """Return one size of a pipe series; CatalogueError when series or size is unknown.

    Examples
    --------
    >>> round(pipe("ASTM D1785 schedule 40", "1 in").bore, 4)
    0.0266
    """
    found = _find("pipe series", series_name, _pipes())
    return _find(f"pipe size of {next(iter(found.values())).series}", size, found)


@functools.cache
def _fittings() -> dict[str, FittingType]:
    return {
        row["name"]: FittingType(
            **{k: row[k] for k in ("name", "role", "k", "k_low", "k_high", "how")},
            source=_source("fittings", row["source"]),
        )
        for row in _rows("fittings")
    }


def fittings() -> tuple[FittingType, ...]:
    """Return every fitting."""
    return tuple(_fittings().values())


def fitting(name: str) -> FittingType:
    """Return a fitting with its loss coefficient and source; CatalogueError when unknown."""
    return _find("fitting", name, _fittings())


@functools.cache
def _media() -> dict[str, MediaType]:
    return {
        row["name"]: MediaType(
            **{k: row[k] for k in row if not k.startswith(("also", "grain")) and not k.endswith("source")},
            grain_low=row["grain_low"] / 1e3,
            grain_high=row["grain_high"] / 1e3,
            grain_source=_source("media", row["grain_source"]),
            porosity_source=_source("media", row["porosity_source"]),
            density_source=_source("media", row["density_source"]),
        )
        for row in _rows("media")
    }


def media_names() -> tuple[str, ...]:
    """Return the names of the media."""
    return tuple(_media())


def media(name: str) -> MediaType:
    """Return a media with its porosity and density; CatalogueError when unknown."""
    also = {row["also"]: _media()[row["name"]] for row in _rows("media") if row["also"]}
    return _find("media", name, _media() | also)


@functools.cache
def seals() -> tuple[SealHole, ...]:
    """Return every hole size; where sources disagree, several for one pipe."""
    return tuple(
        SealHole(
            row["fitting"],
            row["series"],
            row["size"],
            _metres(row["hole_diameter"]),
            row["saw"],
            row["caution"],
            _source("seals", row["source"]),
        )
        for row in _rows("seals")
    )


def seal(name: str) -> str:
    """Return the table's own spelling of a kind of seal; CatalogueError when unknown."""
    return _find("seal", name, {s.fitting: s.fitting for s in seals()})

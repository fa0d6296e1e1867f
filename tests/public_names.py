"""Every public name of the package with its docstring and its float parameters."""

from __future__ import annotations

import dataclasses
import importlib
import inspect
import pkgutil
import re
from collections.abc import Iterator
from dataclasses import dataclass
from types import ModuleType

import aquacalc
from aquacalc.equations import RECORDS

#: Annotations of a parameter that is a number with a unit.
FLOATS = ("float", "float | None")
#: Functions whose arguments are floats without saying so: they also run as machine code.
PLAIN = ("aquacalc.equations.formulas", "aquacalc.equations.losses")
#: A unit, or a word that says there is none.
UNITS = (
    "m", "mm", "mm2", "m2", "m3", "m3/s", "m/s", "m/s2", "m2/s", r"m\^0\.5/s", "Pa", "Pa s", "s", "min", "kg",
    "kg/m3", "kg/m2", "W", "degC", "degrees?", "deg", "rad", "N/m", "kWh", "L/min", "SI", "px", "pixels?",
    "points?", "metres", "inches", "units?",
    "part", "standard deviations?", "number", "ratio", "shares?", "coefficients?", "factors?", "per cent",
)  # fmt: skip
UNIT = re.compile(rf"(?<![\w/])({'|'.join(UNITS)})(?![\w/^])")


@dataclass(frozen=True)
class Public:
    """A public function, class or method: where it is, its docstring, its float parameters."""

    name: str
    doc: str
    floats: tuple[str, ...]
    module: ModuleType | None = None

    def lacks(self) -> list[str]:
        """Say which float parameters are not named, or are named without a unit."""
        found = []
        shared = self.doc.strip().partition("\n\n")[0]
        for key in self.floats:
            places = [m.end() for m in re.finditer(rf"\b{re.escape(key)}\b", self.doc)]
            if not places:
                found.append(f"{self.name}: {key} is not named")
            # A unit in the first paragraph is that of all; otherwise it follows the name.
            elif not any(UNIT.search(words) for words in (shared, *(self.doc[e : e + 160] for e in places))):
                found.append(f"{self.name}: {key} has no unit")
        return found


def public_names() -> Iterator[Public]:
    """Yield every public function, class and method of every module."""
    for info in pkgutil.walk_packages(aquacalc.__path__, "aquacalc."):
        if info.name.endswith("__main__"):
            continue
        module = importlib.import_module(info.name)
        for name, thing in vars(module).items():
            if name.startswith("_") or getattr(thing, "__module__", None) != module.__name__:
                continue
            if inspect.isclass(thing):
                yield Public(f"{info.name}.{name}", inspect.getdoc(thing) or "", _fields(thing), module)
                for key, method in vars(thing).items():
                    if not key.startswith("_") and inspect.isfunction(method):
                        doc = inspect.getdoc(getattr(thing, key)) or ""  # its own, or what it overrides
                        yield Public(f"{info.name}.{name}.{key}", doc, _parameters(method), module)
            elif inspect.isfunction(thing):
                yield Public(f"{info.name}.{name}", thing.__doc__ or "", _parameters(thing), module)


def _fields(thing: type) -> tuple[str, ...]:
    if not dataclasses.is_dataclass(thing):
        return ()
    own = inspect.get_annotations(thing)
    return tuple(k for k, kind in own.items() if kind in FLOATS and not k.startswith("_"))


def _parameters(function) -> tuple[str, ...]:
    found = inspect.signature(function).parameters.values()
    if function in {record.function for record in RECORDS.values()}:
        return ()  # its symbols stand in its record, with units: aquacalc.evidence.documentation
    if function.__module__ in PLAIN:
        return tuple(p.name for p in found)
    return tuple(p.name for p in found if p.annotation in FLOATS)


if __name__ == "__main__":
    lines = [line for public in public_names() for line in public.lacks()]
    print("\n".join(lines), len(lines))

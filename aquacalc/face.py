"""What a package shows of its modules: each name is loaded when it is first used."""

from __future__ import annotations

import importlib
from collections.abc import Callable, Mapping


def lazily(package: str, where: Mapping[str, str]) -> tuple[Callable[[str], object], Callable[[], list[str]]]:
    """Return `__getattr__` and `__dir__` of a package.

    Parameters
    ----------
    package : str
        Its `__name__`.
    where : mapping of str to str
        Name -> the module it comes from, and after a colon what it is called there.
    """

    def found(name: str):
        if name not in where:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        place, _, there = where[name].partition(":")
        return getattr(importlib.import_module(f"{package}.{place}"), there or name)

    return found, lambda: sorted(where)

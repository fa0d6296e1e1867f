"""What a package shows of its modules: each name is loaded when it is first used."""

from __future__ import annotations

import importlib
import os
from collections.abc import Callable, Mapping

#: What a function of the public face takes by a name of a parameter: where its class is, what it is called,
#: and what makes one.
TAKES = {
    "plan": ("aquacalc.plan.model:Plan", "a plan", "give what read_plan returned"),
    "run": ("aquacalc.results.cycle:SystemCycle", "a run of a plan", "give what run_plan returned"),
    "findings": (tuple | list, "findings", "give what find returned"),
    "path": (os.PathLike | str, "a path", "give the name of a file as text"),
    "text": (str, "text", "give the plan as TOML text; read_plan reads a file"),
}


def checked(function: Callable, name: str) -> Callable:
    """Return the function, which says in one sentence that what it was given first is of another kind.

    Parameters
    ----------
    function : callable
    name : str
        What the public face calls it.

    Returns
    -------
    callable
        Raises TypeError with the function, the value and the fix.
    """
    import functools  # not above: `import aquacalc` is to be quick

    first = next(iter(function.__code__.co_varnames[: function.__code__.co_argcount]), "")
    if first not in TAKES:
        return function
    kind, called, fix = TAKES[first]

    @functools.wraps(function)
    def asked(*args, **keywords):
        given = args[0] if args else keywords.get(first)
        known = _class(kind) if isinstance(kind, str) else kind
        if (args or first in keywords) and not isinstance(given, known):
            shown = repr(given) if len(repr(given)) <= 40 else f"of the type {type(given).__name__}"
            raise TypeError(f"{name}: {first} is {shown}, which is not {called}. Fix: {fix}.")
        return function(*args, **keywords)

    return asked


def _class(where: str) -> type:
    module, _, name = where.partition(":")
    return getattr(importlib.import_module(module), name)


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
        thing = getattr(importlib.import_module(f"{package}.{place}"), there or name)
        return checked(thing, name) if type(thing).__name__ == "function" else thing

    return found, lambda: sorted(where)

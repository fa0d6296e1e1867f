"""Put a change of logic into modules that are imported already: the code of functions is exchanged in place.

That saves importing everything again for each change, which is most of what a noticed change costs. It is for
noticing only: what an import has worked out keeps its value, so what nothing notices here is tried again with
everything imported anew. A change of what a module or a class does while it is imported cannot be put in.
"""

from __future__ import annotations

import gc
from types import CodeType, FunctionType


def codes(code: CodeType) -> dict[tuple[str, int], CodeType]:
    """Return a module's code and all code inside it, by qualified name and first line."""
    found = {(code.co_qualname, code.co_firstlineno): code}
    for one in code.co_consts:
        if isinstance(one, CodeType):
            found |= codes(one)
    return found


def own(code: CodeType) -> tuple:
    """What a code object does itself, without the functions inside it."""
    return code.co_code, code.co_names, [c for c in code.co_consts if not isinstance(c, CodeType)]


def exchanged(path: str, before: str, after: str) -> dict[tuple[str, int], CodeType] | None:
    """Return the code of functions that differ between two sources; None where more than functions does."""
    old, new = (codes(compile(text, path, "exec", dont_inherit=True)) for text in (before, after))
    if old.keys() != new.keys():
        return None
    differ = {key for key, code in old.items() if own(code) != own(new[key])}
    if any(not old[key].co_flags & 1 for key in differ):  # OPTIMIZED: a function; not a module or a class
        return None
    names = {name for name, _ in differ}
    return {key: code for key, code in new.items() if any(f"{n}.".startswith(f"{key[0]}.") for n in names)}


def put_in(path: str, new: dict[tuple[str, int], CodeType]) -> bool:
    """Exchange the code of every function of a file; False when one of them is not there as a function."""
    gc.unfreeze()
    done = set()
    for one in gc.get_objects():
        if isinstance(one, FunctionType) and one.__code__.co_filename == path:
            key = one.__code__.co_qualname, one.__code__.co_firstlineno
            if key in new:
                one.__code__ = new[key]
                done.add(key)
    return bool(done)

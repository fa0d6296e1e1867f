"""The engine's kernels as JavaScript, from the very same functions.

Used when `engine.js` is written anew, never by a page or a command: nothing
else needs `pscript`.
"""

from __future__ import annotations

import ast
import importlib
import inspect
import json
import math
import textwrap
import types
from pathlib import Path
from typing import Any

from aquacalc.engine import compiled, state

#: The translation that goes into live pages.
FILE = Path(__file__).with_name("engine.js")
#: What the kernels use of `math`.
_MATH = ("sqrt", "log", "log10", "exp", "pi")

_FRAME = """\
// Written by `python -m tests.regenerate engine-js` from the Python functions of the same names.
var engine = (function () {{
"use strict";
var math = {{{math}}};
{std}
{constants}
{functions}
function zeros(fields, plan, rows) {{
    var found = {{}};
    fields.forEach(function (name) {{ found[name] = new Float64Array(entries(name, plan, rows)); }});
    return found;
}}
return {{
    run: function (plan, rows) {{
        var cycles = zeros({cycles}, plan, rows), trace = zeros({trace}, plan, rows);
        var found = run(plan, zeros({state}, plan, rows), cycles, trace), totals = {{}};
        {totals}.forEach(function (name, k) {{ totals[name] = found[k]; }});
        return {{totals: totals, cycles: cycles, trace: trace}};
    }}
}};
}})();
"""


def _scope() -> dict[str, Any]:
    """Names of the kernel modules, as compiled code sees them."""
    found: dict[str, Any] = {}
    for name in compiled.MODULES:
        found |= {k: v for k, v in vars(importlib.import_module(name)).items() if not k.startswith("__")}
    return found


def _used(start: tuple[str, ...], scope: dict[str, Any]) -> list[str]:
    """Return the names that the functions called `start` lead to, those that are called first."""
    found: list[str] = []
    seen: set[str] = set()

    def visit(name: str) -> None:
        if name in seen or not isinstance(scope.get(name), types.FunctionType | int | float):
            return
        seen.add(name)
        if isinstance(scope[name], types.FunctionType):
            for other in scope[name].__code__.co_names:
                visit(other)
        found.append(name)

    for name in start:
        visit(name)
    return found


def _plain(function: types.FunctionType) -> str:
    """Return a function's source without its docstring, and told that its operators are plain ones."""
    tree = ast.parse(textwrap.dedent(inspect.getsource(function)))
    (definition,) = tree.body
    assert isinstance(definition, ast.FunctionDef)
    definition.body[:1] = ast.parse("PSCRIPT_OVERLOAD = False").body
    return ast.unparse(tree)


def engine_js() -> str:
    """Translate the engine.

    Returns
    -------
    str
        JavaScript that defines `engine.run(plan, rows)`: `plan` is a packed
        plan as an object, the result has `totals`, `cycles` and `trace`.
    """
    from pscript import py2js
    from pscript.stdlib import get_partial_std_lib, get_std_info

    scope = _scope()
    names = _used(("run", "entries"), scope)
    constants = [n for n in names if not isinstance(scope[n], types.FunctionType)]
    functions = [py2js(_plain(scope[n]), inline_stdlib=False) for n in names if n not in constants]
    code = "\n".join(functions)
    _, used_functions, used_methods = get_std_info(code)
    return _FRAME.format(
        math=", ".join(f"{n}: Math.{n.upper() if isinstance(getattr(math, n), float) else n}" for n in _MATH),
        std=get_partial_std_lib(used_functions, used_methods),
        constants="\n".join(f"var {n} = {scope[n]!r};" for n in constants),
        totals=json.dumps(state.Totals._fields),
        functions=code,
        state=json.dumps(state.State._fields),
        cycles=json.dumps(state.Cycles._fields),
        trace=json.dumps(state.Trace._fields),
    )


def as_object(record: Any) -> dict:
    """Return a record and those inside it as plain dictionaries, for JSON."""
    return {k: as_object(v) if hasattr(v, "_fields") else v for k, v in record._asdict().items()}

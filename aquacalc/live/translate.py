"""The part of the library that a live page needs, as JavaScript, from the very same functions.

Used when `engine.js` is written anew, never by a page or a command.
"""

from __future__ import annotations

import ast
import bisect
import dataclasses
import functools
import html
import importlib
import inspect
import itertools
import json
import math
import re
import string
import textwrap
import types
from collections.abc import Callable
from pathlib import Path
from typing import Any

from aquacalc import catalogue, units
from aquacalc.engine import compiled, runner, state, tables
from aquacalc.findings.record import Findings
from aquacalc.live.emit import Emitter
from aquacalc.live.equations import SYMBOLS
from aquacalc.live.expressions import RUNTIME, NotTranslated
from aquacalc.units import showing

#: The translation that goes into live pages.
FILE = Path(__file__).with_name("engine.js")
#: What the page calls.
ROOTS = {
    "run_moved": "aquacalc.live.answer.run_moved",
    "judged": "aquacalc.live.answer.judged",
    "completed": "aquacalc.live.answer.completed",
    "verdict": "aquacalc.report.first_screen.verdict_markup",
    "drawn": "aquacalc.live.answer.drawn",
    "told": "aquacalc.live.answer.told",
    "facts": "aquacalc.figures.closeup.facts",
    "calculation": "aquacalc.live.equations.calculation",
    "show": "aquacalc.units.showing.show",
    "valueAt": "aquacalc.live.settings.value_at",
}

_BUILTINS = (
    len, list, tuple, dict, set, frozenset, bool, abs, type, getattr, hasattr, any, all, sum, zip, enumerate,
    range, reversed, map, filter, next, iter, min, max, sorted, isinstance, str, float, int, round, repr,
    divmod,
)  # fmt: skip
#: What things of Python's own are called in `python.js`.
KNOWN = {f: f"${f.__name__}" for f in _BUILTINS} | {
    tuple: "$list", frozenset: "$set", iter: "$iter",
    math.sqrt: "Math.sqrt", math.log: "Math.log", math.log10: "$log10", math.exp: "Math.exp",
    math.floor: "$floor", math.ceil: "$ceil", math.cos: "Math.cos", math.sin: "Math.sin",
    math.tan: "Math.tan", math.acos: "Math.acos", math.asin: "Math.asin", math.atan: "Math.atan",
    math.atan2: "Math.atan2", math.hypot: "Math.hypot", math.dist: "$dist", math.radians: "$radians",
    math.degrees: "$degrees", math.isfinite: "Number.isFinite", math.cosh: "Math.cosh",
    math.isclose: "$isclose",
    dataclasses.replace: "$replace", itertools.pairwise: "$pairwise", itertools.chain: "$chain",
    itertools.combinations: "$combinations", itertools.permutations: "$permutations",
    bisect.bisect_right: "$bisect_right", dict.fromkeys: "$fromkeys",
    html.escape: "$escape",
    ArithmeticError: "ArithmeticError", KeyError: "KeyError", ValueError: "ValueError",
    TypeError: "TypeError_", RecursionError: "RecursionError",
}  # fmt: skip
KNOWN |= {Findings: "$list", runner.run_packed: "run_packed"}
#: Functions of one word that look something up: the words that a page can ask for.
LOOKED_UP: dict[Any, Callable[[], list[str]]] = {
    showing._scale: lambda: sorted(
        {u for k in units.KINDS.values() for u in (k.metric, k.us, *(k.large or ())[:2])}
        | {unit for symbols in SYMBOLS.values() for *_, metric, us in symbols for unit in (metric, us)}
    ),
    catalogue.sizes: lambda: [*catalogue.series()],
    catalogue.fitting: lambda: [f.name for f in catalogue.fittings()],
}
#: Functions whose answer is always the same.
BAKED = (catalogue.series,)
#: What a page never comes to: it corrects names, and a page has none to type.
LEFT_OUT = (catalogue.near_matches,)

HEAD = "// Written by `python -m tests.regenerate engine-js` from the Python functions of the same names.\n"
_FRAME = """\
var engine = (function () {{
"use strict";
{runtime}
{code}
const array = (record, field) => record.whole.includes(field) ? Int32Array : Float64Array;
function zeros(record, plan, rows) {{
    return new record(...record.fields.map(f => new (array(record, f))({entries}(f, plan, rows))));
}}
const tables = new Map();  // of the paths that stay as they are while another slider moves
function {table}(plan, state, path) {{
    const of = [plan.viscosity, plan.gravity], columns = [...plan.pieces];
    const [first, last] = [plan.first_piece[path], plan.end_piece[path]];
    for (const column of columns) of.push(...column.slice(first, last));
    const key = of.join(), from = {points} * path, end = from + {points};
    if (!tables.has(key)) {{
        {table}_(plan, state, path);
        if (tables.size > 99) tables.clear();
        tables.set(key, [state.log_flow.slice(from, end), state.log_slope.slice(from, end)]);
    }} else {{
        state.log_flow.set(tables.get(key)[0], from);
        state.log_slope.set(tables.get(key)[1], from);
    }}
}}
function typed(record) {{  // arrays of one kind are read faster
    const kind = record.constructor;
    return new kind(...[...record].map((x, i) =>
        Array.isArray(x) ? array(kind, kind.fields[i]).from(x) : typeof x === "object" ? typed(x) : x));
}}
let kept = null;  // rows of the run before: room for them is large, and each run writes its own anew
function run_packed(packed, trace = true) {{
    const rows = trace ? {rows} : 0, plan = typed(packed);
    const state = zeros({state}, plan, rows), cycles = zeros({cycles}, plan, rows);
    if (!kept || kept.times.length !== rows || kept.levels.length !== {entries}("levels", plan, rows)
        || kept.regimes.length !== {entries}("regimes", plan, rows)) kept = zeros({trace}, plan, rows);
    return [new {totals}(...{run}(plan, state, cycles, kept)), cycles, kept];
}}
return {{
    read: value => $revived(value, {{{revived}}}),
    run: (plan, rows) => {{
        const [state, cycles, trace] = [{state}, {cycles}, {trace}].map(record => zeros(record, plan, rows));
        return {{totals: new {totals}(...{run}(plan, state, cycles, trace)), cycles, trace}};
    }},
    {roots}
}};
}})();
"""


class Translator:
    """Follows functions and records from those that a page calls to all that they lead to."""

    def __init__(self) -> None:
        self.names: dict[int, str] = {}
        self.taken: dict[str, object] = {}
        self.hints: dict[int, str] = {}
        self.waiting: list = []
        self.classes: list[type] = []
        self.done: set[tuple[type, str]] = set()
        self.attributes: set[str] = set()
        self.functions: list[str] = []
        self.late: list[str] = []
        self.constants: list[str] = []
        self.named: set[str] = set()
        self.takes: list[tuple[str, str]] = []

    def refer(self, thing) -> str:
        """Return what a thing is called, and put it on the list of what to write."""
        thing = inspect.unwrap(thing) if callable(thing) and not isinstance(thing, type) else thing
        try:
            if thing in KNOWN:
                return KNOWN[thing]
        except TypeError:
            pass
        if thing is None or isinstance(thing, bool | int | float | str):
            return self.literal(thing)
        if id(thing) not in self.names:
            ours = getattr(thing, "__module__", "").startswith("aquacalc")
            if isinstance(thing, types.ModuleType) or (callable(thing) and not ours):
                raise NotTranslated(f"{thing!r} of Python's own")
            module = getattr(thing, "__module__", "")
            hint = getattr(thing, "__name__", None) or self.hints.get(id(thing), "constant")
            if not isinstance(thing, type | types.FunctionType):
                module = ""
            parts = [*module.split(".")[1:], hint]
            plain = isinstance(thing, type) or module in compiled.MODULES
            name = hint if plain else "$".join(parts[-2:])
            while name in self.taken:
                name += "_"
            self.names[id(thing)] = name
            self.taken[name] = thing
            self.waiting.append(thing)
        return self.names[id(thing)]

    def literal(self, value) -> str:
        """Write a value."""
        if isinstance(value, float) and not math.isfinite(value):
            return "Infinity" if value > 0 else "(-Infinity)" if value < 0 else "NaN"
        if value is None or isinstance(value, bool | str):
            return json.dumps(value)
        if isinstance(value, int | float):
            return repr(value)
        if isinstance(value, catalogue.Source):
            return "null"
        if dataclasses.is_dataclass(value) and not isinstance(value, type):
            given = (getattr(value, f.name) for f in dataclasses.fields(value) if f.init)
            return f"new {self.refer(type(value))}({', '.join(map(self.literal, given))})"
        if isinstance(value, tuple) and hasattr(value, "_fields"):
            return f"new {self.refer(type(value))}({', '.join(map(self.literal, value))})"
        if isinstance(value, list | tuple):
            return f"[{', '.join(map(self.literal, value))}]"
        if isinstance(value, dict | types.MappingProxyType):
            pairs = (f"[{self.literal(k)}, {self.literal(v)}]" for k, v in value.items())
            return f"$dict([{', '.join(pairs)}])"
        if isinstance(value, set | frozenset):
            return f"$set([{', '.join(map(self.literal, sorted(value)))}])"
        if isinstance(value, type) or callable(value):
            return self.refer(value)
        raise NotTranslated(f"a value of type {type(value).__name__}: {value!r:.80}")

    def emitter(self, function) -> tuple[Emitter, ast.FunctionDef]:
        """Return what writes a function, and its syntax tree."""
        tree = ast.parse(textwrap.dedent(inspect.getsource(function)))
        (node,) = tree.body
        assert isinstance(node, ast.FunctionDef)
        inside: dict[str, object] = {}
        for one in ast.walk(node):
            if isinstance(one, ast.ImportFrom):
                module = importlib.import_module(one.module)
                inside |= {a.asname or a.name: getattr(module, a.name) for a in one.names}
            elif isinstance(one, ast.Import):
                inside |= {a.asname or a.name: importlib.import_module(a.name) for a in one.names}
        scope = {**vars(__import__("builtins")), **function.__globals__, **inside}
        place = f"{function.__module__}.{function.__qualname__}"

        def find(name: str):
            if name not in scope:
                raise NotTranslated(f"{place}: {name}")
            self.hints.setdefault(id(scope[name]), name)
            return scope[name]

        numbers = function.__module__ in compiled.MODULES
        return Emitter(find, self.refer, signature, place, numbers), node

    def write(self, thing: Any) -> None:
        """Write a function, record or constant."""
        name = self.names[id(thing)]
        if isinstance(thing, type):
            self.classes.append(thing)
            self.functions.append(self.record(thing, name))
            return
        if not isinstance(thing, types.FunctionType):
            self.constants.append(f"const {name} = {self.literal(thing)};")
            return
        if thing in LEFT_OUT:
            self.functions.append(f"function {name}() {{ throw ValueError({json.dumps(name)}); }}")
            return
        looked_up: dict[Any, Any] = {inspect.unwrap(f): words for f, words in LOOKED_UP.items()}
        words = looked_up.get(thing)
        if words is not None:
            pairs = [[word, thing(word)] for word in words()]
            self.constants.append(f"const {name} = $table({self.literal(pairs)});")
            return
        cached = isinstance(_attribute(thing), functools._lru_cache_wrapper)
        if thing in BAKED or (cached and not inspect.signature(thing).parameters):
            self.constants.append(f"const {name}_ = {self.literal(thing())}, {name} = () => {name}_;")
            return
        emitter, node = self.emitter(thing)
        if thing is tables.fill_table:  # the page keeps what it has worked out, see _FRAME
            name += "_"
        if cached:
            self.late.append(f"const {name} = $kept({emitter.function(node, 'function ')});")
        else:
            self.functions.append(emitter.function(node, f"function {name}"))
        self._asked(emitter)

    def _asked(self, emitter: Emitter) -> None:
        self.attributes |= emitter.attributes
        self.named |= emitter.named

    def record(self, kind: type, name: str) -> str:
        """Write what makes a record, with or without `new`."""
        lines, given, fields = [], [], signature(kind) or ()
        plain = "__init__" in vars(kind) and not dataclasses.is_dataclass(kind)
        if plain:
            given, lines = ["...given"], ["this.__init__(...given);"]
        else:
            for field in fields:
                default = _default(kind, field)
                short = f"${len(given)}"
                given.append(short if default is None else f"{short} = {self.made(*default)}")
                lines.append(f"this.{field} = {short};")
        again = f"if (!new.target) return new {name}(...arguments);"
        text = "\n".join((f"function {name}({', '.join(given)}) {{", again, *lines, "}"))
        text += f"\n{name}.fields = {json.dumps([] if plain else list(fields))};"
        if dataclasses.is_dataclass(kind):
            compared = [f.name for f in dataclasses.fields(kind) if f.compare]
            if compared != list(fields):
                text += f"\n{name}.compared = {json.dumps(compared)};"
        bases = [b for b in kind.__mro__[1:] if b.__module__.startswith("aquacalc")]
        if bases:
            base = self.refer(bases[0])
            text += f"\nObject.setPrototypeOf({name}.prototype, {base}.prototype);"
        if hasattr(kind, "_fields"):
            through = f"yield* {name}.fields.map(f => this[f]);"
            text += f"\n{name}.prototype[Symbol.iterator] = function* () {{ {through} }};"
            whole = [f for f, made_of in kind.__annotations__.items() if made_of == state.Ints]
            text += f"\n{name}.whole = {json.dumps(whole)};"
        return text

    def made(self, value, factory: bool) -> str:
        """Write a field's default."""
        if not factory:
            return self.literal(value)
        return {dict: "$dict()", list: "[]", tuple: "[]"}.get(value) or f"new {self.refer(value)}()"

    def methods(self) -> bool:
        """Write each method and class value that something asks for by name; whether there was one."""
        found = False
        for kind in list(self.classes):
            name = self.names[id(kind)]
            for key, value in vars(kind).items():
                wanted = key in self.attributes or key in ("__init__", "__str__")
                if (kind, key) in self.done or not wanted or getattr(value, "__isabstractmethod__", False):
                    continue
                fields = signature(kind) or ()
                once = isinstance(value, functools.cached_property)
                if isinstance(value, property) or once:
                    emitter, node = self.emitter(value.func if once else value.fget)
                    body = emitter.function(node, "function ", me=True)
                    self.late.append(f'$property({name}, "{key}", {body}, {json.dumps(once)});')
                elif (
                    isinstance(value, types.FunctionType) and value.__qualname__ != f"{kind.__name__}.{key}_"
                ):
                    if (dataclasses.is_dataclass(kind) and key == "__init__") or hasattr(kind, "_fields"):
                        continue
                    emitter, node = self.emitter(value)
                    body = emitter.function(node, "function ", me=True)
                    self.late.append(f"{name}.prototype.{key} = {body};")
                    names = [n for n in inspect.signature(value).parameters if n != "self"]
                    self.takes.append((key, f"{name}.prototype.{key}.names = {json.dumps(names)};"))
                elif key not in fields and not isinstance(value, classmethod | staticmethod):
                    self.constants.append(f"{name}.prototype.{key} = {self.literal(value)};")
                    emitter = None
                else:
                    continue
                self.done.add((kind, key))
                found = True
                if emitter:
                    self._asked(emitter)
        return found

    def all(self) -> str:
        """Write whatever waits and what that leads to."""
        more = True
        while more:
            while self.waiting:
                self.write(self.waiting.pop(0))
            more = self.methods() or bool(self.waiting)
        takes = [line for key, line in self.takes if key in self.named]
        return "\n".join((*self.functions, *self.late, *takes, *self.constants))


def signature(thing: Any) -> tuple[str, ...] | None:
    """Names of what a function or class takes, in their order; None where only Python knows."""
    if isinstance(thing, type):
        if hasattr(thing, "_fields"):
            return thing._fields
        if dataclasses.is_dataclass(thing):
            return tuple(f.name for f in dataclasses.fields(thing) if f.init)
        if not thing.__module__.startswith("aquacalc"):
            return None
        return tuple(inspect.signature(thing).parameters)
    thing = inspect.unwrap(thing)
    if not isinstance(thing, types.FunctionType) or not thing.__module__.startswith("aquacalc"):
        return None
    return tuple(
        f"{'**' * (p.kind is p.VAR_KEYWORD)}{n}" for n, p in inspect.signature(thing).parameters.items()
    )


def _attribute(function):
    """Return what a module has under a function's name: the function, or a cache around it."""
    return getattr(importlib.import_module(function.__module__), function.__name__, None)


def _default(kind: Any, field: str) -> tuple[object, bool] | None:
    """Return (value, False) or (what makes it, True) of a field that may be left out."""
    if hasattr(kind, "_fields"):
        return (kind._field_defaults[field], False) if field in kind._field_defaults else None
    if not dataclasses.is_dataclass(kind):
        return None
    found = kind.__dataclass_fields__[field]
    if found.default_factory is not dataclasses.MISSING:
        return found.default_factory, True
    return None if found.default is dataclasses.MISSING else (found.default, False)


def engine_js() -> str:
    """Translate all that a page calls.

    Returns
    -------
    str
        JavaScript that defines `engine`.
    """
    from rjsmin import jsmin

    from aquacalc.engine import run
    from aquacalc.plan import model, shapes

    records = [k for k in vars(model).values() if dataclasses.is_dataclass(k) and k is not shapes.Shape]
    made = Translator()
    roots = {}
    for name, path in ROOTS.items():
        module, _, function = path.rpartition(".")
        roots[name] = made.refer(getattr(importlib.import_module(module), function))
    names = {
        "run": made.refer(run.run),
        "entries": made.refer(state.entries),
        "totals": made.refer(state.Totals),
        "state": made.refer(state.State),
        "cycles": made.refer(state.Cycles),
        "trace": made.refer(state.Trace),
        "table": made.refer(tables.fill_table),
    }
    revived = ", ".join(made.refer(kind) for kind in (*records, *shapes.SHAPES.values()))
    code = made.all()
    whole = _FRAME.format(
        runtime=RUNTIME,
        code=code,
        rows=runner.TRACE_ROWS,
        points=state.TABLE_POINTS,
        revived=revived,
        roots=",\n    ".join(f"{k}: {v}" for k, v in roots.items()),
        **names,
    )
    return f"{HEAD}{jsmin(_shortened(whole))}\n"


#: Names that only the translation has: those of `python.js`, and functions with their module.
_LONG = re.compile(r"(?<![\w$])(?:\$[A-Za-z]\w+|[A-Za-z_]+\$[\w$]+)")


def _shortened(code: str) -> str:
    """Give each name that only the translation has a short one: a page has to be small."""
    names = dict.fromkeys(_LONG.findall(code))
    short = {name: f"_{k // 26 or ''}{string.ascii_lowercase[k % 26]}" for k, name in enumerate(names)}
    return _LONG.sub(lambda found: short[found[0]], code)

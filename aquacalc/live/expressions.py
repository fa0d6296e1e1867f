"""Python expressions as JavaScript.

What Python and JavaScript mean differently (truth of an empty list, `==` of
records, `+` of lists, negative places, formats) goes through the functions
of `python.js`, whose names begin with "$". The solver's kernels, which only
know numbers, are written with plain operators. Whatever is not known here is
refused with its place, so that nothing is left out unseen.
"""

from __future__ import annotations

import ast
import functools
import inspect
import json
import re
import string
import textwrap
import types
from collections.abc import Callable
from pathlib import Path
from typing import NoReturn

from aquacalc.engine import compiled

#: Words that JavaScript keeps for itself or that the page needs.
RESERVED = frozenset((
    "arguments", "if", "await", "case", "catch", "class", "const", "debugger", "default", "delete", "do",
    "enum", "eval", "export", "extends", "function", "implements", "import", "in", "instanceof",
    "interface", "let", "new", "null", "package", "private", "protected", "public", "static", "super",
    "switch", "this", "throw", "typeof", "undefined", "var", "void", "with", "yield", "Math", "Map",
    "Object", "Array", "Number", "String",
))  # fmt: skip
#: Local names are written short, for a page has to be small.
LETTERS = string.ascii_lowercase
BINARY = {ast.Add: "+", ast.Sub: "-", ast.Mult: "*", ast.Div: "/", ast.Pow: "**"}
#: Operators that differ from their JavaScript namesakes.
CALLED = {ast.Mod: "$mod", ast.FloorDiv: "$floordiv", ast.BitOr: "$or", ast.BitAnd: "$and"}
COMPARED = {ast.Lt: "<", ast.LtE: "<=", ast.Gt: ">", ast.GtE: ">="}
#: What a Python program has of its own, written in JavaScript.
RUNTIME = Path(__file__).with_name("python.js").read_text(encoding="utf-8")
#: Methods of texts, lists, dictionaries and sets; a record's own method of such a name is called too.
METHODS = frozenset(re.findall(r'\bof\("(\w+)"', RUNTIME))

#: All that Python has; those not among the above have no translation yet.
BUILT_IN = {name for kind in (str, list, dict, set) for name in dir(kind) if not name.startswith("_")}


#: Brackets, and texts, in which they are none.
_BRACKETS = re.compile(r'"(?:[^"\\]|\\.)*"|[()]')


class NotTranslated(Exception):
    """Something that has no translation; says what and where."""


class Expressions:
    """Writes the expressions of one function.

    Parameters
    ----------
    find : callable
        Name -> the object that a global or built-in name stands for, or None for a local one.
    refer : callable
        Object -> what it is called in JavaScript.
    signature : callable
        Object -> names of its parameters, or None when it takes its arguments by place alone.
    place : str
        Of the function, for an error.
    numbers : bool
        Whether it only knows numbers, so that operators mean the same.
    """

    def __init__(self, find: Callable, refer: Callable, signature: Callable, place: str, numbers: bool):
        self.find, self.refer, self.signature = find, refer, signature
        self.place, self.numbers = place, numbers
        self.locals: list[set[str]] = []
        self.fresh = 0
        self.apart: ast.Call | None = None
        self.short: dict[str, str] = {}
        self.attributes: set[str] = set()
        self.named: set[str] = set()

    def fail(self, node: ast.AST) -> NoReturn:
        """Refuse a node."""
        raise NotTranslated(f"{self.place}, line {getattr(node, 'lineno', 0)}: {ast.unparse(node)}")

    # -- names ------------------------------------------------------------------------------------

    def name(self, name: str) -> str:
        """Return a local name as JavaScript has it: a short one, the same in functions inside this one."""
        if name not in self.short:
            letters, k = "", len(self.short)
            while True:
                letters = LETTERS[k % len(LETTERS)] + letters
                k = k // len(LETTERS) - 1
                if k < 0:
                    break
            self.short[name] = f"{letters}_" if letters in RESERVED else letters
        return self.short[name]

    def object(self, node: ast.AST):
        """Return the object that a global name, or an attribute of a module, stands for; else None."""
        if isinstance(node, ast.Name):
            return None if any(node.id in known for known in self.locals) else self.find(node.id)
        if isinstance(node, ast.Attribute):
            base = self.object(node.value)
            if isinstance(base, types.ModuleType) or base is dict:
                return getattr(base, node.attr)
        return None

    # -- expressions ------------------------------------------------------------------------------

    def expr(self, node: ast.expr) -> str:
        """Write an expression."""
        method = getattr(self, f"_e_{type(node).__name__}", None)
        return self.fail(node) if method is None else method(node)

    def test(self, node: ast.expr) -> str:
        """Write a condition."""
        if isinstance(node, ast.BoolOp):
            sign = " && " if isinstance(node.op, ast.And) else " || "
            return "(" + sign.join(map(self.test, node.values)) + ")"
        if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
            return f"!{self.test(node.operand)}"
        return self.expr(node) if self.numbers or self.boolean(node) else f"$t({self.expr(node)})"

    def boolean(self, node: ast.expr) -> bool:
        """Whether an expression is true or false and nothing else."""
        if isinstance(node, ast.BoolOp):
            return all(map(self.boolean, node.values))
        if isinstance(node, ast.Call):
            return self.object(node.func) in (isinstance, any, all, bool, hasattr)
        return isinstance(node, ast.Compare) or (
            isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not)
        ) or (isinstance(node, ast.Constant) and isinstance(node.value, bool))  # fmt: skip

    def _e_Constant(self, node):
        value = node.value
        if value is None or isinstance(value, bool | str):
            return json.dumps(value)
        return self.fail(node) if not isinstance(value, int | float) else repr(value)

    def _e_Name(self, node):
        if any(node.id in known for known in self.locals):
            return self.name(node.id)
        found = self.find(node.id)
        return self.fail(node) if several(found) else self.refer(found)

    def _e_Attribute(self, node):
        found = self.object(node)
        if found is not None:
            return self.refer(found)
        if node.attr in ("get", "items", "append"):  # a method that is not called
            self.fail(node)
        self.attributes.add(node.attr)
        return f"{self.expr(node.value)}.{node.attr}"

    def _e_BinOp(self, node):
        left, right = self.expr(node.left), self.expr(node.right)
        if type(node.op) in CALLED:
            return f"{CALLED[type(node.op)]}({left}, {right})"
        if isinstance(node.op, ast.Sub) and any(isinstance(n, ast.Set | ast.SetComp) for n in ast.walk(node)):
            return f"$without({left}, {right})"
        sequence = ast.List | ast.Tuple | ast.ListComp
        if isinstance(node.op, ast.Mult) and isinstance(node.left, sequence):
            return f"$times({left}, {right})"
        if isinstance(node.op, ast.Add) and not self.numbers and not _scalar(node):
            return f"$add({left}, {right})"
        if type(node.op) not in BINARY:
            return self.fail(node)
        if isinstance(node.op, ast.Pow) and isinstance(node.left, ast.UnaryOp):
            left = f"({left})"
        return f"({left} {BINARY[type(node.op)]} {right})"

    def _e_UnaryOp(self, node):
        if isinstance(node.op, ast.Not):
            return f"!{self.test(node.operand)}"
        return f"(-{self.expr(node.operand)})" if isinstance(node.op, ast.USub) else self.fail(node)

    def _e_BoolOp(self, node):
        if self.numbers or self.boolean(node):
            return self.test(node)
        *before, last = node.values
        written = self.expr(last)
        for one in reversed(before):
            self.fresh += 1
            keep = f"$w{self.fresh}"
            yes, no = (written, keep) if isinstance(node.op, ast.And) else (keep, written)
            written = f"(({keep}) => $t({keep}) ? {yes} : {no})({self.expr(one)})"
        return written

    def _e_Compare(self, node):
        sides = [node.left, *node.comparators]
        parts = [self.compared(op, a, b) for op, a, b in zip(node.ops, sides, sides[1:], strict=False)]
        return parts[0] if len(parts) == 1 else "(" + " && ".join(parts) + ")"

    def compared(self, op: ast.cmpop, left: ast.expr, right: ast.expr) -> str:
        """Write one comparison."""
        a, b = self.expr(left), self.expr(right)
        if type(op) in COMPARED:
            return f"({a} {COMPARED[type(op)]} {b})"
        if isinstance(op, ast.In | ast.NotIn):
            return f"{'!' * isinstance(op, ast.NotIn)}$in({a}, {b})"
        no = "!" if isinstance(op, ast.NotEq | ast.IsNot) else ""
        if isinstance(op, ast.Is | ast.IsNot):
            none = isinstance(right, ast.Constant) and right.value is None
            return f"({a} {no or '='}{'=' if none else '=='} {b})"
        simple = any(isinstance(x, ast.Constant) for x in (left, right))
        if self.numbers or simple:
            return f"({a} {no or '='}== {b})"
        return f"{no}$eq({a}, {b})"

    def _e_IfExp(self, node):
        return f"({self.test(node.test)} ? {self.expr(node.body)} : {self.expr(node.orelse)})"

    def _e_NamedExpr(self, node):
        return f"({self.expr(node.target)} = {self.expr(node.value)})"

    def _e_Tuple(self, node):
        return "[" + ", ".join(map(self.item, node.elts)) + "]"

    _e_List = _e_Tuple

    def _e_Set(self, node):
        return f"$set({self._e_Tuple(node)})"

    def item(self, node: ast.expr) -> str:
        """Write an item of a list or an argument of a call."""
        return f"...$iter({self.expr(node.value)})" if isinstance(node, ast.Starred) else self.expr(node)

    def _e_Dict(self, node):
        pairs = []
        for key, value in zip(node.keys, node.values, strict=True):
            if key is None:
                pairs.append(f"...{self.expr(value)}.items()")
            else:
                pairs.append(f"[{self.expr(key)}, {self.expr(value)}]")
        return f"$dict([{', '.join(pairs)}])"

    def _e_Lambda(self, node):
        names = {a.arg for a in node.args.args}
        self.locals.append(names)
        body = self.expr(node.body)
        self.locals.pop()
        return f"(({', '.join(self.name(a.arg) for a in node.args.args)}) => {body})"

    def comprehended(self, node, element: Callable[[], str]) -> str:
        """Write a comprehension as filters and maps of lists."""
        made = ""
        opened, written = [], []
        for k, part in enumerate(node.generators):
            source = f"$iter({self.expr(part.iter)})"
            self.locals.append({n.id for n in ast.walk(part.target) if isinstance(n, ast.Name)})
            opened.append(part)
            target = self.pattern(part.target)
            for condition in part.ifs:
                source += f".filter(({target}) => {self.test(condition)})"
            written.append((source, target, k == len(node.generators) - 1))
        made = element()
        for source, target, last in reversed(written):
            if last and made == target:
                made = source if source.endswith("))") and ".filter(" in source else f"{source}.slice()"
            else:
                made = f"{source}.{'map' if last else 'flatMap'}(({target}) => {made})"
        del self.locals[len(self.locals) - len(opened) :]
        return made

    def pattern(self, target: ast.expr) -> str:
        """Write what a comprehension goes through its source by."""
        if isinstance(target, ast.Name):
            if target.id == "_":
                self.fresh += 1
                return f"$_{self.fresh}"
            return self.name(target.id)
        if isinstance(target, ast.Starred):
            return f"...{self.pattern(target.value)}"
        if not isinstance(target, ast.Tuple | ast.List):
            self.fail(target)
        return "[" + ", ".join(map(self.pattern, target.elts)) + "]"

    def _e_ListComp(self, node):
        return self.comprehended(node, lambda: self.expr(node.elt))

    _e_GeneratorExp = _e_ListComp

    def _e_SetComp(self, node):
        return f"$set({self._e_ListComp(node)})"

    def _e_DictComp(self, node):
        pair = self.comprehended(node, lambda: f"[{self.expr(node.key)}, {self.expr(node.value)}]")
        return f"$dict({pair})"

    def _e_Subscript(self, node):
        base = self.expr(node.value)
        if base in ("$list", "$dict", "$set"):  # a type's own: annotate the name instead
            self.fail(node)
        if isinstance(node.slice, ast.Slice):
            ends = (node.slice.lower, node.slice.upper, node.slice.step)
            return f"$slice({given(base, *(self.expr(x) if x else None for x in ends))})"
        at = self.expr(node.slice)
        return f"{base}[{at}]" if self.numbers else f"$at({base}, {at})"

    def _e_Yield(self, node):
        return f"(yield {self.expr(node.value)})"

    def _e_YieldFrom(self, node):
        return f"(yield* $iter({self.expr(node.value)}))"

    def _e_JoinedStr(self, node):
        parts = []
        for part in node.values:
            if isinstance(part, ast.Constant):
                parts.append(json.dumps(part.value))
                continue
            value = self.expr(part.value)
            if part.format_spec is not None:
                parts.append(f"$format({value}, {self.expr(part.format_spec)})")
            else:
                parts.append(f"{'$repr' if part.conversion == ord('r') else '$str'}({value})")
        return "(" + " + ".join(parts or ['""']) + ")"

    def _e_Call(self, node):
        called = self.object(node.func)
        if called is not None:
            return self.known_call(node, called)
        if isinstance(node.func, ast.Attribute):
            return self.method(node)
        if node.keywords:
            self.fail(node)
        return f"{self.expr(node.func)}({', '.join(map(self.item, node.args))})"

    def method(self, node: ast.Call) -> str:
        """Write a call of a method."""
        assert isinstance(node.func, ast.Attribute)
        attribute = node.func.attr
        self.attributes.add(attribute)
        base, args = self.expr(node.func.value), ", ".join(bare(self.item(x)) for x in node.args)
        if node.keywords:
            named = ", ".join(f"{k.arg}: {self.expr(k.value)}" for k in node.keywords)
            if attribute == "_replace":  # of a named tuple
                return f"$replace({bare(base)}, {{{named}}})"
            self.named.add(attribute)
            return f'$named({base}, "{attribute}", [{args}], {{{named}}})'
        if attribute in METHODS and not self.numbers:
            return f"$m.{attribute}({base}{', ' * bool(args)}{args})"
        if attribute in BUILT_IN and not self.numbers:
            self.fail(node)
        return f"{base}.{attribute}({args})"

    def kinds(self, node: ast.expr) -> str:
        """Write the class or classes of an `isinstance`."""
        if isinstance(node, ast.BinOp):
            return f"[{self.kinds(node.left)}, {self.kinds(node.right)}].flat()"
        return self.expr(node)

    def known_call(self, node: ast.Call, called) -> str:
        """Write a call of something global, its named arguments put in their places."""
        args = list(map(self.item, node.args))
        named = {k.arg: self.expr(k.value) for k in node.keywords if k.arg}
        spread = [self.expr(k.value) for k in node.keywords if k.arg is None]
        target = self.refer(called)
        if called in (min, max, sorted):
            first = args[0] if len(args) == 1 and not args[0].startswith("...") else f"[{', '.join(args)}]"
            if called in (min, max) and self.numbers and len(args) > 1:
                return f"Math.{called.__name__}({', '.join(args)})"
            if called in (min, max) and len(args) == 2 and not named and "..." not in "".join(args):
                return f"${'least' if called is min else 'most'}({', '.join(args)})"
            rest = [named.get("key"), named.get("reverse", named.get("default"))]
            return f"{target}({given(first, *rest)})"
        if called is isinstance:
            return f"$isinstance({args[0]}, {self.kinds(node.args[1])})"
        named.pop("strict", None) if called is zip else None
        names = self.signature(called)
        if names is None:
            if spread or (named and target != "$replace"):
                self.fail(node)
            extra = ["{" + ", ".join(f"{k}: {v}" for k, v in named.items()) + "}"] if named else []
            return f"{target}({', '.join(args + extra)})"
        if names and names[-1].startswith("**"):
            args += [named.pop(k, "undefined") for k in names[len(args) : -1]]
            others = [f'["{k}", {v}]' for k, v in named.items()] + [f"...{one}.items()" for one in spread]
            args.append(f"$dict([{', '.join(others)}])")
            return f"{target}({', '.join(args)})"
        new = "new " if isinstance(called, type) and target[0] != "$" else ""
        if spread:
            pairs = ", ".join(f'["{k}", {v}]' for k, v in named.items())
            whole = ", ".join(f"...{one}.items()" for one in spread)
            order = f"{target}.fields" if isinstance(called, type) else json.dumps(list(names))
            every = ", ".join(part for part in (pairs, whole) if part)
            return f"{new}{target}(...$places({order}, [{', '.join(args)}], [{every}]))"
        while named:
            at = len(args)
            if at >= len(names):
                self.fail(node)
            args.append(named.pop(names[at], "undefined"))
        written = f"{new}{target}({', '.join(map(bare, args))})"
        count = several(called)
        return f"$taken({written}, {count})" if count and node is not self.apart else written


@functools.cache
def _several(function: types.FunctionType) -> int:
    tree = ast.parse(textwrap.dedent(inspect.getsource(function)))
    values = [n.value for n in ast.walk(tree) if isinstance(n, ast.Return)]
    return max((len(v.elts) for v in values if isinstance(v, ast.Tuple)), default=0)


def several(thing: object) -> int:
    """How many values a kernel returns at once, else 0; it leaves them in `$r`, since lists are slow."""
    ours = isinstance(thing, types.FunctionType) and thing.__module__ in compiled.MODULES
    return _several(thing) if ours else 0


def given(*arguments: str | None) -> str:
    """Write arguments; those left out at the end are left out here too."""
    most = max(k for k, one in enumerate(arguments) if one is not None)
    return ", ".join("null" if one is None else bare(one) for one in arguments[: most + 1])


def bare(text: str) -> str:
    """Leave out the brackets around the whole of an expression."""
    if not text.startswith("("):
        return text
    depth = 0
    for found in _BRACKETS.finditer(text):
        depth += {"(": 1, ")": -1}.get(found[0], 0)
        if depth == 0:
            return text[1:-1] if found.end() == len(text) else text
    return text


def _scalar(node: ast.BinOp) -> bool:
    """Whether an addition is one of numbers or of texts for certain."""
    return any(isinstance(x, ast.Constant | ast.JoinedStr) for x in (node.left, node.right)) or any(
        isinstance(x, ast.BinOp) and isinstance(x.op, ast.Mult | ast.Div | ast.Pow | ast.Sub)
        for x in (node.left, node.right)
    )

"""One Python function as JavaScript: its syntax tree written out, its meaning kept."""

from __future__ import annotations

import ast

from aquacalc.live.expressions import BINARY, CALLED, Expressions, bare, several


class Emitter(Expressions):
    """Writes one function and its statements."""

    # -- functions --------------------------------------------------------------------------------

    def function(self, node: ast.FunctionDef, head: str, me: bool = False) -> str:
        """Write a function; `head` is what stands before its parameters, `me` makes the first one `this`."""
        names = [a.arg for a in (*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs)]
        rest = node.args.vararg.arg if node.args.vararg else None
        given = dict(zip(names[::-1], node.args.defaults[::-1], strict=False)) if node.args.defaults else {}
        if node.args.kwonlyargs:
            by_name = [a.arg for a in node.args.kwonlyargs]
            plain = [n for n in names if n not in by_name]
            given = dict(zip(plain[::-1], node.args.defaults[::-1], strict=False))
            given |= {n: d for n, d in zip(by_name, node.args.kw_defaults, strict=True) if d is not None}
        named = node.args.kwarg.arg if node.args.kwarg else None
        inner = {*names, *(n for n in (rest, named) if n)}
        bound = _bound(node.body)
        self.locals.append(inner | bound | _defined(node.body))
        shown = [self.name(n) + (f" = {self.expr(given[n])}" if n in given else "") for n in names[int(me) :]]
        if named:
            shown.append(self.name(named))
        if rest:
            shown.append(f"...{self.name(rest)}")
        self.leaves = any(isinstance(x, ast.Return) and isinstance(x.value, ast.Tuple) for x in _own(node))
        star = "*" if any(isinstance(x, ast.Yield | ast.YieldFrom) for x in _own(node)) else ""
        lines = [f"{head.replace('function', 'function' + star)}({', '.join(shown)}) {{"]
        if me:
            lines.append(f"const {self.name(names[0])} = this;")
        free = sorted(bound - {*names, rest, named})
        if free:
            none = " = 0" * self.numbers  # so that a browser keeps them as plain numbers from the start
            lines.append(f"let {', '.join(self.name(n) + none for n in free)};")
        body = node.body[1:] if ast.get_docstring(node) is not None else node.body
        lines += [line for one in body for line in self.stmt(one)]
        self.locals.pop()
        return "\n".join((*lines, "}"))

    # -- statements -------------------------------------------------------------------------------

    def block(self, body: list[ast.stmt]) -> list[str]:
        """Write statements."""
        return [line for one in body for line in self.stmt(one)]

    def stmt(self, node: ast.stmt) -> list[str]:
        """Write a statement as lines."""
        method = getattr(self, f"_s_{type(node).__name__}", None)
        return self.fail(node) if method is None else method(node)

    def _s_Pass(self, node):
        return []

    _s_Import = _s_ImportFrom = _s_Assert = _s_Pass

    def _s_Expr(self, node):
        return [] if isinstance(node.value, ast.Constant) else [f"{self.expr(node.value)};"]

    def _s_Return(self, node):
        if not node.value:
            return ["return null;"]
        if not (self.numbers and self.leaves):
            return [f"return {bare(self.expr(node.value))};"]
        if not isinstance(node.value, ast.Tuple):
            self.apart = node.value if isinstance(node.value, ast.Call) else None
            return [f"return {self.expr(node.value)};"]
        lines, values = [], []
        for k, one in enumerate(node.value.elts):
            value = self.expr(one)
            if any(isinstance(n, ast.Call) for n in ast.walk(one)):  # which may leave values of its own
                lines.append(f"const $a{k} = {value};")
                value = f"$a{k}"
            values.append(f"$r[{k}] = {value};")
        return [*lines, *values, "return $r;"]

    def _s_Break(self, node):
        return ["break;"]

    def _s_Continue(self, node):
        return ["continue;"]

    def _s_Raise(self, node):
        return [f"throw {self.expr(node.exc)};"]

    def _s_FunctionDef(self, node):
        return [self.function(node, f"function {self.name(node.name)}")]

    def _s_Assign(self, node):
        if isinstance(node.targets[0], ast.Tuple) and isinstance(node.value, ast.Call):
            self.apart = node.value
        value = self.expr(node.value)
        if len(node.targets) > 1:
            lines = self.assigned(node.targets[-1], value)
            last = self.expr(node.targets[-1])
            return lines + [line for t in node.targets[:-1] for line in self.assigned(t, last)]
        return self.assigned(node.targets[0], value)

    def _s_AnnAssign(self, node):
        return self.assigned(node.target, self.expr(node.value)) if node.value else []

    def _s_AugAssign(self, node):
        target = self.expr(node.target)
        plain = self.numbers or isinstance(node.op, ast.Sub | ast.Mult | ast.Div)
        if plain and type(node.op) in BINARY:
            return [f"{target} {BINARY[type(node.op)]}= {self.expr(node.value)};"]
        if isinstance(node.op, ast.Add):
            return self.assigned(node.target, f"$grow({target}, {self.expr(node.value)})")
        return self.assigned(node.target, f"{CALLED[type(node.op)]}({target}, {self.expr(node.value)})")

    def assigned(self, target: ast.expr, value: str) -> list[str]:
        """Write `target = value`, taking a list apart by places."""
        if isinstance(target, ast.Name | ast.Attribute):
            return [f"{self.expr(target)} = {bare(value)};"]
        if isinstance(target, ast.Subscript):
            base, at = self.expr(target.value), self.expr(target.slice)
            return [f"{base}[{at}] = {value};" if self.numbers else f"$put({base}, {at}, {value});"]
        if not isinstance(target, ast.Tuple | ast.List):
            self.fail(target)
        called, self.apart = self.apart, None
        plain = self.numbers or (called is not None and several(self.object(called.func)) > 0)
        value = value if plain else f"$iter({bare(value)})"
        star = next((k for k, one in enumerate(target.elts[:-1]) if isinstance(one, ast.Starred)), None)
        items = any(isinstance(one, ast.Subscript) for one in ast.walk(target))
        if not self.numbers and star is None and not items:
            return [f"{self.places(target)} = {value};"]
        self.fresh += 1
        whole = f"$u{self.fresh}"
        lines, count = [f"const {whole} = {value};"], len(target.elts)
        for k, one in enumerate(target.elts):
            at = f"{k}" if star is None or k < star else f"{whole}.length - {count - k}"
            if isinstance(one, ast.Starred):
                lines += self.assigned(one.value, f"{whole}.slice({k}, {whole}.length - {count - k - 1})")
            else:
                lines += self.assigned(one, f"{whole}[{at}]")
        return lines

    def places(self, target: ast.expr) -> str:
        """Write what values are put into, a list taken apart by places; a star is at its end."""
        if isinstance(target, ast.Starred):
            return f"...{self.places(target.value)}"
        if not isinstance(target, ast.Tuple | ast.List):
            return self.expr(target)
        if any(isinstance(one, ast.Starred) for one in target.elts[:-1]):
            self.fail(target)
        if any(isinstance(one, ast.Subscript) for one in target.elts):
            self.fail(target)
        return "[" + ", ".join(map(self.places, target.elts)) + "]"

    def _s_If(self, node):
        lines = [f"if ({bare(self.test(node.test))}) {{", *self.block(node.body), "}"]
        return [*lines[:-1], "} else {", *self.block(node.orelse), "}"] if node.orelse else lines

    def _s_While(self, node):
        if node.orelse:
            self.fail(node)
        return [f"while ({bare(self.test(node.test))}) {{", *self.block(node.body), "}"]

    def _s_For(self, node):
        if node.orelse:
            self.fail(node)
        called = node.iter if isinstance(node.iter, ast.Call) else None
        if called and self.object(called.func) is range and len(called.args) < 3:
            self.fresh += 1
            k, end = f"$k{self.fresh}", f"$n{self.fresh}"
            ends = [self.expr(a) for a in called.args]
            first, last = ends if len(ends) == 2 else ("0", ends[0])
            head = f"for (let {k} = {first}, {end} = {last}; {k} < {end}; {k}++) {{"
            return [head, f"{self.expr(node.target)} = {k};", *self.block(node.body), "}"]
        over = f"$iter({bare(self.expr(node.iter))})"
        return [f"for ({self.places(node.target)} of {over}) {{", *self.block(node.body), "}"]

    def _s_Try(self, node):
        self.fresh += 1
        error = f"$e{self.fresh}"
        lines = ["try {", *self.block(node.body), f"}} catch ({error}) {{"]
        for handler in node.handlers:
            lines.append(f"if ($isinstance({error}, {self.kinds(handler.type)})) {{")
            if handler.name:
                lines.append(f"{self.name(handler.name)} = {error};")
            lines += [*self.block(handler.body), "} else"]
        return [*lines, f"throw {error};", "}"]


def _own(node: ast.FunctionDef):
    """Each node of a function, without those of functions inside it."""
    waiting: list[ast.AST] = list(node.body)
    while waiting:
        one = waiting.pop()
        yield one
        if not isinstance(one, ast.FunctionDef | ast.Lambda):
            waiting += ast.iter_child_nodes(one)


def _bound(body: list[ast.stmt]) -> set[str]:
    """Names that statements assign, those of inner functions and comprehensions apart."""
    found: set[str] = set()
    waiting: list[ast.AST] = list(body)
    while waiting:
        one = waiting.pop()
        if isinstance(one, ast.FunctionDef | ast.Lambda):
            continue
        if isinstance(one, ast.ListComp | ast.SetComp | ast.DictComp | ast.GeneratorExp):
            waiting += [n for n in ast.walk(one) if isinstance(n, ast.NamedExpr)]
            continue
        if isinstance(one, ast.Name) and isinstance(one.ctx, ast.Store):
            found.add(one.id)
        if isinstance(one, ast.ExceptHandler) and one.name:
            found.add(one.name)
        waiting += ast.iter_child_nodes(one)
    return found


def _defined(body: list[ast.stmt]) -> set[str]:
    """Names of the functions defined inside."""
    return {n.name for one in body for n in ast.walk(one) if isinstance(n, ast.FunctionDef)}

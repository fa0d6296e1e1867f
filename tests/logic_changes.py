"""Single changes of logic in a Python source: which there are, and the text with one of them made.

A change swaps an operator, a comparison, `and` with `or`, 0 with 1, True with False, `min` with `max`,
`any` with `all`, turns a condition around, or takes away a sign or a `not`. The syntax tree says where; what
is replaced is the text, so that nothing else of the file moves. Text, docstrings, annotations and how a
picture looks are left alone.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass

ARITHMETIC = {
    ast.Add: ("+", ("-",)),
    ast.Sub: ("-", ("+",)),
    ast.Mult: ("*", ("/",)),
    ast.Div: ("/", ("*",)),
    ast.FloorDiv: ("//", ("*",)),
    ast.Mod: ("%", ("+",)),
    ast.Pow: ("**", ("*",)),
}
COMPARISONS = {
    ast.Lt: ("<", ("<=", ">")),
    ast.LtE: ("<=", ("<", ">=")),
    ast.Gt: (">", (">=", "<")),
    ast.GtE: (">=", (">", "<=")),
    ast.Eq: ("==", ("!=",)),
    ast.NotEq: ("!=", ("==",)),
    ast.Is: ("is", ("is not",)),
    ast.IsNot: ("is not", ("is",)),
    ast.In: ("in", ("not in",)),
    ast.NotIn: ("not in", ("in",)),
}
CALLS = {"min": "max", "max": "min", "any": "all", "all": "any"}
#: Keyword arguments that say how a picture or a page looks, or guard against what does not happen.
LOOKS = {
    "alpha", "annotation_clip", "ascending", "aspect", "bbox", "border", "borderpad", "clip_on", "color",
    "colors", "dpi", "ec", "edgecolor", "exist_ok", "facecolor", "fc", "figsize", "font", "fontsize",
    "frameon", "frozen", "ha", "handlelength", "hatch", "hspace", "labelpad", "labelsize",
    "length_includes_head", "linespacing",
    "linestyle", "linewidth", "linewidths", "loc", "ls", "lw", "mutation_scale", "pad", "parents", "repr",
    "rotation", "s", "shrinkA", "shrinkB", "size", "strict", "va", "wspace", "zorder",
}  # fmt: skip


@dataclass(frozen=True)
class Change:
    """One change: the text `before` at `start` (an offset into the source) becomes `after`.

    `first` and `last` are the lines of the expression it stands in.
    """

    start: int
    before: str
    after: str
    line: int
    first: int
    last: int


def changes(source: str) -> list[list[Change]]:
    """Return every place where a change can be made, with the changes there, in the order of the text."""
    finder = _Finder(source)
    found = [site for site in finder.visit(finder.tree) if site]
    return sorted(found, key=lambda site: (site[0].start, site[0].before))


def made(source: str, change: Change) -> str:
    """Return the source with one change made."""
    end = change.start + len(change.before)
    if source[change.start : end] != change.before:
        raise ValueError(f"line {change.line} does not hold {change.before!r} any more")
    return source[: change.start] + change.after + source[end:]


class _Finder:
    def __init__(self, source: str):
        self.source = source
        self.tree = ast.parse(source)
        self.lines = [0]
        for line in source.splitlines(keepends=True):
            self.lines.append(self.lines[-1] + len(line))
        self.texts = source.splitlines()

    def offset(self, line: int, column: int) -> int:
        """Offset of a place of the syntax tree, whose columns count bytes."""
        text = self.texts[line - 1]
        return self.lines[line - 1] + len(text.encode()[:column].decode())

    def span(self, node: ast.expr) -> tuple[int, int]:
        return self.offset(node.lineno, node.col_offset), self.offset(node.end_lineno, node.end_col_offset)

    def true(self, node: ast.expr) -> bool:
        """Whether the tree's places of a node hold its text: inside f-strings of old Pythons not always."""
        start, end = self.span(node)
        try:
            again = ast.parse(f"({self.source[start:end]})", mode="eval").body
        except SyntaxError:
            return False
        return ast.dump(again) == ast.dump(node)

    def visit(self, node: ast.AST, inside: tuple[int, int] = (0, 0)) -> Iterator[list[Change]]:
        if isinstance(node, ast.expr) and not inside[0]:
            inside = (node.lineno, node.end_lineno)
        elif isinstance(node, ast.stmt):
            inside = (0, 0)
            if isinstance(node, ast.If) and ast.unparse(node.test) == "__name__ == '__main__'":
                return
        yield from self.here(node, inside)
        for name, value in ast.iter_fields(node):
            if name in ("annotation", "returns", "decorator_list"):
                continue
            for child in value if isinstance(value, list) else [value]:
                if not isinstance(child, ast.AST) or (isinstance(child, ast.keyword) and child.arg in LOOKS):
                    continue
                yield from self.visit(child, inside)

    def here(self, node: ast.AST, inside: tuple[int, int]) -> Iterator[list[Change]]:
        if isinstance(node, ast.BinOp) and type(node.op) in ARITHMETIC:
            if not _is_text(node.left):
                yield self.between(node.left, node.right, *ARITHMETIC[type(node.op)], inside)
        elif isinstance(node, ast.AugAssign) and type(node.op) in ARITHMETIC:
            old, new = ARITHMETIC[type(node.op)]
            if not _is_text(node.value):
                yield self.between(node.target, node.value, f"{old}=", [f"{n}=" for n in new], inside)
        elif isinstance(node, ast.Compare):
            sides = [node.left, *node.comparators]
            for left, op, right in zip(sides, node.ops, node.comparators, strict=False):
                yield self.between(left, right, *COMPARISONS[type(op)], inside)
        elif isinstance(node, ast.BoolOp):
            old, new = ("and", "or") if isinstance(node.op, ast.And) else ("or", "and")
            for left, right in zip(node.values, node.values[1:], strict=False):
                yield self.between(left, right, old, (new,), inside)
        elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not | ast.USub):
            if self.true(node):
                start = self.span(node)[0]
                before = "not " if isinstance(node.op, ast.Not) else "-"
                yield self.site(start, before, ("",), inside)
        elif isinstance(node, ast.Constant) and type(node.value) in (int, float, bool):
            yield self.constant(node, inside)
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in CALLS:
            if self.true(node):
                yield self.site(self.span(node)[0], node.func.id, (CALLS[node.func.id],), inside)
        elif isinstance(node, ast.If | ast.IfExp | ast.While):
            test = node.test
            plain = isinstance(test, ast.Name | ast.Attribute | ast.Call) and self.true(test)
            if plain and ast.unparse(test) != "TYPE_CHECKING":
                lines = inside if inside[0] else (test.lineno, test.end_lineno)
                yield self.site(self.span(test)[0], "", ("not ",), lines)

    def constant(self, node: ast.Constant, inside: tuple[int, int]) -> list[Change]:
        start, end = self.span(node)
        text = self.source[start:end]
        swaps = {"0": "1", "1": "0", "0.0": "1.0", "1.0": "0.0", "True": "False", "False": "True"}
        if text not in swaps:
            return []
        return self.site(start, text, (swaps[text],), inside)

    def between(self, left, right, old: str, new, inside: tuple[int, int]) -> list[Change]:
        if not (self.true(left) and self.true(right)):
            return []
        start, end = self.span(left)[1], self.span(right)[0]
        gap = re.sub(r"#[^\n]*", lambda m: " " * len(m[0]), self.source[start:end])
        pattern = r"\s+".join(re.escape(part) for part in old.split())
        found = re.search(pattern, gap)
        if found is None:
            return []
        return self.site(
            start + found.start(), self.source[start:end][found.start() : found.end()], new, inside
        )

    def site(self, start: int, before: str, after, inside: tuple[int, int]) -> list[Change]:
        if self.source[start : start + len(before)] != before:
            return []
        line = self.source.count("\n", 0, start) + 1
        first, last = inside if inside[0] else (line, line)
        return [Change(start, before, a, line, first, last) for a in after]


def _is_text(node: ast.expr) -> bool:
    return isinstance(node, ast.JoinedStr) or (isinstance(node, ast.Constant) and isinstance(node.value, str))

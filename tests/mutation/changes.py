"""Every small change that can be made to a module, as text in its source.

Operators, numbers, and/or, not, min/max, any/all, floor/ceil, returned values and the ends of ranges; never
docstrings, annotations, messages, decorators, assertions, or what only a type checker reads.
"""

from __future__ import annotations

import ast
import itertools
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

OPERATORS: dict[type[ast.AST], tuple[str, tuple[str, ...]]] = {
    ast.Lt: ("<", ("<=", ">")), ast.LtE: ("<=", ("<", ">")), ast.Gt: (">", (">=", "<")), ast.GtE: (">=", (">", "<")),
    ast.Eq: ("==", ("!=",)), ast.NotEq: ("!=", ("==",)), ast.Is: ("is", ("is not",)), ast.IsNot: ("is not", ("is",)),
    ast.In: ("in", ("not in",)), ast.NotIn: ("not in", ("in",)),
    ast.Add: ("+", ("-",)), ast.Sub: ("-", ("+",)), ast.Mult: ("*", ("/",)), ast.Div: ("/", ("*",)),
    ast.FloorDiv: ("//", ("/",)), ast.Mod: ("%", ("*",)), ast.Pow: ("**", ("*",)),
    ast.And: ("and", ("or",)), ast.Or: ("or", ("and",)), ast.BitAnd: ("&", ("|",)), ast.BitOr: ("|", ("&",)),
}  # fmt: skip
NAMES = {
    "min": "max", "max": "min", "minimum": "maximum", "maximum": "minimum", "any": "all", "all": "any",
    "floor": "ceil", "ceil": "floor", "argmin": "argmax", "argmax": "argmin",
}  # fmt: skip


@dataclass(frozen=True)
class Change:
    """One change: bytes `start` to `end` of a file become `new`."""

    file: str
    function: str
    line: int
    start: int
    end: int
    new: str
    text: str
    nth: int = 0  # of those in a function that read the same

    @property
    def key(self) -> tuple[str, str, str, int]:
        return self.file, self.function, self.text, self.nth

    def applied(self, source: bytes) -> bytes:
        return source[: self.start] + self.new.encode() + source[self.end :]


class _Finder:
    def __init__(self, file: str, source: bytes) -> None:
        self.file, self.source = file, source
        self.offsets = [0]
        for line in source.splitlines(keepends=True):
            self.offsets.append(self.offsets[-1] + len(line))
        self.found: list[Change] = []

    def span(self, node: ast.AST) -> tuple[int, int]:
        return (
            self.offsets[node.lineno - 1] + node.col_offset,
            self.offsets[node.end_lineno - 1] + node.end_col_offset,
        )

    def add(self, function: str, whole: ast.AST, start: int, end: int, new: str) -> None:
        """Keep a change; it is told as the expression before and after."""
        first, last = self.span(whole)
        before = self.source[first:last].decode()
        after = (self.source[first:start] + new.encode() + self.source[end:last]).decode()
        text = f"{' '.join(before.split())[:90]} -> {' '.join(after.split())[:90]}"
        if before != after:
            self.found.append(Change(self.file, function, whole.lineno, start, end, new, text))

    def between(self, left: ast.AST, right: ast.AST, sign: str) -> tuple[int, int] | None:
        """Return where a sign stands between two expressions."""
        start, end = self.span(left)[1], self.span(right)[0]
        at = self.source[start:end].find(sign.encode())
        return None if at < 0 else (start + at, start + at + len(sign))

    def visit(self, node: ast.AST, function: str) -> None:
        if _skipped(node):
            return
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            inner = node.name if function == "" else f"{function}.{node.name}"
            defaults = [] if isinstance(node, ast.ClassDef) else [node.args]
            for part in [*defaults, *node.body]:
                self.visit(part, inner)
            return
        self.change(node, function)
        for child in _children(node):
            self.visit(child, function)

    def change(self, node: ast.AST, function: str) -> None:  # noqa: C901 - one branch for each kind of node
        start, end = self.span(node) if hasattr(node, "lineno") else (0, 0)
        if isinstance(node, ast.Compare):
            for left, sign, right in zip(
                [node.left, *node.comparators[:-1]], node.ops, node.comparators, strict=True
            ):
                self.swap(function, node, left, sign, right)
        elif isinstance(node, ast.BinOp) and not _is_text(node):
            self.swap(function, node, node.left, node.op, node.right)
        elif isinstance(node, ast.BoolOp):
            for left, right in itertools.pairwise(node.values):
                self.swap(function, node, left, node.op, right)
        elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not | ast.USub | ast.Invert):
            self.add(function, node, start, start + (4 if isinstance(node.op, ast.Not) else 1), "")
        elif isinstance(node, ast.Constant):
            self.number(function, node)
        elif name := _name(node):
            self.add(function, node, end - len(name), end, NAMES[name])
        elif isinstance(node, ast.Return) and node.value is not None and not _is_none(node.value):
            self.add(function, node, *self.span(node.value), "None")
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "range":
            end = self.span(node.args[min(1, len(node.args) - 1)])[1]
            self.add(function, node, end, end, " - 1")

    def swap(self, function: str, node: ast.AST, left: ast.AST, sign: ast.AST, right: ast.AST) -> None:
        if type(sign) in OPERATORS:
            old, news = OPERATORS[type(sign)]
            if place := self.between(left, right, old):
                for new in news:
                    self.add(function, node, *place, new)

    def number(self, function: str, node: ast.Constant) -> None:
        start, end = self.span(node)
        if isinstance(node.value, bool):
            self.add(function, node, start, end, str(not node.value))
        elif isinstance(node.value, int | float):
            if node.value + 1 != node.value:
                self.add(function, node, start, end, repr(node.value + 1))
            if node.value:
                self.add(function, node, start, end, f"(-{node.value!r})")
            if isinstance(node.value, float) and node.value:
                self.add(function, node, start, end, repr(node.value * 1.1))


def _skipped(node: ast.AST) -> bool:
    """Return whether nothing in a piece of code is changed: messages, raised errors, assertions.

    Whether `zip` is strict is an assertion as well: it does nothing in sound code.
    """
    if isinstance(node, ast.keyword) and node.arg == "strict":
        return True
    if isinstance(node, ast.If) and isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING":
        return True
    if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
        return True
    return isinstance(node, ast.Raise | ast.JoinedStr | ast.Import | ast.ImportFrom | ast.Assert)


def _children(node: ast.AST) -> Iterator[ast.AST]:
    """Yield the parts of a node without annotations, decorators, and slices of types."""
    for name, value in ast.iter_fields(node):
        if name in {"annotation", "returns", "decorator_list", "type_params"}:
            continue
        if isinstance(node, ast.arguments) and name not in {"defaults", "kw_defaults"}:
            continue
        for one in value if isinstance(value, list) else [value]:
            if isinstance(one, ast.AST):
                yield one


def _name(node: ast.AST) -> str:
    """Return the name of a function or truth that has an opposite, else nothing."""
    name = node.id if isinstance(node, ast.Name) else node.attr if isinstance(node, ast.Attribute) else ""
    return name if name in NAMES else ""


def _is_text(node: ast.BinOp) -> bool:
    return any(
        isinstance(one, ast.JoinedStr) or (isinstance(one, ast.Constant) and isinstance(one.value, str | bytes))
        for one in (node.left, node.right)
    )


def _is_none(node: ast.AST) -> bool:
    return isinstance(node, ast.Constant) and node.value is None


def changes_of(path: Path, root: Path) -> list[Change]:
    """Return every change that can be made to a file, in the order of its lines."""
    source = path.read_bytes()
    finder = _Finder(path.relative_to(root).as_posix(), source)
    for node in ast.parse(source).body:
        if isinstance(node, ast.Assign | ast.AnnAssign) and _is_type(node):
            continue
        finder.visit(node, "")
    ordered, alike = [], Counter()
    for one in sorted(finder.found, key=lambda one: (one.line, one.start, one.new)):
        ordered.append(replace(one, nth=alike[one.key]))
        alike[one.key] += 1
    return ordered


def _is_type(node: ast.Assign | ast.AnnAssign) -> bool:
    """Return whether a top-level name stands for a type: `Floats = NDArray[...]`, `Kind = Literal[...]`, `A | B`."""
    value = node.value
    if isinstance(value, ast.Subscript):
        return isinstance(value.value, ast.Name)
    return isinstance(value, ast.BinOp) and isinstance(value.op, ast.BitOr)

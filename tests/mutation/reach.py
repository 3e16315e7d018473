"""Which tests run a changed line? Those seen to run it, or, where none can be seen, those that use its name.

Lines that run on import and compiled functions are not seen when tests are traced (`lines.py`). For them the name
that they give (a constant, a field, a class, a function) is looked up in all statements that mention it, on and on.
"""

from __future__ import annotations

import ast
import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from tests.mutation.changes import Change

#: they read the source itself: a changed line may trouble them, and that would prove nothing
READERS = ("tests/test_layers.py", "tests/test_nothing_unused.py", "tests/bench/", "tests/mutation/")
COMPILED = {"compiled", "compiled_fused", "compiled_uncounted", "inlined"}
CACHED = {"cache", "lru_cache"}


def imports_of(path: Path, root: Path) -> set[str]:
    """Return the modules of the checkout that a file imports when it runs, as paths from the root."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    asked: set[str] = set()
    here = path.relative_to(root).parent.parts
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            asked |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            up = list(here[: len(here) - node.level + 1]) if node.level else []
            base = ".".join([*up, *([node.module] if node.module else [])])
            asked |= {base} | {f"{base}.{alias.name}" for alias in node.names}
    found = set()
    for name in asked:
        if name.split(".")[0] in {"siteplan", "tests"}:
            at = root.joinpath(*name.split("."))
            found |= {one for one in (at.with_suffix(".py"), at / "__init__.py") if one.is_file()}
    return {one.relative_to(root).as_posix() for one in found}


@dataclass(frozen=True)
class Statement:
    """Lines `first` to `last` of a file, the names they give, whether tests are seen to run them, or use the names."""

    file: str
    first: int
    last: int
    names: tuple[str, ...]
    seen: bool
    named: bool


class Reach:
    """All statements of a checkout, and what was seen of its tests; with `interpreted`, with nothing compiled."""

    def __init__(self, root: Path, seen: dict, *, interpreted: bool = False) -> None:
        self.interpreted, self.root, self.seconds, self.lines = interpreted, root, seen["seconds"], seen["lines"]
        self.users: dict[str, list[str]] = defaultdict(list)
        for test, fixtures in seen["uses"].items():
            for fixture in fixtures:
                self.users[fixture].append(test)
        self.fixtures = seen["uses"]
        self.statements: dict[str, list[Statement]] = {}
        self.mentions: dict[str, list[tuple[Statement, bool]]] = defaultdict(list)
        self.graph: dict[str, set[str]] = {}
        for top in ("siteplan", "tests"):
            for path in sorted(root.joinpath(top).rglob("*.py")):
                name = path.relative_to(root).as_posix()
                self.graph[name] = imports_of(path, root)
                self.statements[name] = list(self._read(name, ast.parse(path.read_bytes())))
        self.compiled = {
            name for name in self.graph
            if not interpreted and name.startswith("siteplan/") and re.search(r"^@(compiled|inlined)", (root / name).read_text("utf-8"), re.MULTILINE)
        }  # fmt: skip

    def _read(self, file: str, tree: ast.Module) -> Iterator[Statement]:
        """Yield the statements of a file, inner ones after outer ones, and note the names that each mentions."""

        def walk(
            body: Iterable[ast.stmt], given: tuple[str, ...], *, seen: bool, named: bool, local: bool = True
        ) -> Iterator[Statement]:
            for node in body:
                inner = _inner(node)
                last = max(node.lineno, min((one.lineno - 1 for one in inner), default=node.end_lineno))
                names = given if local else (*given, *_bound(node))
                made = Statement(file, node.lineno, last, names, seen, named)
                yield made
                for name, attribute in _mentioned(node, set(map(id, inner))):
                    self.mentions[name].append((made, attribute))
                if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                    marks = {getattr(one, "id", getattr(one, "attr", "")) for one in node.decorator_list}
                    own = given if node.name.startswith("__") else (node.name,)
                    compiled = bool(marks & COMPILED) and not self.interpreted
                    yield from walk(inner, own, seen=not compiled, named=compiled or bool(marks & CACHED))
                elif isinstance(node, ast.ClassDef):
                    yield from walk(inner, (*given, node.name), seen=False, named=True, local=False)
                else:
                    yield from walk(inner, given, seen=seen, named=named, local=local)

        return walk(tree.body, (), seen=False, named=True, local=False)

    def contexts(self, change: Change) -> set[str]:
        """Return the tests and fixtures that run a change."""
        statements = self.statements[change.file]
        inner = [one for one in statements if one.first <= change.line <= one.last]
        found: set[str] = set()
        waiting, done = inner[-1:], set()
        while waiting:
            one = waiting.pop()
            done.add(one)
            rows = self.lines.get(one.file, {})
            here = {who for line in range(one.first, one.last + 1) for who in rows.get(str(line), ())}
            if one.seen:
                found |= here - {"import"}
            if one.named or "import" in here or not here:  # other processes, and a server's own code, are not seen
                for name in one.names:
                    near = (
                        other for other, attribute in self.mentions[name]
                        if other.file == one.file or one.file in self.graph[other.file]
                        or (attribute and not name.startswith("_"))
                    )  # fmt: skip
                    waiting += [other for other in near if other not in done]
        return found

    def tests(self, change: Change) -> list[str]:
        """Return the tests that run a change: the quick ones first, a namesake's and its own folder's before others."""
        every = self.contexts(change)
        every |= {test for one in every for test in self.users.get(one, ())}
        room, stem = Path(change.file).parts[1], Path(change.file).stem

        def cost(name: str) -> tuple[float, str]:
            file = Path(name.split("::", maxsplit=1)[0])
            namesake = file.as_posix() == change.file or file.stem == f"test_{stem}"
            near = 1 if namesake else 3 if room in file.parts else 10
            return near * self.share(name), name

        files = {name: name.split("::")[0] for name in every & self.fixtures.keys()}
        return sorted(
            (name for name, file in files.items() if file in self.graph and not file.startswith(READERS)), key=cost
        )

    def share(self, test: str) -> float:
        """Return how long a test takes, with its share of the fixtures that it uses with others. [s]"""
        shared = (self.seconds.get(one, 0.0) / len(self.users[one]) for one in self.fixtures[test])
        return 0.02 + self.seconds.get(test, 0.0) + sum(shared)

    def whole(self, tests: Sequence[str]) -> float:
        """Return how long tests take in a run of their own. [s]"""
        fixtures = {one for test in tests for one in self.fixtures[test]}
        return sum(self.seconds.get(one, 0.0) for one in (*tests, *fixtures))

    def stale(self, module: str) -> set[str]:
        """Return the compiled modules whose machine code holds something of a module: its own or an imported number."""
        stale: set[str] = set()
        now = {module}
        while now:
            stale |= now & self.compiled
            now = {name for name in self.compiled - stale if self.graph[name] & now}
        return stale


def _inner(node: ast.stmt) -> list[ast.stmt]:
    """Return the statements inside a statement."""
    found = []
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.excepthandler | ast.match_case):
            found += child.body
        elif isinstance(child, ast.stmt):
            found.append(child)
    return found


def _bound(node: ast.stmt) -> list[str]:
    """Return the names that a statement gives when a module is imported."""
    if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
        return [node.name]
    targets = node.targets if isinstance(node, ast.Assign) else [getattr(node, "target", None)]
    return [one.id for target in targets if target for one in ast.walk(target) if isinstance(one, ast.Name)]


def _mentioned(node: ast.AST, without: set[int]) -> Iterator[tuple[str, bool]]:
    """Yield the names in a statement and whether each is an attribute, without the statements inside it."""
    for child in ast.iter_child_nodes(node):
        if id(child) in without or isinstance(child, ast.excepthandler | ast.match_case):
            continue
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) and child is node.returns:
            continue
        if isinstance(child, ast.Name) and isinstance(child.ctx, ast.Load):
            yield child.id, False
        elif isinstance(child, ast.Attribute):
            yield child.attr, True
        elif isinstance(child, ast.keyword) and child.arg:
            yield child.arg, True
        if not isinstance(child, ast.arg):  # its annotation does nothing
            yield from _mentioned(child, without)

"""Nothing in siteplan is there for the tests alone: all of it is reached from a command or from a public name."""

from __future__ import annotations

import ast
from dataclasses import dataclass, field
from pathlib import Path

import siteplan

PACKAGE = Path(__file__).parents[1] / "siteplan"

#: where people come in: the command, and `python -m siteplan`; the public names come from `siteplan._WHERE`
ROOTS = {"siteplan.cli.main", "siteplan.__main__"}
#: functions and classes that nothing in the program asks for, by their last name, and why they stay
KEPT = {
    "materials_table": "makes the README's table of materials",
    "kinds_table": "makes the README's table of kinds",
    "settings_table": "makes the README's table of settings",
    "write_schemas": "makes the schemas that `siteplan new` writes",
    "packed_hours": "the tests of the pages pack maps with it",
    "unpacked_hours": "the tests of the pages read a page's maps back with it",
    "tape_value": "the tests of the work sheet read its measures back with it",
}
#: methods that people or tests call, and the program itself does not
CALLED = {
    "exact_hours": "the exact test that the lookup is measured against",
    "turning": "what turning and moving a bed bring, in words, for a notebook",
    "exact_light": "the same, step by step",
    "day_length": "what a path is asked for in its own examples",
    "charts": "people ask a plan for them, in notebooks",
    "_repr_html_": "notebooks ask for it",
    "setup": "Dask calls it on each worker of a cluster",
    "teardown": "the same at the end",
    "running": "the tests of the server wait with it",
}


@dataclass
class Piece:
    """A top-level function, class or constant, with the names it uses; or a module's loose statements."""

    module: str
    kind: str
    uses: set[str] = field(default_factory=set)


def module_name(path: Path) -> str:
    return ".".join(path.relative_to(PACKAGE.parent).with_suffix("").parts)


def imported_names(tree: ast.AST) -> dict[str, str]:
    """Return what each imported name of a module stands for."""
    known = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            known |= {one.asname or one.name.split(".")[0]: one.name for one in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            known |= {one.asname or one.name: f"{node.module}.{one.name}" for one in node.names}
    return known


def names_in(node: ast.AST, *, module: str, known: dict[str, str]) -> set[str]:
    """Return the full names that a piece of code uses; an imported name counts where it is used, not imported."""
    found = set()
    for one in ast.walk(node):
        if isinstance(one, ast.Name):
            found.add(known.get(one.id, f"{module}.{one.id}"))
        elif isinstance(one, ast.Attribute) and isinstance(one.value, ast.Name) and one.value.id in known:
            found.add(f"{known[one.value.id]}.{one.attr}")
        elif isinstance(one, ast.Constant) and isinstance(one.value, str) and one.value.isidentifier():
            found.add(known.get(one.value, f"{module}.{one.value}"))  # a type in quotes
    return found


def pieces() -> dict[str, Piece]:
    """Return every top-level piece of the package by its full name; a module's loose statements go by its own name."""
    every: dict[str, Piece] = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        module, tree = module_name(path), ast.parse(path.read_text(encoding="utf-8"))
        known = imported_names(tree)
        loose = every.setdefault(module, Piece(module, "module"))
        for node in tree.body:
            used = names_in(node, module=module, known=known)
            if isinstance(node, ast.FunctionDef | ast.ClassDef):
                every[f"{module}.{node.name}"] = Piece(module, type(node).__name__, used)
            elif isinstance(node, ast.Assign | ast.AnnAssign):
                targets = node.targets if isinstance(node, ast.Assign) else [node.target]
                for target in [one for group in targets for one in ast.walk(group) if isinstance(one, ast.Name)]:
                    every[f"{module}.{target.id}"] = Piece(module, "constant", used)
            elif not isinstance(node, ast.Import | ast.ImportFrom):
                loose.uses |= used
    return every


def reached(every: dict[str, Piece], waiting: set[str]) -> set[str]:
    """Return what is used, however far around, from some pieces."""
    seen: set[str] = set()
    waiting = set(waiting)
    while waiting:
        name = waiting.pop()
        if name in every and name not in seen:
            seen.add(name)
            waiting |= every[name].uses | {every[name].module}  # whoever imports a module runs its loose statements
    return seen


def roots(every: dict[str, Piece]) -> set[str]:
    public = {f"{module}.{name}" for name, module in siteplan._WHERE.items()}
    assert public <= set(every)
    own = {name for name in every if name.rsplit(".", 1)[-1] == "__all__"}
    return ROOTS | public | own | {name for name in every if name.startswith("siteplan.__init__")}


def methods() -> set[str]:
    """Return the names of all methods and properties, without those that Python itself calls."""
    return {
        method.name
        for path in PACKAGE.rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.ClassDef)
        for method in node.body
        if isinstance(method, ast.FunctionDef) and not method.name.startswith("__")
    }


def asked_for() -> set[str]:
    """Return every attribute that the package asks for, written out or by its name as text."""
    asked: set[str] = set()
    for path in PACKAGE.rglob("*.py"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        asked |= {node.attr for node in ast.walk(tree) if isinstance(node, ast.Attribute)}
        asked |= {
            node.value for node in ast.walk(tree) if isinstance(node, ast.Constant) and isinstance(node.value, str)
        }
    return asked


def test_every_function_class_and_constant_is_reached():
    every = pieces()
    kept = {name for name in every if name.rsplit(".", 1)[-1] in KEPT}
    seen = reached(every, roots(every) | kept)
    unused = sorted(name for name, one in every.items() if one.kind != "module" and name not in seen)
    assert not unused, "nothing in siteplan uses these: delete them with their tests"
    assert len(seen) > 500  # the search went through the package


def test_nothing_is_kept_that_is_reached_anyway_or_gone():
    every = pieces()
    seen = {name.rsplit(".", 1)[-1] for name in reached(every, roots(every))}
    there = {name.rsplit(".", 1)[-1] for name in every}
    assert set(KEPT) <= there - seen


def test_every_method_is_asked_for():
    assert methods() - asked_for() == set(CALLED)


def test_the_search_finds_what_only_itself_calls():
    # a chain a -> b is reached; c and d call each other, and nobody calls them
    every = {name: Piece("m", "FunctionDef", uses) for name, uses in
             {"m.a": {"m.b"}, "m.b": set(), "m.c": {"m.d"}, "m.d": {"m.c"}}.items()}  # fmt: skip
    assert reached(every, {"m.a"}) == {"m.a", "m.b"}

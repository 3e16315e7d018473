"""Which tests have to do with a module: those that import it, the nearest first; and whose compiled code holds it."""

from __future__ import annotations

import ast
import re
from pathlib import Path


def imports_of(path: Path, root: Path) -> set[str]:
    """Return the modules of the checkout that a file imports when it runs, as paths from the root."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.If) and isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING":
            node.body = []
    asked: set[str] = set()
    here = path.relative_to(root).parent.parts
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            asked |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            up = list(here[: len(here) - node.level + 1]) if node.level else []
            base = ".".join([*up, *([node.module] if node.module else [])])
            asked |= {base} | {f"{base}.{alias.name}" for alias in node.names}
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and node.value.startswith("siteplan."):
            asked.add(node.value)  # looked up by its name, as the public names are
    found = set()
    for name in asked:
        if name.split(".")[0] in {"siteplan", "tests"}:
            at = root.joinpath(*name.split("."))
            found |= {one for one in (at.with_suffix(".py"), at / "__init__.py") if one.is_file()}
    return {one.relative_to(root).as_posix() for one in found}


#: they read the source itself: a changed line may trouble them, and that would prove nothing
READERS = {"test_layers.py", "test_nothing_unused.py"}
#: run by hand, or tests of this command itself
OTHERS = ("tests/bench/", "tests/mutation/")


class Reach:
    """The imports of a whole checkout."""

    def __init__(self, root: Path) -> None:
        self.root = root
        files = [*root.joinpath("siteplan").rglob("*.py"), *root.joinpath("tests").rglob("*.py")]
        self.graph = {one.relative_to(root).as_posix(): imports_of(one, root) for one in files}
        for name in self.graph:
            if name.startswith("tests/"):
                folder = Path(name).parent
                above = [folder, *folder.parents][:-1]
                self.graph[name] |= {f"{one.as_posix()}/conftest.py" for one in above} & set(self.graph)
        self.compiled = {
            name
            for name in self.graph
            if name.startswith("siteplan/")
            and re.search(r"njit|^@compiled", (root / name).read_text("utf-8"), re.MULTILINE)
        }

    def steps(self, start: str) -> dict[str, int]:
        """Return how many imports away each file is from one."""
        far, now, step = {start: 0}, {start}, 0
        while now:
            step += 1
            now = {name for one in now for name in self.graph.get(one, ()) if name not in far}
            far |= dict.fromkeys(now, step)
        return far

    def tests(self, module: str, seconds: dict[str, float]) -> list[str]:
        """Return the test files that import a module: namesakes, its folder's, then the near before the far.

        Among equals the quick ones come first.
        """
        namesake = f"test_{Path(module).stem}.py"
        found = []
        for name in sorted(self.graph):
            if name.startswith(OTHERS) or Path(name).name in READERS:
                continue
            if name.startswith("tests/") and Path(name).name.startswith("test_"):
                far = self.steps(name).get(module)
                if far is not None or Path(name).name == namesake:
                    away = not name.startswith(f"tests/{Path(module).parts[1]}/")
                    found.append((Path(name).name != namesake, away, far or 0, seconds.get(name, 1.0), name))
        return [name for *_, name in sorted(found)]

    def stale(self, module: str) -> set[str]:
        """Return the compiled modules whose machine code holds something of a module: its own or an imported number."""
        stale: set[str] = set()
        now = {module}
        while now:
            stale |= now & self.compiled
            now = {name for name in self.compiled - stale if self.graph[name] & now}
        return stale

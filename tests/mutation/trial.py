"""Does any test fail when a line is changed? In a copy of the checkout, the nearest tests first, each with a limit."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

from tests.mutation.changes import Change
from tests.mutation.reach import Reach

NEAR = 4  # test files that are tried first, in a run of their own
LEFT_OUT = (".git", "__pycache__", ".hypothesis", ".pytest_cache", ".mypy_cache", ".ruff_cache", ".venv", "build")
OPTIONS = ("-q", "-x", "-n", "0", "-p", "no:cacheprovider", "--hypothesis-seed=0", "--no-header", "--tb=no")


def _mirror(checkout: Path, root: Path) -> None:
    """Make a copy like the checkout as it is now; what has not changed keeps its time, and so its compiled code."""
    wanted = set()
    for path in checkout.rglob("*"):
        within = path.relative_to(checkout)
        if path.is_dir() or any(part in LEFT_OUT or part.endswith((".nbi", ".nbc")) for part in within.parts):
            continue
        wanted.add(within)
        there = root / within
        if not there.exists() or there.read_bytes() != path.read_bytes():
            there.parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(path, there)
    for path in [one for one in root.rglob("*.py") if one.relative_to(root) not in wanted]:
        path.unlink()


class Copy:
    """A throw-away copy of the checkout with its own compiled code."""

    def __init__(self, checkout: Path, folder: Path) -> None:
        self.root, self.cache = folder / "checkout", folder / "compiled"
        _mirror(checkout, self.root)
        shared, link = checkout.parent / "shared", folder / "shared"
        if shared.exists() and not link.exists():
            link.symlink_to(shared.resolve())
        self.reach = Reach(self.root)

    def pytest(self, arguments: Sequence[str], *, cache: Path, limit: float) -> tuple[int | None, str]:
        """Return pytest's exit code, or None where it took too long, and what it said."""
        more = {"PYTHONPATH": str(self.root), "NUMBA_CACHE_DIR": str(cache), "PYTHONDONTWRITEBYTECODE": "1"}
        command = [sys.executable, "-m", "pytest", *arguments]
        process = subprocess.Popen(
            command, cwd=self.root, env=os.environ | more, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
            text=True, start_new_session=True,
        )  # fmt: skip
        try:
            said, _ = process.communicate(timeout=limit)
        except subprocess.TimeoutExpired:
            os.killpg(process.pid, 9)
            process.communicate()
            return None, ""
        return process.returncode, said

    def durations(self) -> dict[str, float]:
        """Return the seconds that each test file takes, from a run of the unchanged suite, which must pass."""
        code, said = self.pytest(
            ["-q", "-n", "2", "-p", "no:cacheprovider", "--durations=0", "-vv", "--no-header", "--tb=short"],
            cache=self.cache, limit=3600,
        )  # fmt: skip
        if code:
            raise SystemExit(f"the unchanged suite does not pass:\n{said[-3000:]}")
        seconds: dict[str, float] = {}
        for took, name in re.findall(r"^([0-9.]+)s (?:call|setup|teardown) +(\S+?)::", said, re.MULTILINE):
            seconds[name] = seconds.get(name, 0.0) + float(took)
        return {one: seconds.get(one, 0.0) for one in self.reach.graph if Path(one).name.startswith("test_")}

    def tried(self, change: Change, *, seconds: dict[str, float], budget: float) -> str:
        """Return which test file caught a change, "time" where one hung, or "" where none did."""
        path = self.root / change.file
        source, stamp = path.read_bytes(), path.stat()
        cache = self._cache_without(self.reach.stale(change.file))
        path.write_bytes(change.applied(source))
        try:
            for files in self._rounds(change.file, seconds, budget):
                limit = 60 + 4 * sum(seconds.get(name, 1.0) for name in files) + (60 if cache != self.cache else 0)
                code, said = self.pytest([*OPTIONS, *files], cache=cache, limit=limit)
                if code is None:
                    return "time"
                if code not in {0, 5}:
                    failed = re.search(r"^(?:FAILED|ERROR) (\S+)", said, re.MULTILINE)
                    return failed.group(1) if failed else said.strip()[-200:]
            return ""
        finally:
            path.write_bytes(source)
            os.utime(path, ns=(stamp.st_atime_ns, stamp.st_mtime_ns))
            if cache != self.cache:
                shutil.rmtree(cache, ignore_errors=True)

    def _rounds(self, module: str, seconds: dict[str, float], budget: float) -> list[list[str]]:
        """Return the test files in two runs, the module's own examples with the first; as many as the budget holds."""
        names, spent = [], 0.0
        for name in self.reach.tests(module, seconds):
            spent += seconds.get(name, 1.0)
            if names and spent > budget:
                break
            names.append(name)
        rounds = [[module, *names[:NEAR]], names[NEAR:]]
        return [one for one in rounds if one]

    def _cache_without(self, stale: set[str]) -> Path:
        """Return the folder of compiled code; a copy without what a change makes wrong, where there is any.

        The compiler looks at a function's own file alone: what it took in from others would stay as it was.
        """
        if not stale:
            return self.cache
        changed = self.cache.with_name("compiled-changed")
        shutil.rmtree(changed, ignore_errors=True)
        if self.cache.exists():
            stems = {(Path(name).parent.name, Path(name).stem) for name in stale}

            def old(folder: str, names: list[str]) -> list[str]:
                parent = Path(folder).name.rsplit("_", 1)[0]
                return [name for name in names if (parent, name.split(".")[0]) in stems]

            shutil.copytree(self.cache, changed, ignore=old)
        return changed

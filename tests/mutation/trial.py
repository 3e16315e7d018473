"""Does any test fail when a line is changed? In a copy of the checkout, the tests that run the line, quick ones first."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

from tests.mutation.changes import Change
from tests.mutation.reach import Reach

LEFT_OUT = (".git", "__pycache__", ".hypothesis", ".pytest_cache", ".mypy_cache", ".ruff_cache", ".venv", "build")
ROUNDS = (0.7, 4, 20)  # seconds of tests in the first run, and in the next two; a fourth takes what the budget allows
COMPILING = 75  # seconds allowed for it
INTERPRETED = "2"  # seconds that a test may take where nothing is compiled


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
    """A throw-away copy of the checkout with its own compiled code, or with none: its loops are run by Python itself."""

    def __init__(self, checkout: Path, folder: Path, *, interpreted: bool = False) -> None:
        self.interpreted, self.root, self.cache = interpreted, folder / "checkout", folder / "compiled"
        _mirror(checkout, self.root)
        shared, link = checkout.parent / "shared", folder / "shared"
        if shared.exists() and not link.exists():
            link.symlink_to(shared.resolve())
        self.environment = os.environ | {
            "PYTHONPATH": str(self.root), "NUMBA_CACHE_DIR": str(self.cache), "OPENBLAS_NUM_THREADS": "1",
        }  # fmt: skip
        if interpreted:
            self.environment |= {"NUMBA_DISABLE_JIT": "1", "SITEPLAN_CORES": "1"}
        subprocess.run([sys.executable, "-m", "compileall", "-q", "siteplan", "tests"], cwd=self.root, check=True)
        self.forks: subprocess.Popen[str] | None = None

    def seen(self, out: Path, tests: list[str]) -> dict:
        """Return which tests run which lines, and how long they take; all of the unchanged tests must pass.

        Where nothing is compiled, those that do not pass, or take more than a few seconds, are left out.
        """
        for old in out.parent.glob(f"{out.name}.*"):
            old.unlink()
        options = ["-q", "-n", "2", "-p", "tests.mutation.lines", "-p", "no:cacheprovider", "--hypothesis-seed=0"]
        command = [sys.executable, "-m", "pytest", *options, "--no-header", "--tb=short", *tests]
        more = {"SITEPLAN_LINES": str(out)}
        if self.interpreted:
            more["SITEPLAN_TEST_SECONDS"] = INTERPRETED
        done = subprocess.run(
            command, cwd=self.root, env=self.environment | more, capture_output=True, text=True, check=False
        )
        allowed = {0, 1, 5} if self.interpreted else {0, 5}  # 5: none of them is in the quick suite
        if done.returncode not in allowed:
            raise SystemExit(f"the unchanged suite does not pass:\n{done.stdout[-3000:]}")
        return merged([json.loads(one.read_text()) for one in out.parent.glob(f"{out.name}.*")])

    def tried(self, change: Change, reach: Reach, *, budget: float) -> str:
        """Return which test caught a change, "time" where one hung, or "" where none did."""
        tests = reach.tests(change)
        path = self.root / change.file
        source, stamp = path.read_bytes(), path.stat()
        stale = reach.stale(change.file)
        cache = self._cache_without(stale) if stale else self.cache
        path.write_bytes(change.applied(source))
        try:
            for some, seconds in _rounds(tests, reach, budget):
                found = self.run(some, cache, limit=60 + 5 * seconds + COMPILING * bool(stale))
                if found:
                    return found
            return ""
        finally:
            path.write_bytes(source)
            os.utime(path, ns=(stamp.st_atime_ns, stamp.st_mtime_ns))
            if stale:
                shutil.rmtree(cache, ignore_errors=True)

    def run(self, tests: list[str], cache: Path, *, limit: float) -> str:
        """Return the first test that fails, or ""."""
        if self.forks is None or self.forks.poll() is not None:
            more = {"PYTHONDONTWRITEBYTECODE": "1"}
            self.forks = subprocess.Popen(
                [sys.executable, str(Path(__file__).with_name("forks.py"))], cwd=self.root, text=True,
                env=self.environment | more, stdin=subprocess.PIPE, stdout=subprocess.PIPE,
            )  # fmt: skip
        asked = {"tests": tests, "compiled": str(cache), "limit": limit}
        self.forks.stdin.write(json.dumps(asked) + "\n")
        self.forks.stdin.flush()
        found = json.loads(self.forks.stdout.readline())
        gone = [test for test in tests if not (self.root / test.split("::")[0]).exists()]
        if gone:
            raise RuntimeError(f"these tests are not there: {gone}")
        return found

    def _cache_without(self, stale: set[str]) -> Path:
        """Return a copy of the folder of compiled code without what a change makes wrong.

        The compiler looks at a function's own file alone: what it took in from others would stay as it was.
        """
        changed = self.cache.with_name("compiled-changed")
        shutil.rmtree(changed, ignore_errors=True)
        if self.cache.exists():
            stems = {(Path(name).parent.name, Path(name).stem) for name in stale}

            def old(folder: str, names: list[str]) -> list[str]:
                parent = Path(folder).name.rsplit("_", 1)[0]
                return [name for name in names if (parent, name.split(".")[0]) in stems]

            shutil.copytree(self.cache, changed, ignore=old, copy_function=os.link)
        return changed


def _rounds(tests: list[str], reach: Reach, budget: float) -> list[tuple[list[str], float]]:
    """Return the tests in up to four runs, each with its seconds, file by file; as many as the budget holds."""
    rounds: list[list[str]] = [[]]
    bounds, spent, here = [*ROUNDS, float("inf")], 0.0, 0.0
    for name in tests:
        share = reach.share(name)
        if spent and spent + share > budget:
            continue
        spent += share
        if rounds[-1] and here + share > bounds[len(rounds) - 1]:
            rounds.append([])
            here = 0.0
        here += share
        rounds[-1].append(name)
    return [(sorted(some, key=lambda name: name.split("::")[0]), reach.whole(some)) for some in rounds if some]


def merged(parts: list[dict]) -> dict:
    """Return what several processes saw, in one."""
    whole: dict = {"seconds": {}, "uses": {}, "lines": {}}
    for part in parts:
        for name, took in part["seconds"].items():
            whole["seconds"][name] = took
        whole["uses"] |= part["uses"]
        for file, rows in part["lines"].items():
            for line, who in rows.items():
                row = whole["lines"].setdefault(file, {}).setdefault(line, [])
                row += [one for one in who if one not in row]
    return whole

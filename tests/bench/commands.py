"""How long does each command take on the demo, beside an earlier release? `python -m tests.bench.commands`.

Each command runs in a process of its own: first ever (nothing compiled is kept), then warm. Both releases are copied
to a temporary folder, so that neither finds what the other, or an earlier run, has kept. Needs git and Linux.
"""

from __future__ import annotations

import argparse
import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

CHECKOUT = Path(__file__).parents[2]
RELEASE = "9c0d8f9"  # 0.1.0
COMMANDS = ("check", "sun", "place", "turn", "fill", "haul", "plan")
#: caches of a user's own would make a first run warm, or a warm one cold
SETTINGS = ("NUMBA_CACHE_DIR", "PYTHONDONTWRITEBYTECODE", "PYTHONPYCACHEPREFIX", "PYTHONPATH")
#: runs a command and says the file that ran and the most memory that the process held
CHILD = """
import sys, pathlib, siteplan.cli
code = siteplan.cli.main(sys.argv[1:])
held = next(line for line in pathlib.Path("/proc/self/status").open() if line.startswith("VmHWM"))
print(siteplan.cli.__file__, held.split()[1], file=sys.stderr)
sys.exit(code)
"""


@dataclass(frozen=True)
class Run:
    """What one run of a command took: seconds of the clock and of all processors, and the most memory held [MB]."""

    seconds: float
    worked: float
    peak: float


def options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.commands", description=__doc__)
    parser.add_argument("--against", default=RELEASE, metavar="COMMIT", help="default: release 0.1.0 (%(default)s)")
    parser.add_argument("--runs", type=int, default=2, help="warm runs of each command, of which the quickest counts")
    parser.add_argument(
        "--command", action="append", choices=COMMANDS, help="this one alone; may be given several times"
    )
    return parser.parse_args()


def run(code: Path, command: str) -> Run:
    """Run a command on a release's own demo, and make sure that it was this release."""
    settings = {name: value for name, value in os.environ.items() if name not in SETTINGS}
    words = [sys.executable, "-c", CHILD, command, "data/demo", "--quiet"]
    if command != "check":
        words += ["--out", str(code.parent / f"{code.name}-{command}")]
    begin, worked = time.perf_counter(), processor_seconds()
    done = subprocess.run(words, cwd=code, env=settings, capture_output=True, text=True)
    seconds, worked = time.perf_counter() - begin, processor_seconds() - worked
    if done.returncode:
        raise SystemExit(f"{command} failed in {code}:\n{done.stderr}")
    file, peak = done.stderr.splitlines()[-1].split()
    if not Path(file).is_relative_to(code):
        raise SystemExit(f"{command} ran {file}, not the code in {code}")
    return Run(seconds, worked, int(peak) / 1000)


def processor_seconds() -> float:
    """Return what all children that have ended have worked; a busy machine alters it less than the clock's time."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def measured(code: Path, command: str, runs: int) -> tuple[Run, Run]:
    """Return a first run with nothing kept, and the quickest of some warm runs."""
    for kept in list(code.rglob("__pycache__")):
        shutil.rmtree(kept)
    first = run(code, command)
    return first, min((run(code, command) for _ in range(runs)), key=lambda one: one.seconds)


def row(command: str, kind: str, old: Run, new: Run) -> str:
    """Return a line of the table: each figure of the old release, the new one's, and their ratio."""
    pairs = ((old.seconds, new.seconds, ".1f"), (old.worked, new.worked, ".1f"), (old.peak, new.peak, ".0f"))
    cells = (f"{before:{form}} | {now:{form}} | {now / before:.2f}" for before, now, form in pairs)
    return f"| {command}, {kind} | {' | '.join(cells)} |"


def main() -> int:
    asked = options()
    with tempfile.TemporaryDirectory(prefix="siteplan-bench-") as folder:
        new, old = Path(folder).resolve() / "new", Path(folder).resolve() / "old"
        for part in ("siteplan", "data"):
            shutil.copytree(CHECKOUT / part, new / part, ignore=shutil.ignore_patterns("__pycache__"))
        git = ["git", "-C", str(CHECKOUT), "worktree"]
        subprocess.run([*git, "add", "--quiet", "--detach", str(old), asked.against], check=True)
        try:
            print(f"{asked.against} (before) against this checkout (now)\n")
            print("| command | s before | now | ratio | processor s | now | ratio | MB | now | ratio |")
            print("|---" * 10 + "|", flush=True)
            for command in asked.command or COMMANDS:
                before, now = (measured(code, command, asked.runs) for code in (old, new))
                print(row(command, "first", before[0], now[0]))
                print(row(command, "warm", before[1], now[1]), flush=True)
        finally:
            subprocess.run([*git, "remove", "--force", str(old)], check=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())

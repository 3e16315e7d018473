"""Does anything that is fed to siteplan go wrong? `python -m tests.attack --seed 1 --count 3000 [--workers 2]`.

Damages sound sites at random, asks each of `check` and of one command more, and prints what became of them: how many
were answered and refused, what was found, the slowest, the largest memory. Exit 1 where anything was found.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import select
import subprocess
import sys
import tempfile
import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

HANG = 30.0  # s of processor time, so that a busy machine finds nothing wrong
WAITED = 300.0  # s without an answer, whoever is at work
MOST = 2e9  # bytes
STARTING = 300.0  # s; the first of a worker compiles

Row = dict[str, Any]


def options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.attack", description=__doc__)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--count", type=int, default=3000, help="how many damaged sites")
    parser.add_argument("--first", type=int, default=0, help="number of the first")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--minutes", type=float, default=1e9, help="begin no more of them after this long")
    parser.add_argument("--keep", type=Path, help="write the sites in which something was found to this folder")
    parser.add_argument("--worker", action="store_true", help=argparse.SUPPRESS)
    return parser.parse_args()


def work(seed: int) -> None:
    """Try the cases whose numbers come in, a line each, and print what became of them as JSON."""
    from .cases import case, tried

    resource.setrlimit(resource.RLIMIT_AS, (int(8e9), int(8e9)))  # the machine is not to go down with it
    answers = os.fdopen(os.dup(1), "w")
    with tempfile.TemporaryDirectory() as folder:
        loud = Path(folder) / "loud.txt"
        noise = os.open(loud, os.O_CREAT | os.O_RDWR | os.O_APPEND)
        os.dup2(noise, 1)  # what C libraries print past Python is a leak as well
        os.dup2(noise, 2)
        for line in sys.stdin:
            number = int(line)
            Path("/proc/self/clear_refs").write_text("5")  # the peak of memory starts anew
            os.truncate(loud, 0)
            begun = time.process_time()
            one = case(seed, number)
            rows = [
                {"command": command, "kind": verdict.kind, "wrong": verdict.wrong, "said": verdict.said}
                for command, verdict in tried(one, Path(folder) / str(number), ask=True)
            ]
            if spoken := loud.read_text(errors="replace"):
                rows.append(
                    {"command": "any", "kind": "found", "wrong": "printed past Python", "said": spoken[:2000]}
                )
            row = {"number": number, "site": one.site, "done": one.done, "rows": rows, "memory": peak()}
            row["seconds"] = time.process_time() - begun
            print(json.dumps(row), file=answers, flush=True)


def peak() -> int:
    """Return the most memory that this process held since it was last asked to forget. [bytes]"""
    status = Path("/proc/self/status").read_text()
    return 1024 * int(next(line.split()[1] for line in status.splitlines() if line.startswith("VmHWM")))


def worked(process: int) -> float:
    """Return how long a process has been at work. [s]"""
    try:
        fields = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return 0.0
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


class Worker:
    """A process that tries cases, started anew when it has hung or died."""

    def __init__(self, seed: int) -> None:
        self.words = [sys.executable, "-m", "tests.attack", "--worker", "--seed", str(seed)]
        self.process: subprocess.Popen[str] | None = None

    def ask(self, number: int) -> Row:
        fresh = self.process is None
        if self.process is None:
            self.process = subprocess.Popen(self.words, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        print(number, file=self.process.stdin, flush=True)
        used, begun, start = worked(self.process.pid), time.monotonic(), STARTING if fresh else 0
        while worked(self.process.pid) - used < HANG + start and time.monotonic() - begun < WAITED + start:
            if select.select([self.process.stdout], [], [], 1.0)[0]:
                line = self.process.stdout.readline()
                if line:
                    return json.loads(line)
                self.process.wait(60)  # it said nothing and closed its end: it is dying
                break
        hung = self.process.poll() is None
        self.end()
        what = f"hung for {HANG:g} s" if hung else "the process died"
        return {"number": number, "rows": [{"command": "any", "kind": "found", "wrong": what, "said": ""}]}

    def end(self) -> None:
        if self.process is not None:
            self.process.kill()
            self.process.wait()
            self.process.stdin.close()
            self.process.stdout.close()
            self.process = None


def share(seed: int, numbers: list[int], end: float) -> list[Row]:
    worker = Worker(seed)
    rows: list[Row] = []
    for count, number in enumerate(numbers):
        if time.monotonic() > end:
            break
        rows.append(worker.ask(number))
        for found in rows[-1]["rows"]:
            if found["kind"] == "found":
                print(f"{number} {rows[-1].get('site')} {found['command']} {rows[-1].get('done')}: {found['wrong']}")
                print(f"    {found['said']}".replace("\n", "\n    "), flush=True)
        if count % 400 == 399:
            worker.end()  # a fresh one, so that nothing is carried along for ever
    worker.end()
    return rows


def say(rows: list[Row]) -> int:
    """Print the counts; return how many cases were found wrong."""
    ends = Counter((one["command"], one["kind"]) for row in rows for one in row["rows"])
    faulty = [
        row for row in rows if any(one["kind"] == "found" for one in row["rows"]) or row.get("memory", 0) > MOST
    ]
    print(f"{len(rows)} damaged sites tried")
    for (command, kind), count in sorted(ends.items()):
        print(f"  {command:6} {kind:9} {count:5}")
    # a worker's first case waits for imports and the compiler
    timed = sorted((row for row in rows if "seconds" in row), key=lambda row: -row["seconds"])
    print(
        "slowest, in processor time: "
        + ", ".join(f"{row['seconds']:.1f} s (case {row['number']})" for row in timed[:5])
    )
    print(f"largest memory: {max(row['memory'] for row in timed) / 1e9:.2f} GB")
    print(f"found wrong: {len(faulty)}")
    return len(faulty)


def main() -> int:
    asked = options()
    if asked.worker:
        work(asked.seed)
        return 0
    end = time.monotonic() + 60 * asked.minutes
    numbers = list(range(asked.first, asked.first + asked.count))
    with ThreadPoolExecutor(asked.workers) as pool:
        parts = pool.map(
            lambda part: share(asked.seed, part, end), [numbers[k :: asked.workers] for k in range(asked.workers)]
        )
        rows = [row for part in parts for row in part]
    if asked.keep:
        from .cases import case
        from .oracle import write

        for row in rows:
            if any(one["kind"] == "found" for one in row["rows"]):
                write(asked.keep / str(row["number"]), case(asked.seed, row["number"]).files)
    return 1 if say(rows) else 0


if __name__ == "__main__":
    sys.exit(main())

"""Would the tests notice a wrong line? `python -m tests.mutation --seed 1 --count 200 [--folder sun] [--workers 2]`.

Makes small random changes in a throw-away copy of the checkout, one at a time, and runs the tests that run the changed
line, as the quick suite was seen to do before. A change to a module with compiled loops is first tried with nothing
compiled, by the tests that are small enough for that: compiling takes a minute or two for each change. What was tried
is kept in the state's folder, so that a trial that was stopped goes on where it was.
"""

from __future__ import annotations

import argparse
import json
import math
import random
import re
import shutil
import tempfile
import time
import tomllib
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor, as_completed
from pathlib import Path

from tests.mutation.changes import Change, changes_of
from tests.mutation.reach import Reach
from tests.mutation.trial import Copy, merged

CHECKOUT = Path(__file__).parents[2]
JUDGED = Path(__file__).parent / "judged.toml"
#: of a change that was judged: the function that it is in, the change, and its number among equal ones there, from 0
WORDS = re.compile(r"([\w.]+): (.+?)(?: #(\d+))?")
SEEN, SEEN_INTERPRETED = "seen.json", "seen-interpreted.json"
#: the parts of the tests that run compiled loops small enough for Python itself
WITH_LOOPS = {"siteplan", "sun", "place", "haul", "published"}


def options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.mutation", description=__doc__)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--count", type=int, default=50, help="how many changes to draw")
    parser.add_argument("--folder", action="append", help="of siteplan: sun, place ...; may be given several times")
    parser.add_argument("--at", action="append", metavar="FILE:LINE", help="try all changes of a line, draw none")
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--budget", type=float, default=90, help="seconds of tests, unchanged, for each change")
    parser.add_argument("--minutes", type=float, default=1e9, help="begin no more changes after this long")
    parser.add_argument("--state", type=Path, default=Path(tempfile.gettempdir()) / "siteplan-mutation")
    parser.add_argument("--fresh", action="store_true", help="forget the state: copy the checkout and trace it anew")
    parser.add_argument(
        "--trace", action="append", metavar="TEST_FILE", help="trace this changed test file anew first"
    )
    parser.add_argument("--again", action="store_true", help="try those once more that survived before")
    parser.add_argument("--list", action="store_true", help="only list the changes")
    return parser.parse_args()


def drawn(asked: argparse.Namespace) -> list[Change]:
    """Return the changes to try, in the order in which they are drawn."""
    files = sorted(CHECKOUT.joinpath("siteplan").rglob("*.py"))
    if asked.at:
        places = {(name, int(line)) for name, _, line in (one.rpartition(":") for one in asked.at)}
        every = [change for path in files for change in changes_of(path, CHECKOUT)]
        return [one for one in every if any(one.file.endswith(name) and one.line == line for name, line in places)]
    if asked.folder:
        files = [path for path in files if path.relative_to(CHECKOUT).parts[1].removesuffix(".py") in asked.folder]
    every = [change for path in files for change in changes_of(path, CHECKOUT)]
    return random.Random(asked.seed).sample(every, min(asked.count, len(every)))  # noqa: S311


def judged() -> dict[tuple[str, str, str, int], str]:
    """Return what a reader has found to change nothing that matters, with the reason."""
    found = {}
    for file, reasons in tomllib.loads(JUDGED.read_text(encoding="utf-8")).items():
        for words, reason in reasons.items():
            function, change, nth = WORDS.fullmatch(words).groups()
            found[file, function if function != "module" else "", change, int(nth or 0)] = reason
    return found


def worked(number: int, state: Path, changes: list[Change], budget: float, end: float) -> int:
    """Try one worker's share; each result is a line in the worker's own file."""
    copy = Copy(CHECKOUT, state / f"copy-{number}")
    reach = Reach(copy.root, json.loads((state / SEEN).read_text()))
    plain = Copy(CHECKOUT, state / f"interpreted-{number}", interpreted=True)
    plain_reach = Reach(plain.root, json.loads((state / SEEN_INTERPRETED).read_text()), interpreted=True)
    with (state / f"tried-{number}.jsonl").open("a", encoding="utf-8") as file:
        for done, change in enumerate(changes):
            if time.monotonic() > end:
                return done
            began = time.monotonic()
            by = plain.tried(change, plain_reach, budget=budget) if reach.stale(change.file) else ""
            by = by or copy.tried(change, reach, budget=budget)
            took = round(time.monotonic() - began, 1)
            file.write(json.dumps({"key": change.key, "by": by, "seconds": took}) + "\n")
            file.flush()
            print(
                f"{'caught' if by else 'SURVIVED'} {took:5.1f} s  {change.file}:{change.line} {change.text}  {by}",
                flush=True,
            )
    return len(changes)


def results(state: Path) -> dict[tuple[str, str, str, int], str]:
    """Return which test caught each change that was tried so far; "" where none did."""
    found = {}
    for path in sorted(state.glob("tried-*.jsonl")):
        for line in path.read_text(encoding="utf-8").splitlines():
            row = json.loads(line)
            found[tuple(row["key"])] = row["by"]
    return found


def report(changes: list[Change], tried: dict[tuple[str, str, str, int], str]) -> None:
    known = judged()
    done = [one for one in changes if one.key in tried]
    lived = [one for one in done if not tried[one.key]]
    for one in lived:
        if one.key in known:
            print(f"\njudged   {one.file}:{one.line} in {one.function}\n    {one.text}\n    {known[one.key]}")
    there = {one.key for name in {key[0] for key in known} for one in _all_of(CHECKOUT / name)}
    for key in sorted(known.keys() - there):
        print(f"\nno longer there, take it out of judged.toml: {key}")
    open_ones = [one for one in lived if one.key not in known]
    for one in open_ones:
        line = (CHECKOUT / one.file).read_text(encoding="utf-8").splitlines()[one.line - 1].strip()
        print(f"\nSURVIVED {one.file}:{one.line} in {one.function}\n    {one.text}\n    {line}")
    caught, matter = len(done) - len(lived), len(done) - len(lived) + len(open_ones)
    low, high = wilson(caught, matter)
    share = f", {caught / matter:.1%} of those that matter ({low:.1%} to {high:.1%})" if matter else ""
    print(f"\n{len(done)} of {len(changes)} tried: {caught} caught, {len(open_ones)} survived, "
          f"{len(lived) - len(open_ones)} judged not to matter{share}")  # fmt: skip


def _all_of(path: Path) -> list[Change]:
    return changes_of(path, CHECKOUT) if path.is_file() else []


def wilson(found: int, tried: int) -> tuple[float, float]:
    """Return the 95 % interval of a share (Wilson, JASA 22, 1927)."""
    z = 1.96
    middle, half = found + z**2 / 2, z * math.sqrt(found * (tried - found) / max(tried, 1) + z**2 / 4)
    return (middle - half) / (tried + z**2), (middle + half) / (tried + z**2)


def traced(state: Path, again: list[str]) -> None:
    """Keep in files which tests run which lines, with compiled loops and without.

    A part is a folder of tests or one of the files beside them; `again` are files to trace anew.
    """
    every = parts_of(CHECKOUT)
    _traced(state / SEEN, every, again, lambda: Copy(CHECKOUT, state / "copy-0"))
    loops = [one for one in every if one.removeprefix("tests/") in WITH_LOOPS]
    again = [one for one in again if any(one.startswith(f"{part}/") for part in loops)]
    _traced(state / SEEN_INTERPRETED, loops, again, lambda: Copy(CHECKOUT, state / "interpreted-0", interpreted=True))


def _traced(file: Path, parts: list[str], again: list[str], make_copy: Callable[[], Copy]) -> None:
    """Trace part by part, so that a trace that was stopped goes on; a copy is made only if a part is missing."""
    seen = json.loads(file.read_text()) if file.exists() else {}
    done = seen.get("traced", [])
    missing = [*(one for one in parts if one not in done), *again]
    if not missing:
        return
    copy = make_copy()
    for part in missing:
        began = time.monotonic()
        fresh = copy.seen(file.with_suffix(".lines"), [part])
        done.append(part)
        seen = merged([seen, fresh] if seen else [fresh]) | {"traced": done}
        partly = file.with_suffix(".part")
        partly.write_text(json.dumps(seen))
        partly.replace(file)
        print(f"traced   {time.monotonic() - began:5.0f} s  {part}", flush=True)


def parts_of(checkout: Path) -> list[str]:
    """Return the folders of tests and the files beside them, and the package for its docstrings."""
    tests = checkout / "tests"
    found = {path.parent for path in tests.glob("*/test_*.py")} | set(tests.glob("test_*.py"))
    return ["siteplan", *sorted(one.relative_to(checkout).as_posix() for one in found)]


def main() -> None:
    asked = options()
    changes = drawn(asked)
    if asked.list:
        for one in changes:
            print(f"{one.file}:{one.line} in {one.function or 'the module'}: {one.text}")
        return
    if asked.fresh:
        shutil.rmtree(asked.state, ignore_errors=True)
    asked.state.mkdir(parents=True, exist_ok=True)
    traced(asked.state, asked.trace or [])
    tried = results(asked.state)
    known = judged()
    waiting = [
        one for one in changes
        if one.key not in tried or (asked.again and not tried[one.key] and one.key not in known)
    ]  # fmt: skip
    end = time.monotonic() + 60 * asked.minutes
    with ProcessPoolExecutor(asked.workers) as pool:
        shares = [waiting[k :: asked.workers] for k in range(asked.workers)]
        given = [pool.submit(worked, k, asked.state, share, asked.budget, end) for k, share in enumerate(shares)]
        for one in as_completed(given):
            one.result()
    report(changes, results(asked.state))


if __name__ == "__main__":
    main()

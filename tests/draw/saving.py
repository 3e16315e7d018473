"""Saves one step after another, as fast as it can, until it is killed: a program for test_history.py.

For each number that it is told it forks a process that saves from this step on, which tells its own number and then
each step that is saved; once that process has ended, the program says so. So Python starts once for many kills.
"""

from __future__ import annotations

import os
import sys

from siteplan.draw.property_files import PropertyFiles


def both(files: PropertyFiles, number: int) -> dict[str, bytes | None]:
    """Return the two files of a step; the number stands in both, and a variant comes and goes."""
    state = files.now()
    settings = state.files["site.toml"].split(b"\n# step ")[0] + b"\n# step %d\n" % number
    features = state.files["features.geojson"].split(b"\n\n")[0] + b"\n\n%s\n" % (b" " * number)
    variant = b'{"removed": ["step %d"]}' % number if number % 2 else None
    return {"site.toml": settings, "features.geojson": features, "variants/a.json": variant}


def tell(words: object) -> None:
    sys.stdout.write(f"{words}\n")
    sys.stdout.flush()


def save(folder: str, first: int) -> None:
    """Save until this process is killed."""
    tell(os.getpid())
    opened = PropertyFiles(folder)
    for step in range(first, 100_000):
        opened.write(opened.now().version, both(opened, step), f"step {step}")
        tell(step)


if __name__ == "__main__":
    for line in sys.stdin:
        child = os.fork()
        if child == 0:
            save(sys.argv[1], int(line))
        os.waitpid(child, 0)
        tell("ended")

"""Saves one step after another, as fast as it can, until it is killed: a program for test_history.py."""

from __future__ import annotations

import sys

from siteplan.draw.property_files import PropertyFiles


def both(files: PropertyFiles, number: int) -> dict[str, bytes | None]:
    """Return the two files of a step; the number stands in both, and a variant comes and goes."""
    state = files.now()
    settings = state.files["site.toml"].split(b"\n# step ")[0] + b"\n# step %d\n" % number
    features = state.files["features.geojson"].split(b"\n\n")[0] + b"\n\n%s\n" % (b" " * number)
    variant = b'{"removed": ["step %d"]}' % number if number % 2 else None
    return {"site.toml": settings, "features.geojson": features, "variants/a.json": variant}


if __name__ == "__main__":
    opened = PropertyFiles(sys.argv[1])
    for step in range(int(sys.argv[2]), 100_000):
        opened.write(opened.now().version, both(opened, step), f"step {step}")
        sys.stdout.write(f"{step}\n")
        sys.stdout.flush()

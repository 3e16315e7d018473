"""The page's modules, run by node: without a page, without a server."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest

PAGE = Path(str(files("siteplan.draw") / "page"))
CHECKS = Path(__file__).parents[1] / "page"


def node(*words: str, folder: Path = CHECKS, given: str | None = None) -> subprocess.CompletedProcess[str]:
    """Run a program of node; skip where it is not there, but never in CI."""
    program = shutil.which(words[0]) or str(CHECKS / "node_modules" / ".bin" / words[0])
    if not Path(program).exists():
        if os.environ.get("CI") == "true":
            pytest.fail(f"CI runs without {words[0]}: run npm ci in tests/page")
        pytest.skip(f"{words[0]} is not installed")
    return subprocess.run([program, *words[1:]], cwd=folder, capture_output=True, text=True, check=False, input=given)


def told(imports: dict[str, str], lines: str, given: Any = None) -> Any:
    """Return what lines of script `return`; they have the imported names, and `given`, at hand.

    Parameters
    ----------
    imports : dict
        What is imported, by module: ``{"units": "METRES, lengthText"}``.
    """
    head = "\n".join(
        f'import {{ {names} }} from "{(PAGE / module).as_uri()}.js";' for module, names in imports.items()
    )
    script = (
        f'{head}\nimport {{ readFileSync }} from "node:fs";\nconst given = JSON.parse(readFileSync(0, "utf8"));\n'
    )
    script += f"const found = (() => {{ {lines} }})();\nprocess.stdout.write(JSON.stringify(found ?? null));\n"
    found = node("node", "--input-type=module", "--eval", script, given=json.dumps(given))
    assert found.returncode == 0, found.stderr
    return json.loads(found.stdout)

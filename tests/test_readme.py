"""What the README shows is what happens."""

from __future__ import annotations

import json
import re
import shutil
import textwrap
import tomllib
from pathlib import Path

import pytest

from siteplan.cli import main
from siteplan.files.demo import write_demo
from siteplan.files.reader import read_site
from siteplan.files.remarks import Remarks
from siteplan.files.variants import variant_of

CHECKOUT = Path(__file__).parents[1]
README = (CHECKOUT / "README.md").read_text(encoding="utf-8")


def blocks() -> list[str]:
    """Return the README's indented blocks."""
    found = re.findall(r"(?:^    .*\n|^\n(?=    ))+", README, flags=re.MULTILINE)
    return [textwrap.dedent(block).strip("\n") for block in found]


def test_the_terminal_session_is_a_real_one(tmp_path, monkeypatch, capsys):
    (session,) = [block for block in blocks() if block.startswith("$ siteplan")]
    command, shown = session.split("\n", 1)
    shutil.copytree(CHECKOUT / "data" / "demo", tmp_path / "demo-yard")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    assert main(command.removeprefix("$ siteplan ").split()) == 0
    said = [line.rstrip() for line in capsys.readouterr().out.strip().splitlines()]
    assert said == [line.rstrip() for line in shown.strip().splitlines()]


@pytest.mark.slow
def test_the_library_example_runs(tmp_path, monkeypatch):
    (example,) = [block for block in blocks() if block.startswith("import siteplan")]
    yard = write_demo(tmp_path / "yard")
    settings = (yard / "site.toml").read_text(encoding="utf-8")
    coarse = settings.replace('cell = "25 cm"', 'cell = "1 m"').replace('step = "10 min"', 'step = "60 min"')
    (yard / "site.toml").write_text(coarse, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    names: dict[str, object] = {}
    example = example.replace(
        "siteplan.demo_site()", 'siteplan.read_site("yard")'
    )  # the demo in large cells: quicker
    exec(compile(example, "README.md", "exec"), names)  # noqa: S102  # our own README
    assert (tmp_path / "plan" / "map.html").stat().st_size > 100_000


def test_the_variant_is_one_of_the_demo(tmp_path):
    (example,) = [block for block in blocks() if block.startswith("{")]
    folder = write_demo(tmp_path / "demo-yard")
    (folder / "variants").mkdir()
    (folder / "variants" / "without the maple.json").write_text(example, encoding="utf-8")
    whole, varied = read_site(folder), read_site(folder, variant="without the maple")
    assert {one.id for one in whole.features()} ^ {one.id for one in varied.features()} == {"maple", "water-butt"}
    assert (varied.sun.need, varied.bed("new-bed").trellis_height) == (5, None)
    remarks = Remarks()
    variant = variant_of("without the maple", example, remarks)
    assert variant is not None
    assert json.loads(variant.text()) == json.loads(example)  # as the page would write it, line by line
    assert variant.text().strip() == example


def test_the_two_commands_install_what_the_project_declares():
    project = tomllib.loads((CHECKOUT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    commands = [block for block in blocks() if ".venv/bin/" in block]
    assert len(commands) == 2
    assert commands[0].endswith("siteplan demo")
    extras = re.findall(r"\.\[([a-z,]+)\]", commands[1])
    assert extras
    assert all(extra in project["optional-dependencies"] for extra in extras[0].split(","))


@pytest.mark.parametrize("target", re.findall(r"\]\(([^)#]+)\)", README))
def test_a_link_leads_somewhere(target):
    assert target.startswith("http") or (CHECKOUT / target).exists()

"""Every notebook runs from top to bottom, asks one question, and is kept without outputs."""

from __future__ import annotations

from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient

NOTEBOOKS = sorted((Path(__file__).parents[1] / "notebooks").glob("*.ipynb"))


def by_name(path):
    return path.name


def test_there_are_notebooks():
    assert [path.name[:3] for path in NOTEBOOKS] == [f"{number + 1:02d}_" for number in range(len(NOTEBOOKS))]
    assert len(NOTEBOOKS) >= 2


@pytest.mark.parametrize("path", NOTEBOOKS, ids=by_name)
def test_a_notebook_is_short_and_kept_without_outputs(path):
    notebook = nbformat.read(path, as_version=4)
    code = [cell for cell in notebook.cells if cell.cell_type == "code"]
    assert sum(len(cell.source.splitlines()) for cell in code) < 40
    assert not any(cell.outputs or cell.execution_count for cell in code)


@pytest.mark.slow
@pytest.mark.filterwarnings("default")  # the kernel client warns about its own event loop
@pytest.mark.parametrize("path", NOTEBOOKS, ids=by_name)
def test_a_notebook_runs(path, tmp_path):
    notebook = nbformat.read(path, as_version=4)
    NotebookClient(notebook, timeout=300, resources={"metadata": {"path": str(tmp_path)}}).execute()
    shown = [output for cell in notebook.cells if cell.cell_type == "code" for output in cell.outputs]
    assert any("text/html" in output.get("data", {}) for output in shown)

"""Every notebook runs from top to bottom, asks one question, and is kept without outputs."""

from __future__ import annotations

import ast
import json
from pathlib import Path

import nbformat
import pytest
from jupyter_client.manager import KernelManager
from nbclient import NotebookClient

import siteplan

NOTEBOOKS = sorted((Path(__file__).parents[1] / "notebooks").glob("*.ipynb"))


def by_name(path):
    return path.name


def test_there_are_notebooks():
    assert [path.name[:3] for path in NOTEBOOKS] == [f"{number + 1:02d}_" for number in range(len(NOTEBOOKS))]
    assert len(NOTEBOOKS) >= 7


@pytest.mark.parametrize("path", NOTEBOOKS, ids=by_name)
def test_a_notebook_is_short_and_kept_without_outputs(path):
    notebook = nbformat.read(path, as_version=4)
    code = [cell for cell in notebook.cells if cell.cell_type == "code"]
    assert sum(len(cell.source.splitlines()) for cell in code) < 40
    assert not any(cell.outputs or cell.execution_count for cell in code)


@pytest.mark.parametrize("path", NOTEBOOKS, ids=by_name)
def test_a_notebook_uses_public_names_alone(path):
    notebook = nbformat.read(path, as_version=4)
    tree = ast.parse("\n".join(cell.source for cell in notebook.cells if cell.cell_type == "code"))
    for node in ast.walk(tree):
        if isinstance(node, ast.Import | ast.ImportFrom):
            names = [node.module or ""] if isinstance(node, ast.ImportFrom) else [one.name for one in node.names]
            assert not any(name.startswith("siteplan.") for name in names)
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            assert node.value.id != "siteplan" or node.attr in siteplan.__all__
            assert not node.attr.startswith("_")


@pytest.fixture(scope="module")
def kernel():
    """Return a process for one notebook after the other, so that the libraries are loaded once."""
    manager = KernelManager(kernel_name="python3")
    manager.start_kernel()
    yield manager
    manager.shutdown_kernel(now=True)


#: the demo in large cells and steps of an hour: quicker
COARSE = """
import dataclasses, siteplan
fine = siteplan.demo_site
def coarse():
    site = fine()
    return dataclasses.replace(site, sun=dataclasses.replace(site.sun, cell=1.0, step=1.0))
if fine.__name__ != "coarse":
    siteplan.demo_site = coarse
"""


def run(path, folder, kernel, *, cells=None):
    """Return a notebook, run from top to bottom in a folder, or its first cells; of earlier ones no name is left."""
    notebook = nbformat.read(path, as_version=4)
    notebook.cells = notebook.cells[:cells]
    first = f"%reset -f\n%cd -q {folder}\nexec({COARSE!r}, {{}})"
    notebook.cells.insert(0, nbformat.v4.new_code_cell(first))
    client = NotebookClient(notebook, timeout=300, km=kernel)
    client.execute()
    client.kc.stop_channels()
    del notebook.cells[0]
    return notebook


@pytest.mark.slow
@pytest.mark.filterwarnings("default")  # the kernel client warns about its own event loop
@pytest.mark.parametrize("path", [path for path in NOTEBOOKS if "how_good" not in path.name], ids=by_name)
def test_a_notebook_runs(path, tmp_path, kernel):
    notebook = run(path, tmp_path, kernel)
    shown = [output for cell in notebook.cells if cell.cell_type == "code" for output in cell.outputs]
    assert any("text/html" in output.get("data", {}) for output in shown)
    assert not any(output.get("name") == "stderr" for output in shown)


@pytest.mark.slow
@pytest.mark.filterwarnings("default")
def test_the_survey_of_delft_is_asked_where_it_lies_beside_the_checkout(shared, tmp_path, kernel):
    (path,) = [path for path in NOTEBOOKS if path.name.endswith("stands_around.ipynb")]
    folder = tmp_path / "checkout" / "notebooks"
    folder.mkdir(parents=True)
    (tmp_path / "shared").symlink_to(shared.parent)
    shown = [
        output["data"]["text/html"]
        for cell in run(path, folder, kernel, cells=-1).cells if cell.cell_type == "code"
        for output in cell.outputs if "text/html" in output.get("data", {})
    ]  # fmt: skip
    assert len(shown) == 2  # table and picture; the last cell, its map, is run over the simulated survey
    assert "points." in shown[0]
    assert shown[1].count("<p") > 100  # lines around what was found


#: what the notebooks say that each figure is off at most
STATED = {
    "sun": {
        "azimuth": 0.0001, "elevation": 0.004,  # degrees: five decimals are printed; sea level's air, not Colorado's
        **{f"day lengths at {latitude}": 1.0 for latitude in (25, 40, 50, 60, -35)},  # minutes: whole ones are printed
    },
    "shade": {
        **{f"edge of the shadow at {latitude} north": 0.05 for latitude in (25, 40, 50)},  # m: one cell of the map
        **{f"sky seen at {latitude} north": 0.0001 for latitude in (25, 40, 50)},
    },
    "work": {
        "volumes": 0.01, "layers by volume": 0.0001, "layers by weight": 0.1,  # as many decimals are printed
        "bags": 0, "loose beats bags": 0, "trips": 0,  # counted
    },
    "trees": {
        **{
            f"{figure}, {state}": stated
            for state in ("in leaf", "leafless")
            for figure, stated in {
                "middle of the shadow": 0.02,  # defaults of several sources, not of the one
                "mean of the shadow": 0.02,  # slices in place of a sphere, cells of 0.3 m
                "beam and sky lost": 0.0,  # within the range that was measured
            }.items()
        },
        "one wood in 3 and 9 pieces": 0.005,  # hours a day: the look-up's cells at the crowns' edges
        **{f"thrown back in a street, walls of {high} m": 0.01 for high in (3, 6)},  # one bounce of all
    },
}  # fmt: skip


def deviations(path, folder, tmp_path, kernel):
    """Return how far off each figure of a notebook is, and what the notebook says, by the figure's name."""
    notebook = nbformat.read(path, as_version=4)
    told = tmp_path / "table.json"
    tell = f"__import__('pathlib').Path({str(told)!r}).write_text(table.to_json(orient='records'))"
    notebook.cells.append(nbformat.v4.new_code_cell(tell))
    copy = tmp_path / path.name
    nbformat.write(notebook, copy)
    run(copy, folder, kernel)
    rows = json.loads(told.read_text())
    return {row["figure"]: (row["deviation"], row["stated"]) for row in rows}


@pytest.mark.slow
@pytest.mark.filterwarnings("default")
@pytest.mark.parametrize("topic", STATED)
def test_no_figure_is_farther_off_than_is_stated(topic, tmp_path, kernel):
    (path,) = [path for path in NOTEBOOKS if path.stem.endswith(f"_{topic}") and "how_good" in path.name]
    found = deviations(path, tmp_path, tmp_path, kernel)  # where no open data lies beside it
    assert {figure: stated for figure, (_, stated) in found.items()} == STATED[topic]
    for figure, (off, stated) in found.items():
        assert off <= stated + 1e-9, figure


@pytest.mark.slow
@pytest.mark.filterwarnings("default")
def test_the_almanac_is_met_where_it_lies_beside_the_checkout(shared, tmp_path, kernel):
    (path,) = [path for path in NOTEBOOKS if path.name.endswith("of_the_sun.ipynb")]
    found = deviations(path, path.parent, tmp_path, kernel)
    towns = {figure: values for figure, values in found.items() if figure.startswith("almanac, ")}
    assert len(towns) == 14
    assert all(off <= stated == 0.003 for off, stated in towns.values())  # degrees

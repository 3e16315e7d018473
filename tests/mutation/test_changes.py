"""The command that changes lines: what it changes, what it leaves alone, and which tests it takes."""

from __future__ import annotations

import ast

import pytest

from .__main__ import CHECKOUT, judged, wilson
from .changes import changes_of
from .reach import Reach

SNIPPET = '''\
"""Not -1 and not this."""
from __future__ import annotations
Floats = NDArray[1]
FAR = 2.5


def first(a: Literal[3], b: int = 0) -> int:
    """Return 1 < 2."""
    if not a <= b:
        raise ValueError(f"{a - 1} is wrong" + str(1))
    return max(a, b) - (
        1
    )


class Kind:
    def __call__(self) -> list[int]:
        return [k for k, _ in zip(range(3), self, strict=True) if k and self]
'''


def told(tmp_path, source):
    path = tmp_path / "snippet.py"
    path.write_text(source, encoding="utf-8")
    found = changes_of(path, tmp_path)
    for change in found:  # each can be read, and differs
        tree = ast.parse(change.applied(source.encode()))
        assert ast.dump(tree) != ast.dump(ast.parse(source))
    return [(change.function, change.text) for change in found]


def test_what_is_changed_in_a_snippet(tmp_path):
    assert set(told(tmp_path, SNIPPET)) == {
        ("", "2.5 -> 3.5"), ("", "2.5 -> (-2.5)"), ("", "2.5 -> 2.75"),
        ("first", "0 -> 1"),
        ("first", "not a <= b -> a <= b"), ("first", "a <= b -> a < b"), ("first", "a <= b -> a > b"),
        ("first", "return max(a, b) - ( 1 ) -> return None"), ("first", "max -> min"),
        ("first", "max(a, b) - ( 1 -> max(a, b) + ( 1"), ("first", "1 -> 2"), ("first", "1 -> (-1)"),
        ("Kind.__call__", "return [k for k, _ in zip(range(3), self, strict=True) if k and self] -> return None"),
        ("Kind.__call__", "range(3) -> range(3 - 1)"), ("Kind.__call__", "3 -> 4"), ("Kind.__call__", "3 -> (-3)"),
        ("Kind.__call__", "k and self -> k or self"),
    } - {("first", "max(a, b) - ( 1 -> max(a, b) + ( 1")} | {("first", "max(a, b) - ( 1 ) -> max(a, b) + ( 1 )")}  # fmt: skip


def test_equal_changes_of_a_function_are_counted(tmp_path):
    path = tmp_path / "snippet.py"
    path.write_text("def f(a):\n    return a + 1, a + 1\n", encoding="utf-8")
    alike = [one for one in changes_of(path, tmp_path) if one.text == "1 -> 2"]
    assert [one.nth for one in alike] == [0, 1]


KERNEL = """\
from siteplan.compiled import compiled
LIMIT = 2
HALF = LIMIT / 2

@compiled
def inner(x):
    return x + HALF

def outer(x):
    y = inner(x)
    return -y

def other(x, y=3):
    return x

async def served(x):
    if x > 4:
        return None
    return x

async def server(x):
    return await served(x + 5)

def started(x):
    return server(x)
"""


@pytest.fixture
def reach(tmp_path):
    """Return a checkout of one module and two test files, seen from the outer function inwards."""
    for folder in ("siteplan/sun", "tests/sun"):
        (tmp_path / folder).mkdir(parents=True)
    (tmp_path / "siteplan/compiled.py").write_text("")
    (tmp_path / "siteplan/sun/kernel.py").write_text(KERNEL)
    for name in ("test_kernel", "test_far"):
        (tmp_path / f"tests/sun/{name}.py").write_text("from siteplan.sun.kernel import outer\n")
    near, far, third = "tests/sun/test_kernel.py::near", "tests/sun/test_far.py::far", "tests/sun/test_far.py::third"
    seen = {
        "seconds": {near: 1.0, far: 1.0, third: 0.5, "fixture tests made": 1.0},
        "uses": {near: [], far: [], third: ["fixture tests made"]},
        "lines": {
            "siteplan/sun/kernel.py": {"10": [near], "11": [near, "fixture tests made"], "14": [far], "25": [far]}
        },
    }
    return Reach(tmp_path, seen), (near, far, third)


@pytest.mark.parametrize(
    ("text", "who"),
    [
        ("-y -> y", (0, 2)),  # a fixture's line is run by the test that uses the fixture
        ("2 -> 3", (0,)),  # a constant, by way of another, of a compiled function, and of the line that calls it
        ("3 -> 4", ()),  # the default of a function that nobody calls
        ("return x -> return None", (1,)),
        ("4 -> 5", (1,)),  # what a server does for itself, by way of the function that starts it
        ("5 -> 6", (1,)),
    ],
)
def test_who_runs_a_changed_line(reach, text, who):
    reach, tests = reach
    changes = changes_of(reach.root / "siteplan/sun/kernel.py", reach.root)
    change = next(one for one in changes if one.text == text)
    assert reach.tests(change) == [tests[number] for number in who]


def test_compiled_code_is_old_where_it_holds_a_changed_number(reach):
    reach, _ = reach
    assert reach.stale("siteplan/compiled.py") == {"siteplan/sun/kernel.py"}
    assert reach.stale("tests/sun/test_far.py") == set()


def test_the_interval_of_a_share():
    # Brown, Cai and DasGupta, Statistical Science 16, 2001: the Wilson interval ends at z2 / (n + z2) where none is found
    low, high = wilson(0, 20)
    assert low == pytest.approx(0, abs=1e-12)
    assert high == pytest.approx(3.8416 / 23.8416)
    low, high = wilson(10, 20)  # even: about the middle
    assert low + high == pytest.approx(1)


def test_what_was_judged_is_read(monkeypatch, tmp_path):
    path = tmp_path / "judged.toml"
    lines = ('["siteplan/a.py"]', '"module: 1 -> 2" = "a tie"', '"Kind.act: 3 -> (4: 5) #3" = "no matter"')
    path.write_text("\n".join(lines), encoding="utf-8")
    monkeypatch.setattr("tests.mutation.__main__.JUDGED", path)
    assert judged() == {
        ("siteplan/a.py", "", "1 -> 2", 0): "a tie", ("siteplan/a.py", "Kind.act", "3 -> (4: 5)", 3): "no matter"
    }  # fmt: skip


def test_every_reason_names_a_file():
    assert {file for file, *_ in judged()} <= {one.relative_to(CHECKOUT).as_posix() for one in CHECKOUT.rglob("*.py")}

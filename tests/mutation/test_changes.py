"""The command that changes lines: what it changes, what it leaves alone, and which tests it takes."""

from __future__ import annotations

import ast
from pathlib import Path

from .changes import changes_of
from .reach import Reach

CHECKOUT = Path(__file__).parents[2]
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
        return [k for k in range(3) if k and self]
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
        ("Kind.__call__", "return [k for k in range(3) if k and self] -> return None"),
        ("Kind.__call__", "range(3) -> range(3 - 1)"), ("Kind.__call__", "3 -> 4"), ("Kind.__call__", "3 -> (-3)"),
        ("Kind.__call__", "k and self -> k or self"),
    } - {("first", "max(a, b) - ( 1 -> max(a, b) + ( 1")} | {("first", "max(a, b) - ( 1 ) -> max(a, b) + ( 1 )")}  # fmt: skip


def test_a_namesake_comes_first_and_the_near_before_the_far():
    reach = Reach(CHECKOUT)
    kernel = next(name for name in reach.graph if name.endswith(("haul/routes/least_time.py", "/route.py")))
    tests = reach.tests(kernel, {})
    assert tests
    assert all(kernel in reach.steps(name) for name in tests)


def test_compiled_code_is_old_where_it_holds_a_changed_number():
    reach = Reach(CHECKOUT)
    work = next(name for name in reach.graph if name.endswith("haul/loads/work_rates.py"))
    assert any(name.endswith("least_time.py") for name in reach.stale(work))
    assert reach.stale("siteplan/cli.py") == set()

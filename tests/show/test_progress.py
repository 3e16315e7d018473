"""Does long work say how far it is, and quick work nothing?"""

from __future__ import annotations

import runpy
import time

from siteplan.land.errors import Fault, InputError, listed_faults
from siteplan.show import progress


def test_plain_lines_come_while_nothing_is_told(monkeypatch, capsys):
    monkeypatch.setattr(progress, "PAUSE", 0.02)
    with progress.progress_bar(quiet=False) as tell:
        tell("sun", 0.25)
        time.sleep(0.5)
    shown = capsys.readouterr()
    assert shown.out == ""
    lines = shown.err.splitlines()
    assert len(lines) > 2
    assert lines[-1].startswith("sweeping the sun 25%, ")


def test_pause_is_less_than_three_seconds():
    assert runpy.run_path(progress.__file__)["PAUSE"] < 3  # as it is, and not as the tests set it


def test_quick_and_quiet_work_says_nothing(monkeypatch, capsys):
    with progress.progress_bar(quiet=False) as tell:
        tell("sun", 1.0)
    monkeypatch.setattr(progress, "PAUSE", 0.01)
    with progress.progress_bar(quiet=True) as tell:
        assert tell is None
        time.sleep(0.05)
    assert capsys.readouterr().err == ""


def test_of_many_faults_of_a_kind_ten_are_told_and_all_kinds():
    many = [Fault("a.geojson", f'tree "{number}"', f"height is -{number}.5 m") for number in range(40)]
    other = Fault("a.geojson", 'bed "a"', "height is missing")
    lines = str(InputError([*many, other])).splitlines()
    assert len(lines) == 12
    assert lines[9] == 'a.geojson: tree "9": height is -9.5 m'
    assert lines[10] == "a.geojson: 30 more faults of this kind: height is -10.5 m"
    assert lines[11] == str(other)
    assert listed_faults(many[:11]) == many[:11]  # a line that says "1 more" is no shorter
    assert InputError(many).faults == tuple(many)

"""Are the far hills read, and their slips said?"""

from __future__ import annotations

import pytest

from siteplan.files.findings import Findings
from siteplan.files.skyline import read_skyline

GOOD = "azimuth_deg,elevation_deg\n0,2\n90,10.5\n180,0\n270,4\n"


def read(tmp_path, text):
    path = tmp_path / "skyline.csv"
    path.write_text(text, encoding="utf-8")
    findings = Findings()
    return read_skyline(path, findings), [str(fault) for fault in findings.faults]


def test_good_skyline(tmp_path):
    hills, faults = read(tmp_path, GOOD)
    assert faults == []
    assert hills.elevation_at([0, 45, 90, 315]) == pytest.approx(
        [2, 6.25, 10.5, 3]
    )  # straight between, round past north


def test_spaces_marks_and_empty_lines_are_read(tmp_path):
    hills, faults = read(tmp_path, "\ufeff Azimuth_deg , elevation_deg\r\n0, 2\r\n\r\n180, 4\r\n")
    assert faults == []
    assert hills.elevation.tolist() == [2, 4]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "must be the header azimuth_deg,elevation_deg"),
        ("0,2\n90,4\n", "line 1: is '0,2', must be the header"),
        ("azimuth_deg,elevation_deg\n0,2\n", "has 1 row, must have at least 2"),
        (GOOD.replace("90,10.5", "90"), "row 3: is '90', must be two numbers"),
        (GOOD.replace("10.5", "high"), "row 3: is '90,high', must be two numbers"),
        (GOOD.replace("10.5", "95"), "row 3: elevation is 95 degrees"),
        (GOOD.replace("10.5", "nan"), "row 3: elevation is nan degrees"),
        (GOOD.replace("90,", "-90,"), "row 3: azimuth is -90, must be at least 0 and below 360"),
        (GOOD.replace("90,", "200,"), "azimuth 180 comes after 200; azimuths must rise"),
        (GOOD.replace("180,", "90,"), "azimuth 90 comes after 90; azimuths must rise"),
        (GOOD + "360,2\n", "azimuth 360 is north, as 0 is; leave the row out"),
    ],
)
def test_faults_of_a_skyline(tmp_path, text, words):
    hills, faults = read(tmp_path, text)
    assert hills is None
    assert len(faults) == 1
    assert words in faults[0]


def test_skyline_comes_with_the_site(yard):
    from siteplan import read_site

    yard.toml = 'skyline = "hills.csv"\n' + yard.toml
    (yard.write() / "hills.csv").write_text(GOOD)
    assert read_site(yard.folder).skyline.azimuth.tolist() == [0, 90, 180, 270]

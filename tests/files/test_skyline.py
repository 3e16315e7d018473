"""Are the far hills read, and their slips said?"""

from __future__ import annotations

import pytest

from siteplan.files.ground.skyline import read_skyline
from siteplan.files.remarks import Remarks

GOOD = "azimuth_deg,elevation_deg\n0,2\n90,10.5\n180,0\n270,4\n"


def read(tmp_path, text):
    path = tmp_path / "skyline.csv"
    path.write_text(text, encoding="utf-8")
    remarks = Remarks()
    return read_skyline(path, remarks), [str(fault) for fault in remarks.faults]


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
        ("", "line 1: is empty, must be the header azimuth_deg,elevation_deg"),
        ("0,2\n90,4\n", "line 1: is '0,2', must be the header"),
        ("azimuth_deg;elevation_deg\n0;2\n", "line 1: is 'azimuth_deg;elevation_deg', must be the header"),
        ("azimuth_deg,elevation_deg\n", "has no row under its header, must have at least 2"),
        ("azimuth_deg,elevation_deg\n0,2\n", "has 1 row under its header, must have at least 2"),
        (GOOD.replace("90,10.5", "90"), "line 3: is '90', must be two numbers"),
        (GOOD.replace("90,10.5", "90,10.5,1"), "line 3: is '90,10.5,1', must be two numbers"),
        (GOOD.replace("10.5", "high"), "line 3: is '90,high', must be two numbers"),
        (GOOD.replace("10.5", "95"), "line 3: elevation is 95 degrees, must be from -10 to below 90"),
        (GOOD.replace("10.5", "-11"), "line 3: elevation is -11 degrees, must be from -10 to below 90"),
        (GOOD.replace("10.5", "nan"), "line 3: elevation is nan degrees"),
        (GOOD.replace("90,", "nan,"), "line 3: azimuth is nan, must be at least 0 and below 360"),
        (GOOD.replace("90,", "-90,"), "line 3: azimuth is -90, must be at least 0 and below 360; write 270"),
        (GOOD.replace("\n0,", "\n-10,"), "line 2: azimuth is -10, must be at least 0 and below 360; write 350"),
        (GOOD + "365,2\n", "line 6: azimuth is 365, must be at least 0 and below 360; write 5, and sort the rows"),
        (GOOD.replace("90,", "200,"), "line 4: azimuth 180 comes after 200; azimuths must rise: sort the rows"),
        (GOOD.replace("\n90,", "\n\n200,"), "line 5: azimuth 180 comes after 200"),
        ("azimuth_deg,elevation_deg\n300,2\n330,3\n10,4\n60,1\n", "line 4: azimuth 10 comes after 330"),
        (GOOD.replace("0,2\n", "350,2\n").replace("180,", "80,"), "90 comes after 350 (2 such steps)"),
        (GOOD.replace("180,", "90,"), "line 4: azimuth 90 is there already in line 3; keep one of the two"),
        (GOOD + "90,1\n", "line 6: azimuth 90 is there already in line 3"),
        (GOOD + "360,2\n", "line 6: azimuth 360 is north, as 0 is; leave the row out"),
    ],
)
def test_faults_of_a_skyline(tmp_path, text, words):
    hills, faults = read(tmp_path, text)
    assert hills is None
    assert words in faults[0]
    assert len(faults) == 1 + (text == GOOD + "90,1\n")  # which is out of order, besides


def test_all_faults_of_a_skyline_come_at_once(tmp_path):
    _, faults = read(tmp_path, "azimuth_deg,elevation_deg\n90,nan\n400,1\n20,95\n50,1\n40,1\n40,2\n")
    assert [fault.split(":")[1].strip() for fault in faults] == ["line 2", "line 3", "line 4", "line 7", "line 6"]


def test_horizon_without_rows_is_said(tmp_path):
    path = tmp_path / "skyline.csv"
    path.write_text("azimuth_deg,elevation_deg\n150,8\n180,9\n200,7\n")
    remarks = Remarks()
    assert read_skyline(path, remarks) is not None
    (caution,) = remarks.cautions
    assert caution.code == "skyline-gap"
    assert "has no row from 200 to 150 degrees" in caution.text


def test_skyline_comes_with_the_site(yard):
    from siteplan import read_site

    yard.toml = 'skyline = "hills.csv"\n' + yard.toml
    (yard.write() / "hills.csv").write_text(GOOD)
    assert read_site(yard.folder).skyline.azimuth.tolist() == [0, 90, 180, 270]


def test_fine_skyline_is_read_whole_and_its_one_slip_is_found(tmp_path):
    rows = [f"{k / 100},{k % 7}" for k in range(36_000)]
    hills, faults = read(tmp_path, "azimuth_deg,elevation_deg\n" + "\n".join(rows))
    assert not faults
    assert len(hills.azimuth) == 36_000
    assert hills.elevation_at([123.45, 359.995]).tolist() == pytest.approx([12345 % 7, (35_999 % 7) / 2])
    rows[20_000] = "200,high"
    _, faults = read(tmp_path, "azimuth_deg,elevation_deg\n" + "\n".join(rows))
    assert faults == ["skyline.csv: line 20002: is '200,high', must be two numbers: azimuth and elevation"]

"""Three hundred damaged sites: each is answered with figures that can be, or refused in words; none goes wrong."""

from __future__ import annotations

import time
from collections import Counter

import pytest

from .cases import case, tried
from .damage import Thing
from .oracle import judged, write
from .sound import sound_sites

SEED, COUNT, PART = 2026, 300, 25
ASKED = 12  # of how many that are sound one is asked for more than whether it is
SLOWEST = 30.0  # s of processor time


@pytest.mark.parametrize("name", ["plain", "measured", "layers", "whole"])
def test_what_is_damaged_was_sound(name, tmp_path):
    write(tmp_path / name, dict(sound_sites()[name]))
    verdict = judged(tmp_path / name, "check", tmp_path / "out")
    assert (verdict.kind, verdict.wrong, verdict.said) == ("answered", "", "")


@pytest.mark.parametrize("first", range(0, COUNT, PART))
def test_damaged_sites_are_answered_or_refused_in_words(first, tmp_path, capfd):
    wrong = []
    for number in range(first, first + PART):
        one = case(SEED, number)
        begun = time.process_time()
        rows = tried(one, tmp_path / str(number), ask=one.command == "fill" and number % ASKED == 0)
        seconds = time.process_time() - begun
        wrong += [(number, one.done, *row) for row in rows if row[1].kind == "found"]
        assert seconds < SLOWEST, (number, one.done)
    assert wrong == []
    assert capfd.readouterr() == ("", "")  # nor did a library print past Python


def test_a_seed_says_what_is_done():
    assert case(1, 5) == case(1, 5)
    assert case(1, 5).done != case(2, 5).done


def test_all_of_it_is_damaged_in_many_ways():
    drawn = [case(SEED, number) for number in range(COUNT)]
    assert {one.site for one in drawn} == set(sound_sites())
    files = Counter(words.partition(":")[0] for one in drawn for words in one.done)
    assert (
        min(files[name] for name in ("site.toml", "features.geojson", "plan.json", "yard.gpkg", "ground.tif")) >= 15
    )
    assert min(files[name] for name in ("year.epw", "hills.csv", "tops.tif")) >= 10
    things = {held.sort for one in drawn for held in one.files.values() if isinstance(held, Thing)}
    assert things >= {"nothing", "folder", "pipe", "socket", "link", "loop"}
    assert len({tuple(one.done) for one in drawn}) > 0.9 * COUNT


def test_the_oracle_sees_what_is_wrong(tmp_path, monkeypatch):
    from . import oracle

    write(tmp_path / "yard", dict(sound_sites()["plain"]))

    def says(code, out="", err="", leak=None):
        def main(_):
            import sys
            import warnings

            if leak:
                warnings.warn(leak, stacklevel=1)
            print(out, end="")
            print(err, end="", file=sys.stderr)
            return code

        monkeypatch.setattr(oracle, "main", main)
        return oracle.judged(tmp_path / "yard", "plan", tmp_path / "out")

    assert says(0, '{\n"beds": [{"season_sun_h": 6.5}]}').kind == "answered"
    assert says(2, err="site.toml: name is 7, must be a text\n").kind == "refused"
    assert "must be from 0 to 24" in says(0, '{\n"beds": [{"season_sun_h": 25}]}').wrong
    assert "no number: NaN" in says(0, '{\n"beds": [{"volume_m3": NaN}]}').wrong
    assert "must be from 0" in says(0, '{\n"fill": {"total_cost": -3}}').wrong
    assert "names no file" in says(2, err="something is wrong\n").wrong
    assert "0 lines" in says(2).wrong
    assert "exit 1" in says(1, err="site.toml: no\n").wrong
    assert "no terminal should get" in says(2, err="site.toml: \x1b[2J\n").wrong
    assert "leaked warning: UserWarning: hm" in says(0, "{}", leak="hm").wrong
    (tmp_path / "out").mkdir()
    assert "something was written" in says(2, err="site.toml: no\n").wrong

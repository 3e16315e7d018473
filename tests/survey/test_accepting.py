"""Do proposals come into the features file, and does all that somebody drew or measured stay?"""

from __future__ import annotations

import json
import shutil

import pytest
import shapely

from siteplan.cli import main
from siteplan.files.reader import read_site
from siteplan.show.symbols.property import property_layers
from tests.survey.conftest import drawn_features, feature, write_site


@pytest.fixture(scope="module")
def asked_once(tile, tmp_path_factory):
    site = write_site(tmp_path_factory.mktemp("asked") / "yard")
    assert main(["heights", str(site), str(tile), "--quiet"]) == 0
    return site


@pytest.fixture
def asked(asked_once, tmp_path):
    """Return a site of which a survey has been asked."""
    return shutil.copytree(asked_once, tmp_path / "yard")


def features(site):
    document = json.loads((site / "features.geojson").read_text(encoding="utf-8"))
    return {one["id"]: one["properties"] for one in document["features"]}


def test_all_of_them_make_a_sound_site(asked, capsys):
    before = (asked / "features.geojson").read_text(encoding="utf-8")
    assert main(["heights", str(asked), "--accept", "all"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    site = read_site(asked)
    house, oak = site.buildings[0], next(one for one in site.trees if one.id == "oak")
    assert house.height == pytest.approx(7.5, abs=0.3)
    assert house.height_from.startswith("laser survey, ")
    assert oak.height == pytest.approx(12, abs=0.4)
    assert {one.of for one in oak.spreads} >= {"height", "crown_base"}
    assert next(one for one in oak.spreads if one.of == "height").how == "given"
    assert len(site.trees) >= 3
    assert len(site.hedges) == 1
    # the wall was taped: it stays, and the other figure is told
    assert site.fences[0].height == 1.0
    assert "wall: height is 1 m in features.geojson, the survey has 2" in said
    assert "Yours stays" in said
    # what is drawn keeps its corners, and every line that does not change its bytes
    drawn = json.loads(before)["features"]
    now = json.loads((asked / "features.geojson").read_text(encoding="utf-8"))["features"]
    assert [one["geometry"] for one in now[:4]] == [one["geometry"] for one in drawn]


def test_the_day_stands_beside_what_came_from_it(asked):
    assert main(["heights", str(asked), "--accept", "house,oak", "--quiet"]) == 0
    layers = property_layers(read_site(asked))
    texts = [item["t"] for layer in layers.values() for item in layer if "t" in item]
    for name in ("house", "oak"):
        lines = next(one for one in texts if one[0] == name)
        assert lines[-1].startswith("heights: laser survey, ")
    wall = next(one for one in texts if one[0] == "wall")
    assert not any("survey" in line for line in wall)


def test_some_are_taken_and_the_rest_stays(asked):
    before = features(asked)
    assert main(["heights", str(asked), "--accept", "oak, tree-1", "--quiet"]) == 0
    after = features(asked)
    assert after.keys() - before.keys() == {"tree-1"}
    assert after["house"] == before["house"]
    assert "height" in after["oak"]


def test_what_was_accepted_is_printed_as_json(asked, capsys):
    assert main(["heights", str(asked), "--accept", "oak,wall,tree-1,", "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    found = next(
        one
        for one in json.loads((asked / "heights" / "proposals.geojson").read_text())["features"]
        if one["id"] == "wall"
    )
    height = {"id": "wall", "key": "height", "own": "1 m", "found": found["properties"]["height"], "taken": False}
    assert document == {
        "accepted": {
            "file": "features.geojson", "added": ["tree-1"], "changed": ["oak"], "same": ["wall"], "conflicts": [height],
        }
    }  # fmt: skip


@pytest.mark.parametrize("ids", ["", ",", " , "])
def test_no_proposal_is_named(asked, capsys, ids):
    assert main(["heights", str(asked), "--accept", ids]) == 2
    assert f"--accept: {ids!r} names no proposal, must be ids such as tree-1,maple, or all" in capsys.readouterr().err


def test_a_second_time_changes_nothing(asked, capsys):
    assert main(["heights", str(asked), "--accept", "all", "--quiet"]) == 0
    content = (asked / "features.geojson").read_bytes()
    capsys.readouterr()
    assert main(["heights", str(asked), "--accept", "all"]) == 0
    assert "it is as it was" in capsys.readouterr().out
    assert (asked / "features.geojson").read_bytes() == content


@pytest.mark.slow
def test_a_new_survey_takes_the_place_of_an_older_one(asked, flight, tmp_path):
    from tests.survey.conftest import write_tile

    assert main(["heights", str(asked), "--accept", "all", "--quiet"]) == 0
    grown = flight.subset(slice(None))
    tall = grown.z + (grown.kind == 1) * 0.8
    later = write_tile(
        tmp_path / "later.laz", type(grown)(grown.x, grown.y, tall, grown.kind, grown.last, grown.several)
    )
    count = len(features(asked))
    assert main(["heights", str(asked), str(later), "--accept", "all", "--quiet"]) == 0
    oak = next(one for one in read_site(asked).trees if one.id == "oak")
    assert oak.height == pytest.approx(12.8, abs=0.4)
    assert len(features(asked)) == count


def test_a_guess_makes_room_and_a_measure_stays(tmp_path, tile, capsys):
    given = drawn_features()
    given[1]["properties"] |= {"height": "5 m", "measured": "guess"}
    given[2]["properties"] |= {"height": "15 m"}
    site = write_site(tmp_path / "known", given)
    assert main(["heights", str(site), str(tile), "--accept", "all"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    now = features(site)
    assert float(now["house"]["height"].split(" m")[0]) == pytest.approx(7.5, abs=0.3)
    assert now["oak"]["height"] == "15 m"
    assert "oak: height is 15 m in features.geojson, the survey has 11.9" in said or "the survey has 12" in said
    assert "crown_base" not in now["oak"]  # it goes with the height
    assert main(["heights", str(site), "--accept", "oak", "--replace"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "oak: height was 15 m, is now" in said
    assert float(features(site)["oak"]["height"].split(" m")[0]) == pytest.approx(12, abs=0.4)
    assert "height_from" in features(site)["oak"]


@pytest.mark.slow
def test_a_figure_that_agrees_stays_as_it_is_written(tmp_path, tile, capsys):
    given = drawn_features()
    given[2]["properties"] |= {"height": "12.2 m", "measured": "angle", "note": "by the gate"}
    site = write_site(tmp_path / "known", given)
    assert main(["heights", str(site), str(tile), "--accept", "oak"]) == 0
    oak = features(site)["oak"]
    assert oak["height"] == "12.2 m"
    assert "crown_base" in oak  # which nobody had said
    assert oak["height_from"].startswith("crown base, transmittance bare by laser survey")
    assert oak["note"] == "by the gate"
    assert "Yours stays" not in capsys.readouterr().out


@pytest.mark.slow
def test_other_names_for_height_are_kept(tmp_path, tile):
    given = drawn_features()
    given[2]["properties"]["tall"] = "3 m"
    given[2]["properties"]["measured"] = "guess"
    from tests.survey.conftest import SETTINGS

    site = write_site(tmp_path / "named", given, SETTINGS + '[rename.keys]\ntall = "height"\n')
    assert main(["heights", str(site), str(tile), "--accept", "oak", "--quiet"]) == 0
    oak = features(site)["oak"]
    assert "height" not in oak
    assert float(oak["tall"].split(" m")[0]) == pytest.approx(12, abs=0.4)


def test_a_tree_drawn_as_a_point_gets_its_crown(tmp_path, tile):
    given = [drawn_features()[0], feature("oak", "tree", shapely.Point(12.4, 45.3))]
    site = write_site(tmp_path / "points", given)
    assert main(["heights", str(site), str(tile), "--accept", "all", "--quiet"]) == 0
    oak = next(one for one in read_site(site).trees if one.id == "oak")
    assert oak.height == pytest.approx(12, abs=0.4)
    assert oak.outline.area == pytest.approx(shapely.Point(0, 0).buffer(3.5).area, rel=0.3)


def test_what_cannot_be_accepted_is_said_and_nothing_changes(asked, capsys):
    content = (asked / "features.geojson").read_bytes()
    assert main(["heights", str(asked), "--accept", "oakk,nothing"]) == 2
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == 2
    assert "did you mean 'oak'?" in lines[0]
    document = json.loads(content)
    document["features"] = [one for one in document["features"] if one["id"] != "oak"]
    (asked / "features.geojson").write_text(json.dumps(document), encoding="utf-8")
    less = (asked / "features.geojson").read_bytes()
    assert main(["heights", str(asked), "--accept", "all"]) == 2
    assert "oak: is not drawn any more in features.geojson" in capsys.readouterr().err
    assert (asked / "features.geojson").read_bytes() == less


def test_proposals_that_are_none_any_more(site, capsys):
    assert main(["heights", str(site), "--accept", "all"]) == 2
    assert "proposals.geojson: is not there; ask a survey first" in capsys.readouterr().err
    (site / "heights").mkdir()
    for text in ("[]", "{", '{"features": [{"id": 3}]}', '{"features": [1]}'):
        (site / "heights" / "proposals.geojson").write_text(text, encoding="utf-8")
        assert main(["heights", str(site), "--accept", "all"]) == 2
        assert "holds no proposals any more" in capsys.readouterr().err


def test_proposals_that_would_spoil_the_site_are_refused(asked, capsys):
    file = asked / "heights" / "proposals.geojson"
    document = json.loads(file.read_text(encoding="utf-8"))
    one = next(one for one in document["features"] if one["id"] == "tree-1")
    one["properties"]["height"] = "-3 m"
    file.write_text(json.dumps(document), encoding="utf-8")
    before = (asked / "features.geojson").read_bytes()
    assert main(["heights", str(asked), "--accept", "all"]) == 2
    assert 'tree "tree-1": height' in capsys.readouterr().err
    assert (asked / "features.geojson").read_bytes() == before

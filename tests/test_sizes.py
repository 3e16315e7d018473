"""Do work and files grow with the beds, and no faster?"""

from __future__ import annotations

from collections import Counter

import pytest

from siteplan.cli import main
from siteplan.haul.routes.router import Router
from siteplan.sun.engine import SunEngine
from tests import sizes


@pytest.fixture(scope="module")
def grown(tmp_path_factory):
    """Return what 65 and 95 beds took: how often the sun and the ways were asked, and how large the files are."""
    found = {}
    counts: Counter[str] = Counter()

    def counted(kind, name):
        asked = getattr(kind, name)

        def ask(self, *words, **named):
            counts[name] += 1
            return asked(self, *words, **named)

        return ask

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(SunEngine, "visible_means", counted(SunEngine, "visible_means"))
        patch.setattr(Router, "_searched", counted(Router, "_searched"))
        for beds in (65, 95):
            counts.clear()
            folder = sizes.beds(tmp_path_factory.mktemp("sizes") / f"{beds}", beds)
            settings = (
                (folder / "site.toml").read_text().replace("25 cm", "1 m").replace("year", 'step = "60 min"\nyear')
            )
            (folder / "site.toml").write_text(settings)
            assert main(["plan", str(folder), "--quiet"]) == 0
            files = {path.name: path.stat().st_size for path in (folder / "plan").iterdir()}
            found[beds] = (dict(counts), files)
    return found


@pytest.mark.slow
def test_each_bed_asks_the_sun_as_often(grown):
    (few, _), (many, _) = grown[65], grown[95]
    more = (many["visible_means"] - few["visible_means"]) / 30
    # 19 headings, 10 steps, its light by sun and sky, and the maps with and without the proposed bed
    assert more <= 19 + 10 + 2 + 2 + 1


@pytest.mark.slow
def test_ways_are_sought_from_places_and_not_from_beds(grown):
    (few, _), (many, _) = grown[65], grown[95]
    assert many["_searched"] <= few["_searched"] + 8
    assert many["_searched"] < 100


@pytest.mark.slow
def test_map_holds_four_kilobytes_a_bed(grown):
    (_, few), (_, many) = grown[65], grown[95]
    assert (many["map.html"] - few["map.html"]) / 30 < 4000
    assert many["map.html"] < 2e6

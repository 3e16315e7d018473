"""A drawn yard with every kind of feature, and answers made up for it, so that the pages can be tested alone."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest
from shapely import LineString, Point, Polygon, box

from siteplan.answers import BedReport
from siteplan.fill.fill_plan import plan_fill
from siteplan.haul.haul_plan import plan_haul
from siteplan.land.features import (
    Bed,
    Building,
    Door,
    Fence,
    Gate,
    Hedge,
    Keepout,
    MonthDay,
    Pile,
    Surface,
    Tap,
    Tree,
)
from siteplan.land.findings import Caution, finding
from siteplan.land.frame import LocalFrame
from siteplan.land.grid import grid_over
from siteplan.land.outline import rectangle
from siteplan.land.site import Season, Site, Stock, SunSettings
from siteplan.place.headings.headings import Headings
from siteplan.place.limits.limits import Limit, limits
from siteplan.place.merit.levelling import Levelling
from siteplan.place.merit.merit import Weights
from siteplan.place.reasons.landmarks import Whereabouts
from siteplan.place.search.no_fit import RuledOut
from siteplan.place.search.search_results import Place, PlaceResult
from siteplan.plan import Plan
from siteplan.sun.bed_sun import BedSun
from siteplan.sun.light.daily_light import BedLight, Light, LightMaps
from siteplan.sun.sun_maps import SunMaps

from .visits import OPENED


@pytest.fixture(autouse=True)
def pages_are_left() -> Iterator[None]:
    """Leave what a test has looked at in a browser, but not what its module has."""
    before = len(OPENED)
    yield
    for visit in OPENED[before:]:
        visit.leave()


#: what nobody would call a bed, except to break a page
HOSTILE = {
    "markup": "<img src=x onerror=alert(1)>",
    "template": "{{7*7}}",
    "statement": "{% for x in range(9) %}boo{% endfor %}",
    "script": "</script><script>alert(2)</script>",
    "quotes": "\"' onmouseover=alert(3) x='",
    "backtick": "`${alert(4)}` \\",
    "separators": "one\u2028two\u2029three\x00four\ud800",
    "right to left": "\u202eשלום عربي bed",
    "comment": "--><!--]]>",
    "long": "bed " * 2500,
}


@pytest.fixture(scope="session")
def drawn_site(tiny_yard) -> Site:
    """Return a yard of 32 m by 24 m with every kind of feature on it."""
    boundary = Polygon([(-16, -12), (15, -12), (16, 11), (-15.5, 12)])
    return Site(
        name="Larkspur Rise",
        frame=LocalFrame(longitude=-105.18, latitude=39.74),
        timezone="America/Denver",
        boundary=boundary,
        season=Season(last_frost=MonthDay(5, 10), first_frost=MonthDay(9, 28)),
        sun=SunSettings(year=2026, cell=0.5),
        recipe=tiny_yard.recipe,
        materials=tiny_yard.materials,
        rolling_surfaces=tiny_yard.rolling_surfaces,
        units="imperial",
        currency="USD",
        offers=tiny_yard.offers,
        stock=(Stock(material="topsoil", volume=0.9, at="soil-bins"),),
        buildings=(
            Building(id="house", outline=box(-9, -10.5, 4, -2.5), height=7.2, eaves=4.2),
            Building(id="garage", outline=rectangle(10.5, -7, length=6, width=4, heading=4), height=3.2),
            Building(id="porch", outline=box(-4, -2.5, 1, -0.2), height=2.8, base=2.4),
        ),
        trees=(
            Tree(id="maple", outline=Point(-11, 5).buffer(3.6), trunk=Point(-11, 5), height=11, crown_base=2.5,
                 leaf_out=MonthDay(5, 1), leaf_fall=MonthDay(10, 20), trunk_diameter=0.35),
            Tree(id="spruce", outline=Point(12.5, 7).buffer(2.1), trunk=Point(12.5, 7), height=9, crown_base=0.4,
                 foliage="evergreen"),
        ),
        hedges=(Hedge(id="privet", outline=LineString([(-14.5, 10.8), (-2, 10.4)]).buffer(0.5), height=1.6),),
        fences=(
            Fence(id="back-fence", line=LineString([(-15.5, 12), (16, 11), (15, -12)]), height=1.8),
            Fence(id="side-fence", line=LineString([(4, -5), (8.4, -5)]), height=1.2, transmittance=0.4),
        ),
        gates=(Gate(id="gate", place=Point(6.2, -5), line=LineString([(5.6, -5), (6.8, -5)]), width=1.2),),
        surfaces=(
            Surface(id="lawn", outline=box(-14, -2, 14, 10), surface="grass"),
            Surface(id="drive", outline=box(4.4, -12, 8.4, -5), surface="gravel"),
            Surface(id="path", outline=box(5, -5, 6.8, 2), surface="paved"),
        ),
        taps=(Tap(id="tap", place=Point(4.2, -3), hose_length=15.0),),
        doors=(Door(id="back door", place=Point(-1.5, -2.4)),),
        piles=(
            Pile(id="soil-bins", shape=box(8.8, -4.5, 10.4, -3.2)),
            Pile(id="drive-apron", shape=box(5, -11.5, 8, -9), drop=True),
        ),
        beds=(
            Bed(id="north bed", outline=rectangle(2, 6.5, length=2.4384, width=1.2192, heading=90), height=0.4572,
                trellis_height=1.9),
            Bed(id="west bed", outline=rectangle(-5, 4, length=2.4384, width=1.2192, heading=20), height=0.3),
            Bed(id="new bed", outline=rectangle(8.5, 3, length=2.4384, width=1.2192, heading=0), height=0.4572,
                proposed=True),
        ),
        keepouts=(Keepout(id="septic", outline=box(-3, 0.8, 0.5, 2.8), reason="septic field", setback=0.6),),
    )  # fmt: skip


@pytest.fixture(scope="session")
def made_up_maps(drawn_site) -> SunMaps:
    """Return maps that look like sun: less near the house and under the maple, more in summer."""
    grid = grid_over(drawn_site.boundary, drawn_site.sun.cell)
    x, y = np.meshgrid(grid.x, grid.y)
    house = np.clip((y + 2.5) / 7, 0.05, 1)
    maple = 1 - 0.75 * np.exp(-(((x + 11) ** 2 + (y - 6.5) ** 2) / 18))
    length = 12 + 3 * np.cos((np.arange(12) - 5.3) / 12 * 2 * np.pi)
    month = length[:, None, None] * np.clip(house + 0.12 * (length[:, None, None] - 12), 0, 1) * maple * 0.9
    off = ~grid.inside(drawn_site.boundary)
    for building in drawn_site.buildings[:2]:
        off |= grid.inside(building.outline)
    month[:, off] = np.nan
    return SunMaps(grid=grid, month_h=month, season_h=month[4:9].mean(axis=0))


def _bed_report(bed, maps, number: int) -> BedReport:
    row, column = maps.grid.cell_of(bed.outline.centroid.x, bed.outline.centroid.y)
    months = maps.month_h[:, row, column]
    season = float(maps.season_h[row, column])
    cells = np.column_stack([*bed.outline.exterior.xy, np.full(5, bed.height)])
    sun = BedSun(
        bed=bed.id, month_sun_h=months, season_sun_h=season, worst_cell_sun_h=season * 0.8,
        light_class="full sun" if season >= 6 else "part sun", sun_score=min(100.0, season / 8 * 100), cells=cells,
        cell_season_h=np.full(5, season),
    )  # fmt: skip
    heading = np.arange(0, 180, 5.0)
    score = 80 + 8 * np.cos(np.radians(2 * (heading - 95 - 10 * number)))
    gate = box(0, 0, 1, 1)
    barred = Limit(kind="gate", feature="gate", ground=gate, bare=gate, grid=maps.grid)
    headings = Headings(
        bed=bed.id, heading=heading, season_h=score / 12, worst_h=score / 15, month_h=np.zeros((36, 12)),
        score=score, obstacle=tuple(barred if 15 <= value <= 30 else None for value in heading),
        current=18, best=19 + 2 * number,
    )  # fmt: skip
    lit = np.clip(np.sin((np.arange(48) - 12) / 24 * np.pi) * months[:, None] / 14, 0, 1)
    return BedReport(bed=bed, sun=sun, headings=headings, lit=lit, light=_bed_light(bed.id, 1 - number / 3))


def _bed_light(bed: str, share: float) -> BedLight:
    """Return a light that is a share of that of open ground, most of it direct, most in summer."""
    of_year = np.append(2.0 + 4.0 * np.sin(np.pi * (np.arange(12) + 0.5) / 12), 5.0)
    there = Light(of_year * 0.8, of_year * 0.2, of_year * 1.5)
    here = Light(there.direct_kwh_m2 * share, there.diffuse_kwh_m2 * share, there.bright_h * share)
    return BedLight(bed, np.full(13, share), here, there)


def _places(site: Site, maps: SunMaps) -> PlaceResult:
    spots = [(7.0, 7.5, 95.0), (-5.0, 8.0, 90.0), (10.5, 3.0, 10.0)]
    places = tuple(
        Place(
            rank=rank, outline=rectangle(x, y, length=2.4384, width=1.2192, heading=heading), x=x, y=y,
            heading=heading, length=2.4384, width=1.2192, season_sun_h=9.4 - rank * 0.7,
            worst_cell_sun_h=8.6 - rank * 0.8, sun_h=8.0 - rank * 0.2, merit=0.9 - rank / 20, exact=True,
            minutes=40.0 + rank * 6, trips=20, water_m=8.0, door_m=11.0,
            month_sun_h=maps.month_h[:, 12, 40] * (1 - rank / 20),
            levelling=Levelling(drop=0.0, slope=0.0, cut=0.0, fill=0.0, lower_board=0.45),
            where=Whereabouts(landmark="back door", distance=9.0, east=6.0, north=8.0),
        )
        for rank, (x, y, heading) in enumerate(spots, start=1)
    )  # fmt: skip
    found = limits(site, maps.grid)
    shares = [
        RuledOut(kind=limit.kind, largest=limit, features=(limit.feature,) if limit.feature else (),
                 share=float(limit.grid.inside(limit.ground).mean()), spots=0.2, alone=0.05)
        for limit in found[:6]
    ]  # fmt: skip
    blank = np.full(maps.grid.shape, np.nan)
    return PlaceResult(
        places=places, limits=found, ruled_out=tuple(shares), grid=maps.grid, merit_map=blank, heading_map=blank,
        scanned=10_000, free=2_000, computed=12, gap=0.0, search_gap=0.01,
        bed=site.beds[2], weights=Weights(), need=6.0, plenty=8.0, loads_from=("drive-apron",),
        southern=False, walked=False, door_walked=False, hose=math.inf, trade_off=(), sensitivity=None,
        findings=(finding("fewer-fit", found=3, count=4),),
    )  # fmt: skip


def answered(site: Site, maps: SunMaps) -> Plan:
    """Return a plan with made-up sun and places, and the real fill and haul."""
    fill = plan_fill(site)
    return Plan(
        site=site,
        maps=maps,
        beds=tuple(_bed_report(bed, maps, number) for number, bed in enumerate(site.beds)),
        places=_places(site, maps),
        fill=fill,
        haul=plan_haul(site, fill.supplies),
        cautions=(
            Caution("call-before-digging", "", "Have buried services marked before you dig."),
            Caution("roots", "west bed", "The bed stands near the maple: dig by hand and cut no root."),
        ),
        light_maps=_light_maps(site),
    )


def _light_maps(site: Site) -> LightMaps:
    grid = grid_over(site.boundary, 2.0)
    values = np.where(grid.inside(site.boundary), 2.0, np.nan)
    values[0, 0] = np.nan  # as if a house stood in the corner
    values[:, : grid.columns // 2] /= 2  # the west is shady
    months = values * (1 + np.arange(12) / 6)[:, None, None]  # each month has its own
    return LightMaps(
        grid=grid, sky_share=values / 4, light=Light(values, values / 2, values * 2),
        month_sky_share=months / 16, month_light=Light(months, months / 2, months * 2),
    )  # fmt: skip


@pytest.fixture(scope="session")
def drawn_plan(drawn_site, made_up_maps) -> Plan:
    """Return the yard's plan."""
    return answered(drawn_site, made_up_maps)


@pytest.fixture(scope="session")
def hostile_plan(drawn_site, made_up_maps) -> Plan:
    """Return the same plan with every name replaced by something that would like to be code."""
    bad = list(HOSTILE.values())
    beds = tuple(replace(bed, id=f"{bad[n]}") for n, bed in enumerate(drawn_site.beds))
    site = replace(
        drawn_site,
        name=bad[0] + bad[1] + bad[3],
        beds=beds,
        buildings=tuple(replace(b, id=bad[n + 3]) for n, b in enumerate(drawn_site.buildings)),
        trees=tuple(replace(t, id=bad[n + 6]) for n, t in enumerate(drawn_site.trees)),
        piles=(replace(drawn_site.piles[0], id=bad[1]), replace(drawn_site.piles[1], id=bad[9])),
        stock=(replace(drawn_site.stock[0], at=bad[1]),),
        taps=(replace(drawn_site.taps[0], id=bad[5]),),
        keepouts=(replace(drawn_site.keepouts[0], id=bad[8], reason=bad[0] + bad[1] + bad[5]),),
        offers=tuple(replace(offer, name=bad[n]) for n, offer in enumerate(drawn_site.offers)),
    )
    plan = answered(site, made_up_maps)
    cautions = tuple(Caution("x", value, value) for value in bad)
    named = tuple(
        replace(
            place,
            where=Whereabouts(landmark=bad[n], distance=9.0, east=6.0, north=8.0, between=(bad[n + 3], bad[n + 6])),
            square_to=("fence", bad[n + 1]),
            findings=(finding("old-paint", building=bad[n + 2], within=3.0, country=bad[n + 2]),),
        )
        for n, place in enumerate(plan.places.places)
    )
    found = finding("most-in-the-way", part=replace(plan.places.ruled_out[0], features=tuple(bad)))
    places = replace(plan.places, places=named, loads_from=tuple(bad), findings=(found,))
    return replace(plan, cautions=cautions, places=places)

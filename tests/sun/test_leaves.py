"""Leaves: closed forms of a ray's way through bodies, and the laws that attenuation by the way obeys."""

from __future__ import annotations

import csv
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, box
from shapely.ops import split

from siteplan.files.constant_tables import data_folder, read_crowns
from siteplan.land.features import Tree
from siteplan.land.outline import mean_width, thickness
from siteplan.sun.obstacles.crowns import crown_slices
from siteplan.sun.obstacles.prisms import Prism
from siteplan.sun.path.solar_path import sun_path

SHARE, WAY = 0.3, 2.0  # a share of 0.3 is left after 2 m of leaves


@pytest.fixture(scope="module")
def day():
    """Every hour or so of one day at 45 N."""
    path = sun_path(45.0, 8.0, year=2026, timezone="Europe/Rome", step=0.5)
    held = path.day == 172
    arrays = ("azimuth", "elevation", "hours", "time", "clock", "day", "month")
    return replace(path, **{name: getattr(path, name)[held] for name in arrays})


def leaves(outline, bottom, top, *, share=SHARE, way=WAY, owner="it"):
    return Prism(
        outline=outline,
        bottom=bottom,
        top=top,
        owner=owner,
        part="crown",
        transmittance_leafy=share,
        transmittance_path=way,
    )


def through(way):
    """Beer and Lambert's law: the share left after a way through leaves."""
    return SHARE ** (np.asarray(way) / WAY)


def test_level_slab(engine_of, day):
    """A slab of thickness h is crossed over h / sin(elevation)."""
    slab = leaves(box(-1e4, -1e4, 1e4, 1e4), 3.0, 3.5)
    got = engine_of(slab, path=day).exact_light(np.zeros((1, 3)))[0]
    high = day.elevation > 1
    assert got[high] == pytest.approx(through(0.5 / np.sin(np.radians(day.elevation[high]))), rel=1e-9)


def test_cylinder_across_and_along(engine_of, day):
    """Under a cylinder's middle, and level with it: the chord of a circle, 2 sqrt(r2 - a2), over cos(elevation)."""
    r, x, y = 2.0, 7.0, 1.5
    trunk = Point(x, y).buffer(r, quad_segs=720)
    got = engine_of(leaves(trunk, -1.0, 500.0), path=day).exact_light(np.zeros((1, 3)))[0]
    azimuth = np.radians(day.azimuth)
    aside = np.abs(x * np.cos(azimuth) - y * np.sin(azimuth))
    ahead = x * np.sin(azimuth) + y * np.cos(azimuth) > 0
    chord = np.where(ahead, 2 * np.sqrt(np.maximum(r**2 - aside**2, 0)), 0) / np.cos(np.radians(day.elevation))
    assert got == pytest.approx(through(chord), rel=1e-4)
    assert (got < 0.9).any()


def test_mean_way_through_a_sphere():
    """The mean way of parallel rays through a sphere of radius r is 4 r / 3: volume over shadow, Cauchy."""
    r = 3.0
    slices = list(crown_slices(Point(0, 0).buffer(r, quad_segs=64), 0.0, 2 * r, "ellipsoid"))
    across = np.linspace(-r, r, 601)
    ways = [2 * np.sqrt(np.maximum(ring.area / np.pi - across**2, 0)) * (high - low) for ring, low, high in slices]
    mean = np.sum(ways) * (across[1] - across[0]) / (np.pi * r**2)
    assert mean == pytest.approx(4 * r / 3, rel=0.01)


def test_twice_the_way_squares_the_share(engine_of):
    points = np.array([[0.3, -6.0, 0.0], [1.4, -4.0, 0.5], [2.2, -3.0, 0.0]])
    once, twice = (engine_of(leaves(box(-3, 0, 3, 2), 1, 4, way=way)) for way in (WAY, WAY / 2))
    assert twice.exact_light(points) == pytest.approx(once.exact_light(points) ** 2, abs=1e-12)


@pytest.mark.parametrize(("share", "stands"), [(1.0, None), (0.0, 0.0), (1e-9, 1e-9)])
def test_limits_of_density(engine_of, share, stands):
    """No leaves are no crown; leaves without a gap are a solid."""
    points, outline = np.array([[0.0, -5.0, 0.0], [1.0, -3.0, 0.0]]), Point(0, 0).buffer(2, quad_segs=16)
    body = leaves(outline, 1, 5, share=share, way=0.001)
    like = () if stands is None else (Prism(outline=outline, bottom=1, top=5, owner="it", part="crown"),)
    assert engine_of(body).exact_hours(points).month_h == pytest.approx(
        engine_of(*like).exact_hours(points).month_h, abs=2e-3
    )
    assert engine_of(body).hours(points).month_h == pytest.approx(engine_of(*like).hours(points).month_h, abs=0.06)


CROWN = Point(0, 0).buffer(4, quad_segs=8)
AROUND = np.array([[0.5, -7.0, 0.0], [2.0, -5.0, 0.3], [-1.0, 1.0, 0.0]])  # the last is below it


@pytest.fixture(scope="module")
def in_one_piece(engine_of):
    """Return the hours around the crown before it is cut: by rays, and by the lookup."""
    engine = engine_of(leaves(CROWN, 2, 6))
    return engine.exact_hours(AROUND).month_h, engine.hours(AROUND).month_h


def same_hours(in_one_piece, engine):
    assert engine.exact_hours(AROUND).month_h == pytest.approx(in_one_piece[0], abs=2e-3)
    assert engine.hours(AROUND).month_h == pytest.approx(in_one_piece[1], abs=0.12)


def test_cut_across(engine_of, in_one_piece):
    same_hours(in_one_piece, engine_of(leaves(CROWN, 2, 3.1), leaves(CROWN, 3.1, 6)))


cuts = st.lists(st.tuples(*[st.floats(-1, 1)] * 4), min_size=1, max_size=3)


@settings(max_examples=25, deadline=None)
@given(cuts)
def test_cut_into_pieces(engine_of, in_one_piece, cuts):
    """A crown gives the same hours however it is cut: the ways through its pieces add up."""
    pieces = [CROWN]
    for a, b, c, d in cuts:
        if np.hypot(c - a, d - b) < 0.1:
            continue
        along = np.array([c - a, d - b]) / np.hypot(c - a, d - b) * 20
        line = LineString([np.array([a, b]) - along, np.array([a, b]) + along])
        pieces = [part for piece in pieces for part in split(piece, line).geoms if part.area > 1e-3]
    assert sum(piece.area for piece in pieces) / CROWN.area > 0.999
    same_hours(in_one_piece, engine_of(*(leaves(piece, 2, 6) for piece in pieces)))
    same_hours(in_one_piece, engine_of(*(leaves(piece, 2, 6, owner=str(n)) for n, piece in enumerate(pieces))))


def test_lookup_against_the_rays(engine_of):
    """Crowns, hedges and a pergola among them: the cells of the lookup against every ray."""
    rng = np.random.default_rng(11)
    standing = [
        leaves(Point(*rng.uniform(-9, 9, 2)).buffer(rng.uniform(1, 4), quad_segs=16), rng.uniform(0.5, 3), rng.uniform(4, 9),
               share=0.05, way=6.0, owner=f"tree {n}")
        for n in range(8)
    ]  # fmt: skip
    standing = [replace(one, transmittance_bare=0.45, leaf_out=105, leaf_fall=300) for one in standing]
    standing += [
        leaves(box(-10, 4, 3, 4.8), 0, 2, share=0.1, way=1.0, owner="hedge"),
        Prism(outline=box(-3, -3, 1, 0), bottom=2.4, top=2.6, owner="pergola", transmittance_leafy=0.5),
        Prism(outline=box(5, -9, 9, -4), bottom=0, top=4, owner="house"),
    ]
    points = np.column_stack([rng.uniform(-10, 10, (60, 2)), np.zeros(60)])
    path = sun_path(45.0, 8.0, year=2026, timezone="Europe/Rome", step=1 / 6)
    engine = engine_of(*standing, path=path)
    off = engine.hours(points).month_h - engine.exact_hours(points).month_h
    assert np.abs(off).mean() <= 0.02
    assert np.percentile(np.abs(off), 99) <= 0.12
    assert np.abs(off.mean(axis=1)).max() <= 0.01


def test_screens_behind_leaves_multiply(engine_of, day):
    crown, net = (
        leaves(box(-50, 0, 50, 2), 0, 50),
        Prism(outline=box(-50, 3, 50, 3.1), bottom=0, top=50, owner="net", transmittance_leafy=0.5),
    )
    at = np.array([[0.0, -1.0, 0.0]])
    both = engine_of(crown, net, path=day).exact_light(at)
    alone = engine_of(crown, path=day).exact_light(at) * engine_of(net, path=day).exact_light(at)
    assert both == pytest.approx(alone, rel=1e-12)
    together = engine_of(crown, net).mean_light(at)
    apart = engine_of(crown).mean_light(at) * engine_of(net).mean_light(at)
    assert together == pytest.approx(apart, abs=1e-5)


def test_widths():
    """Cauchy: a convex outline's mean width is its perimeter over pi. Of a bent band the thickness is its own."""
    assert mean_width(box(0, 0, 3, 3)) == pytest.approx(12 / np.pi)
    bent = LineString([(0, 0), (20, 0), (20, 15)]).buffer(0.5, cap_style="flat", join_style="mitre")
    assert thickness(bent) == pytest.approx(1.0, rel=0.01)
    assert thickness(shapely.union_all([box(0, 0, 12, 0.8), box(20, 0, 32, 0.8)])) == pytest.approx(0.8, rel=0.05)


def test_defaults_are_those_of_the_table():
    medium = read_crowns()["deciduous", "medium"]
    tree = Tree(id="t", outline=Point(0, 0).buffer(3), trunk=Point(0, 0), height=8, crown_base=2)
    assert (tree.transmittance_leafy, tree.transmittance_bare) == (
        medium.transmittance_leafy,
        medium.transmittance_bare,
    )
    assert tree.transmittance_path == 6.0


def test_crowns_against_what_was_measured():
    """0.03 in leaf (Konarska and others 2014, second-hand), 0.051 of pine all year (the same), 0.40 to 0.52 leafless (memory);
    0.01 to 0.08 fitted hours of radiation measured under mature deciduous trees best."""  # fmt: skip
    crowns = read_crowns()
    for density in ("medium", "dense"):
        assert crowns["deciduous", density].leafy_least <= 0.03 <= crowns["deciduous", density].leafy_most
    assert 0.01 <= crowns["deciduous", "medium"].transmittance_leafy <= 0.08
    assert 0.40 <= crowns["deciduous", "medium"].transmittance_bare <= 0.52
    assert crowns["evergreen", "medium"].transmittance_leafy == pytest.approx(0.051, abs=0.002)
    with (data_folder() / "crowns.csv").open(encoding="utf-8", newline="") as file:
        assert all(row["source"] for row in csv.DictReader(file))

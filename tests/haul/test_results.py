"""What a result of the haul holds where nothing more is told."""

from __future__ import annotations

import math

from shapely import LineString, Point

from siteplan.haul.haul_results import Heap, Load, Route, Run


def test_a_way_is_level_ends_at_its_bed_and_has_no_gates():
    line = LineString([(0, 0), (3, 4)])
    way = Route("heap", "bed", line, 5.0, 0.0, 6.0, 5.0, line)
    assert (way.bucket_m, way.steepest, way.steepest_down, way.cross_fall, way.gates) == (0.0, 0.0, 0.0, 0.0, ())


def test_a_load_is_loose_and_its_push_is_not_known():
    load = Load("bed", "soil", "heap", 1.0, 1000.0, 12, 0.08, 80.0, "volume", 1.0, 2.0, 3.0, 0.0, 6.0)
    assert all(math.isnan(one) for one in (load.push_force, load.peak_force, load.energy_kcal))
    assert (load.bags, load.bag_mass, load.side_by_side, load.gates) == (0, 0.0, False, ())


def test_a_run_waits_for_nothing_and_a_heap_is_a_cone():
    run = Run(1, 1, "bed", "soil", "heap", 4, 0.0, 5.0)
    assert (run.delivered, run.mixed, run.per_trip_mass, run.gates) == (False, False, 0.0, ())
    heap = Heap("soil", 1.0, Point(0, 0), 1.1, 0.8)
    assert (heap.length, heap.heading) == (0.0, 0.0)

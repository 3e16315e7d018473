"""How does the first run ever wait less for the compiler?

Loops are compiled on their first call, which takes some fifteen seconds in all, and are then cached on disk. On the
first run a second process compiles some of them by calling them for next to nothing, before the first process needs
them and finds them in the cache. Later runs leave this out.
"""

from __future__ import annotations

import numpy as np

from siteplan.sun.obstacles.bodies import Attenuation
from siteplan.sun.obstacles.packed_prisms import pack
from siteplan.sun.path.sky_table import LANES, LEVELS, SkyTable, Steps, sky_table


def is_first_run() -> bool:
    """Return whether loops are still to be compiled, and are then cached on disk."""
    from siteplan.land.compiled import waits_for_compiler  # imported here: numba takes long to load
    from siteplan.sun.lookup.table_sums import subtract_hidden

    return waits_for_compiler(subtract_hidden)


def compile_hidden_sums() -> None:
    """Compile what is subtracted behind obstacles, while the first process compiles how they are drawn."""
    from siteplan.sun.lookup.intervals import empty_view
    from siteplan.sun.lookup.leaves import no_leaves
    from siteplan.sun.lookup.table_sums import empty_reads, subtract_hidden

    table, through = _empty_sky()
    view = empty_view(table, np.zeros(2, dtype=np.float32), capacity=1, sides=3)
    view.horizon[:] = 0
    leaves = no_leaves(table, through.extinction, through.state)
    reads = empty_reads(through.opacity, 1, states=1)
    subtract_hidden(table, view, leaves, reads, np.zeros(LANES, dtype=np.float32))


def compile_steps() -> None:
    """Compile the look-up of single steps of the sun's path."""
    from siteplan.sun.lookup.sky_lookup import light_by_step, surroundings

    table, through = _empty_sky()
    points, nobody = np.zeros((1, 3)), np.empty(0, dtype=np.int64)
    around = surroundings(points, nobody, pack(())[0], np.zeros((1, 2), dtype=np.float32))
    steps = Steps(nobody, np.empty(0, dtype=np.float32), nobody)
    light_by_step(points, around, table, steps, through)


def compile_search() -> None:
    """Compile the search for places, on a map of one cell."""
    from siteplan.place.search.footprint import form_of_size
    from siteplan.place.search.footprint_scan import scan
    from siteplan.place.search.refinement import best_on_cells

    scan(
        bits=np.zeros((1, 1), dtype=np.int64), sun=np.zeros((1, 1)), minutes=None, headings=[0.0], no_way=5,
        property_cells=np.ones((1, 1), dtype=np.bool_), form=form_of_size(1.0, 1.0), aisle=0.0, cell=1.0,
    )  # fmt: skip
    best_on_cells(np.zeros(1, dtype=np.int64), np.zeros(1))


def _empty_sky() -> tuple[SkyTable, Attenuation]:
    """Return the table of a sky without sun, one degree wide, and the attenuation by no bodies."""
    table = sky_table(np.zeros((2, LEVELS + 1, LANES), dtype=np.float32), 0.0)
    none = np.zeros((0, 1), dtype=np.float32)
    return table, Attenuation(np.zeros((0, LANES), dtype=np.float32), none, np.zeros(LANES, dtype=np.int64))

"""How do the layers lie in a bed of several frames on top of each other?

The soil under each ledge has the whole recipe over its own depth, from the floor to its own top. So the coarse base
is lower under an outer ledge than in the middle, and every ledge has its full growing depth. A layer that crosses the
top of a frame is split there, since the next frame is set before filling goes on. Slopes between neighbouring columns
are not modelled.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from siteplan.fill.fill_results import Layer

_NOTHING = 1e-9  # share of a layer; smaller shares are rounding errors of equal heights


def in_frames(
    columns: Mapping[int, Sequence[Layer]], tops: Sequence[float], *, lift: float = math.inf
) -> list[Layer]:
    """Return the layers of all columns of a bed in the order in which they are filled in.

    Parameters
    ----------
    columns : mapping of int to sequence of Layer
        The layers under each tier's ledge from the bottom to the top, by the tier's number.
    tops : sequence of float
        Of the frames, from the bottom. [m]
    lift : float
        How thick soil goes in at most before it is wetted; what goes in at once as a whole does so in its parts. [m]

    Returns
    -------
    list of Layer
        Frame by frame; within one by the height at which they begin, the outer column first.

    Examples
    --------
    >>> soil = Layer(bed="a", order=0, material="topsoil", bottom=0.0, top=0.6, volume=1.2, mass=1500, settled=0.54)
    >>> [(part.frame, part.bottom, part.top, round(part.volume, 9)) for part in in_frames({2: [soil]}, [0.4, 0.6])]
    [(1, 0.0, 0.4, 0.8), (2, 0.4, 0.6, 0.4)]
    """
    pieces: list[tuple[tuple[float, ...], Layer]] = []
    for tier, layers in columns.items():
        for blend in _blends(layers):
            low, high = blend[0].bottom, blend[-1].top
            for frame, (floor, top) in enumerate(itertools.pairwise([0.0, *tops]), 1):
                share = (min(high, top) - max(low, floor)) / (high - low)
                if share > _NOTHING:
                    start = max(low, floor)
                    lifts = math.ceil((high - low) * share / lift - 1e-6) if blend[0].lifts > 1 else 1
                    pieces += [
                        ((frame, start, tier, number), replace(part, tier=tier, frame=frame, lifts=max(lifts, 1)))
                        for number, part in enumerate(_part_of(blend, share, bottom=start))
                    ]
    pieces.sort(key=lambda piece: piece[0])
    return [replace(piece, order=order) for order, (_, piece) in enumerate(pieces)]


def _blends(layers: Sequence[Layer]) -> Iterator[list[Layer]]:
    """Yield the layers, those together that are mixed before they go in."""
    for _, group in itertools.groupby(layers, key=lambda layer: layer.mixture):
        yield list(group)


def _part_of(layers: Sequence[Layer], share: float, *, bottom: float) -> Iterator[Layer]:
    """Yield a share of layers that lie on each other, from a height on. [m]"""
    for layer in layers:
        thickness = layer.thickness * share
        yield replace(
            layer,
            bottom=bottom,
            top=bottom + thickness,
            volume=layer.volume * share,
            mass=layer.mass * share,
            mass_wet=layer.mass_wet * share,
            settled=layer.settled * share,
        )
        bottom += thickness


def by_tier(layers: Sequence[Layer]) -> dict[int, list[Layer]]:
    """Return the layers of one bed by the tier under whose ledge they lie, each from the bottom to the top."""
    tiers: dict[int, list[Layer]] = {}
    for layer in layers:
        tiers.setdefault(layer.tier, []).append(layer)
    return tiers

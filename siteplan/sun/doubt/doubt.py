"""How sure are the hours of sun, and which figures does the doubt come from?

All figures in doubt are drawn together, and the hours of each bed or place looked up for each draw: that gives the
range. Then each is changed alone, to where a tenth and nine tenths of its cases lie: that gives what measuring it
would settle. It leaves out weather, and the drawing of numbers: shares of the cases are handed in.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from siteplan.land.document import Hidden
from siteplan.sun.doubt.drawn_hours import Otherwise, mean_hours
from siteplan.sun.doubt.figures import Figure
from siteplan.sun.doubt.shares import first_order_shares

Floats = NDArray[np.float64]

LOW, HIGH = 0.1, 0.9  # of the cases lie below the ends of a range
MOST_CAUSES = 3  # that are named
CLOSELY = 7  # figures of each spot, those that matter most, that are changed both ways and share its variance out
SLIGHT = 0.15  # h; a figure that settles less is not worth measuring (common practice, no source)


@dataclass(frozen=True, kw_only=True)
class Cause:
    """A figure that doubt comes from.

    Attributes
    ----------
    feature, kind, figure : str
        Id of the feature, what it is, and the property; ``position_east`` and ``position_north`` of where it lies.
    how : str
        How its spread came about, as of `land.spread.Spread`.
    share : float
        Of the variance of the season's sun, its first-order share (Sobol): what is settled on average by measuring
        it exactly. [0 to 1]
    low_h, high_h : float
        Season's sun below which a tenth and nine tenths of the cases stay, this figure alone in doubt. [h a day]
    """

    feature: str
    kind: str
    figure: str
    how: str
    share: float
    low_h: float
    high_h: float


@dataclass(frozen=True, eq=False, kw_only=True)
class SunDoubt:
    """How sure the sun on a bed or a place is.

    Attributes
    ----------
    season_low_h, season_high_h : float
        A tenth of the draws has less than the one, a tenth more than the other. [h a day]
    month_low_h, month_high_h : ndarray, shape (12,)
        The same by month. [h a day]
    enough : float
        Share of the draws in which it has the hours that its crops want. [0 to 1]
    causes : tuple of Cause
        The figures that most of the doubt comes from, the greatest first; at most three.
    season_h : ndarray, shape (draws,)
        Of each draw. [h a day]
    """

    season_low_h: float
    season_high_h: float
    month_low_h: Floats
    month_high_h: Floats
    enough: float
    causes: tuple[Cause, ...]
    season_h: Hidden[Floats]


@dataclass(frozen=True, eq=False)
class Drawn:
    """The sun on some spots in each draw, and with each figure changed alone.

    Attributes
    ----------
    hours : ndarray, shape (draws, spots, 13)
        Means over each spot's soil, less those with the figures as given: months and season. [h a day]
    cells, cells_given : list of list of ndarray, shape (n,), and list of ndarray
        Season's sun on the cells of each spot, in each draw and as given. [h a day]
    alone : ndarray, shape (figures, 2, spots)
        Of the season, less that as given, at a tenth and at nine tenths of the cases; NaN where not asked. [h a day]
    """

    hours: Floats
    cells: list[list[Floats]]
    cells_given: list[Floats]
    alone: Floats


def drawn_sun(state: Otherwise, shares: Floats) -> Drawn:
    """Return the sun on some spots in draws, and with each figure alone.

    Parameters
    ----------
    state : Otherwise
    shares : ndarray, shape (draws, figures)
        Evenly spread from 0 to 1: which share of the cases lies below what is drawn.
    """
    values = np.column_stack([f.drawn(s) for f, s in zip(state.figures, shares.T, strict=True)] or [shares])
    as_given = state.cell_hours(state.given)
    base = _means(state, as_given)
    found = [state.cell_hours(one) for one in values] if state.figures else [as_given] * len(shares)
    return Drawn(
        hours=np.array([_means(state, one) for one in found]) - base,
        cells=[_season_cells(one) for one in found],
        cells_given=_season_cells(as_given),
        alone=_alone(state, base[:, 12]),
    )


def _means(state: Otherwise, hours: Sequence[Sequence[Floats]]) -> Floats:
    return np.array([mean_hours(spot, one) for spot, one in zip(state.spots, hours, strict=True)])


def _season_cells(hours: Sequence[Sequence[Floats]]) -> list[Floats]:
    return [np.concatenate([part[12] for part in ledges]) for ledges in hours]


def _alone(state: Otherwise, base: Floats) -> Floats:
    """Return by how much the season's sun changes where each figure alone is otherwise, shape (figures, 2, spots).

    All figures at the upper end first; those that matter most to a spot at the lower end as well.
    """
    alone = np.full((len(state.figures), 2, len(state.spots)), np.nan)
    for number in range(len(state.figures)):
        alone[number, 1] = _changed(state, number, HIGH, base)
    order = np.argsort(-np.abs(alone[:, 1]), axis=0, kind="stable")[:CLOSELY]
    for number in np.unique(order):
        alone[number, 0] = _changed(state, int(number), LOW, base)
    return alone


def _changed(state: Otherwise, number: int, share: float, base: Floats) -> Floats:
    """Return by how much the season's sun changes on each spot where one figure is otherwise. [h a day]"""
    value = float(state.figures[number].drawn(np.array(share)))
    reached, found = state.reached(state.figures[number].owner), np.zeros(len(state.spots))
    hours = state.cell_hours_where(number, value, reached)
    found[reached] = [mean_hours(state.spots[spot], one)[12] for spot, one in zip(reached, hours, strict=True)]
    found[reached] -= base[reached]
    return found


def sun_doubts(
    state: Otherwise, drawn: Drawn, shares: Floats, *, given: Floats, needs: Sequence[float]
) -> tuple[SunDoubt, ...]:
    """Return how sure the sun on each spot is.

    Parameters
    ----------
    state, drawn, shares
        As of `drawn_sun`.
    given : ndarray, shape (spots, 13)
        The sun on each spot as the plan has it, months and season: the ranges lie around it. [h a day]
    needs : sequence of float
        Hours that the crops of each spot want. [h a day]
    """
    hours = np.maximum(given + drawn.hours, 0.0)
    low, high = np.quantile(hours, [LOW, HIGH], axis=0)
    return tuple(
        SunDoubt(
            season_low_h=float(low[spot, 12]),
            season_high_h=float(high[spot, 12]),
            month_low_h=low[spot, :12],
            month_high_h=high[spot, :12],
            enough=float((hours[:, spot, 12] >= needs[spot]).mean()),
            causes=_causes(state.figures, drawn, shares, spot, float(given[spot, 12])),
            season_h=hours[:, spot, 12],
        )
        for spot in range(len(state.spots))
    )


def _causes(figures: Sequence[Figure], drawn: Drawn, shares: Floats, spot: int, given: float) -> tuple[Cause, ...]:
    """Return the figures that most of the doubt of a spot comes from."""
    ends = drawn.alone[:, :, spot]
    asked = np.flatnonzero(np.isfinite(ends).all(axis=1))
    if not len(asked):
        return ()
    asked = asked[np.argsort(-np.ptp(ends[asked], axis=1), kind="stable")][:CLOSELY]
    share = _shares(
        [figures[int(number)] for number in asked], ends[asked], shares[:, asked], drawn.hours[:, spot, 12]
    )
    order = np.argsort(-share, kind="stable")[:MOST_CAUSES]
    return tuple(
        Cause(
            feature=figures[number].owner,
            kind=figures[number].kind,
            figure=figures[number].name,
            how=figures[number].how,
            share=float(part),
            low_h=max(given + float(ends[number].min()), 0.0),
            high_h=max(given + float(ends[number].max()), 0.0),
        )
        for number, part in zip(asked[order], share[order], strict=True)
        if np.ptp(ends[number]) >= SLIGHT
    )


def _shares(figures: Sequence[Figure], ends: Floats, shares: Floats, drawn: Floats) -> Floats:
    """Return the share that each of some figures has in the variance, from all that was looked up."""
    as_given = np.array([figure.share_below for figure in figures])
    inputs = np.tile(as_given, (1 + 2 * len(figures), 1))
    for number in range(len(figures)):
        inputs[1 + 2 * number : 3 + 2 * number, number] = LOW, HIGH
    return first_order_shares(shares, drawn, alone=(inputs, np.concatenate([[0.0], ends.ravel()])))

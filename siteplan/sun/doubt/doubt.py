"""How sure are the hours of sun, and which figures does the doubt come from?

The range comes from draws: all uncertain figures take random values together, and the hours of each bed or place are
looked up for each draw. The causes come from changing each figure alone, to its 10 % and its 90 % quantile: that
shows how much of the doubt is gone once the figure is measured. The random numbers are handed in by the caller.
Weather is not part of it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from siteplan.land.cores import in_second_process
from siteplan.land.document import Hidden
from siteplan.sun.doubt.figures import Figure
from siteplan.sun.doubt.shares import first_order_shares
from siteplan.sun.doubt.uncertain_scene import UncertainScene, mean_hours

Floats = NDArray[np.float64]

LOW, HIGH = 0.1, 0.9  # quantiles at the ends of a range
MOST_CAUSES = 3  # causes named for a spot
MOST_FIGURES = 7  # of a spot: those that matter most are changed both ways, and its variance is divided among them
SLIGHT = 0.15  # h; a figure whose range is narrower is not worth measuring (common practice, no source)


@dataclass(frozen=True, kw_only=True)
class Cause:
    """A figure that the doubt comes from.

    Attributes
    ----------
    feature, kind, figure : str
        Id of the feature, what it is, and the property; ``position_east`` and ``position_north`` of where it lies.
    how : str
        How its spread came about, as of `land.spread.Spread`.
    share : float
        First-order share (Sobol) of the variance of the season's sun: the part that is gone on average once the
        figure is measured exactly. [0 to 1]
    low_h, high_h : float
        Season's sun at the figure's 10 % and 90 % quantiles, all other figures as given. [h a day]
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
        10 % and 90 % quantiles of the draws. [h a day]
    month_low_h, month_high_h : ndarray, shape (12,)
        The same by month. [h a day]
    enough : float
        Share of the draws in which the bed or place has the hours that its crops want. [0 to 1]
    causes : tuple of Cause
        The figures that most of the doubt comes from, the greatest first; at most three.
    season_h : ndarray, shape (draws,)
        Season's sun in each draw. [h a day]
    """

    season_low_h: float
    season_high_h: float
    month_low_h: Floats
    month_high_h: Floats
    enough: float
    causes: tuple[Cause, ...]
    season_h: Hidden[Floats]


@dataclass(frozen=True, eq=False)
class SunDraws:
    """The sun on spots in each draw, and with each figure changed alone.

    Attributes
    ----------
    hours : ndarray, shape (draws, spots, 13)
        Months and season, as means over each spot's soil: the draw less the figures as given. [h a day]
    cells, cells_given : list of list of ndarray, shape (n,), and list of ndarray
        Season's sun on the cells of each spot, in each draw and with the figures as given. [h a day]
    alone : ndarray, shape (figures, 2, spots)
        Season's sun with one figure at its 10 % and its 90 % quantile, less that with all as given; NaN where it
        was not looked up. [h a day]
    """

    hours: Floats
    cells: list[list[Floats]]
    cells_given: list[Floats]
    alone: Floats


def sun_in_draws(
    scene: UncertainScene, shares: Floats, *, progress: Callable[[float], None] | None = None
) -> SunDraws:
    """Return the sun on the spots of a scene in each draw, and with each figure changed alone.

    Parameters
    ----------
    scene : UncertainScene
    shares : ndarray, shape (draws, figures)
        As of `UncertainScene.values_in_draws`.
    progress : callable, optional
        Called with the share done, up to 1: the draws are half of the work, each figure alone the other.
    """
    tell = progress or (lambda share: None)  # noqa: ARG005
    values = scene.values_in_draws(shares)
    as_given = scene.cell_hours(scene.given_values)
    base = _means(scene, as_given)
    draws = []
    with in_second_process(partial(_alone, scene, base[:, 12]), tell=tell, alone=not scene.figures) as changed_alone:
        for row in values:
            draws.append(scene.cell_hours(row) if scene.figures else as_given)
            tell(len(draws) / len(values) / 2)
        alone = changed_alone()
    tell(1.0)
    return SunDraws(
        hours=np.array([_means(scene, hours) for hours in draws]) - base,
        cells=[_season_cells(hours) for hours in draws],
        cells_given=_season_cells(as_given),
        alone=alone,
    )


def _means(scene: UncertainScene, hours: Sequence[Sequence[Floats]]) -> Floats:
    """Return the mean hours on each spot, shape (spots, 13). [h a day]"""
    return np.array([mean_hours(spot, ledges) for spot, ledges in zip(scene.spots, hours, strict=True)])


def _season_cells(hours: Sequence[Sequence[Floats]]) -> list[Floats]:
    """Return the season's hours on the cells of each spot, its ledges joined, shape (n,) each. [h a day]"""
    return [np.concatenate([ledge_hours[12] for ledge_hours in ledges]) for ledges in hours]


def _alone(scene: UncertainScene, base: Floats, tell: Callable[[float], None]) -> Floats:
    """Return by how much the season's sun changes with each figure changed alone, shape (figures, 2, spots).

    All figures are looked up at their upper quantile; those that matter most to a spot at the lower one as well.
    """
    alone = np.full((len(scene.figures), 2, len(scene.spots)), np.nan)
    for number in range(len(scene.figures)):
        alone[number, 1] = _changed(scene, number, HIGH, base)
        tell(0.5 + 0.5 * (number + 1) / len(scene.figures))
    order = np.argsort(-np.abs(alone[:, 1]), axis=0, kind="stable")[:MOST_FIGURES]
    for number in np.unique(order):
        alone[number, 0] = _changed(scene, int(number), LOW, base)
    return alone


def _changed(scene: UncertainScene, number: int, share: float, base: Floats) -> Floats:
    """Return by how much the season's sun changes on each spot with one figure at a quantile. [h a day]"""
    value = float(scene.figures[number].quantile(np.array(share)))
    spots_in_reach = scene.spots_in_reach(scene.figures[number].owner)
    hours = scene.cell_hours_changing(number, value, spots_in_reach)
    change = np.zeros(len(scene.spots))
    for spot, ledge_hours in zip(spots_in_reach, hours, strict=True):
        change[spot] = mean_hours(scene.spots[spot], ledge_hours)[12] - base[spot]
    return change


def sun_doubts(
    scene: UncertainScene, draws: SunDraws, shares: Floats, *, hours_as_drawn: Floats, needs: Sequence[float]
) -> tuple[SunDoubt, ...]:
    """Return how sure the sun on each spot is.

    Parameters
    ----------
    scene, shares
        As of `sun_in_draws`.
    draws : SunDraws
        What `sun_in_draws` returned.
    hours_as_drawn : ndarray, shape (spots, 13)
        The plan's own hours on each spot, months and season; the ranges are laid around them. [h a day]
    needs : sequence of float
        Hours that the crops of each spot want. [h a day]
    """
    hours = np.maximum(hours_as_drawn + draws.hours, 0.0)
    low, high = np.quantile(hours, [LOW, HIGH], axis=0)
    return tuple(
        SunDoubt(
            season_low_h=float(low[spot, 12]),
            season_high_h=float(high[spot, 12]),
            month_low_h=low[spot, :12],
            month_high_h=high[spot, :12],
            enough=float((hours[:, spot, 12] >= needs[spot]).mean()),
            causes=_causes(scene.figures, draws, shares, spot, float(hours_as_drawn[spot, 12])),
            season_h=hours[:, spot, 12],
        )
        for spot in range(len(scene.spots))
    )


def _causes(
    figures: Sequence[Figure], draws: SunDraws, shares: Floats, spot: int, hours_as_drawn: float
) -> tuple[Cause, ...]:
    """Return the figures that most of the doubt of a spot comes from."""
    season_change = draws.alone[:, :, spot]
    changed_both_ways = np.flatnonzero(np.isfinite(season_change).all(axis=1))
    if not len(changed_both_ways):
        return ()
    widest = np.argsort(-np.ptp(season_change[changed_both_ways], axis=1), kind="stable")[:MOST_FIGURES]
    chosen = changed_both_ways[widest]
    chosen_figures = [figures[int(number)] for number in chosen]
    share = _shares(chosen_figures, season_change[chosen], shares[:, chosen], draws.hours[:, spot, 12])
    order = np.argsort(-share, kind="stable")[:MOST_CAUSES]
    return tuple(
        Cause(
            feature=figures[number].owner,
            kind=figures[number].kind,
            figure=figures[number].name,
            how=figures[number].how,
            share=float(variance_share),
            low_h=max(hours_as_drawn + float(season_change[number].min()), 0.0),
            high_h=max(hours_as_drawn + float(season_change[number].max()), 0.0),
        )
        for number, variance_share in zip(chosen[order], share[order], strict=True)
        if np.ptp(season_change[number]) >= SLIGHT
    )


def _shares(figures: Sequence[Figure], season_change: Floats, shares: Floats, drawn_h: Floats) -> Floats:
    """Return each figure's share of the variance, from the draws and from the lookups with one figure changed."""
    as_given = np.array([figure.share_below for figure in figures])
    # rows: all as given, then for each figure its lower and its upper quantile alone
    inputs = np.tile(as_given, (1 + 2 * len(figures), 1))
    for number in range(len(figures)):
        inputs[1 + 2 * number : 3 + 2 * number, number] = LOW, HIGH
    return first_order_shares(shares, drawn_h, alone=(inputs, np.concatenate([[0.0], season_change.ravel()])))

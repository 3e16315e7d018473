"""What makes a spot good?

Sun up to plenty, less what wheeling, water and walking cost there, all counted in hours of daily sun.
It leaves out what forbids a spot.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from siteplan.land.grid import Grid
from siteplan.land.site import PlaceSettings, Site
from siteplan.place.limits.limits import ground_gradient
from siteplan.sun.bed_sun import BedSun

Floats = NDArray[np.float64]
Number = TypeVar("Number", float, Floats)

#: the weights that are prices, by name
COSTS = ("wheeling", "water", "beyond_hose", "door", "levelling")
#: kg/m3; moist topsoil and compost together, where the recipe's materials are not known (common practice, no source)
DENSITY = 1000.0


@dataclass(frozen=True, kw_only=True)
class Weights:
    """What a gardener gives up sun for; all are our own choice, and common sense at best.

    Extension services only say that a bed near the tap and the door gets used (Oregon State University, seen).

    Attributes
    ----------
    worst : float
        Share of the worst cell in the sun that counts; the rest is the mean. [0 to 1]
    wheeling : float
        Hours of daily sun that an hour of wheeling, once, is worth. [h / h]
    water, beyond_hose, door : float
        Hours of daily sun that a metre is worth: to the tap, beyond the hose, to the door. [h / m]
    levelling : float
        Hours of daily sun that a metre's fall of the ground under the bed is worth. [h / m]
    """

    worst: float = PlaceSettings.weight_worst
    wheeling: float = PlaceSettings.weight_wheeling
    water: float = PlaceSettings.weight_water
    beyond_hose: float = PlaceSettings.weight_beyond_hose
    door: float = PlaceSettings.weight_door
    levelling: float = PlaceSettings.weight_levelling

    def __post_init__(self) -> None:
        PlaceSettings(**{f"weight_{key}": getattr(self, key) for key in ("worst", *COSTS)})  # refused out of range


def weights_of(settings: PlaceSettings) -> Weights:
    """Return the weights that a site's settings name.

    Examples
    --------
    >>> weights_of(PlaceSettings()) == Weights()
    True
    """
    return Weights(**{key: getattr(settings, f"weight_{key}") for key in ("worst", *COSTS)})


@dataclass(frozen=True, eq=False, kw_only=True)
class WorkMaps:
    """What a bed costs in work, cell by cell.

    Attributes
    ----------
    water, door : ndarray, shape (rows, columns), or None
        Metres to the nearest tap and door; None where there is none. [m]
    walked, door_walked : bool
        Whether the water's, and the door's, are along the walkable way; else in a straight line.
    hose : float
        Longest hose named at a tap; infinite where none is named. [m]
    trips : int
        Barrow loads that fill the bed.
    rise_east, rise_north : ndarray, shape (rows, columns), or None
        Of the ground; None where it is level. [rise / run]
    """

    water: Floats | None
    door: Floats | None
    walked: bool
    hose: float
    trips: int
    rise_east: Floats | None = None
    rise_north: Floats | None = None
    door_walked: bool = False


def sun_that_counts(mean: Number, worst: Number, *, weights: Weights, plenty: float) -> Number:
    """Return the hours that count: of the mean and of the worst cell, each up to plenty.

    Parameters
    ----------
    mean, worst : float or ndarray
        Mean over the cells, each already cut at plenty; and the worst cell. [h a day]
    weights : Weights
    plenty : float
        [h a day]

    Examples
    --------
    >>> float(sun_that_counts(8.0, 6.0, weights=Weights(), plenty=8.0))
    7.0
    >>> float(sun_that_counts(8.0, 11.0, weights=Weights(), plenty=8.0))
    8.0
    """
    cut: Number = np.minimum(worst, plenty)
    return (1 - weights.worst) * mean + weights.worst * cut


@dataclass(frozen=True)
class Hours:
    """The sun of a bed over the months that count. [h a day]

    Attributes
    ----------
    season, worst : float
        Mean over its cells, and its worst cell.
    counting : float
        Of these, the hours that count: each up to plenty.
    """

    season: float
    worst: float
    counting: float


def hours_of(answer: BedSun, month_share: Floats | None, *, weights: Weights, plenty: float) -> Hours:
    """Return the exact sun of a bed over the months that count.

    Parameters
    ----------
    answer : BedSun
    month_share : ndarray, shape (12,), or None
        How much each month counts; None for the growing season.
    weights : Weights
    plenty : float
        [h a day]

    Raises
    ------
    ValueError
        Where months are asked for and the cells' months were not kept.
    """
    cells = answer.cell_season_h
    if month_share is not None:
        if answer.cell_month_h is None:
            raise ValueError("the exact sun must keep its cells' months where months are asked for")
        cells = month_share @ answer.cell_month_h
    mean, worst = float(np.minimum(cells, plenty).mean()), float(cells.min())
    counting = float(sun_that_counts(mean, worst, weights=weights, plenty=plenty))
    return Hours(float(cells.mean()), worst, counting)


def cost_in_sun(
    minutes: Number, water: Number, door: Number, drop: Number, *, weights: Weights, work: WorkMaps
) -> Number:
    """Return what a spot costs, in hours of daily sun.

    Parameters
    ----------
    minutes : float or ndarray
        Of one trip with the barrow; NaN counts nothing. [min]
    water, door : float or ndarray
        To the tap and the door; NaN counts nothing. [m]
    drop : float or ndarray
        Of the ground under the bed; NaN counts nothing. [m]
    weights : Weights
    work : WorkMaps
        For the hose and the trips.

    Examples
    --------
    >>> work = WorkMaps(water=None, door=None, walked=False, hose=15.0, trips=20)
    >>> round(float(cost_in_sun(3.0, 20.0, 10.0, 0.2, weights=Weights(), work=work)), 3)
    0.95
    """
    terms = cost_terms(minutes, water, door, drop, work=work)
    cost: Number = terms["wheeling"] * weights.wheeling
    for name in COSTS[1:]:
        cost = cost + terms[name] * getattr(weights, name)
    return cost


def cost_terms(minutes: Number, water: Number, door: Number, drop: Number, *, work: WorkMaps) -> dict[str, Number]:
    """Return what each weight is multiplied by: hours of wheeling, metres to the tap and so on."""
    known: Number = np.nan_to_num(water)
    return {
        "wheeling": np.nan_to_num(minutes) * (work.trips / 60),
        "water": known,
        "beyond_hose": np.maximum(known - work.hose, 0),
        "door": np.nan_to_num(door),
        "levelling": np.nan_to_num(drop),
    }


def barrow_trips(site: Site, *, area: float, height: float) -> int:
    """Return how many barrow loads fill a bed by the site's recipe, each load by the smaller of volume and mass.

    It is an estimate for comparing places: walls and settling are left out, a mixed last load is not.

    Examples
    --------
    A cubic metre of moist topsoil in a barrow of 0.085 m3 that is loaded with 80 kg at most: see the tests.
    """
    volume = area * height
    barrow = site.barrow
    loads = 0.0
    for layer in site.recipe.layers_at(height):
        share = layer.fraction if layer.fraction is not None else (layer.thickness or 0.0) / height
        for name, part in layer.parts:  # a blend is wheeled part by part
            material = site.materials.get(name)
            density = material.density if material is not None else DENSITY
            loads += share * part * volume / min(barrow.volume, barrow.load / density)
    return math.ceil(round(loads, 6))


def work_maps(site: Site, grid: Grid, *, water: Floats | None, door: Floats | None, trips: int) -> WorkMaps:
    """Return how far it is to every cell: as handed in, else in a straight line from the nearest tap and door."""
    hoses = [tap.hose_length for tap in site.taps]
    known = [hose for hose in hoses if hose is not None]
    east, north = ground_gradient(site, grid)
    sloping = site.terrain is not None
    walked = water is not None and bool(np.isfinite(water).any())
    door_walked = door is not None and bool(np.isfinite(door).any())
    return WorkMaps(
        water=filled(water)
        if water is not None and walked
        else straight(grid, [tap.place.coords[0] for tap in site.taps]),
        door=filled(door)
        if door is not None and door_walked
        else straight(grid, [one.place.coords[0] for one in site.doors]),
        walked=walked,
        door_walked=door_walked,
        hose=max(known) if known and len(known) == len(hoses) else math.inf,
        trips=trips,
        rise_east=east if sloping else None,
        rise_north=north if sloping else None,
    )


def straight(grid: Grid, points: list[tuple[float, ...]]) -> Floats | None:
    """Return the distance from every cell to the nearest of some points, None where there are none. [m]

    Examples
    --------
    >>> straight(Grid(0, 1, 1, 1, 2), [(0.5, 0.5)]).tolist()
    [[0.0, 1.0]]
    """
    if not points:
        return None
    x, y = np.meshgrid(grid.x, grid.y)
    return np.asarray(np.min([np.hypot(x - px, y - py) for px, py, *_ in points], axis=0))


def filled(values: Floats) -> Floats:
    """Return a map whose unknown cells take the nearest known one's value; zeros where nothing is known.

    Examples
    --------
    >>> filled(np.array([[np.nan, 2.0, 4.0, np.nan]])).tolist()
    [[2.0, 2.0, 4.0, 4.0]]
    """
    from scipy.ndimage import distance_transform_edt  # long to load: for those who search

    unknown = ~np.isfinite(values)
    if unknown.all():
        return np.zeros_like(values)
    nearest = distance_transform_edt(unknown, return_distances=False, return_indices=True)
    return np.asarray(values[tuple(nearest)])

"""What makes a spot good?

Its sun, capped at plenty, less the costs of wheeling, water, walking and levelling; all in hours of sun a day. What
forbids a spot altogether is in `limits`.
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

#: names of the weights that are prices
COSTS = ("wheeling", "water", "beyond_hose", "door", "levelling")
#: kg/m3; moist topsoil and compost mixed, for materials that the site does not list (common practice, no source)
DENSITY = 1000.0


@dataclass(frozen=True, kw_only=True)
class Weights:
    """Prices of work in hours of sun a day. All defaults are our own choice.

    Extension services only say that a bed near the tap and the door gets used (Oregon State University, seen).

    Attributes
    ----------
    worst : float
        Weight of the worst cell in the hours that count; the rest is the mean. [0 to 1]
    wheeling : float
        Hours of daily sun that an hour of wheeling, once, is worth. [h / h]
    water, beyond_hose, door : float
        Hours of daily sun that a metre is worth: to the tap, beyond the hose, to the door. [h / m]
    levelling : float
        Hours of daily sun that a metre of fall of the ground under the bed is worth. [h / m]
    """

    worst: float = PlaceSettings.weight_worst
    wheeling: float = PlaceSettings.weight_wheeling
    water: float = PlaceSettings.weight_water
    beyond_hose: float = PlaceSettings.weight_beyond_hose
    door: float = PlaceSettings.weight_door
    levelling: float = PlaceSettings.weight_levelling

    def __post_init__(self) -> None:
        # the settings check their ranges: they raise ValueError
        PlaceSettings(**{f"weight_{key}": getattr(self, key) for key in ("worst", *COSTS)})


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
    """What the work for a bed depends on, cell by cell.

    Attributes
    ----------
    water, door : ndarray, shape (rows, columns), or None
        Distance to the nearest tap and door; None if there is none. [m]
    walked, door_walked : bool
        Whether the distance to the tap, and to the door, is along a walkable way; else it is a straight line.
    hose : float
        Longest hose given at a tap; infinite if not all taps have one. [m]
    trips : int
        Barrow loads that fill the bed.
    rise_east, rise_north : ndarray, shape (rows, columns), or None
        Slope of the ground; None if it is level. [rise / run]
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
    """Return the hours that count: the weighted mean of the mean and the worst cell, each capped at plenty.

    Parameters
    ----------
    mean, worst : float or ndarray
        Mean over the cells, each already capped at plenty; and the worst cell. [h a day]
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
    capped: Number = np.minimum(worst, plenty)
    return (1 - weights.worst) * mean + weights.worst * capped


def sun_counted_on(cells: Floats, *, weights: Weights, plenty: float) -> float:
    """Return the hours that count on a bed, from the hours on its cells. [h a day]

    Examples
    --------
    >>> sun_counted_on(np.array([6.0, 10.0]), weights=Weights(worst=0.5), plenty=8.0)  # of 7 h and 6 h
    6.5
    """
    mean = float(np.minimum(cells, plenty).mean())
    return float(sun_that_counts(mean, float(cells.min()), weights=weights, plenty=plenty))


@dataclass(frozen=True)
class Hours:
    """The sun of a bed over the months that count. [h a day]

    Attributes
    ----------
    season, worst : float
        Mean over its cells, and its worst cell.
    counting : float
        Hours that count, see `sun_that_counts`.
    """

    season: float
    worst: float
    counting: float


def hours_of(bed_sun: BedSun, month_share: Floats | None, *, weights: Weights, plenty: float) -> Hours:
    """Return the exact sun of a bed over the months that count.

    Parameters
    ----------
    bed_sun : BedSun
    month_share : ndarray, shape (12,), or None
        Weight of each month; None for the growing season.
    weights : Weights
    plenty : float
        [h a day]

    Raises
    ------
    ValueError
        If months are given but `bed_sun` has no hours of cells by month.
    """
    cells = bed_sun.cell_season_h
    if month_share is not None:
        if bed_sun.cell_month_h is None:
            raise ValueError("cell_month_h is None; a search by months needs the sun of each cell by month")
        cells = month_share @ bed_sun.cell_month_h
    counting = sun_counted_on(cells, weights=weights, plenty=plenty)
    return Hours(float(cells.mean()), float(cells.min()), counting)


def cost_in_sun(
    minutes: Number, water: Number, door: Number, drop: Number, *, weights: Weights, work: WorkMaps
) -> Number:
    """Return the cost of a spot, in hours of sun a day.

    Parameters
    ----------
    minutes : float or ndarray
        Time of one trip with the barrow; NaN counts as 0. [min]
    water, door : float or ndarray
        Distance to the tap and the door; NaN counts as 0. [m]
    drop : float or ndarray
        Fall of the ground under the bed; NaN counts as 0. [m]
    weights : Weights
    work : WorkMaps
        Gives the hose and the trips.

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
    """Return the quantity that each price is multiplied by: hours of wheeling, metres to the tap and so on."""
    to_tap: Number = np.nan_to_num(water)
    return {
        "wheeling": np.nan_to_num(minutes) * (work.trips / 60),
        "water": to_tap,
        "beyond_hose": np.maximum(to_tap - work.hose, 0),
        "door": np.nan_to_num(door),
        "levelling": np.nan_to_num(drop),
    }


def barrow_trips(site: Site, *, area: float, height: float) -> int:
    """Return how many barrow loads fill a bed by the site's recipe; a load is limited by volume or by mass.

    An estimate for comparing places: the thickness of walls and settling are not counted; loads may be mixed.

    Examples
    --------
    A cubic metre of moist topsoil in a barrow of 0.085 m3 that is loaded with 80 kg at most: see the tests.
    """
    volume = area * height
    barrow = site.barrow
    loads = 0.0
    for layer in site.recipe.layers_at(height):
        share = layer.fraction if layer.fraction is not None else (layer.thickness or 0.0) / height
        for name, material_share in layer.parts:  # the materials of a blend are wheeled separately
            material = site.materials.get(name)
            density = material.density if material is not None else DENSITY
            loads += share * material_share * volume / min(barrow.volume, barrow.load / density)
    return math.ceil(round(loads, 6))


def work_maps(site: Site, grid: Grid, *, water: Floats | None, door: Floats | None, trips: int) -> WorkMaps:
    """Return the work maps: with the distances handed in, else with straight lines to the nearest tap and door."""
    hoses = [tap.hose_length for tap in site.taps]
    given_hoses = [hose for hose in hoses if hose is not None]
    east, north = ground_gradient(site, grid)
    sloping = site.terrain is not None
    to_tap = None if water is None or not np.isfinite(water).any() else fill_from_nearest(water)
    to_door = None if door is None or not np.isfinite(door).any() else fill_from_nearest(door)
    taps, doors = ([feature.place.coords[0] for feature in features] for features in (site.taps, site.doors))
    return WorkMaps(
        water=straight_distance(grid, taps) if to_tap is None else to_tap,
        door=straight_distance(grid, doors) if to_door is None else to_door,
        walked=to_tap is not None,
        door_walked=to_door is not None,
        hose=max(given_hoses) if given_hoses and len(given_hoses) == len(hoses) else math.inf,
        trips=trips,
        rise_east=east if sloping else None,
        rise_north=north if sloping else None,
    )


def straight_distance(grid: Grid, points: list[tuple[float, ...]]) -> Floats | None:
    """Return the distance from every cell to the nearest of some points, (rows, columns); None without points. [m]

    Examples
    --------
    >>> straight_distance(Grid(0, 1, 1, 1, 2), [(0.5, 0.5)]).tolist()
    [[0.0, 1.0]]
    """
    if not points:
        return None
    x, y = np.meshgrid(grid.x, grid.y)
    return np.asarray(np.min([np.hypot(x - px, y - py) for px, py, *_ in points], axis=0))


def fill_from_nearest(values: Floats) -> Floats:
    """Return a map whose unknown cells (NaN) take the value of the nearest known cell; zeros if all are unknown.

    Examples
    --------
    >>> fill_from_nearest(np.array([[np.nan, 2.0, 4.0, np.nan]])).tolist()
    [[2.0, 2.0, 4.0, 4.0]]
    """
    from scipy.ndimage import distance_transform_edt  # imported here: scipy is slow to load

    unknown = ~np.isfinite(values)
    if unknown.all():
        return np.zeros_like(values)
    nearest = distance_transform_edt(unknown, return_distances=False, return_indices=True)
    return np.asarray(values[tuple(nearest)])

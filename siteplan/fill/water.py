"""How much water moistens the fill, and how much does a bed want in a week?

Share of the volume that each kind of material holds against draining; a week's watering as a depth over the area.
It leaves out rain, and what the crops of one's own climate ask for.

References
----------
Available water: loam 1.5 to 2.1 in/ft, USDA NRCS feel-and-appearance pages, seen; sand 0.6 to 1.2 in/ft, memory;
compost and coarse wood: common practice, no source.
One inch a week: watering pages, seen. Drip 0.85, sprinkler 0.70: garden press, seen second-hand.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from siteplan.fill.recipe import known
from siteplan.fill.results import Layer
from siteplan.land.materials import Material

INCH_A_WEEK = 0.0254  # m
#: water held against draining and open to roots, as a share of the volume, by kind and by name
HELD_BY_KIND = {"coarse": 0.10, "mineral": 0.15, "organic": 0.25, "amendment": 0.25, "sheet": 0.30}
HELD_BY_NAME = {"sand": 0.075, "gravel": 0.02}


def moistening_water(layers: Sequence[Layer], materials: Mapping[str, Material], *, already: float = 0.5) -> float:
    """Return the water that brings fresh fill to field capacity: as moist as a wrung-out sponge.

    Parameters
    ----------
    layers : sequence of Layer
    materials : mapping of str to Material
    already : float
        Share of what it can hold that is in it as delivered, 0 (dry) to 1.

    Returns
    -------
    float
        [m3]

    Examples
    --------
    >>> soil = Material(name="topsoil", kind="mineral", density=1250, density_wet=1500, settling_first=0.1,
    ...                 settling_later=0.03, shovel_rate=0.5)
    >>> layer = Layer(bed="a", order=0, material="topsoil", bottom=0, top=1, volume=2, mass=2500, settled=0.9)
    >>> moistening_water([layer], {"topsoil": soil}), moistening_water([layer], {"topsoil": soil}, already=1)
    (0.15, 0.0)
    """
    if not 0 <= already <= 1:
        raise ValueError(f"already is {already:g}, must be at least 0 and at most 1")
    held = 0.0
    for layer in layers:
        by_kind = HELD_BY_KIND.get(known(layer.material, materials).kind, 0.15)
        held += layer.volume * HELD_BY_NAME.get(layer.material, by_kind)
    return held * (1 - already)


def watering(area: float, *, depth: float = INCH_A_WEEK, efficiency: float = 1.0) -> float:
    """Return the water that stands `depth` deep over an area.

    Parameters
    ----------
    area : float
        [m2]
    depth : float
        One inch, a usual week's need. [m]
    efficiency : float
        Share that reaches the roots: 0.85 by drip, 0.70 by sprinkler.

    Returns
    -------
    float
        [m3]

    Examples
    --------
    >>> round(watering(32 * 0.09290304) * 1000, 1)
    75.5
    """
    if not 0 < efficiency <= 1:
        raise ValueError(f"efficiency is {efficiency:g}, must be above 0 and at most 1")
    return area * depth / efficiency


def hose_hours(volume: float, flow: float) -> float:
    """Return how long a hose runs for a volume.

    Parameters
    ----------
    volume : float
        [m3]
    flow : float
        [m3/h]

    Returns
    -------
    float
        [hours]

    Examples
    --------
    >>> hose_hours(0.6, 1.2)
    0.5
    """
    if not flow > 0:
        raise ValueError(f"flow is {flow:g} m3/h, must be above 0")
    return volume / flow

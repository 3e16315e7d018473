"""How fast, how hard and how tiring is the work with a barrow?

Walking and wheeling speeds, guideline values for pushing and lifting, and energy: each constant with its source. The
figures are averages; strength, health and heat are for the worker to judge.
"""

from __future__ import annotations

import math

from siteplan.land.site import HaulSettings, Labour
from siteplan.land.unit_sizes import GRAVITY, POUND

# Defaults of the settings in site.toml; all of them common practice, no source.
LOADED_SPEED, EMPTY_SPEED = HaulSettings.loaded_speed, HaulSettings.empty_speed  # m/s, on level pavement
BODY_MASS = Labour.body_mass  # kg

# Gradient at which a wheeled load costs twice the time, 8 to 16 %.
# Herzog 2016, quoted in the manual of an R package (seen second-hand).
CRITICAL_GRADE = 0.10  # rise / run

# Tobler 1993, Three presentations on geographical analysis and modeling, NCGIA 93-1 (seen).
TOBLER_DECAY = 3.5
TOBLER_BEST = -0.05

# Two people can fill one barrow at a time; a third waits. Common practice, no source.
SHOVELS_AT_ONE_TRAY = 2

# A builder's bucket, filled to what one hand carries well. Common practice, no source.
BUCKET_VOLUME = 0.012  # m3
BUCKET_LOAD = 12.0  # kg
BUCKETS_AT_ONCE = 2

# HSE L23 and INDG143, lifting filter held close at elbow height: 25 kg for men, 16 kg for women
# (seen second-hand, in two training sheets).
BAG_FILTER_MEN, BAG_FILTER_WOMEN = 25.0, 16.0  # kg

# HSE L23, Manual handling, the filter for pushing and pulling (seen on www.hse.gov.uk/msd/pushpull/assessment.htm):
# to start or stop a load 20 kgf for men and 15 kgf for women, to keep it moving 10 kgf and 7 kgf.
START_FILTER_MEN, START_FILTER_WOMEN = 20 * GRAVITY, 15 * GRAVITY  # N
KEEP_FILTER_MEN, KEEP_FILTER_WOMEN = 10 * GRAVITY, 7 * GRAVITY  # N

# Compendium of Physical Activities (2011, code 08255: wheelbarrow; 2024: shovelling by lb per minute) (seen).
MET_WHEELBARROW = 5.5
SHOVEL_MET = ((10.0, 5.0), (16.0, 6.5), (math.inf, 8.8))  # below so many lb/min -> MET


def shovel_met(mass_per_minute: float) -> float:
    """Return the activity value (MET) of shovelling.

    Parameters
    ----------
    mass_per_minute : float
        Mass that one person loads. [kg/min]

    Notes
    -----
    The table leaves a gap between 15 and 16 lb/min; it is closed with the lower class.

    References
    ----------
    2024 Adult Compendium of Physical Activities: below 10 lb/min 5.0, 10 to 15 lb/min 6.5, above 16 lb/min 8.8.

    Examples
    --------
    >>> shovel_met(4.0), shovel_met(6.0), shovel_met(10.0)
    (5.0, 6.5, 8.8)
    """
    pounds = mass_per_minute / POUND
    return next(met for below, met in SHOVEL_MET if pounds < below)


def energy(met: float, hours: float, *, body_mass: float = BODY_MASS) -> float:
    """Return the energy that one person spends. [kcal]

    References
    ----------
    Compendium of Physical Activities: kcal = MET x body mass in kg x hours.

    Examples
    --------
    >>> energy(MET_WHEELBARROW, 1.0, body_mass=80)
    440.0
    """
    return met * body_mass * hours

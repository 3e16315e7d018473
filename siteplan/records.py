"""What is in the answers to the questions?

Records: one report for each bed, and all answers together. They are made in `siteplan.answers`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from siteplan.fill.fill_results import FillPlan
    from siteplan.haul.haul_results import HaulPlan
    from siteplan.land.features import Bed
    from siteplan.land.findings import Caution
    from siteplan.land.site import Site
    from siteplan.place.crops.crop_fit import CropFit
    from siteplan.place.headings.headings import Headings
    from siteplan.place.headings.shifts import Shifts
    from siteplan.place.search.search_results import PlaceResult
    from siteplan.sun.bed_sun import BedSun
    from siteplan.sun.doubt.doubt import SunDoubt
    from siteplan.sun.doubt.sure_map import SureMap
    from siteplan.sun.light.daily_light import BedLight, LightMaps
    from siteplan.sun.sun_maps import SunMaps
    from siteplan.walls.walls_results import WallPlan


@dataclass(frozen=True)
class BedReport:
    """Sun, light and crops at one bed.

    Attributes
    ----------
    bed : Bed
    sun : BedSun
        As the bed stands.
    headings : Headings or None
        Its sun at other headings; None if not requested.
    shifts : Shifts or None
        Its sun a step away in each of eight directions; None if not requested.
    crops : tuple of CropFit
        Which crops suit it by light and depth, those that suit first; of a bed in tiers where its soil is deepest.
    tier_crops : tuple of (int, tuple of CropFit)
        The same for each tier that has a ledge, by its own light and depth; empty for a bed of one frame.
    lit : ndarray, shape (12, 48), or None
        Share of the soil that is lit by month and half hour of the clock; None where it was not asked, or where the
        beds are so many that it would take long. [0 to 1]
    light : BedLight or None
        Energy of sun and sky, on clear days and in a typical year; None where the sun was not asked.
    doubt : SunDoubt or None
        How sure its sun is; None where the sun was not asked, or where the beds are many.
    """

    bed: Bed
    sun: BedSun
    headings: Headings | None = None
    shifts: Shifts | None = None
    crops: tuple[CropFit, ...] = ()
    tier_crops: tuple[tuple[int, tuple[CropFit, ...]], ...] = ()
    lit: NDArray[np.float64] | None = None
    light: BedLight | None = None
    doubt: SunDoubt | None = None


@dataclass(frozen=True, eq=False, repr=False)
class Answers:
    """All answers; what was not requested is None.

    Attributes
    ----------
    site : Site
    maps : SunMaps or None
    beds : tuple of BedReport
    places : PlaceResult or None
    fill : FillPlan or None
    haul : HaulPlan or None
    cautions : tuple of Caution
        Of all parts, each once.
    light_maps : LightMaps or None
    walls : WallPlan or None
        What is built; asked with the fill.
    sure_map : SureMap or None
        Where the season's sun is surely enough; None where it was not asked.
    """

    site: Site
    maps: SunMaps | None
    beds: tuple[BedReport, ...]
    places: PlaceResult | None
    fill: FillPlan | None
    haul: HaulPlan | None
    cautions: tuple[Caution, ...]
    light_maps: LightMaps | None = None
    walls: WallPlan | None = None
    sure_map: SureMap | None = None

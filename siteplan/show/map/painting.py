"""Which maps can be shown on the ground of the page?

Hours of sun, light for plants, and the share of the sky that is seen. Each has thirteen maps (the months and the
season) and its own scale, key, lines and text. See `assets/painting.js` for how a page paints them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from siteplan.land.grid import Grid
from siteplan.place.crops.crop_light import LIGHT_NEEDS
from siteplan.say.figures import MONTH_NAMES
from siteplan.say.lighting import light_days
from siteplan.show.charts.bed_charts import chart_top
from siteplan.show.charts.colours import (
    Scale,
    png_address,
    scale_colours,
    scale_gradient,
    scale_steps,
    sun_picture,
)
from siteplan.show.map.packing import STEP_H, packed_steps

if TYPE_CHECKING:
    from siteplan.records import Answers
    from siteplan.sun.light.daily_light import LightMaps
    from siteplan.sun.sun_maps import SunMaps

Floats = NDArray[np.float64]

STEP_MOL = 0.1  # mol/m2 a day in one step of a packed map
STEP_SHARE = 0.002  # share of the sky in one step
_LIGHT_ROUND = 5.0  # mol/m2 a day; the scale of light ends at a multiple of this


@dataclass(frozen=True)
class Line:
    """A value that is marked on the scale, and drawn as a line on the map.

    Attributes
    ----------
    kind : str
        ``need`` (a dashed line) or ``plenty`` (a solid line).
    value : float
        In the painting's unit.
    text : str
        Label of the line.
    """

    kind: str
    value: float
    text: str


@dataclass(frozen=True, eq=False)
class Painting:
    """One set of maps that the ground can be painted with.

    Attributes
    ----------
    key : str
        ``sun``, ``light`` or ``sky``.
    name : str
        Name on the page's control.
    words : str
        What the picture shows, without the month.
    unit : str
        Unit written under the scale.
    grid : Grid
    maps : ndarray, shape (13, rows, columns)
        The months, then the season; NaN where there is no ground.
    step, top : float
        Size of one step of the packed maps, and the upper end of the scale, in the painting's unit.
    marks : tuple of (float, str)
        Position along the scale from 0 to 1, and the label there.
    lines : tuple of Line
    line_words : str
        Text of the control that shows the lines.
    said : dict
        What else the page needs to say a value in words.
    """

    key: Scale
    name: str
    words: str
    unit: str
    grid: Grid
    maps: Floats
    step: float
    top: float
    marks: tuple[tuple[float, str], ...]
    lines: tuple[Line, ...]
    line_words: str
    said: dict[str, Any] = field(default_factory=dict)

    def season_picture(self) -> str:
        """Return the map of the season as a ``data:`` URL; it shows until a script runs, or without one."""
        return png_address(sun_picture(self.maps[12], top=self.top, of=self.key))

    def data(self) -> dict[str, Any]:
        """Return the data that the page's scripts paint from."""
        grid = self.grid
        return {
            "west": grid.west,
            "north": grid.north,
            "cell": grid.cell,
            "rows": grid.rows,
            "columns": grid.columns,
            "step": self.step,
            "top": self.top,
            "words": self.words,
            "name": self.name,
            "names": [*MONTH_NAMES, "the growing season"],
            "lines": [{"kind": line.kind, "value": line.value, "text": line.text} for line in self.lines],
            "line_words": self.line_words,
            "colours": scale_colours(of=self.key).ravel().tolist(),
            "packed": packed_steps(self.maps, self.step),
            **self.said,
        }

    def scale(self) -> dict[str, Any]:
        """Return the bar, marks and text of the key, for the page's template."""
        lines = " and ".join(line.text for line in self.lines)
        return {
            "key": self.key,
            "name": self.name,
            "unit": self.unit,
            "spoken": f"Colour scale of {self.unit}: dark for none, light for {self.marks[-1][1]}; marked: {lines}",
            "gradient": scale_gradient(of=self.key),
            "marks": [{"share": f"{share * 100:.2f}", "label": label} for share, label in self.marks],
            "lines": [
                {"kind": line.kind, "share": f"{min(line.value / self.top, 1) * 100:.2f}"} for line in self.lines
            ],
            "line_words": self.line_words,
        }


def paintings(plan: Answers) -> tuple[Painting, ...]:
    """Return the sets of maps, hours of sun first; empty if the sun was not computed."""
    if plan.maps is None:
        return ()
    sun = _sun(plan, plan.maps)
    if plan.light_maps is None or not np.isfinite(plan.light_maps.sky_share).any():
        return (sun,)
    return (sun, _light(plan, plan.light_maps), _sky(plan.light_maps))


def _sun(plan: Answers, maps: SunMaps) -> Painting:
    """Return the hours of direct sun."""
    need, plenty, top = plan.site.sun.need, plan.site.sun.plenty, chart_top(plan)
    return Painting(
        key="sun",
        name="Hours of sun",
        words="Hours of direct sun a day",
        unit="hours of direct sun a day",
        grid=maps.grid,
        maps=np.concatenate([maps.month_h, maps.season_h[np.newaxis]]),
        step=STEP_H,
        top=top,
        marks=tuple(scale_steps(top)),
        lines=(Line("need", need, _hours(need)), Line("plenty", plenty, _hours(plenty))),
        line_words=f"Lines at {need:g} h (enough) and {plenty:g} h (plenty)",
        said={"need": need, "plenty": plenty, "hint": "hours of sun"},
    )


def _hours(hours: float) -> str:
    return f"{round(hours, 1):g} h"


def _light(plan: Answers, maps: LightMaps) -> Painting:
    """Return the daily light integral of a typical year, or of clear days if there is no weather file."""
    light = np.concatenate([maps.month_light.dli_mol_m2, maps.light.dli_mol_m2[np.newaxis]])
    top = light_top(light)
    mark_step = 5.0 if top <= 25 else 10.0
    days = light_days(clouds=plan.site.weather is not None)
    clouds = "" if plan.site.weather is not None else ": clouds left out"
    leafy, fruiting = LIGHT_NEEDS
    return Painting(
        key="light",
        name="Light for plants",
        words=f"Light for plants {days}, mol/m² a day",
        unit=f"mol/m² of light for plants a day {days}{clouds}",
        grid=maps.grid,
        maps=light,
        step=STEP_MOL,
        top=top,
        marks=tuple((mol / top, f"{mol:g}") for mol in np.arange(0, top + 1e-9, mark_step).tolist()),
        lines=(
            Line("need", leafy.least, f"{leafy.least:g} mol"),
            Line("plenty", fruiting.least, f"{fruiting.least:g} mol"),
        ),
        line_words=f"Lines at {leafy.least:g} mol/m² (leafy greens) and {fruiting.least:g} mol/m² (fruiting crops)",
        said={
            "days": days,
            "wants": [{"group": want.group, "least": want.least, "good": want.good} for want in LIGHT_NEEDS],
            "hint": "light for plants",
        },
    )


def light_top(light: Floats) -> float:
    """Return the upper end of a scale of light: the largest value, rounded up to a multiple of 5. [mol/m2 a day]

    Examples
    --------
    >>> light_top(np.array([12.0, 56.9, np.nan])), light_top(np.array([0.0]))
    (60.0, 5.0)
    """
    most = float(np.nanmax(light))
    return max(math.ceil(round(most, 6) / _LIGHT_ROUND), 1) * _LIGHT_ROUND


def _sky(maps: LightMaps) -> Painting:
    """Return the share of the sky that is seen (sky view)."""
    return Painting(
        key="sky",
        name="Sky seen",
        words="Share of the sky seen",
        unit="% of the sky seen, weighed as level ground gets its light",
        grid=maps.grid,
        maps=np.concatenate([maps.month_sky_share, maps.sky_share[np.newaxis]]),
        step=STEP_SHARE,
        top=1.0,
        marks=tuple((share / 5, f"{share * 20}") for share in range(6)),
        lines=(Line("need", 0.5, "50 %"),),
        line_words="Line at 50 % of the sky",
        said={"hint": "how much of the sky is seen"},
    )

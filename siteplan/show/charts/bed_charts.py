"""Which charts are there for one bed?

Its sun by month and by half hour, its light, the gain from turning or moving it, and its layers.
The cards and the work sheet have the text beside the charts.
"""

from __future__ import annotations

import base64
import html
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from markupsafe import Markup

from siteplan.land.outline import smallest_rectangle
from siteplan.land.values import printable
from siteplan.say.lighting import light_days
from siteplan.show.charts.bars import half_hours, light_bars, month_bars
from siteplan.show.charts.colours import scale_top
from siteplan.show.charts.roses import heading_rose, shifts_rose
from siteplan.show.charts.sections import layer_cut
from siteplan.show.charts.tier_sections import tier_cut
from siteplan.show.page_parts import own_asset
from siteplan.sun.bed_sun import need_for

if TYPE_CHECKING:
    from siteplan.land.features import Bed
    from siteplan.records import Answers, BedReport


@dataclass(frozen=True, repr=False)
class Chart:
    """A chart that carries its own style and shows itself in a notebook.

    Attributes
    ----------
    svg : str
        The picture as SVG, ready to be saved to a file.
    """

    svg: str

    @property
    def words(self) -> str:
        """What the chart shows, in one sentence, as HTML."""
        label = re.search('aria-label="([^"]*)"', self.svg)
        return label[1] if label else ""

    def __repr__(self) -> str:
        """Return the chart's sentence, shortened."""
        return f"<Chart: {printable(html.unescape(self.words))}>"

    def _repr_html_(self) -> str:
        """Return the chart as a separate image, so that its style affects nothing else in the notebook."""
        content = base64.b64encode(self.svg.encode("utf-8")).decode("ascii")
        return (
            f'<img style="width:100%; max-width:480px" alt="{self.words}" src="data:image/svg+xml;base64,{content}">'
        )


def charts_alone(plan: Answers, bed_id: str) -> dict[str, Chart]:
    """Return the charts of one bed, each with its own style."""
    style = own_asset("chart_alone.css", "charts.css")
    with_namespace = '<svg xmlns="http://www.w3.org/2000/svg" '
    charts = bed_charts(plan, bed_id)
    return {
        name: Chart(str(chart).replace("<svg ", with_namespace, 1).replace(">", f"><style>{style}</style>", 1))
        for name, chart in charts.items()
    }


def bed_charts(plan: Answers, bed_id: str) -> dict[str, Markup]:
    """Return the charts of one bed, for a page that already holds their styles.

    Parameters
    ----------
    plan : Answers
    bed_id : str

    Returns
    -------
    dict of str to Markup
        Keys are ``months``, ``hours``, ``light``, ``headings``, ``moves`` and ``layers``; only those that were
        computed are present.
    """
    layers = [layer for layer in plan.fill.layers if layer.bed == bed_id] if plan.fill else []
    report = next((other for other in plan.beds if other.bed.id == bed_id), None)
    charts = _sun_charts(plan, report) if report else {}
    if layers:
        charts["layers"] = bed_cut(plan, plan.site.bed(bed_id))
    return charts


def bed_cut(plan: Answers, bed: Bed, *, style: str = "") -> Markup:
    """Return a cross-section of a bed's layers; for a bed with tiers, it shows the steps."""
    layers = [layer for layer in plan.fill.layers if layer.bed == bed.id] if plan.fill else []
    kinds, units = material_kinds(plan), plan.site.units
    if len(bed.frames) == 1:
        among = [layer.volume for layer in plan.fill.layers] if plan.fill else []
        return layer_cut(layers, kinds, units, among=among, style=style)
    return tier_cut(bed, layers, kinds, units, style=style)


def _sun_charts(plan: Answers, report: BedReport) -> dict[str, Markup]:
    """Return the charts of a bed's sun and light."""
    need = need_for(plan.site, report.bed)
    months = [float(hours) for hours in report.sun.month_sun_h]
    charts = {"months": month_bars(months, need=need, top=chart_top(plan))}
    if report.lit is not None:
        charts["hours"] = half_hours(report.lit, clock=plan.site.timezone)
    light = report.light
    if light is not None:
        open_ground = light.open_clear if light.open_typical is None else light.open_typical
        charts["light"] = light_bars(light.best, open_ground, days=light_days(clouds=light.typical is not None))
    if report.headings is not None:
        charts["headings"] = heading_rose(report.headings, now=smallest_rectangle(report.bed.outline)[2])
    if report.shifts is not None:
        charts["moves"] = shifts_rose(report.shifts)
    return charts


def material_kinds(plan: Answers) -> dict[str, str]:
    """Return the kind of each material."""
    return {name: material.kind for name, material in plan.site.materials.items()}


def chart_top(plan: Answers) -> float:
    """Return the upper end that all charts of sun and the map's scale share. [hours a day]"""
    if plan.maps is not None:
        return scale_top(plan.maps.longest_h)
    return scale_top([report.sun.month_sun_h for report in plan.beds]) if plan.beds else 12.0

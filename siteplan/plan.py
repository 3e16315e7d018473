"""What is a plan?

The answers to the questions, with methods for the document, tables, charts, map and files made from them.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, fields
from pathlib import Path
from typing import TYPE_CHECKING, Any

from siteplan.answers import answers
from siteplan.land.errors import Fault, InputError
from siteplan.land.site import Site
from siteplan.question import QUESTIONS, NewBed, Progress, bed_faults, checked_question
from siteplan.records import Answers

if TYPE_CHECKING:
    import geopandas as gpd
    import pandas as pd
    from shapely import Polygon

    from siteplan.show.charts.bed_charts import Chart
    from siteplan.show.map.figure import QuietMap


@dataclass(frozen=True, eq=False, repr=False)
class Plan(Answers):
    """The answers, with methods for tables, charts, maps and files; what was not requested is None.

    It can be pickled, and shows itself as a table in a notebook.

    Attributes
    ----------
    site : Site
        The site of the plan.
    maps : SunMaps or None
        Hours of direct sun over the property: ``grid``, ``month_h``, shape (12, rows, columns), ``season_h``. [h/day]
    light_maps : LightMaps or None
        Light, and the share of the sky seen.
    sure_map : SureMap or None
        ``share`` of the draws in which the ground gets the season's hours that crops want, on the grid of ``maps``.
    beds : tuple of BedReport
        Each bed's ``sun``, ``headings``, ``shifts``, ``crops`` and ``light``.
    places : PlaceResult or None
        ``places``, best first, each with its reasons in ``why``.
    fill : FillPlan or None
        ``layers``, ``purchase``, ``total_cost`` and what follows in later years.
    haul : HaulPlan or None
        ``routes``, ``loads``, ``order`` of work, ``trips``, ``total_minutes``.
    cautions : tuple of Caution

    Examples
    --------
    >>> import siteplan
    >>> plan = siteplan.plan_site(siteplan.demo_site(), ask=["fill"])
    >>> isinstance(plan, siteplan.Plan)
    True
    >>> plan
    <Plan of "14 Quillback Lane": 3 beds, fill 3.1 m3>
    """

    def __repr__(self) -> str:
        """Return a summary in one line."""
        from siteplan.show.summary import summary_text

        return summary_text(self)

    def _repr_html_(self) -> str:
        """Return the table that a notebook shows."""
        from siteplan.show.summary import summary_html

        return summary_html(self)

    def document(self) -> dict[str, Any]:
        """Return the contents of plan.json."""
        from siteplan.show.tables.document import plan_document

        return plan_document(self)

    def why(self, rank: int = 1) -> tuple[str, ...]:
        """Return the reasons for the place of a rank and its drawbacks, as sentences in the site's units.

        Raises
        ------
        KeyError
            If no place has that rank.
        """
        from siteplan.say.place_reasons import why

        places = self.places
        for place in places.places if places else ():
            if places is not None and place.rank == rank:
                return why(place, places, self.site.units)
        raise KeyError(rank)

    def turning(self, bed_id: str) -> tuple[str, ...]:
        """Return the gains from turning and moving a bed, as sentences; none if that was not requested.

        Raises
        ------
        KeyError
            If the plan has no bed of that id.
        """
        from siteplan.say.placing import heading_sentence, shift_sentence

        for report in self.beds:
            if report.bed.id == bed_id:
                sentences = [heading_sentence(report.headings)] if report.headings else []
                return (*sentences, *([shift_sentence(report.shifts, self.site.units)] if report.shifts else []))
        raise KeyError(bed_id)

    def sun_table(self) -> pd.DataFrame:
        """Return the sun at each bed, in hours a day by month and in the season."""
        from siteplan.show.tables.tables import sun_table

        return sun_table(self)

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return all answers as tables: sun, headings, places, layers, shopping, loads; column names have units."""
        from siteplan.show.tables import tables

        return {
            "sun": tables.sun_table(self),
            "headings": tables.headings_table(self),
            "places": tables.places_table(self),
            "layers": tables.layers_table(self),
            "shopping": tables.shopping_table(self),
            "loads": tables.loads_table(self),
        }

    def layers(self) -> dict[str, gpd.GeoDataFrame]:
        """Return beds, places, routes, piles and features in longitude and latitude."""
        from siteplan.show.tables.tables import geographic_layers

        return geographic_layers(self)

    def charts(self, bed_id: str) -> dict[str, Chart]:
        """Return the charts of one bed, as far as requested; each shows itself in a notebook.

        Parameters
        ----------
        bed_id : str

        Returns
        -------
        dict of str to Chart
            ``months`` and ``hours`` of sun, ``light``, ``headings``, ``moves``, ``layers``; each has its ``svg``.

        Examples
        --------
        >>> import siteplan
        >>> plan = siteplan.plan_site(siteplan.demo_site(), ask=["fill"])
        >>> list(plan.charts("new-bed"))
        ['layers']
        """
        from siteplan.show.charts.bed_charts import charts_alone

        faults = [Fault("", "bed_id", text) for text in bed_faults([bed_id], [bed.id for bed in self.site.beds])]
        if faults:
            raise InputError(faults)
        return charts_alone(self, bed_id)

    def map(self, *, tiles: bool = False) -> QuietMap:
        """Return the interactive map; it shows itself in a notebook."""
        from siteplan.show.map.site_map import site_map

        return site_map(self, tiles=tiles)

    def write(self, out: str | Path, *, tiles: bool = False, pdf: bool = False, parquet: bool = False) -> Path:
        """Write all files of a plan to a folder, all or none, and return the folder.

        Files in it that siteplan did not write, or that were changed, are kept; a warning names those moved aside.
        """
        from siteplan.show.writing import write_plan

        return write_plan(self, Path(out), tiles=tiles, pdf=pdf, parquet=parquet)


def plan_site(
    site: Site,
    *,
    ask: Collection[str] = QUESTIONS,
    bed_ids: Collection[str] | None = None,
    length: float | None = None,
    width: float | None = None,
    count: int | None = None,
    sizes: Sequence[tuple[float, float]] | None = None,
    shape: Polygon | None = None,
    months: Collection[int] | None = None,
    sure: bool = False,
    progress: Progress | bool | None = None,
) -> Plan:
    """Return the answers to the questions asked.

    Parameters
    ----------
    site : Site
    ask : collection of str
        Of ``sun``, ``place``, ``turn``, ``fill``, ``haul``.
    bed_ids : collection of str, optional
        Ids of the beds for ``sun`` and ``turn``; all if None. The fill is always that of all beds.
    length, width : float, optional
        Of a new bed; if None those of the first proposed bed, else the site's. [m]
    count : int, optional
        Number of places to find.
    sizes : sequence of (float, float), optional
        Length and width of several new beds, one place for each, instead of `length`, `width` and `count`. [m]
    shape : Polygon, optional
        Outline of a new bed that is not a rectangle, at any position and heading. [m]
    months : collection of int, optional
        Months over which the sun at a new bed is counted, 1 to 12; the growing season if None.
    sure : bool
        Whether to compute as well where on the property enough sun is sure.
    progress : callable or bool, optional
        Called with the question and its share done, 0 to 1; True prints the progress to stderr.

    Returns
    -------
    Plan

    Raises
    ------
    InputError
        If the question cannot be answered; with all its faults.

    Examples
    --------
    >>> import siteplan
    >>> plan = siteplan.plan_site(siteplan.demo_site(), ask=["fill"])
    >>> plan.tables()["shopping"]["material"].tolist()
    ['topsoil', 'compost', 'worm castings', 'board', 'board', 'post', 'screws']
    >>> siteplan.plan_site(plan.site, ask="fill")  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    ...
    siteplan.land.errors.InputError: ask: it is 'fill', must be a collection of questions, such as ["fill"] ...

    Another bar, such as tqdm's, follows by a callable of two lines::

        with tqdm(total=1) as bar:
            def tell(question, share):
                bar.set_description(question)
                bar.update(share - bar.n)

            plan_site(site, progress=tell)
    """
    new_bed = NewBed(length=length, width=width, count=count, sizes=sizes, shape=shape, months=months)
    question = checked_question(site, ask=ask, bed_ids=bed_ids, new_bed=new_bed, sure=sure)
    with _telling(progress) as tell:
        results = answers(site, question, progress=tell)
    return Plan(**{field.name: getattr(results, field.name) for field in fields(results)})


def _telling(progress: Progress | bool | None) -> AbstractContextManager[Progress | None]:  # noqa: FBT001
    """Return a context that gives the function to report progress to, or None."""
    if progress is True:
        from siteplan.show.progress import progress_line

        return progress_line()
    if not progress:
        return nullcontext(None)
    if not callable(progress):
        text = f"it is {progress!r}, must be True, or be callable with a question and its share done"
        raise InputError([Fault("", "progress", text)])
    return nullcontext(progress)

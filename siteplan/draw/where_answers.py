"""How are the page's questions about a place on earth answered?

Plain functions take the request's values and return an answer as JSON, or raise InputError for a faulty request.
`measure_answers` answers questions about north and heights.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from siteplan.draw.request_values import RequestValues
from siteplan.files.timezone import at_sea, country_name, zone_at
from siteplan.files.towns import CREDIT, found_towns, nearest_town
from siteplan.land.units import System
from siteplan.land.values import shown
from siteplan.land.whereabouts import LONGEST, Whereabouts, read_whereabouts
from siteplan.say.whereabouts import (
    clock_sentence,
    near_town_sentence,
    no_town_sentence,
    whereabouts_sentences,
)


def where_answer(values: Mapping[str, Any], *, units: System) -> dict[str, Any]:
    """Return the place that a typed text names: `POST /api/where`.

    Parameters
    ----------
    values : mapping
        ``text``: latitude and longitude as they were typed or pasted.
    units : str
        Of the sentences: metric or imperial.

    Returns
    -------
    dict
        ``latitude``, ``longitude`` [degrees], ``timezone`` and ``said``, a list of sentences.
    """
    request = RequestValues(values)
    text = request.text("text", longest=LONGEST)
    request.check()
    try:
        where = read_whereabouts(text)
    except ValueError as error:
        request.fault("text", str(error))
        request.check()
        raise
    return {
        "latitude": where.latitude,
        "longitude": where.longitude,
        "timezone": zone_at(where.longitude, where.latitude),
        "said": [*whereabouts_sentences(where), *_around(where, units)],
    }


def _around(where: Whereabouts, units: System) -> list[str]:
    """Return the nearest town and the time zone in sentences, so that a lost minus sign is noticed."""
    near_town = nearest_town(where.latitude, where.longitude)
    sentences = [
        near_town_sentence(
            near_town.town.label, distance=near_town.distance, east=near_town.east, north=near_town.north, units=units
        )
    ]
    zone = zone_at(where.longitude, where.latitude)
    return [*sentences, *([] if at_sea(zone) else [clock_sentence(zone)])]


def towns_answer(query: object) -> dict[str, Any]:
    """Return the towns whose name begins so: `GET /api/towns?q=`.

    Parameters
    ----------
    query : str
        What is typed so far.

    Returns
    -------
    dict
        ``towns``, at most ten, each with ``name``, ``region``, ``country`` (its name), ``latitude`` and
        ``longitude``; ``said``, a sentence if there are none; ``credit``, which the page shows.
    """
    request = RequestValues({})
    if not isinstance(query, str):
        request.fault("q", f"is {shown(query)}, must be the beginning of a town's name")
    request.check()
    towns = [
        {
            "name": town.name,
            "region": town.region,
            "country": country_name(town.country),
            "latitude": town.latitude,
            "longitude": town.longitude,
        }
        for town in found_towns(str(query))
    ]
    sentences = [no_town_sentence()] if str(query).strip() and not towns else []
    return {"towns": towns, "said": sentences, "credit": CREDIT}

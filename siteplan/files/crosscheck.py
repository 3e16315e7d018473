"""Do the features and the settings agree with one another?

Beds lie inside the boundary and off buildings, stock lies at piles that are drawn, no size looks like a wrong unit.
Problems that only a search or a plan can find are reported there.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import shapely
from shapely import Point, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.files.drawing.naming import NamedFeature
from siteplan.files.look_alike import look, unseen_difference
from siteplan.files.remarks import Remarks, label
from siteplan.files.site_toml.settings import FILE as SETTINGS_FILE
from siteplan.files.site_toml.settings import Settings
from siteplan.land.features import (
    Bed,
    Building,
    Door,
    Feature,
    Fence,
    Gate,
    Hedge,
    Keepout,
    MonthDay,
    Pile,
    Tap,
    Tree,
)
from siteplan.land.layers import COARSE
from siteplan.land.outline import solid_parts
from siteplan.land.site import Season
from siteplan.land.tiers import Frame
from siteplan.land.units import length_text
from siteplan.land.values import nearest, shown

SLACK = 0.01  # m; how closely a tape is read over a property
OFF_FENCE = 0.3  # m; a gate that is drawn farther off its fence may be meant for another place
TOUCH = 0.01  # m2; overlap allowed for two outlines that are drawn side by side
REACH = 0.8  # m from the edge; common practice, no source: beyond it a bed cannot be tended without stepping in
MIDSUMMER = MonthDay(7, 15)  # outside the tropics the last frost of spring is earlier, the first of autumn later
TROPIC = 23.44  # degrees; between the tropics the year has no such two halves
MOST_CELLS = 10_000_000
LARGEST = 3000.0  # m across
SMALLEST = 1.0  # m2
# default seasons, north and south, for middle latitudes: common practice, no source; a caution says so
_SEASONS = (
    Season(last_frost=MonthDay(4, 15), first_frost=MonthDay(10, 15)),
    Season(last_frost=MonthDay(10, 15), first_frost=MonthDay(4, 15)),
)


def check_one_boundary(named: Sequence[NamedFeature], file: str, remarks: Remarks) -> None:
    """Note a drawing without a boundary, or with several."""
    boundaries = [feature for feature in named if feature.kind == "boundary"]
    if not boundaries:
        remarks.fault(file, "", "has no boundary; draw one Polygon of kind boundary around the property")
    elif len(boundaries) > 1:
        listed = ", ".join(f'"{feature.id[:60]}"' for feature in boundaries)
        remarks.fault(file, "", f"has {len(boundaries)} boundaries ({listed}), must have exactly one")


def note_heights(named: Sequence[NamedFeature], remarks: Remarks) -> None:
    """Note coordinates with heights, which are not used: height is a property."""
    with_heights = [feature for feature in named if feature.shape is not None and feature.shape.has_z]
    if with_heights:
        others = f" So are those of {len(with_heights) - 1} more." if len(with_heights) > 1 else ""
        text = (
            f"Its coordinates have heights, which are not used: height and terrain say how high things are.{others}"
        )
        remarks.caution("heights-not-used", with_heights[0].id, text)


def check_boundary(boundary: Polygon, settings: Settings, file: str, remarks: Remarks) -> None:
    """Note a boundary that is too small or too large for a property, or has too many cells."""
    west, south, east, north = boundary.bounds
    across = max(east - west, north - south)
    cells = (east - west) * (north - south) / settings.sun.cell**2
    if boundary.area < SMALLEST:
        text = f"encloses {boundary.area:.2g} m2; is it drawn in the right unit?"
        remarks.fault(file, "boundary", text)
    elif across > LARGEST:
        text = f"is {remarks.far(across)} across, must be at most {remarks.far(LARGEST)}; draw the part to be planted"
        remarks.fault(file, "boundary", text)
    elif cells > MOST_CELLS:
        least = settings.sun.cell * (cells / MOST_CELLS) ** 0.5
        text = remarks.in_site_units(
            f"cell is {settings.sun.cell:g} m, which makes {cells / 1e6:.0f} million cells; "
            f"over this property it must be at least {least + 0.005:.2f} m"
        )
        remarks.fault(SETTINGS_FILE, "[sun]", text)


def check_features(boundary: Polygon | None, features: Sequence[Feature], file: str, remarks: Remarks) -> None:
    """Note faults and oddities between features."""
    beds = [feature for feature in features if isinstance(feature, Bed)]
    for bed in beds:
        _check_bed(bed, boundary, features, file, remarks)
    for bed, second in itertools.combinations(beds, 2):
        if _shared(bed.outline, second.outline) > TOUCH:
            remarks.fault(file, label("bed", bed.id), f'lies on bed "{second.id[:60]}"; beds must not overlap')
    for feature in features:
        if boundary is not None and isinstance(feature, Pile | Tap | Door):
            _check_reachable(feature, boundary, remarks)
        if isinstance(feature, Pile):
            _check_indoors(feature, features, remarks)
        if isinstance(feature, Gate):
            _check_gate(feature, features, remarks)
    _check_twice(features, remarks)
    _check_specks(features, remarks)


def _check_specks(features: Sequence[Feature], remarks: Remarks) -> None:
    """Note features whose outline is too small to cast shade."""
    for feature in features:
        if isinstance(feature, Building | Tree | Hedge | Fence) and not solid_parts(_ground_of(feature)):
            text = "Its outline is smaller than a square millimetre, so it gives no shade. Is it a mistake?"
            remarks.caution_once("speck", "", feature.id, text)


def _ground_of(feature: Building | Tree | Hedge | Fence) -> BaseGeometry:
    return feature.footprint if isinstance(feature, Fence) else feature.outline


def _shared(first: BaseGeometry, second: BaseGeometry) -> float:
    """Return the area that two shapes share. [m2]"""
    if not shapely.intersects(first, second):
        return 0.0
    return float(shapely.intersection(first, second).area)


def _check_bed(bed: Bed, boundary: Polygon | None, features: Sequence[Feature], file: str, remarks: Remarks) -> None:
    where = label("bed", bed.id)
    if boundary is not None and not boundary.buffer(SLACK).covers(bed.outline):
        share_outside = bed.outline.difference(boundary).area / bed.outline.area
        part = "" if share_outside > 0.999 else f"{share_outside:.0%} "
        text = f"lies {part}outside the boundary; move it inside, or draw the boundary around it"
        remarks.fault(file, where, text)
    for frame in bed.frames:
        _check_room(bed, frame, file, remarks)
    if bed.filled and bed.proposed:
        remarks.fault(file, where, "is filled and proposed; one that is full cannot be placed elsewhere: drop one")
    if not bed.outline.buffer(-REACH - SLACK).is_empty:
        widest = "5 ft 3 in" if remarks.system == "imperial" else f"{2 * REACH:g} m"
        text = f"It is wider than {widest} in places: its middle cannot be reached without stepping in."
        remarks.caution("bed-too-wide", bed.id, text)
    _check_overlaps(bed, features, file, remarks)


def _check_overlaps(bed: Bed, features: Sequence[Feature], file: str, remarks: Remarks) -> None:
    """Note a bed that lies on other features; on a building that stands on the ground it is a fault."""
    for feature in features:
        if isinstance(feature, Building):
            if feature.base < bed.height and _shared(bed.outline, feature.outline) > TOUCH:
                text = f'lies on building "{feature.id[:60]}"; move it, or give the building its base'
                remarks.fault(file, label("bed", bed.id), text)
        elif isinstance(feature, Hedge | Keepout) and _shared(bed.outline, feature.outline) > TOUCH:
            reason = f" ({shown(feature.reason)})" if isinstance(feature, Keepout) else ""
            kind = type(feature).__name__.lower()
            remarks.caution("bed-overlaps", bed.id, f"It lies on {label(kind, feature.id)}{reason}.")
        elif isinstance(feature, Tree) and bed.outline.contains(feature.trunk):
            remarks.caution("bed-overlaps", bed.id, f"The trunk of {label('tree', feature.id)} stands in it.")
        elif isinstance(feature, Fence) and _shared(bed.outline, feature.footprint) > TOUCH:
            remarks.caution("bed-overlaps", bed.id, f"{label('fence', feature.id)} runs through it.")


def _check_room(bed: Bed, frame: Frame, file: str, remarks: Remarks) -> None:
    """Note a frame whose walls leave no room inside."""
    if frame.outline.buffer(-max(bed.wall_thickness, 1e-6)).is_empty:
        which = f", tier {frame.number}" if bed.tiers else ""
        walls = length_text(bed.wall_thickness, remarks.system)
        remarks.fault(file, label("bed", bed.id) + which, f"its walls of {walls} leave no room inside")


def _check_reachable(feature: Pile | Tap | Door, boundary: Polygon, remarks: Remarks) -> None:
    place = feature.shape if isinstance(feature, Pile) else feature.place
    distance = float(shapely.distance(boundary, place))
    if distance > SLACK:
        text = f"It lies {length_text(distance, remarks.system)} outside the boundary; no way to it is looked for."
        remarks.caution("outside-boundary", feature.id, text)


def _check_indoors(pile: Pile, features: Sequence[Feature], remarks: Remarks) -> None:
    """Note a pile within a building that stands on the ground: no barrow gets in."""
    buildings = [feature for feature in features if isinstance(feature, Building) and feature.base == 0]
    for building in buildings:
        if building.outline.covers(shapely.point_on_surface(pile.shape)):
            text = (
                f"It lies inside {label('building', building.id)}, where no way to it is looked for. Draw it where "
                "the barrow is loaded, or give the building its base if it is an open shelter."
            )
            remarks.caution("pile-indoors", pile.id, text)
            return


def _check_gate(gate: Gate, features: Sequence[Feature], remarks: Remarks) -> None:
    """Note a gate that is drawn off its barrier: it was moved onto the nearest one, or it opens nothing."""
    barriers = [barrier for barrier in features if isinstance(barrier, Fence | Hedge)]
    offset = float(gate.place.distance(gate.line))
    if offset > OFF_FENCE:
        nearest_barrier = min(barriers, key=lambda barrier: float(_ground_of(barrier).distance(gate.line)))
        name = label(type(nearest_barrier).__name__.lower(), nearest_barrier.id)
        offset_text = length_text(offset, remarks.system)
        text = f"It is drawn {offset_text} off {name} and is taken to stand in it; draw it on the line."
        remarks.caution("gate-off-fence", gate.id, text)
        return
    near_barriers = shapely.union_all([_ground_of(barrier) for barrier in barriers]).buffer(OFF_FENCE)
    walls = [building.outline.buffer(OFF_FENCE) for building in features if isinstance(building, Building)]
    near_posts = shapely.union_all([near_barriers, *walls])
    bridges = all(near_posts.covers(Point(end)) for end in (gate.line.coords[0], gate.line.coords[-1]))
    if not bridges and gate.line.intersection(near_barriers).length < gate.line.length / 2:
        text = "It is on no fence, hedge or wall, so that it opens nothing; draw it on the line, from post to post."
        remarks.caution("gate-off-fence", gate.id, text)


def _check_twice(features: Sequence[Feature], remarks: Remarks) -> None:
    """Note features of one kind that are drawn twice on the same spot."""
    ids_by_shape: dict[tuple[type, bytes], str] = {}
    for feature in features:
        names = [name for name in ("outline", "line", "shape", "place") if hasattr(feature, name)]
        shape = getattr(feature, names[0])
        if isinstance(shape, BaseGeometry):
            key = (type(feature), shapely.to_wkb(shapely.normalize(shape)))
            if key in ids_by_shape:
                text = f'It is drawn on the same spot as "{ids_by_shape[key][:60]}"; is it there twice?'
                remarks.caution("drawn-twice", feature.id, text)
            ids_by_shape.setdefault(key, feature.id)


def check_settings(settings: Settings, features: Sequence[Feature], piles: Sequence[str], remarks: Remarks) -> None:
    """Note stock at a pile that is not drawn, materials that cannot be had, and bed sizes in a wrong unit.

    Parameters
    ----------
    piles : sequence of str
        Ids of all piles of the file, sound or not: a badly drawn pile has its own fault already.
    """
    _check_stock(settings, features, piles, remarks)
    _check_recipes(settings, features, remarks)
    length, width = settings.place.length, settings.place.width
    if min(length, width) > 2 * REACH + SLACK:
        size = " x ".join(length_text(side, remarks.system) for side in (length, width))
        text = f"[place] asks for a bed of {size}: its middle cannot be reached without stepping in."
        remarks.caution("bed-too-wide", "", f"{text} A plain number is in {remarks.unit.plural}.")


def _check_stock(settings: Settings, features: Sequence[Feature], piles: Sequence[str], remarks: Remarks) -> None:
    """Note stock at a pile that is not drawn."""
    others = {feature.id: type(feature).__name__.lower() for feature in features}
    for number, stock in enumerate(settings.trade.stock, 1):
        if stock.at not in piles:
            hint = nearest(stock.at, piles)
            look_alike = next((pile for pile in piles if look(pile) == look(stock.at)), None)
            if look_alike is not None:
                meant = f"one looks the same and differs by {unseen_difference(look_alike, stock.at)}; write it anew"
            elif stock.at in others:
                meant = f"that is a {others[stock.at]}; draw a pile there"
            elif hint:
                meant = f"did you mean {hint!r}?"
            else:
                meant = f"piles are {', '.join(sorted(piles)) or 'not drawn at all'}"
            remarks.fault(SETTINGS_FILE, f"[[stock]] {number}", f"there is no pile {shown(stock.at)}; {meant}")


def _check_recipes(settings: Settings, features: Sequence[Feature], remarks: Remarks) -> None:
    """Note materials of the recipes that are neither on hand nor on offer."""
    trade = settings.trade
    at_hand = {stock.material for stock in trade.stock} | {offer.material for offer in trade.offers}
    at_hand |= {material for offer in trade.offers for material, _ in offer.mix}
    if any(trade.materials[stock.material].coarse_organic for stock in trade.stock):
        at_hand.add(COARSE)
    empty = [feature for feature in features if isinstance(feature, Bed) and not feature.filled]
    recipes = [bed.layers or trade.recipe.layers_at(frame.top) for bed in empty for frame in bed.frames]
    layers = itertools.chain.from_iterable(recipes or [trade.recipe.layers])
    needed = {material for layer in layers for material, _ in layer.parts}
    missing = sorted(needed - at_hand)
    if missing:
        text = f"The recipe wants {', '.join(missing)}, but there is neither [[stock]] nor [[offer]] of it."
        remarks.caution("nothing-on-offer", "", text)


def sound_season(settings: Settings, latitude: float, remarks: Remarks) -> Season:
    """Return the growing season: as given, else the default of its hemisphere, with a caution."""
    north, south = _SEASONS
    default = south if latitude < 0 else north
    if settings.season is None:
        span = f"from {default.last_frost} to {default.first_frost}"
        text = f"No frost dates are given; the season is taken to run {span}. Give [season] in site.toml."
        remarks.caution("season-assumed", "", text)
        return default
    if not remarks.misplaced and (trouble := _season_fault(settings.season, latitude)):
        remarks.fault(SETTINGS_FILE, "[season]", trouble)
    return settings.season


def _season_fault(season: Season, latitude: float) -> str:
    """Return what is wrong with the frost dates; between the tropics they must only differ."""
    last, first = season.last_frost, season.first_frost
    if last == first:
        return f"last_frost and first_frost are both {last}: the season between them has one day"
    if abs(latitude) <= TROPIC:
        return ""
    south = latitude < 0
    spring, autumn = _half_year_on(last, south=south), _half_year_on(first, south=south)
    in_spring = spring <= MIDSUMMER
    in_autumn = autumn > MIDSUMMER or (autumn.month == 1 and autumn < spring)
    if in_spring and in_autumn:
        return ""
    side = f"the site lies in the {'south' if south else 'north'} (latitude {latitude:.2f})"
    months = (
        ("July to mid January", "mid January to July") if south else ("January to mid July", "mid July to January")
    )
    if not in_spring and not in_autumn:
        sign = "" if south else ": a latitude south of the equator is negative"
        return (
            f"last_frost is {last} and first_frost {first}, but {side}, where the last frost of spring comes in "
            f"{months[0]}; swap them? Or is the latitude wrong{sign}?"
        )
    key, day, when = ("first_frost", first, months[1]) if in_spring else ("last_frost", last, months[0])
    return f"{key} is {day}, but {side}, where the {key.replace('_', ' ')} comes in {when}; is it the right date?"


def _half_year_on(day: MonthDay, *, south: bool) -> MonthDay:
    """Return a day of the southern year shifted by half a year, to compare it with northern seasons."""
    return MonthDay((day.month + 5) % 12 + 1, min(day.day, 29)) if south else day

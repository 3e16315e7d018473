"""How is the barrow wheeled, loaded and tipped, and where may a lorry tip?

[haul] of site.toml; what it leaves out is common practice.
It leaves out the barrow and the people: those have tables of their own.
"""

from __future__ import annotations

from siteplan.files.site_toml.keys import Keys, Quantity
from siteplan.land.site import HaulSettings

_HAUL = {
    "loaded_speed": Quantity("speed", 0.1, 3),
    "empty_speed": Quantity("speed", 0.1, 3),
    "tip_time": Quantity("time", 0, 0.5),
    "bag_time": Quantity("time", 0, 0.5),
    "shovel_pace": Quantity("fraction", 0.1, 10),
    "rest": Quantity("time", 0, 0.75),
    "lorry_width": Quantity("length", 1, 4),
    "heap_angle": Quantity("angle", 10, 60),
    "board_length": Quantity("length", 0.3, 10),
}
_FLAGS = ("wet", "off_lawn", "tip_anywhere")


def read_haul(keys: Keys) -> HaulSettings:
    """Return how the material is wheeled.

    Parameters
    ----------
    keys : Keys
        Of the table [haul].

    Examples
    --------
    >>> from siteplan.files.remarks import Remarks
    >>> said = {"loaded_speed": "2 mph", "tip_time": "30 s", "rest": "15 min", "wet": True, "board_price": 12}
    >>> haul = read_haul(Keys(said, Remarks(), file="site.toml", where="[haul]"))
    >>> round(haul.loaded_speed, 3), round(haul.tip_time * 60, 3), haul.rest, haul.wet, haul.board_price
    (0.894, 0.5, 0.25, True, 12.0)
    """
    given: dict[str, float | None] = dict(keys.quantities(_HAUL))
    flags = {name: bool(keys.flag(name)) for name in _FLAGS}
    day = keys.whole("delivery_day", 1, 365)
    price = keys.money("board_price")
    if price is not None and price > 1e6:
        keys.fault(f"board_price is {price:g}, must be at most 1e6")
        price = None
    keys.no_others()
    return HaulSettings(**given, **flags, delivery_day=day or 1, board_price=price)  # type: ignore[arg-type]

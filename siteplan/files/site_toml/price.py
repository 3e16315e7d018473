"""What does one bag, or one loose step, cost?

A plain number is the price of one; a text may carry the currency and a volume, as "40 USD / yd^3".
It leaves out exchange: a currency that is not the site's is refused.
"""

from __future__ import annotations

import re

from siteplan.files.remarks import shown
from siteplan.files.site_toml.keys import Keys
from siteplan.land.units import si_value

_PRICE = re.compile(
    r"\s*(?P<before>[A-Z]{3})?\s*(?P<number>\d+(?:\.\d*)?|\.\d+)\s*(?P<after>[A-Z]{3})?\s*(?:(?:/|\bper\b)\s*(?P<unit>.+?))?\s*",
)
HIGHEST = 1e9  # in the site's currency
_ONE = {"delivery": "one delivery", "bag_handling": "one bag"}
_EXAMPLE = 'a plain number such as 5.50 for one, or a text such as "40 {currency} / yd^3"'


def read_price(keys: Keys, key: str, *, size: float | None, currency: str) -> float | None:
    """Return a price for one bag or one loose step, noting what is wrong with it.

    Parameters
    ----------
    keys : Keys
        Of one offer.
    key : str
    size : float or None
        Of one bag or step; None where a price by volume makes no sense, or the size is faulty. [m3]
    currency : str
        The site's.

    Returns
    -------
    float or None
        None where there is none, or it is faulty.

    Examples
    --------
    >>> from siteplan.files.remarks import Remarks
    >>> def price(value, size=0.764554857984):
    ...     keys = Keys({"price": value}, Remarks(), file="site.toml", where="[[offer]] 1")
    ...     found = read_price(keys, "price", size=size, currency="USD")
    ...     return found if found is None else round(found, 2)
    >>> price(40.0), price("40 USD"), price("40 USD / yd^3"), price("52.318 per m3"), price("40 EUR / yd^3")
    (40.0, 40.0, 40.0, 40.0, None)
    """
    value = keys.values.get(key)
    if not isinstance(value, str):
        return keys.money(key)
    keys.text(key)  # it has been looked at
    example = _EXAMPLE.format(currency=currency)
    match = _PRICE.fullmatch(value)
    if match is None or (match["before"] and match["after"]):
        keys.fault(f"{key} is {shown(value)}, must be {example}")
        return None
    came = match["before"] or match["after"] or currency
    if came != currency:
        keys.fault(f"{key} is {shown(value)}, in {came}, but the site reckons in {currency}; give it in {currency}")
        return None
    if float(match["number"]) > HIGHEST:
        keys.fault(f"{key} is {shown(value)}, must be at most {HIGHEST:g}")
        return None
    if match["unit"] is None:
        return float(match["number"])
    return _by_volume(keys, key, float(match["number"]), match["unit"], size)


def _by_volume(keys: Keys, key: str, number: float, unit: str, size: float | None) -> float | None:
    """Return the price of one from a price by volume."""
    try:
        volume = si_value(f"1 {unit}", "volume")
    except ValueError as error:
        keys.fault(f"{key} is {shown(keys.values[key])}: {error}")
        return None
    if size is None:
        if (one := _ONE.get(key)) is not None:
            keys.fault(f"{key} is {shown(keys.values[key])}, must be for {one}, not for a volume")
        return None
    return number / volume * size

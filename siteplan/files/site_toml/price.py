"""What does one bag, one loose step, one delivery or one board cost?

A plain number is the price of one; a text may have the currency and a volume, as "40 USD / yd^3".
Currencies are not converted: one that is not the site's is refused.
"""

from __future__ import annotations

import re

from siteplan.land.units import si_value
from siteplan.land.values import Money, shown

_PRICE = re.compile(
    r"\s*(?P<before>[A-Z]{3})?\s*(?P<number>\d+(?:\.\d*)?|\.\d+)\s*(?P<after>[A-Z]{3})?\s*"
    r"(?:(?:/|\bper\b)\s*(?P<unit>.+?))?\s*"
)


def price(value: object, key: str, rule: Money, *, size: float | None, currency: str) -> float | None:
    """Return the price of one from a number, or from a text with the currency and a volume.

    Parameters
    ----------
    value : object
        As in the file.
    key : str
        Its name, for the messages.
    rule : Money
    size : float or None
        Of one bag or step; None if unknown, since it has a fault itself. [m3]
    currency : str
        The site's.

    Returns
    -------
    float or None
        None for a price by volume if the size is not known.

    Raises
    ------
    ValueError
        With what came and what is allowed.

    Examples
    --------
    >>> def of_a_yard(value):
    ...     return price(value, "price", Money(), size=0.764554857984, currency="USD")
    >>> of_a_yard(40.0), of_a_yard("40 USD"), of_a_yard("40 USD / yd^3"), round(of_a_yard("52.318 per m3"), 2)
    (40.0, 40.0, 40.0, 40.0)
    """
    example = f'a plain number such as 5.50 for {rule.each or "one"}, or a text such as "40 {currency}"'
    if not rule.each:
        example = f'a plain number such as 5.50 for one, or a text such as "40 {currency} / yd^3"'
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return _sound(float(value) if abs(value) < 1e300 else float("inf"), key, rule)
    match = _PRICE.fullmatch(value) if isinstance(value, str) else None
    if match is None or (match["before"] and match["after"]):
        raise ValueError(f"{key} is {shown(value)}, must be {example}, at least 0, in the site's currency")
    written_currency = match["before"] or match["after"] or currency
    if written_currency != currency:
        raise ValueError(
            f"{key} is {shown(value)}, in {written_currency}, but the site's currency is {currency}; "
            f"give it in {currency}"
        )
    number = _sound(float(match["number"]), key, rule)
    if match["unit"] is None:
        return number
    if rule.each:
        raise ValueError(f"{key} is {shown(value)}, must be for {rule.each}, not for a volume")
    try:
        volume = si_value(f"1 {match['unit']}", "volume")
    except ValueError as error:
        raise ValueError(f"{key} is {shown(value)}: {error}") from error
    return None if size is None else number / volume * size


def _sound(number: float, key: str, rule: Money) -> float:
    """Return an amount of money; ValueError if it is out of range."""
    if trouble := rule.fault(number, key):
        raise ValueError(trouble)
    return number

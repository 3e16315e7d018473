"""Prices for one, and by volume, in the site's own currency."""

from __future__ import annotations

import tomllib

import pytest

from siteplan.files.remarks import Remarks
from siteplan.files.site_toml.keys import Keys
from siteplan.files.site_toml.trade import read_trade

YARD = 0.764554857984  # m3, by definition


def offer(lines, currency="USD"):
    remarks = Remarks()
    text = f'currency = "{currency}"\n[[offer]]\nmaterial = "topsoil"\n{lines}'
    top = Keys(tomllib.loads(text), remarks, file="site.toml", where="")
    offers = read_trade(top).offers
    return (offers[0] if offers else None), " ".join(str(fault) for fault in remarks.faults)


def test_the_same_offer_in_three_ways():
    # 40 for a cubic yard are 40 / 0.764554857984 = 52.318 for a cubic metre
    plain, _ = offer('loose = "1 yd^3"\nprice = 40.0')
    by_yard, faults = offer('loose = "1 yd^3"\nprice = "40 USD / yd^3"')
    by_metre, _ = offer('loose = "1 yd^3"\nprice = "52.318 per m3"')
    assert faults == ""
    assert by_yard.price == pytest.approx(plain.price, rel=1e-12)
    assert by_metre.price == pytest.approx(plain.price, rel=1e-5)  # five digits are written


def test_a_price_by_volume_holds_for_a_bag_and_for_half_a_step():
    assert offer('bag = "40 L"\nprice = "0.1 USD / L"')[0].price == pytest.approx(4.0)
    assert offer('loose = "0.5 yd^3"\nprice = "USD 40 / yd^3"')[0].price == pytest.approx(20.0)


def test_delivery_may_name_the_currency():
    assert offer('loose = "1 yd^3"\nprice = 40\ndelivery = "45 EUR"', "EUR")[0].delivery == 45.0


@pytest.mark.parametrize(
    ("lines", "text"),
    [
        ('price = "40 EUR / yd^3"', "in EUR, but the site's currency is USD"),
        ('price = "40 USD / kg"', "is a mass, not a volume"),
        ('price = "40 USD / smoot^3"', "unit that is not known"),
        ('price = "cheap"', "must be a plain number such as 5.50"),
        ('price = "-4 USD"', "must be a plain number such as 5.50"),
        ('price = "USD 40 EUR"', "must be a plain number such as 5.50"),
        ("price = -4", "at least 0"),
        ('price = 40\ndelivery = "9 USD / m3"', "for one delivery, not for a volume"),
    ],
)
def test_what_is_no_price_is_refused(lines, text):
    found, faults = offer('loose = "1 yd^3"\n' + lines)
    assert text in faults
    assert faults.count("site.toml") == 1, faults
    assert found is None or "delivery" in lines


def test_a_price_by_volume_of_a_faulty_size_is_one_fault():
    _, faults = offer('loose = "1 kg"\nprice = "40 USD / yd^3"')
    assert faults.count("site.toml") == 1

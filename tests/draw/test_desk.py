"""What the desk takes from a request and what it answers, without a server."""

from __future__ import annotations

import threading
from types import SimpleNamespace

import pytest

from siteplan.draw import desk as desk_module
from siteplan.draw.desk import Desk
from siteplan.draw.plane import Plane
from siteplan.land.errors import Fault, InputError
from siteplan.land.units import METRE
from tests.place.conftest import bare_yard

PLANE = Plane(place=(45.0, 8.0))


def reading(*, plane=PLANE, settings=(), site=None, version="v", variant=None):
    known = None if settings is None else SimpleNamespace(**{"timezone": None, "units": "imperial"} | dict(settings))
    return SimpleNamespace(
        plane=plane, read=SimpleNamespace(settings=known, unit=METRE), variant=variant,
        checked=SimpleNamespace(site=site, faults=(Fault("a.toml", "", "is wrong"),)), state=SimpleNamespace(version=version),
    )  # fmt: skip


def at(found):
    """Return a desk over a made-up property, with no thread of its own."""
    desk = object.__new__(Desk)
    desk.property = SimpleNamespace(reading=lambda: found)
    desk._live, desk._picture, desk._lock = None, (None, {}), threading.Lock()
    return desk


def test_where_the_property_lies():
    here = at(reading()).position()
    assert (here.latitude, here.longitude, here.timezone, here.units) == (45.0, 8.0, "Europe/Rome", "imperial")
    assert at(reading(settings={"timezone": "Europe/Paris"})).position().timezone == "Europe/Paris"
    here = at(reading(settings=None)).position()
    assert (here.timezone, here.units, here.plain) == ("Europe/Rome", "metric", METRE)
    with pytest.raises(InputError, match="nobody has said yet where the property lies; say its latitude"):
        at(reading(plane=Plane())).position()


def test_units_are_metric_where_the_settings_cannot_be_read():
    assert at(reading()).units() == "imperial"
    assert at(reading(settings=None)).units() == "metric"


def test_a_site_that_is_not_sound_is_not_asked():
    site = bare_yard()
    assert at(reading(site=site)).sound()[1] is site
    with pytest.raises(InputError, match=r"a\.toml: is wrong"):
        at(reading()).sound()


def outline(corners):
    site = bare_yard()
    return at(None)._outline({"outline": corners}, reading(), site)


def test_an_outline_of_a_request():
    found = outline([[1, 2], [3, 2], [3, 4]])
    assert found.area == pytest.approx(2.0, rel=1e-6)
    assert found.bounds == pytest.approx((1, 2, 3, 4), abs=1e-6)
    assert outline([[0, 0], [1e6, 0], [0, 1]]).area > 0
    assert len(outline([[at_ % 40, at_ // 40] for at_ in range(1000)]).exterior.coords) == 1001


@pytest.mark.parametrize("corners", [
    None, "x", 5, [], [[0, 0], [1, 0]], [[0, 0, 0]] * 3, [0, 1, 2], [[0, 0], [1.1e6, 0], [0, 1]], [[0, 0], [1, 0], ["a", 1]],
    [[0, 0]] * 1001, [[0, 0], [1, 0], [0, -1.1e6]], [[0], [1], [2]], {"a": 1}, [[0, 0], [1, 0], [None, 1]],
    [[0, 0], [1, 0], [10**400, 1]],
])  # fmt: skip
def test_an_outline_that_is_none(corners):
    with pytest.raises(InputError, match=r"outline: must be a list of 3 to 1,000 corners, each of two numbers"):
        outline(corners)


class Maps:
    """Stands in for the work on the map."""

    def __init__(self, found=None):
        self.answer, self.asked = found, []

    def ask(self, version, *_):
        self.asked.append(version)

    def map_of(self, _):
        return self.answer


def test_which_month_of_the_map_is_meant(monkeypatch):
    desk = at(reading(site=bare_yard()))
    live = SimpleNamespace(version="v", site=None, engine=None)
    monkeypatch.setattr(desk, "_live_now", lambda: (reading(), live), raising=False)
    desk.sun_map = Maps()
    for month, number in (("0", 0), ("7", 7), ("12", 12), ("", 12), ("x", 12), ("-1", 12), ("007", 12), ("1.5", 12)):
        assert desk.map_view(month) == {"state": "working", "version": "v", "month": number}
    for month in ("13", "99"):
        with pytest.raises(InputError, match=f"month: is {month}, must be 0 to 12"):
            desk.map_view(month)
    made = []
    monkeypatch.setattr(desk_module, "picture_view", lambda *asked: made.append(asked) or {"made": len(made)})
    desk.sun_map = Maps("whole")
    assert [desk.map_view(month) for month in ("1", "1", "2", "1")] == [{"made": n} for n in (1, 1, 2, 3)]
    assert made[0][0] == "whole"
    assert made[0][2] == 1


@pytest.mark.parametrize(("request_", "words"), [
    ({}, "version: must be a text"), ({"version": "v"}, "says: must be a text"),
    ({"version": "v", "says": "s", "put": {}}, "put: must be a list"),
    ({"version": "v", "says": "s", "remove": "x"}, "remove: must be a list"),
    ({"version": "v", "says": "s", "settings": []}, "settings: must be an object"),
])  # fmt: skip
def test_an_edit_that_is_none(request_, words):
    with pytest.raises(InputError, match=words):
        at(None).edit(request_)


def test_an_edit_tells_its_words_up_to_200_letters(monkeypatch):
    desk, seen = at(None), []
    desk.property = SimpleNamespace(edit=lambda *parts, **more: seen.append((parts, more)) or {})
    monkeypatch.setattr(desk, "_with_backdrop", lambda view: view, raising=False)
    desk.edit({"version": "v", "says": "s" * 201})
    desk.edit({"version": "v", "says": "s", "put": [1], "remove": ["a"], "settings": {"b": 2}})
    assert seen == [
        (("v", "s" * 200), {"put": [], "remove": [], "settings": {}}),
        (("v", "s"), {"put": [1], "remove": ["a"], "settings": {"b": 2}}),
    ]


def test_variants_are_named_by_texts(monkeypatch):
    desk, seen = at(None), []
    desk.property = SimpleNamespace(variants=lambda *parts, **more: seen.append((parts, more)) or {})
    monkeypatch.setattr(desk, "_with_backdrop", lambda view: view, raising=False)
    desk.variants({"do": "open", "version": "v"})
    desk.variants({"do": "rename", "version": "v", "name": "a", "to": "b"})
    assert seen == [(("open", None, "v"), {"to": ""}), (("rename", "a", "v"), {"to": "b"})]
    for wrong in ({"name": 5}, {"to": 5}, {"name": "a", "to": None}):
        with pytest.raises(InputError, match="name: must be a text"):
            desk.variants({"do": "open", "version": "v"} | wrong)


def test_each_version_and_variant_has_its_live_site(monkeypatch):
    """A newer one takes over what it can from the one before; the older one warms up no longer."""
    made, started = [], []

    class Live:
        def __init__(self, version, _):
            self.version, self.before = version, None
            made.append(self)

        def take_over(self, before):
            self.before = before

        def warm(self, wanted):
            pass

    class Timer:
        def __init__(self, seconds, _, args):
            started.append((seconds, args[0]))

        def start(self):
            assert self.daemon is True

    monkeypatch.setattr(desk_module, "LiveSite", Live)
    monkeypatch.setattr(desk_module.threading, "Timer", Timer)
    site = bare_yard()
    desk = at(reading(site=site))
    desk.sun_map = SimpleNamespace(resting=SimpleNamespace(wait=lambda: None))
    first = desk._live_now()[1]
    assert desk._live_now()[1] is first
    assert (first.version, first.before) == ("v ", None)
    assert started[0][0] == 0.3
    assert started[0][1]() is True
    desk.property = SimpleNamespace(reading=lambda: reading(site=site, variant="shed"))
    second = desk._live_now()[1]
    assert (second.version, second.before) == ("v shed", first)
    assert started[0][1]() is False
    assert len(made) == len(started) == 2

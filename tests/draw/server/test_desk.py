"""What the page asks again and again is worked out once."""

from __future__ import annotations

import time

import siteplan.draw.desk
from siteplan.draw.sun_picture import picture_view


def test_a_picture_of_the_sun_is_made_once_for_all_who_ask(served, monkeypatch):
    made = []

    def seen(*asked):
        made.append(asked)
        return picture_view(*asked)

    monkeypatch.setattr(siteplan.draw.desk, "picture_view", seen)
    answer = {}
    while answer.get("state") != "whole":
        time.sleep(0.05)
        answer = served.ask("GET", "/api/sunmap?month=12").json()
    again = served.ask("GET", "/api/sunmap?month=12").json()
    assert again == answer
    assert len(made) <= 2  # the coarse one and the whole one
    assert served.ask("GET", "/api/sunmap?month=0").json()["image"] != answer["image"]

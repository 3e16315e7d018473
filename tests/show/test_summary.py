"""A plan at a glance: one line, and a small table that no name can break out of."""

from __future__ import annotations

from dataclasses import replace

from siteplan import plan_site
from siteplan.plan import Plan
from siteplan.show.summary import summary_html, summary_text

HOSTILE = "<script>alert(1)</script>{{7*7}}\x1b[2J"


def test_a_plan_and_a_site_are_short(drawn_plan):
    assert summary_text(drawn_plan).startswith(f'<Plan of "{drawn_plan.site.name}": ')
    for shown in (repr(drawn_plan), repr(drawn_plan.site)):
        assert len(shown) < 160
        assert "\n" not in shown


def test_the_line_counts_what_was_asked(drawn_plan):
    volume = sum(layer.volume for layer in drawn_plan.fill.layers)
    beds, places = len(drawn_plan.site.beds), len(drawn_plan.places.places)
    counted = f"{beds} beds, {places} places, fill {volume:.1f} m3, {drawn_plan.haul.trips} trips>"
    assert repr(drawn_plan).endswith(counted)
    bare = replace(drawn_plan, places=None, fill=None, haul=None)
    assert repr(bare).endswith(f'": {beds} beds>')


def test_a_name_steers_no_terminal(drawn_plan):
    site = replace(drawn_plan.site, name=HOSTILE + "x" * 200)
    assert "\x1b" not in repr(site) + repr(replace(drawn_plan, site=site))


def test_a_notebook_shows_beds_places_and_work(drawn_plan):
    page = drawn_plan._repr_html_()
    for report in drawn_plan.beds:
        assert f"{report.sun.season_sun_h:.1f} h" in page
    assert page.count("<tr>") == 1 + len(drawn_plan.beds) + len(drawn_plan.places.places)
    assert f"{drawn_plan.haul.trips} trips with the barrow" in page


def test_hostile_names_are_escaped(drawn_plan):
    first = drawn_plan.beds[0]
    beds = (replace(first, bed=replace(first.bed, id=HOSTILE)), *drawn_plan.beds[1:])
    page = summary_html(replace(drawn_plan, site=replace(drawn_plan.site, name=HOSTILE), beds=beds))
    assert "<script" not in page
    assert "{{" not in page
    assert "\x1b" not in page
    assert page.count("&lt;script&gt;") == 2


def test_nothing_asked_is_a_name_alone(tiny_yard):
    plan = plan_site(tiny_yard, ask=[])
    assert isinstance(plan, Plan)
    assert "<table>" not in plan._repr_html_()

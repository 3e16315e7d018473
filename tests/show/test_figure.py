"""One file, and silent: every asset inside, every unknown link refused."""

from __future__ import annotations

import re

import folium
import pytest
from branca.element import CssLink, Element, JavascriptLink
from folium.plugins import MeasureControl

from siteplan.show.map.figure import QuietFigure, QuietMap, UnknownLinkError, leaflet_assets


def page_of(made: QuietMap) -> str:
    return made.get_root().render()


def test_leaflet_is_inside_and_nothing_is_linked():
    page = page_of(QuietMap("yard"))
    assert "Leaflet 1.9" in page
    assert not re.search(r"<link|<script[^>]+src|<img|@import|sourceMappingURL", page)
    assert not re.search(r"url\(\s*['\"]?(?!data:|#)", "".join(re.findall(r"<style>.*?</style>", page, re.DOTALL)).replace(
        "url(#default#VML)", ""))  # fmt: skip


def test_policy_lets_nothing_out():
    policy = re.search(r'Content-Security-Policy" content="([^"]+)"', page_of(QuietMap("yard")))[1]
    assert "default-src 'none'" in policy
    assert "connect-src 'none'" in policy
    assert "http" not in policy


def test_default_icon_is_inside():
    made = QuietMap("yard")
    folium.Marker([0, 0]).add_to(made)
    assert page_of(made).count("iconUrl: 'data:image/png;base64,") == 1


@pytest.mark.parametrize("link", [JavascriptLink("https://example.org/a.js"), CssLink("https://example.org/a.css")])
@pytest.mark.parametrize("part", ["header", "html", "script"])
def test_unknown_link_is_refused_wherever_it_hides(link, part):
    made = QuietMap("yard")
    holder = Element()
    holder.add_child(link)
    getattr(made.get_root(), part).add_child(holder)
    with pytest.raises(UnknownLinkError, match="only leaflet, leaflet_css"):
        page_of(made)


def test_plugin_that_links_outside_is_refused():
    made = QuietMap("yard")
    MeasureControl().add_to(made)
    with pytest.raises(UnknownLinkError, match="leaflet_measure_js"):
        page_of(made)


@pytest.mark.parametrize("tag", ['<img src="https://example.org/x.png">', "<iframe src=//example.org></iframe>",
                                 '<link rel="icon" href="x.ico">'])  # fmt: skip
def test_raw_html_that_asks_outside_is_refused(tag):
    made = QuietMap("yard")
    made.get_root().html.add_child(Element(tag))
    with pytest.raises(UnknownLinkError, match="from outside"):
        page_of(made)


def test_title_is_text():
    page = page_of(QuietMap("</title><script>alert(1)</script>{{7*7}}"))
    assert "<title>&lt;/title&gt;" in page
    assert "alert(1)</script>" not in page


def test_rendered_twice_is_the_same():
    made = QuietMap("yard")
    assert page_of(made) == page_of(made)


def test_folium_keeps_its_own_defaults():
    QuietMap("yard")
    assert len(folium.Map.default_js) > 1


def test_assets_cannot_end_their_own_element():
    assert "</script" not in leaflet_assets()["leaflet"]
    assert "</style" not in leaflet_assets()["leaflet_css"]


def test_figure_shows_itself_in_a_notebook():
    figure = QuietFigure("yard")
    assert "<iframe srcdoc=" in figure._repr_html_()

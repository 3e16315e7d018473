"""The work sheet in a browser, on a phone."""

from __future__ import annotations

import pytest

from siteplan.show.sheet.work_sheet import report_html

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def page(chromium, drawn_plan):
    page = chromium.new_page()
    page.set_content(report_html(drawn_plan))
    yield page
    page.close()


@pytest.mark.parametrize("width", [320, 390, 700, 1000])
def test_the_page_is_no_wider_than_the_screen(page, width):
    page.set_viewport_size({"width": width, "height": 844})
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_a_table_too_wide_is_moved_sideways_and_its_words_are_whole(page):
    page.set_viewport_size({"width": 320, "height": 844})
    wider, heads = page.evaluate(
        """() => {
            const lines = head => {
                const words = document.createRange();
                words.selectNodeContents(head);
                return new Set([...words.getClientRects()].map(line => line.top)).size;
            };
            return [
                [...document.querySelectorAll('.scroll')].filter(part => part.scrollWidth > part.clientWidth).length,
                [...document.querySelectorAll('thead th')].map(head => [head.textContent, lines(head)]),
            ];
        }"""
    )
    assert wider > 0
    assert [text for text, lines in heads if lines > len(text.split())] == []

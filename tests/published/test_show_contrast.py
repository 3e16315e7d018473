"""Text on the pages stands out: WCAG 2.2, success criterion 1.4.3: 4.5 to 1 (memory), formula of its glossary."""

from __future__ import annotations

import re
from importlib import resources

import pytest


def luminance(colour: str) -> float:
    parts = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


@pytest.fixture(scope="module")
def inks() -> dict[str, str]:
    style = (resources.files("siteplan.show") / "assets" / "symbols.css").read_text(encoding="utf-8")
    return dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", style))


def test_formula_gives_the_known_ends():
    assert contrast("#000000", "#ffffff") == pytest.approx(21)  # the glossary's own extreme
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)  # the grey known to fail by a hair


@pytest.mark.parametrize("ground", ["paper", "sheet"])
@pytest.mark.parametrize("ink", ["ink", "soft", "pine", "brick", "water", "wood"])
def test_every_ink_on_every_ground(inks, ink, ground):
    assert contrast(inks[ink], inks[ground]) >= 4.5


@pytest.mark.parametrize("ground", ["pine", "water", "ink"])
def test_white_on_filled_marks(inks, ground):
    assert contrast("#ffffff", inks[ground]) >= 4.5

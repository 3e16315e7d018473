"""The scales of sun, light and sky to colour-blind eyes, by a published simulation.

Machado, G. M., Oliveira, M. M., Fernandes, L. A. F.: A physiologically-based model for simulation of color vision
deficiency, IEEE Trans. Visualization and Computer Graphics 15(6), 2009: the matrices of severity 1.0 (memory).
They act on linear sRGB.
"""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.show.charts.colours import scale_colours

SCALES = ("sun", "light", "sky")
MACHADO = {
    "protanopia": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
    "deuteranopia": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
    "tritanopia": [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]],
}


def linear(colours):
    share = np.asarray(colours, dtype=float) / 255
    return np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)


def lab(rgb):
    """CIELAB (CIE 15) of linear sRGB with the D65 white of IEC 61966-2-1."""
    to_xyz = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
    share = rgb @ to_xyz.T / to_xyz.sum(axis=1)
    f = np.where(share > 0.008856, np.cbrt(share), 7.787 * share + 16 / 116)
    return np.column_stack([116 * f[:, 1] - 16, 500 * (f[:, 0] - f[:, 1]), 200 * (f[:, 1] - f[:, 2])])


@pytest.mark.parametrize("kind", MACHADO)
def test_each_row_of_the_simulation_keeps_grey(kind):
    # a matrix copied wrongly would tint white; the printed six decimals sum to 1 within 2e-6
    assert np.array(MACHADO[kind]).sum(axis=1) == pytest.approx([1, 1, 1], abs=3e-6)


@pytest.mark.parametrize("of", SCALES)
@pytest.mark.parametrize("kind", MACHADO)
def test_the_order_survives(kind, of):
    seen = lab(np.clip(linear(scale_colours(64, of=of)) @ np.array(MACHADO[kind]).T, 0, 1))
    assert np.diff(seen[:, 0]).min() > 0


@pytest.mark.parametrize("of", SCALES)
@pytest.mark.parametrize("kind", MACHADO)
def test_two_steps_can_be_told_apart(kind, of):
    # an eighth of the scale; the just noticeable difference in CIELAB is 2.3 (Mahy 1994, memory): three of those
    seen = lab(np.clip(linear(scale_colours(9, of=of)) @ np.array(MACHADO[kind]).T, 0, 1))
    assert np.sqrt((np.diff(seen, axis=0) ** 2).sum(axis=1)).min() > 3 * 2.3


@pytest.mark.parametrize("of", SCALES)
def test_grey_printing_keeps_the_order(of):
    assert np.diff(lab(linear(scale_colours(64, of=of)))[:, 0]).min() > 0

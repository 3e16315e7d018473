"""The scales of sun, light and sky: more of it is lighter, to every eye; PNGs are PNGs."""

from __future__ import annotations

import io
import zlib

import numpy as np
import pytest

from siteplan.show.charts.colours import (
    _srgb,
    png_bytes,
    scale_colours,
    scale_gradient,
    scale_steps,
    scale_top,
    sun_picture,
)


def lightness(colours):
    """CIE 1976 L* of sRGB bytes, by IEC 61966-2-1 and CIE 15: 116 f(Y) - 16."""
    share = np.asarray(colours, dtype=float) / 255
    linear = np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)
    luminance = linear @ [0.2126, 0.7152, 0.0722]
    return 116 * np.where(luminance > 0.008856, np.cbrt(luminance), 7.787 * luminance + 16 / 116) - 16


SCALES = ("sun", "light", "sky")


@pytest.mark.parametrize("of", SCALES)
def test_lightness_always_rises(of):
    # a byte is a step of up to 0.4 in L*: neighbours may tie but never fall
    assert np.diff(lightness(scale_colours(of=of))).min() >= -1e-9


@pytest.mark.parametrize("of", SCALES)
def test_lightness_rises_evenly(of):
    quarter = np.diff(lightness(scale_colours(5, of=of)))
    # OKLab's lightness and CIE's differ a little: no quarter of the scale may hold under half of its even share
    assert quarter.min() > 0.5 * quarter.mean()


@pytest.mark.parametrize("of", SCALES)
def test_ends_are_far_apart_and_neither_is_black_nor_white(of):
    ends = lightness(scale_colours(2, of=of))
    assert ends[0] > 15
    assert 90 < ends[1] < 98
    assert ends[1] - ends[0] > 60


def test_top_is_a_whole_hour_for_all_months():
    assert scale_top(np.array([[1.0, 9.01], [np.nan, 2.0]])) == 10
    assert scale_top(np.full((2, 2), np.nan)) == 1
    assert scale_top([0.0]) == 1


def test_picture_is_clear_where_there_is_no_ground():
    picture = sun_picture(np.array([[0.0, 6.0], [12.0, np.nan]]), top=12)
    assert picture[..., 3].tolist() == [[255, 255], [255, 0]]
    assert picture[0, 0, :3].tolist() == scale_colours()[0].tolist()
    assert picture[1, 0, :3].tolist() == scale_colours()[255].tolist()


@pytest.mark.extras
@pytest.mark.parametrize("shape", [(1, 1), (3, 7), (40, 5)])
def test_png_is_read_back_by_another_reader(shape):
    image = pytest.importorskip("PIL.Image")
    picture = np.arange(np.prod(shape) * 4, dtype=np.uint8).reshape(*shape, 4)
    with image.open(io.BytesIO(png_bytes(picture))) as opened:
        assert np.array_equal(np.asarray(opened.convert("RGBA")), picture)


def test_oklab_of_the_primaries():
    # CSS Color 4 (W3C), sample values of OKLab for white, red, lime and blue (memory), printed to five decimals
    known = np.array(
        [[1, 0, 0], [0.62796, 0.22486, 0.12585], [0.86644, -0.23389, 0.17950], [0.45201, -0.03246, -0.31153]]
    )
    wanted = [[255, 255, 255], [255, 0, 0], [0, 255, 0], [0, 0, 255]]
    assert np.abs(_srgb(known).astype(int) - wanted).max() <= 1  # five decimals are up to a step of a byte
    # near black the curve is a straight line: 0.001 is 12.92 x 0.001 x 255 = 3.3; its cube root is the lightness
    assert _srgb(np.array([[0.1, 0, 0]])).tolist() == [[3, 3, 3]]


@pytest.mark.parametrize("of", SCALES)
def test_a_gradient_runs_from_the_first_colour_to_the_last(of):
    stops = scale_gradient(5, of=of).split("),")
    assert len(stops) == 5
    for stop, colour in zip(stops, scale_colours(5, of=of).tolist(), strict=True):
        assert stop.removesuffix(")") == "rgb(" + ",".join(map(str, colour))


def test_every_second_hour_is_marked_above_eight():
    assert [label for _, label in scale_steps(8)] == [str(hour) for hour in range(9)]
    assert [label for _, label in scale_steps(9)] == ["0", "2", "4", "6", "8"]


def test_a_png_is_what_the_standard_says():
    """ISO/IEC 15948: signature; IHDR with width, height, 8 bits, colour with alpha (6), deflate, filters, no interlace.

    Each line of the picture begins with the number of its filter, 0 for none.
    """
    picture = np.arange(2 * 3 * 4, dtype=np.uint8).reshape(2, 3, 4)
    written = png_bytes(picture)
    assert written[:8] == bytes([0x89, 0x50, 0x4E, 0x47, 0x0D, 0x0A, 0x1A, 0x0A])
    at, chunks = 8, []
    while at < len(written):
        length = int.from_bytes(written[at : at + 4], "big")
        name, content = written[at + 4 : at + 8], written[at + 8 : at + 8 + length]
        checksum = int.from_bytes(written[at + 8 + length : at + 12 + length], "big")
        assert checksum == zlib.crc32(name + content)
        chunks.append((name, content))
        at += 12 + length
    assert [name for name, _ in chunks] == [b"IHDR", b"IDAT", b"IEND"]
    assert chunks[0][1] == bytes([0, 0, 0, 3, 0, 0, 0, 2, 8, 6, 0, 0, 0])
    assert zlib.decompress(chunks[1][1]) == b"\x00" + bytes(range(12)) + b"\x00" + bytes(range(12, 24))
    assert chunks[2][1] == b""


def test_a_gradient_has_sixteen_colours():
    assert scale_gradient().count("rgb(") == 16


def oklab(colours):
    """Lightness, chroma and hue [degrees] of sRGB bytes, the other way than the module (Ottosson 2020, memory)."""
    share = np.asarray(colours, dtype=float) / 255
    linear = np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)
    cones = linear @ np.array([
        [0.4122214708, 0.2119034982, 0.0883024619], [0.5363325363, 0.6806995451, 0.2817188376], [0.0514459929, 0.1073969566, 0.6299787005],
    ])  # fmt: skip
    light, a, b = (np.cbrt(cones) @ np.array([
        [0.2104542553, 1.9779984951, 0.0259040371], [0.7936177850, -2.4285922050, 0.7827717662], [-0.0040720468, 0.4505937099, -0.8086757660],
    ])).T  # fmt: skip
    return light, np.hypot(a, b), np.degrees(np.arctan2(b, a)) % 360


@pytest.mark.parametrize(("of", "at", "chroma", "hue"), [
    ("sun", (0, 25, 50, 75, 100), (0.048, 0.045, 0.080, 0.105, 0.080), (255, 310, 45, 75, 99)),
    ("light", (0, 40, 75, 100), (0.050, 0.095, 0.120, 0.075), (170, 150, 125, 110)),
    ("sky", (0, 45, 100), (0.060, 0.095, 0.022), (280, 250, 215)),
])  # fmt: skip
def test_colours_at_the_corners_of_each_scale(of, at, chroma, hue):
    """A byte is up to 0.004 of chroma; in the dark and in grey that turns the hue by some degrees."""
    light, found, turned = oklab(scale_colours(101, of=of)[list(at)])
    first, last = {"sun": (0.36, 0.96), "light": (0.31, 0.96), "sky": (0.30, 0.96)}[of]
    assert light == pytest.approx([first + (last - first) * one / 100 for one in at], abs=0.005)
    assert found == pytest.approx(chroma, abs=0.005)
    assert turned == pytest.approx(hue, abs=4)

"""Pictures as they come: good, odd, damaged, and made to do harm."""

from __future__ import annotations

import io
import struct
import subprocess
import sys
import zlib

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import ExifTags, Image, ImageFile

from siteplan.files.backdrop.picture import LONGEST_SIDE, MOST_BYTES, from_pixels, read_picture
from siteplan.land.errors import InputError

RED, BLUE = (220, 30, 30), (30, 30, 220)


def picture(mode: str = "RGB", size: tuple[int, int] = (64, 40)) -> Image.Image:
    """Return a picture that is red but for the upper left quarter, which is blue."""
    image = Image.new("RGB", size, RED)
    image.paste(BLUE, (0, 0, size[0] // 2, size[1] // 2))
    return image.convert(mode)


def saved(image: Image.Image, form: str = "PNG", **options) -> bytes:
    into = io.BytesIO()
    image.save(into, form, **options)
    return into.getvalue()


def opened(content: bytes) -> Image.Image:
    return Image.open(io.BytesIO(content))


def near(colour, wanted) -> bool:
    return all(abs(one - other) < 12 for one, other in zip(colour[:3], wanted, strict=True))  # JPEG's losses


@pytest.mark.parametrize(("form", "options", "ending"), [
    ("PNG", {}, "png"), ("JPEG", {"quality": 95}, "jpg"), ("WEBP", {"lossless": True}, "jpg"), ("JPEG", {"progressive": True}, "jpg"),
])  # fmt: skip
def test_the_three_formats(form, options, ending):
    found = read_picture(saved(picture(), form, **options), f"yard.{form.lower()}")
    assert (found.ending, found.width, found.height, found.shrunk, found.notes) == (ending, 64, 40, 1.0, ())
    again = opened(found.content)
    assert near(again.getpixel((5, 5)), BLUE)
    assert near(again.getpixel((60, 35)), RED)


@pytest.mark.parametrize(("mode", "form"), [
    ("L", "PNG"), ("1", "PNG"), ("P", "PNG"), ("RGBA", "PNG"), ("LA", "PNG"), ("CMYK", "JPEG"), ("L", "JPEG"), ("RGBA", "WEBP"),
])  # fmt: skip
def test_every_mode_becomes_eight_bits(mode, form):
    found = read_picture(saved(picture(mode), form), "a")
    assert opened(found.content).mode in {"L", "RGB"}  # nothing shows through
    assert (found.width, found.height) == (64, 40)
    seen = opened(found.content).convert("RGB").getpixel((60, 35))
    assert near(seen, picture(mode).convert("RGB").getpixel((60, 35)))


def test_sixteen_bits_are_brought_to_eight():
    deep = np.full((40, 64), 65535, dtype=np.uint16)
    deep[:20, :32] = 256
    found = read_picture(saved(Image.fromarray(deep)), "scan.png")
    again = opened(found.content)
    assert (again.mode, again.getpixel((60, 35)), again.getpixel((2, 2))) == ("L", 255, 0)


def test_what_is_clear_stays_clear():
    image = picture("RGBA")
    image.putpixel((3, 3), (0, 0, 0, 0))
    for form in ("PNG", "WEBP"):
        found = read_picture(saved(image, form, **({"lossless": True} if form == "WEBP" else {})), f"a.{form}")
        assert found.ending == "png"
        assert opened(found.content).getpixel((3, 3))[3] == 0
    palette = picture("P")
    assert opened(read_picture(saved(palette, transparency=palette.getpixel((3, 3))), "p.png").content).mode == "RGBA"


@pytest.mark.parametrize(("orientation", "blue"), [
    (1, (5, 5)), (2, (60, 5)), (3, (60, 35)), (4, (5, 35)), (5, (5, 5)), (6, (35, 5)), (7, (35, 60)), (8, (5, 60)),
])  # fmt: skip
def test_it_is_turned_as_the_camera_was_held(orientation, blue):
    # EXIF 2.32, tag 274: where the first row and column of the picture stand when it is looked at
    tags = Image.Exif()
    tags[0x0112] = orientation
    found = read_picture(saved(picture(), "JPEG", exif=tags, quality=95), "photo.jpg")
    assert (found.width, found.height) == ((64, 40) if orientation < 5 else (40, 64))
    assert near(opened(found.content).getpixel(blue), BLUE)
    assert 0x0112 not in opened(found.content).getexif()


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_the_place_and_all_else_that_a_camera_adds_is_not_kept(form):
    tags = Image.Exif()
    tags[ExifTags.Base.Make] = "Camera of Somebody"
    tags[ExifTags.Base.DateTime] = "2026:05:01 10:11:12"
    gps = tags.get_ifd(ExifTags.IFD.GPSInfo)
    gps[ExifTags.GPS.GPSLatitudeRef], gps[ExifTags.GPS.GPSLatitude] = "N", (41.0, 21.0, 7.0)
    content = saved(
        picture(),
        form,
        exif=tags,
        icc_profile=b"profile of somebody",
        **({"xmp": b"<x>somebody</x>"} if form != "PNG" else {}),
    )
    assert b"omebody" in content
    found = read_picture(content, "photo")
    assert "place-removed" in found.notes
    again = opened(found.content)
    assert not dict(again.getexif())
    assert set(again.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
    assert b"omebody" not in found.content


def test_a_large_photo_is_shrunk():
    found = read_picture(saved(picture(size=(6000, 3000)), "JPEG"), "photo.jpg")
    assert (found.width, found.height) == (LONGEST_SIDE, LONGEST_SIDE // 2)
    assert found.shrunk == pytest.approx(LONGEST_SIDE / 6000)
    assert found.notes == ("shrunk",)


def test_a_scan_that_would_be_large_as_png_is_kept_as_jpeg():
    noise = np.random.default_rng(1).integers(0, 255, (1500, 1500, 3), dtype=np.uint8)
    found = read_picture(saved(Image.fromarray(noise), compress_level=1), "scan.png")
    assert found.ending == "jpg"
    assert from_pixels(noise, photo=False).ending == "jpg"


def test_what_moves_is_kept_as_its_first_frame():
    frames = [picture(), Image.new("RGB", (64, 40), "green")]
    for form in ("PNG", "WEBP"):
        found = read_picture(saved(frames[0], form, save_all=True, append_images=frames[1:]), f"a.{form.lower()}")
        assert found.notes == ("first-frame",)
        assert near(opened(found.content).convert("RGB").getpixel((60, 35)), RED)


def test_the_content_counts_and_not_the_name():
    assert read_picture(saved(picture(), "JPEG"), "yard.png").notes == ("named-otherwise",)
    assert read_picture(saved(picture(), "JPEG"), "../../etc/passwd").ending == "jpg"


def bomb(width: int, height: int) -> bytes:
    """Return a PNG that says it is so large, of a few bytes."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(b"\0" * 1000))
        + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize(("content", "told"), [
    (b"", "is no picture; save it as PNG, JPEG or WebP"),
    (b"hello", "is no picture"),
    (b"GIF89a" + b"\0" * 50, "is a GIF, which is not read here"),
    (b"%PDF-1.7 ...", "is a PDF"),
    (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "in XML"),
    (b"\0\0\0\x18ftypheic\0\0\0\0", "is a HEIC photo"),
    (b"II*\0" + b"\0" * 30, "is a TIFF without a place"),
    (bomb(8000, 8000), r"has 8,000 x 8,000 pixels, must be at most 60 million"),
    (bomb(12000, 12000), "must be at most 60 million"),
    (bomb(60000, 60000), "unfolds to more than 60 million pixels"),
    (bomb(1000, 900), "is damaged"),
    (saved(picture())[:-60], "is damaged"),
    (saved(picture(), "JPEG")[:300], "is damaged"),
    (saved(picture(size=(15, 400))), "must have at least 16 on each side"),
    (b"x" * (MOST_BYTES + 1), "is larger than 25 MB"),
], ids=lambda value: value if isinstance(value, str) else f"{len(value)} bytes")  # fmt: skip
def test_what_is_refused_in_words(content, told):
    with pytest.raises(InputError, match=rf"^yard\.png: .*{told}"):
        read_picture(content, "yard.png")


def test_half_a_picture_is_refused_though_a_library_lets_pillow_take_it(monkeypatch):
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", True)  # as weasyprint does when it is imported
    with pytest.raises(InputError, match="is damaged"):
        read_picture(saved(picture(), "JPEG")[:300], "yard.jpg")
    assert ImageFile.LOAD_TRUNCATED_IMAGES


@pytest.mark.parametrize("lenient", [False, True])
def test_a_text_that_unfolds_in_a_png_is_no_way_in(lenient, monkeypatch):
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", lenient)
    packed = zlib.compress(b"\0" * 80_000_000)
    head = saved(picture())
    chunk = b"zTXt" + b"a\0\0" + packed
    inside = struct.pack(">I", len(chunk) - 4) + chunk + struct.pack(">I", zlib.crc32(chunk))
    with pytest.raises(InputError, match="is damaged"):
        read_picture(head[:33] + inside + head[33:], "a.png")


@settings(max_examples=150, deadline=None, database=None)
@given(
    st.sampled_from([saved(picture()), saved(picture("P")), saved(picture(), "JPEG"), saved(picture(), "WEBP")]),
    st.lists(st.tuples(st.integers(0, 3000), st.integers(0, 255)), min_size=1, max_size=8), st.integers(0, 3000),
)  # fmt: skip
def test_damaged_bytes_are_read_or_refused(content, changes, length):
    damaged = bytearray(content[: max(length, 12)])
    for place, value in changes:
        damaged[place % len(damaged)] = value
    try:
        found = read_picture(bytes(damaged), "a.png")
    except InputError as error:
        assert "a.png: " in str(error)  # noqa: PT017  # either way is right
        return
    assert max(found.width, found.height) <= LONGEST_SIDE


def test_pillow_is_loaded_when_a_picture_is_read():
    script = "import sys, siteplan.files.backdrop.under_map, siteplan.files.reader; print('PIL' in sys.modules)"
    shown = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert shown.stdout.strip() == "False"

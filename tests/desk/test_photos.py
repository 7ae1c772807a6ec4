"""Pictures are decoded and made anew; what is none, or too large, is refused in words."""

from __future__ import annotations

import io
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from evenboard.desk.photos import SHOWN_PX, PhotoInvalid, remade
from support.pictures import a_picture, a_zip, png_of_size, with_place_and_time

SVG = b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>'


def opened(data: bytes) -> Image.Image:
    return Image.open(io.BytesIO(data))


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_a_picture_is_kept_as_a_jpeg_of_the_same_dots(form: str) -> None:
    photo = remade(a_picture(form))

    image = opened(photo.content)
    assert (image.format, photo.media_type) == ("JPEG", "image/jpeg")
    assert (photo.width, photo.height) == image.size == (64, 48)
    left, right = image.getpixel((5, 20)), image.getpixel((60, 20))
    assert left[2] > 200 > 60 > left[0]  # type: ignore[index,operator]
    assert right[0] > 200 > 60 > right[2]  # type: ignore[index,operator]


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_where_and_when_it_was_taken_is_not_kept(form: str) -> None:
    sent = with_place_and_time(form)
    assert opened(sent).getexif().get_ifd(0x8825)

    photo = remade(sent)

    assert not dict(opened(photo.content).getexif())
    for word in (b"Exif", b"SECRET-MAKER", b"2026:11:25", b"ICC_PROFILE"):
        assert word not in photo.content


def test_it_is_turned_upright_before_the_word_about_that_is_dropped() -> None:
    photo = remade(with_place_and_time(size=(64, 48)))

    assert (photo.width, photo.height) == (48, 64)


def test_a_large_picture_is_made_smaller_and_keeps_its_shape() -> None:
    photo = remade(a_picture(size=(4000, 3000)))

    assert (photo.width, photo.height) == (SHOWN_PX, SHOWN_PX * 3 // 4)


@pytest.mark.parametrize("mode", ["RGBA", "LA", "P", "L", "1", "I;16", "CMYK"])
def test_pictures_of_every_kind_of_dot_are_read(mode: str) -> None:
    out = io.BytesIO()
    form = "JPEG" if mode == "CMYK" else "PNG"
    Image.new(mode, (20, 10)).save(out, form)

    photo = remade(out.getvalue())

    assert (photo.width, photo.height) == (20, 10)


def test_what_is_see_through_stands_on_white() -> None:
    out = io.BytesIO()
    Image.new("RGBA", (20, 10), (0, 0, 0, 0)).save(out, "PNG")

    assert opened(remade(out.getvalue()).content).getpixel((5, 5)) == (255, 255, 255)


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"no picture",
        SVG,
        a_zip(),
        a_picture("GIF"),
        a_picture("BMP"),
        a_picture("TIFF"),
        a_picture()[:200],
        a_picture("PNG")[:60],
        b"\xff\xd8\xff\xe0" + bytes(5000),
        b"%PDF-1.7\n" + a_picture(),
        b"RIFF\x10\x00\x00\x00WEBPVP8 ",
    ],
    ids=["nothing", "text", "svg", "zip", "gif", "bmp", "tiff", "cut-jpeg", "cut-png", "fake-jpeg",
         "pdf", "cut-webp"],
)  # fmt: skip
def test_what_is_no_such_picture_is_refused(data: bytes) -> None:
    with pytest.raises(PhotoInvalid, match="picture"):
        remade(data)


def test_a_small_file_that_would_unpack_to_a_huge_picture_is_refused_unopened() -> None:
    bombs = [png_of_size(60_000, 60_000), png_of_size(9_000, 9_000)]
    assert all(len(bomb) < 100_000 for bomb in bombs)

    begun = time.perf_counter()
    for bomb in bombs:
        with pytest.raises(PhotoInvalid, match="at most 50 million"):
            remade(bomb)

    # Far below what unpacking it would take on any machine.
    assert time.perf_counter() - begun < 2.0


@settings(max_examples=60, deadline=None)
@given(
    st.integers(0, 2000),
    st.binary(min_size=1, max_size=40),
    st.sampled_from(["JPEG", "PNG", "WEBP"]),
)
def test_a_tampered_picture_is_read_or_refused_and_never_an_error(
    at: int, junk: bytes, form: str
) -> None:
    data = bytearray(a_picture(form))
    at %= len(data)
    data[at : at + len(junk)] = junk

    try:
        photo = remade(bytes(data))
    except PhotoInvalid:
        return
    assert photo.content.startswith(b"\xff\xd8")

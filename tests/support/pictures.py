"""Pictures in tests: real ones, and files that only look like some."""

from __future__ import annotations

import io
import struct
import zipfile
import zlib
from typing import Any

from PIL import Image

__all__ = ["a_picture", "a_zip", "png_of_size", "with_place_and_time"]


def a_picture(form: str = "JPEG", size: tuple[int, int] = (64, 48), **options: Any) -> bytes:
    """A red picture with a blue left half."""
    image = Image.new("RGB", size, "red")
    image.paste("blue", (0, 0, size[0] // 2, size[1]))
    out = io.BytesIO()
    image.save(out, form, **options)
    return out.getvalue()


def with_place_and_time(form: str = "JPEG", size: tuple[int, int] = (64, 48)) -> bytes:
    """A picture as a phone takes it: where, when, by which camera, and lying on its side."""
    exif = Image.Exif()
    exif[0x0112] = 6
    exif[0x010F] = "SECRET-MAKER"
    exif[0x0132] = "2026:11:25 09:30:00"
    place = exif.get_ifd(0x8825)
    place[1], place[2] = "S", (33.0, 51.0, 25.0)
    place[3], place[4] = "E", (151.0, 12.0, 54.0)
    return a_picture(form, size, exif=exif.tobytes())


def png_of_size(width: int, height: int) -> bytes:
    """A PNG of a few bytes that says it is so large, all black."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        body = kind + data
        return struct.pack(">I", len(data)) + body + struct.pack(">I", zlib.crc32(body))

    head = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0))
    rows = zlib.compress(bytes(min(height, 1000) * (1 + (width + 7) // 8)), 9)
    return b"\x89PNG\r\n\x1a\n" + head + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


def a_zip(size: int = 10_000_000) -> bytes:
    """A small archive of a large file of nothing."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("photo.jpg", bytes(size))
    return out.getvalue()

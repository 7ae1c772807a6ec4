"""Pictures of equipment: really decoded, turned upright, made smaller, and made anew.

What is kept is a new file of the picture's own dots. So nothing that was in the sent file beside
them is kept: not where and when it was taken, nor whatever else somebody hid in it.
"""

from __future__ import annotations

import io
import struct
import warnings
import zlib
from dataclasses import dataclass

from PIL import Image, ImageCms, ImageOps

__all__ = ["MOST_PIXELS", "SHOWN_PX", "TYPES", "Photo", "PhotoInvalid", "remade"]

TYPES = {"image/jpeg": "JPEG", "image/png": "PNG", "image/webp": "WEBP"}
MOST_PIXELS = 50_000_000
"""Widest picture that is decoded: a phone's largest (estimate); 150 MB while it is open."""
SHOWN_PX = 2048
"""Longest side of what is kept: a crack in a sheath is still seen (estimate)."""
QUALITY = 85
"""Of the JPEG that is kept, 0 to 95: above the library's 75, for hair cracks (estimate)."""
_ERRORS = (
    OSError,
    ValueError,
    SyntaxError,
    EOFError,
    struct.error,
    zlib.error,
    KeyError,
    IndexError,
    TypeError,
    OverflowError,
    MemoryError,
)
"""What a decoder raises on a file that somebody has tampered with, or cut short."""


class PhotoInvalid(ValueError):
    """The bytes are no picture that is kept here; the message says what would be right."""


@dataclass(frozen=True, slots=True)
class Photo:
    """A picture as it is kept and served."""

    content: bytes
    media_type: str
    width: int
    height: int


def remade(data: bytes) -> Photo:
    """The picture in some bytes, as a new JPEG. Raises :class:`PhotoInvalid`."""
    if not data:
        raise PhotoInvalid("There is no picture: the body is empty.")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            image = _decoded(data)
            out = io.BytesIO()
            image.save(out, "JPEG", quality=QUALITY, optimize=True)
    except PhotoInvalid:
        raise
    except Image.DecompressionBombError:
        raise _too_large("far more dots than a camera has") from None
    except _ERRORS:
        raise PhotoInvalid(
            "This is no JPEG, PNG or WebP picture that can be opened, or it was cut short: take "
            "or send it again."
        ) from None
    return Photo(out.getvalue(), "image/jpeg", image.width, image.height)


def _decoded(data: bytes) -> Image.Image:
    with Image.open(io.BytesIO(data), formats=tuple(TYPES.values())) as opened:
        # The head of the file says how large it is, before anything is unpacked.
        if opened.width * opened.height > MOST_PIXELS:
            raise _too_large(f"{opened.width} x {opened.height} dots")
        # A JPEG is read no larger than it is kept.
        opened.draft("RGB", (SHOWN_PX, SHOWN_PX))
        opened.load()
        image = _plain_colours(ImageOps.exif_transpose(opened))
    image.thumbnail((SHOWN_PX, SHOWN_PX))
    # Of the dots alone: no profile, no comment, no tag comes along.
    clean = Image.new("RGB", image.size)
    clean.paste(image)
    return clean


def _too_large(size: str) -> PhotoInvalid:
    most = MOST_PIXELS // 1_000_000
    return PhotoInvalid(
        f"The picture has {size}: at most {most} million are opened. Send a smaller one."
    )


def _plain_colours(image: Image.Image) -> Image.Image:
    """In sRGB, on white where it was see-through: the colour of a scorched pin has to be right."""
    profile = image.info.get("icc_profile")
    if image.mode not in ("RGB", "L"):
        if image.mode in ("RGBA", "LA", "PA") or "transparency" in image.info:
            see_through = image.convert("RGBA")
            ground = Image.new("RGBA", image.size, "white")
            return Image.alpha_composite(ground, see_through).convert("RGB")
        if image.mode.startswith("I"):
            # Sixteen bits of grey: the upper eight.
            image = image.convert("I").point(lambda value: value / 256).convert("L")
        image = image.convert("RGB")
    if profile and image.mode == "RGB":
        try:
            theirs = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            ours = ImageCms.createProfile("sRGB")
            return ImageCms.profileToProfile(image, theirs, ours, outputMode="RGB") or image
        except (ImageCms.PyCMSError, OSError, ValueError):
            # A profile that cannot be read: the dots as they are.
            return image
    return image.convert("RGB")

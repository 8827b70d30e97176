"""Pictures as they come from a phone, made fit to keep: small, upright, and nothing but the picture."""

from __future__ import annotations

import io
import struct
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from bearwell.errors import BadInput
from bearwell.said import said

if TYPE_CHECKING:
    from PIL import Image

LARGEST: Final = 25_000_000  # bytes as sent
MOST_PIXELS: Final = 64_000_000
LONGEST_SIDE: Final = 2400  # pixels as kept: a leaf that fills the picture can still be read
QUALITY: Final = 85
TAKEN: Final = ("JPEG", "PNG", "WEBP")
# Kinds of the ISO container of phones that cannot be opened here, by the brand that stands at byte 8.
_PHONE_BRANDS: Final = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"mif1", b"msf1", b"avif")
_SPOILED: Final = (
    OSError, ValueError, SyntaxError, EOFError, LookupError, TypeError, ArithmeticError, MemoryError, struct.error,
)  # fmt: skip


@dataclass(frozen=True)
class Picture:
    """A picture fit to keep: a JPEG file without anything but the picture, and its size in pixels."""

    jpeg: bytes
    width: int
    height: int


def take_in(data: bytes) -> Picture:
    """The picture in the bytes of a JPEG, PNG or WebP file, encoded anew.

    Turned upright, brought to ordinary colours, made smaller where its longer side has more than LONGEST_SIDE
    pixels; place, time, camera, comments and all else the file carried are left behind. Raises BadInput
    for what is empty, too large, no such picture, or spoiled. A picture is measured before it is unpacked.
    """
    if not data:
        raise BadInput("the picture is empty", "choose it again; was it still being saved?")
    if len(data) > LARGEST:
        raise BadInput(
            said("the picture has {size:.0f} MB", size=len(data) / 1e6),
            said("{most} MB at most", most=LARGEST // 1_000_000),
        )
    if data[4:8] == b"ftyp" and data[8:12] in _PHONE_BRANDS:
        raise BadInput(
            "pictures in the HEIC or AVIF form are not taken",
            "let the phone save or send it as JPEG",
        )
    from PIL import Image, UnidentifiedImageError

    try:
        with Image.open(io.BytesIO(data), formats=TAKEN) as opened:
            _measured(opened)
            upright = _upright(opened)
        return _encoded(upright)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise _too_many_pixels() from None
    except UnidentifiedImageError:
        raise BadInput("this is not a picture", "a JPEG, PNG or WebP file is") from None
    except _SPOILED as error:
        raise BadInput("the picture is cut short or spoiled", "take or choose it again") from error


def small(jpeg: bytes, longest: int) -> bytes:
    """A kept picture made small enough for a list of them: its longer side has at most ``longest`` pixels."""
    from PIL import Image, UnidentifiedImageError

    try:
        with Image.open(io.BytesIO(jpeg), formats=TAKEN) as opened:
            _measured(opened)
            opened.draft("RGB", (longest, longest))
            made = opened.convert("RGB")
        made.thumbnail((longest, longest), Image.Resampling.LANCZOS)
        return _encoded(made).jpeg
    except (UnidentifiedImageError, *_SPOILED) as error:
        raise BadInput("this picture cannot be made small") from error


def _too_many_pixels() -> BadInput:
    return BadInput(
        "the picture has too many pixels",
        said("{most} million at most", most=MOST_PIXELS // 1_000_000),
    )


def _measured(opened: Image.Image) -> None:
    if opened.width * opened.height > MOST_PIXELS:
        raise _too_many_pixels()


def _upright(opened: Image.Image) -> Image.Image:
    """The picture as it was meant to be seen, in plain colours, no larger than it is kept."""
    from PIL import Image, ImageOps

    opened.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))  # a large JPEG is unpacked small at once
    made = _ordinary_colours(ImageOps.exif_transpose(opened))
    made.thumbnail((LONGEST_SIDE, LONGEST_SIDE), Image.Resampling.LANCZOS)
    return made


def _ordinary_colours(image: Image.Image) -> Image.Image:
    """The picture in sRGB on white, so that without its own colour profile it looks the same."""
    from PIL import Image, ImageCms

    profile = image.info.get("icc_profile")
    if profile and image.mode in ("RGB", "CMYK", "L"):
        try:
            own = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            turned = ImageCms.profileToProfile(
                image, own, ImageCms.createProfile("sRGB"), outputMode="RGB"
            )
            if turned is not None:
                return turned
        except (ImageCms.PyCMSError, *_SPOILED):
            pass  # a profile that cannot be read: the colours as they are
    if image.has_transparency_data:
        over = image.convert("RGBA")
        ground = Image.new("RGBA", over.size, "white")
        return Image.alpha_composite(ground, over).convert("RGB")
    return image.convert("RGB")


def _encoded(image: Image.Image) -> Picture:
    from PIL import Image

    bare = Image.new("RGB", image.size)  # carries none of what came with the file
    bare.paste(image)
    out = io.BytesIO()
    bare.save(out, "JPEG", quality=QUALITY, optimize=True)
    return Picture(out.getvalue(), bare.width, bare.height)

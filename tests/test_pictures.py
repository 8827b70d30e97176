"""Pictures taken in: what is left behind, what is refused, and that nothing sent can break it."""

from __future__ import annotations

import io
import struct
import zlib
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageCms, PngImagePlugin

from bearwell import pictures
from bearwell.errors import BadInput
from bearwell.pictures import take_in

ORIENTATION, GPS, MAKER = 0x0112, 0x8825, 0x010F  # tags of Exif 2.32, tables 4 and 15


def quarters(width: int = 80, height: int = 40) -> Image.Image:
    """A picture whose upper left quarter is red, upper right green, lower left blue, lower right white."""
    made = Image.new("RGB", (width, height), "white")
    made.paste("red", (0, 0, width // 2, height // 2))
    made.paste("lime", (width // 2, 0, width, height // 2))
    made.paste("blue", (0, height // 2, width // 2, height))
    return made


def saved(image: Image.Image, form: str = "JPEG", **options: object) -> bytes:
    out = io.BytesIO()
    image.save(out, form, **options)
    return out.getvalue()


def opened(jpeg: bytes) -> Image.Image:
    image = Image.open(io.BytesIO(jpeg), formats=("JPEG",))
    image.load()
    return image


def corners(image: Image.Image) -> list[str]:
    """The colour of each quarter, read at its middle."""
    names = {
        (255, 0, 0): "red",
        (0, 255, 0): "green",
        (0, 0, 255): "blue",
        (255, 255, 255): "white",
    }
    found = []
    for y in (1, 3):
        for x in (1, 3):
            pixel = image.getpixel((image.width * x // 4, image.height * y // 4))
            assert isinstance(pixel, tuple)
            nearest = min(
                names, key=lambda one: sum(abs(a - b) for a, b in zip(one, pixel, strict=True))
            )
            found.append(names[nearest])
    return found


UPRIGHT = ["red", "green", "blue", "white"]


# ---------------------------------------------------------------- what is kept and what is not


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_a_picture_is_taken_in_as_a_jpeg(form: str) -> None:
    kept = take_in(saved(quarters(), form))
    image = opened(kept.jpeg)
    assert (image.format, image.mode) == ("JPEG", "RGB")
    assert image.size == (kept.width, kept.height) == (80, 40)
    assert corners(image) == UPRIGHT


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_place_time_and_camera_are_left_behind(form: str) -> None:
    exif = Image.Exif()
    exif[MAKER] = "Camera of Secrets"
    exif.get_ifd(GPS).update({1: "N", 2: (41.0, 41.0, 24.0), 3: "W", 4: (8.0, 49.0, 48.0)})
    options: dict[str, object] = {"exif": exif}
    if form == "JPEG":
        options |= {"comment": b"secret comment", "xmp": b"<x:xmpmeta>secret place</x:xmpmeta>"}
    if form == "PNG":
        note = PngImagePlugin.PngInfo()
        note.add_text("Comment", "secret comment")
        options["pnginfo"] = note
    sent = saved(quarters(), form, **options)
    assert b"Secrets" in sent
    assert Image.open(io.BytesIO(sent)).getexif().get_ifd(GPS)

    jpeg = take_in(sent).jpeg

    image = opened(jpeg)
    assert dict(image.getexif()) == {}
    assert set(image.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
    assert b"ecret" not in jpeg
    assert b"Exif" not in jpeg
    assert markers(jpeg) <= {0xE0}, "no segment of an application but that of JFIF, no comment"


def markers(jpeg: bytes) -> set[int]:
    """The application and comment segments of a JPEG file (ITU-T T.81, table B.1)."""
    place, found = 2, set()
    while jpeg[place + 1] != 0xDA:
        if jpeg[place + 1] >= 0xE0:
            found.add(jpeg[place + 1])
        place += 2 + struct.unpack(">H", jpeg[place + 2 : place + 4])[0]
    return found


def test_each_way_a_camera_was_held_comes_out_upright() -> None:
    # Exif 2.32, tag Orientation: which side of the stored picture is the top and the left of the scene.
    stored = {
        1: None, 2: Image.Transpose.FLIP_LEFT_RIGHT, 3: Image.Transpose.ROTATE_180,
        4: Image.Transpose.FLIP_TOP_BOTTOM, 5: Image.Transpose.TRANSPOSE, 6: Image.Transpose.ROTATE_90,
        7: Image.Transpose.TRANSVERSE, 8: Image.Transpose.ROTATE_270,
    }  # fmt: skip
    for value, turn in stored.items():
        exif = Image.Exif()
        exif[ORIENTATION] = value
        scene = quarters()
        kept = take_in(saved(scene if turn is None else scene.transpose(turn), exif=exif))
        assert corners(opened(kept.jpeg)) == UPRIGHT, value
        assert (kept.width, kept.height) == (80, 40), value


def test_a_large_picture_is_made_smaller_in_proportion() -> None:
    kept = take_in(saved(quarters(6000, 3000)))
    assert (kept.width, kept.height) == (pictures.LONGEST_SIDE, pictures.LONGEST_SIDE // 2)
    assert corners(opened(kept.jpeg)) == UPRIGHT


@pytest.mark.parametrize("mode", ["1", "L", "P", "RGBA", "LA", "CMYK", "YCbCr", "I;16"])
def test_every_sort_of_colour_is_taken(mode: str) -> None:
    form = "JPEG" if mode in ("CMYK", "YCbCr") else "PNG"
    image = Image.new("I;16", (8, 8), 65535) if mode == "I;16" else quarters().convert(mode)
    assert opened(take_in(saved(image, form)).jpeg).mode == "RGB"


def test_what_is_clear_becomes_white() -> None:
    image = opened(take_in(saved(Image.new("RGBA", (16, 16), (0, 0, 0, 0)), "PNG")).jpeg)
    assert image.getpixel((8, 8)) == (255, 255, 255)


def test_colours_of_another_profile_are_brought_over() -> None:
    own = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    # The same with the primaries of red and green exchanged in its table of tags (ICC.1, clause 7.3).
    other = own.replace(b"rXYZ", b"----").replace(b"gXYZ", b"rXYZ").replace(b"----", b"gXYZ")
    assert corners(opened(take_in(saved(quarters(), icc_profile=own)).jpeg)) == UPRIGHT
    turned = opened(take_in(saved(quarters(), icc_profile=other)).jpeg)
    assert corners(turned) == ["green", "red", "blue", "white"]
    assert "icc_profile" not in turned.info
    spoiled = take_in(saved(quarters(), icc_profile=b"nonsense")).jpeg
    assert spoiled == take_in(saved(quarters())).jpeg


# ---------------------------------------------------------------- what is refused


def png_of(width: int, height: int) -> bytes:
    """A PNG file that claims a size and holds next to nothing (ISO/IEC 15948, clause 11.2)."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
        )

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(b"\0" * 99))
        + chunk(b"IEND", b"")
    )


@pytest.mark.filterwarnings("ignore::PIL.Image.DecompressionBombWarning")
@pytest.mark.parametrize(
    "size", [(8001, 8001), (12_000, 8_000), (60_000, 60_000), (2**31 - 1, 1), (1, 2**31 - 1)]
)
def test_a_picture_that_unpacks_to_too_much_is_refused_unpacked(size: tuple[int, int]) -> None:
    with pytest.raises(BadInput, match="too many pixels"):
        take_in(png_of(*size))


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "is empty"),
        (b"\xff\xd8\xff\xe0" + b"x" * 30_000_000, "30 MB"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>", "not a picture"),
        (b"<!doctype html><script>alert(1)</script>", "not a picture"),
        (b"GIF89a\x01\x00\x01\x00\x00\x00\x00;", "not a picture"),
        (b"%PDF-1.7\n", "not a picture"),
        (b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\n", "not a picture"),
        (b"x" * 1000, "not a picture"),
        (b"\xff\xd8\xff", "not a picture|spoiled"),
        (b"\0\0\0\x18ftypheic\0\0\0\0", "HEIC"),
    ],
)  # fmt: skip
def test_what_is_no_picture_is_refused_in_words(data: bytes, said: str) -> None:
    with pytest.raises(BadInput, match=said) as refused:
        take_in(data)
    assert refused.value.hint


@cache
def sample(form: str) -> bytes:
    noise = Image.effect_noise((64, 48), 80).convert("RGB")
    exif = Image.Exif()
    exif[ORIENTATION] = 6
    exif[MAKER] = "Camera of Secrets"
    return saved(noise, form, exif=exif)


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("share", [0.02, 0.3, 0.6, 0.9])
def test_a_picture_cut_short_is_refused(form: str, share: float) -> None:
    whole = sample(form)
    with pytest.raises(BadInput, match=r"cut short|not a picture"):
        take_in(whole[: int(len(whole) * share)])


@pytest.mark.filterwarnings(
    "ignore"
)  # the library grumbles about spoiled tags; they are left behind
@given(
    st.sampled_from(["JPEG", "PNG", "WEBP"]),
    st.lists(st.tuples(st.floats(0, 0.999), st.integers(0, 255)), min_size=1, max_size=12),
)
@settings(max_examples=150)
def test_a_spoiled_picture_is_refused_or_comes_out_clean(
    form: str, spots: list[tuple[float, int]]
) -> None:
    data = bytearray(sample(form))
    for place, value in spots:
        data[int(place**3 * len(data))] = value  # mostly near the head, where it hurts
    try:
        kept = take_in(bytes(data))
    except BadInput:
        return
    assert b"Secrets" not in kept.jpeg
    assert opened(kept.jpeg).size == (kept.width, kept.height)


@pytest.mark.filterwarnings("ignore")
@given(
    st.binary(max_size=300),
    st.sampled_from([b"", b"\xff\xd8\xff\xe1", b"\x89PNG\r\n\x1a\n", b"RIFF\0\0\0\0WEBPVP8X"]),
)
def test_nothing_that_is_sent_breaks_it(data: bytes, head: bytes) -> None:
    with pytest.raises(BadInput):
        take_in(head + data)

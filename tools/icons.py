"""Draws the icons of the installed page from the same mark as static/mark.svg."""

from __future__ import annotations

from pathlib import Path

from PIL import Image, ImageDraw

STATIC = Path(__file__).parent.parent / "src" / "bearwell" / "faces" / "web" / "static"
SIDE = 32  # of the drawing
PAPER, FRUIT, LEAF = "#f8f4ea", "#c4622d", "#2b5f43"
# The leaf as cubic curves: start, two handles, end.
CURVES = (
    ((16, 9), (16, 5), (19, 3), (24, 3)),
    ((24, 3), (23, 8), (20, 10), (16, 9)),
)
FINE = 4  # drawn larger, then made smaller: smooth edges


def leaf() -> list[tuple[float, float]]:
    """The outline of the leaf as points."""
    points = []
    for one, two, three, four in CURVES:
        for step in range(41):
            t = step / 40
            parts = ((1 - t) ** 3, 3 * (1 - t) ** 2 * t, 3 * (1 - t) * t**2, t**3)
            points.append(
                tuple(
                    sum(w * p[axis] for w, p in zip(parts, (one, two, three, four), strict=True))
                    for axis in (0, 1)
                )
            )
    return points  # type: ignore[return-value]


def icon(pixels: int, share: float) -> Image.Image:
    """The mark on paper, taking this share of the side."""
    side = pixels * FINE
    scale = side * share / SIDE
    # The drawing runs from 3 to 29 down and is centred on 16 across.
    left, top = side / 2 - 16 * scale, side / 2 - 16 * scale
    image = Image.new("RGB", (side, side), PAPER)
    pen = ImageDraw.Draw(image)

    def at(x: float, y: float) -> tuple[float, float]:
        return left + x * scale, top + y * scale

    pen.ellipse([*at(6, 9), *at(26, 29)], fill=FRUIT)
    pen.polygon([at(x, y) for x, y in leaf()], fill=LEAF)
    return image.resize((pixels, pixels), Image.Resampling.LANCZOS)


if __name__ == "__main__":
    for pixels, share, name in (
        (180, 0.9, "mark-180"),
        (192, 0.95, "mark-192"),
        (512, 0.95, "mark-512"),
        (512, 0.7, "mark-512-safe"),  # stays whole where a device cuts icons round
    ):
        icon(pixels, share).quantize(64).save(STATIC / f"{name}.png", optimize=True)

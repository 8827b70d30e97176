"""Where the invented trees and shelters of the demonstration garden stand on their invented terrace."""

from __future__ import annotations

# Metres east and north of the south-west corner, at the gate.
TREES_STAND: dict[str, tuple[float, float]] = {
    "satsuma-gate": (2.0, 1.8),
    "anna-steps": (5.6, 1.7),
    "golden-low": (9.4, 2.0),
    "peach-south": (12.3, 1.9),
    "pomegranate-bank": (16.5, 1.6),
    "conference-fence": (20.0, 2.0),
    "apricot-west": (2.1, 6.2),
    "calamondin-pot": (5.3, 6.6),
    "kumquat-pot": (6.9, 6.4),
    "blueberry-emerald": (9.0, 5.6),
    "blueberry-star": (10.6, 5.6),
    "loquat-shed": (13.9, 5.9),
    "olive-old": (18.6, 6.4),
    "navel-wall": (4.2, 10.6),
    "clementine-graft": (8.9, 9.9),
    "hass-hoop": (10.9, 9.9),
    "fuyu-top": (15.6, 10.4),
    "fig-corner": (19.6, 11.2),
}


def place_line(tree: str) -> list[str]:
    """The line of a garden file that says where a tree stands."""
    if tree not in TREES_STAND:
        return []
    east, north = TREES_STAND[tree]
    line = f'place = {{ east = "{east:g} m", north = "{north:g} m" }}'
    first = next(iter(TREES_STAND))
    return [f"{line}  # from the corner at the gate: see /map" if tree == first else line]

"""How far two places lie apart."""

from __future__ import annotations

import numpy as np

from bearwell.weather.curves import FloatArray

_EARTH = 6371.0  # km, mean radius


def distances(one: tuple[float, float], latitude: FloatArray, longitude: FloatArray) -> FloatArray:
    """Great-circle distance from a place to each of many [km]."""
    a, b = np.radians(one)
    c, d = np.radians(latitude), np.radians(longitude)
    half = np.sin((c - a) / 2) ** 2 + np.cos(a) * np.cos(c) * np.sin((d - b) / 2) ** 2
    far: FloatArray = 2 * _EARTH * np.arcsin(np.minimum(1.0, np.sqrt(half)))
    return far


def distance(one: tuple[float, float], other: tuple[float, float]) -> float:
    """Great-circle distance between two places [km]."""
    return float(distances(one, np.array(other[0]), np.array(other[1])))

"""What things lie on: sheet steel, bakelised paper, covering cloth, grille cloth, wood."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from .colour_code import RGB

WIDTH, HEIGHT = 1600, 1200
Floats = NDArray[np.float32]
Random = np.random.Generator


def random(seed: int, purpose: int) -> Random:
    """A stream of its own for each purpose, so that a change in one thing leaves the others where they are."""
    return np.random.default_rng([seed, purpose])


def _stretched(field: NDArray[Any], width: int, height: int) -> Floats:
    image = Image.fromarray(np.asarray(field, dtype=np.float32))
    return np.asarray(image.resize((width, height), Image.Resampling.BICUBIC), dtype=np.float32)


def clouds(rng: Random, width: int, height: int, cell: int) -> Floats:
    """Soft patches of about `cell` pixels, mean 0, about ±1."""
    field = rng.normal(size=(height // cell + 3, width // cell + 3))
    return _stretched(field, width, height)


def grain(rng: Random, width: int, height: int) -> Floats:
    """Fine noise, one value for every four pixels."""
    return _stretched(rng.normal(size=(height // 2 + 1, width // 2 + 1)), width, height)


def _paint(colour: RGB, light: Floats) -> Image.Image:
    pixels = np.asarray(colour, dtype=np.float32) * light[..., None]
    return Image.fromarray(np.clip(pixels, 0, 255).astype(np.uint8))


def brushed_metal(
    rng: Random, width: int, height: int, colour: RGB = (150, 152, 152), dull: float = 1.0
) -> Image.Image:
    """Sheet metal with rolling marks along it, and stains."""
    full, width, height = (width, height), width // 2, height // 2  # its marks are soft: half the points will do
    lines = _stretched(rng.normal(size=(height, max(4, width // 90))), width, height)
    patches = 0.05 * dull * clouds(rng, width, height, 85)
    light = 1 + 0.040 * lines + patches + 0.02 * rng.normal(size=lines.shape).astype(np.float32)
    metal = np.asarray(colour, dtype=np.float32) * light[..., None]
    stain = np.clip(clouds(rng, width, height, 30) - 1.3, 0, 1)[..., None] * dull
    metal = metal * (1 - 0.35 * stain) + np.array([92, 62, 36], dtype=np.float32) * 0.35 * stain
    small = Image.fromarray(np.clip(metal, 0, 255).astype(np.uint8))
    return small.resize(full, Image.Resampling.BICUBIC)


def phenolic(rng: Random, width: int, height: int, colour: RGB = (112, 70, 38)) -> Image.Image:
    """Bakelised paper board: brown, faintly fibrous, a little blotched."""
    fibres = _stretched(rng.normal(size=(height, max(4, width // 24))), width, height)
    light = 1 + 0.045 * fibres + 0.07 * clouds(rng, width, height, 90) + 0.03 * grain(rng, width, height)
    return _paint(colour, light)


def covering(rng: Random, width: int, height: int, colour: RGB = (44, 44, 46)) -> Image.Image:
    """Pebbled cloth-backed covering of a cabinet, lit from the upper left."""
    full, width, height = (width, height), width // 2, height // 2
    bumps = clouds(rng, width, height, 3) + 0.6 * clouds(rng, width, height, 5)
    slope = np.zeros_like(bumps)
    slope[1:, 1:] = bumps[1:, 1:] - bumps[:-1, :-1]
    light = 1 + 0.40 * slope + 0.06 * clouds(rng, width, height, 120)
    return _paint(colour, np.clip(light, 0.35, 2.2)).resize(full, Image.Resampling.BICUBIC)


def grille_cloth(rng: Random, width: int, height: int, colour: RGB = (150, 132, 96)) -> Image.Image:
    """Woven cloth with a dark thread in every sixth place."""
    x, y = np.meshgrid(np.arange(width), np.arange(height))
    weave = 0.16 * np.sin(x * np.pi / 4) * np.sin(y * np.pi / 4) + 0.1 * np.sin((x + y) * np.pi / 4)
    thread = np.where((x % 48 < 5) | (y % 64 < 3), 0.62, 1.0)
    light = (1 + weave) * thread + 0.05 * clouds(rng, width, height, 200) + 0.05 * grain(rng, width, height)
    return _paint(colour, light.astype(np.float32))


def wood(rng: Random, width: int, height: int, colour: RGB = (176, 132, 84)) -> Image.Image:
    """Plywood or a bench top: long grain, darker streaks."""
    full, width, height = (width, height), width // 2, height // 2
    streaks = _stretched(rng.normal(size=(max(8, height // 5), max(3, width // 320))), width, height)
    fine = _stretched(rng.normal(size=(height, max(3, width // 160))), width, height)
    light = 1 + 0.09 * streaks + 0.06 * fine + 0.05 * clouds(rng, width, height, 150)
    return _paint(colour, light).resize(full, Image.Resampling.BICUBIC)

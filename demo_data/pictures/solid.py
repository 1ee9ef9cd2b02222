"""Small solid things as lit pictures with a see-through ground: cylinders, domes, boxes, plates."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from PIL import Image

from .colour_code import RGB
from .surface import Floats

LIGHT = np.array([-0.46, -0.56, 0.69], dtype=np.float32)  # where the lamp is: upper left, in front
HALFWAY = (LIGHT + np.array([0, 0, 1])) / np.linalg.norm(LIGHT + np.array([0, 0, 1]))


@dataclass(frozen=True)
class Solid:
    """A lit picture with its transparency, and how far it stands off what it lies on (pixels)."""

    image: Image.Image
    lift: float = 8.0


def lighting(x: Floats, y: Floats, z: Floats, gloss: float, hardness: float = 24.0) -> tuple[Floats, Floats]:
    """What a surface with this unit normal sends back: the share of its own colour, and the shine on top (0..255).

    `gloss` goes from 0 (chalk) to 1 (chrome).
    """
    diffuse = np.clip(x * LIGHT[0] + y * LIGHT[1] + z * LIGHT[2], 0, 1)
    towards = np.clip(x * HALFWAY[0] + y * HALFWAY[1] + z * HALFWAY[2], 0, 1)
    return 0.30 + 0.86 * diffuse, 255 * gloss * towards**hardness


def lit(albedo: Floats | RGB, light: tuple[Floats, Floats]) -> Floats:
    """A colour, or one for each point, under that light."""
    share, shine = light
    return np.asarray(albedo, dtype=np.float32) * share[..., None] + shine[..., None]


def finished(colour: Floats, alpha: Floats, angle: float, lift: float) -> Solid:
    """Pack colour and transparency (0..1) into a picture turned by `angle` degrees anticlockwise."""
    pixels = np.empty((*alpha.shape, 4), dtype=np.uint8)
    pixels[..., :3] = np.clip(colour, 0, 255)
    pixels[..., 3] = np.clip(alpha, 0, 1) * 255
    image = Image.fromarray(pixels)
    if angle % 360:
        image = image.rotate(angle, Image.Resampling.BICUBIC, expand=True)
    return Solid(image, lift)


def cylinder(
    length: int,
    radius: int,
    albedo: Floats | RGB,
    *,
    angle: float = 0.0,
    gloss: float = 0.25,
    profile: Callable[[Floats], Floats] | None = None,
    lift: float = 10.0,
) -> Solid:
    """A lying cylinder. `albedo` is one colour, or colours along the length, or (across, along, 3).

    `profile` maps the place along it (0..1) to its share of the radius.
    """
    along = np.asarray((np.arange(length, dtype=np.float32) + 0.5) / length, dtype=np.float32)
    width = 2 * radius + 2
    across = (np.arange(width, dtype=np.float32) + 0.5 - width / 2)[:, None]
    share = profile(along) if profile else np.ones(length, dtype=np.float32)
    local = np.maximum(share * radius, 0.5)[None, :]
    slope = np.clip(across / local, -1, 1)
    turned = np.deg2rad(-angle)
    light = lighting(-slope * np.sin(turned), slope * np.cos(turned), np.sqrt(1 - slope**2), gloss)
    alpha = np.clip(local - np.abs(across) + 0.5, 0, 1)
    return finished(lit(albedo, light), alpha, angle, lift)


def dome(
    radius: int,
    albedo: Floats | RGB,
    *,
    height: float = 1.0,
    gloss: float = 0.6,
    hardness: float = 30.0,
    lift: float = 4.0,
) -> Solid:
    """A round dome seen from above; `height` 0 is a flat disc, 1 half a ball."""
    size = 2 * radius + 2
    y, x = np.mgrid[0:size, 0:size].astype(np.float32)
    x, y = (x + 0.5 - size / 2) / radius, (y + 0.5 - size / 2) / radius
    far = np.sqrt(x**2 + y**2)
    z = np.sqrt(np.clip(1 - (far * height) ** 2, 0.02, 1))
    long = np.sqrt((far * height) ** 2 + z**2)
    light = lighting(x * height / long, y * height / long, z / long, gloss, hardness)
    return finished(lit(albedo, light), np.clip((1 - far) * radius + 0.5, 0, 1), 0, lift)


def ring(outer: int, inner: int, albedo: RGB, *, gloss: float = 0.5, lift: float = 3.0) -> Solid:
    """A rounded ring: an eyelet, a washer, a grommet."""
    size = 2 * outer + 2
    y, x = np.mgrid[0:size, 0:size].astype(np.float32)
    x, y = x + 0.5 - size / 2, y + 0.5 - size / 2
    far = np.maximum(np.sqrt(x**2 + y**2), 0.01)
    middle, half = (outer + inner) / 2, max((outer - inner) / 2, 0.5)
    slope = np.clip((far - middle) / half, -1, 1) * 0.85
    light = lighting(slope * x / far, slope * y / far, np.sqrt(1 - slope**2), gloss)
    return finished(lit(albedo, light), np.clip(np.minimum(outer - far, far - inner) + 0.5, 0, 1), 0, lift)


def box(
    width: int, height: int, albedo: Floats | RGB, *, round_by: int = 8, edge: int = 6, gloss: float = 0.2,
    angle: float = 0.0, lift: float = 14.0, texture: Image.Image | None = None,
) -> Solid:
    """A box seen from above, its edges rounded over `edge` pixels and its corners by `round_by`."""
    turned = np.deg2rad(-angle)
    x = np.abs(np.arange(width, dtype=np.float32) + 0.5 - width / 2)[None, :] - (width / 2 - round_by)
    y = np.abs(np.arange(height, dtype=np.float32) + 0.5 - height / 2)[:, None] - (height / 2 - round_by)
    at_corner = np.hypot(np.maximum(x, 0), np.maximum(y, 0))
    inward = round_by - at_corner - np.minimum(np.maximum(x, y), 0)  # pixels from the edge, inwards
    steep = np.clip(1 - inward / max(edge, 1), 0, 1) * 0.85
    left_or_right = np.sign(np.arange(width, dtype=np.float32) + 0.5 - width / 2)[None, :]
    up_or_down = np.sign(np.arange(height, dtype=np.float32) + 0.5 - height / 2)[:, None]
    round_corner = (x > 0) & (y > 0)
    away = np.maximum(at_corner, 1e-3)
    nx = steep * left_or_right * np.where(round_corner, x / away, x >= y)
    ny = steep * up_or_down * np.where(round_corner, y / away, x < y)
    sine, cosine = np.sin(turned), np.cos(turned)
    light = lighting(nx * cosine - ny * sine, nx * sine + ny * cosine, np.sqrt(1 - steep**2), gloss)
    ground = np.asarray(texture.resize((width, height)), dtype=np.float32) if texture else albedo
    return finished(lit(ground, light), np.clip(inward + 0.5, 0, 1), angle, lift)


def striped(length: int, ground: RGB, stripes: Sequence[tuple[float, float, RGB]]) -> Floats:
    """Colours along a length: `ground`, with stripes (start, end as 0..1, colour)."""
    colours = np.tile(np.asarray(ground, dtype=np.float32), (length, 1))
    for start, end, colour in stripes:
        colours[round(start * length):round(end * length)] = colour
    return colours

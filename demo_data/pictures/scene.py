"""A photograph in the making: a ground, things on it with their shadows, wires, and the camera at the end."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageChops, ImageDraw, ImageFilter

from .colour_code import RGB
from .solid import Solid
from .surface import HEIGHT, WIDTH, Random, clouds, random

Point = tuple[float, float]
QUARTER = 4  # shadows are soft, so a quarter of the size is enough for them


@dataclass
class Wire:
    """A wire through some points, `width` pixels thick."""

    points: Sequence[Point]
    colour: RGB
    width: int = 9
    gloss: float = 0.5
    lift: float = 10.0


@dataclass
class Scene:
    """Things are added bottom first; `settle()` drops what was added onto the picture with its shadows."""

    image: Image.Image
    seed: int
    waiting: list[tuple[Solid, Point] | Wire] = field(default_factory=list)
    places: dict[str, Point] = field(default_factory=dict)

    def put(self, solid: Solid, at: Point) -> None:
        """Put a solid with its middle at a point."""
        self.waiting.append((solid, at))

    def wire(
        self, points: Sequence[Point], colour: RGB, width: int = 9, gloss: float = 0.5, lift: float = 10.0
    ) -> None:
        """Lay a wire along a smooth curve through the points."""
        self.waiting.append(Wire(curve(points), colour, width, gloss, lift))

    def mark(self, name: str, at: Point) -> None:
        """Remember where something worth a pin is."""
        self.places[name] = at

    def settle(self, darkness: float = 0.72) -> None:
        """Draw what is waiting: first all its shadows, then the things themselves."""
        shadow = Image.new("L", (WIDTH // QUARTER, HEIGHT // QUARTER), 0)
        pen = ImageDraw.Draw(shadow)
        for item in self.waiting:
            if isinstance(item, Wire):
                moved = [((x + item.lift * 0.8) / QUARTER, (y + item.lift) / QUARTER) for x, y in item.points]
                pen.line(moved, fill=255, width=max(1, round(item.width / QUARTER)), joint="curve")
            else:
                solid, (x, y) = item
                size = (max(1, solid.image.width // QUARTER), max(1, solid.image.height // QUARTER))
                mask = solid.image.getchannel("A").resize(size, Image.Resampling.BOX)
                corner = (x + solid.lift * 0.8 - solid.image.width / 2, y + solid.lift - solid.image.height / 2)
                shadow.paste(255, (round(corner[0] / QUARTER), round(corner[1] / QUARTER)), mask)
        self._darken(shadow, darkness)
        for item in self.waiting:
            if isinstance(item, Wire):
                self._draw_wire(item)
            else:
                solid, (x, y) = item
                corner = (round(x - solid.image.width / 2), round(y - solid.image.height / 2))
                self.image.paste(solid.image, corner, solid.image)
        self.waiting.clear()

    def _darken(self, shadow: Image.Image, darkness: float) -> None:
        touched = shadow.getbbox()
        if touched is None:
            return
        blurred = 5
        covered = (
            max(0, touched[0] - blurred),
            max(0, touched[1] - blurred),
            min(shadow.width, touched[2] + blurred),
            min(shadow.height, touched[3] + blurred),
        )
        corner = (covered[0] * QUARTER, covered[1] * QUARTER, covered[2] * QUARTER, covered[3] * QUARTER)
        size = (corner[2] - corner[0], corner[3] - corner[1])
        soft = shadow.crop(covered).filter(ImageFilter.GaussianBlur(1.7)).resize(size, Image.Resampling.BILINEAR)
        dark = soft.point(lambda v: 255 - v * darkness)
        darker = ImageChops.multiply(self.image.crop(corner), Image.merge("RGB", [dark] * 3))
        self.image.paste(darker, corner[:2])

    def _draw_wire(self, wire: Wire) -> None:
        pen = ImageDraw.Draw(self.image)
        steps = ((1.0, 0.42, 0.0), (0.86, 0.72, 0.04), (0.66, 1.0, 0.10), (0.40, 1.16, 0.15))
        for share, light, shift in steps:
            colour = tuple(min(255, round(c * light)) for c in wire.colour)
            moved = [(x - shift * wire.width, y - shift * wire.width) for x, y in wire.points]
            pen.line(moved, fill=colour, width=max(1, round(wire.width * share)), joint="curve")
        shine = tuple(round(c + (255 - c) * wire.gloss) for c in wire.colour)
        moved = [(x - 0.2 * wire.width, y - 0.2 * wire.width) for x, y in wire.points]
        pen.line(moved, fill=shine, width=max(1, round(wire.width * 0.14)), joint="curve")

    def stain(self, at: Point, radius: float, colour: RGB, strength: float = 0.9) -> None:
        """Darken a ragged patch: scorch, grease, leaked electrolyte."""
        size = int(radius * 2)
        rng = random(self.seed, 900 + int(at[0]))
        y, x = np.mgrid[0:size, 0:size].astype(np.float32)
        far = np.hypot(x - radius, y - radius) / radius
        ragged = np.clip((1 - far + 0.16 * clouds(rng, size, size, max(6, size // 12))) * 1.7, 0, 1)
        ragged *= np.clip((1 - far) * 5, 0, 1)
        mask = Image.fromarray((np.clip(ragged, 0, 1) * 255 * strength).astype(np.uint8))
        self.image.paste(colour, (round(at[0] - radius), round(at[1] - radius)), mask)

    def dust(self, amount: float) -> None:
        """Lay grey dust in patches and specks; 0 none, 1 thirty years of it."""
        if amount <= 0:
            return
        rng = random(self.seed, 31)
        veil = np.clip(clouds(rng, WIDTH, HEIGHT, 130) * 0.35 + 0.5, 0, 1) * 70 * amount
        mask = Image.fromarray(veil.astype(np.uint8))
        self.image.paste((148, 138, 122), (0, 0), mask)
        pen = ImageDraw.Draw(self.image)
        for x, y, size in zip(
            rng.uniform(0, WIDTH, int(500 * amount)), rng.uniform(0, HEIGHT, int(500 * amount)),
            rng.uniform(1, 3, int(500 * amount)), strict=True,
        ):
            pen.ellipse((x, y, x + size, y + size), fill=(176, 168, 152))

    def photograph(self, *, warm: float = 1.0, tilt: float = 1.0) -> Image.Image:
        """See it through a camera: a little from the side, under a lamp, with vignette, blur and noise."""
        rng = random(self.seed, 77)
        homography = _tilt(rng, tilt)
        seen = self.image.transform(
            (WIDTH, HEIGHT), Image.Transform.PERSPECTIVE, tuple(homography.ravel()[:8]), Image.Resampling.BILINEAR
        ).filter(ImageFilter.GaussianBlur(0.7))
        y, x = np.mgrid[0:HEIGHT // 8, 0:WIDTH // 8].astype(np.float32)
        lamp = np.hypot((x - rng.uniform(50, 90)) / 150, (y - rng.uniform(25, 60)) / 120)
        light = Image.fromarray((1.14 - 0.46 * lamp**1.6).astype(np.float32)).resize((WIDTH, HEIGHT))
        pixels = np.asarray(seen, dtype=np.float32) * np.asarray(light)[..., None]
        pixels *= np.array([1 + 0.05 * warm, 1.0, 1 - 0.07 * warm], dtype=np.float32)
        noise = np.resize(rng.normal(0, 3.2, size=(211, 1607)).astype(np.float32), (HEIGHT, WIDTH))
        pixels += noise[..., None]
        photo = Image.fromarray(np.clip(pixels, 0, 255).astype(np.uint8))
        back = np.linalg.inv(homography)
        for name, (px, py) in self.places.items():
            u, v, w = back @ np.array([px, py, 1.0])
            photo.info[f"place:{name}"] = (round(float(u / w) / WIDTH, 4), round(float(v / w) / HEIGHT, 4))
        return photo


def _tilt(rng: Random, amount: float) -> NDArray[np.float64]:
    """A slight slant that maps picture points to ground points and never looks past the ground's edge."""
    angle = np.deg2rad(rng.uniform(-1.3, 1.3) * amount)
    slant_x, slant_y = rng.uniform(-3e-5, 3e-5, 2) * amount
    middle = np.array([[1, 0, -WIDTH / 2], [0, 1, -HEIGHT / 2], [0, 0, 1]])
    sine, cosine = np.sin(angle), np.cos(angle)
    turn = np.array([[cosine, -sine, 0], [sine, cosine, 0], [slant_x, slant_y, 1]])
    zoom = np.diag([0.93, 0.93, 1.0])
    whole = np.linalg.inv(middle) @ turn @ zoom @ middle
    return np.asarray(whole / whole[2, 2])


def curve(points: Sequence[Point], steps: int = 14) -> list[Point]:
    """A smooth way through the points (Catmull-Rom)."""
    if len(points) < 3:
        return list(points)
    ends = np.array([points[0], *points, points[-1]], dtype=float)
    t = np.linspace(0, 1, steps, endpoint=False)[:, None]
    parts = []
    for a, b, c, d in zip(ends, ends[1:], ends[2:], ends[3:], strict=False):
        parts.append(
            0.5 * (2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t**2 + (3 * b - a - 3 * c + d) * t**3)
        )
    way = np.vstack([*parts, ends[-1:]])
    return [(float(x), float(y)) for x, y in way]

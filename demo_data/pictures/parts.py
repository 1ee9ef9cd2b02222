"""The small parts of a valve amplifier, each as a lit solid."""

from __future__ import annotations

import numpy as np
from PIL import Image, ImageDraw, ImageFilter

from .colour_code import BAND_RGB, RGB, bands
from .scene import Point, Scene
from .solid import Solid, box, cylinder, dome, ring, striped
from .surface import Floats, Random

TIN: RGB = (176, 178, 180)
BRASS: RGB = (186, 152, 84)
STEEL: RGB = (168, 170, 172)
WIRE_COLOURS: dict[str, RGB] = {
    "red": (168, 30, 30), "blue": (34, 62, 150), "yellow": (214, 178, 44), "green": (34, 104, 56),
    "brown": (98, 58, 34), "black": (30, 28, 30), "white": (214, 208, 192), "grey": (124, 126, 128),
    "orange": (206, 98, 30), "violet": (98, 52, 122),
}
BAND_PLACES = (0.24, 0.38, 0.52, 0.76)  # along the body; the gap before the last tells which end to start from
BAND_HALF = 0.042


def resistor(ohms: float, tolerance: int = 5, *, angle: float = 0, length: int = 104, burnt: float = 0.0) -> Solid:
    """An axial resistor with the bands of its value; `burnt` 0..1 chars its middle."""
    film = length < 120
    ground: RGB = (206, 178, 132) if film else (120, 84, 56)
    stripes = [
        (place - BAND_HALF, place + BAND_HALF, BAND_RGB[name])
        for place, name in zip(BAND_PLACES, bands(ohms, tolerance), strict=True)
    ]
    colours = striped(length, ground, stripes)
    if burnt:
        along = np.linspace(-1, 1, length, dtype=np.float32)[:, None]
        char = burnt * np.exp(-((along / 0.62) ** 2))
        colours = colours * (1 - char) + np.array([18, 15, 14], dtype=np.float32) * char

    def dog_bone(along: Floats) -> Floats:
        from_end = np.minimum(along, 1 - along)
        rounded = np.sqrt(np.clip(1 - (1 - np.clip(from_end / 0.07, 0, 1)) ** 2, 0, 1))
        waist = np.where(from_end > 0.19, 0.86, 1.0) if film else 1.0
        return np.asarray(rounded * waist, dtype=np.float32)

    return cylinder(length, length // 6, colours, angle=angle, profile=dog_bone, gloss=0.30 * (1 - burnt))


def film_capacitor(colour: RGB = (198, 140, 40), *, angle: float = 0, length: int = 150, radius: int = 25) -> Solid:
    """A dipped or moulded film capacitor: rounded at both ends."""

    def rounded(along: Floats) -> Floats:
        from_end = np.minimum(along, 1 - along)
        return np.asarray(np.sqrt(np.clip(1 - (1 - np.clip(from_end / 0.14, 0, 1)) ** 2, 0, 1)), dtype=np.float32)

    return cylinder(length, radius, colour, angle=angle, profile=rounded, gloss=0.45)


def electrolytic(
    colour: RGB = (36, 52, 92), *, angle: float = 0, length: int = 200, radius: int = 34, bulging: bool = False
) -> Solid:
    """An axial electrolytic: sleeve, bare crimped end, the groove at the positive end, a light minus stripe."""
    width = 2 * radius + 2
    colours = np.tile(striped(length, colour, [(0, 0.035, TIN), (0.965, 1, TIN)]), (width, 1, 1))
    low, high = round(width * 0.56), round(width * 0.72)
    colours[low:high, round(length * 0.05):round(length * 0.95)] = (206, 208, 210)
    for place in np.arange(0.12, 0.92, 0.13):
        colours[low + 3:high - 3, round(length * place):round(length * (place + 0.05))] = (44, 46, 50)

    def grooved(along: Floats) -> Floats:
        swollen = 0.12 * np.exp(-(((along - 0.06) / 0.10) ** 2)) if bulging else 0.0
        groove = 0.10 * np.exp(-(((along - 0.13) / 0.016) ** 2))
        from_end = np.minimum(along, 1 - along)
        corner = np.sqrt(np.clip(1 - (1 - np.clip(from_end / 0.03, 0, 1)) ** 2, 0, 1))
        return np.asarray((0.88 + swollen - groove) * corner, dtype=np.float32)

    return cylinder(length, radius, colours, angle=angle, profile=grooved, gloss=0.4, lift=18)


def disc_capacitor(colour: RGB = (184, 118, 58), radius: int = 34) -> Solid:
    """A ceramic disc seen flat on."""
    return dome(radius, colour, height=0.45, gloss=0.25, lift=10)


def solder(rng: Random, radius: int = 13, *, cracked: bool = False) -> Solid:
    """A solder joint, no two alike; a cracked one is dull and has a dark ring round the lead."""
    colour, gloss, hardness = ((128, 128, 132), 0.2, 10) if cracked else ((156, 158, 164), 0.9, 30)
    round_one = dome(radius, colour, height=0.86, gloss=gloss, hardness=hardness)
    size = round_one.image.width
    long, wide = float(rng.uniform(1.0, 1.3)), float(rng.uniform(0.8, 1.0))
    drawn = round_one.image.resize((round(size * long), round(size * wide)), Image.Resampling.BICUBIC)
    turned = drawn.rotate(float(rng.uniform(-25, 25)), Image.Resampling.BICUBIC, expand=True)
    solid = Solid(turned, 4)
    pen = ImageDraw.Draw(solid.image)
    if cracked:
        x, y, half = solid.image.width / 2, solid.image.height / 2, radius * 0.5
        hair = (x - half, y - half, x + half, y + half)
        pen.arc(hair, rng.uniform(0, 60), 320, fill=(24, 22, 22, 255), width=max(2, radius // 6))
    return solid


def screw(rng: Random, radius: int = 24, *, slotted: bool = True, rust: float = 0.0) -> Solid:
    """A screw head from above, its slot at any angle."""
    colour = tuple(round(a * (1 - rust) + b * rust) for a, b in zip(STEEL, (120, 68, 38), strict=True))
    solid = dome(radius, colour, height=0.62, gloss=0.75 * (1 - rust), hardness=16, lift=6)  # type: ignore[arg-type]
    size = solid.image.width
    slot = Image.new("RGBA", (size, size))
    pen = ImageDraw.Draw(slot)
    middle, half = size / 2, radius * (0.98 if slotted else 0.58)
    dark, width, below = (30, 28, 28, 240), max(3, radius // 4), middle + radius / 7
    pen.line((middle - half, middle, middle + half, middle), fill=dark, width=width)
    pen.line((middle - half, below, middle + half, below), fill=(220, 220, 220, 130), width=1)
    if not slotted:
        pen.line((middle, middle - half, middle, middle + half), fill=dark, width=width)
    turned = slot.rotate(float(rng.uniform(0, 180)), Image.Resampling.BICUBIC)
    alpha = solid.image.getchannel("A")
    solid.image.alpha_composite(turned)
    solid.image.putalpha(alpha)
    return solid


def lug(length: int = 46, width: int = 20, *, angle: float = 0) -> Solid:
    """A tinned solder tag with its hole, pointing along `angle`."""
    image = Image.new("RGBA", (length, width + 2))
    pen = ImageDraw.Draw(image)
    pen.rounded_rectangle((0, 1, length - 1, width), width // 2, fill=(158, 158, 156, 255))
    pen.rounded_rectangle((2, 2, length - 4, width // 2), width // 4, fill=(206, 206, 202, 255))
    pen.ellipse((length - width + 4, 6, length - 6, width - 4), fill=(40, 34, 30, 255))
    turned = image.filter(ImageFilter.GaussianBlur(0.6)).rotate(angle, Image.Resampling.BICUBIC, expand=True)
    return Solid(turned, 7)


def grommet(radius: int = 30) -> Solid:
    """A rubber grommet."""
    return ring(radius, radius // 2, (34, 32, 32), gloss=0.25, lift=5)


def washer(outer: int, inner: int, colour: RGB = (178, 176, 170)) -> Solid:
    """A flat washer: level, with a narrow edge inside and outside."""
    solid = dome(outer, colour, height=0.10, gloss=0.25, hardness=8, lift=9)
    pen = ImageDraw.Draw(solid.image)
    middle = solid.image.width / 2
    for radius, shift, shade in ((outer - 2, 0, (214, 212, 206, 255)), (inner + 4, 1, (96, 94, 90, 255))):
        around = (middle - radius, middle - radius, middle + radius, middle + radius)
        pen.arc(around, 150 + 180 * shift, 330 + 180 * shift, fill=shade, width=max(2, outer // 30))
    hole = (middle - inner, middle - inner, middle + inner, middle + inner)
    pen.ellipse(hole, fill=(0, 0, 0, 0))
    return Solid(solid.image.filter(ImageFilter.GaussianBlur(0.8)), 9)


def eyelet(radius: int = 17) -> Solid:
    """A brass eyelet of a board."""
    return ring(radius, radius // 2, BRASS, gloss=0.7)


def knob(radius: int = 66) -> list[tuple[Solid, Point]]:
    """A skirted knob without figures: skirt, then cap."""
    skirt = dome(radius, (38, 36, 38), height=0.55, gloss=0.22, hardness=12, lift=20)
    cap = dome(round(radius * 0.62), (26, 25, 27), height=0.75, gloss=0.4, hardness=20, lift=10)
    return [(skirt, (0, 0)), (cap, (0, 0))]


def put_knob(scene: Scene, at: Point, radius: int, turned: float) -> None:
    """Put a knob whose white line points to `turned` degrees, clockwise from straight up."""
    for solid, _ in knob(radius):
        scene.put(solid, at)
        scene.settle()
    pen = ImageDraw.Draw(scene.image)
    along = np.deg2rad(turned - 90)
    x, y = float(np.cos(along)), float(np.sin(along))
    inner, outer = radius * 0.30, radius * 0.94
    line = (at[0] + x * inner, at[1] + y * inner, at[0] + x * outer, at[1] + y * outer)
    pen.line(line, fill=(226, 222, 210), width=max(3, radius // 13))


def put_leaded(scene: Scene, solid: Solid, start: Point, end: Point, *, width: int = 5) -> None:
    """Put an axial part between two joints, its leads first."""
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    scene.wire([start, end], TIN, width, gloss=0.8, lift=5)
    scene.put(solid, middle)


def plate(
    width: int, height: int, colour: RGB, *, lift: float = 10, edge: int = 4, texture: Image.Image | None = None
) -> Solid:
    """A flat plate with a fine edge."""
    return box(width, height, colour, round_by=6, edge=edge, gloss=0.12, lift=lift, texture=texture)

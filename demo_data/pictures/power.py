"""Pictures of the mains side: inlet and fuse, transformer, reservoir capacitors."""

from __future__ import annotations

import numpy as np
from PIL import Image, ImageDraw

from .colour_code import RGB
from .inside import chassis
from .parts import BRASS, TIN, WIRE_COLOURS, grommet, lug, screw, solder, washer
from .scene import Point, Scene, curve
from .solid import box, cylinder, dome, striped
from .surface import HEIGHT, WIDTH, brushed_metal, clouds, random

MAINS = {"live": "brown", "neutral": "blue"}


def mains_inlet(
    seed: int, *, bridged_fuse: bool = False, two_core: bool = False, renewed: bool = False
) -> Image.Image:
    """Where the mains comes in: cable, inlet tags, fuse clips, protective-earth stud.

    `bridged_fuse` wraps the fuse in foil, `two_core` leaves the earth stud empty.
    """
    scene = chassis(seed, dull=0.7 if renewed else 1.3)
    rng = random(seed, 13)
    scene.put(box(430, 330, (34, 33, 35), round_by=26, edge=16, gloss=0.25, lift=26), (420, 640))
    scene.put(grommet(58), (120, 300))
    scene.settle()
    tags = {"live": (340.0, 560.0), "neutral": (340.0, 720.0), "earth": (520.0, 640.0)}
    for at in tags.values():
        scene.put(box(110, 46, BRASS, round_by=6, edge=5, gloss=0.5, lift=9), at)
    scene.settle()
    _fuse(scene, seed, bridged_fuse)
    stud = (1240.0, 900.0)
    scene.put(washer(76, 24), stud)
    scene.settle()
    lives: list[tuple[str, list[Point]]] = [
        ("brown", [tags["live"], (480, 430), (700, 330), (885, 340)]),
        ("blue", [tags["neutral"], (560, 880), (880, 800), (1200, 620), (1660, 560)]),
        ("brown", [(1345, 340), (1480, 380), (1560, 480), (1660, 500)]),
    ]
    for colour, way in lives:
        scene.wire(way, WIRE_COLOURS[colour], 30, gloss=0.35, lift=18)
    sheath: RGB = (92, 88, 84) if two_core else (32, 31, 33)
    scene.wire([(-60, 250), (40, 280), (124, 300), (190, 400)], sheath, 62, gloss=0.2, lift=20)
    scene.settle()
    for name, at in tags.items():
        if name in MAINS:
            scene.wire([(185, 395), (220, 470), at], WIRE_COLOURS[MAINS[name]], 26, gloss=0.35, lift=16)
    scene.settle()
    if two_core:
        scene.put(screw(rng, 40, rust=0.8), stud)
        scene.mark("empty earth stud", stud)
    else:
        _earth(scene, [(185, 395), (250, 520), tags["earth"]])
        _earth(scene, [tags["earth"], (700, 760), (980, 930), stud])
        scene.put(lug(150, 62, angle=170), (1190, 905))
        scene.put(screw(rng, 44, slotted=False), stud)
        scene.mark("earth stud", stud)
    for at in tags.values():
        scene.put(solder(rng, 26), at)
    scene.settle()
    scene.dust(0.1 if renewed else 0.6)
    return scene.photograph()


def _earth(scene: Scene, way: list[Point]) -> None:
    """A green-and-yellow wire."""
    scene.wire(way, (46, 122, 60), 28, gloss=0.35, lift=18)
    scene.settle()
    points = curve(way, 24)
    pen = ImageDraw.Draw(scene.image)
    pen.line([(x, y + 2) for x, y in points], fill=(222, 196, 60), width=11, joint="curve")


def _fuse(scene: Scene, seed: int, bridged: bool) -> None:
    at = (1115.0, 340.0)
    scene.put(box(520, 130, (120, 78, 42), round_by=8, edge=6, gloss=0.15, lift=12), at)
    scene.settle()
    for x in (at[0] - 190, at[0] + 190):
        scene.put(box(96, 74, TIN, round_by=8, edge=12, gloss=0.6, lift=10), (x, at[1]))
    scene.settle()
    if bridged:
        rng = random(seed, 14)
        width = 2 * 40 + 2
        crumple = np.clip(0.82 + 0.13 * clouds(rng, 400, width, 16) + 0.09 * clouds(rng, 400, width, 7), 0.35, 1.2)
        foil = np.array([206, 208, 212], dtype=np.float32) * crumple[..., None]

        def uneven(along: np.ndarray) -> np.ndarray:
            return np.asarray(0.90 + 0.07 * np.sin(along * 21) + 0.03 * np.sin(along * 57), dtype=np.float32)

        scene.put(cylinder(400, 40, foil, gloss=0.5, profile=uneven, lift=20), at)
        scene.mark("bridged fuse", at)
    else:
        caps = striped(400, (176, 190, 190), [(0, 0.19, (196, 196, 190)), (0.81, 1, (196, 196, 190))])
        tube = cylinder(400, 33, caps, gloss=0.8, lift=20)
        alpha = np.asarray(tube.image.getchannel("A"), dtype=np.float32).copy()
        alpha[:, 76:324] *= 0.55
        tube.image.putalpha(Image.fromarray(alpha.astype(np.uint8)))
        scene.wire([(at[0] - 130, at[1] - 4), (at[0], at[1] + 5), (at[0] + 130, at[1] - 2)], TIN, 4, lift=4)
        scene.put(tube, at)
        scene.mark("fuse", at)
    scene.settle()


def transformer(seed: int, *, rusty: bool = False, scorched: bool = False) -> Image.Image:
    """A mains transformer on the chassis, from above: core, bell cover, bolts and leads."""
    scene = Scene(brushed_metal(random(seed, 0), WIDTH, HEIGHT, (158, 158, 154), 1.2), seed)
    rng = random(seed, 15)
    at = (760.0, 590.0)
    core = _laminations(seed, 860, 720, rusty)
    scene.put(box(860, 720, (90, 90, 92), round_by=10, edge=6, gloss=0.1, lift=40, texture=core), at)
    scene.settle()
    cover: RGB = (40, 40, 44)
    scene.put(box(650, 700, cover, round_by=70, edge=90, gloss=0.28, lift=26), at)
    scene.settle()
    scene.put(box(420, 470, cover, round_by=60, edge=40, gloss=0.22, lift=8), at)
    scene.settle(0.4)
    for dx in (-375, 375):
        for dy in (-300, 300):
            bolt = (at[0] + dx, at[1] + dy)
            scene.put(washer(46, 16), bolt)
            scene.settle()
            scene.put(screw(rng, 34, slotted=False, rust=0.7 if rusty else 0.1), bolt)
    scene.put(grommet(46), (1330, 430))
    scene.put(grommet(46), (1330, 760))
    scene.settle()
    for number, name in enumerate(("red", "red", "yellow", "green", "green", "black", "white")):
        goal = (1330.0, 430.0 if number < 3 else 760.0)
        start = (at[0] + 310, at[1] - 190 + number * 62)
        way = [start, (start[0] + 110, start[1] - 10), (goal[0] - 60, goal[1] - 36 + number * 12), goal]
        scene.wire(way, WIRE_COLOURS[name], 24, gloss=0.3, lift=24)
    scene.settle()
    if scorched:
        scene.stain((at[0] + 300, at[1] + 60), 170, (16, 12, 10), 0.9)
        scene.mark("scorch", (at[0] + 300, at[1] + 60))
    scene.mark("core", (at[0] - 390, at[1]))
    scene.dust(0.9)
    return scene.photograph()


def _laminations(seed: int, width: int, height: int, rusty: bool) -> Image.Image:
    rng = random(seed, 16)
    lines = np.repeat(rng.normal(1, 0.16, size=(height // 4 + 1, 1)), 4, axis=0)[:height]
    shade = (lines * (1 + 0.05 * clouds(rng, width, height, 60)))[..., None]
    rust = np.clip(clouds(rng, width, height, 70) + (0.35 if rusty else -1.2), 0, 1)[..., None]
    metal = np.array([104, 104, 108], dtype=np.float32) * shade
    pixels = metal * (1 - 0.85 * rust) + np.array([128, 70, 36], dtype=np.float32) * shade * 0.85 * rust
    return Image.fromarray(np.clip(pixels, 0, 255).astype(np.uint8))


def capacitor_can(seed: int, *, bulging: bool = False) -> Image.Image:
    """Two reservoir capacitors standing on the chassis; a bulging one has opened and leaked."""
    scene = Scene(brushed_metal(random(seed, 0), WIDTH, HEIGHT, (146, 146, 142), 1.3), seed)
    for number, x in enumerate((520.0, 1090.0)):
        bad = bulging and number == 1
        base = 980.0
        if bad:
            scene.stain((x + 60, base + 20), 250, (104, 74, 36), 0.75)
        colours = striped(640, (188, 190, 192), [(0.10, 0.90, (40, 52, 84)), (0.0, 0.025, (120, 122, 124))])
        scene.put(cylinder(640, 190, colours, angle=90, gloss=0.42, lift=44), (x, base - 320))
        scene.settle()
        _can_top(scene, seed, (x, base - 640), bad)
        clamp = cylinder(160, 196, (128, 130, 130), angle=90, gloss=0.35).image
        edge = Image.new("L", clamp.size)
        ImageDraw.Draw(edge).pieslice((0, 10, clamp.width - 1, clamp.height - 10), 0, 180, fill=255)
        scene.image.paste(clamp, (round(x - clamp.width / 2), round(base - 102)), edge)
    scene.dust(0.7)
    return scene.photograph()


def _can_top(scene: Scene, seed: int, at: Point, bad: bool) -> None:
    squash = 0.62 if bad else 0.34
    top = dome(191, (176, 178, 178), height=0.85 if bad else 0.18, gloss=0.5, hardness=12)
    size = (top.image.width, round(top.image.height * squash))
    image = top.image.resize(size, Image.Resampling.BICUBIC)
    middle = (at[0], at[1] - (46 if bad else 0))
    scene.image.paste(image, (round(middle[0] - size[0] / 2), round(middle[1] - size[1] / 2)), image)
    pen = ImageDraw.Draw(scene.image)
    for angle in (20, 80, 140):
        dx, dy = 140 * np.cos(np.deg2rad(angle)), 140 * squash * np.sin(np.deg2rad(angle))
        line = (middle[0] - dx, middle[1] - dy, middle[0] + dx, middle[1] + dy)
        pen.line(line, fill=(54, 36, 20) if bad else (128, 130, 130), width=13 if bad else 4)
    if bad:
        scene.stain(middle, 84, (112, 78, 34), 0.9)
        scene.mark("bulge", middle)
        way = [(middle[0] + 60, middle[1] + 30), (middle[0] + 120, middle[1] + 150), (middle[0] + 132, middle[1] + 420)]
        scene.wire(way, (116, 82, 40), 20, gloss=0.5, lift=2)
        scene.settle()

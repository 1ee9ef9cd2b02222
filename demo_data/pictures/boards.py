"""Boards and valve bases: the places where most of the parts are."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageDraw, ImageFilter

from .colour_code import RGB
from .parts import (
    BRASS,
    WIRE_COLOURS,
    electrolytic,
    eyelet,
    film_capacitor,
    lug,
    plate,
    put_leaded,
    resistor,
    screw,
    solder,
)
from .scene import Point, Scene
from .solid import Solid, dome, ring
from .surface import phenolic, random

VALUES = (100e3, 220e3, 1e6, 1.5e3, 470e3, 68e3, 4.7e3, 56e3, 10e3, 820, 33e3, 2.2e3)
FILM_COLOURS: tuple[RGB, ...] = ((204, 146, 40), (150, 44, 34), (190, 92, 34), (58, 70, 96))


@dataclass(frozen=True)
class Condition:
    """What a board has been through."""

    scorched: bool = False
    cracked_joint: bool = False
    bulging: bool = False
    renewed: bool = False  # the parts that were bad are new, the scorch is scraped clean


def put_board(
    scene: Scene, seed: int, top_left: Point, columns: int, pitch: int, height: int, state: Condition
) -> list[Point]:
    """Put a board with `columns` parts across it; returns its upper then its lower joints."""
    rng = random(seed, 1)
    width = pitch * columns + 40
    x, y = top_left
    texture = phenolic(rng, width, height)
    scene.put(plate(width, height, (112, 70, 38), lift=16, texture=texture), (x + width / 2, y + height / 2))
    scene.settle()
    scale = pitch / 100
    tops = [(x + 20 + pitch * (i + 0.5), y + 44 * scale) for i in range(columns)]
    ends = [(tx, y + height - 44 * scale) for tx, _ in tops]
    for corner in ((x + 24, y + height / 2), (x + width - 24, y + height / 2)):
        scene.put(screw(rng, round(16 * scale), rust=0.25), corner)
    bad = columns // 2 + int(rng.integers(-1, 2))
    if state.scorched or state.renewed:
        at = ((tops[bad][0]), (tops[bad][1] + ends[bad][1]) / 2)
        colour, strength = ((58, 40, 26), 0.55) if state.renewed else ((17, 13, 11), 0.95)
        scene.stain(at, pitch * 1.3, colour, strength)
        scene.mark("scorch", at)
    for joint in tops + ends:
        scene.put(eyelet(round(17 * scale)), joint)
    scene.settle()
    for column, (top, end) in enumerate(zip(tops, ends, strict=True)):
        _put_part(scene, seed, column, (top, end), bad, state, scale)
    scene.settle()
    for number, joint in enumerate(tops + ends):
        cracked = state.cracked_joint and number == columns + bad
        scene.put(solder(random(seed, 300 + number), round(14 * scale), cracked=cracked), joint)
        if cracked:
            scene.mark("cracked joint", joint)
    scene.settle()
    return tops + ends


def _put_part(
    scene: Scene, seed: int, column: int, ends: tuple[Point, Point], bad: int, state: Condition, scale: float
) -> None:
    top, end = ends
    rng = random(seed, 100 + column)
    kind = rng.choice(["resistor", "resistor", "resistor", "film", "film"])
    angle = 90.0 + float(rng.uniform(-2.5, 2.5))
    if column == bad:
        burnt = 0.92 if state.scorched else 0.0
        solid = resistor(470, 5, angle=angle, length=round(140 * scale), burnt=burnt)
    elif column in (0, bad + 2):
        swollen = state.bulging and column == bad + 2
        colour: RGB = (30, 30, 34) if state.renewed and column == bad + 2 else (44, 66, 112)
        length, radius = round(186 * scale), round((31 if column else 23) * scale)
        solid = electrolytic(colour, angle=angle, length=length, radius=radius, bulging=swollen)
        if column == bad + 2:
            scene.mark("capacitor", (top[0], (top[1] + end[1]) / 2))
    elif kind == "film":
        film = FILM_COLOURS[int(rng.integers(len(FILM_COLOURS)))]
        length, radius = round(float(rng.uniform(112, 165)) * scale), round(float(rng.uniform(17, 28)) * scale)
        solid = film_capacitor(film, angle=angle, length=length, radius=radius)
    else:
        solid = resistor(float(rng.choice(VALUES)), angle=angle, length=round(int(rng.choice([88, 96, 124])) * scale))
    put_leaded(scene, solid, top, end, width=round(5 * scale))


def put_wires(
    scene: Scene, seed: int, joints: list[Point], targets: list[Point], *, spread: float = 60, thick: float = 1
) -> None:
    """Run wires from joints to targets, each with its own bends."""
    colours = list(WIRE_COLOURS.values())
    for number, (start, end) in enumerate(zip(joints, targets, strict=False)):
        rng = random(seed, 500 + number)
        far = float(np.hypot(end[0] - start[0], end[1] - start[1]))
        sway = rng.uniform(-spread, spread, size=4) * min(1.0, far / 450)
        third = (start[0] * 0.7 + end[0] * 0.3 + sway[0], start[1] * 0.7 + end[1] * 0.3 + sway[1])
        later = (start[0] * 0.3 + end[0] * 0.7 + sway[2], start[1] * 0.3 + end[1] * 0.7 + sway[3])
        colour = colours[int(rng.integers(len(colours)))]
        scene.wire([start, third, later, end], colour, round(float(rng.uniform(8, 12)) * thick), gloss=0.35, lift=14)


def put_valve_base(scene: Scene, seed: int, at: Point, radius: int, *, pins: int, track: bool = False) -> list[Point]:
    """Put a valve base seen from its wiring side: 8 pins in eight places (octal), or 9 in ten (noval)."""
    rng = random(seed, 2)
    places = 8 if pins == 8 else 10
    turn = float(rng.uniform(0, 360))
    body: RGB = (66, 42, 30) if pins == 8 else (176, 170, 154)
    scene.put(dome(round(radius * 1.3), (158, 158, 154), height=0.16, gloss=0.2, lift=5), at)
    for side in (-1, 1):
        scene.put(screw(rng, max(9, radius // 8)), (at[0] + side * radius * 1.14, at[1]))
    scene.settle()
    scene.put(dome(radius, body, height=0.22, gloss=0.12, hardness=10, lift=12), at)
    scene.settle()
    joints = []
    for pin in range(pins):
        angle = np.deg2rad(turn + 360 * (pin + 1) / places)
        way = np.array([np.cos(angle), np.sin(angle)])
        root, tip = np.array(at) + way * radius * 0.62, np.array(at) + way * radius * 0.95
        length = round(radius * 0.62)
        scene.put(lug(length, max(14, radius // 5), angle=-float(np.rad2deg(angle))), tuple((root + tip) / 2))
        joints.append((float(tip[0]), float(tip[1])))
    centre = ring(round(radius * 0.26), round(radius * 0.12), BRASS if pins == 9 else (46, 30, 22), gloss=0.5)
    scene.put(centre, at)
    scene.settle()
    if track:
        _arc(scene, seed, joints[2], joints[3], at)
    for joint in joints:
        scene.put(solder(rng, max(7, radius // 11)), joint)
    scene.settle()
    return joints


def _arc(scene: Scene, seed: int, start: Point, end: Point, centre: Point) -> None:
    """Burn a carbon track between two pins, with branches, a pale scorched edge and soot round it."""
    rng = random(seed, 3)
    a, b = (np.array(p) * 0.72 + np.array(centre) * 0.28 for p in (start, end))
    middle = (a + b) / 2
    scene.stain((float(middle[0]), float(middle[1])), float(np.hypot(*(a - b))) * 0.85, (14, 11, 10), 0.8)
    layer = Image.new("RGBA", scene.image.size)
    pen = ImageDraw.Draw(layer)
    for width, colour in ((15, (150, 120, 84, 150)), (8, (12, 10, 10, 255))):
        rng = random(seed, 4)
        for _ in range(4):
            steps = np.linspace(0, 1, 9)[:, None]
            way = a + (b - a) * steps + rng.normal(0, 8, size=(9, 2)) * np.sin(np.pi * steps)
            pen.line([tuple(map(float, p)) for p in way], fill=colour, width=width, joint="curve")
    scene.image.paste(layer, (0, 0), layer.filter(ImageFilter.GaussianBlur(1)))
    scene.mark("track", (float(middle[0]), float(middle[1])))


def spade(angle: float = 0) -> Solid:
    """A push-on blade terminal."""
    return lug(74, 26, angle=angle)

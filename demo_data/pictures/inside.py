"""Pictures of the inside of an amplifier."""

from __future__ import annotations

import numpy as np
from PIL import Image, ImageDraw

from .boards import Condition, put_board, put_valve_base, put_wires
from .colour_code import RGB
from .parts import (
    STEEL,
    TIN,
    WIRE_COLOURS,
    disc_capacitor,
    eyelet,
    grommet,
    lug,
    put_leaded,
    resistor,
    screw,
    solder,
    washer,
)
from .scene import Point, Scene, curve
from .solid import box, dome, ring
from .surface import HEIGHT, WIDTH, brushed_metal, random


def chassis(seed: int, *, lips: bool = True, dull: float = 1.0) -> Scene:
    """An empty chassis from below: a sheet-steel tray with its folded edges."""
    scene = Scene(brushed_metal(random(seed, 0), WIDTH, HEIGHT, dull=dull), seed)
    if lips:
        for at, size in (((800, 30), (1700, 84)), ((800, 1170), (1700, 84))):
            texture = brushed_metal(random(seed, 6), size[0], size[1], (172, 174, 172), 0.4)
            scene.put(box(size[0], size[1], STEEL, round_by=10, edge=12, lift=26, texture=texture), at)
        scene.settle()
        rng = random(seed, 7)
        for x in range(160, 1600, 320):
            scene.put(screw(rng, 15, slotted=False, rust=float(rng.uniform(0, 0.6))), (x, 36))
    return scene


def put_pot(scene: Scene, at: Point, radius: int = 58) -> list[Point]:
    """Put the back of a potentiometer, its three tags upwards; returns the tags' ends."""
    tags = [(at[0] + dx, at[1] - radius - 8) for dx in (-30, 0, 30)]
    for tag in tags:
        scene.put(lug(44, 18, angle=90), (tag[0], tag[1] + 6))
    scene.put(dome(radius, TIN, height=0.22, gloss=0.35, hardness=10, lift=14), at)
    scene.put(ring(radius, radius - 7, (196, 196, 192), gloss=0.4, lift=2), at)
    return [(x, y - 8) for x, y in tags]


def chassis_underside(
    seed: int, *, scorched: bool = False, cracked_joint: bool = False, renewed: bool = False, dust: float = 0.5
) -> Image.Image:
    """A whole chassis from below: valve bases above, the board in the middle, controls below."""
    scene = chassis(seed)
    rng = random(seed, 8)
    lugs: list[Point] = []
    for number, x in enumerate((250, 560)):
        lugs += put_valve_base(scene, seed * 31 + number, (x, 250), 96, pins=8)
    for number, x in enumerate((830, 1070, 1310)):
        lugs += put_valve_base(scene, seed * 31 + 7 + number, (x, 240), 62, pins=9)
    state = Condition(scorched=scorched, cracked_joint=cracked_joint, renewed=renewed)
    joints = put_board(scene, seed, (150, 440), 13, 96, 380, state)
    tags: list[Point] = []
    for x in range(260, 1500, 215):
        tags += put_pot(scene, (x, 1050))
    scene.settle()
    pots = [tags[int(i)] for i in rng.permutation(len(tags))[:11]]
    put_wires(scene, seed, sorted(joints[13:])[:11], sorted(pots), spread=34)
    ends = [lugs[int(i)] for i in rng.permutation(len(lugs))[:13]]
    put_wires(scene, seed + 1, sorted(joints[:13]), sorted(ends), spread=40)
    scene.put(grommet(34), (70, 430))
    scene.settle()
    for number, colour in enumerate(("red", "red", "yellow", "green", "green")):
        end = lugs[number * 3]
        bend = [(70 + number * 4, 430 - number * 3), (95 + number * 10, 372 + number * 7), (180 + number * 22, 398)]
        scene.wire([*bend, end], WIRE_COLOURS[colour], 12, gloss=0.3, lift=16)
    scene.settle()
    scene.dust(0.1 if renewed else dust)
    return scene.photograph()


def tag_board(
    seed: int, *, scorched: bool = False, cracked_joint: bool = False, bulging: bool = False, renewed: bool = False
) -> Image.Image:
    """A board close up, with what heat, a bad joint or an old capacitor did to it, or after its repair."""
    scene = chassis(seed, lips=False)
    state = Condition(scorched, cracked_joint, bulging, renewed)
    joints = put_board(scene, seed, (40, 300), 9, 166, 600, state)
    rng = random(seed, 9)
    away = [(x + float(rng.uniform(-160, 160)), -30.0) for x, _ in joints[:9]]
    put_wires(scene, seed, joints[:9], away, spread=50, thick=1.7)
    below = [(x + float(rng.uniform(-160, 160)), HEIGHT + 30.0) for x, _ in joints[9:]]
    put_wires(scene, seed + 1, joints[9:], below, spread=50, thick=1.7)
    scene.settle()
    for joint in joints[:9]:
        scene.put(solder(rng, 22), joint)
    scene.settle()
    scene.dust(0.08 if renewed else 0.6)
    return scene.photograph()


def finished_board(seed: int) -> tuple[Image.Image, Image.Image]:
    """The same board from the same place, as found (scorched, one joint cracked) and as left."""
    found = tag_board(seed, scorched=True, cracked_joint=True, bulging=True)
    return found, tag_board(seed, renewed=True)


def valve_base(seed: int, *, kind: str = "octal", arc_track: bool = False, renewed: bool = False) -> Image.Image:
    """One valve base from its wiring side, close up; `kind` is octal or noval.

    Raises ValueError for another kind.
    """
    if kind not in ("octal", "noval"):
        raise ValueError(f"no base of kind {kind!r} is drawn: octal or noval")
    scene = chassis(seed, lips=False)
    middle = (790.0, 600.0)
    joints = put_valve_base(scene, seed, middle, 310, pins=8 if kind == "octal" else 9, track=arc_track)
    rng = random(seed, 10)
    ends = []
    for x, y in joints:
        away = np.array([x - middle[0], y - middle[1]])
        end = np.array(middle) + away / np.hypot(*away) * float(rng.uniform(880, 1100))
        ends.append((float(end[0]), float(end[1])))
    order = [i for i in range(len(joints)) if i not in (0, 5)]
    put_wires(scene, seed, [joints[i] for i in order], [ends[i] for i in order], spread=80, thick=2.6)
    scene.settle()
    start, end = joints[0], ends[0]
    near = (start[0] * 0.5 + end[0] * 0.5, start[1] * 0.5 + end[1] * 0.5)
    angle = -float(np.rad2deg(np.arctan2(near[1] - start[1], near[0] - start[0])))
    put_leaded(scene, resistor(1.5e3, angle=angle, length=236), start, near, width=12)
    scene.settle()
    for joint in joints:
        scene.put(solder(rng, 30), joint)
    scene.settle()
    scene.dust(0.08 if renewed else 0.7)
    return scene.photograph()


def wiring(seed: int, *, crumbling: bool = False) -> Image.Image:
    """A run of wires along the chassis; crumbling insulation shows its copper and has left flakes."""
    scene = chassis(seed, lips=False, dull=1.4)
    rng = random(seed, 11)
    names = ("red", "brown", "yellow", "black", "green", "white", "blue")
    for number, name in enumerate(names):
        rise = rng.uniform(-46, 46, size=5)
        base = 330 + number * 78
        way: list[Point] = [(-40.0 + 420 * i, base + float(rise[i])) for i in range(5)]
        scene.wire(way, WIRE_COLOURS[name], 42, gloss=0.06 if crumbling else 0.35, lift=24)
        scene.settle()
        if crumbling and number in (1, 2, 4):
            _crumble(scene, seed, number, way)
    for x in (420, 1180):
        scene.put(box(64, 620, (52, 48, 44), round_by=18, edge=18, gloss=0.15, lift=18, angle=2), (x, 565))
    scene.settle()
    scene.dust(0.8 if crumbling else 0.3)
    return scene.photograph()


def _crumble(scene: Scene, seed: int, number: int, way: list[Point]) -> None:
    rng = random(seed, 40 + number)
    points = curve(way, 40)
    begin = int(rng.integers(45, 80))
    bare = points[begin:begin + int(rng.integers(16, 26))]
    pen = ImageDraw.Draw(scene.image)
    scene.mark(f"bare wire {number}", bare[len(bare) // 2])
    pen.line(bare, fill=(34, 24, 18), width=44)
    for strand, light in ((-9, 0.8), (-3, 1.15), (3, 1.0), (9, 0.7)):
        colour: RGB = (round(min(255, 186 * light)), round(112 * light), round(62 * light))
        pen.line([(x, y + strand) for x, y in bare], fill=colour, width=6)
    for point in (*points[begin - 26:begin:3], *points[begin + len(bare):begin + len(bare) + 26:3]):
        lean, x = float(rng.uniform(-9, 9)), point[0]
        pen.line((x, point[1] - 21, x + lean, point[1], x - lean, point[1] + 20), fill=(28, 22, 18), width=3)
    names = ("red", "brown", "yellow", "black", "green", "white", "blue")
    for _ in range(34):
        x, y = float(rng.normal(bare[len(bare) // 2][0], 110)), float(rng.normal(bare[0][1] + 40, 60))
        size, colour = float(rng.uniform(4, 15)), WIRE_COLOURS[names[number]]
        shape = [(x + float(rng.uniform(-size, size)), y + float(rng.uniform(-size, size))) for _ in range(4)]
        pen.polygon([(a + 3, b + 4) for a, b in shape], fill=(48, 44, 40))
        pen.polygon(shape, fill=colour)


def found_washer(seed: int) -> Image.Image:
    """A loose washer in the corner of a chassis, near live tags."""
    scene = chassis(seed, dull=1.5)
    rng = random(seed, 12)
    strip = box(760, 120, (120, 76, 42), round_by=8, edge=5, lift=12)
    scene.put(strip, (980, 330))
    scene.settle()
    tags = [(680.0 + 120 * i, 330.0) for i in range(6)]
    for tag in tags:
        scene.put(lug(120, 40, angle=90), (tag[0], tag[1] - 40))
        scene.put(eyelet(24), tag)
    scene.settle()
    put_wires(scene, seed, [(x, y - 90) for x, y in tags], [(x - 260, -40.0) for x, _ in tags], spread=50, thick=2.2)
    for number, colour in enumerate(("green", "white", "brown")):
        low = 1010 + 46 * number
        way = [(-40, low), (430, low + 40), (900, low - 60), (1300, low - 10), (1660, low - 120)]
        scene.wire([(float(x), float(y)) for x, y in way], WIRE_COLOURS[colour], 26, gloss=0.3, lift=18)
    scene.put(disc_capacitor(), (1420, 520))
    for tag in tags:
        scene.put(solder(rng, 22), (tag[0], tag[1] - 92))
    scene.settle()
    at = (float(rng.uniform(560, 760)), float(rng.uniform(720, 860)))
    scene.put(washer(84, 40), at)
    scene.mark("washer", at)
    scene.settle()
    scene.dust(1.0)
    return scene.photograph()

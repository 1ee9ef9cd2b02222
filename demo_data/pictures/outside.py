"""Pictures of an amplifier's outside: panel, cabinet, plate, speaker, footswitch."""

from __future__ import annotations

import numpy as np
from PIL import Image, ImageDraw, ImageFilter, ImageFont

from .colour_code import RGB
from .parts import BRASS, STEEL, WIRE_COLOURS, put_knob, screw, washer
from .scene import Point, Scene
from .solid import Solid, box, cylinder, dome, ring, striped
from .surface import HEIGHT, WIDTH, Floats, brushed_metal, clouds, covering, grille_cloth, phenolic, random, wood

COVERINGS: tuple[RGB, ...] = ((46, 46, 48), (64, 40, 34), (38, 54, 48), (92, 78, 60))


def _covering_colour(seed: int) -> RGB:
    return COVERINGS[int(random(seed, 20).integers(len(COVERINGS)))]


def _on_bench(seed: int) -> Scene:
    return Scene(wood(random(seed, 21), WIDTH, HEIGHT, (150, 116, 78)), seed)


def _corner(scene: Scene, at: Point) -> None:
    scene.put(box(116, 116, (150, 146, 136), round_by=34, edge=22, gloss=0.55, lift=10), at)
    scene.settle()
    for dx, dy in ((-28, -28), (28, 28)):
        scene.put(screw(random(scene.seed, int(at[0] + dx)), 13, slotted=False), (at[0] + dx, at[1] + dy))
    scene.settle()


def _scuff(
    scene: Scene, seed: int, region: tuple[int, int, int, int], name: str = "scuff", tear: tuple[int, int] = (84, 42)
) -> None:
    """Scratches that show the pale cloth, and one tear down to the wood."""
    rng = random(seed, 22)
    pen = ImageDraw.Draw(scene.image)
    left, top, right, bottom = region
    for _ in range(16):
        x, y = float(rng.uniform(left, right)), float(rng.uniform(top, bottom))
        dx, dy = float(rng.normal(0, 70)), float(rng.normal(0, 26))
        shade = int(rng.integers(120, 176))
        line = [(x, y), (x + dx * 0.5, y + dy * 0.5 + 3), (x + dx, y + dy)]
        pen.line(line, fill=(shade, shade - 8, shade - 20), width=int(rng.integers(1, 4)))
    x, y = (left + right) / 2, (top + bottom) / 2
    ragged: list[Point] = []
    for way in np.linspace(0, 2 * np.pi, 19)[:-1]:
        long, wide = tear[0] * float(rng.uniform(0.6, 1.2)), tear[1] * float(rng.uniform(0.6, 1.2))
        ragged.append((x + long * float(np.cos(way)), y + wide * float(np.sin(way))))
    pen.polygon([(a - 4, b - 5) for a, b in ragged], fill=(206, 198, 178))
    pen.polygon(ragged, fill=(154, 116, 74))
    pen.line([(x - tear[0] * 0.5, y - 4), (x + tear[0] * 0.6, y)], fill=(128, 92, 56), width=3)
    scene.mark(name, (x, y))


def _cabinet(seed: int, size: tuple[int, int], at: Point, colour: RGB | None = None) -> Scene:
    scene = _on_bench(seed)
    skin = covering(random(seed, 23), size[0], size[1], colour or _covering_colour(seed))
    scene.put(box(size[0], size[1], STEEL, round_by=30, edge=26, gloss=0.08, lift=34, texture=skin), at)
    scene.settle()
    return scene


def control_panel(seed: int, *, missing_knob: bool = False) -> Image.Image:
    """The front panel: knobs with their ticks, two jacks, two switches, a pilot jewel."""
    skin = covering(random(seed, 23), WIDTH, HEIGHT, _covering_colour(seed))
    scene = Scene(skin, seed)
    face = brushed_metal(random(seed, 24), 1640, 520, (74, 70, 66), 0.3)
    scene.put(box(1640, 520, STEEL, round_by=6, edge=6, gloss=0.15, lift=8, texture=face), (800, 600))
    scene.settle()
    rng = random(seed, 25)
    pen = ImageDraw.Draw(scene.image)
    for number in range(5):
        at = (455.0 + 165 * number, 590.0)
        for tick in range(11):
            way = np.deg2rad(-150 + 30 * tick - 90)
            inner, outer = (80, 92) if tick % 5 else (79, 98)
            points = [(at[0] + r * float(np.cos(way)), at[1] + r * float(np.sin(way))) for r in (inner, outer)]
            pen.line(points, fill=(216, 208, 186), width=4)
        turned = float(rng.uniform(-150, 150))
        if missing_knob and number == 3:
            scene.put(ring(30, 16, (176, 176, 172), gloss=0.6, lift=8), at)
            scene.put(dome(16, (158, 158, 156), height=0.5, gloss=0.5, lift=18), at)
            scene.settle()
            scene.mark("missing knob", at)
        else:
            put_knob(scene, at, 66, turned)
        pen = ImageDraw.Draw(scene.image)
    for x in (150.0, 310.0):
        scene.put(washer(56, 30), (x, 590))
        scene.put(ring(42, 22, (188, 188, 184), gloss=0.7, lift=8), (x, 590))
        scene.settle()
        pen = ImageDraw.Draw(scene.image)
        pen.ellipse((x - 21, 569, x + 21, 611), fill=(8, 8, 9))
    for x in (1260.0, 1360.0):
        _toggle(scene, (x, 590.0), up=bool(rng.integers(2)))
    scene.put(ring(46, 34, (190, 190, 186), gloss=0.7, lift=8), (1470, 590))
    scene.put(dome(35, (168, 18, 20), height=0.9, gloss=0.8, hardness=20), (1470, 590))
    scene.settle()
    scene.dust(0.4)
    return scene.photograph()


def _toggle(scene: Scene, at: Point, *, up: bool) -> None:
    scene.put(washer(44, 10), at)
    scene.put(ring(30, 12, (184, 184, 180), gloss=0.7, lift=6), at)
    scene.settle()
    end = (at[0], at[1] + (-74 if up else 74))
    scene.wire([at, end], (196, 196, 192), 22, gloss=0.9, lift=16)
    scene.put(dome(15, (206, 206, 202), height=0.9, gloss=0.9, lift=16), end)
    scene.settle()


def cabinet_front(seed: int, *, scuffed: bool = False) -> Image.Image:
    """The whole amplifier from the front: covering, grille cloth, control strip, corners."""
    scene = _cabinet(seed, (1300, 980), (800, 610))
    strip = brushed_metal(random(seed, 24), 1180, 130, (74, 70, 66), 0.3)
    scene.put(box(1180, 130, STEEL, round_by=4, edge=4, lift=4, texture=strip), (800, 245))
    scene.put(box(1204, 704, (206, 194, 160), round_by=10, edge=8, gloss=0.2, lift=5), (800, 690))
    scene.settle()
    cloth = grille_cloth(random(seed, 26), 1180, 680)
    scene.put(box(1180, 680, STEEL, round_by=6, edge=3, gloss=0.02, lift=2, texture=cloth), (800, 690))
    scene.settle(0.4)
    rng = random(seed, 25)
    for number in range(6):
        put_knob(scene, (440.0 + 118 * number, 245.0), 40, float(rng.uniform(-150, 150)))
    for x in (280.0, 350.0):
        scene.put(ring(24, 12, (188, 188, 184), gloss=0.7, lift=4), (x, 245))
    scene.put(dome(20, (168, 18, 20), height=0.9, gloss=0.8, hardness=20), (1320, 245))
    scene.settle()
    for corner in ((196, 166), (1404, 166), (196, 1054), (1404, 1054)):
        _corner(scene, corner)
    if scuffed:
        _scuff(scene, seed, (980, 134, 1240, 168), "scuff", (66, 16))
        _scuff(scene, seed + 1, (300, 1062, 560, 1088), "scuff below", (80, 15))
    return scene.photograph()


def cabinet_back(seed: int, *, scuffed: bool = False) -> Image.Image:
    """The whole amplifier from behind: two boards, and between them the speaker and valves in the dark."""
    scene = _cabinet(seed, (1300, 980), (800, 610))
    scene.put(box(1190, 870, (26, 22, 20), round_by=8, edge=10, gloss=0.02, lift=2), (800, 610))
    scene.settle()
    scene.put(dome(215, (46, 42, 40), height=0.5, gloss=0.1, hardness=6, lift=18), (800, 690))
    scene.put(dome(126, (92, 92, 94), height=0.35, gloss=0.25, hardness=8, lift=26), (800, 690))
    for number, x in enumerate((330.0, 440.0, 550.0, 1060.0, 1180.0)):
        length, radius = (220, 42) if number > 2 else (170, 31)
        scene.put(_hanging_valve(length, radius), (x, 400 + length / 2))
    scene.settle()
    for middle, size in ((300, 250), (985, 210)):
        board = wood(random(seed, 27 + middle), 1200, size, (128, 92, 58))
        scene.put(box(1200, size, STEEL, round_by=6, edge=6, gloss=0.05, lift=18, texture=board), (800, middle))
        scene.settle()
        for x in (240, 520, 1080, 1360):
            for y in (middle - size / 2 + 30, middle + size / 2 - 30):
                scene.put(screw(random(seed, x), 16, slotted=False, rust=0.2), (float(x), y))
    scene.settle()
    for corner in ((196, 166), (1404, 166), (196, 1054), (1404, 1054)):
        _corner(scene, corner)
    if scuffed:
        _scuff(scene, seed, (420, 1064, 980, 1088), tear=(80, 13))
    return scene.photograph()


def _hanging_valve(length: int, radius: int) -> Solid:
    """A cold valve, top downwards: the silvery getter, then glass over grey plates."""
    colours = striped(length, (66, 70, 68), [(0, 0.24, (142, 144, 150)), (0.36, 0.80, (92, 92, 94))])

    def rounded(along: Floats) -> Floats:
        return np.asarray(np.sqrt(np.clip(1 - (1 - np.clip(along / 0.16, 0, 1)) ** 2, 0, 1)), dtype=np.float32)

    return cylinder(length, radius, colours, angle=90, profile=rounded, gloss=0.75)


def cabinet_top(seed: int, *, scuffed: bool = False) -> Image.Image:
    """The top with its strap handle."""
    scene = _cabinet(seed, (1420, 620), (800, 600))
    scene.put(box(560, 74, (40, 32, 28), round_by=34, edge=30, gloss=0.25, lift=40), (800, 600))
    scene.settle()
    pen = ImageDraw.Draw(scene.image)
    for stitch in range(560, 1044, 16):
        for y in (574, 626):
            pen.line((stitch, y, stitch + 9, y), fill=(150, 136, 110), width=3)
    for x in (520.0, 1080.0):
        scene.put(box(120, 96, (176, 172, 164), round_by=22, edge=26, gloss=0.6, lift=16), (x, 600))
        scene.settle()
        scene.put(screw(random(seed, int(x)), 17), (x, 600))
    scene.settle()
    for corner in ((140, 340), (1460, 340), (140, 860), (1460, 860)):
        _corner(scene, corner)
    if scuffed:
        _scuff(scene, seed, (1120, 420, 1380, 560))
    return scene.photograph()


def cabinet_side(seed: int, *, scuffed: bool = False) -> Image.Image:
    """One side of the cabinet."""
    scene = _cabinet(seed, (760, 1040), (800, 610))
    vents = Image.new("RGB", (300, 150), (24, 22, 22))
    pen = ImageDraw.Draw(vents)
    for y in range(8, 150, 24):
        pen.line((0, y, 300, y), fill=(96, 94, 90), width=9)
    scene.put(box(330, 180, (150, 148, 142), round_by=16, edge=12, gloss=0.4, lift=6), (800, 330))
    scene.settle()
    scene.put(box(300, 150, STEEL, round_by=6, edge=3, lift=1, texture=vents), (800, 330))
    scene.settle()
    for corner in ((466, 136), (1134, 136), (466, 1084), (1134, 1084)):
        _corner(scene, corner)
    if scuffed:
        _scuff(scene, seed, (560, 760, 1040, 960))
    return scene.photograph()


def serial_plate(seed: int, number: str = "4-1187") -> Image.Image:
    """A riveted plate with a stamped number and nothing else on it."""
    scene = Scene(brushed_metal(random(seed, 0), WIDTH, HEIGHT, (132, 132, 130), 1.2), seed)
    skin = brushed_metal(random(seed, 28), 900, 400, (196, 194, 186), 0.6)
    scene.put(box(900, 400, STEEL, round_by=30, edge=8, gloss=0.3, lift=6, texture=skin), (800, 600))
    scene.settle()
    pen = ImageDraw.Draw(scene.image)
    pen.rounded_rectangle((386, 436, 1214, 764), 16, outline=(92, 88, 82), width=4)
    rng = random(seed, 29)
    font = ImageFont.load_default(150)
    left = 800 - 92 * (len(number) - 1) / 2
    for place, sign in enumerate(number):
        x, y = left + 92 * place + float(rng.uniform(-4, 4)), 600 + float(rng.uniform(-7, 7))
        pen.text((x + 3, y + 4), sign, fill=(236, 234, 226), font=font, anchor="mm")
        pen.text((x, y), sign, fill=(48, 45, 42), font=font, anchor="mm")
    for x in (400.0, 1200.0):
        scene.put(dome(22, BRASS, height=0.8, gloss=0.6), (x, 600))
    scene.settle()
    scene.mark("number", (800, 600))
    scene.dust(0.6)
    return scene.photograph()


def speaker(seed: int, *, torn: bool = False) -> Image.Image:
    """A speaker from the front: frame, pleated edge, cone, dust cap; perhaps with a tear."""
    scene = _on_bench(seed)
    at = (800.0, 600.0)
    scene.put(ring(560, 470, (58, 58, 60), gloss=0.25, lift=30), at)
    scene.settle()
    scene.put(_cone(seed, 490), at)
    scene.settle(0.3)
    scene.put(dome(130, (38, 35, 33), height=0.7, gloss=0.12, hardness=8, lift=14), at)
    scene.settle()
    for hole in range(8):
        way = np.deg2rad(22.5 + 45 * hole)
        scene.put(dome(19, (14, 13, 13), height=0.1, gloss=0, lift=0),
                  (at[0] + 526 * float(np.cos(way)), at[1] + 526 * float(np.sin(way))))
    scene.settle(0)
    if torn:
        rng = random(seed, 30)
        steps = np.linspace(0, 1, 12)
        edge = [(1010 + 190 * s + float(rng.normal(0, 9)), 690 + 110 * s + float(rng.normal(0, 9))) for s in steps]
        pen = ImageDraw.Draw(scene.image)
        pen.line([(x - 5, y - 6) for x, y in edge], fill=(150, 138, 118), width=7)
        pen.line(edge, fill=(8, 7, 7), width=13)
        pen.polygon([edge[4], (edge[6][0] + 40, edge[6][1] - 34), edge[8]], fill=(8, 7, 7))
        scene.mark("tear", edge[6])
    scene.dust(0.7)
    return scene.photograph()


def _cone(seed: int, radius: int) -> Solid:
    size = 2 * radius
    y, x = np.mgrid[0:size, 0:size].astype(np.float32) - radius
    far = np.hypot(x, y) / radius
    pleats = 0.20 * np.sin(far * 150) * (far > 0.86) + 0.05 * np.sin(far * 62) * (far <= 0.86)
    facing = (x * 0.62 + y * 0.72) / np.maximum(far * radius, 1)  # a hollow is lit on its far side
    light = 0.92 + 0.40 * facing * np.clip(far * 1.4, 0, 1) + pleats + 0.05 * clouds(random(seed, 31), size, size, 40)
    colour = np.array([74, 67, 60], dtype=np.float32) * light[..., None]
    alpha = np.clip((1 - far) * radius, 0, 1) * 255
    return Solid(Image.fromarray(np.dstack([np.clip(colour, 0, 255), alpha]).astype(np.uint8)), 2)


def footswitch(seed: int) -> Image.Image:
    """A two-button footswitch with its cable on the bench."""
    scene = _on_bench(seed)
    skin = phenolic(random(seed, 32), 820, 480, (60, 62, 66))
    scene.wire([(800, 470), (790, 300), (980, 120), (1320, 190), (1660, 60)], WIRE_COLOURS["black"], 44, 0.3, 18)
    scene.settle()
    scene.put(box(820, 480, STEEL, round_by=36, edge=38, gloss=0.25, lift=46, texture=skin), (800, 640))
    scene.settle()
    for x, lamp in ((600.0, (196, 30, 28)), (1000.0, (86, 24, 22))):
        scene.put(washer(84, 40), (x, 690))
        scene.settle()
        scene.put(ring(62, 40, (190, 190, 186), gloss=0.7, lift=8), (x, 690))
        scene.put(dome(50, (198, 198, 194), height=0.45, gloss=0.8, hardness=14, lift=26), (x, 690))
        scene.put(ring(24, 15, (150, 150, 148), gloss=0.6), (x, 510))
        scene.put(dome(16, lamp, height=0.8, gloss=0.8), (x, 510))
    for dx in (-364, 364):
        for dy in (-194, 194):
            scene.put(screw(random(seed, dx * dy), 17, slotted=False) if dx * dy > 0 else screw(random(seed, 5), 17),
                      (800.0 + dx, 640.0 + dy))
    scene.settle()
    scene.image = scene.image.filter(ImageFilter.GaussianBlur(0.4))
    return scene.photograph()

"""The drawn photographs: repeatable, the right size, with the colours that the standard gives the values."""

import io
from collections.abc import Callable

import numpy as np
import pytest
from PIL import Image, ImageChops, ImageOps, ImageStat

from demo_data import pictures
from demo_data.pictures.colour_code import BAND_RGB, bands
from demo_data.pictures.parts import BAND_HALF, BAND_PLACES, resistor

Draw = Callable[[int], Image.Image]
EVERY: dict[str, Draw] = {
    "chassis": lambda seed: pictures.chassis_underside(seed, scorched=True),
    "board": lambda seed: pictures.tag_board(seed, scorched=True, cracked_joint=True, bulging=True),
    "octal": lambda seed: pictures.valve_base(seed, arc_track=True),
    "noval": lambda seed: pictures.valve_base(seed, kind="noval"),
    "wiring": lambda seed: pictures.wiring(seed, crumbling=True),
    "washer": pictures.found_washer,
    "inlet": lambda seed: pictures.mains_inlet(seed, bridged_fuse=True, two_core=True),
    "transformer": lambda seed: pictures.transformer(seed, rusty=True, scorched=True),
    "can": lambda seed: pictures.capacitor_can(seed, bulging=True),
    "panel": lambda seed: pictures.control_panel(seed, missing_knob=True),
    "front": lambda seed: pictures.cabinet_front(seed, scuffed=True),
    "back": pictures.cabinet_back,
    "top": pictures.cabinet_top,
    "side": pictures.cabinet_side,
    "plate": pictures.serial_plate,
    "speaker": lambda seed: pictures.speaker(seed, torn=True),
    "footswitch": pictures.footswitch,
}


@pytest.mark.parametrize("name", EVERY)
def test_every_picture_is_of_one_size_and_shows_something(name: str) -> None:
    picture = EVERY[name](3)
    assert (picture.mode, picture.size) == ("RGB", (1600, 1200))
    assert min(ImageStat.Stat(picture).stddev) > 12


@pytest.mark.parametrize("name", ["board", "octal", "wiring", "can", "panel", "speaker"])
def test_the_same_seed_draws_the_same_picture(name: str) -> None:
    assert EVERY[name](3).tobytes() == EVERY[name](3).tobytes()


def test_another_seed_is_another_amplifier() -> None:
    assert changed(pictures.tag_board(3), pictures.tag_board(4), (0.5, 0.5), 500)[0] > 8


def changed(before: Image.Image, after: Image.Image, at: tuple[float, float], radius: int) -> tuple[float, float]:
    """How much differs, 0..255 on average: near a place, and far from it."""
    apart = np.asarray(ImageChops.difference(before, after).convert("L"), dtype=float)
    y, x = np.mgrid[0:1200, 0:1600]
    near = np.hypot(x - at[0] * 1600, y - at[1] * 1200) < radius
    return float(apart[near].mean()), float(apart[~near].mean())


@pytest.mark.parametrize(
    ("draw", "damage", "place"),
    [
        (pictures.tag_board, "scorched", "scorch"),
        (pictures.valve_base, "arc_track", "track"),
        (pictures.mains_inlet, "bridged_fuse", "bridged fuse"),
        (pictures.control_panel, "missing_knob", "missing knob"),
        (pictures.capacitor_can, "bulging", "bulge"),
        (pictures.cabinet_side, "scuffed", "scuff"),
        (pictures.speaker, "torn", "tear"),
    ],
)
def test_damage_is_where_its_place_says_and_the_view_stays(
    draw: Callable[..., Image.Image], damage: str, place: str
) -> None:
    before, after = draw(6, **{damage: True}), draw(6)
    near, far = changed(before, after, pictures.places(before)[place], 130)
    assert near > 8 * max(far, 0.3)


def test_as_found_and_as_left_are_the_same_board() -> None:
    found, left = pictures.finished_board(5)
    where = pictures.places(found)["scorch"]
    assert pictures.places(left)["scorch"] == where
    x, y = round(where[0] * 1600), round(where[1] * 1200)
    box = (x - 130, y - 130, x + 130, y + 130)
    dark, clean = (ImageStat.Stat(p.crop(box).convert("L")).mean[0] for p in (found, left))
    assert dark < 0.7 * clean


# IEC 60062:2016, table 1 (colours of digits, multipliers and tolerances), written out here by hand from memory.
STANDARD = [
    (470, 5, "yellow violet brown gold"),
    (1.5e3, 5, "brown green red gold"),
    (100e3, 10, "brown black yellow silver"),
    (220e3, 5, "red red yellow gold"),
    (1e6, 1, "brown black green brown"),
    (68e3, 2, "blue grey orange red"),
    (3.9e6, 5, "orange white green gold"),
    (10, 5, "brown black black gold"),
    (4.7, 5, "yellow violet gold gold"),
    (0.22, 5, "red red silver gold"),
    (10e6, 10, "brown black blue silver"),
]


@pytest.mark.parametrize(("ohms", "tolerance", "colours"), STANDARD)
def test_the_bands_of_a_value_are_the_standards(ohms: float, tolerance: int, colours: str) -> None:
    assert " ".join(bands(ohms, tolerance)) == colours


@pytest.mark.parametrize(("ohms", "tolerance", "colours"), STANDARD)
@pytest.mark.parametrize("length", [96, 140])
def test_the_drawn_bands_show_those_colours(ohms: float, tolerance: int, colours: str, length: int) -> None:
    solid = np.asarray(resistor(ohms, tolerance, length=length).image, dtype=float)[..., :3]
    across = solid.shape[0] // 2 + solid.shape[0] // 6  # below the shine of the lamp
    ground = solid[across, round(length * 0.64)]
    seen = []
    for place in BAND_PLACES:
        reach = max(1, round(length * BAND_HALF * 0.5))
        colour = solid[across, round(length * place) - reach:round(length * place) + reach].mean(axis=0)
        seen.append(min(BAND_RGB, key=lambda name: float(np.abs(colour - lit(name, ground, length)).sum())))
    assert " ".join(seen) == colours


def lit(name: str, ground: np.ndarray, length: int) -> np.ndarray:
    """A band's colour under the light that falls on the body beside it."""
    body = np.array((206, 178, 132) if length < 120 else (120, 84, 56), dtype=float)
    return np.array(BAND_RGB[name], dtype=float) * float((ground / body).mean())


@pytest.mark.parametrize("ohms", [0, 0.05, -100, 123, 4.75e3, float("nan"), float("inf")])
def test_a_value_that_four_bands_cannot_say_is_refused(ohms: float) -> None:
    with pytest.raises(ValueError, match="four bands cannot say"):
        bands(ohms)


@pytest.fixture(scope="module")
def picture() -> Image.Image:
    return pictures.serial_plate(1)


# Exif 2.32, tag 0x0112: reference implementation is Pillow's exif_transpose.
@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_viewer_that_heeds_the_tag_sees_it_upright(picture: Image.Image, orientation: int) -> None:
    file = pictures.as_jpeg(picture, exif_orientation=orientation)
    with Image.open(io.BytesIO(file)) as opened:
        assert opened.getexif()[0x0112] == orientation
        upright = ImageOps.exif_transpose(opened)
    assert upright.size == picture.size
    assert max(ImageStat.Stat(ImageChops.difference(upright, picture)).mean) < 4


def test_the_place_is_in_the_file_only_when_asked(picture: Image.Image) -> None:
    for wanted in (True, False):
        with Image.open(io.BytesIO(pictures.as_jpeg(picture, with_gps=wanted))) as opened:
            assert bool(opened.getexif().get_ifd(0x8825)) is wanted


def test_an_orientation_outside_the_tag_is_refused(picture: Image.Image) -> None:
    with pytest.raises(ValueError, match="1 to 8"):
        pictures.as_jpeg(picture, exif_orientation=9)


def test_a_file_is_of_a_size_to_send(picture: Image.Image) -> None:
    assert 100_000 < len(pictures.as_jpeg(picture)) < 900_000

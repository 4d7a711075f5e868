"""Drawings: known discs, readable by an image library, the same bytes everywhere."""

import io
import re
import zlib

import numpy as np
import pytest
from PIL import Image

from lyewitness.rehearsal.drawings import HEIGHT, STRIP, WIDTH, bar_nm, discs_of, draw, grey_png, group_of
from lyewitness.rehearsal.plans import ImagePlan
from lyewitness.rehearsal.scenario import example_scenario
from lyewitness.rehearsal.signals import random_stream

SCENARIO = example_scenario()


def pixels(data: bytes) -> np.ndarray:
    """Return the grey levels of a PNG, 0 … 1, as Pillow reads them."""
    with Image.open(io.BytesIO(data)) as image:
        image.load()
        return np.asarray(image.convert("L"), float) / 255


@pytest.mark.parametrize("shape", [(3, 4), (5, 7), (500, 300)])
def test_pillow_reads_what_was_written(shape: tuple[int, int]) -> None:
    """Sixteen grey levels return exactly, for odd widths and for more than one stored block."""
    levels = np.arange(shape[0] * shape[1]).reshape(shape) % 16 / 15
    data = grey_png(levels, "a test")
    np.testing.assert_allclose(pixels(data), levels, atol=1 / 500)
    assert Image.open(io.BytesIO(data)).info["Description"] == "a test"


def test_the_pixels_are_stored_and_not_squeezed() -> None:
    """Python's zlib opens the stream, and the first block says that it is stored."""
    data = grey_png(np.zeros((4, 4)), "")
    stream = data[data.index(b"IDAT") + 4 :]
    assert stream[2] & 0b110 == 0
    assert zlib.decompressobj().decompress(stream) == bytes(4 * 3)


@pytest.mark.parametrize("image", SCENARIO.images, ids=lambda image: image.file)
def test_every_drawing_says_what_it_is(image: ImagePlan) -> None:
    """In its caption, and in the file; and it is of the stated size."""
    assert image.caption.startswith(f"A drawing that stands in for a {image.kind}")
    data = draw(image, group_of(image, SCENARIO), random_stream(1))
    assert pixels(data).shape == (HEIGHT + STRIP, WIDTH)
    with Image.open(io.BytesIO(data)) as opened:
        assert "stands in" in opened.info["Description"]


def test_discs_have_the_size_of_the_particles_and_do_not_overlap() -> None:
    """The mean diameter is that of the group, and no two discs touch."""
    for image in SCENARIO.images:
        group = group_of(image, SCENARIO)
        if image.subject == "particles":
            discs = discs_of(image, group, random_stream(2))
            um = np.array([2 * disc.radius * image.nm_per_pixel / 1000 for disc in discs])
            assert um.mean() == pytest.approx(group.particle_um, rel=0.03)
            place = np.array([(disc.x, disc.y, disc.radius) for disc in discs])
            apart = np.hypot(*(place[:, None, :2] - place[None, :, :2]).transpose(2, 0, 1))
            need = place[:, None, 2] + place[None, :, 2]
            assert (apart + 1e9 * np.eye(len(discs)) > need).all()


def test_a_fresh_sphere_fills_its_disc() -> None:
    """The bright area of a fresh drawing is that of the known discs, within 1 %."""
    image = next(image for image in SCENARIO.images if image.file == "P1-fresh.png")
    group = group_of(image, SCENARIO)
    rows, columns = np.mgrid[0:HEIGHT, 0:WIDTH]
    inside = np.zeros((HEIGHT, WIDTH), bool)
    for disc in discs_of(image, group, random_stream(3)):
        inside |= np.hypot(columns - disc.x, rows - disc.y) < disc.radius
    bright = pixels(draw(image, group, random_stream(3)))[:HEIGHT] > 0.2
    assert bright.sum() == pytest.approx(inside.sum(), rel=0.01)


def test_damage_darkens_a_particle() -> None:
    """A pitted particle reflects less than a fresh one."""
    fresh, after = (
        next(image for image in SCENARIO.images if image.file == name)
        for name in ("S1-fresh.png", "S1-after.png")
    )
    group = group_of(fresh, SCENARIO)
    bright = [pixels(draw(image, group, random_stream(4)))[:HEIGHT].mean() for image in (fresh, after)]
    assert bright[1] < 0.97 * bright[0]


def test_a_deposit_brightens_the_frit() -> None:
    """What settles on a frit is paler than the sinter."""
    fresh, after = (
        next(image for image in SCENARIO.images if image.file == name)
        for name in ("G2-frit-fresh.png", "G2-frit-after.png")
    )
    group = group_of(fresh, SCENARIO)
    middle = np.s_[HEIGHT // 3 : 2 * HEIGHT // 3, WIDTH // 3 : 2 * WIDTH // 3]
    bright = [pixels(draw(image, group, random_stream(4)))[middle].mean() for image in (fresh, after)]
    assert bright[1] > 1.1 * bright[0]


@pytest.mark.parametrize(("scale", "bar"), [(30.0, 5000.0), (8000.0, 1e6), (10.0, 1000.0)])
def test_the_scale_bar_is_a_round_length(scale: float, bar: float) -> None:
    """1, 2 or 5 times a power of ten."""
    assert bar_nm(scale) == bar


def test_the_notes_point_at_what_exists() -> None:
    """Every reference of the example's notes names a column, marker, injection, image or note of it."""
    known = {
        "column": {f"{group.letter}{n}" for group in SCENARIO.groups for n in (1, 2, 3)},
        "marker": {marker.id for marker in SCENARIO.markers},
        "image": {image.file.removesuffix(".png") for image in SCENARIO.images},
        "note": {note.file.removesuffix(".md") for note in SCENARIO.notes},
    }
    known["injection"] = {f"{column}-{turn:02d}" for column in known["column"] for turn in range(1, 21)}
    pointed = [match for note in SCENARIO.notes for match in re.findall(r"\[\[(\w+):([^\]]+)\]\]", note.text)]
    assert {kind for kind, _ in pointed} == set(known)
    assert [target for kind, target in pointed if target not in known[kind]] == []

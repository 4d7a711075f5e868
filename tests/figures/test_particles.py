"""Particles counted and measured on drawn discs of known size."""

import numpy as np
import pytest
from scipy import stats

from lyewitness.figures.particles import count_particles, median_with_interval, otsu_threshold, without_strip
from lyewitness.words.arrays import FloatArray

Disc = tuple[float, float, float]


def drawn(discs: list[Disc], size: tuple[int, int] = (400, 500), noise: float = 0.05) -> FloatArray:
    """Return an image of bright discs (x, y, radius in pixels) on a dark ground, with noise."""
    y, x = np.mgrid[: size[0], : size[1]].astype(float)
    image = np.full(size, 0.15)
    for cx, cy, radius in discs:
        cover = np.clip(radius - np.hypot(x - cx, y - cy) + 0.5, 0, 1)
        image = np.maximum(image, 0.15 + 0.6 * cover)
    return image + np.random.default_rng(7).normal(0, noise, size)


def scattered(count: int, seed: int, spread: float = 0.08) -> list[Disc]:
    """Return discs that do not overlap and do not touch the edge."""
    rng = np.random.default_rng(seed)
    discs: list[Disc] = []
    while len(discs) < count:
        radius = float(18 * np.exp(rng.normal(0, spread)))
        x, y = float(rng.uniform(25, 475)), float(rng.uniform(25, 375))
        if all(np.hypot(x - a, y - b) > radius + r + 3 for a, b, r in discs):
            discs.append((x, y, radius))
    return discs


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_single_discs_are_all_counted_and_measured(seed: int) -> None:
    """Every disc is found once, where it was drawn, its diameter within 3 %."""
    discs = scattered(40, seed)
    found = count_particles(drawn(discs), nm_per_pixel=25.0)
    assert len(found.particles) == 40
    assert (found.cut_by_edge, found.not_parted) == (0, 0)
    for x, y, radius in discs:
        near = min(found.particles, key=lambda one: np.hypot(one.x_px - x, one.y_px - y))
        assert np.hypot(near.x_px - x, near.y_px - y) < 1.0
        assert near.diameter_nm == pytest.approx(2 * radius * 25.0, rel=0.03)
        assert near.roundness > 0.87
        assert not near.broken


def test_touching_discs_are_parted() -> None:
    """Discs that touch in rows and in threes are counted one by one, sizes within 5 %."""
    row = [(60.0 + 40 * i, 80.0, 20.0) for i in range(8)]
    packed = [(100.0 + 40 * i + 20 * (j % 2), 180.0 + 34.64 * j, 20.0) for i in range(6) for j in range(4)]
    found = count_particles(drawn(row + packed), nm_per_pixel=10.0)
    assert len(found.particles) == len(row + packed)
    assert found.median_nm.value == pytest.approx(400.0, rel=0.05)


def test_half_discs_and_fragments_are_broken() -> None:
    """A disc with a bite taken out, and a fragment, count as broken; whole ones do not."""
    discs = scattered(20, 5, spread=0.02)
    image = drawn(discs, noise=0.0)
    y, x = np.mgrid[:400, :500].astype(float)
    for cx, cy, radius in discs[:5]:
        image[(x > cx - 1) & (np.hypot(x - cx, y - cy) < radius + 2) & (y > cy - 1)] = 0.15
    found = count_particles(image + np.random.default_rng(1).normal(0, 0.02, image.shape), 25.0)
    assert len(found.particles) == 20
    assert found.broken_share == pytest.approx(0.25)


def test_particles_cut_by_the_edge_are_not_measured() -> None:
    """What the edge cuts is counted apart and leaves the sizes alone."""
    found = count_particles(drawn([(0.0, 100.0, 20.0), (500.0, 300.0, 20.0), (250.0, 200.0, 20.0)]), 25.0)
    assert found.cut_by_edge == 2
    assert [round(one.diameter_nm, -1) for one in found.particles] == [pytest.approx(1000, rel=0.03)]


def test_dark_particles_on_bright_ground() -> None:
    """Said to be dark, particles are found on a bright ground as well."""
    assert len(count_particles(1 - drawn(scattered(25, 4)), 25.0, bright=False).particles) == 25


@pytest.mark.parametrize("image", [np.zeros((60, 60)), np.random.default_rng(0).normal(0, 1, (200, 200))])
def test_an_image_without_particles_says_so(image: FloatArray) -> None:
    """A blank or a noisy image gives a reason and no number."""
    found = count_particles(image, 25.0)
    assert not found.particles
    assert found.reason
    assert found.median_nm.value is None


def test_threshold_parts_two_levels() -> None:
    """Between two clear levels the threshold lies between them, wherever it may."""
    values = np.concatenate([np.full(300, 1.0), np.full(100, 5.0)])
    assert 1.0 < otsu_threshold(values) < 5.0


def test_interval_of_the_median_has_its_coverage() -> None:
    """Ranks of the median's interval for n = 20 are 6 and 15; coverage after scipy's binomial ≥ 95 %.

    Ranks: tables of the sign test (from memory); coverage: scipy.stats.binom.
    """
    found = median_with_interval(np.arange(1.0, 21.0))
    assert (found.value, found.low, found.high) == (10.5, 6.0, 15.0)
    assert 1 - 2 * stats.binom.cdf(5, 20, 0.5) >= 0.95 > 1 - 2 * stats.binom.cdf(6, 20, 0.5)
    assert median_with_interval(np.arange(1.0, 6.0)).low is None


def test_a_strip_of_words_is_no_part_of_the_image() -> None:
    """The white strip that an instrument writes below a micrograph is left out, with the words on it."""
    image = drawn(scattered(10, 3))
    strip = np.ones((24, 500))
    strip[8:14, 20:150] = 0.0
    assert without_strip(np.vstack([image, strip])).shape == image.shape
    assert without_strip(image).shape == image.shape


def test_shaded_spheres_keep_their_size() -> None:
    """Spheres lit from one side are measured within 4 % of their drawn diameter."""
    y, x = np.mgrid[:300, :400].astype(float)
    image = np.full((300, 400), 0.13)
    for cx in (60, 150, 240, 330):
        for cy in (70, 200):
            rows, columns = y - cy, x - cx
            height = np.sqrt(np.clip(1 - (rows**2 + columns**2) / 40.0**2, 0, 1))
            shade = 0.42 + 0.6 * np.clip(0.5 * height - 0.25 * (rows + columns) / 40, -0.2, 0.6)
            image = np.where(np.hypot(rows, columns) < 40, shade, image)
    found = count_particles(image + np.random.default_rng(2).normal(0, 0.012, image.shape), 30.0)
    assert len(found.particles) == 8
    assert found.median_nm.value == pytest.approx(2400, rel=0.04)

"""Pictures before and after: whether they show one place, their own scale bars, their particles."""

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from scipy import ndimage, stats

from lyewitness.figures.drawing import counted_pairs
from lyewitness.figures.particle_pairs import (
    broken_share,
    change_um,
    particle_pair_figures,
)
from lyewitness.figures.particles import count_particles
from lyewitness.figures.pictures import own_bar_nm, picture_figures, picture_problems
from lyewitness.figures.registration import correlation, placed, shift_of
from lyewitness.figures.style import look_from
from lyewitness.study.records import Study, StudyImage
from lyewitness.words.arrays import FloatArray
from tests.figures.making import made_study
from tests.figures.test_particles import drawn, scattered

LOOK = look_from({})


def moved(picture: FloatArray, across: int, down: int) -> FloatArray:
    """Return the same place seen again: moved, dimmer, noisier."""
    again = 0.8 * ndimage.shift(picture, (down, across), mode="nearest") + 0.05
    return np.asarray(again + np.random.default_rng(3).normal(0, 0.03, picture.shape))


def saved(folder: Path, name: str, picture: FloatArray) -> None:
    """Write a grey picture from 0 to 1."""
    Image.fromarray(np.rint(np.clip(picture, 0, 1) * 255).astype(np.uint8)).save(folder / f"{name}.png")


def pair_of(
    folder: Path,
    before: FloatArray,
    after: FloatArray,
    registered: bool | None = None,
    nm_per_pixel: tuple[float, float] = (50.0, 50.0),
    counted: bool = False,
) -> Study:
    """Return a study with two pictures that belong together."""
    images = []
    for name, picture, hours, scale in zip(
        ("fresh", "used"), (before, after), (0.0, 96.0), nm_per_pixel, strict=True
    ):
        saved(folder, name, picture)
        images.append(
            StudyImage(
                name, f"{name}.png", name, exposure_h=hours, nm_per_pixel=scale, pair="both",
                registered=registered, count_particles=counted,
            )
        )  # fmt: skip
    # Listed the wrong way round: exposure tells which came first.
    return replace(made_study(1, 2), folder=folder, images=tuple(reversed(images)))


@pytest.mark.parametrize("shift", [(0, 0), (12, -7), (-31, 22)])
def test_the_same_place_is_found_again_however_it_moved(shift: tuple[int, int]) -> None:
    """Moved, dimmer and noisier, a picture is found to the pixel, and believed."""
    first = drawn(scattered(30, 6))
    second = moved(first, *shift)
    assert shift_of(first, second) == (-shift[0], -shift[1])
    place = placed(first, second)
    assert place is not None
    assert place.across == pytest.approx(-shift[0] / 500)
    assert place.down == pytest.approx(-shift[1] / 400)


def test_pictures_of_other_particles_are_never_laid_on_each_other() -> None:
    """Fields of equal spheres that have nothing to do with each other stay apart, every one of a hundred."""
    fields = [drawn(scattered(30, seed), noise=0.02) for seed in range(15)]
    pairs = [(one, other) for k, one in enumerate(fields) for other in fields[:k]]
    assert len(pairs) > 100
    assert not any(placed(one, other) for one, other in pairs)


def test_no_shift_whatever_makes_other_particles_look_alike() -> None:
    """The correlation that is asked for lies far above the best that any shift of unrelated fields gives."""
    one, other = (drawn(scattered(30, seed), noise=0.02) for seed in (1, 2))
    best = max(correlation(one, other, x, y) for x in range(-100, 101, 5) for y in range(-80, 81, 5))
    assert best < 0.45


@pytest.mark.parametrize(
    ("first", "second"),
    [((400, 500), (400, 480)), ((20, 20), (20, 20))],
    ids=["another size", "too small"],
)
def test_what_cannot_be_compared_is_not_registered(first: tuple[int, int], second: tuple[int, int]) -> None:
    """Pictures of unlike size, and stamps, are not laid on each other."""
    rng = np.random.default_rng(1)
    pictures = [rng.random(size) for size in (first, second)]
    assert placed(*pictures) is None


def test_even_pictures_are_not_registered() -> None:
    """Two pictures of one grey say nothing of a place."""
    assert placed(np.full((60, 60), 0.4), np.full((60, 60), 0.4)) is None


def test_a_pair_of_one_place_is_handed_on_with_its_shift(tmp_path: Path) -> None:
    """The picture made of the pair knows what it was made of, the least exposed first."""
    first = drawn(scattered(30, 6))
    pair = picture_figures(pair_of(tmp_path, first, moved(first, 10, 0)), LOOK)[-1]
    assert pair.laid is not None
    assert pair.laid.images == ("fresh", "used")
    assert pair.laid.moved == pytest.approx((-10 / 500, 0.0))
    assert pair.laid.correlation is not None
    assert "Both show one place." in pair.caption


def test_what_the_study_states_holds(tmp_path: Path) -> None:
    """`registered = no` keeps pictures of one place apart; `yes` lays others on each other as they are."""
    first, other = drawn(scattered(30, 6)), drawn(scattered(30, 7))
    apart = picture_figures(pair_of(tmp_path, first, first, registered=False), LOOK)[-1]
    assert apart.laid is not None
    assert apart.laid.moved is None
    stated = picture_figures(pair_of(tmp_path, first, other, registered=True), LOOK)[-1]
    assert stated.laid is not None
    assert (stated.laid.moved, stated.laid.correlation) == ((0.0, 0.0), None)


def test_pictures_of_another_scale_stand_side_by_side_and_say_why(tmp_path: Path) -> None:
    """Pictures stated to show one place, at two scales, are a caution and no slider."""
    first = drawn(scattered(30, 6))
    study = pair_of(tmp_path, first, first, registered=True, nm_per_pixel=(50.0, 40.0))
    pair = picture_figures(study, LOOK)[-1]
    assert pair.laid is not None
    assert (pair.laid.alike, pair.laid.moved) == (False, None)
    (problem,) = picture_problems(study)
    assert (problem.severity, problem.file) == ("caution", "images.csv")


def with_bar(length_px: int, height: int = 384) -> Image.Image:
    """Return a picture with a white strip at its foot and a black bar on it."""
    grey = np.full((height + 24, 480), 255, dtype=np.uint8)
    grey[:height] = np.rint(255 * np.clip(drawn(scattered(20, 6))[:height, :480], 0, 1))
    grey[height + 9 : height + 15, 12 : 12 + length_px] = 0
    grey[height + 9 : height + 12, 300:330] = 0
    return Image.fromarray(grey)


@pytest.mark.parametrize(
    ("length_px", "nm", "expected"),
    [(167, 30.0, 5000.0), (100, 20.0, 2000.0), (140, 30.0, None), (0, 30.0, None)],
)
def test_a_bar_of_its_own_is_believed_where_it_agrees_with_the_scale(
    length_px: int, nm: float, expected: float | None
) -> None:
    """A bar whose length by the scale stated is round is that bar; another length contradicts the scale."""
    assert own_bar_nm(with_bar(length_px), nm) == expected


def test_one_bar_a_picture(tmp_path: Path) -> None:
    """A picture with a bar of its own is published as it is; one without gets one."""
    with_bar(167).save(tmp_path / "own.png")
    saved(tmp_path, "none", drawn(scattered(20, 6)))
    images = (
        StudyImage("own", "own.png", "Own", nm_per_pixel=30.0),
        StudyImage("none", "none.png", "None", nm_per_pixel=30.0),
    )
    own, none = picture_figures(replace(made_study(1, 2), folder=tmp_path, images=images), LOOK)
    assert own.height_px == 408
    assert "Its own scale bar, 5\u2009µm, agrees with the stated 30\u2009nm per pixel." in own.caption
    assert "Scale bar drawn from" in none.caption


def test_a_pixel_of_micrometres_is_told_in_micrometres(tmp_path: Path) -> None:
    """A photograph of 8 µm a pixel is not said to have 8000 nm."""
    saved(tmp_path, "frit", drawn(scattered(20, 6)))
    image = StudyImage("frit", "frit.png", "Frit", nm_per_pixel=8000.0)
    (own,) = picture_figures(replace(made_study(1, 2), folder=tmp_path, images=(image,)), LOOK)
    assert "8\u2009µm per pixel" in own.caption


def pitted(discs: list[tuple[float, float, float]], noise: float = 0.02) -> FloatArray:
    """Return discs with pits all over, some open to the rim, some run together."""
    picture, rng = drawn(discs, noise=noise), np.random.default_rng(11)
    y, x = np.mgrid[: picture.shape[0], : picture.shape[1]].astype(float)
    for cx, cy, radius in discs:
        for _ in range(14):
            away, turn = radius * 0.9 * np.sqrt(rng.random()), 2 * np.pi * rng.random()
            pit = np.hypot(x - cx - away * np.cos(turn), y - cy - away * np.sin(turn))
            picture[pit < radius * rng.uniform(0.04, 0.11)] = 0.2
    return picture


def test_particles_full_of_pits_are_counted_whole() -> None:
    """Pits do not part a particle: as many as were drawn, their median within 4 %."""
    rng = np.random.default_rng(5)
    discs = [(60.0 + 95 * i, 60.0 + 95 * j, float(rng.uniform(34, 37))) for i in range(5) for j in range(4)]
    found = count_particles(pitted(discs), 30.0)
    assert len(found.particles) - found.fragments == 20
    assert found.median_nm.value == pytest.approx(np.median([2 * r * 30.0 for _, _, r in discs]), rel=0.04)
    assert found.broken_share == 0


def test_before_and_after_share_one_figure_and_one_table(tmp_path: Path) -> None:
    """Both medians, the broken share, the change with its interval, and every particle of both pictures."""
    discs = scattered(30, 6, spread=0.03)
    smaller = [(x, y, 0.9 * radius) for x, y, radius in discs]
    study = pair_of(tmp_path, drawn(discs), drawn(smaller), counted=True)
    assert list(counted_pairs(study)) == ["both"]
    (figure,) = particle_pair_figures(study, LOOK)
    assert figure.id == "particles-both"
    assert re.match(
        r"Median of whole particles fell from [\d.]+ to [\d.]+\s?µm, by [\d.]+\s?µm \(", figure.alt
    )
    assert "; none seen broken (up to 12\u2009% could be)." in figure.alt
    assert {row[0] for row in figure.table[1:]} == {"fresh", "used"}
    assert len(figure.table) == 1 + 60
    assert figure.narrow != figure.data
    assert figure.data.count(b"<image ") == figure.data.count(b'image-rendering="optimizeSpeed"') == 2


def test_fragments_are_told_beside_the_share_of_broken_particles(tmp_path: Path) -> None:
    """A picture full of fragments is not told as `0 % broken` alone."""
    whole = scattered(24, 6, spread=0.03)
    crumbs = [(x, y, 0.3 * r if number < 9 else r) for number, (x, y, r) in enumerate(whole)]
    (figure,) = particle_pair_figures(pair_of(tmp_path, drawn(whole), drawn(crumbs), counted=True), LOOK)
    told = r"none seen broken \(up to \d+\u2009% could be\); (nine|eight) fragments\."
    assert re.search(told, figure.alt), figure.alt


def test_no_change_is_not_told_as_one(tmp_path: Path) -> None:
    """Two pictures of one lot show no change of the median beyond chance."""
    first, second = (drawn(scattered(30, seed, spread=0.08)) for seed in (6, 9))
    (figure,) = particle_pair_figures(pair_of(tmp_path, first, second, counted=True), LOOK)
    assert "no change of the median beyond chance" in figure.alt


def test_a_pair_of_which_one_is_empty_says_so(tmp_path: Path) -> None:
    """Where one picture shows no particles nothing is compared."""
    study = pair_of(tmp_path, drawn(scattered(30, 6)), np.full((400, 500), 0.4), counted=True)
    (figure,) = particle_pair_figures(study, LOOK)
    assert figure.alt == "Nothing can be compared: no particles seen in the later picture."


def test_the_interval_of_the_broken_share_is_wilsons() -> None:
    """The ends solve (p − p̂)² = z² p (1 − p) ÷ n; Wilson 1927."""
    bitten = drawn(scattered(12, 6, spread=0.01))
    for x, y, radius in scattered(12, 6, spread=0.01)[:4]:
        bitten[int(y) : int(y + radius + 3), int(x) : int(x + radius + 3)] = 0.15
    count = count_particles(bitten, 50.0)
    found, n = broken_share(count), 12
    assert found.value == pytest.approx(100 * 4 / 12)
    z2 = stats.norm.ppf(0.975) ** 2
    for end in (found.low, found.high):
        assert end is not None
        p = end / 100
        assert (p - 4 / 12) ** 2 == pytest.approx(z2 * p * (1 - p) / n)


def test_the_interval_of_a_change_holds_the_true_one() -> None:
    """Of studies of thirty particles before and after nine in ten at least hold the true change."""
    rng, held = np.random.default_rng(8), 0
    blank = count_particles(drawn(scattered(30, 6)), 50.0)
    for _ in range(120):
        before, after = (
            replace(
                blank,
                particles=tuple(
                    replace(one, diameter_nm=float(size))
                    for one, size in zip(blank.particles, rng.normal(centre, 90, 30), strict=True)
                ),
            )
            for centre in (2200.0, 2080.0)
        )
        change = change_um(before, after)
        assert change.low is not None
        assert change.high is not None
        held += change.low <= -0.12 <= change.high
    assert held >= 0.9 * 120

"""Particles outlined and told in words, only where they were asked for."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from lyewitness.figures.particle_plots import fitted, particle_figures
from lyewitness.figures.pictures import counting_problems
from lyewitness.figures.style import look_from
from lyewitness.study.records import Study, StudyImage
from tests.figures.making import made_study
from tests.figures.test_particles import drawn, scattered

LOOK = look_from({})
TITLES = {"a": "Micrograph of S1 before use"}


def study_of(folder: Path, image: np.ndarray, asked: bool = True, nm_per_pixel: float | None = 50.0) -> Study:
    """Return a study with this grey image (0 … 1)."""
    Image.fromarray(np.rint(np.clip(image, 0, 1) * 255).astype(np.uint8)).save(folder / "a.png")
    listed = StudyImage(
        "a", "a.png", "A", kind="micrograph", nm_per_pixel=nm_per_pixel, count_particles=asked
    )
    return replace(made_study(1, 2), folder=folder, images=(listed,))


def test_the_count_is_told_with_its_failures(tmp_path: Path) -> None:
    """Words and table give the drawn discs; what was cut by the edge is said."""
    discs = [*scattered(30, 6, spread=0.03), (0.0, 200.0, 12.0)]
    (figure,) = particle_figures(study_of(tmp_path, drawn(discs)), LOOK, TITLES)
    assert figure.id == "particles-a"
    assert figure.title == "Particles: micrograph of S1 before use"
    assert "30 particles and 0 fragments measured" in figure.alt
    assert "1 cut by the edge" in figure.alt
    diameters = [float(row[3]) for row in figure.table[1:]]
    drawn_nm = sorted(2 * radius * 50.0 for _, _, radius in discs[:-1])
    assert np.allclose(sorted(diameters), drawn_nm, rtol=0.04)
    assert figure.dark != figure.data


def test_the_picture_in_it_can_go_into_an_archival_pdf(tmp_path: Path) -> None:
    """Every picture inside the drawing says that it must not be interpolated (ISO 19005-3, 6.2.8)."""
    (figure,) = particle_figures(study_of(tmp_path, drawn(scattered(10, 6))), LOOK, TITLES)
    assert figure.data.count(b"<image ") == figure.data.count(b'image-rendering="optimizeSpeed"') > 0


def test_an_empty_micrograph_says_that_there_is_nothing(tmp_path: Path) -> None:
    """Without particles there is a picture, a reason and no number."""
    (figure,) = particle_figures(study_of(tmp_path, np.full((200, 300), 0.4)), LOOK, TITLES)
    assert figure.alt.startswith("Nothing could be measured: no particles seen.")
    assert len(figure.table) == 1


def test_nothing_is_counted_unasked_or_without_a_scale(tmp_path: Path) -> None:
    """Particles are counted on demand, and only where a scale is stated."""
    image = drawn(scattered(10, 6))
    assert not particle_figures(study_of(tmp_path, image, asked=False), LOOK, TITLES)
    assert not particle_figures(study_of(tmp_path, image, nm_per_pixel=None), LOOK, TITLES)


def test_a_large_micrograph_is_counted_at_a_smaller_size(tmp_path: Path) -> None:
    """Four times the pixels give the same number of particles and the same diameters."""
    small = drawn(scattered(20, 9), noise=0.02)
    large = np.kron(small, np.ones((4, 4)))
    (figure,) = particle_figures(study_of(tmp_path, large, nm_per_pixel=12.5), LOOK, TITLES)
    (reference,) = particle_figures(study_of(tmp_path, small), LOOK, TITLES)
    sizes = [np.median([float(row[3]) for row in one.table[1:]]) for one in (figure, reference)]
    assert len(figure.table) == len(reference.table) == 21
    assert abs(sizes[0] / sizes[1] - 1) < 0.03


def test_a_tall_picture_is_drawn_no_taller_than_twice_its_place(tmp_path: Path) -> None:
    """A strip of one particle's width must not make a figure of millions of pixels; its shape is kept."""
    discs = [(50.0, 40.0 + 60 * place, 20.0) for place in range(60)]
    (figure,) = particle_figures(study_of(tmp_path, drawn(discs, (3700, 100))), LOOK, TITLES)
    assert figure.height_px <= 2 * LOOK.width_px
    assert "60 particles" in figure.alt
    wide, tall = fitted(np.zeros((3700, 100)), 500.0)
    assert tall / wide == pytest.approx(37)


def test_a_picture_too_narrow_to_count_in_is_shown_without_a_count(tmp_path: Path) -> None:
    """There is a problem with place and cure, and no figure of particles."""
    study = study_of(tmp_path, np.ones((1, 5000)))
    assert not particle_figures(study, LOOK, TITLES)
    (problem,) = counting_problems(study)
    assert problem.severity == "missing"
    assert "5000 × 1 pixels" in problem.found
    assert not tuple(counting_problems(study_of(tmp_path, np.ones((1, 5000)), asked=False)))


@pytest.mark.parametrize(("size", "radius"), [((3000, 3000), 12.0), ((300, 9000), 12.0), ((9000, 300), 12.0)])
def test_small_particles_of_a_large_picture_are_measured(
    tmp_path: Path, size: tuple[int, int], radius: float
) -> None:
    """However large or long a picture is, its particles have the size that they have in it."""
    step = 6 * radius
    y, x = np.mgrid[: size[0], : size[1]].astype(float)
    beside = np.hypot(x % step - step / 2, y % step - step / 2)
    image = 0.15 + 0.6 * np.clip(radius - beside + 0.5, 0, 1)
    (figure,) = particle_figures(study_of(tmp_path, image), LOOK, TITLES)
    diameters = [float(row[3]) for row in figure.table[1:]]
    assert len(diameters) > 100
    assert np.median(diameters) == pytest.approx(2 * radius * 50.0, rel=0.05)

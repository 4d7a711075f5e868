"""Pictures as a report publishes them."""

import io
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, TiffImagePlugin
from PIL.PngImagePlugin import PngInfo

from lyewitness.figures.pictures import (
    picture_figures,
    picture_problems,
    read_pages,
    round_length,
    with_scale_bar,
)
from lyewitness.figures.style import look_from
from lyewitness.study.records import Study, StudyImage
from lyewitness.words.numbers import length_words
from tests.figures.making import made_study

LOOK = look_from({})


def study_with(folder: Path, *images: StudyImage) -> Study:
    """Return a study in `folder` with these images."""
    return replace(made_study(1, 2), folder=folder, images=images)


def ramp(width: int = 300, height: int = 200) -> Image.Image:
    """Return a grey ramp of 8 bits."""
    return Image.fromarray(np.tile(np.linspace(0, 255, width), (height, 1)).astype(np.uint8))


def test_place_and_owner_never_reach_the_report(tmp_path: Path) -> None:
    """Coordinates, artist, serial numbers and comments of a file are gone from all that is published."""
    exif = Image.Exif()
    exif[0x013B] = "A. Owner"
    exif[0x010F] = "Secret maker"
    exif[0x8825] = {1: "N", 2: (52.0, 31.0, 12.0), 3: "E", 4: (13.0, 24.0, 36.0)}
    ramp().convert("RGB").save(tmp_path / "a.jpg", exif=exif, comment=b"private remark")
    told = PngInfo()
    told.add_text("Author", "A. Owner")
    ramp().save(tmp_path / "b.png", pnginfo=told)
    tags = TiffImagePlugin.ImageFileDirectory_v2()
    tags[315] = "A. Owner"
    ramp(1500, 300).save(tmp_path / "c.tif", tiffinfo=tags)
    images = [StudyImage(name[0], name, name, pair="p") for name in ("a.jpg", "b.png", "c.tif")]
    assert b"A. Owner" in (tmp_path / "a.jpg").read_bytes()
    for figure in picture_figures(study_with(tmp_path, *images), LOOK):
        for data in (figure.data, figure.full):
            for secret in (b"Owner", b"Secret", b"private", b"Exif"):
                assert secret not in data
        published = Image.open(io.BytesIO(figure.data))
        assert not dict(published.getexif())
        assert not {
            key for key in published.info if key not in ("jfif", "jfif_version", "jfif_unit", "jfif_density")
        }


def test_deep_grey_is_stretched(tmp_path: Path) -> None:
    """A 16-bit TIFF of few high greys shows its whole range, in order."""
    deep = (40_000 + np.tile(np.arange(256, dtype=np.uint16), (16, 1))).astype(np.uint16)
    Image.fromarray(deep).save(tmp_path / "deep.tif")
    (page,) = read_pages((tmp_path / "deep.tif").read_bytes())
    values = np.asarray(page)
    assert page.mode == "L"
    assert (values.min(), values.max()) == (0, 255)
    assert np.array_equal(values[0], np.arange(256))


@pytest.mark.parametrize("mode", ["1", "L", "P", "RGB", "RGBA", "CMYK", "LA", "I;16", "F"])
def test_every_kind_of_pixel_is_read(tmp_path: Path, mode: str) -> None:
    """Black and white, grey, palette, colour, transparency and deep grey become 8-bit pixels."""
    source = (
        Image.fromarray(np.asarray(ramp(), dtype=np.uint16) * 200) if mode == "I;16" else ramp().convert(mode)
    )
    source.save(tmp_path / "x.tif")
    (page,) = read_pages((tmp_path / "x.tif").read_bytes())
    assert page.mode in ("L", "RGB")
    assert page.size == (300, 200)


def test_a_file_of_several_pages_gives_a_figure_for_each(tmp_path: Path) -> None:
    """Each page of a TIFF is shown and says which it is."""
    ramp().save(tmp_path / "stack.tif", save_all=True, append_images=[ramp(), ramp()])
    figures = picture_figures(study_with(tmp_path, StudyImage("stack", "stack.tif", "A stack")), LOOK)
    assert [figure.id for figure in figures] == ["image-stack", "image-stack-page-2", "image-stack-page-3"]
    assert "Page 2 of 3." in figures[1].caption


def test_a_sideways_photograph_is_set_upright(tmp_path: Path) -> None:
    """The turn that a camera only notes in the file is carried out before the note is left behind."""
    exif = Image.Exif()
    exif[0x0112] = 6
    ramp(300, 200).convert("RGB").save(tmp_path / "turned.jpg", exif=exif)
    assert read_pages((tmp_path / "turned.jpg").read_bytes())[0].size == (200, 300)


def test_large_pictures_keep_their_full_resolution_aside(tmp_path: Path) -> None:
    """A picture wider than the column is shown small, and published whole beside it."""
    ramp(2000, 900).save(tmp_path / "large.png")
    (figure,) = picture_figures(study_with(tmp_path, StudyImage("large", "large.png", "Large")), LOOK)
    assert figure.width_px == LOOK.width_px
    assert Image.open(io.BytesIO(figure.full)).size == (2000, 900)
    assert figure.full_file.startswith("figures/images/image-large-full.")


def test_pairs_stand_at_one_physical_scale(tmp_path: Path) -> None:
    """A stripe of 3 µm is equally wide in both pictures of a pair, whatever their pixels."""
    for name, nm, width in (("fine", 10.0, 600), ("coarse", 25.0, 300)):
        values = np.zeros((200, width), dtype=np.uint8)
        values[:, 50 : 50 + round(3000 / nm)] = 255
        Image.fromarray(values).save(tmp_path / f"{name}.png")
    images = (
        StudyImage("fine", "fine.png", "Fine", exposure_h=0, nm_per_pixel=10.0, pair="both"),
        StudyImage("coarse", "coarse.png", "Coarse", exposure_h=9, nm_per_pixel=25.0, pair="both"),
    )
    pair = picture_figures(study_with(tmp_path, *images), LOOK)[-1]
    row = np.asarray(Image.open(io.BytesIO(pair.data)).convert("RGBA"))[40].astype(int)
    light = (row[:, 0] > 127) & (row[:, 3] > 0)
    edges = np.flatnonzero(np.diff(light.astype(int)))
    assert edges.size == 4
    assert abs((edges[1] - edges[0]) - (edges[3] - edges[2])) <= 1
    assert "at one scale" in pair.caption


def test_a_pair_without_scales_says_so(tmp_path: Path) -> None:
    """Where one picture has no scale, nothing is claimed of the scale of the pair."""
    for name in "ab":
        ramp().save(tmp_path / f"{name}.png")
    images = (
        StudyImage("a", "a.png", "A", nm_per_pixel=5.0, pair="p"),
        StudyImage("b", "b.png", "B", pair="p"),
    )
    pair = picture_figures(study_with(tmp_path, *images), LOOK)[-1]
    assert "Not at one scale" in pair.caption


def test_scale_bar_has_the_length_it_says() -> None:
    """The white bar below the picture is as many pixels long as its words say."""
    picture = Image.new("L", (400, 100), 90)
    drawn = np.asarray(with_scale_bar(picture, 25.0, LOOK))
    strip = drawn[100:]
    assert np.array_equal(drawn[:100], np.asarray(picture))
    row = strip[strip.shape[0] // 2]
    first = np.flatnonzero(row == 255)[0]
    length = np.argmin(row[first:] == 255)
    assert length == 2000 / 25


@pytest.mark.parametrize(
    ("most", "expected"), [(1999, 1000), (2000, 2000), (4999, 2000), (5000, 5000), (0.7, 0.5)]
)
def test_bar_lengths_are_round(most: float, expected: float) -> None:
    """Bars are 1, 2 or 5 times a power of ten long."""
    assert round_length(most) == pytest.approx(expected)


def test_lengths_are_written_in_the_unit_that_keeps_them_short() -> None:
    """Nanometres, micrometres, millimetres."""
    assert [length_words(nm) for nm in (500, 2000, 5e6)] == ["500\u2009nm", "2\u2009µm", "5\u2009mm"]


def test_a_broken_picture_is_a_problem_and_no_figure(tmp_path: Path) -> None:
    """A file that is no image is named with what to do, and the other pictures are drawn."""
    (tmp_path / "broken.png").write_bytes(b"\x89PNG\r\n\x1a\nnothing")
    ramp().save(tmp_path / "good.png")
    study = study_with(tmp_path, StudyImage("broken", "broken.png", "B"), StudyImage("good", "good.png", "G"))
    (problem,) = picture_problems(study)
    assert problem.file == "broken.png"
    assert str(tmp_path) not in str(problem)
    assert [figure.id for figure in picture_figures(study, LOOK)] == ["image-good"]


def test_only_the_three_kinds_are_decoded(tmp_path: Path) -> None:
    """A file that holds PostScript or a GIF is refused by its content, whatever its name says."""
    (tmp_path / "x.png").write_bytes(b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\nshowpage\n")
    Image.new("L", (9, 9)).save(tmp_path / "gif.png", "GIF")
    for name in ("x.png", "gif.png"):
        with pytest.raises(ValueError, match="another kind"):
            read_pages((tmp_path / name).read_bytes())


@pytest.mark.parametrize("size", [(9000, 9000), (40_000, 1), (1, 40_000)])
def test_what_is_too_large_is_refused_before_it_is_decoded(tmp_path: Path, size: tuple[int, int]) -> None:
    """81 million pixels, or a side that no browser draws, are told with their size."""
    Image.new("1", size).save(tmp_path / "large.png")
    with pytest.raises(ValueError, match=f"{size[0]} × {size[1]} pixels"):
        read_pages((tmp_path / "large.png").read_bytes())


def test_a_stack_is_shown_as_far_as_its_pixels_can_be_held(tmp_path: Path) -> None:
    """Of three pages of 16 million pixels two are shown."""
    pages = [Image.new("1", (4000, 4000)) for _ in range(3)]
    pages[0].save(tmp_path / "stack.tif", save_all=True, append_images=pages[1:])
    assert len(read_pages((tmp_path / "stack.tif").read_bytes())) == 2


def test_a_picture_is_headed_by_what_it_shows(tmp_path: Path) -> None:
    """Kind, column and time head a picture; its id only tells two apart that would be headed alike."""
    images = []
    for name, column, hours in (
        ("x-1", "S1", 0.0),
        ("x-2", "S1", 96.0),
        ("x-3", "", None),
        ("x-4", "", None),
    ):
        ramp().save(tmp_path / f"{name}.png")
        images.append(
            StudyImage(name, f"{name}.png", "A frit.", column=column, exposure_h=hours, kind="micrograph")
        )
    titles = [
        figure.title.replace("\u2009", " ") for figure in picture_figures(study_with(tmp_path, *images), LOOK)
    ]
    assert titles == [
        "Micrograph of S1 before use", "Micrograph of S1 after 96 h", "Micrograph (x-3)", "Micrograph (x-4)",
    ]  # fmt: skip

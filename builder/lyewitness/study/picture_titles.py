"""What heads a picture of the study: what it shows and when it was taken, not its file.

In: `StudyImage`s. Out: words.
"""

from collections import Counter
from collections.abc import Sequence

from lyewitness.study.records import StudyImage
from lyewitness.words.phrases import exposure

SORTS = {"micrograph": "Micrograph", "photograph": "Photograph", "spectrum": "Spectrum", "other": "Picture"}
"""Kinds of pictures as they stand at the head of one."""


def picture_titles(images: Sequence[StudyImage]) -> dict[str, str]:
    """Return `Micrograph of S1 after 96 h` by id; what would be headed alike is told apart by its id."""
    titles = {image.id: _title(image) for image in images}
    often = Counter(titles.values())
    return {name: f"{title} ({name})" if often[title] > 1 else title for name, title in titles.items()}


def _title(image: StudyImage) -> str:
    of = f" of {image.column}" if image.column else ""
    if image.exposure_h is None:
        return f"{SORTS[image.kind]}{of}"
    when = f"after {exposure(image.exposure_h)}" if image.exposure_h else "before use"
    return f"{SORTS[image.kind]}{of} {when}"

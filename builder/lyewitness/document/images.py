"""The pictures of a study: each once, those that belong together beside or on each other.

In: `Edition`. Out: `Part`s.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from lyewitness.document.blocks import (
    Abreast,
    Beside,
    Block,
    Facts,
    FigureBlock,
    Paired,
    Part,
    Prose,
    Section,
    Shown,
    Strong,
    Words,
)
from lyewitness.document.edition import Edition
from lyewitness.document.tables import facts_of
from lyewitness.figures.records import Laid
from lyewitness.study.picture_titles import picture_titles
from lyewitness.study.records import StudyImage
from lyewitness.words.names import slug
from lyewitness.words.numbers import fixed, length_words
from lyewitness.words.phrases import exposure, sentence, sentences_of

SCRIPT = "theme/pictures.js"
FINDING = 1
"""Sentences of a caption of counted particles that tell what was found; what follows says how."""


def on_screen(edition: Edition) -> Iterator[Part]:
    """Yield the study's images with their captions, and the figures made of them."""
    path, images = edition.page("images"), edition.report.study.images
    blocks = tuple(_pictures(edition))
    yield Part(
        key="images",
        path=path,
        title=edition.say("images.title"),
        blocks=(Prose((edition.say("images.lead" if images else "images.none"),), "lead"), *blocks),
        scripts=(SCRIPT,) if any(isinstance(one, Paired) and one.moved for one in blocks) else (),
    )


def _pictures(edition: Edition) -> Iterator[Block]:
    """Yield each picture once: those that belong together where the first of them is listed."""
    of_pair = {image: name for name, laid in edition.laid.items() for image in laid.images}
    told: set[str] = set()
    for image in edition.report.study.images:
        name = of_pair.get(image.id, "")
        if not name:
            yield _alone(edition, image)
        elif name not in told:
            told.add(name)
            yield from _together(edition, name, edition.laid[name])


def _together(edition: Edition, name: str, laid: Laid) -> Iterator[Block]:
    """Yield pictures that belong together, then what was measured on them."""
    images = {image.id: image for image in edition.report.study.images}
    shown = tuple(
        _shown(edition, images[image], edition.figures[single])
        for image, single in zip(laid.images, laid.figures, strict=True)
        if single in edition.figures
    )
    moved = "" if laid.moved is None else " ".join(f"{100 * share:.2f}" for share in laid.moved)
    yield Paired(edition.figures[name], shown, laid.alike, moved, _how(edition, laid))
    views = {one.view for one in shown}
    if measured := edition.figure(f"particles-{name.removeprefix('pair-')}"):
        # The same pictures again, outlined: what was found is told, the outlines are a click away.
        told = " ".join(sentences_of(measured.caption)[:FINDING])
        yield Section(edition.say("images.counted", told=told), (measured,), folded=True)
    for image in laid.images:
        yield from (view for view in _figures_of(edition, images[image]) if view not in views)


def _how(edition: Edition, laid: Laid) -> str:
    """Say why pictures lie on each other, or that they stand side by side."""
    if laid.correlation is not None:
        return edition.say("images.one_place", r=fixed(laid.correlation, 2))
    way = "stated" if laid.moved else "side_by_side" if laid.alike else "one_scale"
    return edition.say(f"images.{way}")


def _shown(edition: Edition, image: StudyImage, view: FigureBlock) -> Shown:
    """Return one of the pictures that belong together, with what is known of it."""
    anchor = edition.addresses.anchor("image", image.id)
    return Shown(anchor, view, _of_column(edition, image), facts_of(edition, _known_of(image, "")))


def _figures_of(edition: Edition, image: StudyImage) -> tuple[FigureBlock, ...]:
    """Return a picture as published, page by page, and what was measured on it."""
    name = slug(image.id)
    return tuple(
        view
        for one, view in edition.figures.items()
        if one in (f"image-{name}", f"particles-{name}") or one.startswith(f"image-{name}-page-")
    )


def _known_of(image: StudyImage, pair: str) -> dict[str, str]:
    """Return what is known of a picture, by the keys of the theme's words."""
    return {
        "kind": image.kind,
        "exposure": exposure(image.exposure_h) if image.exposure_h is not None else "",
        "scale": length_words(image.nm_per_pixel) if image.nm_per_pixel else "",
        "pair": pair,
        "file": image.file,
    }


def _alone(edition: Edition, image: StudyImage) -> Section:
    """Return one picture with what is known of it."""
    told = _known_of(image, image.pair)
    title = picture_titles(edition.report.study.images)[image.id]
    figures = tuple(replace(one, headed=one.title == title) for one in _figures_of(edition, image))
    words = f"{'' if figures else _unseen(edition, image)} ".lstrip()
    beside = Beside((words, *_of_column(edition, image)), (Facts(facts_of(edition, told)),))
    anchor = edition.addresses.anchor("image", image.id)
    return Section(title, (*figures, beside), anchor, anchored=True)


def _unseen(edition: Edition, image: StudyImage) -> str:
    """Return the caption of a picture that is not shown, and why it is not."""
    found = next((one for one in edition.report.problems if one.file == image.file), None)
    why = edition.say("images.not_shown", found=found.found, cure=found.cure) if found else ""
    return f"{sentence(image.caption) if image.caption else ''} {why}".strip()


def _of_column(edition: Edition, image: StudyImage) -> Words:
    if not image.column:
        return ()
    link = edition.link("column", image.column, edition.report.study.column(image.column).label)
    return (f"{edition.say('images.of_column')} ", link, ".")


def on_paper(edition: Edition) -> Iterator[Part]:
    """Yield every picture of the study once: those that belong together in one, others by themselves."""
    pairs = {name: view for name, view in edition.figures.items() if name.startswith("pair-")}
    measured = _measured(edition, tuple(pairs))
    alone = [image for image in edition.report.study.images if f"pair-{slug(image.pair)}" not in pairs]
    views = [(image, edition.figure(f"image-{slug(image.id)}")) for image in alone]
    shown = (
        *(view for name, view in pairs.items() if name not in measured),
        *(view for _, view in views if view is not None),
    )
    titles = picture_titles(edition.report.study.images)
    unseen = [
        Prose((Strong(f"{titles[image.id]}."), f" {_unseen(edition, image)}"), "sentence")
        for image, view in views
        if view is None
    ]
    if shown or measured or unseen:
        yield Part(
            key="images",
            path=edition.page("images"),
            title=edition.say("images.title"),
            blocks=(
                Prose((edition.say("images.lead"),), "lead"),
                *measured.values(),
                Abreast(shown, "of-2"),
                *unseen,
            ),
        )


def _measured(edition: Edition, pairs: Sequence[str]) -> dict[str, FigureBlock]:
    """Return pictures with their particles outlined and measured, by the pair that they stand for."""
    images = edition.report.study.images
    found: dict[str, FigureBlock] = {}
    for pair in pairs:
        view, of_pair = edition.figure(f"particles-{pair.removeprefix('pair-')}"), edition.laid[pair].images
        if view is None or len(of_pair) > 2:
            continue
        first, last = (one for one in images if one.id in of_pair)
        told = f"Left: {sentence(first.caption)} Right: {sentence(last.caption)}"
        # What outlines and columns mean is the same for all of them, and is said below the first.
        found[pair] = replace(view, caption=f"{told} {view.alt if found else view.caption}")
    return found

"""Every page of a report is there, its links lead somewhere, and nothing in it runs or fetches."""

import json
import re
from dataclasses import replace
from functools import cache
from itertools import pairwise
from posixpath import dirname, join, normpath
from urllib.parse import unquote, urlsplit
from xml.etree.ElementTree import Element

import html5lib
import pytest

from lyewitness.document.parts import document_of
from lyewitness.document.themes import Theme, load_theme
from lyewitness.findings.records import Report
from lyewitness.outputs.pages import COVER, site_pages, symbols
from lyewitness.outputs.templates import hyphenable, kept_together, numbered_whole
from lyewitness.pipeline import Rendered
from lyewitness.shipped import shipped_folder
from lyewitness.words.names import slug

FRONT_PAGE_BYTES = 400_000


@cache
def parsed(text: str) -> Element:
    """Return the tree of a page, read as a browser reads it; all of a report take four seconds."""
    tree: Element = html5lib.parse(text, namespaceHTMLElements=False)
    return tree


def linked(text: str) -> tuple[set[str], set[str]]:
    """Return (anchors of a page, everything it links to or loads)."""
    elements = list(parsed(text).iter())
    ids = [value for element in elements if (value := element.get("id"))]
    assert len(ids) == len(set(ids)), "an anchor stands twice on the page"
    names = ("href", "src", "srcset", "data-script")
    wanted = {value for element in elements for name in names if (value := element.get(name))}
    return set(ids), wanted


def test_no_link_is_dead(rendered: Rendered, example_pages: dict[str, str]) -> None:
    """Every link, picture, script and fragment of every page leads to a file or an anchor of the report."""
    anchors = {path: linked(text)[0] for path, text in example_pages.items()}
    dead = []
    for path, text in example_pages.items():
        for link in linked(text)[1]:
            parts = urlsplit(link)
            assert not parts.scheme, f"{path} leads out of the report: {link}"
            target = normpath(join(dirname(path), unquote(parts.path))) if parts.path else path
            place = "" if "=" in parts.fragment else unquote(parts.fragment)
            if target not in rendered.files or (place and place not in anchors[target]):
                dead.append((path, link))
    assert not dead


def test_every_page_can_be_reached_from_the_front(example_pages: dict[str, str]) -> None:
    """Following links from the front page leads to every page."""
    reached, waiting = {"index.html"}, ["index.html"]
    while waiting:
        path = waiting.pop()
        for link in linked(example_pages[path])[1]:
            target = normpath(join(dirname(path), unquote(urlsplit(link).path)))
            if target in example_pages and target not in reached:
                reached.add(target)
                waiting.append(target)
    assert reached == set(example_pages)


def test_everything_a_claim_rests_on_is_linked_beside_it(
    example: Report, rendered: Rendered, example_pages: dict[str, str]
) -> None:
    """Each reason of each claim is one click away from the claim, and the link names it."""
    addresses = rendered.document.edition.addresses
    for answer, path in zip(example.findings.answers, answer_paths(example_pages), strict=True):
        places = {element.get("id"): element for element in parsed(example_pages[path]).iter()}
        numbers = {claim.id: str(place) for place, claim in enumerate(answer.claims, start=1)}
        for claim in (*answer.claims, *answer.recommendations, *answer.next_experiments):
            beside: dict[str, list[str]] = {}
            for link in places[addresses.anchor("claim", claim.id)].iter("a"):
                # A figure that stands beside the claim bears links to itself, too.
                target = normpath(join(dirname(path), link.get("href", "")))
                # A name with a plus is one name, at which no line breaks.
                beside.setdefault(target, []).append("".join(link.itertext()).replace("\u00a0", " "))
            for because in claim.because:
                # How plates are counted is told once a page.
                label = because.label.replace(" (half height)", "")
                named = numbers.get(because.target, label.partition(",")[0])
                if because.kind == "image":
                    # A picture is named by what it shows, and when: `S1 after 96 h`.
                    named = because.target.partition("-")[0]
                found = beside[addresses.of(because.kind, because.target)]
                assert any(
                    words.casefold() in label.casefold() or named in words or words in because.target
                    for words in found
                ), (found, because)


def test_what_links_share_is_said_once(example_pages: dict[str, str]) -> None:
    """The lives of a group's columns stand together, without the metric that decides the page."""
    claim = next(
        element
        for element in parsed(example_pages["index.html"]).iter()
        if (element.get("id") or "").startswith("claim-q1-life-polymer")
    )
    words = " ".join("".join(claim.itertext()).split()).replace("\u202f", " ")
    assert "P1 at least 96 h, P2 at least 96 h, P3 at least 96 h" in words


def answer_paths(pages: dict[str, str]) -> list[str]:
    """Return the pages of the answers, the front page first, in the order of the questions."""
    tree = parsed(pages["index.html"])
    others = {link.get("href", "") for link in tree.iter("a") if link.get("href", "").startswith("answers/")}
    return ["index.html", *sorted(others)]


@pytest.mark.parametrize("kind", ["columns", "markers", "injections", "notes"])
def test_everything_in_the_study_has_its_page(
    example: Report, example_pages: dict[str, str], kind: str
) -> None:
    """Columns, markers, injections and notes have a page each, and an index."""
    things = getattr(example.study, kind)
    wanted = {f"{kind}/index.html", *(f"{kind}/{slug(thing.id)}.html" for thing in things)}
    assert {path for path in example_pages if path.startswith(f"{kind}/")} == wanted


def test_what_is_left_out_is_struck_with_its_reason(example: Report, example_pages: dict[str, str]) -> None:
    """An injection that is not used is struck through in the tables and says why there and on its page."""
    left_out = [injection for injection in example.study.injections if not injection.used]
    assert left_out
    for injection in left_out:
        rows = [
            row
            for row in parsed(example_pages["injections/index.html"]).iter("tr")
            if injection.id in {"".join(struck.itertext()).strip() for struck in row.iter("s")}
        ]
        assert len(rows) == 1
        assert injection.why in "".join(rows[0].itertext())
        assert injection.why in example_pages[f"injections/{slug(injection.id)}.html"]


def test_every_page_says_that_the_study_is_invented(example: Report, example_pages: dict[str, str]) -> None:
    """The sentence that the study is invented stands on every page."""
    assert example.study.invented
    assert all(example.study.invented in text for text in example_pages.values())


def test_nothing_in_a_page_runs_or_fetches(example_pages: dict[str, str]) -> None:
    """Each page forbids all but its own files, before it loads any, and holds no inline script or style."""
    for path, text in example_pages.items():
        tree = parsed(text)
        head = next(tree.iter("head"))
        order = [child.tag for child in head if child.get("charset") is None]
        policy = next(tree.iter("meta"), None)
        metas = [meta for meta in tree.iter("meta") if meta.get("http-equiv") == "Content-Security-Policy"]
        assert policy is not None, path
        assert len(metas) == 1, path
        assert "default-src 'none'; script-src 'self'; style-src 'self'" in metas[0].get("content", ""), path
        assert order[0] == "meta", f"{path} loads something before its policy"
        for element in tree.iter():
            assert element.get("style") is None, path
            assert not [name for name in element.attrib if name.startswith("on")], path
            if element.tag == "script" and element.get("src") is None:
                assert element.get("type") in ("application/json", "application/ld+json"), path
            assert element.tag != "style", path


def test_every_page_says_to_machines_what_it_is(example: Report, example_pages: dict[str, str]) -> None:
    """The front page is a schema.org data set with people, licence and tables, every other a page of it."""
    told = {
        path: json.loads(element.text or "")
        for path, text in example_pages.items()
        for element in parsed(text).iter("script")
        if element.get("type") == "application/ld+json"
    }
    assert told.keys() == {path for path in example_pages if path.endswith(".html")}
    front = told.pop("index.html")
    assert (front["@context"], front["@type"]) == ("https://schema.org", "Dataset")
    assert (front["identifier"], front["name"]) == (example.study.id, example.study.title)
    assert [one["name"] for one in front["creator"]] == [one.name for one in example.study.people]
    assert front["license"].endswith(example.study.licence)
    assert front["distribution"]["contentUrl"] == "data/datapackage.json"
    assert {one["@type"] for one in told.values()} == {"WebPage"}
    assert {one["isPartOf"]["identifier"] for one in told.values()} == {example.study.id}


def test_words_of_a_study_cannot_end_the_data_for_machines(example: Report, daylight: Theme) -> None:
    """A title with the end of a script in it stays a title."""
    title = "</script><script>alert(1)</script> & <!-- more"
    hostile = replace(example, study=replace(example.study, title=title, notes=()))
    text = site_pages(document_of(hostile, (), daylight))[0].text
    held = [one for one in parsed(text).iter("script") if one.get("type") == "application/ld+json"]
    assert [json.loads(one.text or "")["name"] for one in held] == [title]
    assert all(one.get("src") or one.get("type") for one in parsed(text).iter("script"))
    assert len(held) == 1


def test_headings_go_down_by_one(example_pages: dict[str, str]) -> None:
    """Each page has one first heading, and no level is skipped on the way down."""
    for path, text in example_pages.items():
        levels = [int(element.tag[1]) for element in parsed(text).iter() if element.tag in HEADINGS]
        assert levels.count(1) == 1, path
        assert all(below - above <= 1 for above, below in pairwise(levels)), path


HEADINGS = ("h1", "h2", "h3", "h4", "h5", "h6")


def test_the_front_page_is_light(rendered: Rendered) -> None:
    """The front page with all that it loads at once stays below 400 kB."""
    tree = parsed(rendered.files["index.html"].decode())
    loaded = {element.get("href") for element in tree.iter("link")}
    loaded |= {element.get("src") for element in tree.iter("script") if element.get("src")}
    loaded |= {image.get("src") for image in tree.iter("img") if image.get("loading") != "lazy"}
    size = sum(len(rendered.files[name]) for name in (*filter(None, loaded), "index.html"))
    assert size < FRONT_PAGE_BYTES


def test_the_site_is_small_enough_to_keep(example: Report, rendered: Rendered) -> None:
    """With 200 injections, by what each of the example's takes, the site is no larger than 15 MB."""
    injections = len(example.study.injections)
    own = ("injections/", "data/traces/", "figures/traces/", "data/figures/trace-")
    taken = sum(len(data) for name, data in rendered.files.items() if name.startswith(own)) / injections
    size = sum(len(data) for data in rendered.files.values())
    assert size + taken * (200 - injections) <= 15_000_000


def test_what_is_no_curve_is_not_called_its_data(example_pages: dict[str, str]) -> None:
    """An injection's trace has the limits of its peaks, by that name; its points are in the viewer."""
    page = parsed(example_pages["injections/S3-11.html"])
    figure = next(one for one in page.iter("figure"))
    ways = {one.text: one.get("href") for one in figure.iter("a")}
    assert ways["peak limits"] == "../data/figures/trace-S3-11.csv"
    assert "data" not in ways
    assert any("save its points" in (one.text or "") for one in page.iter("a"))


def test_the_contents_say_what_pages_are_once(rendered: Rendered) -> None:
    """Below 'injections' each one stands by its own name: 180 times 'Injection' is a wall."""
    main = parsed(rendered.files["search.html"].decode()).find(".//main")
    assert main is not None
    labels = ["".join(link.itertext()) for link in main.iter("a")]
    assert "S1-01" in labels
    assert not [label for label in labels if label.startswith(("Injection ", "Column ", "Marker "))]


def test_a_second_run_gives_the_same_bytes(example: Report, rendered: Rendered) -> None:
    """Rendering the same records again gives the same pages, to the byte."""
    again = site_pages(document_of(example, rendered.figures, load_theme("daylight")))
    assert all(rendered.files[page.path] == page.text.encode() for page in again)


def test_shipped_templates_use_the_cover_of_a_study_alone() -> None:
    """A page is kept by its part and the study's cover, so no shipped template may use more of the study."""
    for template in shipped_folder("themes").glob("*/templates/*.html"):
        used = re.findall(r"\bstudy\.(\w+)", template.read_text(encoding="utf-8"))
        assert set(used) <= set(COVER), template


@pytest.mark.parametrize(
    ("plain", "set_so"),
    [
        ("(tR − t0) ÷ t0", "(<i>t</i><sub>R</sub> − <i>t</i><sub>0</sub>) ÷ <i>t</i><sub>0</sub>"),
        ("5.54 (tR ÷ W0.5)²", "5.54 (<i>t</i><sub>R</sub> ÷ <i>W</i><sub>0.5</sub>)²"),
        ("tR,2 < dp", "<i>t</i><sub>R,2</sub> &lt; <i>d</i><sub>p</sub>"),
        ("the start at T0", "the start at T0"),
    ],
)
def test_symbols_are_set_as_such(plain: str, set_so: str) -> None:
    """Quantities stand in italics with their indices low; other words stay, and nothing becomes markup."""
    assert symbols(plain) == set_so


def test_an_interval_stays_on_one_line() -> None:
    """No line ends within `(3.8 to 4.6)`; one of words, or longer than a line of a phone holds, may break."""
    assert kept_together("4.2 EUR (3.8 to 4.6)") == "4.2 EUR (3.8\u00a0to\u00a04.6)"
    assert kept_together("33 h (30 to 36)") == "33\u202fh (30\u00a0to\u00a036)"
    for free in ("(anywhere from 0.1 to 3)", "(10 000 000 to 20 000 000)", "30 to 36", "go to (3)"):
        assert kept_together(free) == free


def test_no_line_breaks_before_the_number_of_an_injection() -> None:
    """`G1-` above `18` is no name; where no markup can stand, and in other words, nothing changes."""
    said = '<main><p>Counted: <a href="g1-18.html">G1-18</a> (G3-11), two-fold, 2026-05-06.</p>'
    told = numbered_whole(said)
    assert re.findall(r'<span class="whole">([^<]*)</span>', told) == ["G1-18", "G3-11"]
    assert re.sub(r"</?span[^>]*>", "", told) == said
    plain = "<title>G1-18</title><main><option>G1-18</option><svg><text>G1-18</text></svg>"
    assert numbered_whole(plain) == plain


def test_a_long_name_in_a_head_breaks_between_its_groups() -> None:
    """A narrow column does not cut `dimethylbenzyl|amine` where it likes; short names stay as they are."""
    assert (
        hyphenable("plate number (dimethylbenzylamine)") == "plate number (dimethyl\u00adbenzyl\u00adamine)"
    )
    assert hyphenable("butylbenzene") == "butylbenzene"

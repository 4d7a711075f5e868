"""The description of a bag is held against the shapes that RO-Crate's validator brings along.

The validator fetches the JSON-LD context, which a test must not do: it is given one here in which every word
that RO-Crate takes from schema.org stands for itself. What it says of RO-Crate 1.2 is tested as it is; of the
Process Run profile one requirement is left out, by which the descriptor must name RO-Crate 1.1, against what
1.2 says of itself.
"""

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from lyewitness.cli import main
from lyewitness.rehearsal.scenario import small_scenario
from lyewitness.rehearsal.writing import write_study

SCHEMA = "http://schema.org/"
OTHERS = {
    "File": f"{SCHEMA}MediaObject",
    "conformsTo": "http://purl.org/dc/terms/conformsTo",
    "Profile": "http://www.w3.org/ns/dx/prof/Profile",
    "sha512": "https://w3id.org/ro/terms/workflow-run#sha512",
}
"""Words that RO-Crate does not take from schema.org, or gives another name."""
WANTS_AN_OLDER_CRATE = "ro-crate-1.1_5.3"


def context_of(crate: Mapping[str, list[dict[str, object]]]) -> bytes:
    """Return a context in which every key and type of the crate is a word of schema.org, but for `OTHERS`."""
    words = {key for entity in crate["@graph"] for key in entity if not key.startswith("@")}
    for entity in crate["@graph"]:
        kinds = entity["@type"]
        words |= {kinds} if isinstance(kinds, str) else set(kinds if isinstance(kinds, list) else ())
    return json.dumps({"@context": {**{word: SCHEMA + word for word in sorted(words)}, **OTHERS}}).encode()


@pytest.fixture(scope="module")
def bag(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the bag of a small study."""
    folder = tmp_path_factory.mktemp("described")
    write_study(small_scenario(), folder / "study")
    words = ["archive", str(folder / "study"), "--into", str(folder / "bag"), "--no-pdf"]
    assert main(["--quiet", *words, "--date", "2026-03-09"]) == 0
    return folder / "bag"


def parse_each_query_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the shapes' few queries be read once: each is asked of every entity, and reading takes 0.2 s."""
    from rdflib.plugins.sparql import processor

    parse, translate = (getattr(processor, name) for name in ("parseQuery", "translateQuery"))
    known: dict[object, Any] = {}

    def translated(text: str, base: str | None = None, names: Mapping[str, Any] | None = None) -> Any:
        key = (text, base, tuple(sorted((names or {}).items())))
        if key not in known:
            known[key] = translate(parse(text), base, names)
        return known[key]

    monkeypatch.setattr(processor, "parseQuery", lambda text: text)
    monkeypatch.setattr(processor, "translateQuery", translated)


def complaints(folder: Path, profile: str, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Return what the validator finds that the profile requires, without the network."""
    http = pytest.importorskip("rocrate_validator.utils.http")
    from requests.models import Response
    from rocrate_validator import services
    from rocrate_validator.models import Severity, ValidationSettings

    body = context_of(json.loads((folder / "ro-crate-metadata.json").read_bytes()))

    def given(self: object, url: str, *rest: object, **more: object) -> Response:
        answer = Response()
        answer.status_code, answer._content, answer.url = 200, body, url
        answer.headers["Content-Type"] = "application/ld+json"
        return answer

    for way in ("get", "head", "fetch"):
        monkeypatch.setattr(http.HttpRequester, way, given, raising=False)
    parse_each_query_once(monkeypatch)
    found = services.validate(
        ValidationSettings(
            rocrate_uri=str(folder), profile_identifier=profile, requirement_severity=Severity.REQUIRED
        )
    )
    return [f"{one.check.identifier}: {one.message}" for one in found.get_issues(Severity.REQUIRED)]


@pytest.mark.slow
@pytest.mark.parametrize("profile", ["ro-crate-1.2", "process-run-crate-0.5"])
def test_nothing_that_is_required_is_missing(
    bag: Path, profile: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """RO-Crate 1.2 and Process Run 0.5 find everything that they require."""
    found = complaints(bag / "data", profile, monkeypatch)
    assert [one for one in found if not one.startswith(WANTS_AN_OLDER_CRATE)] == []


def test_a_crate_without_its_day_is_not_valid(bag: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The validator is not idle: what RO-Crate requires of the whole is missed where it is gone."""
    path = bag / "data/ro-crate-metadata.json"
    kept = path.read_bytes()
    crate = json.loads(kept)
    root = next(one for one in crate["@graph"] if one["@id"] == "./")
    del root["datePublished"]
    try:
        path.write_text(json.dumps(crate), encoding="utf-8")
        found = complaints(bag / "data", "process-run-crate-0.5", monkeypatch)
        assert [one for one in found if not one.startswith(WANTS_AN_OLDER_CRATE)]
    finally:
        path.write_bytes(kept)

"""The description of a bag's payload: an RO-Crate 1.2 with the run as a Process Run Crate.

In: the study, what a report says of its provenance, the files of the payload. Out: `ro-crate-metadata.json`,
the same for the same payload and date, and a README for a stranger who has none of our software.
"""

import hashlib
import json
import mimetypes
import posixpath
from collections.abc import Iterator, Mapping
from datetime import date
from urllib.parse import quote

from lyewitness.study.records import Column, Person, Study
from lyewitness.words.names import slugs

METADATA = "ro-crate-metadata.json"
README = "README.md"
MADE = ("report/", "traces/")
"""Where the payload keeps what was made from the study."""
_CONTEXT = "https://w3id.org/ro/crate/1.2/context"
_CRATE = "https://w3id.org/ro/crate/1.2"
_PROCESS = "https://w3id.org/ro/wfrun/process/0.5"
_TERMS = {"sha512": "https://w3id.org/ro/terms/workflow-run#sha512"}
_HOMES = {
    "python": "https://www.python.org",
    "numpy": "https://numpy.org",
    "scipy": "https://scipy.org",
    "matplotlib": "https://matplotlib.org",
    "jinja2": "https://jinja.palletsprojects.com",
    "markdown-it-py": "https://markdown-it-py.readthedocs.io",
    "weasyprint": "https://weasyprint.org",
    "pillow": "https://python-pillow.org",
}
"""Where each library tells of itself."""
_SIZES = (
    ("length_mm", "length of the bed", "mm", "MMT"),
    ("inner_diameter_mm", "inner diameter of the bed", "mm", "MMT"),
    ("particle_um", "diameter of the particles", "µm", "4H"),
)
"""Field of a column, its words, unit, and the unit's code after UN/CEFACT Recommendation 20."""
_TYPES = {
    ".csv": "text/csv",
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    ".md": "text/markdown",
    ".toml": "application/toml",
    ".cdf": "application/x-netcdf",
    ".gz": "application/gzip",
}
"""The system's own tables of media types differ from machine to machine; these are ours in any case."""
_UNSPECIFIED = "#no-licence"
Entity = dict[str, object]


def metadata(
    study: Study, provenance: Mapping[str, object], payload: Mapping[str, bytes], bagged_on: date
) -> bytes:
    """Return the metadata document; `payload` is by path below the root of the crate, without it."""
    graph = [
        _descriptor(),
        _root(study, payload, bagged_on),
        {"@id": "#identifier", "@type": "PropertyValue", "name": "id of the study", "value": study.id},
        *_licence(study),
        *(_person(person) for person in study.people),
        *_columns(study),
        *(one for column in study.columns for one in _properties(study, column)),
        *_acquisition(study, payload),
        *_software(provenance),
        _run(study, payload, bagged_on),
        *_settings(provenance),
        {
            "@id": _PROCESS,
            "@type": ["CreativeWork", "Profile"],
            "name": "Process Run Crate",
            "version": "0.5",
        },
        *_files(payload),
    ]
    content = {"@context": [_CONTEXT, _TERMS], "@graph": graph}
    return (json.dumps(content, ensure_ascii=False, indent=1) + "\n").encode("utf-8")


def address(name: str) -> str:
    """Return a path as the id of a file in the crate."""
    return quote(name, safe="/-._~()+,=@!$&'*;")


def _descriptor() -> Entity:
    return {
        "@id": METADATA,
        "@type": "CreativeWork",
        "about": {"@id": "./"},
        "conformsTo": {"@id": _CRATE},
    }


def _root(study: Study, payload: Mapping[str, bytes], bagged_on: date) -> Entity:
    issued = study.revisions[-1].date if study.revisions else bagged_on
    question = study.questions[0].text if study.questions else ""
    told = " ".join(part for part in (question, study.invented) if part)
    extra: Entity = {}
    if study.people:
        extra["author"] = [{"@id": _person_id(person)} for person in study.people]
    if study.keywords:
        extra["keywords"] = ", ".join(study.keywords)
    if study.revisions:
        extra["version"] = str(study.revisions[-1].number)
    return {
        "@id": "./",
        "@type": "Dataset",
        "conformsTo": {"@id": _PROCESS},
        "identifier": {"@id": "#identifier"},
        "name": study.title or study.id,
        "description": told or study.title or study.id,
        "datePublished": issued.isoformat(),
        "license": {"@id": _licence_id(study)},
        **extra,
        "mentions": [
            {"@id": "#run"},
            {"@id": "#injections"},
            *({"@id": one["@id"]} for one in _columns(study)),
        ],
        "hasPart": [{"@id": address(name)} for name in sorted(payload)],
    }


def _licence_id(study: Study) -> str:
    return f"https://spdx.org/licenses/{study.licence}" if study.licence else _UNSPECIFIED


def _licence(study: Study) -> Iterator[Entity]:
    stated = study.licence
    yield {
        "@id": _licence_id(study),
        "@type": "CreativeWork",
        "name": stated or "No licence stated",
        "description": f"SPDX licence {stated}"
        if stated
        else "The study states no licence: ask its authors before anything is used again.",
    }


def _person_id(person: Person) -> str:
    """Return the ORCID's address, checked by its checksum when the study was read, or a name of ours."""
    return f"https://orcid.org/{person.orcid}" if person.orcid else f"#person-{address(person.name)}"


def _person(person: Person) -> Entity:
    role = {"jobTitle": person.role} if person.role else {}
    return {"@id": _person_id(person), "@type": "Person", "name": person.name, **role}


def _columns(study: Study) -> list[Entity]:
    """Return each column as a thing of its own, with lot and serial number."""
    named = slugs(column.id for column in study.columns)
    found: list[Entity] = []
    for column in study.columns:
        told: Entity = {
            "@id": f"#column-{named[column.id]}",
            "@type": "IndividualProduct",
            "name": column.label or column.id,
            "identifier": column.id,
            "category": column.group,
            "material": column.particle,
            "additionalProperty": [{"@id": one["@id"]} for one in _properties(study, column)],
        }
        for key, value in (
            ("productID", column.lot),
            ("serialNumber", column.serial),
        ):
            if value:
                told[key] = value
        found.append(told)
    return found


def _properties(study: Study, column: Column) -> Iterator[Entity]:
    """Yield what else is known of a column: what is bonded to its particles, and its measures."""
    name = slugs(one.id for one in study.columns)[column.id]
    if column.bonding:
        yield {
            "@id": f"#column-{name}-bonding", "@type": "PropertyValue", "name": "bonded phase",
            "value": column.bonding,
        }  # fmt: skip
    for key, words, unit, code in _SIZES:
        value = getattr(column, key)
        if value is not None:
            yield {
                "@id": f"#column-{name}-{key.replace('_', '-')}", "@type": "PropertyValue", "name": words,
                "value": value, "unitText": unit, "unitCode": code,
            }  # fmt: skip


def _acquisition(study: Study, payload: Mapping[str, bytes]) -> Iterator[Entity]:
    """Yield the injections on the columns and the instrument, of which a study names the settings alone."""
    wavelength = study.test.wavelength_nm
    detection = f", absorbance read at {wavelength:g} nm" if wavelength is not None else ""
    yield {
        "@id": "#instrument",
        "@type": "IndividualProduct",
        "name": "Liquid chromatograph",
        "description": f"The instrument of the exports; the study does not name it{detection}.",
    }
    exports = [name for name in sorted(payload) if name.startswith("study/chromatograms/")]
    yield {
        "@id": "#injections",
        "@type": "Action",
        "name": "Injecting the markers on the columns under stress",
        "instrument": {"@id": "#instrument"},
        "object": [{"@id": one["@id"]} for one in _columns(study)],
        "result": [{"@id": address(name)} for name in exports],
    }


def _software(provenance: Mapping[str, object]) -> Iterator[Entity]:
    """Yield the program and the libraries that it computed with, each in its version."""
    builder = provenance.get("builder")
    made = builder if isinstance(builder, Mapping) else {}
    libraries = provenance.get("computed_with")
    used = dict(libraries) if isinstance(libraries, Mapping) else {}
    used["python"] = provenance.get("python", "")
    yield {
        "@id": "#program",
        "@type": "SoftwareApplication",
        "name": str(made.get("name", "lyewitness")),
        "version": str(made.get("version", "")),
        # The program has no page of its own: the bag says what it is.
        "url": {"@id": README},
        "softwareRequirements": [{"@id": _library_id(name)} for name in sorted(used)],
    }
    for name in sorted(used):
        yield {
            "@id": _library_id(name),
            "@type": "SoftwareApplication",
            "name": name,
            "version": str(used[name]),
            **({"url": _HOMES[name]} if name in _HOMES else {}),
        }


def _library_id(name: str) -> str:
    """Return where a library tells of itself, which is what it is known by."""
    return _HOMES.get(name, f"#library-{name}")


def _run(study: Study, payload: Mapping[str, bytes], bagged_on: date) -> Entity:
    """Return the run that made the report of the study's files."""
    of_study = [name for name in sorted(payload) if not name.startswith(MADE) and name != README]
    agents = {"agent": {"@id": _person_id(study.people[0])}} if study.people else {}
    return {
        "@id": "#run",
        "@type": "CreateAction",
        "name": "Measuring the exports and writing the report",
        "description": "Peaks measured, declines followed, lives and comparisons judged, the report written.",
        "instrument": {"@id": "#program"},
        **agents,
        "endTime": bagged_on.isoformat(),
        "object": [
            *({"@id": address(name)} for name in of_study),
            {"@id": "#settings"},
        ],
        "result": [{"@id": address(name)} for name in sorted(payload) if name.startswith(MADE)],
        "actionStatus": "http://schema.org/CompletedActionStatus",
    }


def _settings(provenance: Mapping[str, object]) -> Iterator[Entity]:
    """Yield the settings of the run, all in one and each by name."""
    stated = provenance.get("choices")
    choices = dict(stated) if isinstance(stated, Mapping) else {}
    yield {
        "@id": "#settings",
        "@type": "PropertyValue",
        "name": "settings",
        "value": json.dumps(choices, sort_keys=True, ensure_ascii=False, default=str),
    }


def _files(payload: Mapping[str, bytes]) -> Iterator[Entity]:
    for name in sorted(payload):
        yield {
            "@id": address(name),
            "@type": "File",
            "name": posixpath.basename(name),
            "description": described(name),
            "contentSize": str(len(payload[name])),
            "encodingFormat": _media_type(name),
            "sha512": hashlib.sha512(payload[name]).hexdigest(),
        }


def described(name: str) -> str:
    """Return what a file of the payload is, in words."""
    if name == README:
        return "What is in this bag and how to check it"
    if name.startswith("traces/"):
        return "Traces of a column, a row a point; datapackage.json beside it explains the columns"
    if not name.startswith("report/"):
        return "Chromatogram export, as it left the instrument" if "/chromatograms/" in name else "Study file"
    if name.startswith("report/data/") and name.endswith(".csv"):
        return "Table of the report; datapackage.json beside it explains every column"
    return "Part of the report"


def _media_type(name: str) -> str:
    ending = posixpath.splitext(name)[1].lower()
    return _TYPES.get(ending) or _KNOWN.guess_type(name)[0] or "application/octet-stream"


# Without files of the system: the same on every machine.
_KNOWN = mimetypes.MimeTypes(filenames=())


def readme(study: Study, bagged_on: date, builder: str) -> bytes:
    """Return what a stranger needs to know, who has none of our software."""
    people = ", ".join(person.name for person in study.people) or "nobody named"
    questions = "".join(f"- {one.text}\n" for one in study.questions)
    licence = study.licence or "none stated; ask before anything is used again"
    revision = study.revisions[-1] if study.revisions else None
    edition = f"Revision {revision.number} of {revision.date.isoformat()}. " if revision else ""
    instead = f"It takes the place of study {study.supersedes}. " if study.supersedes else ""
    invented = f"**{study.invented}**\n\n" if study.invented else ""
    return f"""\
# {study.title or study.id}

{invented}Study `{study.id}`, by {people}. {edition}{instead}Licence: {licence}.
Packed on {bagged_on.isoformat()} by {builder}.

What was asked:

{questions}
## What is where

- `report/index.html`: the report. Open it in any browser; it needs no network. `report/report.pdf`, where
  it is there, is the same on paper, `report/summary.pdf` its answer on one page.
- `report/data/`: every number as plain text. `decline.csv` has the life of each column, `comparisons.csv`
  what was compared, `claims.json` every sentence with what it rests on, `measurements.csv` all peaks.
  `datapackage.json` tells name, unit, type and meaning of every column of every table. Empty: not measured.
- `traces/`: every detector trace as a table, a row a point, packed with gzip; `datapackage.json` explains it.
- `study/`: what the people kept. `study/study.toml` says which columns, which stress, which limits;
  `study/injections.csv` which file of `study/chromatograms/` is which injection.
- `ro-crate-metadata.json`: all files with their SHA-512, people, columns, program, versions and settings.

## Is it whole?

The list `manifest-sha512.txt` in the folder above has the SHA-512 of every file here. In that folder:

    sha512sum --check --quiet manifest-sha512.txt
    sha512sum --check --quiet tagmanifest-sha512.txt

No line printed means that every byte is as it was. Any program for BagIt bags (RFC 8493) does the same.
Who changed a file could change these lists, too: where the seal of this bag was kept elsewhere, hold it
against what `sha256sum tagmanifest-sha512.txt` gives.

## Does it come out again?

Each export in `study/chromatograms/` is time against detector signal. A life is the exposure at which a
column's metric, in percent of its first injections, passes the limit in `study.toml`; the page 'Method' of
the report gives every formula. Whoever has the program runs `lyewitness verify BAG`, which measures all
again and compares.
""".encode()

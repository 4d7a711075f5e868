"""A new study folder, laid out to be filled in.

In: the path of a folder that does not exist or is empty. Out: files by path; nothing is overwritten.
"""

from pathlib import Path

from lyewitness.words.problems import Problem, StudyFolderError

INJECTIONS_HEADER = "injection,file,column,exposure_h,use,why\n"
CONDITIONS_HEADER = "column,exposure_h,pressure_bar,temperature_C,ph,flow_mL_min\n"
IMAGES_HEADER = "file,caption,column,exposure_h,kind,nm_per_pixel,pair,alt,particles\n"


def begin(folder: Path) -> tuple[str, ...]:
    """Write a new study folder and return the names of what was written.

    Raises StudyFolderError where `folder` already holds something.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        problem = Problem(
            "error",
            "",
            "",
            f"'{folder}' with something in it",
            "a new or empty folder",
            "Name another folder.",
        )
        raise StudyFolderError((problem,))
    blank = (Path(__file__).parent / "blank_study.toml").read_text(encoding="utf-8")
    files = {
        "study.toml": blank,
        "injections.csv": INJECTIONS_HEADER,
        "conditions.csv": CONDITIONS_HEADER,
        "images.csv": IMAGES_HEADER,
    }
    for name in ("chromatograms", "images", "notes"):
        (folder / name).mkdir(parents=True, exist_ok=True)
    for name, text in files.items():
        with (folder / name).open("x", encoding="utf-8") as file:
            file.write(text)
    return (*files, "chromatograms/", "images/", "notes/")

"""Where the themes and the example study lie, in a wheel as in a checkout.

In: nothing. Out: paths.
"""

from pathlib import Path


def shipped_folder(name: str) -> Path:
    """Return the folder `name` (`themes` or `example_study`) that came with the program.

    A wheel carries it inside the package; an editable install finds it at the repository's top.
    Raises FileNotFoundError where the installation is incomplete.
    """
    package = Path(__file__).resolve().parent
    for folder in (package / name, package.parent.parent / name):
        if folder.is_dir():
            return folder
    raise FileNotFoundError(f"this installation of lyewitness lacks its folder '{name}'; install it again")

"""Set up a fresh machine, then build the example report, run the tests or all checks.

In: one word, `example`, `tests`, `coverage`, `form` or `checks`. Out: an exit code. Needs the standard
library only, for it makes the environment in which everything else runs: `.venv/` at the top of the checkout.
"""

import os
import shutil
import subprocess
import sys
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
ENVIRONMENT = ROOT / ".venv"
OLDEST = (3, 11)
"""As `requires-python` in pyproject.toml says."""
NODE_FOLDER = ENVIRONMENT / "node"
CRATE_VALIDATOR = "roc-validator==0.13.0"
NODE_PACKAGES = ("axe-core", "vnu-jar")
PANGO = ("libpango-1.0-0", "libpangoft2-1.0-0")
PROGRAMS = {
    "chromium": "chromium",
    "firefox-esr": "firefox-esr",
    "java": "default-jre-headless",
    "npm": "npm",
    "pdftoppm": "poppler-utils",
}
"""What the tests call, and the Debian package that brings it."""


def run(*command: str | Path, **more: str) -> int:
    """Run a command at the top of the checkout, with `more` environment variables; return its exit code."""
    print("$", *command, flush=True)
    environment = {**os.environ, **more}
    return subprocess.run([str(part) for part in command], cwd=ROOT, env=environment, check=False).returncode


def must(*command: str | Path) -> None:
    """Run a command and stop where it fails."""
    if run(*command):
        sys.exit(f"failed: {' '.join(str(part) for part in command)}")


def program(name: str) -> Path:
    """Return the path of a program of the environment."""
    return ENVIRONMENT / ("Scripts" if os.name == "nt" else "bin") / name


def is_sound() -> bool:
    """Return whether the environment runs, is of no older Python than wanted, and can install.

    What a stopped run left half made, and what an older Python made, is made anew.
    """
    if not program("python").exists():
        return False
    probe = f"import sys, pip; sys.exit(sys.version_info < {OLDEST})"
    command = [str(program("python")), "-c", probe]
    try:
        return subprocess.run(command, capture_output=True, check=False).returncode == 0
    except OSError:
        return False


def set_up(extras: str, *by_itself: str) -> None:
    """Make the environment, if there is none, and install the program with its `extras` into it.

    What comes `by_itself` is installed without what it asks for.
    """
    if sys.version_info < OLDEST:
        sys.exit(f"Python {'.'.join(map(str, OLDEST))} or later is wanted; this is {sys.version.split()[0]}")
    if not is_sound():
        print(f"making the environment {ENVIRONMENT}", flush=True)
        venv.create(ENVIRONMENT, with_pip=True, clear=True)
    must(program("python"), "-m", "pip", "install", "--quiet", "--editable", f".{extras}")
    if by_itself:
        must(program("python"), "-m", "pip", "install", "--quiet", "--no-deps", *by_itself)


def install_system_packages(packages: list[str]) -> None:
    """Install Debian packages where that is possible, or say which ones are wanted."""
    if not packages:
        return
    if shutil.which("apt-get") and hasattr(os, "geteuid") and os.geteuid() == 0:
        must("apt-get", "update", "-qq")
        must("apt-get", "install", "-y", "-qq", "--no-install-recommends", *packages)
    else:
        print("please install:", *packages, flush=True)


def pango_packages() -> list[str]:
    """Return the packages that the PDF needs and this machine lacks."""
    probe = "import ctypes.util as u, sys; sys.exit(not u.find_library('pango-1.0'))"
    return list(PANGO) if subprocess.run([sys.executable, "-c", probe], check=False).returncode else []


def set_up_tests() -> dict[str, str]:
    """Install all that the tests call, and return the environment variables that tell where it is."""
    lacking = [package for name, package in PROGRAMS.items() if not shutil.which(name)]
    install_system_packages(pango_packages() + lacking)
    # The validator wants an older rich than the linter of imports does, and runs with either.
    set_up("[checks]", CRATE_VALIDATOR)
    modules = NODE_FOLDER / "node_modules"
    # npm writes its list when all is in place: without it, an earlier run was stopped halfway.
    listed = modules / ".package-lock.json"
    if not listed.is_file() or not all((modules / name).is_dir() for name in NODE_PACKAGES):
        must("npm", "install", "--silent", "--no-fund", "--no-audit", "--prefix", NODE_FOLDER, *NODE_PACKAGES)
    return {"LYEWITNESS_NODE_MODULES": str(modules)}


def example() -> int:
    """Build the example report."""
    install_system_packages(pango_packages())
    set_up("")
    return run(program("lyewitness"), "report", "example_study", "--into", "example_report")


def tests() -> int:
    """Run the tests."""
    return spread_tests()


def coverage() -> int:
    """Run the tests and tell which lines and branches none of them came by; it takes up to twice as long."""
    return spread_tests("--cov", "--cov-report=term:skip-covered")


def spread_tests(*more: str) -> int:
    """Run the tests on two cores, file by file in the order of tests/conftest.py: the longest first."""
    told = set_up_tests()
    # Two processes on two cores: a second thread in either would only wait for the other process.
    told |= dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"), "1")
    # Timings are taken alone, for the processes would disturb each other; what took longest is told.
    spread = ("-n", "2", "--dist", "loadfile", "--no-loadscope-reorder", "--benchmark-disable")
    return run(program("python"), "-m", "pytest", *spread, "--durations=60", *more, **told)


def form() -> int:
    """Check form, types and layers."""
    told = set_up_tests()
    failed = [
        name
        for name, command in {
            "ruff format": ("ruff", "format", "--check", "."),
            "ruff": ("ruff", "check", "."),
            "mypy": ("mypy",),
            "import-linter": ("lint-imports",),
        }.items()
        if run(program(command[0]), *command[1:], **told)
    ]
    if failed:
        print("failed:", ", ".join(failed), flush=True)
    return 1 if failed else 0


def checks() -> int:
    """Run all checks: form first, then the tests."""
    return form() or tests()


if __name__ == "__main__":
    tasks = {"example": example, "tests": tests, "coverage": coverage, "form": form, "checks": checks}
    if len(sys.argv) != 2 or sys.argv[1] not in tasks:
        sys.exit(f"usage: python3 builder/start.py {'|'.join(tasks)}")
    sys.exit(tasks[sys.argv[1]]())

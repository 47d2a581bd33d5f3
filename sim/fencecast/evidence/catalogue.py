"""All subjects in the order of the model, and how they are run."""

from __future__ import annotations

import importlib
from collections.abc import Callable, Iterator
from contextlib import ExitStack

from fencecast.evidence.check import Check, MissingLibraryError
from fencecast.evidence.slow import working_ahead

# Subject and module, in the order of the model's chain.
SUBJECTS = {
    "Band radiance": "radiance",
    "Clear air": "air",
    "Fog, rain, snow": "droplets",
    "Clothing": "clothing",
    "Ground and sky": "ground",
    "Lens and body": "optics",
    "Pixels": "picture",
    "Sight lines": "sight",
    "Looks and alarms": "decision",
    "Statistics": "statistics",
    "Whole crossings": "crossings",
}
# What the extra `verify` installs, by import name.
LIBRARIES = ("miepython", "psychrolib", "pythermalcomfort", "cv2", "galsim", "statsmodels")


def check_libraries() -> None:
    """MissingLibraryError with all that is missing, before anything is computed."""
    missing = []
    for name in LIBRARIES:
        try:
            importlib.import_module(name)
        except ImportError:
            missing.append(name)
    if missing:
        raise MissingLibraryError(missing)


def checks_of(subject: str) -> tuple[Callable[[], Check], ...]:
    """The checks of one subject, as functions."""
    return importlib.import_module(f"fencecast.evidence.{SUBJECTS[subject]}").CHECKS


def verify(progress: Callable[[str], None] | None = None) -> list[tuple[str, Check]]:
    """Every part of the model compared with outside sources (`fencecast verify`): (subject, Check) each; takes minutes.

    progress(subject) before each. MissingLibraryError without the extra `verify`.
    """
    return list(run_all(progress))


def run_all(progress: Callable[[str], None] | None = None, ahead: bool = True) -> Iterator[tuple[str, Check]]:
    """(subject, check) one after the other; progress hears of each subject before it begins.

    ahead: let a second process run the slow Monte Carlo meanwhile.
    """
    check_libraries()
    with ExitStack() as stack:
        if ahead:
            stack.enter_context(working_ahead())
        for subject in SUBJECTS:
            if progress:
                progress(subject)
            for check in checks_of(subject):
                yield subject, check()

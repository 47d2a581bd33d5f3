"""The site of a plan as it can be simulated again: its text is in plan.json, an hourly weather record lies beside it.

A record of a year is too long to be written into a plan; the plan keeps its fingerprint instead.

Tests: tests/prove/walks/test_planned.py.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from os import PathLike
from pathlib import Path

from fencecast.errors import InputError, UsageError
from fencecast.prove.walks.planfile import WalkPlan
from fencecast.site import Site, load_site, parse_site

_SHOWN = 8  # of the 64 digits of a fingerprint


def planned_site(plan: WalkPlan, path: str | PathLike[str] | None = None, site: str | PathLike[str] | None = None) -> Site:
    """The site of a plan. path: of its plan.json; site: a site file beside which its weather record lies.

    A site with an hourly record looks for it in the folder of `site`, in that of plan.json, in the one above, and where one
    stands; one whose fingerprint is not the plan's is passed over. InputError, with what to type, when there is none; UsageError
    for `site` where no record is needed, because the prediction is the plan's own.
    """
    made = parse_site(plan.site_toml, "site_toml of the plan")
    if made.weather_file is None:
        if site is not None:
            raise UsageError(
                f"--site {site} is not needed: the plan holds all of its site, and its prediction stays what it was; leave it out"
            )
        return made
    folders = [] if site is None else [_folder_of(site)]
    if path is not None:
        folders += [Path(path).resolve().parent, Path(path).resolve().parent.parent]
    folders = list(dict.fromkeys([*folders, Path.cwd()]))
    made._folder = _with_record(plan, made.weather_file.path, folders, "plan.json" if path is None else str(path))
    return made


def record_sha256(site: Site) -> str | None:
    """Fingerprint of the weather record of a site; None for one without, and where the file cannot be read."""
    if site.weather_path is None:
        return None
    try:
        return _sha256(site.weather_path)
    except OSError:
        return None


def _folder_of(site: str | PathLike[str]) -> Path:
    load_site(site)  # a name that is no site file is said before anything else
    return Path(site).resolve().parent


def _with_record(plan: WalkPlan, name: str, folders: Iterable[Path], file: str) -> Path:
    """The first folder from which the record is found."""
    others, looked = [], []
    for folder in folders:
        looked.append(str(folder))
        try:
            found = _sha256(folder / name)
        except OSError:
            continue
        if plan.weather_sha256 in (None, found):
            return folder
        others.append(f"{folder / name} (SHA-256 {found[:_SHOWN]}...)")
    if others:
        raise InputError(
            [
                f"was made with another weather record than {', '.join(others)}: its SHA-256 begins "
                f"{(plan.weather_sha256 or '')[:_SHOWN]}; put that record back, or make the plan anew"
            ],
            file,
        )
    raise InputError(
        [
            f"needs the site's weather record {name}, which is not in {', '.join(looked)}; copy it beside plan.json, or type "
            "--site SITE.toml with the site file beside which it lies"
        ],
        file,
    )


def _sha256(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()

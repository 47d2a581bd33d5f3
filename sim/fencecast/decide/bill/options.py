"""The designs of a bill: the site and its `[[variant]]` tables, or those of a results file, with the metres that meet in each."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import dataclass, replace
from os import PathLike
from pathlib import Path

import numpy as np

from fencecast.decide.bill.sameness import at_prices_of, differ_by_lenses, differing
from fencecast.decide.compare.variants import table_variants
from fencecast.errors import InputError, UsageError
from fencecast.estimate.diagnosis import counted_classes
from fencecast.estimate.results import Results
from fencecast.site import Site, load_site, parse_site

RUN, COMPARE, PLACE = "run", "compare", "place"
BASE = "as in the file"
_FRONT = "front.csv"
# What `place` changes, and what a copy in another folder names otherwise.
_OF_PLACE = ("camera", "rule", "weather_file", "picture")
_BESIDE = ("check", "accept", "land", "kit", "mounting", "map", "picture", "stimulus", "nuisance", "soak")


@dataclass(frozen=True)
class Option:
    """One design: its name, its site at today's prices, metres that meet (None: not simulated), cameras that are turned.

    own_prices: its prices are those of a file of its own.
    """

    name: str
    site: Site
    meets_m: float | None = None
    turned: int = 0
    own_prices: bool = False


@dataclass(frozen=True)
class Simulated:
    """What the designs were simulated by: "run", "compare" or "place"; "" for nothing. created: when (ISO), "" when not known.

    other_prices: the site file has changed since, in nothing that a crossing depends on; classes: weather classes that count, by
    name; stress: the condition on the hours that were simulated, "" for all of them.
    """

    by: str = ""
    created: str = ""
    other_prices: bool = False
    classes: tuple[str, ...] = ()
    stress: str = ""


def options_of(site: Site, source: object) -> tuple[list[Option], Simulated]:
    """The designs and what they were simulated by. UsageError when the source is none of this site, or nothing that is known."""
    if source is None:
        return [Option(BASE, site), *_variants(site)], Simulated()
    if isinstance(source, (str, PathLike)):
        if Path(source).is_dir():
            return _of_place(site, Path(source))
        from fencecast.estimate.store import open_results

        data, name = open_results(source), str(source)
    else:
        data, name = source, "these results"  # type: ignore[assignment]
    if not isinstance(data, Results) and "tradeoff_schema" in getattr(data, "attrs", {}):
        raise UsageError(
            f"{name} are the results of a trade-off of settings, which cost nothing; give those of run, compare or place"
        )
    if not isinstance(data, Results) and "study_toml" in getattr(data, "attrs", {}):
        raise UsageError(f"{name} are the results of a study, which are of many yards; give those of run, compare or place")
    results = Results.of(data)  # type: ignore[arg-type]
    found = _of_compare(site, results, name) if "variant" in results.sizes else _of_run(site, results, name)
    created, sha, stress = (str(results.attrs.get(key, "")) for key in ("created", "site_sha256", "stress"))
    stored = [sha, *(str(each) for each in results["variant_sha256"].values)] if "variant_sha256" in results else [sha]
    classes = tuple(results.classes[k] for k in counted_classes(results))
    by = COMPARE if "variant" in results.sizes else RUN
    # Designs that were made of this site (a lens for another) have hashes of their own.
    changed = site.sha256 not in stored and (by == RUN or any(option.site is site for option in found))
    return found, Simulated(by, created, changed, classes, stress)


def _variants(site: Site) -> list[Option]:
    return [Option(name, made) for name, made in _varied(site).items()]


def _varied(site: Site) -> dict[str, Site]:
    """The sites of the [[variant]] tables by name, cameras at the prices that follow."""
    made = {}
    for table, variant in zip(site.variant, table_variants(site)[1:] if site.variant else ()):
        priced = [mark for mark, keys in table.change.get("camera", {}).items() if "price" in keys]
        made[variant.name] = _priced(site, variant.site, priced)
    return made


def _priced(site: Site, design: Site, priced: Sequence[str] = ()) -> Site:
    """The design with its cameras at the site's prices; rules are left as they are, a bill does not ask them."""
    cameras = at_prices_of(site, design.camera, priced)
    if cameras == design.camera:
        return design
    rules = tuple(rule for rule in design.rule if rule.cameras)
    return design.replace(camera=cameras, rule=rules or design.rule, variant=())


def meets_m(words: np.ndarray, lengths_m: np.ndarray) -> float:
    """Metres that meet in every class; words (classes, segments): verdicts of the classes that count; lengths (segments,) [m].

    A class without data does not count against a segment that others have data of; a segment without any is none that meets.
    """
    data = (words != "no data").any(axis=0)
    return float(np.sum(lengths_m[data & ((words == "meets") | (words == "no data")).all(axis=0)]))


def _of_run(site: Site, results: Results, name: str) -> list[Option]:
    _need_same(site, results.site, name)
    words = results.array("verdict", "weather", "segment")[counted_classes(results)]
    return [Option(BASE, site, meets_m(words, results.lengths_m)), *_variants(site)]


def _need_same(site: Site, other: Site, name: str, beside: Sequence[str] = ()) -> None:
    different = differing(site, other, (*_BESIDE, *beside))
    if different:
        raise UsageError(
            f'{name}: of another site, "{other.title}"; beside prices it differs in {", ".join(different)} from "{site.title}" '
            f"(SHA-256 {site.sha256[:8]}): run this site, or name the site file that belongs to it"
        )


def _of_compare(site: Site, results: Results, name: str) -> list[Option]:
    """All designs of a comparison, if one of them is this site: those made from it at its prices, others at their own."""
    stored = [parse_site(str(text)) for text in results["variant_toml"].values]
    alike = [not differing(site, each, _BESIDE) for each in stored]
    lenses = [differ_by_lenses(site, each) for each in stored]
    if not any(alike) and not any(lenses):
        _need_same(site, stored[0], name)
    tables = _varied(site)
    counted, found = counted_classes(results), []
    for k, (design, text) in enumerate(zip(results["variant"].values, stored)):
        words = results.array("standing", "variant", "weather", "segment")[k][counted]
        metres, called = meets_m(words, results.lengths_m), str(design)
        if called in tables and not differing(parse_site(tables[called].text), text, _BESIDE):
            option = Option(called, tables[called])  # first, because a variant may differ by prices alone
        elif alike[k]:
            option = Option(called, site)
        elif lenses[k]:
            cameras = tuple(c.model_copy(update={"lens": other.lens}) for c, other in zip(site.camera, text.camera))
            option = Option(called, _priced(site, site.replace(camera=cameras, variant=())))
        else:
            option = Option(called, text, own_prices=True)
            _same_currency(site, option, name)
        found.append(replace(option, meets_m=metres))
    return found


def _same_currency(site: Site, option: Option, name: str) -> None:
    mine, theirs = (each.prices.currency if each.prices else None for each in (site, option.site))
    if mine and theirs and mine != theirs:
        raise UsageError(
            f"{name}: the prices of {option.name} are in {theirs} and those of this site in {mine}, and none is converted; "
            "give both in one currency and compare again"
        )


def _of_place(site: Site, folder: Path) -> tuple[list[Option], Simulated]:
    """The rows of a front, cheapest first; UsageError when the folder holds none, or one of another site."""
    try:
        with (folder / _FRONT).open(encoding="utf-8", newline="") as front:
            rows = [(row["site_file"], float(row["meets_m"])) for row in csv.DictReader(front)]
    except (OSError, KeyError, TypeError, ValueError, csv.Error):
        raise UsageError(
            f"{folder} holds no front that fencecast place wrote ({_FRONT} with site_file and meets_m); name its folder, or a "
            "results file such as yard-results/results.nc"
        ) from None
    found = []
    for file, metres in rows:
        if Path(file).name != file:
            raise UsageError(f"{folder / _FRONT} names {file}, which is no file of that folder")
        try:
            design = load_site(folder / file)
        except InputError as error:
            raise UsageError(f"{folder} cannot be used: {error}") from None
        _need_same(site, design, str(folder / file), _OF_PLACE)
        cameras = at_prices_of(site, design.camera)
        option = site.replace(title=design.title, camera=cameras, rule=design.rule, stimulus=design.stimulus, variant=())
        found.append(Option(file, option, metres, _turned(site, design)))
    if not found:
        raise UsageError(f"{folder / _FRONT} has no rows; let fencecast place write it again")
    return found, Simulated(PLACE, "", False, ())


def _turned(site: Site, design: Site) -> int:
    """Cameras of the site that the design has otherwise: turned, mounted at another height, or with another lens."""
    before = {camera.mark: camera for camera in site.camera}
    keys = ("bearing_deg", "depression_deg", "height_m", "lens")
    kept = [(before[camera.mark], camera) for camera in design.camera if camera.mark in before]
    return sum(any(getattr(old, key) != getattr(new, key) for key in keys) for old, new in kept)

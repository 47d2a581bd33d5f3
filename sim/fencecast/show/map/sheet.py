"""A site, and what was found about it, as one sheet of things on the map, and as texts of map files (`to_map`)."""

from __future__ import annotations

from collections.abc import Sequence
from os import PathLike, fspath

import xarray as xr

from fencecast.errors import UnknownNameError, UsageError
from fencecast.estimate.results import Results
from fencecast.estimate.store import open_results
from fencecast.findings.tomap import file_words
from fencecast.maps.grid import Grid, place_words
from fencecast.maps.things import Sheet, Thing, site_things
from fencecast.maps.writing import FORMATS
from fencecast.review.review import check
from fencecast.show.map.checked import STYLES, Found, finding_things
from fencecast.show.map.results import WORST, YEAR, design_styles, result_things, styles
from fencecast.show.map.views import view_things
from fencecast.site import Site, load_site

DEFAULT_FORMATS = ("geojson", "kml")
Source = Site | Results | xr.Dataset | str | PathLike[str]


def to_map(
    source: Source,
    formats: Sequence[str] = (),
    weather: str = WORST,
    design: bool = False,
    no_location: bool = False,
    decimals: int = 9,
    findings: Sequence[Found] | None = None,
) -> dict[str, str | bytes]:
    """A site or its results as map files, by format: texts, and bytes of "kmz". Nothing is written.

    Arguments: source, a site or results, or the path of either; formats, of "geojson", "kml" (both when none is named), "kmz" and
    "gpx"; weather, of results: a class, "year", or the "worst" of each place; design, what stands on the site alone; no_location,
    the yard is put at 0 N 0 E; decimals, of degrees; findings, of a design review, drawn along the fence:
    those of `check` when None.
    Raises UsageError for a site without [map], an unknown class or options that do not fit.
    """
    formats = check_formats(formats, no_location)
    sheet, _, _ = map_sheet(source, weather, design, no_location, decimals, findings)
    return {form: FORMATS[form](sheet) for form in formats}


def check_formats(formats: Sequence[str], no_location: bool) -> tuple[str, ...]:
    """The formats to write; UsageError for one that does not exist, or that makes no sense without a place."""
    for form in formats:
        if form not in FORMATS:
            raise UnknownNameError("format", form, FORMATS, "to-map")
    if no_location and "gpx" in formats:
        raise UsageError("--no-location and --format gpx do not go together: a receiver would look for the yard at 0 N 0 E")
    return tuple(form for form in FORMATS if form in (formats or DEFAULT_FORMATS))


def map_sheet(
    source: Source, weather: str, design: bool, no_location: bool, decimals: int, findings: Sequence[Found] | None = None
) -> tuple[Sheet, str, str | None]:
    """The sheet, its place in words ("" when it is hidden), and the weather that is shown (None without results)."""
    name = fspath(source) if isinstance(source, (str, PathLike)) else "these results"
    site, results = _opened(source)
    if site.map is None and not no_location:
        raise UsageError(
            f"the site of {name} has no [map], so nobody knows where it lies: add one, or place it with "
            "fencecast from-map POINTS --fit --update SITE.toml -o PLACED.toml; --no-location puts it at 0 N 0 E"
        )
    grid = Grid(0.0, 0.0) if no_location or site.map is None else Grid.of(site.map)
    things: list[Thing] = []
    shown = None
    if results is not None and not design:
        if weather not in (WORST, YEAR, *results.classes):
            raise UnknownNameError("weather", weather, [WORST, YEAR, *results.classes], name)
        things, shown = result_things(results, weather), weather
    elif weather != WORST:
        raise UsageError("--weather needs results: name a results file, without --design")
    things += site_things(site, grid)
    looks = design_styles()
    if not design:
        if findings is None:
            findings = check(site, weather=False).open if site.camera else ()
        things += finding_things(site, findings)
        things += view_things(site)
        looks = (styles(site.requirement.pd) if shown else {}) | STYLES | looks
    words = file_words(site.requirement.pd, shown, no_location)
    place = "" if no_location else place_words(grid.latitude, grid.longitude)
    return Sheet(site.title, words, [thing.on_map(grid) for thing in things], looks, decimals), place, shown


def _opened(source: Source) -> tuple[Site, Results | None]:
    """The site, and its results when there are any."""
    if isinstance(source, (str, PathLike)):
        if fspath(source).lower().endswith(".toml"):
            return load_site(source), None
        source = open_results(source)
    if isinstance(source, Site):
        return source, None
    other = {"study_toml", "compare_schema", "tradeoff_schema"}
    if isinstance(source, xr.Dataset) and (other & set(source.attrs) or "pd_difference" in source):
        raise UsageError("this is a study, a comparison or a trade-off; to-map takes a site, or the results of `fencecast run`")
    results = Results.of(source)
    return results.site, results

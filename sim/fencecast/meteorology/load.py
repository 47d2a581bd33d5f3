"""The weather of a site: the classes that its file describes, or those that its hourly record makes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from os import PathLike

import numpy as np

from fencecast.errors import UsageError
from fencecast.meteorology.year import HourClass, Records, Year
from fencecast.site import Site, as_site
from fencecast.site.schema import Weather

_HANDED_IN: dict[str, Year] = {}
_MOST_HANDED_IN = 4


def load_year(site: Site) -> Year:
    """Reads the weather file that a site names, and works out what every hour is like there.

    It takes seconds for a whole year: read once, and hand the year on.
    InputError when the file cannot be read, is too incomplete for the armed hours, or a place is missing that the sun needs.
    """
    if handed_in(site):
        return _HANDED_IN[_hours_key(site)]
    from fencecast.meteorology.records.reading import read_site_records

    return year_of_records(site, read_site_records(site))


def year_of_records(site: Site, records: Records) -> Year:
    """What every hour of a record is like at a site; errors as in `load_year`."""
    from fencecast.meteorology.armed import armed_hours, place_of, sun_elevation_deg
    from fencecast.meteorology.hours import make_year
    from fencecast.meteorology.records.reading import at_the_site

    records = at_the_site(site, records)
    place = place_of(site, records)
    sun = sun_elevation_deg(records, place)
    return make_year(records, site, armed_hours(site, records, sun), sun)


def hand_in(site: Site, year: Year) -> None:
    """Keep the hours of a site whose record is no file here (a piece of a study has it with it): `load_year` then gives them."""
    if len(_HANDED_IN) >= _MOST_HANDED_IN:
        _HANDED_IN.clear()
    _HANDED_IN[_hours_key(site)] = year


def handed_in(site: Site) -> bool:
    """Whether the hours of a site were handed in."""
    return _hours_key(site) in _HANDED_IN


def _hours_key(site: Site) -> str:
    """All that the hours of a site depend on; its folder stands for what is in the file."""
    return repr((site.folder, site.weather_file, site.armed, site.site))


def weather(site: Site | str | PathLike[str]) -> Year:
    """The hours of the weather file that a site names (`fencecast weather`); its classes are `classes_of(site, year)`.

    UsageError for a site without a weather file, InputError for one that cannot be used.
    """
    site = as_site(site)
    if site.weather_file is None:
        raise UsageError(
            "this site has no weather file: its weather is the [[weather]] tables that it holds. To use an hourly record, take "
            'them out and type [weather_file] with path = "station.epw" (EPW, TMY3, or CSV with a column map); '
            "fencecast example marsh-depot writes a site that has one"
        )
    return load_year(site)


def classes_of(site: Site, year: Year | None = None) -> tuple[Weather | HourClass, ...]:
    """Every weather class of a site, in the file's order, or as the rules of `sorting` put them.

    year: the site's hours when they are read already; else its weather file is read.
    """
    if site.weather_file is None:
        return site.weather
    from fencecast.meteorology.sorting import sort_hours

    return sort_hours(load_year(site) if year is None else year)


def only_classes(year: Year, classes: Sequence[Weather | HourClass]) -> Year:
    """The year with every hour disarmed that was not sorted into one of these classes."""
    from fencecast.meteorology.sorting import NAMES, class_of_hours

    kept = np.isin(class_of_hours(year), [NAMES.index(each.name) for each in classes])
    return replace(year, armed=year.armed & kept)


def described(weather: Weather | HourClass) -> Weather:
    """A class as a table of the site file: itself, or the medians of its hours."""
    return weather.middle() if isinstance(weather, HourClass) else weather

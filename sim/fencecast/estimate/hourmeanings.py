"""Unit and meaning of what the hours of a record add to the results."""

from __future__ import annotations

# Variables of one hour or of one representative state, by the name that follows `hour_` or `state_`.
_OF_THE_AIR = {
    "air_temperature_c": ("degC", "air temperature"),
    "relative_humidity": ("1", "relative humidity"),
    "wind_m_s": ("m/s", "wind speed"),
    "visibility_m": ("m", "meteorological optical range"),
    "rain_mm_h": ("mm/h", "rain rate"),
    "snow_mm_h": ("mm/h", "snow rate, water"),
    "ground_minus_air_k": ("K", "ground temperature less air temperature"),
    "clutter_k": ("K", "clutter of the ground"),
    "wetness": ("1", "wetness of clothing"),
    "low_sky_below_air_k": ("K", "air temperature less that of the low sky"),
    "window": ("1", "share of contrast that the camera's window passes"),
}
_OF_THE_HOUR = _OF_THE_AIR | {
    "cloud": ("1", "cloud cover"),
    "contrast_k": ("K", "apparent contrast of a walker's clothing at no distance, as NETD is stated"),
    "fog_share": ("1", "chance that the hour has fog"),
}
_ENDS = (("", ""), ("_low", ": lower end of the interval"), ("_high", ": upper end of the interval"))


def _with_ends(name: str, unit: str, meaning: str) -> dict:
    return {f"{name}{end}": (unit, meaning + words) for end, words in _ENDS}


HOUR_MEANINGS = {
    **_with_ends("pd_state", "1", "probability of an alarm in a representative state of the weather"),
    **_with_ends("pd_state_fresh", "1", "the same on fresh crossings, for the segments that are named"),
    "state": ("1", "representative state of the weather, most hours first"),
    "state_hours": ("h", "armed hours a year that are more like this state than any other"),
    "state_fog": ("1", "kind of fog of the state: 0 none, 1 radiation, 2 advection"),
    **{f"state_{name}": (unit, f"{meaning} in the state") for name, (unit, meaning) in _OF_THE_AIR.items()},
    "hour_time": ("1", "start of the hour, local standard time of the record"),
    "hour_armed": ("1", "whether the system is armed in the hour"),
    "hour_known": ("1", "whether the record tells enough of the hour"),
    "hour_state": ("1", "index of a state that tells of the hour, -1 for none; pd of the hour is the weighted mean of theirs"),
    "hour_state_weight": ("1", "weight of that state, may be negative; they add up to 1 in an armed hour that is known"),
    "hour_sun_elevation_deg": ("degree", "elevation of the sun"),
    **{f"hour_{name}": (unit, f"{meaning} in the hour, mean of its states") for name, (unit, meaning) in _OF_THE_HOUR.items()},
    "armed_hours": ("h", "armed hours a year"),
    "known_armed_hours": ("h", "armed hours a year of which the record tells enough; no other hour counts"),
    **_with_ends("weak_hours", "h", "armed hours a year in which pd is below the requirement"),
    **_with_ends("weak_hours_fresh", "h", "the same on fresh crossings, for the segments that are named"),
    **_with_ends("weak_hours_any", "h", "armed hours a year in which pd is below the requirement somewhere"),
    "weak_hours_month": ("h", "armed hours of each month in which pd is below the requirement"),
    "weak_hours_month_fresh": ("h", "the same by month; adds up to weak_hours_fresh"),
    "weak_hours_clock_fresh": ("h", "the same by clock hour; adds up to weak_hours_fresh"),
    "weak_hours_clock": ("h", "armed hours a year of each clock hour in which pd is below the requirement"),
    **_with_ends("pd_fog", "1", "mean pd over the fence in fog of this kind, drop size and optical range"),
    **_with_ends("pd_fog_segment", "1", "pd of the named segment in fog of this kind, drop size and optical range"),
    "fog_segment": ("1", "index of that segment"),
    "fog_drop_um": ("um", "effective drop radius"),
    "fog_base": ("1", "hours whose air, ground and sky the fog is drawn with"),
    "fog_kind": ("1", "kind of fog"),
    "drop_share": ("1", "share of fogs of the kind whose drops are smaller"),
    "optical_range": ("m", "meteorological optical range of the fog"),
    "month": ("1", "month"),
    "clock_hour": ("1", "hour of the record's clock, from 0"),
}

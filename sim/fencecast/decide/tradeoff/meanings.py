"""What the variables of tradeoff.nc mean, with their units."""

from __future__ import annotations

from fencecast.estimate.dataset import MEANINGS

TRADEOFF_SCHEMA = 1
_METRES = "metres whose pd, as estimated, is at or above the requirement"
_SHARED = ("pd", "noise_alarms_per_day", "weather", "weather_hours", "segment", "section", "chainage_m", "segment_start_m",
           "segment_end_m", "x_m", "y_m")  # fmt: skip
TRADEOFF_MEANINGS = {
    "setting": ("1", "family and value; the first is the site as it is"),
    "family": ("1", "which key is changed: threshold, N50, confirm, least size, dwell, offset; or as it is"),
    "value": ("1", "its value, as it is typed: of what varies its median; of offset the metres by which all lines lie inward"),
    "base_value": ("1", "the site file's own value of that key"),
    "meets_m": ("m", f"{_METRES} in every weather class"),
    "meets_low_m": ("m", "metres with the whole interval of pd above the requirement in every weather class"),
    "meets_high_m": ("m", "metres with no interval of pd wholly below the requirement"),
    "meets_class_m": ("m", f"{_METRES} in this weather class"),
    "change_m": ("m", "meets_m minus that of the site as it is, on the same crossings"),
    "change_low_m": ("m", "lower end of its paired interval, from resampled scramblings"),
    "change_high_m": ("m", "upper end of its paired interval"),
    "weakest_tenth": ("1", "mean pd of the weakest tenth of the metres, each in its worst class; chosen by other crossings"),
    "weakest": ("1", "pd of the weakest segment in its worst class; chosen by other crossings"),
    "unreached": ("1", "1 where no setting brings the segment to the requirement in every class"),
    "out_of_view": ("1", "1 where too few crossings come into view of a camera with an armed rule, under every setting"),
    "nuisance_year": ("1/night", "nuisance alarms of a night, mean over the year"),
    "nuisance_year_low": ("1/night", "lower end of its interval, uncertain rates included"),
    "nuisance_year_high": ("1/night", "upper end of its interval"),
    "nuisance_change": ("1", "nuisance_year divided by that of the site as it is, minus 1"),
    "nuisance_change_low": ("1", "lower end of its interval: the same rates and encounters in both"),
    "nuisance_change_high": ("1", "upper end of its interval"),
    "nuisance_cause_year": ("1/night", "nuisance alarms of a night from this stimulus, mean over the year"),
    "stimulus": ("1", "what raises nuisance alarms"),
    "bad_night_year": ("1/night", "nuisance alarms of a bad night: 19 nights in 20 have so many or fewer"),
    "dominated": (
        "1",
        "1 where another setting is better on one side, beyond the error, and within margins not worse on the other",
    ),
    "dominated_by": ("1", "that setting"),
    **{name: MEANINGS[name] for name in _SHARED},
}
TRADEOFF_MEANINGS["noise_alarms_per_day"] = ("1/day", "alarms of all cameras in a day from sensor noise only")

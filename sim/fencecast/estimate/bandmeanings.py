"""Unit and meaning of what a site that walks have calibrated adds to the results."""

from __future__ import annotations

BAND_MEANINGS = {
    "pd_parameter_low": (
        "1",
        "lower end of the mean pd of very many such places, each with a shift of its own, over what walks left open",
    ),
    "pd_parameter_high": ("1", "upper end of it"),
    "pd_place_low": ("1", "lower end of pd over what walks left open, at a place that nobody walked: it has a shift of its own"),
    "pd_place_high": ("1", "upper end of it"),
    "pd_sampling_half": ("1", "half width of the interval of pd from the crossings alone"),
    "pd_fence": ("1", "mean pd over the metres with data"),
    "pd_fence_low": ("1", "lower end of its interval: what walks left open, a shift of each segment, and the crossings"),
    "pd_fence_high": ("1", "upper end of its interval"),
}

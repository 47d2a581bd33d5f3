"""Unit and meaning of what nuisance alarms add to the results."""

from __future__ import annotations

_ENDS = (("", ""), ("_low", ": lower end of the interval"), ("_high", ": upper end of the interval"))


def _with_ends(name: str, unit: str, meaning: str) -> dict:
    return {f"{name}{end}": (unit, meaning + words) for end, words in _ENDS}


NUISANCE_MEANINGS = {
    "stimulus": ("1", "cause of nuisance alarms: a [[stimulus]] by its name; the last is sensor noise"),
    "stimulus_kind": ("1", "kind of the stimulus"),
    "stimulus_family": ("1", "body (walks, flies or drives past), burst (stands on no ground), or noise"),
    "encounters_night": ("1/night", "encounters with a body in a night of this weather; none for bursts and noise"),
    **_with_ends("p_nuisance", "1", "probability that one encounter raises an alarm"),
    "nuisance_night": ("1/night", "nuisance alarms a night for this cause, as if the whole night were of this weather"),
    "nuisance_segment": ("1/night", "nuisance alarms a night from bodies on this segment in this weather"),
    **_with_ends("nuisance_total", "1/night", "nuisance alarms a night, in this weather"),
    "nuisance_camera": ("1/night", "nuisance alarms a night, of this camera alone, in this weather"),
    "nuisance_cause_year": ("1/night", "nuisance alarms a night for this cause, mean over the year"),
    **_with_ends("nuisance_year", "1/night", "nuisance alarms a night, mean over the year"),
    "bad_night": ("1/night", "alarms that 95 % of nights in this weather do not pass, at central rates"),
    "bad_night_year": ("1/night", "alarms that 95 % of nights of the year do not pass, at central rates"),
    "night_pmf": ("1", "probability of 0, 1, 2, ... nuisance alarms in a night of the year"),
    "true_share": ("1", "share of alarms that are true at the given attempts a year; missing when none are given"),
    "operator_wait_s": ("s", "mean wait of an alarm for one operator; missing when he never catches up"),
}

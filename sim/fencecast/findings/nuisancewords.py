"""What is said of nuisance alarms in sentences; and, where they were not asked for, that they were not."""

from __future__ import annotations

import math
from typing import Any

from fencecast.estimate.nuisance import MET, NOT_MET
from fencecast.findings.nuisance import Cause, Ceiling, Nuisance, nuisance_asked
from fencecast.findings.words import listed, whole

MEANING = (
    "A nuisance alarm is one that no intruder raised: an animal, an insect near the lens, a branch in the wind, a passer-by."
)
# Beside every number of alarms that is sensor noise alone.
NOT_ASKED = "Nuisance alarms (animals, insects, branches, passers-by): not asked; this number is sensor noise alone."
NOT_AMONG_THEM = (
    "Nuisance alarms (animals, insects, branches, passers-by) are not among them: `fencecast run` counts them for a site file "
    "with [[stimulus]] tables."
)
SHORT_BASIS = "The rates behind the numbers are judgement until a log of alarms on site corrects them."
BASIS = (
    "The numbers rest on rates (how many animals, how often wind) that are judgement where the site file gives none. Only a log "
    "of alarms on the finished site says what they are: write its nights and alarms under [[soak]], and they are corrected."
)
NOT_MODELLED_HERE = (
    "Not modelled: a moving web, flag or cover that blinds the analytics for a time (many alarms of one camera within minutes "
    "should mean: inspect it); analytics that learn; animals in a group, which count singly. What share of resolved animals is "
    "taken for a person (confused), and from how many cycles on a shape shows (shape_cycles), are judgement."
)
# What the kinds are called in sentences and tables, unless the user gave a name.
_KINDS = {
    "hedgehog": "hedgehogs",
    "cat": "cats",
    "fox": "foxes",
    "dog": "loose dogs",
    "bird": "birds",
    "bat": "bats",
    "people": "people who pass",
    "vehicle": "vehicles",
    "insect": "insects near the lens",
    "web": "webs on the window",
    "branch": "branches in wind",
    "vent": "steam",
    "sun": "patches of sun",
}


def noise_note(attrs: dict[str, Any]) -> str:
    """What must stand beside a number of noise alarms: that nuisance alarms were not asked for, or how many they are."""
    if not nuisance_asked(attrs):
        return NOT_ASKED
    return "Nuisance alarms are counted by themselves."


def rate_words(per_night: float) -> str:
    """Alarms a night to two digits: '<0.01', '0.36', '5.1', '11', '1,053'; 'no data' for NaN, '0' for none."""
    if math.isnan(per_night):
        return "no data"
    if per_night < 0.005:
        return "0" if per_night <= 0.0 else "<0.01"
    if per_night < 0.995:
        return f"{per_night:.2f}"
    return f"{per_night:.1f}" if per_night < 9.95 else whole(per_night)


def interval_words(per_night: float, low: float, high: float, unit: str = "") -> str:
    """'5.1 (3.1 to 11)', '5.1 a night (3.1 to 11)'."""
    if math.isnan(per_night):
        return "no data"
    return f"{rate_words(per_night)}{unit and ' '}{unit} ({rate_words(low)} to {rate_words(high)})"


def percent_words(share: float) -> str:
    """'44 %', '<1 %'; never 0 % of what is there."""
    if 0.0 < share < 0.005:
        return "<1 %"
    return f"{100.0 * share:.0f} %"


def bad_night_words(bad_night: int) -> str:
    """'19 nights in 20 have 15 or fewer', or that most nights have none."""
    return f"19 nights in 20 have {bad_night:,} or fewer" if bad_night > 0 else "19 nights in 20 have none"


def bad_interval_words(found: Nuisance) -> str:
    """'15 (9 to 32)'; the number alone where its interval is not known."""
    if found.bad_low == found.bad_high:
        return f"{found.bad_night:,}"
    return f"{found.bad_night:,} ({found.bad_low:,} to {found.bad_high:,})"


def cause_name(cause: Cause) -> str:
    """The user's name, else what the kind is called: `cats`, `insects near the lens`."""
    return _KINDS.get(cause.kind, cause.name) if cause.name == cause.kind else cause.name


def causes_words(found: Nuisance) -> str:
    """'most from insects near the lens (44 %) and cats (30 %)'; '' when there are none."""
    named = [f"{cause_name(cause)} ({percent_words(cause.share)})" for cause in found.named]
    if not named:
        return ""
    return f"{'nearly all' if found.named[0].share >= 0.9 else 'most'} from {listed(named)}"


def headline(found: Nuisance) -> str:
    """`Nuisance alarms: 5.1 a night (3.1 to 11); 19 nights in 20 have 15 or fewer; most from cats (44 %) and foxes (30 %).`"""
    parts = [
        f"Nuisance alarms: {interval_words(found.per_night, found.low, found.high, 'a night')}",
        bad_night_words(found.bad_night),
        causes_words(found),
    ]
    return "; ".join(part for part in parts if part) + "."


def true_words(found: Nuisance) -> str:
    """`At 2 attempts a year 1 alarm in 1,000 is true.`; without attempts, that nobody said how many there are."""
    if math.isnan(found.attempts_per_year):
        return "What share of alarms is true depends on how often somebody tries: give attempts_per_year under [nuisance]."
    start = f"At {plural_number(found.attempts_per_year)} a year"
    if math.isnan(found.true_share):
        return f"{start} nothing is known of the share of alarms that is true."
    if found.true_share <= 0.0:
        return f"{start} no alarm is true."
    if found.true_share >= 0.1:
        return f"{start} {percent_words(found.true_share)} of alarms are true."
    return f"{start} 1 alarm in {_two_digits(1.0 / found.true_share)} is true."


def plural_number(attempts: float) -> str:
    """'1 attempt', '2 attempts', '0.5 attempts'."""
    return f"{attempts:g} attempt{'' if attempts == 1.0 else 's'}"


def _two_digits(number: float) -> str:
    return f"{float(f'{number:.2g}'):,.0f}"


def ceiling_words(ceiling: Ceiling) -> str:
    """`The ceiling of 2 a night is not met, even by the lower end.`, `... is undecided: only the upper end is above it.`"""
    of = " a night" if ceiling.of == "mean" else " in 19 nights of 20"
    why = {MET: ", even by the upper end", NOT_MET: ", even by the lower end"}.get(
        ceiling.verdict, ": the interval lies across it"
    )
    return f"The ceiling of {ceiling.value:g}{of} is {ceiling.verdict}{why}."


def operator_words(found: Nuisance) -> str:
    """How long an alarm waits for the operator, and with what else to do."""
    other = "no other alarms" if found.other_alarms_per_h <= 0.0 else f"{found.other_alarms_per_h:g} other alarms an hour"
    load = f"with {other} from elsewhere and {found.service_s:.0f} s to look at each"
    if math.isnan(found.wait_s):
        return f"The operator: {load}, alarms come faster than one person can look at them."
    seconds = "under 1 s" if found.wait_s < 1.0 else f"{_two_digits(found.wait_s)} s"
    return f"The operator: {load}, an alarm waits {seconds} on average until it is looked at."


def short_words(found: Nuisance) -> str:
    """For a sheet: `Nuisance alarms: 5.1 a night (3.1 to 11), 19 nights in 20 at most 15; the rates are judgement ...`"""
    bad = f"19 nights in 20 at most {found.bad_night:,}" if found.bad_night > 0 else "19 nights in 20 none"
    mean = interval_words(found.per_night, found.low, found.high, "a night")
    return f"Nuisance alarms: {mean}, {bad}; the rates are judgement until a log on site."

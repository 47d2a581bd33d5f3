"""What is said of nuisance alarms in sentences; and, where they were not asked for, that they were not."""

from __future__ import annotations

import math
from typing import Any

from fencecast.estimate.nights import NIGHTS_A_YEAR
from fencecast.estimate.nuisance import MET, NOT_MET, UNDECIDED
from fencecast.findings.nuisance import Cause, Ceiling, Nuisance, nuisance_asked
from fencecast.findings.words import listed, number_word, whole

MEANING = (
    "A nuisance alarm is one that no intruder raised: an animal, an insect near the lens, a branch in the wind, a passer-by."
)
# Beside every number of alarms that is sensor noise alone.
NOT_ASKED = "Nuisance alarms (animals, insects, branches, passers-by): not asked; this number is sensor noise alone."
NOT_AMONG_THEM = (
    "Nuisance alarms (animals, insects, branches, passers-by) are not among them: `fencecast run` counts them for a site file "
    "with [[stimulus]] tables."
)
_ONLY_NAMED = "Only what the site file names is counted."
_SEASON = "a log speaks for the season it was kept in"
NOT_MODELLED_HERE = (
    "Not modelled: a moving web, flag or cover that blinds the analytics for a time (many alarms of one camera within minutes "
    "should mean: inspect it); analytics that learn; animals in a group, which count singly. What share of resolved animals is "
    "taken for a person (confused), and from how many cycles on a shape shows (shape_cycles), are judgement."
)
_MOST_IN = 20  # nights that a reader can picture: `one night in six`
_OFTEN = {1.0: "once", 2.0: "twice"}
_OF = {"mean": "on average", "bad night": "on 19 nights in 20"}
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
    return "Nuisance alarms are counted apart from these."


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


def none_words(share: float) -> str:
    """'about one night in six has no alarm'; in percent where such a count does not fit; '' when unknown."""
    if math.isnan(share):
        return ""
    of = round(1.0 / share) if share > 0.0 else 0
    if 2 <= of <= _MOST_IN and abs(of * share - 1.0) <= 0.1:
        return f"about one night in {number_word(of)} has no alarm"
    return f"{percent_words(share)} of nights have no alarm" if share > 0.0 else "no night is without an alarm"


def bad_night_words(bad_night: int, low: int | None = None, high: int | None = None) -> str:
    """'19 nights in 20 have 15 or fewer', '... 15 (9 to 32) or fewer' where the ends are known, or that most nights have none."""
    ends = "" if low is None or high is None or low == high else f" ({low:,} to {high:,})"
    return f"19 nights in 20 have {bad_night:,}{ends} or fewer" if bad_night > 0 else f"19 nights in 20 have none{ends}"


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
        bad_night_words(found.bad_night, found.bad_low, found.bad_high),
        causes_words(found),
    ]
    return "; ".join(part for part in parts if part) + "."


def year_words(found: Nuisance) -> str:
    """`About 1,100 a year (770 to 2,000), counted before anybody looks at the picture; ...`; '' where there are none to speak
    of."""
    a_year, low, high = (NIGHTS_A_YEAR * each for each in (found.per_night, found.low, found.high))
    if not a_year >= 0.5:
        return ""
    said = f"About {_two_digits(a_year)} a year ({_two_digits(low)} to {_two_digits(high)})"
    return f"{said}, counted before anybody looks at the picture; how many become call-outs is not counted here."


def basis_words(found: Nuisance, names: bool = True) -> str:
    """What the numbers rest on; names: whether logged causes are named, else they are counted."""
    logged = found.logged
    if not logged:
        return f"{_ONLY_NAMED} Its rates are judgement until a log of alarms on site corrects them."
    if found.all_logged:
        return f"{_ONLY_NAMED} Each of its causes was logged on site; {_SEASON}."
    if not names:
        which = "one cause, which was logged" if len(logged) == 1 else f"{number_word(len(logged))} causes, which were logged"
        return f"{_ONLY_NAMED} Its rates are judgement, except {which}; {_SEASON}."
    nights = {log.cause: plural_of(log.nights, "night") for log in found.logs}
    if len(logged) == 1:
        which = f"{cause_name(logged[0])}, which were logged for {nights[logged[0].name]}"
    else:
        which = f"what was logged: {listed([f'{cause_name(cause)} for {nights[cause.name]}' for cause in logged])}"
    return f"{_ONLY_NAMED} Its rates are judgement, except {which}; {_SEASON}."


def long_basis_words(found: Nuisance) -> str:
    """Under all tables: what the numbers rest on, and how a log comes into them."""
    rest = " and that no log has corrected" if found.logs else ""
    return (
        "The numbers rest on rates (how many animals, how often wind) that are judgement where the site file gives none"
        f"{rest}. Only a log of alarms on the finished site tells them, for the season it was kept in: write each cause with its "
        "nights and alarms, quiet nights too, under [[soak]]."
    )


def true_words(found: Nuisance) -> str:
    """`If somebody tries twice a year, as the site file assumes, about 1 alarm in 1,000 is an intruder (1 in 640 to 1 in
    2,200).`; without attempts, that nobody said how many there are."""
    if math.isnan(found.attempts_per_year):
        return "What share of alarms is true depends on how often somebody tries: give attempts_per_year under [nuisance]."
    if found.attempts_per_year <= 0.0:
        return "Nobody tries, as the site file assumes: no alarm is an intruder."
    start = f"If somebody tries {times_a_year(found.attempts_per_year)}, as the site file assumes,"
    share = found.true_share
    if math.isnan(share):
        return f"{start} nothing is known of the share of alarms that are an intruder."
    if share <= 0.0:
        return f"{start} no alarm is an intruder."
    if share >= 1.0:
        return f"{start} every alarm is an intruder."
    # Odds go as one over the nuisance alarms: many of them make the lower end.
    ends = [share / (share + (1.0 - share) * nights / found.per_night) for nights in (found.low, found.high)]
    if share >= 0.1:
        said, (high, low) = percent_words(share), (percent_words(end) for end in ends)
        between = "" if low == high else f" ({low} to {high})"
        return f"{start} about {said} of alarms are an intruder{between}."
    said, first, last = (f"1 in {_two_digits(1.0 / each)}" for each in (share, *ends))
    between = "" if first == last else f" ({first} to {last})"
    return f"{start} about {said.replace('1 in', '1 alarm in', 1)} is an intruder{between}."


def times_a_year(attempts: float) -> str:
    """'once a year', 'twice a year', '12 times a year', 'once in 2 years'."""
    if attempts < 1.0:
        return f"once in {1.0 / attempts:.2g} years"
    return f"{_OFTEN.get(attempts, f'{attempts:g} times')} a year"


def plural_of(number: float, noun: str) -> str:
    """'1 night', '14 nights', '0.5 nights'."""
    return f"{number:g} {noun}{'' if number == 1.0 else 's'}"


def _two_digits(number: float) -> str:
    return f"{number:.2g}" if 0.0 < number < 9.95 else f"{float(f'{number:.2g}'):,.0f}"


def ceiling_words(ceiling: Ceiling) -> str:
    """`The ceiling of 2 a night on average is not met, even by the lower end.`, `... is undecided: 2.1 to 5.6 lies across it.`"""
    words = rate_words if ceiling.of == "mean" else whole
    why = {MET: " in this model, even by the upper end", NOT_MET: ", even by the lower end"}.get(
        ceiling.verdict, f": {words(ceiling.low)} to {words(ceiling.high)} lies across it"
    )
    return f"The ceiling of {ceiling.value:g} a night {_OF[ceiling.of]} is {ceiling.verdict}{why}."


def ceilings_words(found: Nuisance) -> list[str]:
    """A sentence for each ceiling, and one on what settles those that are undecided."""
    said = [ceiling_words(ceiling) for ceiling in found.ceilings]
    if UNDECIDED in (ceiling.verdict for ceiling in found.ceilings) and found.uncertainty > 1.0:
        log = (
            "A log of alarms on site"
            if not found.logs
            else "A log on site of more nights" + ("" if found.all_logged else " and causes")
        )
        said.append(f"{log} narrows this; more crossings hardly do.")
    return said


def ceiling_name(of: str) -> str:
    """What a ceiling is called in a table: `ceiling: a night on average`."""
    return f"ceiling: {'a night ' if of == 'mean' else ''}{_OF[of]}"


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
    logged = found.logged
    rest = "the rates are judgement until a log on site"
    if logged:
        rest = "each cause was logged on site" if found.all_logged else f"the rates are judgement but for {_few_logged(logged)}"
    return f"Nuisance alarms: {mean}, {bad}; {rest}."


def _few_logged(logged: tuple[Cause, ...]) -> str:
    """'cats, which were logged', 'three causes, which were logged'."""
    named = listed([cause_name(cause) for cause in logged]) if len(logged) <= 2 else f"{number_word(len(logged))} causes"
    return f"{named}, which were logged"

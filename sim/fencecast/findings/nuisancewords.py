"""What is said of nuisance alarms: headline, tables, notes; and, where they were not asked for, that they were not."""

from __future__ import annotations

import math
from typing import Any

from fencecast.estimate.results import Results
from fencecast.findings.blocks import BAD, FINDING, GOOD, LEFT, NOTE, RIGHT, TEXT, Block, Cell, Heading, Line, Table
from fencecast.findings.nuisance import (
    ALLOWED_FALSE,
    ALLOWED_FIRST_90_DAYS,
    ALLOWED_THEN,
    GUIDE,
    MET,
    NOT_MET,
    Ceiling,
    Nuisance,
    nuisance_asked,
    nuisance_of,
)
from fencecast.findings.words import confidence_text, in_class, listed, plural, whole

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
_COLUMNS = 6  # classes in one table, so that it fits 100 columns


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
    """'one night in twenty has 15 or more', or that most nights have none."""
    return f"one night in twenty has {bad_night:,} or more" if bad_night > 0 else "19 nights in 20 have none"


def causes_words(found: Nuisance) -> str:
    """'most from insect near the lens (44 %) and cat (30 %)'; '' when there are none."""
    named = [f"{cause.name} ({percent_words(cause.share)})" for cause in found.named]
    if not named:
        return ""
    return f"{'nearly all' if found.named[0].share >= 0.9 else 'most'} from {listed(named)}"


def headline(found: Nuisance) -> str:
    """`Nuisance alarms: 5.1 a night (3.1 to 11); one night in twenty has 15 or more; most from cat (44 %) and fox (30 %).`"""
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


def ceiling_words(ceiling: Ceiling, found: Nuisance) -> str:
    """`The ceiling of 2 a night is not met.`, `... is undecided: only the upper end, 11, is above it.`"""
    if ceiling.of == "bad night":
        what = f"The ceiling of {ceiling.value:g} on one night in twenty"
        return f"{what} is {ceiling.verdict}." if ceiling.verdict == MET else f"{what} is {ceiling.verdict}: {found.bad_night:,}."
    what = f"The ceiling of {ceiling.value:g} a night is"
    if ceiling.verdict in (MET, NOT_MET):
        return f"{what} {ceiling.verdict}, even by the {'upper' if ceiling.verdict == MET else 'lower'} end of the interval."
    return f"{what} undecided: the upper end of the interval is above it."


def head_lines(results: Results) -> list[Block]:
    """Under the verdict of a run: the headline, and each ceiling that is set; none when they were not asked for."""
    found = nuisance_of(results)
    if found is None:
        return []
    said = [headline(found), *(ceiling_words(ceiling, found) for ceiling in found.ceilings)]
    return [Line(" ".join(said), FINDING), Line(true_words(found)), Line(f"{MEANING} {SHORT_BASIS}", NOTE)]


def nuisance_blocks(results: Results) -> list[Block]:
    """The part of a run's report: by cause and weather, by camera, against ceilings, for the operator, and what it rests on."""
    found = nuisance_of(results)
    if found is None:
        return []
    return [
        Heading("Nuisance alarms a night: by cause and weather class, the year by hours"),
        *cause_tables(found),
        Line(class_note(found, results.confidence), NOTE),
        *camera_blocks(found),
        *ceiling_blocks(found),
        *(Line(line) for line in operator_lines(found)),
        Line(BASIS, NOTE),
        Line(NOT_MODELLED_HERE, NOTE),
    ]


def cause_tables(found: Nuisance) -> list[Block]:
    """Causes, most first, against the year and the weather classes; below them all, the interval and the bad night."""
    blocks: list[Block] = []
    several = len(found.classes) > 1
    groups = [found.classes[k : k + _COLUMNS] for k in range(0, len(found.classes), _COLUMNS)]
    for number, group in enumerate(groups):
        first = number == 0
        columns = [("cause", LEFT), *([("year", RIGHT), ("share", RIGHT)] if first and several else [])]
        columns += [("\n".join(each.name.split(" ")), RIGHT) for each in group]
        rows: list[list[str | Cell]] = []
        for cause in found.causes:
            year = [rate_words(cause.per_night), percent_words(cause.share)] if first and several else []
            rows.append([cause.name, *year, *(rate_words(cause.by_class[each.index]) for each in group)])
        for name, year_value, value in (
            ("all", rate_words(found.per_night), lambda c: rate_words(c.per_night)),
            ("from", rate_words(found.low), lambda c: rate_words(c.low)),
            ("to", rate_words(found.high), lambda c: rate_words(c.high)),
            ("one night in 20", f"{found.bad_night:,}", lambda c: f"{c.bad_night:,}"),
        ):
            year = [year_value, ""] if first and several else []
            rows.append([name, *year, *(value(each) for each in group)])
        blocks.append(Table.of(columns, rows))
    return blocks


def class_note(found: Nuisance, confidence: float) -> str:
    """What the columns, the interval and the bad night mean."""
    return (
        f"Of a class: as if all of a night, {found.armed_h_per_night:.2g} armed hours, were of it. From, to: the "
        f"{confidence_text(confidence)} interval; a rate that is given as one number may be a factor {found.uncertainty:g} off "
        f"either way. One night in 20 has so many or more; {percent_words(found.none_share)} of nights have no alarm."
    )


def camera_blocks(found: Nuisance) -> list[Block]:
    """Each camera alone, most first; how often what passes raises an alarm."""
    columns = [("camera", LEFT), ("a night", RIGHT), ("most", RIGHT), ("in", LEFT)]
    cameras = sorted(found.cameras, key=lambda camera: -camera.per_night)
    rows = [[c.mark, rate_words(c.per_night), rate_words(c.worst), c.worst_class] for c in cameras]
    blocks: list[Block] = [
        Heading("Nuisance alarms by camera, each alone"),
        Table.of(columns, rows),
        Line("Where views overlap two cameras may raise one alarm: their numbers add up to more than the total.", NOTE),
    ]
    passing = [cause for cause in found.causes if cause.passes_night > 0.0]
    if passing:
        said = [f"{c.name} {rate_words(c.passes_night)} ({percent_words(c.per_night / c.passes_night)})" for c in passing]
        blocks.append(Line(f"Passes a night, and how many of them raise an alarm: {'; '.join(said)}.", NOTE))
    return blocks


_ROLES = {MET: GOOD, NOT_MET: BAD}


def ceiling_blocks(found: Nuisance) -> list[Block]:
    """The site file's ceilings with their verdicts, and those of a published guide beside them."""
    columns = [("ceiling", LEFT), ("a night, at most", RIGHT), ("here", RIGHT), ("", LEFT)]
    mean = interval_words(found.per_night, found.low, found.high)
    rows: list[list[str | Cell]] = []
    for ceiling in found.ceilings:
        name, here = ("[requirement] nuisance_per_night", mean)
        if ceiling.of == "bad night":
            name, here = ("[requirement] nuisance_bad_night", f"{found.bad_night:,}")
        rows.append([name, f"{ceiling.value:g}", here, Cell(ceiling.verdict, _ROLES.get(ceiling.verdict, TEXT))])
    for name, most, here in allowed_rows(found):
        rows.append([f"guide: {name}", rate_words(most), rate_words(here), times_words(here, most)])
    zones = plural(found.zones, "section")
    lines = [
        f"Guide: published allowances (source: {GUIDE}), beside the site's own ceilings and never in their place: nuisance "
        "alarms at most one in 7 days a zone in the first 90 days and one in 30 days after them, false alarms one in 30 days a zone; "
        f"here {zones} as zones.",
    ]
    if found.ceilings:
        lines.append("Met, not met: the whole interval lies below, above the ceiling; undecided: across it.")
    else:
        lines.append("No ceiling is set: nuisance_per_night and nuisance_bad_night under [requirement] set one.")
    return [Heading("Nuisance alarms against ceilings"), Table.of(columns, rows), *(Line(line, NOTE) for line in lines)]


def allowed_rows(found: Nuisance) -> list[tuple[str, float, float]]:
    """What the published guide limits: what, alarms a night that it allows for these zones, alarms a night here."""
    return [
        ("nuisance, first 90 days", ALLOWED_FIRST_90_DAYS * found.zones, found.per_night),
        ("nuisance, after them", ALLOWED_THEN * found.zones, found.per_night),
        ("false (sensor noise)", ALLOWED_FALSE * found.zones, found.noise_night),
    ]


def times_words(here: float, most: float) -> str:
    """'within', '9 times as many'; '' when unknown."""
    if math.isnan(here) or most <= 0.0:
        return ""
    return "within" if here <= most else f"{rate_words(here / most)} times as many"


def operator_lines(found: Nuisance) -> list[str]:
    """How long an alarm waits until the operator is free."""
    if math.isnan(found.wait_s):
        return ["Alarms come faster than one operator can look at them: the queue never ends."]
    seconds = "under 1 s" if found.wait_s < 1.0 else f"{_two_digits(found.wait_s)} s"
    return [f"An alarm waits {seconds} on average until the operator is free, behind nuisance and other alarms."]


def short_words(found: Nuisance) -> str:
    """For a sheet: `Nuisance alarms: 5.1 a night (3.1 to 11), one night in twenty 15 or more; on rates that are judgement ...`"""
    bad = f"one night in twenty {found.bad_night:,} or more" if found.bad_night > 0 else "19 nights in 20 none"
    mean = interval_words(found.per_night, found.low, found.high, "a night")
    return f"Nuisance alarms: {mean}, {bad}; on rates that are judgement until a log of alarms on site."


def worst_class_words(found: Nuisance) -> str:
    """'at dusk most, 8.2 a night': the class of the most alarms; '' with one class."""
    if len(found.classes) < 2:
        return ""
    worst = max(found.classes, key=lambda each: each.per_night)
    return f"{in_class(worst.name)} most, {rate_words(worst.per_night)} a night"

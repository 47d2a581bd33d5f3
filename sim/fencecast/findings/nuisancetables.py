"""Nuisance alarms as blocks of a report: by cause and weather, by camera, against ceilings, with the logs from the site."""

from __future__ import annotations

import math

from fencecast.estimate.nuisance import MET, NOT_MET
from fencecast.estimate.results import Results
from fencecast.findings.blocks import BAD, FINDING, GOOD, LEFT, NOTE, RIGHT, TEXT, Block, Cell, Heading, Line, Table
from fencecast.findings.nuisance import (
    ALLOWED_FALSE,
    ALLOWED_FIRST_90_DAYS,
    ALLOWED_THEN,
    GUIDE,
    Nuisance,
    nuisance_of,
)
from fencecast.findings.nuisancewords import (
    MEANING,
    NOT_MODELLED_HERE,
    bad_interval_words,
    basis_words,
    cause_name,
    ceiling_name,
    ceilings_words,
    headline,
    interval_words,
    long_basis_words,
    none_words,
    operator_words,
    percent_words,
    rate_words,
    true_words,
    year_words,
)
from fencecast.findings.words import confidence_text, plural

_COLUMNS = 6  # classes in one table, so that it fits 100 columns
NONE_SIMULATED = "none of those simulated"
_ROLES = {MET: GOOD, NOT_MET: BAD}


def head_lines(results: Results) -> list[Block]:
    """Under the verdict of a run: the headline, and each ceiling that is set; none when they were not asked for."""
    found = nuisance_of(results)
    if found is None:
        return []
    said = [headline(found), *ceilings_words(found)]
    second = " ".join(text for text in (year_words(found), true_words(found)) if text)
    return [Line(" ".join(said), FINDING), Line(second), Line(f"{MEANING} {basis_words(found)}", NOTE)]


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
        *log_blocks(found),
        Line(operator_words(found)),
        *(Line(note, NOTE) for note in found.notes),
        Line(long_basis_words(found), NOTE),
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
            if cause.name in found.unseen:
                rows.append([f"{cause_name(cause)} (not in view)", *("–" for _ in columns[1:])])
            else:
                rows.append([cause_name(cause), *year, *(rate_words(cause.by_class[each.index]) for each in group)])
        for name, year_value, value in (
            ("all causes", rate_words(found.per_night), lambda c: rate_words(c.per_night)),
            ("all, lower end", rate_words(found.low), lambda c: rate_words(c.low)),
            ("all, upper end", rate_words(found.high), lambda c: rate_words(c.high)),
            ("all, 19 nights in\n20 at most", f"{found.bad_night:,}", lambda c: f"{c.bad_night:,}"),
        ):
            year = [year_value, ""] if first and several else []
            rows.append([name, *year, *(value(each) for each in group)])
        blocks.append(Table.of(columns, rows))
    return blocks


def class_note(found: Nuisance, confidence: float) -> str:
    """What the columns, the interval and the bad night mean."""
    none = none_words(found.none_share)
    return (
        f"Of a class: as if all of a night, {found.armed_h_per_night:.2g} armed hours, were of it. The year: the mean of "
        f"{'its recorded nights, hour by hour' if found.recorded else 'the classes by their hours'}. Lower, "
        f"upper end: of the {confidence_text(confidence)} interval; a rate that is given as one number may be a factor "
        f"{found.uncertainty:g} off either way. 19 nights in 20 have this many or fewer{none and '; '}{none}."
    )


def camera_blocks(found: Nuisance) -> list[Block]:
    """Each camera alone, most first; how often what passes raises an alarm."""
    columns = [("camera", LEFT), ("a night", RIGHT), ("in its worst class", RIGHT), ("which is", LEFT)]
    cameras = sorted(found.cameras, key=lambda camera: -camera.per_night)
    rows = [[c.mark, rate_words(c.per_night), rate_words(c.worst), c.worst_class] for c in cameras]
    blocks: list[Block] = [
        Heading("Nuisance alarms by camera, each alone"),
        Table.of(columns, rows),
        Line("Where views overlap two cameras may raise one alarm: their numbers add up to more than the total.", NOTE),
    ]
    passing = [cause for cause in found.causes if cause.passes_night > 0.0]
    if passing:
        shares = [percent_words(c.passes_share) if c.passes_share > 0.0 else NONE_SIMULATED for c in passing]
        said = [f"{cause_name(c)} {rate_words(c.passes_night)} ({share})" for c, share in zip(passing, shares)]
        blocks.append(Line(f"Passes a night, and how many of them raise an alarm: {'; '.join(said)}.", NOTE))
    return blocks


def ceiling_blocks(found: Nuisance) -> list[Block]:
    """The site file's ceilings with their verdicts, and those of a published guide beside them."""
    columns = [("ceiling", LEFT), ("a night, at most", RIGHT), ("here", RIGHT), ("", LEFT)]
    mean = interval_words(found.per_night, found.low, found.high)
    rows: list[list[str | Cell]] = []
    for ceiling in found.ceilings:
        here = bad_interval_words(found) if ceiling.of == "bad night" else mean
        rows.append(
            [ceiling_name(ceiling.of), f"{ceiling.value:g}", here, Cell(ceiling.verdict, _ROLES.get(ceiling.verdict, TEXT))]
        )
    for name, most, here in allowed_rows(found):
        rows.append([f"guide: {name}", rate_words(most), rate_words(here), times_words(found, here, most)])
    zones = plural(found.zones, "section")
    lines = [
        f"Guide: published allowances (source: {GUIDE}), beside the site's own ceilings and never in their place: nuisance "
        "alarms at most one in 7 days a zone in the first 90 days and one in 30 days after them, false alarms one in 30 days a "
        f"zone; here {zones} as zones.",
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
        ("nuisance, after 90 days", ALLOWED_THEN * found.zones, found.per_night),
        ("false (sensor noise)", ALLOWED_FALSE * found.zones, found.noise_night),
    ]


def times_words(found: Nuisance, here: float, most: float) -> str:
    """'within', 'about 9 times (6 to 19)', the latter as far off as the mean; '' when unknown."""
    if math.isnan(here) or most <= 0.0:
        return ""
    if here <= most:
        return "within"
    if here != found.per_night:
        return f"about {_times(here / most)} times"
    low, high = (_times(end / most) for end in (found.low, found.high))
    return f"about {_times(here / most)} times ({low} to {high})"


def _times(ratio: float) -> str:
    """One digit from ten up: nobody knows more of a ratio of two such numbers."""
    return f"{float(f'{ratio:.1g}'):,.0f}" if ratio >= 9.5 else f"{ratio:.2g}"


def log_blocks(found: Nuisance) -> list[Block]:
    """What was logged on site, beside what was assumed before it and what is taken after it; none without a log."""
    if not found.logs:
        return []
    names = {cause.name: cause_name(cause) for cause in found.causes}
    columns = [("cause", LEFT), ("log", LEFT), ("before the log", RIGHT), ("as logged", RIGHT), ("after the log", RIGHT)]
    rows = []
    for log in found.logs:
        counted = f"{log.alarms:,} in {log.nights:g} nights"
        numbers = [rate_words(log.before), interval_words(*log.logged), interval_words(*log.after)]
        rows.append([names.get(log.cause, log.cause), counted, *numbers])
    return [
        Heading("Nuisance alarms a night: logs from the site"),
        Table.of(columns, rows),
        Line(
            "As logged: the interval of a count, wider where nights differ. After the log, which all numbers above use: the rate "
            "before it, which may be far off, and the log together, each by how much it says.",
            NOTE,
        ),
    ]

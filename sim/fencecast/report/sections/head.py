"""The head of a report: who it is for, what it is of, and the verdict with its four figures."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fencecast.cautions import CAUTION
from fencecast.estimate.diagnosis import counted_classes
from fencecast.estimate.results import Results
from fencecast.findings.calibration import calibrated_line, calibration_of
from fencecast.findings.provedtest import UNWALKED, tested_line
from fencecast.findings.rehearsal import BAR
from fencecast.findings.titles import over_year, reason_lines, simulated_metres, verdict_line
from fencecast.findings.words import metres_text, requirement_text
from fencecast.report.options import NOT_GIVEN, ReportOptions
from fencecast.report.sections.section import Source
from fencecast.report.words import out_of

SUBTITLE = "Probability of an intrusion alarm, metre by metre and by weather class"


@dataclass(frozen=True)
class Head:
    """The head of every page: texts as they are printed."""

    title: str
    subtitle: str
    issue: str
    status: str
    day: str
    made_by: str
    made_for: str


@dataclass(frozen=True)
class Figure:
    """One of the large figures under the verdict."""

    label: str
    value: str
    note: str


@dataclass(frozen=True)
class Verdict:
    """The verdict in one sentence, its reasons, and the figures."""

    line: str
    reasons: tuple[str, ...]
    figures: tuple[Figure, ...]
    caution: str


def head_of(results: Results, options: ReportOptions) -> Head:
    """The head, from the results' title and what the sender says."""
    return Head(
        title=str(results.attrs["title"]),
        subtitle=SUBTITLE,
        issue=options.issue,
        status=options.status,
        day=options.day(results.attrs),
        made_by=options.made_by or NOT_GIVEN,
        made_for=options.made_for or NOT_GIVEN,
    )


def figures_of(results: Results) -> tuple[Figure, ...]:
    """Required, weak and (where any are) undecided in the worst class, weak over the year or what was run of it, meets in every
    class [metres as printed]."""
    counted, units = counted_classes(results), results.units
    total = f"of {metres_text(simulated_metres(results), units)}"
    verdicts = results.array("verdict", "weather", "segment")[counted]
    meets = float(np.sum(results.lengths_m[np.all(verdicts == "meets", axis=0)]))
    worst = next(c for c in results.worst_first if c.index in set(counted))
    year = float(np.sum(results.lengths_m[results.year_verdicts == "weak"]))
    part, _, of = out_of(results.requirement).partition(" in ")
    percent = f"{100.0 * results.requirement:.6g} %"
    need = f"of {of} crossings of any metre, in any weather, {part} must raise an alarm; not {percent} of the fence"
    undecided = ()
    if worst.undecided_m >= 0.5:
        text = metres_text(worst.undecided_m, units)
        undecided = (Figure("Undecided in the worst class", text, f"{total}, {worst.name}: too close to call"),)
    return (
        Figure("Required", requirement_text(results.requirement), need),
        Figure("Weak in the worst class", metres_text(worst.weak_m, units), f"{total}, {worst.name}: fewer than {part} in {of}"),
        *undecided,
        Figure(f"Weak {over_year(results)}", metres_text(year, units), f"{total}, classes weighted by hours"),
        Figure("Meets in every class", metres_text(meets, units), total),
    )


def verdict_of(source: Source) -> Verdict:
    """The verdict with the weakest place in its reasons: for the full edition. What was tested on site stands first, then what
    the numbers rest on where walks have calibrated them."""
    results, facts = source.results, calibration_of(source.results.attrs)
    tested = tested_line(source.proof)
    rests = () if facts is None else (calibrated_line(facts), UNWALKED)
    reasons = (*([BAR] if source.rehearsal else []), *([tested] if tested else []), *reason_lines(results), *rests)
    return Verdict(verdict_line(results), reasons, figures_of(results), CAUTION)

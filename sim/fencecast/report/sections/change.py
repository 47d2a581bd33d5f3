"""What would change it: the changes that a search found, another design, and what is lost if something fails."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fencecast.decide.remedyfacts import RemedyFacts, RemedyStep, kept_remedy
from fencecast.estimate.intervals import verdicts
from fencecast.estimate.places import code_of, runs_of, verdict_metres
from fencecast.estimate.results import Results
from fencecast.estimate.weakest import lowest_places
from fencecast.findings.blocks import LEFT, NOTE, RIGHT, Block, Heading, Line, Table
from fencecast.findings.checksentences import with_feet
from fencecast.findings.compare import pair_blocks
from fencecast.findings.comparison import plain_sentence, variant_names
from fencecast.findings.losses import loss_blocks, worst_text
from fencecast.findings.losses import loss_rows as rows_of_losses
from fencecast.findings.remedy import WHAT_TO_CHANGE, kept_steps, remedy_blocks
from fencecast.findings.runfacts import segment_code
from fencecast.findings.words import hours_heading, in_class, listed, metres_text, number_word, pd_text, whole
from fencecast.report.sections.section import Body, Source
from fencecast.site import Site

FREE_FIRST = WHAT_TO_CHANGE.partition(",")[0]  # without prices nobody knows what costs least
_KINDS = {"rule": "rule", "turned": "camera turned", "lens": "other lens", "height": "other height", "new": "camera added"}
_MOST_LEFT = 6  # places that stay weak, by name
_COUNTED = (
    "Metres before and after are counted on fresh crossings, which chose nothing; the other sections count those of the run, so "
    "that the same fence may have a metre or two more or less weak here."
)


@dataclass(frozen=True)
class Part:
    """One part of the section: its heading, its finding ('' for none) and what stands under it."""

    heading: str
    finding: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True)
class Change:
    parts: tuple[Part, ...]


def change_of(source: Source) -> Body | None:
    """The section; None when no change was looked for, nothing was compared and nothing was taken out."""
    results = source.results
    parts = [*_remedy(results), *_compared(source.comparison), *_losses(results)]
    return Body("What would change it", "", Change(tuple(parts))) if parts else None


def _remedy(results: Results) -> list[Part]:
    remedy, site = kept_remedy(results.attrs), results.site
    if "remedy_found" not in results.attrs:
        steps = kept_steps(results)  # of an older version, which kept these alone
        lines = tuple(Line(from_to(site, text)) for text in steps)
        return [Part(FREE_FIRST, "", (*lines, Line(_COUNTED, NOTE)))] if steps else []
    _, *blocks = remedy_blocks(remedy)
    lines = [Line(from_to(site, block.text), block.role) for block in blocks if isinstance(block, Line)]
    if remedy is None:
        return [Part("Changes that were looked for", lines[0].text, ())]
    first, *rest = lines
    told = rest[len(remedy.steps) :]  # the steps stand in a table
    heading = WHAT_TO_CHANGE if remedy.cost is not None else FREE_FIRST
    return [Part(heading, first.text, (_steps(results, remedy), *_left(results, remedy), *told, *_before_after(results, remedy)))]


def from_to(site: Site, text: str) -> str:
    """Metres before and after as a reader says them: `from 11 to 6 m weak`, `54 m stay weak`; no arrow is left. Feet beside them
    where the site asks for them."""
    unit = " m" if site.units == "us" else ""

    def said(found: re.Match[str]) -> str:
        before, after = found[1], found[2]
        return f"{after} m stay weak" if before == after else f"from {before}{unit} to {after} m weak"

    return with_feet(site, re.sub(r"([\d,]+)(?: m weak)? -> ([\d,]+) m weak", said, text))


def _steps(results: Results, remedy: RemedyFacts) -> Table:
    """A row for each change, in order, with the metres weak before and after it; the last row: after all of them."""
    units, priced = results.units, bool(remedy.cost)
    rows: list[list[str]] = []
    for k, step in enumerate(remedy.steps, start=1):
        cost = [whole(step.cost) if step.cost else ""] if priced else []
        rows.append(
            [
                f"{k}. {_KINDS.get(step.kind, 'change')}",
                with_feet(results.site, step.words),
                *_metres(step, remedy.worst, units),
                *cost,
            ]
        )
    number = len(remedy.steps)
    if number > 1:
        before, after = remedy.weak_m
        meets = " Every watched metre then meets the requirement in this model." if remedy.mends else ""
        words = f"{metres_text(after, units)} {'stays' if whole(after) == '1' else 'stay'} weak {in_class(remedy.worst)}.{meets}"
        row = [f"After all {number_word(number)}", words, remedy.worst, metres_text(before, units), metres_text(after, units)]
        rows.append([*row, *([whole(remedy.cost or 0.0)] if priced else [])])
    columns = [("change", LEFT), ("what, and who hears", LEFT), ("weak in", LEFT), ("before", RIGHT), ("after", RIGHT)]
    return Table.of([*columns, *([("cost", RIGHT)] if priced else [])], rows)


def _metres(step: RemedyStep, worst: str, units: str) -> list[str]:
    """Class, metres before and after: of the headline's class, or where that gains nothing of the class that gains most."""
    (before, after), name = step.weak_m, worst
    if abs(before - after) >= 0.5:
        return [name, metres_text(before, units), metres_text(after, units)]
    (before, after), gains = step.most_m, step.most_in
    if gains != worst and before - after >= 0.5:
        return [f"{gains}; no metre less {in_class(worst)}", metres_text(before, units), metres_text(after, units)]
    return ["no metre less, Pd a little higher", "", ""]


def _left(results: Results, remedy: RemedyFacts) -> list[Block]:
    """Where it stays weak after all changes, and why the first number of metres may not be that of the run."""
    if "pd_remedy" not in results or remedy.worst not in results.classes:
        return [Line(_COUNTED, NOTE)]
    row = results.classes.index(remedy.worst)
    words = [
        verdicts(*(results.at(f"pd_remedy{end}", remedy=k, weather=row) for end in ("_low", "_high")), results.requirement)
        for k in (0, -1)
    ]
    runs = [run for run in runs_of(words[1], results.sections) if run.verdict == "weak"]
    runs.sort(key=lambda run: -float(results.lengths_m[run.first : run.stop].sum()))
    codes = [code_of(results, results.sections, run.first, run.stop - 1) for run in runs]
    lines: list[Block] = []
    if codes:
        shown = (
            listed(codes[:_MOST_LEFT])
            if len(codes) <= _MOST_LEFT
            else f"{', '.join(codes[:_MOST_LEFT])} and {len(codes) - _MOST_LEFT} more"
        )
        lines.append(Line(f"Weak {in_class(remedy.worst)} after {'it' if len(remedy.steps) == 1 else 'all of them'}: {shown}."))
    own = metres_text(verdict_metres(results.at("verdict", weather=row), results.lengths_m)["weak"], results.units)
    fresh = metres_text(verdict_metres(words[0], results.lengths_m)["weak"], results.units)
    differs = "" if own == fresh else f" As it is, {own} are weak {in_class(remedy.worst)} in the run and {fresh} here."
    return [*lines, Line(_COUNTED + differs, NOTE)]


def _before_after(results: Results, remedy: RemedyFacts) -> list[Block]:
    """Metres weak in every class before and after, on the same fresh crossings."""
    if "pd_remedy" not in results:
        return []
    rows = []
    for c in results.worst_first:
        ends = [results.at(f"pd_remedy{end}", remedy=k, weather=c.index) for k in (0, -1) for end in ("_low", "_high")]
        if np.isnan(ends[0]).all():
            continue
        before, after = (
            verdict_metres(verdicts(low, high, results.requirement), results.lengths_m) for low, high in (ends[:2], ends[2:])
        )
        cells = [metres_text(each[word], results.units) for word in ("weak", "undecided") for each in (before, after)]
        rows.append([c.name, whole(c.stated_hours), *cells])
    if not rows:
        return []
    columns = [("class", LEFT), (hours_heading(results.years), RIGHT), ("weak\nbefore", RIGHT), ("weak\nafter", RIGHT)]
    columns += [("undecided\nbefore", RIGHT), ("undecided\nafter", RIGHT)]
    return [
        Heading(f"Metres by weather class before and after {'the change' if len(remedy.steps) == 1 else 'all of them'}"),
        Table.of(columns, rows),
        Line(
            "Before and after are from the same fresh crossings, so that nothing but the changes differs; before may differ from "
            "the main run by chance, within its interval.",
            NOTE,
        ),
    ]


def _compared(comparison: Results | None) -> list[Part]:
    if comparison is None:
        return []
    base, *others = variant_names(comparison)
    parts = []
    for k, name in enumerate(others):
        _, *blocks = pair_blocks(comparison, k)
        parts.append(Part(f"{name} against {base}", plain_sentence(comparison, k), tuple(blocks)))
    return parts


def _losses(results: Results) -> list[Part]:
    blocks = loss_blocks(results)
    if not blocks:
        return []
    finding = worst_text(rows_of_losses(results))
    rest: Sequence[Block] = [block for block in blocks[1:] if not (isinstance(block, Line) and block.text == finding)]
    heading = blocks[0]
    assert isinstance(heading, Heading)
    return [Part("If something fails", finding, (heading, *_said_shorter(results, rest)))]


def _said_shorter(results: Results, blocks: Sequence[Block]) -> list[Block]:
    """The table of losses without its weakest places where each of them has the same printed Pd as the site without a loss."""
    places = results.weak_places or lowest_places(results)
    same = bool(places) and {pd_text(row["pd"]) for row in rows_of_losses(results)} == {pd_text(places[0].pd)}
    if not same:
        return list(blocks)
    found: list[Block] = []
    for block in blocks:
        names = [name for name, _ in block.columns] if isinstance(block, Table) else []
        if isinstance(block, Table) and "weakest place" in names:
            kept = [k for k, name in enumerate(names) if name not in ("weakest place", "Pd")]
            found.append(Table.of([block.columns[k] for k in kept], [[row[k] for k in kept] for row in block.rows]))
            code = segment_code(results, places[0].segment)
            text = f"With each of these losses the weakest metre has Pd {pd_text(places[0].pd)}, as {code} has without one."
            found.append(Line(text))
        else:
            found.append(block)
    return found

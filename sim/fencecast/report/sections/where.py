"""Where and when: the plan, the table by weather, what is known of one metre, and the fence strip.

The page is whole as it is sent: worst class, lowest metre. The script moves the same three things to any other metre.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fencecast.estimate.diagnosis import counted_classes
from fencecast.estimate.results import Results
from fencecast.estimate.weakest import Place, lowest_places
from fencecast.findings.readings import reading
from fencecast.findings.runfacts import segment_code
from fencecast.findings.sheetwords import verdict_meanings
from fencecast.findings.titles import plan_title, simulated_metres, strip_title
from fencecast.findings.words import feet, metres_text, whole
from fencecast.report import figures
from fencecast.report.cells import Cells, cells_of, interval_words, metre_lines, verdict_word
from fencecast.report.scriptdata import PlaceData, script_data
from fencecast.report.sections import wherewords
from fencecast.report.sections.section import Body, Source
from fencecast.report.sections.why import said_once
from fencecast.report.words import told_in_class
from fencecast.show.fence.data import MOST_PLACES, class_rows, year_row

HEADING = "Where and when"
MANY_CLASSES = 12  # from more on, the plan stays beside the long table
NOTHING = "Nothing was simulated: no rule watches any section."


@dataclass(frozen=True)
class WeatherRow:
    """A row of the table: a class or the year. weak, undecided: whole metres; feet: both in feet, '' in SI; no_data: metres
    without data in words, ''; pd, verdict: of the metre that is shown; word_class: of its verdict, for the style sheet."""

    name: str
    hours: str
    year: bool
    bar: figures.Markup
    weak: str
    undecided: str
    feet: str
    no_data: str
    dot: figures.Markup
    pd: str
    verdict: str
    word_class: str


@dataclass(frozen=True)
class Where:
    """What the section shows. code, section, lines: the metre of the box. previous, next: names of the buttons. last: the largest
    value of the slider. data: JSON for the script. many: more classes than a plan is high."""

    plan: figures.Markup
    plan_key: tuple[str, ...]
    ramp: figures.Markup
    verdicts: tuple[tuple[str, str, figures.Markup], ...]
    with_script: str
    without_script: str
    fresh: str
    rows: tuple[WeatherRow, ...]
    code: str
    section: str
    lines: tuple[str, ...]
    previous: str
    next: str
    segment: int
    last: int
    caption: str
    strip_words: str
    strip: figures.Markup
    strip_key: tuple[str, ...]
    many: bool
    data: figures.Markup


def where_of(source: Source) -> Body:
    """The section's facts from results."""
    results = source.results
    cells = cells_of(results)
    places = results.weak_places or tuple(lowest_places(results))
    weak = bool(places and places[0].weak_in)
    start = places[0].segment if places else 0
    told = place_data(results, cells, places)
    drawn = figures.where_figures(results, cells, places[:MOST_PLACES], start)
    codes = [segment_code(results, i) for i in range(results.sizes["segment"])]
    lines = metre_lines(cells, 0, start) + ([told[0].told] if told else [])
    with_script, without = wherewords.how_to(codes[start], cells.rows[0].name, weak, len(counted_classes(results)))
    previous, following = wherewords.buttons(weak)
    known = simulated_metres(results) > 0.0
    facts = Where(
        plan=drawn.plan,
        plan_key=(section_key(results), *drawn.plan_key),
        ramp=drawn.ramp,
        verdicts=tuple((word, meaning, drawn.swatches[word]) for word, meaning in verdict_meanings(results.requirement).items()),
        with_script=with_script,
        without_script=without,
        fresh=wherewords.fresh_note(cells.fresh),
        rows=_rows(results, cells, start, drawn),
        code=codes[start],
        section=str(results.at("section", segment=start)),
        lines=tuple(lines),
        previous=previous,
        next=following,
        segment=start,
        last=len(codes) - 1,
        caption=f"{strip_title(results).rstrip('.') if known else NOTHING.rstrip('.')}.",
        strip_words=wherewords.strip_words(results),
        strip=drawn.strip,
        strip_key=drawn.strip_key,
        many=len(class_rows(results)) > MANY_CLASSES,
        data=figures.Markup(script_data(cells, drawn, codes, results.sections, told, (0, start))),
    )
    return Body(HEADING, plan_title(results) if known else NOTHING, facts)


def place_data(results: Results, cells: Cells, places: Sequence[Place]) -> tuple[PlaceData, ...]:
    """The places for box and script: those that the section of places shows with what is read there."""
    rank = {summary.index: k for k, summary in enumerate(results.worst_first)}
    found = []
    for k, place in enumerate(said_once(places)):
        read = told_in_class(place, reading(results, place)) if not place.weak_in or k < MOST_PLACES else ""
        if not place.weak_in:
            number, told = 0, wherewords.fill("low", code=place.code, reading=read)
        elif k < MOST_PLACES:
            number, told = k + 1, wherewords.fill("part", number=k + 1, code=place.code, reading=read)
        else:
            number, told = k + 1, wherewords.fill("part_unread", number=k + 1, code=place.code)
        found.append(PlaceData(number, place.code, told, rank[place.weather_index], place.segment, place.segments))
    return tuple(found)


def section_key(results: Results) -> str:
    """`A = quay, 48 m · B = east fence, 33 m`; a section that is called by its letter has its length alone."""
    parts = []
    for section in results.sections:
        name = "" if section.name == section.letter else f"{section.name}, "
        parts.append(f"{section.letter} = {name}{metres_text(section.length_m, results.units)}")
    return " · ".join(parts)


def _rows(results: Results, cells: Cells, segment: int, drawn: figures.WhereFigures) -> tuple[WeatherRow, ...]:
    """The table, worst class first, the year last."""
    summaries = [row.summary for row in class_rows(results)]
    year = year_row(results)
    if year is not None and len(cells.rows) > len(summaries):
        summaries.append(year.summary)
    rows = []
    for k, (name, summary) in enumerate(zip(cells.rows, summaries)):
        metres = (summary.weak_m, summary.undecided_m)
        verdict = verdict_word(cells, k, segment)
        rows.append(
            WeatherRow(
                name=name.name,
                hours=name.hours,
                year=name.year,
                bar=drawn.bars[k],
                weak=whole(metres[0]),
                undecided=whole(metres[1]),
                feet=" / ".join(whole(feet(m)) for m in metres) + " ft" if results.units == "us" else "",
                no_data=f"{metres_text(summary.no_data_m, results.units)} no data" if summary.no_data_m >= 0.5 else "",
                dot=drawn.dots[k],
                pd=interval_words(cells, k, segment),
                verdict="" if verdict == "no data" else verdict,
                word_class=verdict.replace(" ", "-"),
            )
        )
    return tuple(rows)

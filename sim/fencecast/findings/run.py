"""What `fencecast run` says: is the requirement met, when, where and why not, and how far the numbers can be trusted."""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from fencecast.estimate.diagnosis import diagnose
from fencecast.estimate.places import worst_first
from fencecast.estimate.results import Results
from fencecast.estimate.weakest import NAMED_PLACES, Place, lowest_places, printed_numbers
from fencecast.findings.blocks import (
    FINDING,
    LEFT,
    NOTE,
    RIGHT,
    TITLE,
    UNBROKEN,
    Block,
    Cell,
    Heading,
    Line,
    Row,
    Table,
    metres_cell,
    written_lines,
)
from fencecast.findings.calibration import calibration_lines, calibration_of, fence_text, trust_lines
from fencecast.findings.check import review_lines
from fencecast.findings.condition import stress_sentence
from fencecast.findings.dependence import dependence_blocks
from fencecast.findings.hours import hours_blocks
from fencecast.findings.inputs import input_blocks
from fencecast.findings.installations import headline, installation_blocks, installations_of
from fencecast.findings.lensdistances import distance_blocks
from fencecast.findings.limits import PD_WORDS, limit_lines, limits_of
from fencecast.findings.losses import loss_blocks
from fencecast.findings.nuisancetables import head_lines, nuisance_blocks
from fencecast.findings.nuisancewords import noise_note
from fencecast.findings.readings import reading
from fencecast.findings.runfacts import lowest_segment, segment_code, short_of_precision
from fencecast.findings.titles import chosen_sentence, reason_lines, simulated_metres, verdict_line, widespread_words
from fencecast.findings.words import (
    confidence_text,
    first_upper,
    hours_heading,
    in_class,
    interval_text,
    pd_text,
    share_text,
    whole,
)


def run_blocks(results: Results, files: list[str], left: list[str], change: Sequence[Block] = ()) -> list[Block]:
    """The report, top to bottom; change: the blocks of `--remedy`."""
    return [
        *_head(results),
        *class_blocks(results),
        *_places(results),
        *hours_blocks(results),
        *distance_blocks(results),
        *installation_blocks(results),
        *dependence_blocks(results),
        *input_blocks(results),
        *loss_blocks(results),
        *nuisance_blocks(results),
        *change,
        *review_lines(results.attrs),
        *_trust(results),
        *written_lines(files, left),
        *_next_lines(files),
    ]


def _next_lines(files: list[str]) -> list[Block]:
    """The page to take home is one command away."""
    results = [file for file in files if file.endswith(".nc")]
    return [Line(f"Next: fencecast report {shlex.quote(file)}") for file in results]


def _head(results: Results) -> list[Block]:
    attrs = results.attrs
    seconds = float(attrs["seconds"])
    ran = [f"seed {attrs['seed']}", f"{attrs['crossings_total']:,} crossings", f"{attrs['looks_total']:,} looks"]
    ran += [f"{seconds:.1f} s", *([f"{attrs['looks_total'] / seconds:,.0f} looks a second"] if seconds > 0.0 else [])]
    blocks: list[Block] = [Line(str(attrs["title"]), TITLE), Line(verdict_sentence(results), FINDING)]
    built = installations_of(results)
    if built is not None and built.spreads:
        blocks.append(Line(headline(results, built), FINDING))
    blocks += head_lines(results)
    if attrs.get("stress"):
        blocks.append(Line(stress_sentence(attrs)))
    blocks += [Line(line) for line in reason_lines(results)[:1]]
    blocks.append(Line(f"{PD_WORDS}: of one crossing, by all cameras together.", NOTE))
    chosen = chosen_sentence(results)
    if chosen:
        blocks.append(Line(chosen))
    blocks += calibration_lines(results)
    return [*blocks, Line(" · ".join(ran), NOTE)]


def verdict_sentence(results: Results) -> str:
    """Whether the requirement is met, and how many metres are weak in the worst class."""
    return verdict_line(results) if simulated_metres(results) > 0.0 else "Nothing was simulated: no rule watches any section."


def class_blocks(results: Results) -> list[Block]:
    """The table of weather classes, worst first, and what its columns mean."""
    units, classes = results.units, worst_first(results)
    missing = any(c.no_data_m > 0.0 for c in classes)
    columns = [("class", LEFT), (hours_heading(results.years), RIGHT), ("mean Pd", RIGHT)]
    columns += [("meets", RIGHT), ("undecided", RIGHT), ("weak", RIGHT)]
    columns += [("no data", RIGHT)] if missing else []
    columns += [("lowest Pd", RIGHT), ("at", UNBROKEN)]
    rows: list[list[str | Cell]] = []
    for c in classes:
        metres = [("meets", c.meets_m), ("undecided", c.undecided_m), ("weak", c.weak_m)]
        metres += [("no data", c.no_data_m)] if missing else []
        segment = lowest_segment(results, c.index)
        lowest = ["no data", ""]
        if segment is not None:
            lowest = [interval_text(*printed_numbers(results, c.index, segment)[:3]), segment_code(results, segment)]
        cells = [metres_cell(value, units, verdict) for verdict, value in metres]
        rows.append([c.name, whole(c.stated_hours), fence_text(results, c.index) or pd_text(c.mean_pd), *cells, *lowest])
    letters = ", ".join(f"{s.letter} {s.name}" for s in results.sections)
    return [
        Heading("When: mean Pd, metres and lowest Pd by weather class, worst first"),
        Table.of(columns, rows),
        Line(
            f"Metres that meet the requirement, are undecided or are weak: the {confidence_text(results.confidence)} interval of "
            f"Pd lies above, across or below it. Sections, metres along each: {letters}.",
            NOTE,
        ),
    ]


def _weak_in(place: Place, counted: int) -> str:
    return f"weak in {len(place.weak_in)} of {counted} class{'' if counted == 1 else 'es'}" if place.weak_in else ""


def _places(results: Results) -> list[Block]:
    places = lowest_places(results, NAMED_PLACES)
    if not places:
        return []
    counted = int(np.sum(results["weather_hours"].values > 0)) or results.sizes["weather"]
    weak = any(place.weak_in for place in places)
    heading = "Where and why: the weakest places, each in the mildest class in which it is weak"
    blocks: list[Block] = [Heading(heading if weak else "Where: the lowest places (none is weak)")]
    heads = [(p.code, interval_text(p.pd, p.low, p.high), p.weather, _weak_in(p, counted)) for p in places]
    widths = [max(len(head[i]) for head in heads) for i in range(4)]
    said: set[str] = set()  # that most of the fence is weak in a class is said at one place only
    for place, head in zip(places, heads):
        code, pd, weather, classes = (text.ljust(width) for text, width in zip(head, widths))
        blocks.append(Row((Cell(code), Cell(pd, place.verdict), Cell(weather), Cell(classes))))
        why = f"{first_upper(place.cause)}, {share_text(place.cause_share)}. " if place.cause else ""
        blocks.append(
            Line(why + reading(results, replace(place, widespread=place.widespread and place.weather not in said)), indent=4)
        )
        said.add(place.weather)
    aside = diagnose(results).apart
    if aside:
        without = "it" if len(aside) == 1 else "them"
        blocks.append(Line(f"{widespread_words(results)}: too widespread to be single places, marked off without {without}."))
    if all(place.fresh for place in places):
        blocks.append(Line("These numbers are from fresh crossings: the lowest of many estimates is too low by selection.", NOTE))
    return blocks


def _trust(results: Results) -> list[Block]:
    attrs = results.attrs
    return [
        Heading("How far to trust it"),
        Line(_precision_sentence(results)),
        *(trust_lines(results) or [Line(_correlation_sentence(results))]),
        Line(noise_sentence(results)),
        *limit_lines(limits_of(attrs), str(attrs["caution"])),
    ]


def _correlation_sentence(results: Results) -> str:
    return (
        f"Encounter correlation {float(results.attrs['encounter_correlation']):g}: how alike two cameras judge one intruder; "
        "a judgement, it counts where cameras overlap."
    )


def _precision_sentence(results: Results) -> str:
    simulated, short, widest, at = short_of_precision(results)
    asked = f"a half width of {float(results.attrs['precision']):g} at {confidence_text(results.confidence)}"
    asked += "" if calibration_of(results.attrs) is None else ", of what the crossings leave open,"
    if at is None:
        return f"Every segment reached {asked} in every weather class ({simulated:,} numbers in all)."
    row, segment = at
    return (
        f"{short:,} of {simulated:,} numbers (every segment in every weather class) did not reach {asked}; the widest, "
        f"{widest:.3f}, is {segment_code(results, segment)} {in_class(results.classes[row])}. A higher --max-crossings helps."
    )


def noise_sentence(results: Results) -> str:
    """`False alarms from sensor noise alone, per camera and day: below 0.001 for every camera.`, and what it does not count."""
    rates = results["noise_alarms_per_day"].values
    worst = int(np.argmax(rates))
    most = float(rates[worst])
    amount = "below 0.001 for every camera" if most < 0.001 else f"at most {most:.3g} ({results.marks[worst]})"
    return f"False alarms from sensor noise alone, per camera and day: {amount}. {noise_note(results.attrs)}"

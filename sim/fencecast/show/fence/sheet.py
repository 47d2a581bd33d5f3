"""The tables of the summary sheet: metres by class, the weakest places, the notes under them."""

from __future__ import annotations

import math

import numpy as np

from fencecast.estimate.places import record_years, segment_lengths, worst_first
from fencecast.estimate.walktest import walks_needed
from fencecast.estimate.weakest import counted_classes
from fencecast.findings.readings import reading
from fencecast.findings.words import (
    hours_text,
    number_word,
    pd_text,
    range_text,
    requirement_text,
    whole,
)
from fencecast.show.fence.planlabels import circled
from fencecast.show.paper import style
from fencecast.show.paper.page import Page, shorten, text_width_mm, wrap

BAR_MM = 35.0
# Columns of the table, from the page's left margin [mm].
PLACE, CLASS, NUMBERS, DOTS, CAUSE, WEAK_IN = 6.0, 52.0, 79.0, 109.0, 139.0, 164.0
DOTS_MM = 26.0
READING_MM = DOTS - PLACE - 3.0


def bars(page: Page, results, classes, of: int, x: float, y: float) -> float:
    """Weak, undecided and meets metres of each class as one bar; returns the y of the lowest text."""
    total = float(np.sum(segment_lengths(results)))
    right = page.right
    step = 6.2
    for c in classes:
        middle = y + 0.5 * step
        room = right - BAR_MM - x - 1.5
        lines = [c.name, hours_text(c.hours, c.years)]
        if text_width_mm(c.name, style.SMALL) > room:
            lines = wrap(f"{c.name}, {hours_text(c.hours, c.years)}", room, style.SMALL, most=2)
            if lines[-1].endswith("…"):
                lines = wrap(c.name, room, style.SMALL, most=2)
        for i, line in enumerate(lines):
            page.text(x, middle - 0.4 + 2.7 * i, line, size=style.SMALL, colour=style.SECOND if i else style.INK)
        left, top, height = right - BAR_MM, middle - 2.0, 4.0
        ends = np.cumsum([0.0, c.weak_m, c.undecided_m, c.meets_m, c.no_data_m]) / total * BAR_MM + left
        page.rect(left, top, BAR_MM, height, fill=style.PAPER, edge=style.LINE, points=0.5, zorder=1)
        page.rect(ends[0], top, ends[1] - ends[0], height, fill=style.INK)
        if ends[2] - ends[1] > 0.1:
            page.hatch([(ends[1], top), (ends[2], top), (ends[2], top + height), (ends[1], top + height)])
        if ends[4] - ends[3] > 0.1:
            page.no_data([(ends[3], top), (ends[4], top), (ends[4], top + height), (ends[3], top + height)])
        _bar_number(page, whole(c.weak_m), ends, middle, left)
        y += step
    text = "black weak · hatched undecided · white meets"
    page.text(x, y + 2.6, text, size=style.SMALL, colour=style.SECOND)
    if of > len(classes):
        y += 2.8
        page.text(x, y + 2.6, f"the worst {len(classes)} of {of} classes", size=style.SMALL, colour=style.SECOND)
    return y + 3.0


def _bar_number(page: Page, text: str, ends, middle: float, left: float) -> None:
    width = text_width_mm(text, style.SMALL, "bold") + 1.6
    how = {"size": style.SMALL, "weight": "bold", "va": "center_baseline"}
    if ends[1] - ends[0] >= width:
        page.text(ends[1] - 0.8, middle, text, ha="right", colour=style.PAPER, **how)
    elif ends[2] + width <= left + BAR_MM and ends[4] - ends[3] < 0.1:
        page.text(ends[2] + 0.8, middle, text, **how)
    else:
        page.text(left + 0.5 * BAR_MM, middle, text, ha="center", plate=True, **how)


def _rows(places, page, results):
    readings = [reading(results, place) for place in places]
    return [wrap(text, READING_MM, style.SMALL, most=2) for text in readings]


def table_height(places, page: Page, results) -> float:
    """Height of the table with its heading [mm]."""
    return 8.4 + sum(_row_height(lines) for lines in _rows(places, page, results)) + 4.0


def _row_height(lines) -> float:
    return 4.6 + 2.8 * max(len(lines), 1)


def table(page: Page, results, places, readings, y: float, air: float = 0.0) -> float:
    """The weakest places with dot and interval against the requirement; returns the y of the lowest text.

    air: height added to every row [mm].
    """
    left, right = page.left, page.right
    weak = bool(places and places[0].weak_in)
    count = number_word(len(places))
    if weak and places[0].valley:  # classes that are weak over most of the fence name no places
        heading = f"Why: the {f'{count} lowest stretches' if len(places) > 1 else 'lowest stretch'}"
    elif weak and len(places) == 1:
        heading = "Why: the one weak place"
    elif weak and len(places) < 5:
        heading = f"Why: the {count} weak places"
    elif weak:
        heading = f"Why: the {count} weakest places"
    else:
        heading = f"The {f'{count} lowest places' if len(places) > 1 else 'lowest place'} (none is weak)"
    page.text(left, y + 2.8, heading, size=style.HEAD, weight="bold")
    need = float(results.attrs["requirement_pd"])
    y += 7.2
    confidence = f"{100 * float(results.attrs['confidence']):g} %"
    heads = ((PLACE, "place, and how to read it"), (CLASS, "worst class"), (NUMBERS, f"Pd ({confidence} interval)"))
    for x, text in (*heads, (CAUSE, "main cause"), (WEAK_IN, "weak in")):
        page.text(left + x, y, text, size=style.SMALL, colour=style.SECOND)
    for value, text in ((0.0, "0"), (0.5, "0.5"), (1.0, "1")):
        page.text(left + DOTS + value * DOTS_MM, y, text, size=style.SMALL, colour=style.SECOND, ha="center")
    page.line([left, right], [y + 1.2] * 2, points=0.8)
    top = y = y + 1.2
    classes = len(counted_classes(results))
    for i, (place, text) in enumerate(zip(places, readings)):
        lines = wrap(text, READING_MM, style.SMALL, most=2)
        height = _row_height(lines) + air
        baseline = y + 3.6 + 0.5 * air
        if weak:
            circled(page, left + 2.0, baseline - 0.9, str(i + 1))
        page.text(left + PLACE, baseline, place.code, weight="bold")
        page.text(left + CLASS, baseline, shorten(place.weather, NUMBERS - CLASS - 1.5), colour=style.INK)
        page.text(left + NUMBERS, baseline, pd_text(place.pd), weight="bold")
        gap = text_width_mm(pd_text(place.pd), style.LABEL, "bold") + 1.4
        page.text(left + NUMBERS + gap, baseline, range_text(place.low, place.high), size=style.SMALL, colour=style.SECOND)
        page.lines_of_text(left + PLACE, baseline + 3.0, lines, 2.8, size=style.SMALL, colour=style.SECOND)
        _dot(page, left + DOTS, baseline - 0.9, place)
        page.text(left + CAUSE, baseline, place.cause or "too few misses", size=style.LABEL)
        if place.cause:
            share = "nearly all misses" if place.cause_share >= 0.995 else f"{100 * place.cause_share:.0f} % of its misses"
            page.text(left + CAUSE, baseline + 3.0, share, size=style.SMALL, colour=style.SECOND)
        if place.weak_in:
            hours = hours_text(place.weak_hours, record_years(results))
            page.text(left + WEAK_IN, baseline, f"{len(place.weak_in)} of {classes} classes")
            page.text(left + WEAK_IN, baseline + 3.0, hours, size=style.SMALL, colour=style.SECOND)
        else:
            page.text(left + WEAK_IN, baseline, "none")
        y += height
        page.line([left, right], [y] * 2, colour=style.GUIDE, points=0.5)
    x = left + DOTS + need * DOTS_MM
    page.line([x, x], [top, y + 0.6], points=1.0, dashes=(5, 2), zorder=5)
    page.text(x, y + 3.4, f"required {requirement_text(need)}", size=style.SMALL, weight="bold", ha="center")
    return y + 3.6


def _dot(page: Page, x: float, y: float, place) -> None:
    page.line([x, x + DOTS_MM], [y, y], colour=style.GUIDE, points=0.5, zorder=1)
    page.line([x + place.low * DOTS_MM, x + place.high * DOTS_MM], [y, y], colour=style.LINE, points=2.4, zorder=3)
    page.dot(x + place.pd * DOTS_MM, y, 1.5, zorder=6)


def notes(page: Page, results) -> list[str]:
    """The lines under the table: meanings, walk test, noise, sensitivities, what is not modelled."""
    attrs = results.attrs
    need, confidence = float(attrs["requirement_pd"]), float(attrs["confidence"])
    percent = f"{100 * confidence:g} %"
    first, second, third = (f"{walks_needed(need, confidence, misses):,}" for misses in (0, 1, 2))
    texts = [
        f"Meets, undecided, weak: the whole {percent} interval lies above, across or below the requirement. "
        "A place is entered once, in its worst class of all.",
        f"A walk test could show {requirement_text(need)} at {percent} with {first} walks without a miss, {second} with one, "
        f"{third} with two (exact binomial).",
    ]
    if "noise_alarms_per_day" in results:
        rates = results["noise_alarms_per_day"].values
        largest = int(np.nanargmax(rates))
        mark, most = str(results["camera"].values[largest]), float(rates[largest])
        rate = f"at most {small_number(most)} ({mark})" if most >= 0.001 else "below 0.001 for every camera"
        texts[1] += f" Noise-only alarms per camera-day, no animals, no weather: {rate}."
    if "dpd_dln_n50" in results:
        parts = []
        for c in worst_first(results):
            n50, netd = (float(results[name].values[c.index]) for name in ("dpd_dln_n50", "dpd_dln_netd"))
            if not (math.isnan(n50) or math.isnan(netd)):
                parts.append(f"{c.name} {_signed(n50)}, {_signed(netd)}")
        if parts:
            texts.append("Change of the mean Pd with ln N50 and ln NETD: " + "; ".join(parts) + ".")
    limits = [line.strip().rstrip(".") for line in str(attrs["not_modelled"]).split("\n") if line.strip()]
    width = page.right - page.left
    lines = [line for text in texts for line in wrap(text, width, style.SMALL, most=3)]
    return lines + wrap(
        "Not modelled or uncertain: " + "; ".join(_lower(limit) for limit in limits) + ".", width, style.SMALL, most=4
    )


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def _signed(value: float) -> str:
    text = f"{value:+.2f}".replace("-", "−")
    return "0.00" if text in ("+0.00", "−0.00") else text


_SUPERSCRIPT = str.maketrans("0123456789-", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻")


def small_number(value: float) -> str:
    """A rate that may be tiny: '0', '0.3', '12', '3 × 10⁻⁷'."""
    if value == 0.0:
        return "0"
    if value >= 0.001:
        return f"{value:.2g}" if value < 100 else f"{value:,.0f}"
    digits, power = f"{value:.0e}".split("e")
    return f"{digits} × 10{str(int(power)).translate(_SUPERSCRIPT)}"

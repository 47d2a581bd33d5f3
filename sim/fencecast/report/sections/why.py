"""Why: the weak places in a table, the cause strip, and a card for each place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fencecast.decide.remedyfacts import kept_remedy
from fencecast.estimate.diagnosis import counted_classes, diagnose
from fencecast.estimate.intervals import verdict
from fencecast.estimate.lift import due_to
from fencecast.estimate.results import Results
from fencecast.estimate.sight import views_of
from fencecast.estimate.weakest import Place, lowest_places, printed_numbers
from fencecast.findings.lenstitles import holds_sentence
from fencecast.findings.readings import BEST_AT_LEAST, reading
from fencecast.findings.titles import cause_title, simulated_metres, widespread_words
from fencecast.findings.words import (
    first_upper,
    hours_text,
    in_class,
    interval_text,
    listed,
    metres_text,
    number_word,
    pd_text,
    plural,
    share_text,
)
from fencecast.report.sections.limits import Term
from fencecast.report.sections.section import Body, Source
from fencecast.report.words import HELPS, cause_meaning, told_in_class
from fencecast.show.fence.data import MOST_PLACES
from fencecast.show.svg.bars import cause_bar_svg, pd_dot_svg
from fencecast.show.svg.keys import cause_swatch_svg
from fencecast.show.svg.strips import cause_svg

_MOST_CAMERAS = 2


@dataclass(frozen=True)
class PlaceRow:
    """One row of the table of places, as printed; length with its unit."""

    number: int
    code: str
    length: str
    weather: str
    pd: str
    dot: str
    cause: str
    cause_share: str
    weak_in: str
    hours: str


@dataclass(frozen=True)
class ClassRow:
    """One weather class of a card: Pd with interval and the verdict of that number; dot: its figure."""

    weather: str
    pd: str
    verdict: str
    dot: str


@dataclass(frozen=True)
class Card:
    """What is said of one place; segment: of its lowest metre, for the plan. after: what the changes found make of it, or ''."""

    number: int
    code: str
    section: str
    length: str
    segment: int
    reading: str
    rows: tuple[ClassRow, ...]
    bar: str
    causes: str
    best: str
    after: str
    after_in: str
    helps_label: str
    helps: str
    holds: str


@dataclass(frozen=True)
class Why:
    """caption: of the table of places. strip: the cause strip as SVG; key: its causes; strip_key: short names that it has."""

    places: tuple[PlaceRow, ...]
    caption: str
    strip: str
    key: tuple[Term, ...]
    strip_key: tuple[str, ...]
    cards: tuple[Card, ...]
    notes: tuple[str, ...]


def why_of(source: Source) -> Body | None:
    """The section of a run; None when nothing was simulated."""
    results = source.results
    if simulated_metres(results) <= 0.0:
        return None
    places = results.weak_places
    shown = places[:MOST_PLACES] or lowest_places(results)
    cards = tuple(_card(results, k, place) for k, place in enumerate(said_once(shown), start=1))
    strip = cause_svg(results)
    causes = [str(name) for name in results["cause"].values]
    facts = Why(
        places=tuple(_row(results, k, place) for k, place in enumerate(shown, start=1)),
        caption="Each in the mildest weather class in which it is weak" if places else "Each in its lowest class",
        strip=strip.svg,
        key=tuple(Term(name, cause_meaning(name), cause_swatch_svg(name).svg) for name in causes),
        strip_key=tuple(line for line in strip.key if not line.startswith("Weak places: ")),  # the table above names them
        cards=cards,
        notes=tuple(_notes(results, shown, len(places))),
    )
    return Body(_heading(len(places), shown), f"{cause_title(results)}.", facts)


def _heading(weak: int, shown: list[Place] | tuple[Place, ...]) -> str:
    if not weak:
        return "Why: the lowest places (none is weak)" if len(shown) > 1 else "Why: the lowest place (it is not weak)"
    if weak == 1:
        return "Why: one weak place"
    if weak > len(shown):
        return f"Why: the {number_word(len(shown))} weakest of {number_word(weak)} weak places"
    return f"Why: {number_word(weak)} weak places"


def said_once(places: Sequence[Place]) -> list[Place]:
    """The places for their readings: that most of the fence is weak in a class is said at one place only."""
    said: set[str] = set()
    found = []
    for place in places:
        found.append(replace(place, widespread=place.widespread and place.weather not in said))
        said.add(place.weather)
    return found


def _row(results: Results, number: int, place: Place) -> PlaceRow:
    counted, weak = len(counted_classes(results)), len(place.weak_in)
    return PlaceRow(
        number=number,
        code=place.code,
        length=metres_text(place.length_m, results.units),
        weather=place.weather,
        pd=interval_text(place.pd, place.low, place.high),
        dot=_dot(results, place.pd, place.low, place.high),
        cause=place.cause or "too few misses to tell",
        cause_share="" if place.cause_share is None else _of_its(place.cause_share),
        weak_in=f"{weak} of {counted} class{'' if counted == 1 else 'es'}" if weak else "none",
        hours=hours_text(place.weak_hours, results.years) if weak else "",
    )


def _of_its(share: float) -> str:
    """`90 % at its lowest metre`: a card has the shares of the whole place."""
    return f"{share_text(share).partition(' of ')[0] if share < 0.995 else 'nearly all'} at its lowest metre"


def _card(results: Results, number: int, place: Place) -> Card:
    part = list(place.segments)
    names = dict.fromkeys(str(results.at("section", segment=k)) for k in part)
    causes, bar = _causes(results, place)
    after = _after(results, place)
    label, helps = _helps(results, place)
    return Card(
        number=number,
        code=place.code,
        section=listed(list(names)),
        length=metres_text(place.length_m, results.units),
        segment=place.segment,
        reading=told_in_class(place, reading(results, place)),
        rows=tuple(_class_row(results, c.index, place) for c in results.worst_first),
        bar=bar,
        causes=causes,
        best=_best(results, place),
        after=after,
        after_in=in_class(place.weather),
        helps_label=label,
        helps=helps,
        holds=holds_sentence(results, place.weather_index) if place.cause and place.cause != "no rule there" else "",
    )


def _class_row(results: Results, row: int, place: Place) -> ClassRow:
    """Pd of the place's lowest metre in a class; in its own class of the metre that it is named by."""
    part = list(place.segments)
    pd = results.at("pd", weather=row, segment=part)
    if np.isnan(pd).all():
        return ClassRow(results.classes[row], "no data", "no data", "")
    segment = place.segment if row == place.weather_index else part[int(np.nanargmin(pd))]
    value, low, high, _ = printed_numbers(results, row, segment)
    word = verdict(low, high, results.requirement)
    return ClassRow(results.classes[row], interval_text(value, low, high), word, _dot(results, value, low, high))


def _causes(results: Results, place: Place) -> tuple[str, str]:
    """The causes of misses over the complete place in its class, in words (largest first) and as a bar."""
    part = list(place.segments)
    length = results.lengths_m[part]
    shares = results.array("miss_share", "weather", "segment", "cause")[place.weather_index, part]
    found = np.nansum(np.clip(shares, 0.0, None) * length[:, None], axis=0)  # a share may be −1e-17
    if place.cause is None or found.sum() <= 0.0:
        return "Misses are too few to name a cause.", ""
    found = found / found.sum()
    names = [str(name) for name in results["cause"].values]
    order = [k for k in np.argsort(-found, kind="stable") if found[k] >= 0.005]
    words = ", ".join(f"{names[k]} {100 * found[k]:.0f} %" if found[k] < 0.995 else f"{names[k]}, nearly all" for k in order)
    return f"{words} of the misses of the whole place, {in_class(place.weather)}", cause_bar_svg(
        dict(zip(names, map(float, found)))
    ).svg


def _helps(results: Results, place: Place) -> tuple[str, str]:
    """What was computed before what usually helps: a rule that hears one camera more costs nothing."""
    if not (place.cause and place.weak_in):
        return "For comparison", ""
    usual = f"{first_upper(HELPS[place.cause])}."
    due = due_to(results, place)
    if due is None or not due.what.startswith("heard: "):
        return "What usually helps", usual
    mark = due.what.removeprefix("heard: ")
    first = f"First, because it costs nothing: let the rule hear {mark} too; on the same crossings Pd {pd_text(due.pd)}."
    return "What helps", first if due.pd >= results.requirement else f"{first} What usually helps besides: {HELPS[place.cause]}."


def _best(results: Results, place: Place) -> str:
    """`T7 0.50 alone, 30 m away; T3 0.22 alone, 32 m away`."""
    alone = np.nan_to_num(results.at("pd_camera", weather=place.weather_index, segment=place.segment))
    x, y = (float(results.at(name, segment=place.segment)) for name in ("x_m", "y_m"))
    views = {view.mark: view for view in views_of(results.site)}
    order = [k for k in np.argsort(-alone, kind="stable") if alone[k] >= BEST_AT_LEAST][:_MOST_CAMERAS]
    if not order:
        return f"no camera alone reaches a Pd of {BEST_AT_LEAST:g}"
    return "; ".join(
        f"{results.marks[k]} {pd_text(float(alone[k]))} alone, "
        f"{metres_text(views[results.marks[k]].distance_m(x, y), results.units)} away"
        for k in order
    )


def _after(results: Results, place: Place) -> str:
    """What the changes of a remedy leave as the place's lowest in its class, on crossings that chose nothing; '' without one."""
    remedy = kept_remedy(results.attrs)
    if remedy is None or "pd_remedy" not in results:
        return ""
    part = list(place.segments)
    pd, low, high = (
        results.at(f"pd_remedy{end}", remedy=-1, weather=place.weather_index, segment=part) for end in ("", "_low", "_high")
    )
    if np.isnan(pd).all():
        return ""
    lowest = int(np.nanargmin(pd))
    pd, low, high = (float(each[lowest]) for each in (pd, low, high))
    return f"Pd {interval_text(pd, low, high)}, {verdict(low, high, results.requirement)}"


def _notes(results: Results, shown: list[Place] | tuple[Place, ...], weak: int) -> list[str]:
    lines = []
    if weak > len(shown):
        lines.append(f"{first_upper(plural(weak - len(shown), 'more weak place'))}: on the strips and in the annex.")
    aside = diagnose(results).apart
    if aside and shown and shown[0].weak_in:
        without = "it" if len(aside) == 1 else "them"
        lines.append(f"{widespread_words(results)}: too widespread to be single places, marked off without {without}.")
    if all(place.fresh for place in shown):
        lines.append(
            "The numbers of these places are from fresh crossings: the lowest of many estimates is too low by selection."
        )
    elif any(place.fresh for place in shown):
        fresh = sum(place.fresh for place in shown)
        lines.append(
            f"The numbers of {number_word(fresh)} of these places are from fresh crossings; those of the others are from the "
            "main run, and the lowest of many estimates is a little too low by selection."
        )
    lines.append(
        "On a card: Pd of the lowest metre in each class, in the place's own class of the metre that the table names it by; the "
        "word beside a number is the verdict of that number."
    )
    return lines


def _dot(results: Results, pd: float, low: float, high: float) -> str:
    return pd_dot_svg(pd, low, high, results.requirement).svg

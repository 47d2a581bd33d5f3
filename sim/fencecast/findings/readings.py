"""Why a place is weak, by geometry, the leading cause and what that is due to: as data, and as plain sentences made from it.

A reading names the camera that does best there (the highest Pd alone in the place's class), how far away it is, what stands in
the way, and what worse weather adds. It describes; it promises no remedy.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from fencecast.estimate.lift import Due, answers_of, due_to
from fencecast.estimate.results import Results
from fencecast.estimate.sight import views_of
from fencecast.estimate.weakest import Place, Worse
from fencecast.findings.duewords import moving, pd_without, taken_words
from fencecast.findings.unseen import (
    Away,
    Unseen,
    away,
    camera_text,
    misses_the_line,
    nearest_of,
    unheard_of,
    unseen_of,
    unseen_words,
    watchers,
)
from fencecast.findings.words import first_upper, metres_text, pd_text
from fencecast.site import Site

BEST_AT_LEAST = 0.05  # a camera whose Pd alone is lower is of no use there


@dataclass(frozen=True)
class Reading:
    """What is known of one place. best: None where no camera alone reaches `BEST_AT_LEAST`; unseen: for the causes
    "no rule there" and "not in view"; due: what the misses are due to, None when nothing alone (asked: it was asked for).

    weak: in any class; often: more than half of the crossings raise an alarm all the same; widespread: its class is weak over
    most of the fence; worse: what the worst class makes of it. at, weak_m, length_m: of the place (see `Place`). falling, window:
    what falls, and what is on the front window, in its class.
    """

    weather: str
    cause: str | None
    best: Away | None
    nearest: Away
    weak: bool
    often: bool
    widespread: bool
    unseen: Unseen | None = None
    due: Due | None = None
    asked: bool = False
    worse: Worse | None = None
    at: str = ""
    weak_m: float = math.nan
    length_m: float = math.nan
    falling: str = "rain"
    window: str = "drops"
    looks: tuple[int, int] = (1, 1)


def reading(results: Results, place: Place) -> str:
    """The sentences for one place of `weakest.lowest_places`."""
    return reading_sentence(reading_of(results, place), results.units)


def short_reading(results: Results, place: Place) -> str:
    """The same without the words for where in the place it is lowest, for the one sheet."""
    return reading_sentence(replace(reading_of(results, place), at=""), results.units)


def reading_of(results: Results, place: Place) -> Reading:
    """What geometry and causes say of one place."""
    site, segment, row = results.site, place.segment, place.weather_index
    views = {view.mark: view for view in views_of(site)}
    lenses = {camera.mark: camera.lens for camera in site.camera}
    x, y = (float(results.at(name, segment=segment)) for name in ("x_m", "y_m"))
    assigned = watchers(site, place.section)
    watching = [view for mark, view in views.items() if mark in assigned] or list(views.values())
    nearest = nearest_of(watching, x, y)
    alone = results.at("pd_camera", weather=row, segment=segment)
    best = None
    if np.isfinite(alone).any() and np.nanmax(alone) >= BEST_AT_LEAST:
        mark = results.marks[int(np.nanargmax(alone))]
        best = Away(mark, views[mark].distance_m(x, y), lenses[mark])
    due = due_to(results, place)
    unseen = None
    if place.cause == "no rule there":
        heard = None if due is None else views[due.what.removeprefix("heard: ")]
        others = [view for mark, view in views.items() if mark not in assigned]
        unseen = Unseen("unheard", away(heard, x, y)) if heard else unheard_of(site, others, nearest, x, y)
    if place.cause == "not in view":
        missed = float(results["miss_share"].sel(cause="not in view").values[row, segment])
        unseen = unseen_of(site, watching, nearest, x, y, missed > 0.5, misses_the_line(results, place))
    window, falling = _class_words(site, place.weather)
    return Reading(
        weather=place.weather,
        cause=place.cause,
        best=best,
        nearest=away(nearest, x, y),
        weak=bool(place.weak_in),
        often=place.pd >= 0.5,
        widespread=place.widespread,
        unseen=unseen,
        due=due,
        asked=answers_of(results, place) is not None,
        worse=place.worse,
        at=place.at if len(place.segments) > 2 else "",
        weak_m=place.weak_m,
        length_m=place.length_m,
        falling=falling,
        window=window,
        looks=site.decision.confirm,
    )


def _class_words(site: Site, name: str) -> tuple[str, str]:
    """What is on the front window and what falls in a class of the site file."""
    found = next((w for w in site.weather if w.name == name), None)
    if found is None:
        return "drops", "rain or snow"
    rain, snow = (quantity.middle() > 0.0 for quantity in (found.rain_mm_h, found.snow_mm_h))
    falling = "rain and snow" if rain and snow else "snow" if snow else "rain"
    return ("film" if found.front_window.state == "film" else "drops"), falling


def reading_sentence(r: Reading, units: str = "si") -> str:
    """`Best camera here: C7, 30 m away; in heavy rain often too little contrast is left: the rain in the air takes it, ...`"""
    sentences = [f"{first_upper(_sentence(r, units))}."]
    if r.weak and r.at:
        part = (
            f"Weak in {r.weather} over {metres_text(r.weak_m, units)} of it, lowest" if r.weak_m < r.length_m - 0.5 else "Lowest"
        )
        sentences.append(f"{part} at {r.at}.")
    if r.worse is not None and r.weak:
        cause = f", mostly {r.worse.cause}" if r.worse.cause not in (None, r.cause) else ""
        sentences.append(f"In {r.worse.weather} Pd falls to {pd_text(r.worse.pd)}{cause}.")
    if r.widespread:
        sentences.append(f"Most of the fence is also weak in {r.weather}.")
    return " ".join(sentences)


def _sentence(r: Reading, units: str) -> str:
    best = "" if r.best is None else f"Best camera here: {camera_text(r.best, units)}"
    if best and not r.cause:
        return f"{best}; misses are too few to name a cause"
    if best and not r.weak:
        return f"{best}; of its few misses most are {r.cause}"
    if r.unseen is not None:
        return _unseen_sentence(r, best, units)
    often = "often " if r.often else ""
    why = _why(r)
    if not best:
        return f"No camera is of use here{f': {why}' if why else ''}; the nearest is {camera_text(r.nearest, units)}"
    if r.cause == "too small" and (r.due is None or not r.due.gaits):
        lens = f", behind its lens {r.best.lens}" if r.best and r.best.lens else ""
        return f"{best}; {often}too small there even at full contrast{lens}"
    return f"{best}; {often}{why}"


def _why(r: Reading) -> str:
    """The cause and what it is due to."""
    gait = r.due if r.due is not None and r.due.gaits else None
    if r.cause == "too small":
        small = "too small even at full contrast"
        return small if gait is None else f"{small} when {moving(gait.what)}, {pd_without(gait)}"
    if r.cause == "too brief":
        text = "large enough for too few looks"
        if gait is not None:
            return f"{text} when {moving(gait.what)}, {pd_without(gait)}"
        if r.due is not None and r.due.what == "looks wanted":
            return f"{text}: the alarm wants {r.looks[0]} of {r.looks[1]}, {pd_without(r.due)}"
        return text
    if r.cause == "washed out":
        text = f"too little contrast is left in {r.weather}"
        return f"{text}: {taken_words(r.due, r.falling, r.window)}" if r.asked else text
    return ""


def _unseen_sentence(r: Reading, best: str, units: str) -> str:
    """Out of every view, or seen and not heard; then the camera that does best, when another one was named."""
    unseen = r.unseen
    assert unseen is not None
    text = ""
    if r.cause == "not in view" and r.due is not None:
        text = _hidden_words(r, r.due, units)
    text = text or unseen_words(unseen, units)
    if r.cause == "no rule there" and r.due is not None:
        text += f" (then Pd {pd_text(r.due.pd)})"
    named = unseen.why != "below" and r.best == unseen.camera
    return f"{text}. {best}" if best and not named else text


def _hidden_words(r: Reading, due: Due, units: str) -> str:
    """What takes people out of view, where lifting it brings them back."""
    if due.gaits:
        return f"out of view when {moving(due.what)}, {pd_without(due)}"
    if due.what == "mounting errors":
        return f"in view as drawn, and out of it by mounting errors: {pd_without(due)}"
    if due.what == "all obstacles":
        return f"Several obstacles hide it together: without them Pd {pd_text(due.pd)}"
    kind, name = due.what.split(": ", 1)
    unseen = r.unseen
    sees = unseen is not None and unseen.why in ("hidden", "framed")
    from_camera = f" from {camera_text(unseen.camera, units)}" if sees and unseen is not None else ""
    hides = f"{_the(name)} hides it" if kind == "obstacle" else f"the barrier of {name} hides it"
    return f"{hides}{from_camera}; {pd_without(due)}"


def _the(name: str) -> str:
    return name if name.lower().startswith(("the ", "a ", "an ")) else f"the {name}"

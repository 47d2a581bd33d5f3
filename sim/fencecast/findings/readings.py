"""Why a place is weak, by geometry, the leading cause and what that is due to: as data, and as plain sentences made from it.

A reading names the camera that does best there (the highest Pd alone in the place's class), how far away it is, what stands in
the way, and what worse weather adds. It describes; it promises no remedy.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from fencecast.camera import WAIST_M, CameraGeometry
from fencecast.estimate.lift import LONG_WINDOW_S, USUAL_LOOKS_PER_S, Due, answers_of, due_to
from fencecast.estimate.results import Results
from fencecast.estimate.sight import views_of
from fencecast.estimate.weakest import Place, Worse
from fencecast.findings.duewords import LOW, moving, pd_without, taken_words
from fencecast.findings.unseen import (
    Away,
    Unseen,
    aside_words,
    away,
    camera_text,
    misses_the_line,
    nearest_of,
    open_end_m,
    the,
    unheard_of,
    unseen_of,
    unseen_words,
    watchers,
)
from fencecast.findings.words import first_upper, in_class, metres_text, pd_text
from fencecast.site import Site

NEARER = 0.7  # of the best camera's distance, within which another one's absence is worth a word
BEST_AT_LEAST = 0.05  # a camera whose Pd alone is lower is of no use there
MUCH = 0.3  # a best camera whose Pd alone is lower is not much of a best: it is said


@dataclass(frozen=True)
class Reading:
    """What is known of one place. best: None where no camera alone reaches `BEST_AT_LEAST`; unseen: for the causes
    "no rule there" and "not in view"; nearer: why a camera nearer than the best is of no use there; due: what the misses are due
    to, None when nothing alone (asked: it was asked for).

    weak: in any class; often: more than half of the crossings raise an alarm all the same; widespread: its class is weak over
    most of the fence; worse: what the worst class makes of it. at, weak_m, length_m: of the place (see `Place`). falling, window:
    what falls, and what is on the front window, in its class. looks, rate: the alarm's m of n, looks a second. low_below: the
    camera that has the place in its picture has the knees of a person there below it.
    best_pd: Pd of the best camera alone. required: the requirement.
    """

    weather: str
    cause: str | None
    best: Away | None
    nearest: Away
    weak: bool
    often: bool
    widespread: bool
    unseen: Unseen | None = None
    nearer: Unseen | None = None
    due: Due | None = None
    asked: bool = False
    worse: Worse | None = None
    at: str = ""
    weak_m: float = math.nan
    length_m: float = math.nan
    falling: str = "rain"
    window: str = "drops"
    looks: tuple[int, int] = (1, 1)
    rate: float = 5.0
    low_below: bool = False
    best_pd: float = math.nan
    required: float = 0.0


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
    best, best_pd = None, math.nan
    if np.isfinite(alone).any() and np.nanmax(alone) >= BEST_AT_LEAST:
        mark = results.marks[int(np.nanargmax(alone))]
        best_pd = float(np.nanmax(alone))
        best = Away(mark, views[mark].distance_m(x, y), lenses[mark])
    due = due_to(results, place)
    unseen = None
    if place.cause == "no rule there":
        heard = None if due is None else views.get(due.what.removeprefix("heard: "))
        others = [view for mark, view in views.items() if mark not in assigned]
        unseen = Unseen("unheard", away(heard, x, y)) if heard else None
        unruled = float(results["miss_share"].sel(cause="no rule there").values[row, segment])
        half = 0.5 * float(results.lengths_m[segment])
        ahead = open_end_m(results, place)
        unseen = unseen or unheard_of(site, place.section, others, nearest, x, y, ahead, unruled > 0.5, half)
    if place.cause == "not in view":
        missed = float(results["miss_share"].sel(cause="not in view").values[row, segment])
        unseen = unseen_of(site, watching, nearest, x, y, missed > 0.5, misses_the_line(results, place))
    nearer = None
    if best is not None and unseen is None and nearest.distance_m(x, y) < NEARER * best.distance_m and nearest.mark != best.mark:
        nearer = unseen_of(site, [nearest], nearest, x, y, False, False)
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
        nearer=nearer,
        due=due,
        asked=answers_of(results, place) is not None,
        worse=place.worse,
        at=place.at if len(place.segments) > 2 else "",
        weak_m=place.weak_m,
        length_m=place.length_m,
        falling=falling,
        window=window,
        looks=site.decision.confirm,
        rate=site.decision.looks_per_s,
        best_pd=best_pd,
        required=results.requirement,
        low_below=unseen is not None and unseen.why == "framed" and _low_below(views[unseen.camera.mark], x, y),
    )


def _low_below(view: CameraGeometry, x: float, y: float) -> bool:
    """Whether a camera has the waist of a person at a point in its picture, and the knees below it."""
    where = view.position_px(x, y, 0.3)
    return view.in_frame(x, y, WAIST_M) and where is not None and where[1] > 0.5 * view.rows


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
            f"Weak {in_class(r.weather)} over {metres_text(r.weak_m, units)} of it, lowest"
            if r.weak_m < r.length_m - 0.5
            else "Lowest"
        )
        sentences.append(f"{part} at {r.at}.")
    if r.worse is not None and r.weak:
        cause = f", mostly {r.worse.cause}" if r.worse.cause not in (None, r.cause) else ""
        sentences.append(f"{first_upper(in_class(r.worse.weather))} Pd falls to {pd_text(r.worse.pd)}{cause}.")
    if r.widespread:
        sentences.append(f"Most of the fence is also weak {in_class(r.weather)}.")
    return " ".join(sentences)


def _sentence(r: Reading, units: str) -> str:
    best = "" if r.best is None else f"Best camera here: {camera_text(r.best, units)}"
    best += f", with Pd {pd_text(r.best_pd)} alone" if best and r.best_pd < MUCH else ""
    aside = aside_words(r.nearer, units) if best and r.nearer is not None else ""
    best += f" ({aside})" if aside else ""
    if best and not r.cause:
        return f"{best}; misses are too few to name a cause"
    if best and not r.weak:
        return f"{best}; of its few misses most are {r.cause}"
    if r.unseen is not None:
        return _unseen_sentence(r, best, units)
    if r.due is not None and r.due.what.startswith("heard: "):
        mark = r.due.what.removeprefix("heard: ")
        # Where hearing it leaves the place weak, the cause itself must still be said.
        cause = f"{_why(replace(r, due=None, asked=False))}; " if r.due.pd < r.required else ""
        return f"{best or 'No camera is of use here'}; {cause}no rule here listens to {mark}: heard too, Pd {pd_text(r.due.pd)}"
    often = "often " if r.often else ""
    why = _why(r)
    if not best:
        return f"No camera is of use here{f': {why}' if why else ''}; the nearest is {camera_text(r.nearest, units)}"
    if r.cause == "too small" and (r.due is None or not r.due.gaits):
        lens = f" (lens {r.best.lens})" if r.best and r.best.lens else ""
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
        if r.due is not None and r.due.what in ("look rate", "looks wanted"):
            many = f"{USUAL_LOOKS_PER_S:g} a second" if r.due.what == "look rate" else "one look"
            wanted = f"the alarm wants {r.looks[0]} of {r.looks[1]}, taken at {r.rate:g} a second"
            return f"{text}: {wanted}; with {many} Pd {pd_text(r.due.pd)}"
        return text
    if r.cause == "washed out":
        text = f"too little contrast is left {in_class(r.weather)}"
        return f"{text}: {taken_words(r.due, r.falling, r.window)}" if r.asked else text
    if r.cause == "not accepted":
        text = "the size gate leaves people out"
        if gait is not None:
            return f"{text} when {moving(gait.what)}, {pd_without(gait)}"
        return f"{text}; without it Pd {pd_text(r.due.pd)}" if r.due is not None and r.due.what == "size gate" else text
    return ""


def _unseen_sentence(r: Reading, best: str, units: str) -> str:
    """Out of every view, or seen and not heard; then the camera that does best, when another one was named."""
    unseen = r.unseen
    assert unseen is not None
    text = ""
    if r.cause == "not in view" and r.due is not None and not r.due.what.startswith("heard: "):
        text = _hidden_words(r, r.due, units)
    text = text or unseen_words(unseen, units)
    if r.cause == "no rule there" and r.due is not None:
        text = _unruled(r, text, r.due)
    # By its mark: the best camera has its lens beside it. Said to be of no use by geometry, it is still the one that does best.
    same = r.best is not None and r.best.mark == unseen.camera.mark
    if same and unseen.why in ("below", "behind", "above", "elsewhere"):
        return f"{text}; still it does best here, Pd {pd_text(r.best_pd)} alone"
    return f"{text}. {best}" if best and not same else text


def _unruled(r: Reading, text: str, due: Due) -> str:
    """What a rule there would bring."""
    if due.what == "time window":
        return f"The rule's time window passes between looks: with one of {LONG_WINDOW_S:g} s Pd {pd_text(due.pd)}"
    with_line = "with a line along the fence, " if due.what == "line at the fence" else "then "
    return f"{text} ({with_line}Pd {pd_text(due.pd)})"


def _hidden_words(r: Reading, due: Due, units: str) -> str:
    """What takes people out of view, where lifting it brings them back."""
    if due.gaits and r.unseen is not None and r.unseen.why == "below":
        return f"{unseen_words(r.unseen, units)} ({pd_without(due)})"
    if due.gaits and set(due.what.split(" and ")) <= LOW:
        over = f", below the picture of {camera_text(r.unseen.camera, units)}" if r.low_below and r.unseen else ""
        return f"whoever keeps low is out of view{over}; upright Pd {pd_text(due.pd)}"
    if due.gaits:
        return f"out of view when {moving(due.what)}, {pd_without(due)}"
    if due.what == "mounting errors":
        return f"in view as drawn, and out of it by mounting errors: {pd_without(due)}"
    if due.what == "all obstacles":
        return f"Hidden by several obstacles together; without them Pd {pd_text(due.pd)}"
    kind, name = due.what.split(": ", 1)
    unseen = r.unseen
    sees = unseen is not None and unseen.why in ("hidden", "framed")
    from_camera = f" from {camera_text(unseen.camera, units)}" if sees and unseen is not None else ""
    what = the(name) if kind == "obstacle" else f"the barrier of {name}"
    return f"Hidden by {what}{from_camera}; {pd_without(due)}"

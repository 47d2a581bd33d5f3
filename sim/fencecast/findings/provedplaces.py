"""Walked places where the walks there and the run's verdict of that segment do not agree.

A run takes every segment to be one that nobody walked, so a place's own walks do not move its verdict: where they speak against
it, the report has to say so.
Tests: tests/findings/test_proved_places.py.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from fencecast.estimate.results import Results
from fencecast.findings.provedplan import place_codes
from fencecast.findings.words import interval_text, pd_text, plural
from fencecast.prove.proof.scorefile import ScoreFile
from fencecast.prove.walks.chance import interval, upper_limit


@dataclass(frozen=True)
class Disagreement:
    """Walks at a place, low and high the exact interval of their share, against Pd and verdict of its segment in that weather.

    refuted: the walks alone refute the requirement, by the one-sided limit of a claim.
    """

    place: str
    code: str
    weather: str
    walks: int
    alarms: int
    low: float
    high: float
    pd: float
    verdict: str
    refuted: bool


def disagreements(score: ScoreFile | None, results: Results) -> list[Disagreement]:
    """Places whose walks refute the requirement while the segment meets it, or whose interval lies wholly below its Pd."""
    if score is None:
        return []
    plan, found = score.score.plan, []
    places, codes = {place.place: place for place in plan.places}, place_codes(plan)
    classes = [name for name in (score.held.weather or (plan.weather,)) if name in results.classes]
    sections, starts, ends = (results[name].values for name in ("section", "segment_start_m", "segment_end_m"))
    for name, walks, alarms in score.walked if len(classes) == 1 else ():
        place = places[name]
        inside = (starts <= place.chainage_m + 1e-9) & (place.chainage_m < ends + 1e-9)
        mine = np.flatnonzero((sections == place.section) & inside)
        if not walks or not len(mine):
            continue
        row, segment = results.classes.index(classes[0]), int(mine[0])
        pd = float(results.at("pd", weather=row)[segment])
        verdict = str(results.at("verdict", weather=row)[segment])
        low, high = interval(walks, walks - alarms, results.confidence)
        refuted = upper_limit(walks, walks - alarms, results.confidence) < results.requirement
        if not math.isnan(pd) and ((refuted and verdict == "meets") or high < pd):
            found.append(Disagreement(name, codes[name], classes[0], walks, alarms, low, high, pd, verdict, refuted))
    return found


def disagreement_lines(score: ScoreFile | None, results: Results) -> list[str]:
    """A sentence for each such place, and what to make of them."""
    found = disagreements(score, results)
    lines = [
        f"Walks and run disagree at {each.code}, {each.place}: {each.alarms} of {plural(each.walks, 'walk')} raised an alarm "
        f"({interval_text(each.alarms / each.walks, each.low, each.high)}"
        f"{', which refutes the requirement' if each.refuted else ''}); the run has Pd {pd_text(each.pd)} there, {each.verdict}."
        for each in found
    ]
    if found:
        lines.append(
            "A place's own walks do not move its verdict: the run takes every segment to be one that nobody walked. Go by the "
            "walks there, as walked, and look for what differs at that place."
        )
    return lines


def client_disagreement_lines(score: ScoreFile | None, results: Results) -> list[str]:
    """How many such places; none is named."""
    found = disagreements(score, results)
    if not found:
        return []
    return [f"At {plural(len(found), 'place')} the walks speak against what the simulation says of that place."]

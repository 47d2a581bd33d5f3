"""The words of the one-look picture: its finding, its subtitle and what its bars mean."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from fencecast.findings.lookscene import hidden_text, outside_text
from fencecast.findings.looktext import distance_text, lens_text, phrase, signed_kelvin_text, who_text, with_article
from fencecast.findings.words import first_upper, pd_text
from fencecast.site import Site

WORTH_A_WORD = 0.1  # a person of whom less than this is hidden is not said to be hidden in the title
LARGE_LOSS = 0.9  # a step that leaves less than this is worth a word in the title


def largest_loss(rungs: Sequence[Mapping[str, Any]]) -> int | None:
    """Index of the step of part 1 that leaves the smallest share of the contrast's size; None when every step keeps it."""
    losses = [
        (abs(rung["factor"]), i)
        for i, rung in enumerate(rungs)
        if rung["part"] == 1 and rung["factor"] is not None and math.isfinite(rung["factor"]) and abs(rung["factor"]) < 1.0
    ]
    return min(losses)[1] if losses else None


def _in_words(share: float) -> str:
    """A share for a title: '0.16', 'under 0.01', 'over 0.99'."""
    return pd_text(share).replace("<", "under ").replace(">", "over ")


def finding(explanation: Mapping[str, Any]) -> str:
    """The title: the chance that the look counts, and what became of the contrast."""
    rungs, who = explanation["rungs"], explanation.get("who", "person")
    chain = [rung for rung in rungs if rung["part"] == 1]
    ends = [rung for rung in rungs if rung["part"] == 2]
    start, counts = f"One look by {explanation['camera']} at {distance_text(explanation['distance_m'])}", ends[-1]["value"]
    title = f"{start} counts with chance {_in_words(counts)}"
    body = explanation.get("body")
    if body is not None:
        title = f"{start}: {with_article(who)} counts as a person with chance {_in_words(counts)}"
    outside, hidden_by = explanation.get("outside", ()), explanation.get("hidden_by", ())
    hidden = hidden_text(hidden_by, float(explanation.get("hidden_share", 0.0)))
    if outside:
        return f"{title}; the {who} is {outside_text(outside)}" + (f", and {hidden}" if hidden else "")
    if hidden and (not explanation["in_frame"] or explanation["hidden_share"] >= WORTH_A_WORD):
        return f"{title}; the {who} is {hidden}"
    worst = largest_loss(rungs)
    left = chain[-1]["after_k"]
    if chain[0]["after_k"] == 0:
        return f"{title}; the {explanation.get('part', 'torso')} {'starts with' if left else 'has'} no contrast to the ground"
    if left == 0:
        return f"{title}; nothing is left of the contrast after: {next(r['name'] for r in chain if r['after_k'] == 0)}"
    turned = next((rung for rung in chain if rung["factor"] is not None and rung["factor"] < 0), None)
    if turned is not None:
        return f"{title}; {turned['name']}: the contrast changes sign"
    if worst is not None and abs(rungs[worst]["factor"]) < LARGE_LOSS:
        name = rungs[worst]["name"]
        verb = "leave" if " and " in name and " between " not in name else "leaves"
        tail = ", less than the noise" if abs(left) < explanation["noise_k"] else ""
        return f"{title}; {name} {verb} {_in_words(abs(rungs[worst]['factor']))} of the contrast{tail}"
    if abs(left) < explanation["noise_k"]:
        return f"{title}; the contrast is less than the noise from the start"
    if body is not None:
        return f"{title}; without size and shape {_in_words(explanation['p_look'] * explanation['p_discriminate'])}"
    if ends[-1]["value"] < 0.5:
        weakest = min(ends[:-1], key=lambda rung: rung["value"], default=ends[-1])
        return f"{title}; nearly all the contrast arrives, weakest step: {weakest['name']}"
    return f"{title}; nearly all the contrast arrives"


def subtitle(explanation: Mapping[str, Any], site: Site) -> str:
    """What is drawn: the class, its fog, the lens, the person; with US units the distance in feet."""
    parts = [
        first_upper(explanation["weather"]),
        phrase(explanation, "fog_text", site.units),
        lens_text(site, explanation["lens"]),
    ]
    parts += [who_text(explanation.get("who", "person"), explanation["gait"]), "every varying quantity at its median"]
    if site.units == "us":
        parts.insert(2, f"distance {distance_text(explanation['distance_m'], 'us')}")
    return ", ".join(part for part in parts if part)


def key_words(rungs: Sequence[Mapping[str, Any]], off_axis: bool) -> str:
    """What the bars mean; only the kinds that are drawn. off_axis: a contrast is too small for the axis."""
    chain = [rung for rung in rungs if rung["part"] == 1 and rung["factor"] is not None]
    words = ["Bars: from the contrast before a step to the contrast after it (dot)"]
    if largest_loss(rungs) is not None:
        words.append("brown: the largest loss")
    if any(abs(rung["after_k"]) > abs(rung["before_k"]) for rung in chain):
        words.append("open: a gain")
    if any(rung["before_k"] * rung["after_k"] < 0 for rung in chain):
        words.append("dashed: the sign turns")
    if off_axis:
        words.append("arrow: smaller than the axis shows")
    if any(rung["after_k"] < 0 for rung in rungs if rung["part"] == 1):
        words.append("a minus means colder than the ground, the bars show sizes")
    return "; ".join(words) + "."


def body_sentence(explanation: Mapping[str, Any], units: str) -> str:
    """Whose numbers a look at a body has, and how warm it is; '' for the intruder."""
    body = explanation.get("body")
    if body is None:
        return ""
    size = " × ".join(f"{side:.2f}" for side in body["size_m"])
    whose = f'the stimulus "{body["name"]}" of the site file' if body["of_file"] else f'the kind "{body["kind"]}" as it comes'
    said = f"Numbers of {whose}: {size} m high, long and broad"
    if body["base_m"] > 0.0:
        said += f", {distance_text(round(body['base_m'], 1), units)} over the ground"
    warm = [(body["cover"], body["cover_minus_air_k"])]
    if body["legs_minus_air_k"] is not None:
        warm.append(("wheels and bonnet" if body["cover"] == "sides" else "legs", body["legs_minus_air_k"]))
    said += "; against the air " + ", ".join(f"{name} {signed_kelvin_text(above, units)}" for name, above in warm) + "."
    if explanation["acceptance"]["seen_m"] is None:
        return f"{said} It is as high as the camera or higher, so it never seems to stand on the ground and crosses no line."
    return said

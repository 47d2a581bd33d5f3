"""What one finding of the design review says: its places, what was measured, why, what to do, its limit.

Tests: tests/findings/test_check_words.py.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from fencecast.estimate.placecodes import place_code, section_letters
from fencecast.findings.checkwords import MEASURED_SKY, WORDS
from fencecast.findings.sitecheckwords import LAND_WHY
from fencecast.review.finding import Finding, Span
from fencecast.site import Site
from fencecast.units import METRES_PER_FOOT

_SHARES = ("line-end", "sky", "own-wall", "dependence-loss", "record-gaps")
# Findings that have no limit but being there at all.
_WITHOUT_LIMIT = (
    "inside-reversed",
    "requirement-default",
    "check-this",
    "fog-one-value",
    "sees-no-fence",
    "idle-camera",
    "source-unseen",
)
_LOW_GAITS = {"crouch": "who crouch", "crawl": "who crawl", "flat_crawl": "who crawl flat", "walk": "who walk", "run": "who run"}
_MORE_THAN = {"walk": " more than for walkers", "run": " more than for runners"}
_METRES = re.compile(r"(?<![–\d.,])(\d[\d,]*(?:\.\d+)?) m\b(?!/)")


def places_text(site: Site, spans: Sequence[Span]) -> str:
    """`D 0–9 m` or `A 0–4 m, A 45–48 m`; '' without stretches, and without length (a point of the fence) `A 10 m`."""
    letters = section_letters(site)
    codes = [
        place_code(letters[s.section], s.start_m, s.end_m) if s.length_m > 0.0 else f"{letters[s.section]} {s.start_m:.0f} m"
        for s in spans
    ]
    return ", ".join(codes)


def percent_text(share: float) -> str:
    return f"{100.0 * share:.0f} %"


def _filled(site: Site, f: Finding) -> dict[str, Any]:
    """Everything that a sentence of this finding may name."""
    facts = dict(f.facts)
    places = places_text(site, f.spans)
    text = {
        "places": f" ({places})" if places else "",
        "percent": percent_text(f.value),
        "limit_percent": percent_text(f.limit),
    }
    if "share" in facts:
        text["share_percent"] = percent_text(float(facts["share"]))
    if f.id == "under-mast":
        helps = str(facts["helps"])
        text["or_hear"] = f", let the rule hear {helps}, which has it in view" if helps else ""
        tilts = float(facts["tilts"])
        part = f" (this helps on {tilts:.1f} m; the rest is behind it or beside it)" if tilts < f.value - 0.25 else ""
        text["or_tilt"] = f", or tilt it down{part}" if tilts > 0.0 else ""
    elif f.id == "not-in-view":
        behind = f"; {float(facts['behind']):.1f} m of it are behind or beside {facts['cameras']}, which stands near"
        several = "," in str(facts["cameras"])
        text["behind_words"] = (behind.replace("stands", "stand") if several else behind) if facts["cameras"] else ""
        text["not_tilt"] = ": tilting does not bring in what is behind or beside a camera" if facts["cameras"] else ""
    elif f.id == "gait-far":
        text["more_than"] = _MORE_THAN.get(str(facts["than"]), f" more than for {facts['than']}") if facts["than"] else ""
        text["lowest"] = places_text(site, [Span(int(facts["section"]), float(facts["at"]), float(facts["at"]))])
    elif f.id == "sun":
        text["while_armed"] = " while it is armed" if facts["armed"] else ""
    elif f.id == "stated-field":
        text["other_fits"] = f"; an {facts['other']} lens would fit".replace("an r", "a r") if facts["other"] else ""
    elif f.id == "inside-reversed":
        voted = "beside" in facts
        text["away"] = f"away from {facts['outside']} of {facts['beside']} cameras beside it" if voted else "out of the yard"
    elif f.id == "rule-outside":
        text["outside"] = -f.value
    elif f.id == "record-far":
        text["hint_words"] = f"; {facts['hint']}?" if facts["hint"] else ""
    elif f.id == "proof-size":
        text["confidence_percent"] = f"{100.0 * float(facts['confidence']):g} %"
    elif f.id == "intruders":
        low = facts["who"] == "low"
        text["who_words"] = f"{percent_text(f.value)} crouch or crawl" if low else f"95 % are taller than {f.value:.2f} m"
    elif f.id == "land-in-view":
        text["land_why"] = LAND_WHY[str(facts["ground"])]
    elif f.id == "size-gate-low":
        text["who_words"] = _gait_words(dict(facts["ratios"]))
    elif f.id == "feet-for-metres":
        text["feet_words"] = _feet_words(f)
    return facts | text | {"value": f.value, "limit": f.limit}


def _gait_words(ratios: dict[str, float]) -> str:
    """`people who crawl are 0.54 of one, who crawl flat 0.42`."""
    said = [
        f"{_LOW_GAITS.get(gait, gait)} {'are ' if k == 0 else ''}{ratio:.2f}" for k, (gait, ratio) in enumerate(ratios.items())
    ]
    return f"people {', '.join(said)}"


def _feet_words(f: Finding) -> str:
    if f.facts["what"] == "section":
        return "its loose ends would meet other sections if its numbers were feet"
    metres = f"{float(f.facts['instead']):.1f} m if it was typed in feet"
    if f.facts["what"] == "barrier":
        return f"barrier_height_m {f.value:g} m: {metres}"
    return f"height_m {f.value:g} m, and {float(f.facts['median']):g} m for the others: {metres}"


def measured_text(site: Site, f: Finding) -> str:
    """What was measured, in words."""
    return with_feet(site, WORDS[f.id].measured.format(**_filled(site, f)))


def with_feet(site: Site, text: str) -> str:
    """Feet behind every length in metres when units are 'us'; ends of places (`D 0–9 m`) stay as they are typed."""
    if site.units != "us":
        return text
    return _METRES.sub(lambda found: f"{found[0]} ({float(found[1].replace(',', '')) / METRES_PER_FOOT:.0f} ft)", text)


def why_text(site: Site, f: Finding) -> str:
    """Why it matters."""
    return WORDS[f.id].why.format(**_filled(site, f))


def fix_text(site: Site, f: Finding) -> str:
    """What to do. Of the sky over a camera whose depression was measured on the finished site both ways are said: it was not
    designed so, and the numbers are of how it hangs."""
    if f.id == "sky" and was_measured(site, f.name):
        return MEASURED_SKY
    return WORDS[f.id].fix.format(**_filled(site, f))


def was_measured(site: Site, mark: str) -> bool:
    """Whether `[built]` names a camera, fitted, and the camera has the uncertain depression that the measurement wrote."""
    built = site.built
    if built is None or mark in (built.not_fitted or ()) or mark not in (built.readings or built.dof or built.chi2 or {}):
        return False
    return any(camera.mark == mark and camera.depression_sd_deg is not None for camera in site.camera)


def limit_text(f: Finding) -> str:
    """`; limit 0 m`, `; limit 15 %`, '' where being there is all."""
    if f.id in _WITHOUT_LIMIT:
        return ""
    return f"; limit {percent_text(f.limit)}" if f.id in _SHARES else f"; limit {f.limit:.4g} {f.unit}".rstrip()

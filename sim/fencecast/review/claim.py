"""Can the claim be shown? Walks that a requirement asks for, what was not typed, whom it leaves out.

Tests: tests/review/test_checks.py.
"""

from __future__ import annotations

import math

from fencecast.review.asked import Asked
from fencecast.review.finding import NOTE, WARN, Finding

_MINUTES = 3.0  # for one walk with its way back (common practice, no source)
_SMALL_M = 1.60
_LOW_SHARE = 0.05


def claim(asked: Asked) -> list[Finding]:
    """All checks of this group, in their order."""
    site, found = asked.site, []
    pd, confidence = float(site.requirement.pd), float(site.requirement.confidence)
    walks = math.ceil(math.log(1.0 - confidence) / math.log(pd) - 1e-9)
    gaits = len(asked.cover.walkers)
    hours = walks * len(site.perimeter) * gaits * _MINUTES / 60.0
    if walks > asked.limit("proof-walks") or hours > asked.limit("proof-hours"):
        facts = {"hours": hours, "sections": len(site.perimeter), "gaits": gaits, "pd": pd, "confidence": confidence}
        found.append(Finding("proof-size", WARN, "site", "", float(walks), "walks", asked.limit("proof-walks"), facts=facts))
    if "pd" not in site.requirement.model_fields_set:
        found.append(Finding("requirement-default", NOTE, "site", "", pd, "", pd))
    found += _intruders(asked)
    correlation = float(site.decision.encounter_correlation.middle())
    if correlation < asked.limit("correlation") and len(set(asked.cover.post.tolist())) > 1:
        found.append(Finding("independent", WARN, "site", "", correlation, "", asked.limit("correlation"), worse=-1))
    length = float(site.site.segment_length_m)
    if length > asked.limit("segment-m"):
        found.append(Finding("long-segments", WARN, "site", "", length, "m", asked.limit("segment-m")))
    return found


def _intruders(asked: Asked) -> list[Finding]:
    who = asked.site.intruder
    total = sum(who.gaits.values())
    low = sum(share for name, share in who.gaits.items() if name in ("crouch", "crawl", "flat_crawl")) / total
    smallest = who.stature_m.quantile(0.05)
    facts = {"smallest": smallest}
    if low < _LOW_SHARE:
        return [Finding("intruders", WARN, "site", "", low, "", _LOW_SHARE, worse=-1, facts=facts | {"who": "low"})]
    if smallest > _SMALL_M:
        return [Finding("intruders", WARN, "site", "", smallest, "m", _SMALL_M, facts=facts | {"who": "small"})]
    return []

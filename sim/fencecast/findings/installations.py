"""Yards as built: how many of them meet the requirement, and between which Pd their weakest metre lies."""

from __future__ import annotations

from dataclasses import asdict, dataclass

import numpy as np

from fencecast.estimate.installations import wilson
from fencecast.estimate.places import code_of, touching
from fencecast.estimate.results import Results
from fencecast.estimate.weakest import counted_classes, touching_sets
from fencecast.findings.blocks import LEFT, NOTE, RIGHT, UNBROKEN, Block, Heading, Line, Table
from fencecast.findings.words import confidence_text, listed, number_word, pd_text, range_text, requirement_text
from fencecast.site import Site
from fencecast.site.quantity import Quantity
from fencecast.site.tolerances import has_mounting_errors

# Stretches that are named.
_NAMED = 5
_OWN_ERRORS = ("bearing_sd_deg", "depression_sd_deg", "height_sd_m")
_DECISION_WORDS = {
    "cycles_50": "N50",
    "encounter_correlation": "the correlation",
    "threshold_sigma": "the threshold",
    "clutter_factor": "clutter",
}


@dataclass(frozen=True)
class Stretch:
    """Touching metres that some installations do not meet in a class: of the segment with the lowest 10 % point its numbers."""

    place: str
    weather: str
    pd: float
    pd_10: float
    pd_90: float
    meets_share: float
    meets_low: float
    meets_high: float


@dataclass(frozen=True)
class Installations:
    """count yards as built, of which `meeting` meet everywhere, as estimated; lowest_10, lowest_90: Pd of their weakest metre."""

    count: int
    meeting: int
    meets_low: float
    meets_high: float
    lowest_10: float
    lowest_90: float
    spreads: tuple[str, ...]
    stretches: tuple[Stretch, ...]


def installations_of(results: Results) -> Installations | None:
    """What the installations of a run came to; None when none were asked for or nothing was simulated."""
    if "pd_installation" not in results:
        return None
    lowest = results["installation_lowest_pd"].values
    if np.isnan(lowest).all():
        return None
    meeting = int((lowest >= results.requirement).sum())
    low, high = wilson(float(meeting), len(lowest), results.confidence)
    ends = np.quantile(lowest, (0.1, 0.9))
    spreads = spread_words(results.site)
    return Installations(
        len(lowest), meeting, float(low), float(high), float(ends[0]), float(ends[1]), spreads, _stretches(results)
    )


def spread_words(site: Site) -> tuple[str, ...]:
    """What is drawn once for each installation, with its size: `bearing and depression within 1 degree`, `units' noise ...`."""
    t, words = site.tolerance, []
    if t.bearing_deg > 0.0 and t.bearing_deg == t.depression_deg:
        words.append(f"bearing and depression within {_degrees(t.bearing_deg)}")
    else:
        angles = (("bearing", t.bearing_deg), ("depression", t.depression_deg))
        words += [f"{name} within {_degrees(size)}" for name, size in angles if size > 0.0]
    if t.height_m > 0.0:
        words.append(f"height within {t.height_m:g} m")
    own = [camera for camera in site.camera if any(getattr(camera, key) is not None for key in _OWN_ERRORS)]
    if own and has_mounting_errors(site):
        many = f"{len(own)} cameras" if len(own) > 1 else f"camera {own[0].mark}"
        words.append(f"{many} within errors of {'their' if len(own) > 1 else 'its'} own")
    units = max((site.sensors[camera.sensor].netd_spread for camera in site.camera), default=0.0)
    if units > 0.0:
        words.append(f"noise of units (NETD) within {100 * units:.3g} %")
    for key, name in _DECISION_WORDS.items():
        quantity: Quantity = getattr(site.decision, key)
        if not quantity.is_fixed:
            words.append(f"{name} mostly from {max(quantity.quantile(0.159), 0.0):.2g} to {quantity.quantile(0.841):.2g}")
    return tuple(words)


def differ_in_spread_alone(one: Site, other: Site) -> bool:
    """Whether two sites are the same but for what is drawn once for an installation."""
    return spread_words(one) != spread_words(other) and _as_drawn(one) == _as_drawn(other)


def yards_differ(site: Site) -> bool:
    """Whether yards built from this file differ in more than the noise of their units: mounting, or what is not known."""
    return has_mounting_errors(site) or any(not getattr(site.decision, key).is_fixed for key in _DECISION_WORDS)


def built_lines(results: Results) -> list[str]:
    """The headline for the sheet, beside its verdict; none when no installations were asked for or nothing differs."""
    found = installations_of(results)
    return [headline(results, found)] if found is not None and found.spreads else []


def _as_drawn(site: Site) -> dict:
    """What stands in a site, at the medians of what is drawn for an installation."""
    named = ("title", "seed", "units", "schema_version", "tolerance", "variant", "mounting", "kit")
    keys = {key: getattr(site, key) for key in type(site).model_fields if key not in named}
    keys["sensors"] = {name: dict(sensor) | {"netd_spread": 0.0} for name, sensor in site.sensors.items()}
    keys["camera"] = tuple(dict(camera) | dict.fromkeys(_OWN_ERRORS) for camera in site.camera)
    decision = dict(site.decision)
    return keys | {"decision": decision | {key: decision[key].middle() for key in _DECISION_WORDS}}


def _share(share: float, low: float, high: float) -> str:
    """`67 % (39 to 86)`."""
    return f"{100 * share:.0f} % ({100 * low:.0f} to {100 * high:.0f})"


def _degrees(size: float) -> str:
    return f"{size:g} degree{'' if size == 1.0 else 's'}"


def headline(results: Results, found: Installations) -> str:
    """`Built within 1 degree, 8 of 12 yards like this meet everywhere; the weakest metre lies between 0.79 and 0.93.`"""
    if not found.spreads:
        return (
            f"Nothing in this site differs from one installation to the next: all {found.count} are the same yard. Type "
            "[tolerance] bearing_deg = 1.0, or a spread in [decision], to see what building adds."
        )
    t = results.site.tolerance
    angle = max(t.bearing_deg, t.depression_deg)
    sizes = ([_degrees(angle)] if angle > 0.0 else []) + ([f"{t.height_m:g} m"] if t.height_m > 0.0 else [])
    start = f"Built within {listed(sizes)}, " if sizes else "With what differs between installations, "
    if found.meeting == found.count:
        meet = f"all {found.count} yards like this meet everywhere"
    elif found.meeting == 0:
        meet = f"none of {found.count} yards like this meets everywhere"
    else:
        meet = f"{found.meeting} of {found.count} yards like this {'meets' if found.meeting == 1 else 'meet'} everywhere"
    low, high = pd_text(found.lowest_10), pd_text(found.lowest_90)
    weakest = f"the weakest metre lies at {low}" if low == high else f"the weakest metre lies between {low} and {high}"
    return f"{start}{meet}; {weakest}."


def installation_blocks(results: Results) -> list[Block]:
    """The part of the report about yards as built; nothing when none were asked for."""
    found = installations_of(results)
    if found is None:
        return []
    blocks: list[Block] = [Heading("Yards as built"), Line(headline(results, found))]
    if not found.spreads:
        return blocks
    if found.stretches:
        columns = [
            ("place", UNBROKEN),
            ("class", LEFT),
            ("mean Pd", RIGHT),
            ("10 to 90 % of yards", RIGHT),
            ("yards that meet", RIGHT),
        ]
        rows = [
            [
                s.place,
                s.weather,
                pd_text(s.pd),
                range_text(s.pd_10, s.pd_90),
                _share(s.meets_share, s.meets_low, s.meets_high),
            ]
            for s in found.stretches[:_NAMED]
        ]
        blocks.append(Table.of(columns, rows))
        if len(found.stretches) > _NAMED:
            blocks.append(Line(f"And {number_word(len(found.stretches) - _NAMED)} more, with less.", NOTE))
    share = _share(found.meeting / found.count, found.meets_low, found.meets_high)
    return [
        *blocks,
        Line(
            f"Drawn once for each of {found.count} yards, errors as one sigma: {'; '.join(found.spreads)}. To meet everywhere: "
            f"Pd, as estimated, {requirement_text(results.requirement)} in every class with hours where a rule watches; of all "
            f"such yards {share} at {confidence_text(results.confidence)}. The weakest metre: from the 10 to the 90 % point over "
            "these yards. Pd elsewhere in this report is the mean over yards.",
            NOTE,
        ),
    ]


def installations_object(results: Results) -> dict:
    """The part of `run --json`; empty when none were asked for."""
    found = installations_of(results)
    if found is None:
        return {}
    return {"installations": {"sentence": headline(results, found), **asdict(found)}}


def _stretches(results: Results) -> tuple[Stretch, ...]:
    """Stretches whose 10 % point is below the requirement in a class with hours, the lowest first."""
    rows = counted_classes(results)
    low = np.array([results.at("pd_installation_10", weather=row) for row in rows])
    below = np.where(np.isnan(low), np.inf, low).min(axis=0) < results.requirement
    found = []
    for part in touching_sets(below, *touching(results.sections)):
        k, j = np.unravel_index(int(np.nanargmin(low[:, part])), (len(rows), len(part)))
        row, segment = rows[int(k)], part[int(j)]
        names = ("pd", "pd_installation_10", "pd_installation_90", "installation_meets_share")
        numbers = [results.at(name, weather=row, segment=segment) for name in names]
        ends = [results.at(f"installation_meets_share_{end}", weather=row, segment=segment) for end in ("low", "high")]
        code = code_of(results, results.sections, part[0], part[-1])
        found.append(Stretch(code, results.classes[row], *map(float, (*numbers, *ends))))
    return tuple(sorted(found, key=lambda stretch: stretch.pd_10))

"""The rows of the register: every assumption of a site in words, where it is from, and who could confirm it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from fencecast.estimate.places import place_code
from fencecast.estimate.results import Results
from fencecast.findings.checksentences import was_measured, with_feet
from fencecast.findings.installations import spread_words
from fencecast.findings.words import (
    armed_hours_text,
    confidence_text,
    first_upper,
    listed,
    metres_text,
    number_word,
    requirement_text,
    whole,
)
from fencecast.meteorology.year import LEAST_YEARS
from fencecast.onelook.accepted import gate_words
from fencecast.report.sections.quantities import (
    approach_text,
    clothing_text,
    number_text,
    quantity_text,
    shares_text,
    speeds_text,
)
from fencecast.site import Site
from fencecast.site.schema import OPEN_SHARE, Perimeter, Rule, Sensor, Table

JUDGED = "; a judgement"
FILE, DEFAULT, PART = "site file", "default", "site file, in part default"
_Each = TypeVar("_Each")


@dataclass(frozen=True)
class Assumption:
    """One row: about what, what is assumed, its value, where it is from, who could confirm it."""

    about: str
    what: str
    value: str
    source: str
    confirmed_by: str


def given(tables: Iterable[Table], *keys: str) -> str:
    """Where the values of some keys are from: the file when every table gave all of them, `default` when none gave any."""
    said = [key in table.model_fields_set for table in tables for key in keys]
    return FILE if all(said) else PART if any(said) else DEFAULT


def assumptions(results: Results) -> list[Assumption]:
    """All rows, in the order in which a reader meets them; feet beside metres where the site asks for them."""
    site = results.site
    rows = [
        *_claim(site),
        *_nuisance(site),
        *_ground(results),
        *_cameras(site),
        *_alarm(site),
        *_intruders(site),
        *_hours(results),
    ]
    return [replace(row, what=with_feet(site, row.what), value=with_feet(site, row.value)) for row in rows]


def _claim(site: Site) -> list[Assumption]:
    need = site.requirement
    value = f"{requirement_text(need.pd)} at {confidence_text(need.confidence)} confidence"
    what = "Probability of an alarm that every metre needs in every class"
    return [Assumption("Requirement", what, value, given([need], "pd", "confidence"), "owner")]


def nuisance_rows(site: Site) -> list[tuple[str, str]]:
    """What the site file says of ceilings of nuisance alarms and of attempts, words and values; none without `[[stimulus]]`."""
    if not site.stimulus:
        return []
    said = (
        ("Nuisance alarms a night on average, at most", site.requirement.nuisance_per_night),
        ("Nuisance alarms a night on 19 nights in 20, at most", site.requirement.nuisance_bad_night),
        ("How often a year somebody tries to get in", site.nuisance.attempts_per_year),
    )
    return [(what, f"{value:g}") for what, value in said if value is not None]


def _nuisance(site: Site) -> list[Assumption]:
    return [Assumption("Nuisance alarms", what, value, FILE, "owner") for what, value in nuisance_rows(site)]


def _ground(results: Results) -> list[Assumption]:
    site, letters = results.site, {s.name: s.letter for s in results.sections}
    total = float(results.lengths_m.sum())
    number = len(site.perimeter)
    sections = "one section" if number == 1 else f"{number_word(number)} sections"
    rows = [
        Assumption("Site", "Length of fence", f"{metres_text(total)} in {sections}", FILE, "surveyor"),
        Assumption("Site", "Ground", f"{site.site.ground}, flat", f"{FILE}; flat by the model", "surveyor"),
        Assumption(
            "Site", "Barriers", _grouped(site.perimeter, _barrier, lambda p: p.name), given(site.perimeter, "barrier"), "surveyor"
        ),
    ]
    gates = [f"{gate.name} ({place_code(letters[p.name], gate.from_m, gate.to_m)})" for p in site.perimeter for gate in p.gates]
    if gates:
        rows.append(Assumption("Site", "Gates, taken as shut and not climbed", "; ".join(gates), FILE, "owner"))
    stands = "; ".join(f"{o.name} {o.height_m:g} m" + (", may come and go" if o.moveable else "") for o in site.obstacle)
    what = "Buildings and stacks; nothing else stands in a view"
    return [*rows, Assumption("Site", what, stands or "none", FILE, "owner")]


def _barrier(p: Perimeter) -> str:
    if p.barrier == "none":
        return "no barrier"
    share = p.barrier_open_share
    kept = "" if share is None or share == OPEN_SHARE[p.barrier] else f", {100 * share:.3g} % open"
    return f"{p.barrier} {p.barrier_height_m:g} m{kept}"


def _grouped(things: Sequence[_Each], words: Callable[[_Each], str], name: Callable[[_Each], str]) -> str:
    """`mesh 2.4 m: east fence, north fence; no barrier: quay`; the words alone where all are alike."""
    groups: dict[str, list[str]] = {}
    for thing in things:
        groups.setdefault(words(thing), []).append(name(thing))
    if len(groups) == 1 and len(things) > 1:
        return f"{next(iter(groups))}, everywhere"
    return "; ".join(f"{text}: {', '.join(names)}" for text, names in groups.items())


def _cameras(site: Site) -> list[Assumption]:
    used = {camera.sensor for camera in site.camera}
    lenses = {camera.lens for camera in site.camera}
    rows = [
        Assumption(
            "Cameras", f"Sensor “{name}”", _sensor(sensor),
            given([sensor], "columns", "rows", "pitch_um", "netd_mk", "netd_spread", "frame_rate_hz"), "supplier's measurement",
        )
        for name, sensor in site.sensors.items() if name in used
    ]  # fmt: skip
    for name, lens in site.lenses.items():
        if name in lenses:
            value = f"{lens.focal_length_mm:g} mm, f/{lens.f_number:.1f}, {lens.projection}"
            value += f", passes {100 * lens.transmission:.3g} %" if lens.transmission < 1.0 else ""
            source = given([lens], "focal_length_mm", "f_number", "projection")
            rows.append(Assumption("Cameras", f"Lens “{name}”", value, source, "supplier"))
    heights = sorted({camera.height_m for camera in site.camera})
    up = (
        "no camera" if not heights else f"{heights[0]:g} m up" if len(heights) == 1 else f"{heights[0]:g} to {heights[-1]:g} m up"
    )
    number = number_word(len(site.camera))
    value = f"{number}, {up}, dry and clean but for what a class says of the window" if heights else up
    rows.append(Assumption("Cameras", "Number and height", value, FILE, "installer, as built"))
    t = site.tolerance
    errors = f"bearing {t.bearing_deg:g}°, depression {t.depression_deg:g}°, height {t.height_m:g} m"
    if not (t.bearing_deg or t.depression_deg or t.height_m):
        errors = "none: every camera hangs exactly as drawn"
    source = given([t], "bearing_deg", "depression_deg", "height_m")
    what, confirmed = "Mounting errors, one sigma", "installer, aim sheets"
    measured = [camera.mark for camera in site.camera if was_measured(site, camera.mark)]
    if measured and site.built is not None:
        errors = _as_measured(site, measured, errors)
        source, what, confirmed = FILE, "How cameras hang", "who measured them"
    return [*rows, Assumption("Cameras", what, errors, source, confirmed)]


def _as_measured(site: Site, measured: Sequence[str], errors: str) -> str:
    """`as measured on 2026-11-30: T1, T2; left uncertain by 0.2 to 0.3 degrees (one standard deviation)`, and of the others what
    the tolerance says. errors: that."""
    left = [
        sd
        for camera in site.camera
        if camera.mark in measured
        for sd in (camera.bearing_sd_deg, camera.depression_sd_deg)
        if sd is not None
    ]
    ends = list(dict.fromkeys(f"{end:.1f}" for end in (min(left), max(left))))
    assert site.built is not None
    text = (
        f"as measured on {site.built.date}: {', '.join(measured)}; left uncertain by {' to '.join(ends)} degrees (one standard "
        "deviation)"
    )
    others = [camera.mark for camera in site.camera if camera.mark not in measured]
    if not others:
        return text
    return f"{text}; {', '.join(others)}: {errors.replace('none: every camera hangs', 'as drawn: taken to hang')}"


def _sensor(sensor: Sensor) -> str:
    lens = "with the lens" if sensor.netd_f_number is None else f"at f/{sensor.netd_f_number:.1f}"
    return (
        f"{sensor.columns} × {sensor.rows} pixels of {sensor.pitch_um:g} µm, NETD {sensor.netd_mk:g} mK {lens}, spread "
        f"{100 * sensor.netd_spread:.3g} %, {sensor.frame_rate_hz:g} Hz"
    )


def _alarm(site: Site) -> list[Assumption]:
    d, walked = site.decision, site.calibration
    from_where = JUDGED if walked is None else f"; calibrated by {walked.walks:,} walks"
    alike = f"{quantity_text(d.encounter_correlation)} (0 to 0.9)"
    if walked is not None:
        known = walked.correlation_high - walked.correlation_low < 0.5  # of 0.9 at most; a judgement
        alike = f"{d.encounter_correlation.middle():.2f} ({walked.correlation_low:.2f} to {walked.correlation_high:.2f})"
        alike += "" if known else ", hardly learnt from the walks"
    m, n = d.confirm
    rules = _grouped(site.rule, rule_text, lambda rule: rule.perimeter or "by points of its own") if site.rule else "none"
    looks = f"{d.min_pixels} pixels pass {quantity_text(d.threshold_sigma)} sigma; alarm at {m} of {n} looks, "
    looks += f"{d.looks_per_s:g} a second"
    rows = [
        Assumption("Alarm", "Rules", rules, FILE if site.rule else DEFAULT, "commissioning engineer"),
        Assumption(
            "Alarm", "A look counts when", looks, given([d], "min_pixels", "threshold_sigma", "confirm", "looks_per_s"),
            "supplier of the analytics",
        ),
        Assumption(
            "Alarm", "Detail that the analytics need (N50)",
            f"{quantity_text(d.cycles_50)} resolved cycles for half of all encounters", given([d], "cycles_50") + from_where,
            "walk test",
        ),
        Assumption(
            "Alarm", "How alike two cameras judge one intruder", alike,
            given([d], "encounter_correlation") + from_where, "walk test",
        ),
    ]  # fmt: skip
    if not (d.clutter_factor.is_fixed and d.clutter_factor.value == 1.0):
        what = "Ground clutter, times what a class says"
        rows.append(
            Assumption("Alarm", what, quantity_text(d.clutter_factor), given([d], "clutter_factor") + JUDGED, "walk test")
        )
    if any(d.size_gate):
        what = "Sizes that alarm, in shares of an upright person's"
        sizes = f"{gate_words(d.size_gate)}, estimated to {100 * d.size_spread:.3g} %"
        source = given([d], "size_gate", "size_spread")
        rows.append(Assumption("Alarm", what, sizes, source, "supplier of the analytics"))
    return rows


def rule_text(rule: Rule) -> str:
    """`line, 1 m inside, inward`, `area, 2 s inside`."""
    way = {"inward": "inward", "outward": "outward", "both": "both ways"}[rule.direction]
    if rule.kind == "area":
        return "area" + (f", {rule.dwell_s:g} s inside" if rule.dwell_s else "")
    return f"line, {rule.offset_m:g} m inside, {way}"


def _intruders(site: Site) -> list[Assumption]:
    who = site.intruder
    moves = f"{shares_text(who.gaits)}; at {speeds_text(who)} (medians)"
    body = f"stature {quantity_text(who.stature_m, 'm')}; {clothing_text(who)}"
    return [
        Assumption("Intruders", "How they move", moves, given([who], "gaits", "speed_m_s"), "owner, with the designer"),
        Assumption(
            "Intruders", "Approach", approach_text(who),
            given([who], "approach_angle_deg", "turn_deg", "pause_s", "climb_s", "path_m"), "owner, with the designer",
        ),
        Assumption(
            "Intruders", "Body and clothing", body, given([who], "stature_m", "clo", "clothing_emissivity", "bare_head_share"),
            "designer",
        ),
    ]  # fmt: skip


def _hours(results: Results) -> list[Assumption]:
    site, attrs = results.site, results.attrs
    owner = "owner: the hours in which the system is armed"
    spreads = spread_words(site) if "pd_installation" in results else ()
    built = [Assumption("As built", "What differs from yard to yard", "; ".join(spreads), FILE, "installer")] if spreads else []
    count = len(results.classes)
    classes = "one class" if count == 1 else f"{number_word(count)} classes"
    if "weather_source" not in attrs:
        total = float(results["weather_hours"].values.sum())
        return [Assumption("Weather", "Hours that count", f"{whole(total)} a year in {classes}", FILE, owner), *built]
    per = 1.0 if results.years >= LEAST_YEARS else results.years
    known, armed = (per * float(results.at(name)) for name in ("known_armed_hours", "armed_hours"))
    counted = armed_hours_text(known, armed, results.years >= LEAST_YEARS)
    when = _schedule(site)
    source = FILE if site.armed.model_fields_set else DEFAULT
    record = Assumption("Weather", "Hourly record", f"{attrs['weather_source']}", FILE, "designer, with a second record")
    return [Assumption("Weather", "Hours that count", f"{counted} in {classes}; {when}", source, owner), record, *built]


def _schedule(site: Site) -> str:
    """When the system is armed, as the site file has it."""
    armed, parts = site.armed, []
    if isinstance(armed.hours, dict):
        parts.append("; ".join(f"{days} {', '.join(spans)}" for days, spans in armed.hours.items()))
    elif armed.hours is not None:
        parts.append(", ".join(str(span) for span in armed.hours))
    if armed.sun_below_deg is not None:
        parts.append(f"sun below {number_text(armed.sun_below_deg)}°")
    return first_upper(listed(parts)) if parts else "armed all day"

"""The design review as sentences, tables and one JSON object, made from what `review` found.

Tests: tests/findings/test_check_words.py.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from fencecast import __version__
from fencecast.cautions import CAUTION
from fencecast.errors import as_toml
from fencecast.findings.blocks import CAUTION_ROLE, FINDING, LEFT, NOTE, RIGHT, TEXT, TITLE, Block, Cell, Heading, Line, Table
from fencecast.findings.blocks import Row as RowBlock
from fencecast.findings.checksentences import fix_text, limit_text, measured_text, percent_text, places_text, why_text, with_feet
from fencecast.findings.checkwords import WORDS
from fencecast.review.finding import SEVERITIES, Finding
from fencecast.review.review import Review
from fencecast.site import Site

_ROLE = {"stop": "bad", "warn": "undecided", "note": "note"}


def counts_text(found: Review) -> str:
    """`4 stop, 2 warn, 6 note, 1 accepted`."""
    done = len(found.findings) - len(found.open)
    return ", ".join([*(f"{found.count(s)} {s}" for s in SEVERITIES), f"{done} accepted"])


def run_line(found: Review, path: str) -> str:
    """The one line of `run`: `Design review: 4 stop, 2 warn; fencecast check yard.toml`."""
    return f"Design review: {found.count('stop')} stop, {found.count('warn')} warn; fencecast check {path}"


def review_attrs(found: Review, path: str) -> dict[str, str]:
    """What the results of a run keep of the review: its line, its stops in short, all findings as JSON."""
    stops = [f"{f.id} {places_text(found.site, f.spans) or f.object}" for f in found.open if f.severity == "stop"]
    return {
        "design_review": run_line(found, path),
        "design_review_stops": "; ".join(stops),
        "findings": json.dumps([finding_object(found.site, f) for f in found.findings]),
    }


def review_object(found: Review) -> dict[str, Any]:
    """What `run --json` says of the review."""
    return {"design_review": {s: found.count(s) for s in SEVERITIES} | {"accepted": len(found.findings) - len(found.open)}}


def review_lines(attrs: Mapping[str, Any]) -> list[Block]:
    """The line of `run`, from the results; none when they were made without a review."""
    return [Line(str(attrs["design_review"]), apart=True)] if attrs.get("design_review") else []


def accept_lines(f: Finding) -> str:
    """The table to paste that accepts a finding."""
    rows = [("check", f.id), ("object", f.object), ("reason", "WHY IT MAY STAY"), ("by", "NAME")]
    typed = "\n".join(f"{key} = {as_toml(value)}" for key, value in rows)
    return f"[[accept]]\n{typed}\non = DATE\nmeasured = {f.value:.4g}"


def check_blocks(found: Review, everything: bool = False) -> list[Block]:
    """The review for a reader. everything: accepted findings in full, what was asked and silent, and what to paste to accept."""
    site = found.site
    blocks: list[Block] = [Line(site.title, TITLE), Line(f"Design review without simulation: {counts_text(found)}", apart=True)]
    for f in found.open:
        blocks += _finding(site, f, everything)
    done = [f for f in found.findings if not f.open]
    if done:
        blocks.append(Heading("Accepted"))
        for f in done:
            assert f.accepted is not None
            text = f"{f.severity}  {f.id}  {f.object}: {measured_text(site, f)}"
            blocks.append(Line(f"{text} · {f.accepted.reason} ({f.accepted.by}, {f.accepted.on})"))
            if everything:
                blocks += [Line(why_text(site, f), NOTE, 6), Line(f"-> {fix_text(site, f)}", TEXT, 6)]
    for accept, name in found.stale:
        blocks.append(Line(f"Accepted, not found any more: {accept.check}  {name}; take its [[accept]] away", NOTE, apart=True))
    blocks += _metres(found)
    if everything and found.silent:
        blocks += [Heading("Asked, and nothing found"), Line(", ".join(found.silent))]
    if found.not_asked:
        blocks.append(Heading("Not asked"))
        blocks += [Line(f"{name}: {key}", NOTE) for name, key in _joined(found)]
    return [*blocks, Line(CAUTION, CAUTION_ROLE, apart=True)]


def _joined(found: Review) -> list[tuple[str, str]]:
    by_key: dict[str, list[str]] = {}
    for each in found.not_asked:
        by_key.setdefault(each.key, []).append(each.id)
    return [(", ".join(ids), key) for key, ids in by_key.items()]


def _finding(site: Site, f: Finding, everything: bool) -> list[Block]:
    again = " (accepted before, and worse or overdue now)" if f.again else ""
    head = RowBlock((Cell(f.severity, _ROLE[f.severity]), Cell(f.id, FINDING), Cell(f"{f.object}{again}")))
    measured = f"{measured_text(site, f)}{with_feet(site, limit_text(f))}"
    lines: list[Block] = [
        Line("", TEXT),
        head,
        Line(measured, TEXT, 6),
        Line(why_text(site, f), NOTE, 6),
        Line(f"-> {fix_text(site, f)}", TEXT, 6),
    ]
    return [*lines, Line(accept_lines(f), NOTE, 6)] if everything else lines


def _metres(found: Review) -> list[Block]:
    """How much of the fence is in view, which owners are often given alone, beside what that says of the requirement."""
    whole = found.metres[0].whole_m

    def cells(metres: float) -> tuple[str, str]:
        return with_feet(found.site, f"{metres:.0f} m"), _coverage_text(metres / whole)

    rows = [(f"{m.height}, {m.height_m:g} m", *cells(m.one_m), *cells(m.two_m)) for m in found.metres]
    columns = (("in view of", LEFT), ("one camera", RIGHT), ("", RIGHT), ("two posts", RIGHT), ("", RIGHT))
    pd, low = found.site.requirement.pd, with_feet(found.site, f"{found.low_m:.0f} m")
    below = f"On {low} even a clear night without noise leaves less than Pd {pd:g}."
    if found.low_m < 0.5:
        below = f"On a clear night without noise no metre is below Pd {pd:g}."
    return [
        Heading(with_feet(found.site, f"Geometric coverage of {whole:.0f} m")),
        Table.of(columns, rows),
        Line(
            f"In view is not the requirement. {below} Weather, noise and errors of mounting come on top: fencecast run.",
            NOTE,
        ),
    ]


def _coverage_text(share: float) -> str:
    """`96 %`; "all" from 99.5 % up: a hundred per cent in view is read as a promise."""
    return "all" if share >= 0.995 else percent_text(share)


def picture_subtitle(found: Review) -> str:
    """The counts, and what those marks mean that the picture draws."""
    drawn = {f.severity for f in found.findings if any(span.length_m > 0.0 for span in f.spans)}
    key = [words for severity, words in _MARKS.items() if severity in drawn]
    counts = f"Design review without simulation: {counts_text(found)}"
    return f"{counts}. {', '.join(key).capitalize()}" if key else counts


_MARKS = {"stop": "black = stop", "warn": "hatched = warn", "note": "thin line beside = note"}


def more_words(severities: Sequence[str]) -> str:
    """`and 6 more (1 warn, 5 note): see fencecast check` for findings that a picture does not list; '' for none."""
    parts = [f"{severities.count(s)} {s}" for s in SEVERITIES if s in severities]
    return f"and {len(severities)} more ({', '.join(parts)}): see fencecast check" if parts else ""


def coverage_words(found: Review) -> str:
    """`In view of one camera: feet 96 %, waist 98 %, head 99 % of 163 m; below the requirement even on a clear night: 18 m`."""
    shares = ", ".join(f"{m.height} {_coverage_text(m.one_m / m.whole_m)}" for m in found.metres)
    whole = found.metres[0].whole_m
    return with_feet(
        found.site,
        f"In view of one camera: {shares} of {whole:.0f} m. Below the requirement even on a clear night without noise: "
        f"{found.low_m:.0f} m",
    )


def check_title(found: Review) -> str:
    """The finding of a review as a title: what most metres are lost by."""
    stops = [f for f in found.open if f.severity == "stop"]
    if not stops:
        warns = found.count("warn")
        return (
            f"No stop, {warns} {'warning' if warns == 1 else 'warnings'}" if warns else "Nothing that must be mended before a run"
        )
    by_words: dict[str, float] = {}
    for f in stops:
        words = WORDS[f.id].metres
        if words:
            by_words[words] = by_words.get(words, 0.0) + sum(span.length_m for span in f.spans)
    worst = sorted(by_words.items(), key=lambda row: -row[1])[:2]
    count = "One stop" if len(stops) == 1 else f"{_NUMBERS.get(len(stops), str(len(stops)))} stops"
    if not worst:
        return f"{count}: {', '.join(dict.fromkeys(f.id for f in stops))}"
    return f"{count}: {', '.join(f'{metres:.0f} m {words}' for words, metres in worst)}"


_NUMBERS = {2: "Two", 3: "Three", 4: "Four", 5: "Five", 6: "Six", 7: "Seven", 8: "Eight", 9: "Nine", 10: "Ten"}


def finding_object(site: Site, f: Finding) -> dict[str, Any]:
    """One finding for JSON."""
    accept = f.accepted
    return {
        "id": f.id,
        "group": f.group,
        "severity": f.severity,
        "object": f.object,
        "kind": f.kind,
        "places": places_text(site, f.spans),
        "spans": [[site.perimeter[s.section].name, s.start_m, s.end_m] for s in f.spans],
        "value": f.value,
        "unit": f.unit,
        "limit": f.limit,
        "measured": measured_text(site, f),
        "why": why_text(site, f),
        "fix": fix_text(site, f),
        "accepted": None if accept is None else {"reason": accept.reason, "by": accept.by, "on": str(accept.on)},
        "again": f.again,
    }


def check_object(found: Review) -> dict[str, Any]:
    """The JSON object of `fencecast check --json`."""
    counts: Mapping[str, int] = {s: found.count(s) for s in SEVERITIES} | {"accepted": len(found.findings) - len(found.open)}
    return {
        "title": found.site.title,
        "version": __version__,
        "site_sha256": found.site.sha256,
        "counts": counts,
        "findings": [finding_object(found.site, f) for f in found.findings],
        "not_asked": [{"id": each.id, "key": each.key} for each in found.not_asked],
        "silent": list(found.silent),
        "not_found_any_more": [{"check": accept.check, "object": name} for accept, name in found.stale],
        "geometric_coverage": [
            {"height": m.height, "height_m": m.height_m, "one_m": m.one_m, "two_m": m.two_m, "whole_m": m.whole_m}
            for m in found.metres
        ],
        "below_requirement_m": found.low_m,
        "seconds": found.seconds,
        "caution": CAUTION,
    }

"""What `fencecast walk score` says in the terminal and as JSON.

Tests: tests/findings/test_walkscore.py.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Any

from fencecast import __version__
from fencecast.cautions import CAUTION
from fencecast.findings import walkscorewords as words
from fencecast.findings.blocks import (
    BAD,
    CAUTION_ROLE,
    FINDING,
    GOOD,
    LEFT,
    NOTE,
    RIGHT,
    TEXT,
    TITLE,
    Block,
    Cell,
    Heading,
    Line,
    Table,
    written_lines,
)
from fencecast.findings.rehearsal import NOBODY
from fencecast.findings.words import confidence_text, interval_text, plural
from fencecast.prove.score.claims import ClaimScore
from fencecast.prove.score.delay import Middle
from fencecast.prove.score.predictive import PredictionScore
from fencecast.prove.score.score import WalkScore

SCHEMA = 1
_ROLES = {"shown": GOOD, "walk on": TEXT, "not shown": BAD, "refuted": BAD}


def score_object(score: WalkScore, files: Sequence[str] = ()) -> dict[str, Any]:
    """The JSON object of `walk score --json`, and score.json (without `files`)."""
    log = score.log
    found = {
        "schema": SCHEMA,
        "title": score.plan.title,
        "version": __version__,
        "plan_sha256": score.plan_sha256,
        "log_sha256": log.sha256,
        "rehearsal": log.rehearsal,
        "walks": len(log.counted),
        "void": sum(bool(walk.void) for walk in log.walks),
        "controls": {"walks": score.controls, "alarms": score.control_alarms},
        "not_walked": list(log.not_walked),
        "requirement": {"pd": score.plan.requirement.pd, "confidence": score.plan.requirement.confidence},
        "shown": score.shown,
        "claims": [_claim(each) for each in score.claims],
        "prediction": None if score.prediction is None else _prediction(score.prediction),
        "places": [
            {"place": each.place, "n": each.n, "alarms": each.alarms, "pd": each.pd, "p": each.p, "p_holm": each.p_holm}
            for each in score.places
        ],
        "remade": score.remade,
        "walked": _walked(score),
        "held": _held(score),
        "void_reasons": dict(sorted(Counter(walk.void for walk in log.walks if walk.void).items())),
        "delay": None if score.delay is None else _delay(score),
        "depth": None if score.depth is None else _middle(score.depth, "m"),
        "clock_s": None if log.clock_s is None else {"offset": log.clock_s[0], "drift_per_hour": log.clock_s[1]},
        "watch_hours": score.outside.hours,
        "alarms_outside_per_hour": score.outside.per_hour,
        "chance_alarm": score.outside.chance,
        "alarms_unforeseen": score.unforeseen,
        "warnings": list(log.warnings),
        "caution": CAUTION,
    }
    return found | ({"files": list(files)} if files else {})


def _claim(each: ClaimScore) -> dict[str, Any]:
    judged = each.judged
    return {
        "claim": each.claim.claim,
        "where": each.claim.where,
        "n": judged.n,
        "misses": judged.misses,
        "low_one_sided": judged.low_one_sided,
        "low": judged.low,
        "high": judged.high,
        "confidence": each.claim.confidence,
        "verdict": judged.verdict,
        "next_rung": judged.next_rung,
        "verdict_voids_missed": each.voids_missed.verdict,
        "voids": each.voids,
        "voids_walked_again": each.replaced,
        "walks_after": each.after,
        "cards_left_out": list(each.unwalked),
    }


def _walked(score: WalkScore) -> list[dict[str, Any]]:
    """Every place that was walked, in the order of the plan, with its walks that count and their alarms."""
    counted: dict[str, list[bool]] = {place.place: [] for place in score.plan.places}
    for walk in score.log.counted:
        counted[walk.place].append(walk.alarm)
    return [{"place": name, "n": len(alarms), "alarms": sum(alarms)} for name, alarms in counted.items() if alarms]


def _held(score: WalkScore) -> dict[str, list[str]]:
    """On which days, in which weather, by whom and how it was walked."""
    counted = score.log.counted
    return {
        "dates": sorted({walk.crossed.date().isoformat() for walk in counted}),
        "weather": sorted({walk.weather for walk in counted}),
        "walkers": sorted({walk.walker for walk in counted if walk.walker}),
        "gaits": sorted({walk.gait for walk in counted}),
    }


def _prediction(found: PredictionScore) -> dict[str, Any]:
    return {
        "walks": found.walks,
        "expected_alarms": found.expected_alarms,
        "alarms": found.alarms,
        "p_total": found.p_total,
        "log_score": found.log_score,
        "p_log_score": found.p_log_score,
        "camera_alarms": found.camera_alarms,
        "expected_camera_alarms": found.expected_camera_alarms,
        "p_camera_alarms": found.p_camera_alarms,
        "p": found.p,
        "p_within_prior": found.p_within_prior,
        "replicates": found.replicates,
        "sees_change_of_n50": found.sees_change,
        "no_chance": dict(found.no_chance),
        "groups": [
            {
                "from": group.low,
                "to": group.high,
                "expected": group.expected,
                "n": group.n,
                "alarms": group.alarms,
                "band_low": group.band_low,
                "band_high": group.band_high,
            }
            for group in found.groups
        ],
    }


def _delay(score: WalkScore) -> dict[str, Any]:
    found = score.delay
    assert found is not None
    asked = {"latest_s": found.latest_s, "kept": found.kept, "later": found.later, "p_shape": found.p_shape}
    return {**_middle(found.delay_s, "s"), "unit_s": found.unit_s, **asked}


def _middle(found: Middle, unit: str) -> dict[str, Any]:
    return {f"median_{unit}": found.median, f"low_{unit}": found.low, f"high_{unit}": found.high, "walks": found.values}


def score_blocks(score: WalkScore, files: Sequence[str] = (), left: Sequence[str] = (), after: str = "") -> list[Block]:
    """after: the command that comes next. Claims, two questions with an answer each, delays, what is odd, what it holds for."""
    blocks: list[Block] = [
        Line(f"{score.plan.title}: {_counted(score)} against {words.requirement_words(score)}", TITLE),
        *([Line(NOBODY, BAD)] if score.log.rehearsal else []),
        Line(f"{words.claims_title(score)}.", FINDING),
    ]
    if score.claims:
        blocks.append(_table(score))
    blocks += [Line(text, NOTE) for text in words.claim_notes(score) if text]
    blocks.append(Heading("Against the prediction"))
    if score.prediction is None:
        blocks.append(Line("No walk is of a kind that the plan predicts."))
    else:
        answers = (words.first_answer(score.prediction), words.second_answer(score.prediction, score.remade))
        blocks += [Line(text) for text in answers if text]
        blocks.append(Line(words.place_sentence(score.places)))
    rest = [*words.delay_sentences(score.delay), *words.outside_sentences(score)]
    rest += [words.void_sentence(score), *words.other_sentences(score)]
    blocks += [Heading("The log"), *(Line(text) for text in rest)]
    blocks += [Line(f"Warning: {text}", BAD) for text in score.log.warnings]
    blocks += [Heading("What it holds for"), *(Line(text, NOTE) for text in words.holds_for(score))]
    blocks += written_lines(files, left) if files else []
    if after:
        blocks += [*([] if files else [Line("Nothing written; -o DIR keeps it.")]), Line(after)]
    return [*blocks, Line(CAUTION, CAUTION_ROLE, apart=True)]


def _counted(score: WalkScore) -> str:
    """`36 walks`; with controls `40 walks, 36 that count and 4 controls,`."""
    counted, controls = len(score.log.counted), score.controls
    if not controls:
        return plural(counted, "walk")
    return f"{counted + controls} walks, {counted} that count and {plural(controls, 'control')},"


def next_after_score(score: WalkScore, plan: str, log: str, walkers: str | None) -> str:
    """The command that follows: walks that the model has no room for are looked into first."""
    found = score.prediction
    if found is not None and found.p_within_prior is not None and found.p_within_prior <= words.LEVEL:
        return "Next: look for the fault, then walk again."
    return f"Next: fencecast walk fit {plan} {log} --walkers {walkers or 'WALKERS.csv'}"


def _table(score: WalkScore) -> Table:
    confidences = {each.claim.confidence for each in score.claims}
    shared = confidence_text(confidences.pop()) if len(confidences) == 1 else ""
    columns = [
        ("claim", LEFT), ("where", LEFT), ("walks", RIGHT), ("missed", RIGHT), ("Pd at least", RIGHT),
        (f"{shared} interval".strip(), RIGHT), ("verdict", LEFT),
    ]  # fmt: skip
    rows = []
    for each in score.claims:
        judged = each.judged
        share = (judged.n - judged.misses) / judged.n if judged.n else float("nan")
        below = f"to {judged.next_rung}" if judged.next_rung else ""
        cells = [each.claim.claim, each.claim.where, str(judged.n), str(judged.misses), f"{judged.low_one_sided:.3f}"]
        rows.append([*cells, interval_text(share, judged.low, judged.high), Cell(judged.verdict, _ROLES[judged.verdict], below)])
    return Table.of(columns, rows)

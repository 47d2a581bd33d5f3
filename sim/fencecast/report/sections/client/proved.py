"""Client edition, what the walk test showed: verdicts without a place, whether the prediction agrees, and what it holds for."""

from __future__ import annotations

from dataclasses import dataclass

from fencecast.findings.calibration import calibration_of
from fencecast.findings.provedplaces import client_disagreement_lines
from fencecast.findings.provedplan import claim_about, dots_sentence
from fencecast.findings.provedtest import (
    client_finding,
    client_held_lines,
    client_log_lines,
    client_prediction_lines,
    tie_lines,
)
from fencecast.findings.rehearsal import with_rehearsal
from fencecast.findings.words import interval_text
from fencecast.prove.proof.scorefile import ScoreFile
from fencecast.report.sections.section import Body, Source
from fencecast.show.svg.bars import pd_dot_svg
from fencecast.show.svg.walks import predicted_observed_svg


@dataclass(frozen=True)
class TestedClaim:
    """A claim as it was judged: its number, whether it is of one place or of how many together, walks, misses, interval, verdict;
    dot: share of alarms with its interval, as SVG ('' without walks)."""

    number: str
    about: str
    walks: str
    missed: str
    interval: str
    dot: str
    verdict: str
    below: str


@dataclass(frozen=True)
class ClientProved:
    """claims; key: what their dots are; prediction: sentences; caption and figure of predicted and observed ('' without); log;
    held: what it holds for."""

    claims: tuple[TestedClaim, ...]
    key: str
    prediction: tuple[str, ...]
    caption: str
    figure: str
    log: tuple[str, ...]
    held: tuple[str, ...]


def proved_of(source: Source) -> Body | None:
    """The section; None where neither a score nor a calibration was given."""
    proof = source.proof
    score = proof.score
    if score is None and proof.fit is None:
        return None
    known = calibration_of(source.results.attrs)
    found = None if score is None else score.score.prediction
    drawn = predicted_observed_svg(found) if found is not None and found.groups else None
    caption = "Alarms of single cameras, predicted and observed; grey: where 95 % of tests fall if the prediction is right."
    facts = ClientProved(
        claims=() if score is None else tuple(_claims(score)),
        key="" if score is None or not score.score.claims else dots_sentence(score.score.plan),
        prediction=()
        if score is None
        else (
            *client_prediction_lines(score),
            *tie_lines(proof, known),
            *client_disagreement_lines(score, source.results),
        ),  # fmt: skip
        caption="" if drawn is None else caption,
        figure="" if drawn is None else drawn.svg,
        log=() if score is None else tuple(client_log_lines(score)),
        held=tuple(client_held_lines(proof)),
    )
    return Body("What the walk test showed", with_rehearsal(client_finding(proof), proof.rehearsal), facts)


def _claims(score: ScoreFile) -> list[TestedClaim]:
    need, rows = score.score.plan.requirement.pd, []
    for number, each in enumerate(score.score.claims, start=1):
        judged = each.judged
        share = (judged.n - judged.misses) / judged.n if judged.n else float("nan")
        rows.append(
            TestedClaim(
                f"{number}", claim_about(score.score.plan, each.claim.claim), f"{judged.n:,}", f"{judged.misses:,}",
                interval_text(share, judged.low, judged.high) if judged.n else "not walked",
                pd_dot_svg(share, judged.low, judged.high, need).svg if judged.n else "", judged.verdict,
                f"to {judged.next_rung} walks" if judged.next_rung else "",
            )
        )  # fmt: skip
    return rows

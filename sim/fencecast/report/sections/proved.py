"""What the walk test showed: claims with verdicts, the two questions, groups against their bands, N50, and what it holds for."""

from __future__ import annotations

from dataclasses import dataclass

from fencecast.findings.calibration import calibration_of
from fencecast.findings.provedplaces import disagreement_lines
from fencecast.findings.provedplan import dots_sentence
from fencecast.findings.provedtest import (
    claim_lines,
    fit_lines,
    held_lines,
    log_lines,
    prediction_lines,
    tested_finding,
    tie_lines,
)
from fencecast.findings.words import confidence_text, interval_text
from fencecast.prove.proof.scorefile import ScoreFile
from fencecast.report.sections.section import Body, Source
from fencecast.show.svg.bars import pd_dot_svg
from fencecast.show.svg.walks import predicted_observed_svg

HEADING = "What the walk test showed"
CAPTION = "Alarms of single cameras, predicted and observed; grey: where 95 % of tests fall if the prediction is right."


@dataclass(frozen=True)
class ClaimRow:
    """A claim as printed; dot: its share of alarms with the interval of the count, as a figure ('' without walks)."""

    claim: str
    where: str
    walks: str
    missed: str
    least: str
    interval: str
    dot: str
    verdict: str
    below: str


@dataclass(frozen=True)
class Proved:
    """claims; notes under them; prediction: the two answers; caption and figure ('' where nothing was predicted); fit: what the
    walks say of N50; log: delays, alarms outside walks, voids; held: what it holds for."""

    interval: str
    claims: tuple[ClaimRow, ...]
    notes: tuple[str, ...]
    prediction: tuple[str, ...]
    caption: str
    figure: str
    fit: tuple[str, ...]
    log: tuple[str, ...]
    held: tuple[str, ...]


def proved_of(source: Source) -> Body | None:
    """The section; None where neither a score nor a calibration was given."""
    proof = source.proof
    score = proof.score
    if score is None and proof.fit is None:
        return None
    caption, figure = groups_of(score)
    known = calibration_of(source.results.attrs)
    facts = Proved(
        interval=interval_head(score),
        claims=() if score is None else tuple(claim_rows(score)),
        notes=()
        if score is None
        else (
            *([dots_sentence(score.score.plan)] if score.score.claims else []),
            *claim_lines(score),
            *disagreement_lines(score, source.results),
        ),  # fmt: skip
        prediction=() if score is None else tuple(prediction_lines(score)),
        caption=caption,
        figure=figure,
        fit=(*fit_lines(proof, known is not None), *tie_lines(proof, known)),
        log=() if score is None else tuple(log_lines(score)),
        held=tuple(held_lines(proof)),
    )
    return Body(HEADING, tested_finding(proof), facts)


def groups_of(score: ScoreFile | None) -> tuple[str, str]:
    """Caption and figure of predicted and observed; '' and '' where nothing was predicted."""
    found = None if score is None else score.score.prediction
    if found is None or not found.groups:
        return "", ""
    return CAPTION, predicted_observed_svg(found).svg


def interval_head(score: ScoreFile | None) -> str:
    """`95 % interval`, or `interval` where claims have different confidences."""
    sure = {each.claim.confidence for each in score.score.claims} if score is not None else set()
    return f"{confidence_text(sure.pop())} interval" if len(sure) == 1 else "interval"


def claim_rows(score: ScoreFile) -> list[ClaimRow]:
    """Every claim of the plan."""
    need, rows = score.score.plan.requirement.pd, []
    for each in score.score.claims:
        judged = each.judged
        share = (judged.n - judged.misses) / judged.n if judged.n else float("nan")
        dot = pd_dot_svg(share, judged.low, judged.high, need).svg if judged.n else ""
        below = f"to {judged.next_rung} walks" if judged.next_rung else ""
        interval = interval_text(share, judged.low, judged.high) if judged.n else "not walked"
        rows.append(
            ClaimRow(
                each.claim.claim, each.claim.where, f"{judged.n:,}", f"{judged.misses:,}", f"{judged.low_one_sided:.3f}",
                interval, dot, judged.verdict, below,
            )
        )  # fmt: skip
    return rows

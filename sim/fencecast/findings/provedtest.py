"""What a walk test showed, for the report: from the files of `walk score` and `walk fit`, by the sentences of those commands.

Tests: tests/findings/test_proved_words.py.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import Any

from fencecast.findings.calibration import weather_words
from fencecast.findings.provedplan import claim_about, easiest_sentence, place_codes
from fencecast.findings.rehearsal import line_of_test, with_rehearsal
from fencecast.findings.walkfitwords import n50_text, percent_text
from fencecast.findings.walkscorewords import (
    LEVEL,
    claim_notes,
    claims_title,
    client_power,
    delay_sentences,
    first_answer,
    other_sentences,
    outside_sentences,
    p_text,
    place_sentence,
    second_answer,
    verdict_words,
)
from fencecast.findings.walkwords import GAIT_NAMES
from fencecast.findings.words import first_upper, in_class, listed, number_word, plural
from fencecast.prove.proof.fitfile import FitPart
from fencecast.prove.proof.proof import Proof
from fencecast.prove.proof.scorefile import ScoreFile

FEW_WALKS = 100
UNWALKED = "Every metre is judged by the wider interval, as if nobody had walked there."
NOT_HIDING = "Intruders may hide; walkers did not. The list of weak places is for those who need it."
_ORDER = ("shown", "walk on", "not shown", "refuted")


def tested_finding(proof: Proof) -> str:
    """The verdicts in one line; without a score what the walks say of N50."""
    if proof.score is not None:
        return with_rehearsal(f"{claims_title(proof.score.score)}.", proof.rehearsal)
    return "" if proof.fit is None else n50_sentence(proof.fit)


def tested_line(proof: Proof) -> str:
    """For the head of the report: `Walk test of 36 walks: two of four claims shown, one walk on, one refuted.`"""
    if proof.score is None:
        return ""
    of = "" if len(proof.score.score.claims) == 1 else f" of {plural_walks(proof.score.walks)}"
    return line_of_test(f"{of} {in_class(weather_of(proof))}", f"{claims_title(proof.score.score)}.", proof.rehearsal, bool(of))


def weather_of(proof: Proof) -> str:
    """The weather of the walks; of the plan where the score does not say it."""
    held = proof.score.held.weather if proof.score is not None else ()
    if held:
        return listed(list(held))
    return proof.plan.weather if proof.plan is not None else ""


def plural_walks(number: int) -> str:
    """`1 walk`, `36 walks`."""
    return f"{number:,} walk{'' if number == 1 else 's'}"


def prediction_lines(score: ScoreFile) -> list[str]:
    """The two questions and their answers, and the places that stand out."""
    found = score.score.prediction
    if found is None:
        return ["No walk is of a kind that the plan predicts: nothing can be said of the prediction."]
    codes = place_codes(score.score.plan)
    places = place_sentence(tuple(replace(each, place=f"{codes[each.place]}, {each.place}") for each in score.score.places))
    return [text for text in (first_answer(found), second_answer(found, score.score.remade, command=False), places) if text]


def client_prediction_lines(score: ScoreFile) -> list[str]:
    """The two questions and their answers; no place is named."""
    if (found := score.score.prediction) is None:
        return ["Nothing can be said of the prediction: no walk is of a kind that was predicted."]
    lines = [first_answer(replace(found, sees_change=None, no_chance={})) + client_power(found)]
    if found.p_within_prior is not None:
        question, p = "Did the test fall within what the prediction itself allowed?", p_text(found.p_within_prior)
        if found.p_within_prior <= LEVEL:
            lines.append(f"{question} No ({p}): a fault of a camera, the recorder or the site is looked for first.")
        elif found.p <= LEVEL:
            lines.append(f"{question} Yes ({p}): N50 was uncertain beforehand, and another N50 explains it.")
        else:
            lines.append(f"{question} Yes ({p}).")
    return lines


def claim_lines(score: ScoreFile) -> list[str]:
    """What the table of claims leaves out."""
    return [text for text in claim_notes(score.score) if text]


def log_lines(score: ScoreFile) -> list[str]:
    """Delays, alarms outside walks, void walks, controls, and what was odd."""
    outside = [text for text in outside_sentences(score.score) if score.score.outside.per_hour]
    lines = [*delay_sentences(score.score.delay), *outside, void_sentence(score), *other_sentences(score.score)]
    return [*lines, *(f"Warning: {text}{'' if text.endswith('.') else '.'}" for text in score.warnings)]


def void_sentence(score: ScoreFile) -> str:
    """How many walks are void, and what counting them as misses would change."""
    if not score.void:
        return "No walk is void."
    changed = [each.claim.claim for each in score.score.claims if each.voids_missed.verdict != each.judged.verdict]
    change = f"changes the verdict of {listed(changed)}" if changed else "changes no verdict"
    why = f" ({listed([f'{count} {reason}' for reason, count in score.void_reasons])})" if score.void_reasons else ""
    verb = "is" if score.void == 1 else "are"
    return f"{first_upper(plural(score.void, 'walk'))} {verb} void{why}; counting each as a miss {change}."


def held_lines(proof: Proof) -> list[str]:
    """What the result holds for."""
    score, lines = proof.score, []
    if score is not None:
        held, plan = score.held, score.score.plan
        days = f"{held.dates[0]}" if len(held.dates) == 1 else f"{held.dates[0]} to {held.dates[-1]}" if held.dates else ""
        who = (
            f"{plural(len(held.walkers), 'walker')} ({', '.join(held.walkers)})" if held.walkers else "walkers who are not named"
        )
        gaits = listed([GAIT_NAMES.get(gait, gait) for gait in held.gaits]) if held.gaits else "the gaits of the cards"
        start = "from the inside foot of the barrier, without a climb" if plan.from_fence else "without a climb"
        where = in_class(weather_of(proof))
        parts = [part for part in (days, where, who, gaits) if part]
        lines.append(f"All this holds for {', '.join(parts)}, as walked: {start}.{easiest_sentence(plan)}")
    return [*lines, *common_limits(), NOT_HIDING]


def common_limits() -> list[str]:
    """What every walk test leaves open; without a place or a name."""
    return [
        "Walks of one night and of one walker are alike: the confidence does not allow for that.",
        "Who read the alarms, and whether he knew when walks took place, belongs beside this: a caller who knows sees more.",
    ]


def n50_sentence(fit: FitPart) -> str:
    """`N50 is 2.6 (2.2 to 3.1) resolved cycles, from 36 walks at 6 places by 2 walkers; before the walks 2.0 was taken.`"""
    known = fit.cycles_50
    places, walkers = (
        f"{count:,} {noun}{'' if count == 1 else 's'}" for count, noun in ((fit.places, "place"), (fit.walkers, "walker"))
    )
    by = f"from {plural_walks(fit.walks)} at {places} by {walkers}"
    before = f"; before the walks {n50_text(fit.prior.median)} was taken" if fit.prior is not None else ""
    if known.only_from_above and known.only_from_below:
        return f"The walks do not say what N50 is, {by}{before}."
    if known.only_from_above:
        return f"N50 is at most {n50_text(known.high)} resolved cycles, {by}: no miss tells more{before}."
    if known.only_from_below:
        return f"N50 is at least {n50_text(known.low)} resolved cycles, {by}: no alarm tells more{before}."
    ends = f"{n50_text(known.low)} to {n50_text(known.high)}"
    return f"N50 is {n50_text(known.median)} ({ends}) resolved cycles, {by}{before}."


def anybody_lines(fit: FitPart) -> list[str]:
    """N50 for people in general; none where a log tells one side alone."""
    known = fit.cycles_50
    if known.low_any_intruder is None or known.high_any_intruder is None or known.only_from_above or known.only_from_below:
        return []
    ends = f"{n50_text(known.low_any_intruder)} to {n50_text(known.high_any_intruder)}"
    return [f"For people in general: {ends}. People differ, and no number of walks by the same walkers takes that away."]


def tie_lines(proof: Proof, facts: dict[str, Any] | None) -> list[str]:
    """How the walks that were scored belong to the calibration of the results (its facts, None without one)."""
    if proof.score is None or facts is None:
        return []
    if proof.score.log_sha256 in facts["log_sha256"]:
        return [
            "The results of this report are calibrated by these very walks: that they agree with them shows nothing new. "
            "The prediction above is the one that was printed before."
        ]
    return ["The results of this report are calibrated by other walks than these."]


def fit_lines(proof: Proof, calibrated: bool) -> list[str]:
    """N50, correlation, places, threshold; how the fit belongs to score and results. calibrated: the results use it."""
    fit = proof.fit
    if fit is None:
        return []
    r = fit.encounter_correlation
    wide = f"The walks say hardly anything of it: {plural_walks(fit.walks)} leave it nearly as wide as it was."
    hardly = "" if r.known else wide
    lines = [
        n50_sentence(fit),
        *anybody_lines(fit),
        f"How alike two cameras judge one intruder (correlation): {r.mean:.2f} ({r.low:.2f} to {r.high:.2f}). {hardly}".strip(),
    ]
    spread = fit.place_spread_ln
    if spread is not None and spread.known:
        lines.append(
            f"Places differ in N50 by {percent_text(spread.median)} (standard deviation; at most {percent_text(spread.high)})."
        )
    elif spread is not None:
        lines.append(
            f"{first_upper(plural(fit.places, 'place'))} cannot say how much places differ: that stays what was assumed."
        )
    contrast = fit.contrast_factor
    if contrast is None or contrast.median is None:
        lines.append("Threshold and clutter: this log does not tell them.")
    elif contrast.low is not None and contrast.high is not None:
        lines.append(f"Threshold, times what the file says: {contrast.median:.2g} ({contrast.low:.2g} to {contrast.high:.2g}).")
    lines += _checks(fit)
    if proof.score is not None and not proof.calibrated_by_score:
        lines.append("The fit rests on other logs than the one that is scored here.")
    lines.append(
        "The results of this report use it."
        if calibrated
        else "The results of this report were made without it: run the site file that the fit wrote, and make the report of that."
    )
    return lines


def _checks(fit: FitPart) -> list[str]:
    known = {name: p for name, p in fit.checks.items() if p is not None}
    if not known:
        return []
    odd = [f"{name} (p = {p:.3f})" for name, p in known.items() if p < 0.05]
    if odd:
        return [f"The fit does not follow the walks by {listed(odd)}: something there differs from the model."]
    few = f" With fewer than {FEW_WALKS} walks that means little." if fit.walks < FEW_WALKS else ""
    return [f"Walks drawn from the fit look like the walks that were made, by {listed(sorted(known))}.{few}"]


def client_finding(proof: Proof) -> str:
    """The verdicts counted, without a place."""
    if proof.score is None:
        return "" if proof.fit is None else f"{first_upper(plural_walks(proof.fit.walks))} calibrated what the analytics need."
    claims = proof.score.score.claims
    if not claims:
        return f"{claims_title(proof.score.score)}."
    verdicts = Counter(claim.judged.verdict for claim in claims)
    if len(claims) == 1:
        about = first_upper(claim_about(proof.score.score.plan, claims[0].claim.claim))
        return f"{about}: {verdict_words(claims[0])}."
    others = [f"{number_word(verdicts[verdict])} {verdict}" for verdict in _ORDER[1:] if verdicts[verdict]]
    shown = number_word(verdicts["shown"]) if verdicts["shown"] else "none"
    first = f"{first_upper(shown)} of {plural(len(claims), 'claim')} shown"
    return f"{', '.join([first, *others])}."


def client_line(proof: Proof) -> str:
    """For the head of the client edition."""
    if proof.score is None:
        return ""
    of = "" if len(proof.score.score.claims) == 1 else f" of {plural_walks(proof.score.walks)}"
    return line_of_test(f"{of} {in_class(weather_of(proof))}", client_finding(proof), proof.rehearsal, True, ":" if of else ";")


def client_calibrated_lines(facts: dict[str, Any]) -> list[str]:
    """That the numbers rest on walks: how many, where nothing is named, and no value that says how to pass."""
    counts = ((int(facts[key]), noun) for key, noun in (("walks", "walk"), ("places", "place"), ("walkers", "walker")))
    walks, places, walkers = (f"{count:,} {noun}{'' if count == 1 else 's'}" for count, noun in counts)
    days = plural(len(facts["dates"]), "day")
    by = f"{walks} at {places} by {walkers} on {days} {weather_words(facts['weather'])}"
    if facts.get("rehearsal"):
        by = f"{walks} of a rehearsal, simulated, at {places} {weather_words(facts['weather'])}"
    return [f"What the analytics need is calibrated by {by}. {UNWALKED}"]


def client_log_lines(score: ScoreFile) -> list[str]:
    """Delay, alarms outside walks of all cameras together, void walks; no camera, no place."""
    lines = list(delay_sentences(score.score.delay))
    outside = score.score.outside
    if outside.per_hour:
        total = sum(outside.alarms.values())
        noted = "no alarm is noted" if not total else f"{plural(total, 'alarm')} {'is' if total == 1 else 'are'} noted"
        lines.append(f"Outside walks, in {outside.hours:.1f} hours, {noted}.")
    void = (
        f"{first_upper(plural(score.void, 'walk'))} {'is' if score.void == 1 else 'are'} void"
        if score.void
        else "No walk is void"
    )
    changed = sum(each.voids_missed.verdict != each.judged.verdict for each in score.score.claims)
    change = f"changes {plural(changed, 'verdict')}" if changed else "changes no verdict"
    return [*lines, f"{void}; counting each as a miss {change}." if score.void else f"{void}."]


def client_held_lines(proof: Proof) -> list[str]:
    """What it holds for: how many days and walkers, which weather; no day, no name, no way of moving."""
    lines = []
    if proof.score is not None and (held := proof.score.held).dates:
        who = plural(len(held.walkers), "walker") if held.walkers else "walkers who are not named"
        days, easiest = plural(len(held.dates), "day"), easiest_sentence(proof.score.score.plan)
        lines.append(f"It holds for {days}, {who}, {in_class(weather_of(proof))}, as walked.{easiest}")
    return [*lines, *common_limits(), "Intruders may hide; walkers did not."]

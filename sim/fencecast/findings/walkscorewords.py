"""Sentences about a scored walk test: what it shows, whether it agrees with its prediction, and what all of it holds for.

Tests: tests/findings/test_walkscore.py.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from fencecast.findings.words import confidence_text, first_upper, listed, number_word, pd_text, plural, requirement_text
from fencecast.prove.score.claims import ClaimScore
from fencecast.prove.score.delay import DelayScore
from fencecast.prove.score.places import PlaceScore
from fencecast.prove.score.predictive import PredictionScore
from fencecast.prove.score.score import WalkScore

LEVEL = 0.05
_ORDER = ("shown", "walk on", "not shown", "refuted")


def p_text(p: float) -> str:
    """A p-value: three decimals below 0.1, else two; never 0."""
    return "p < 0.001" if p < 0.001 else f"p = {p:.3f}" if p < 0.0995 else f"p = {p:.2f}"


def claims_title(score: WalkScore) -> str:
    """`Two of four claims shown, one walk on, one refuted`."""
    verdicts = Counter(claim.judged.verdict for claim in score.claims)
    many = len(score.claims)
    if not many:
        need = requirement_text(score.plan.requirement.pd)
        return (
            f"The walks were made to learn N50, not to pass: they could not show that the fence meets {need}, nor that it does "
            "not"
        )
    if many == 1:
        claim = score.claims[0]
        return f"{claim.claim.where}: {verdict_words(claim)}"
    number = number_word(verdicts["shown"]) if verdicts["shown"] else "none"
    first = f"{first_upper(number)} of {number_word(many)} claims shown"
    others = [f"{number_word(verdicts[verdict])} {verdict}" for verdict in _ORDER[1:] if verdicts[verdict]]
    return ", ".join([first, *others])


def verdict_words(claim: ClaimScore) -> str:
    """`shown after 39 walks, no miss`; `walk on to 53, one miss in 39 walks`."""
    judged = claim.judged
    missed = f"{plural(judged.misses, 'miss', 'misses')} in {plural(judged.n, 'walk')}"
    return f"walk on to {judged.next_rung}, {missed}" if judged.verdict == "walk on" else f"{judged.verdict}, {missed}"


def prediction_title(found: PredictionScore) -> str:
    """The headline of predicted against observed, from the numbers."""
    outside = [group.outside for group in found.groups if group.outside]
    groups = f"{number_word(len(outside))} {'group' if len(found.groups) == 1 else 'groups'} of {number_word(len(found.groups))}"
    if len(outside) == 1:
        groups = f"one group of {number_word(len(found.groups))}"
    p = p_text(found.p)
    if found.p > LEVEL:
        seen = f"{number_word(found.walks)} could not see {_change(found)}" if found.sees_change else f"{found.walks} walks"
        return f"The walks agree with the prediction ({p}); " + (f"{groups} lies beside its band" if len(outside) == 1 else seen)
    for side, words, more in ((-1, "Fewer", found.camera_alarms > found.expected_camera_alarms),
                              (1, "More", found.camera_alarms < found.expected_camera_alarms)):  # fmt: skip
        if outside and all(each == side for each in outside) and not more:
            numbers = f"{found.camera_alarms}, not {found.expected_camera_alarms:.1f} ({p})"
            return f"{words} alarms than predicted: {numbers}; {_outside_words(found)}"
    if outside:
        return f"Other alarms than predicted in {groups} ({p})"
    return f"Which cameras alarmed at which walk is not as predicted ({p}); no group alone shows it"


def _outside_words(found: PredictionScore) -> str:
    """`8 of 15 in one group`, `two groups of four lie outside their bands`."""
    groups = [group for group in found.groups if group.outside]
    if len(groups) == 1:
        return f"{groups[0].alarms} of {groups[0].n} in one group"
    return f"{number_word(len(groups))} groups of {number_word(len(found.groups))} lie outside their bands"


def first_answer(found: PredictionScore) -> str:
    """Is the prediction as printed right?"""
    counted = f"{found.alarms} of {plural(found.walks, 'walk')} raised an alarm, {found.expected_alarms:.1f} were predicted"
    total = f"{counted} (total alone: {p_text(found.p_total)})"
    if found.p > LEVEL:
        power = f" {first_upper(plural(found.walks, 'walk'))} could not see {_change(found)}." if found.sees_change else ""
        return f"Is the prediction as printed right? The walks agree with it ({p_text(found.p)}): {total}.{power}"
    what = []
    if found.p_camera_alarms <= LEVEL:
        side = "less" if found.camera_alarms < found.expected_camera_alarms else "more"
        what.append(
            f"cameras alarmed {side} often than predicted, {found.camera_alarms} times where {found.expected_camera_alarms:.1f} "
            "were expected"
        )
    if found.p_log_score <= LEVEL:
        what.append("which cameras alarmed at which walk is unlike it")
    said = "; ".join(what) or "number and pattern of the cameras' alarms together are unlike it"
    return f"Is the prediction as printed right? No: {said} ({p_text(found.p)}: {_chance_words(found.p)}); {total}."


def _chance_words(p: float) -> str:
    """`chance alone does that in 3 of 1,000 tests`."""
    return f"chance alone does that in {'fewer than 1' if p < 0.001 else f'{1000.0 * p:.0f}'} of 1,000 tests"


def second_answer(found: PredictionScore, remade: bool, command: bool = True) -> str:
    """Did the test fall within what the prediction itself allowed? Open when it was not asked. command: name the one that says
    what follows."""
    question = (
        "Did the test fall within what the prediction itself allowed, with N50 and correlation as uncertain as the plan says?"
    )
    if found.p_within_prior is None:
        if remade:
            return f"{question} Not asked."
        return f"{question} Open: this version of the program does not give the plan's patterns again; ask the one that made it."
    p = p_text(found.p_within_prior)
    if found.p_within_prior <= LEVEL:
        return f"{question} No ({p}): look for a fault of a camera, the recorder or the site before anything is calibrated."
    if found.p <= LEVEL:
        which = "; fencecast walk fit says which" if command else ""
        return f"{question} Yes ({p}): N50 was uncertain beforehand, and another N50 explains it{which}."
    return f"{question} Yes ({p})."


def _change(found: PredictionScore) -> str:
    return f"a change of N50 by less than {100.0 * (found.sees_change or 0.0):.0f} %"


def claim_notes(score: WalkScore) -> Iterator[str]:
    """What a table of claims leaves out."""
    for each in score.claims:
        name = each.claim.claim
        if each.judged.verdict == "walk on":
            yield f"{name}: walk on to {each.judged.next_rung}; {each.judged.n} are walked and {each.judged.misses} missed."
        if each.voids_missed.verdict != each.judged.verdict:
            yield f"{name}: with every void walk as a miss it is {each.voids_missed.verdict}, not {each.judged.verdict}."
        if each.after:
            yield (
                f"{name}: {plural(each.after, 'walk')} came after the rung that showed it, {each.after_misses} of them missed; "
                "the verdict does not count them."
            )
        if each.unwalked:
            cards = f"{'card' if len(each.unwalked) == 1 else 'cards'} {_numbers(each.unwalked)}"
            yield f"{name}: {cards} left out though later ones were walked; say why, or the rest is a choice."
        if each.unbalanced:
            unlike = f"its places were walked unlike often (by up to {each.unbalanced} walks)"
            yield f"{name}: {unlike}: the mean over them is not the plan's."
    if score.claims and score.plan.claims:
        ladders = any(len(set(claim.stops)) > 1 for claim in score.plan.claims)
        if ladders:
            yield "Intervals: verdict by the ladder, interval by the count."
        yield (
            "Claims hold all together at the confidence."
            if score.plan.together
            else "Each claim holds by itself at its confidence, not all of them at once."
            if len(score.claims) > 1
            else ""
        )
        if any(claim.of == "pool" for claim in score.plan.claims):
            yield "A claim of several places is about their mean Pd, not about each metre."


def place_sentence(places: tuple[PlaceScore, ...]) -> str:
    """The places that stand out, at most three; a list to look at."""
    odd = [place for place in places if place.p_holm <= LEVEL]
    if not odd:
        return "No place stands out from the prediction by itself."
    each = [f"{place.place} ({place.alarms} of {place.n}, predicted {pd_text(place.pd)})" for place in odd]
    return f"To look at first: {listed(each)}. A list to begin with, not a proof."


def delay_sentences(found: DelayScore | None) -> Iterator[str]:
    """Delay of the system beyond the predicted one."""
    if found is None:
        return
    middle = found.delay_s
    ends = f" ({middle.low:.1f} to {middle.high:.1f})" if middle.low is not None and middle.high is not None else ""
    few = "" if ends else "; fewer than six, no interval"
    yield (
        f"Alarms come {middle.median:.1f} s{ends} after the predicted moment: median of {plural(middle.values, 'walk')}, read to "
        f"{found.unit_s:g} s{few}. That is the delay of the system itself."
    )
    if found.latest_s is not None:
        said = {"yes": "is within", "no": "is above", "open": "may be above or within"}[found.kept or "open"]
        later = f"{found.later} of {middle.values} alarms came later than that"
        yield f"The median {said} the {found.latest_s:g} s asked for; {later}."
    if found.p_shape is not None:
        fits = "fits" if found.p_shape > LEVEL else "does not fit"
        yield f"The spread of delays {fits} the predicted one ({p_text(found.p_shape)})."


def outside_sentences(score: WalkScore) -> Iterator[str]:
    """Alarms outside walks, and what they may have put into walks."""
    found = score.outside
    if not found.per_hour:
        return
    heard = [f"{mark} {count}" for mark, count in found.alarms.items() if count]
    if not heard:
        yield f"No alarm outside walks is noted in {found.hours:.1f} hours; if nobody wrote them down, that says nothing."
        return
    yield f"Alarms outside walks in {found.hours:.1f} hours: {', '.join(heard)}."
    for mark in found.loud:
        yield (
            f"Camera {mark}: an alarm falls into the 20 s of a walk by chance in {100.0 * found.chance[mark]:.0f} % of walks; "
            "some of its alarms may not be the walker's, and misses may hide behind them."
        )


def void_sentence(score: WalkScore) -> str:
    """How many walks are void, why, and what they would change."""
    void = Counter(walk.void for walk in score.log.walks if walk.void)
    if not void:
        return "No walk is void."
    reasons = listed([f"{count} {reason}" for reason, count in sorted(void.items(), key=lambda each: (-each[1], each[0]))])
    changed = [each.claim.claim for each in score.claims if each.voids_missed.verdict != each.judged.verdict]
    change = f"changes the verdict of {listed(changed)}" if changed else "changes no verdict"
    many = sum(void.values())
    return (
        f"{first_upper(plural(many, 'walk'))} {'is' if many == 1 else 'are'} void ({reasons}); counting each as a miss {change}."
    )


def other_sentences(score: WalkScore) -> Iterator[str]:
    """Controls, other weather, cards not walked, alarms of cameras that see nothing there."""
    if score.controls:
        fault = "none raised an alarm" if not score.control_alarms else f"{score.control_alarms} raised an alarm: a fault"
        walked = first_upper(plural(score.controls, "control walk"))
        yield f"{walked} against the rule's direction: {fault}. They count for nothing else."
    other = sum(walk.weather != score.plan.weather for walk in score.log.counted)
    if other:
        others = first_upper(plural(other, "walk"))
        yield f"{others} in other weather than {score.plan.weather}: in the claims, not compared with the prediction."
    if score.log.not_walked:
        many = len(score.log.not_walked)
        yield f"{first_upper(plural(many, 'card'))} not walked: {_numbers(score.log.not_walked)}."
    for mark, count in score.unforeseen.items():
        yield f"Camera {mark} alarmed in {plural(count, 'walk')} where its predicted Pd is below 0.001: was it the walker?"


def holds_for(score: WalkScore) -> Iterator[str]:
    """What the result holds for, and what it does not say."""
    counted = score.log.counted
    dates = sorted({walk.crossed.date() for walk in counted})
    walkers = sorted({walk.walker for walk in counted if walk.walker})
    gaits = [gait.replace("_", " ") for gait in dict.fromkeys(sorted(walk.gait for walk in counted))]
    weathers = list(dict.fromkeys(walk.weather for walk in counted))
    nights = str(dates[0]) if len(dates) == 1 else f"{dates[0]} to {dates[-1]}"
    who = f"{plural(len(walkers), 'walker')} ({', '.join(walkers)})" if walkers else "walkers who are not named"
    start = "from the inside foot of the barrier, no climb" if score.plan.from_fence else "no climb"
    yield f"All this holds for {nights}, {listed(weathers)}, {who}, {listed(gaits)}, as walked: {start}."
    yield (
        "Walks of one night and one walker are alike: the confidence does not allow for that. Two walkers at least, and two "
        "nights where it matters."
    )
    yield (
        "Who read the alarms, and whether he knew when walks took place, belongs beside this: a caller who knows sees more. "
        "Intruders may hide; walkers did not. The list of weak places is for those who need it."
    )


def requirement_words(score: WalkScore) -> str:
    """`Pd 0.90 at 95 %`."""
    asked = score.plan.requirement
    return f"Pd {requirement_text(asked.pd)} at {confidence_text(asked.confidence)}"


def _numbers(numbers: tuple[int, ...]) -> str:
    """`3, 7 to 12`."""
    runs: list[list[int]] = []
    for number in sorted(numbers):
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    return ", ".join(str(a) if a == b else f"{a}, {b}" if b == a + 1 else f"{a} to {b}" for a, b in runs)

"""Sentences about N50 and the encounter correlation as fitted to walks: what they are, how sure, what the log cannot tell.

Tests: tests/findings/test_walkfitwords.py.
"""

from __future__ import annotations

from collections.abc import Iterator

from fencecast.findings.walkscorewords import p_text
from fencecast.findings.words import first_upper, listed, pd_text, plural
from fencecast.prove.fit.checks import CLEAN_NEEDS_WALKS
from fencecast.prove.fit.earlier import same_days
from fencecast.prove.fit.grid import MEDIANS, PLACES_FOR_SPREAD, SPREADS, Prior
from fencecast.prove.fit.walkfit import WalkFit
from fencecast.prove.walks.planfile import WalkPlan

LEVEL = 0.05
CHECKED = {
    "place": "places alike but for the model",
    "gait": "gaits as the model has them",
    "steepness": "curve as steep as the law's",
    "camera": "cameras alike but for the model",
    "walker": "walkers alike but for stature",
}
WRONG = {
    "place": "places differ more than chance",
    "gait": "a gait is easier or harder than the model has it",
    "steepness": "alarms rise with N faster or slower than the law",
    "camera": "a camera sees more or less than its data say",
    "walker": "walkers differ by more than their stature",
}


def n50_text(cycles: float) -> str:
    """Cycles with two decimals below 10, one above."""
    return f"{cycles:.2f}" if cycles < 10.0 else f"{cycles:.1f}"


def percent_text(part: float) -> str:
    """A share as a whole percentage, `under 1 %` where it rounds to nothing."""
    return "under 1 %" if part < 0.005 else f"{100.0 * part:.0f} %"


def fit_title(fit: WalkFit) -> str:
    """`N50 is 2.58 (2.21 to 3.02); the correlation is hardly known`."""
    return f"{n50_headline(fit)}; {correlation_headline(fit)}"


def n50_headline(fit: WalkFit) -> str:
    """N50 with its interval; `at most` where no miss tells, `at least` where no alarm does."""
    known = fit.cycles_50
    if known.only_from_above and known.only_from_below:
        return "These walks do not say what N50 is"
    if known.only_from_above:
        return f"N50 is at most {n50_text(known.high)}: no miss tells more"
    if known.only_from_below:
        return f"N50 is at least {n50_text(known.low)}: no alarm tells more"
    return f"N50 is {n50_text(known.median)} ({n50_text(known.low)} to {n50_text(known.high)})"


def correlation_headline(fit: WalkFit) -> str:
    """The correlation with its interval, or that it is hardly known."""
    known = fit.correlation
    if known.hardly_known:
        return "the correlation is hardly known"
    return f"the correlation is {known.mean:.2f} ({known.low:.2f} to {known.high:.2f})"


def prior_notes(plan: WalkPlan, used: Prior) -> list[str]:
    """What the plan assumed of N50 and the grid of a fit cannot hold; nothing where something else was typed."""
    held, lines = Prior.within(plan.prior_median, plan.prior_spread), []
    if used.median == held.median != plan.prior_median:
        lines.append(
            f"The plan assumes N50 about {plan.prior_median:g} cycles; a fit takes {MEDIANS[0]:g} to {MEDIANS[1]:g}: "
            f"{held.median:g} was taken."
        )
    if used.spread == held.spread != plan.prior_spread:
        lines.append(
            f"The plan assumes a standard deviation of ln N50 of {plan.prior_spread:.3g}; a fit takes {SPREADS[0]:g} to "
            f"{SPREADS[1]:g}: {held.spread:g} was taken."
        )
    return lines


def n50_sentences(fit: WalkFit) -> Iterator[str]:
    """What N50 is, for these walkers and for people in general, and how much of it the prior is."""
    known, prior = fit.cycles_50, fit.posterior.prior
    walks, walkers = fit.question.walks, len(fit.question.names)
    yield (
        "N50 is the number of cycles across a person at which half of all encounters are classified. All that the law of "
        "resolution "
        "gets wrong on this site is in it."
    )
    if known.only_from_above and known.only_from_below:
        yield f"{first_upper(plural(walks, 'walk'))} leave it where it was before: {n50_text(prior.median)}, {_judged(fit)}."
        return
    if known.only_from_above:
        yield (
            f"Cameras missed nothing that would put a lower end to it: it is at most {n50_text(known.high)} (one side, 97.5 %), "
            f"and "
            "all below that is judgement. The calibrated file holds that judgement too. "
            "Walk where a camera is expected to miss."
        )
    elif known.only_from_below:
        yield (
            f"Cameras saw nothing that would put an upper end to it: it is at least {n50_text(known.low)} (one side, 97.5 %). "
            f"Look "
            "for a fault before anything is calibrated."
        )
    else:
        had = "The plan had" if prior.earlier is None else "Before it was"
        yield (
            f"From {plural(walks, 'walk')} it is {n50_text(known.median)}, with 95 % between {n50_text(known.low)} and "
            f"{n50_text(known.high)} ({percent_text(known.sd_ln)} standard deviation). {had} {n50_text(prior.median)}."
        )
        low, high = fit.any_intruder
        who, alike = plural(walkers, "walker") if walkers else "walkers who are not named", fit.question.effective_walkers
        if alike < 0.9 * walkers:
            who += f", as good a sample as {alike:.1f} who walk equally often,"
        yield (
            f"For people in general: {n50_text(low)} to {n50_text(high)}. People differ; {who} leave "
            f"{percent_text(fit.walker_sd_ln)} in it that no number of walks takes away, and any one person differs from people "
            f"in general by another {percent_text(prior.walker_spread)} (judgement, no source)."
        )
    narrow, wide = (median for _, median in fit.prior_moved)
    yield (
        f"What was assumed: N50 about {n50_text(prior.median)} within {percent_text(prior.spread)} (one standard deviation). "
        f"With "
        f"half of that spread the median would be {n50_text(narrow)}, with twice of it {n50_text(wide)}."
    )
    if prior.earlier is not None:
        yield (
            f"That, and the correlation before, is what {plural(prior.earlier.walks, 'earlier walk')} left, of "
            f"{listed(prior.earlier.dates)}: [calibration] of the site file. A place that was walked both times counts as if it "
            "were two; all logs at once, on the plan from before that fit, count it once."
        )


def _judged(fit: WalkFit) -> str:
    """What the value before the walks rests on."""
    return "judgement" if fit.posterior.prior.earlier is None else "what earlier walks left"


def same_days_sentence(fit: WalkFit) -> str:
    """Days of which walks may be counted twice; empty where there are none."""
    earlier = fit.posterior.prior.earlier
    days = () if earlier is None else same_days(fit.question.logs, earlier)
    if not days:
        return ""
    return (
        f"Odd: [calibration] holds walks of {listed(days)} too. A log that was saved again counts as another log: were these "
        "walks not in it already?"
    )


def place_sentences(fit: WalkFit) -> Iterator[str]:
    """How much places differ, and the answer without each."""
    median, high = fit.place_spread
    count = len(fit.posterior.places)
    if fit.posterior.spread_is_prior:
        yield (
            f"{first_upper(plural(count, 'place'))} cannot say how much places differ (that takes {PLACES_FOR_SPREAD}): their "
            f"spread "
            f"stays what was assumed, {percent_text(fit.posterior.prior.place_spread)} at most in two of three sites (judgement)."
        )
    else:
        yield (
            f"Places differ by {percent_text(median)} of N50 (standard deviation; at most {percent_text(high)}). In a run "
            "every segment is a place with a difference of its own, walked or not: it gets the wider band."
        )
    if fit.without_place:
        lowest, highest = min(fit.without_place, key=lambda each: each[1]), max(fit.without_place, key=lambda each: each[1])
        most = max(fit.without_place, key=lambda each: abs(each[1] - fit.cycles_50.median))
        yield (
            f"Without any one place the median lies between {n50_text(lowest[1])} and {n50_text(highest[1])}; {most[0]} moves it "
            f"most, to {n50_text(most[1])} without it."
        )


def correlation_sentences(fit: WalkFit) -> Iterator[str]:
    """The encounter correlation, and what it changes."""
    known = fit.correlation
    if known.hardly_known:
        yield (
            f"The correlation is hardly known: assumed 0.45 on average, now {known.mean:.2f} ({known.low:.2f} to "
            f"{known.high:.2f}), "
            f"standard deviation {known.sd:.2f} of {known.prior_sd:.2f}."
        )
        each = ", ".join(f"{pd_text(pd)} at {r:.2f}" for r, pd in fit.pd_by_correlation)
        yield f"What it would change: the mean Pd of these walks is {each}."
    else:
        yield (
            f"The correlation is {known.mean:.2f} on average, 95 % between {known.low:.2f} and {known.high:.2f} (shortest "
            f"interval), "
            f"most likely {known.mode:.2f}."
        )
    yield (
        "It holds all that cameras have in common and the model leaves out: that coat, that corner. It is of this site and these "
        "walkers."
    )


def contrast_sentence(fit: WalkFit) -> str:
    """Whether threshold and clutter are known from these walks."""
    if fit.contrast is None:
        return (
            f"Threshold and clutter are not known from this log (information {fit.contrast_information:.1f}; 8.2 would be as "
            f"good as "
            "what is assumed): a clear night does not say them."
        )
    median, low, high = fit.contrast
    held = fit.at_the_files_threshold().cycles_50
    return (
        f"Threshold and clutter: the contrast that is needed is {median:.2f} times the file's ({low:.2f} to {high:.2f}). N50 "
        "above is a mean over that, and the less certain for it. The calibrated file keeps its own threshold and has the N50 "
        f"that goes with it: {n50_text(held.median)} ({n50_text(held.low)} to {n50_text(held.high)}). Take N50 from a clear "
        "night."
    )


def check_words(name: str, p: float | None) -> str:
    """What one check says."""
    if p is None:
        return "one group only: not looked at"
    return WRONG[name] if p <= LEVEL else CHECKED[name]


def check_sentences(fit: WalkFit) -> Iterator[str]:
    """What all checks say together."""
    found = [name for name, p in fit.checks.p.items() if p is not None and p <= LEVEL]
    looked = sum(p is not None for p in fit.checks.p.values())
    if found:
        doubts = listed([f"{WRONG[name]} ({p_text(fit.checks.p[name] or 0.0)})" for name in found])
        more = f" Of {looked} checks one in twenty finds something by chance." if len(found) == 1 else ""
        yield f"{first_upper(doubts)}. N50 is then a mean over things that differ.{more}"
    else:
        yield "The walks look like walks of this model."
    if fit.question.walks < CLEAN_NEEDS_WALKS:
        yield (
            f"{first_upper(plural(fit.question.walks, 'walk'))} see little: under {CLEAN_NEEDS_WALKS} a check without a finding "
            f"means "
            "little, and places that differ by 30 % pass in more than half of tests."
        )


def doubt_sentence(fit: WalkFit) -> str:
    """Alarms that no N50 explains; "" without any."""
    if not fit.doubts:
        return ""
    shown = listed([f"{camera} in trial {trial}" for trial, camera in fit.doubts[:5]])
    more = f" and {len(fit.doubts) - 5} more" if len(fit.doubts) > 5 else ""
    return (
        f"The model gives no camera's alarm here at any N50: {shown}{more}. Was it the walker? Type --nuisance-per-hour when "
        f"alarms "
        "came without one."
    )


def not_known(fit: WalkFit) -> Iterator[str]:
    """What this log cannot tell, and what the answer holds for."""
    question = fit.question
    yield contrast_sentence(fit)
    if question.walks < CLEAN_NEEDS_WALKS:
        yield "The correlation is hardly known under 100 walks, whatever its interval says."
    yield (
        f"Weather that was not walked in keeps all its other uncertainty; these walks were {listed(list(question.weather))}, "
        f"{listed(list(question.dates))}."
    )
    start = "from the inside foot of the barrier, without a climb" if question.plan.from_fence else "without a climb"
    yield f"Walks are not intruders who hide or climb; these were walked {start}. Focal length that is 5 % off is 5 % of N50."
    if len(question.names) < 2:
        yield "One walker is one sample of walkers: a second one who walks as often takes a third off what walkers leave in N50."
    yield "Who read the alarms, and whether he knew when walks took place, belongs beside this: a caller who knows sees more."

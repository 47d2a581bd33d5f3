"""What is said of a fit, of the next walks and of a re-test, with the numbers that it is made from."""

import dataclasses
import json
import math
from types import SimpleNamespace

import pytest

from fencecast.cautions import CAUTION
from fencecast.cli.output import plain
from fencecast.findings.blocks import words_of
from fencecast.findings.walkfit import fit_blocks, fit_object
from fencecast.findings.walkfitwords import check_words, fit_title, n50_text, prior_notes
from fencecast.findings.walknext import again_blocks, again_object, again_title, next_blocks, next_object
from fencecast.prove.fit.again import _moved, judge_again, walk_again
from fencecast.prove.fit.grid import Prior
from fencecast.prove.fit.groups import group_walks
from fencecast.prove.fit.information import groups_of_kinds, kinds_to_walk
from fencecast.prove.fit.next import choose_next, walk_next
from fencecast.prove.fit.walkfit import walk_fit
from prove.fit.onestep import WALKERS, invented_crossings, invented_fit, invented_fit_of, invented_log, without_simulation
from prove.invented_walks import invented_plan
from show.wording import wrong_words

NEVER = ("told", "hangs on", "nan", "None")


def said(blocks) -> str:
    """All words, none of those that are never said."""
    text = words_of(blocks)
    assert wrong_words([line for line in text.split("\n") if line != CAUTION]) == []
    assert not [word for word in NEVER if word in text]
    assert text.endswith(CAUTION)
    return text


@pytest.mark.parametrize(
    ("case", "headline"),
    [
        ({"rounds": 10}, "N50 is 2.55 (2.27 to 2.87); the correlation is 0.37 (0.05 to 0.66)."),
        ({"cycles_50": 0.2}, "N50 is at most "),
        ({"cycles_50": 60.0}, "N50 is at least "),
        ({"kept": lambda walk: walk.trial <= 4}, "; the correlation is hardly known."),
    ],
)
def test_the_headline_is_what_the_walks_say(case, headline):
    fit = invented_fit(**case)
    text = said(fit_blocks(fit))
    assert headline in text
    known = fit.cycles_50
    if known.only_from_above:
        assert f"at most {n50_text(known.high)}" in fit_title(fit) and n50_text(known.median) + " (" not in fit_title(fit)


def test_what_is_uncertain_is_said_beside_it():
    text = said(fit_blocks(invented_fit()))
    assert "36 walks see little: under 100 a check without a finding means little" in text
    assert "two walkers leave 7 % in it" in text and "any one person differs from people in general by another 10 %" in text
    low, high = invented_fit().any_intruder
    assert f"For people in general: {n50_text(low)} to {n50_text(high)}." in text and "any intruder" not in text
    log = invented_fit().question.logs[0]
    walks = tuple(dataclasses.replace(walk, walker="B" if walk.trial == 7 else "A") for walk in log.walks)
    uneven = said(fit_blocks(invented_fit_of(dataclasses.replace(log, walks=walks))))
    assert "two walkers, as good a sample as 1.1 who walk equally often, leave 10 % in it" in uneven
    assert "Threshold and clutter are not known from this log" in text
    assert "The plan had 2.00" in text
    few = said(fit_blocks(invented_fit(kept=lambda walk: walk.place in ("front 9", "front 39"))))
    assert "Two places cannot say how much places differ" in few
    alone = said(fit_blocks(invented_fit(kept=lambda walk: walk.walker == "A")))
    assert "One walker is one sample of walkers: a second one who walks as often takes a third off" in alone
    one, two = invented_fit(kept=lambda walk: walk.walker == "A"), invented_fit()
    assert 1.0 - two.walker_sd_ln / one.walker_sd_ln == pytest.approx(0.29, abs=0.01)
    assert check_words("walker", None) in alone


def test_a_finding_of_a_check_is_named():
    text = said(fit_blocks(invented_fit(rounds=25, seed=8, place_spread=0.4)))
    assert "Places differ more than chance (p = 0.0" in text


def test_alarms_that_no_n50_explains_are_listed():
    fit = dataclasses.replace(invented_fit(), doubts=((3, "W"), (7, "E")))
    assert "at any N50: W in trial 3 and E in trial 7. Was it the walker?" in said(fit_blocks(fit))


def test_json_holds_the_posterior_and_what_was_asked():
    fit = invented_fit()
    found = json.loads(json.dumps(plain(fit_object(fit, ["a/x-calibrated.toml"])), allow_nan=False))
    assert found["cycles_50"]["median"] == fit.cycles_50.median and found["walks"] == 36 and found["places"] == 6
    assert found["encounter_correlation"]["known"] is not found["encounter_correlation"]["hardly_known"]
    assert set(found["checks"]) == {"place", "gait", "steepness", "camera", "walker"}
    assert sum(map(sum, found["grid"]["weight"])) == pytest.approx(1.0, abs=1e-5)
    assert sum(found["grid"]["weight_place"]) == pytest.approx(1.0, abs=1e-6)
    assert found["site"] == "a/x-calibrated.toml" and found["caution"] == CAUTION
    assert "told" not in json.dumps(found)


def asked_next():
    fit = invented_fit()
    question, kinds = fit.question, kinds_to_walk(fit.question.plan)
    return choose_next(
        question, invented_crossings(question.groups), kinds, invented_crossings(groups_of_kinds(question.plan, kinds)), 4
    )


def test_next_walks_with_what_they_gain_at_best():
    found = asked_next()
    text = said(next_blocks(found))
    assert "the next four walks, after 36" in text and "at best" in text
    assert len(next_object(found)["walks"]) == 4
    assert json.dumps(plain(next_object(found)), allow_nan=False)


def asked_again(cycles_50=(), changed=()):
    fit = invented_fit()
    plan, walkers = fit.question.plan, fit.question.walkers
    logs = [*fit.question.logs]
    for k, n50 in enumerate(cycles_50):
        log = invented_log(plan, n50, 0.3, 10 + k, day=365 * (k + 1))
        logs.append(dataclasses.replace(log, walks=log.walks[:12]))
    question = dataclasses.replace(fit.question, logs=tuple(logs))
    per_log = [group_walks(plan, [log], walkers) for log in logs]
    kinds = kinds_to_walk(plan)
    flat = [group for groups in per_log for group in groups]
    return judge_again(
        question, per_log, invented_crossings(flat), kinds, invented_crossings(groups_of_kinds(plan, kinds)), changed
    )


def test_a_re_test_says_what_moved_and_what_it_cannot_see():
    alone, same, worse = asked_again(), asked_again([2.6]), asked_again([5.5, 5.5], ("software",))
    assert "one log, nothing to hold it against yet" in said(again_blocks(alone))
    assert "N50 has not moved by more than chance since 2026-11-29." in said(again_blocks(same))
    text = said(again_blocks(worse))
    assert again_title(worse).startswith("N50 has risen by ") and "make the whole plan anew" in text
    for found in (alone, same, worse):
        assert "would see at once of a rise of N50: 10 % in " in said(again_blocks(found))
        assert json.dumps(plain(again_object(found)), allow_nan=False)
    assert again_object(alone)["moved"] is None and again_object(worse)["moved"]["alarm"] is True


def test_an_n50_that_fell_is_no_agreement():
    """Catches: "has not moved" and "logs that agree" beside a z of -4."""
    found = asked_again([1.0, 1.0, 1.0])
    text, moved = said(again_blocks(found)), found.moved
    assert not moved.alarm and moved.better and moved.lowest == min(moved.z) < -2.5
    assert again_title(found).startswith("N50 has fallen by ") and again_title(found).endswith(": cameras see better")
    assert "has not moved" not in text and "Logs that agree" not in text and "not fitted together" in text
    assert moved.z[moved.last - 1] == moved.lowest and moved.change < moved.ends[1] < 0.0
    low, high = (int(word) for word in again_title(found).split("(")[1].split(" %")[0].split(" to "))
    assert 0 < low < round(-100.0 * moved.change) < high < 100
    made = again_object(found)["moved"]
    assert made["better"] and not made["alarm"] and made["low"] < made["change"] < made["high"] < 0.0


def test_both_directions_show_the_one_that_is_an_alarm():
    """z of +2.9 and -3.5: the change is that of the rise, as the title says."""
    fits = {(0, 2): (0.0, 0.1), (0, 1): (0.9, 0.1), (2, 3): (0.7, 0.2), (1, 3): (0.2, 0.1)}

    def of(logs):
        mean, sd = fits[logs.start or 0, logs.stop or 3]
        return SimpleNamespace(cycles_50=lambda: SimpleNamespace(mean_ln=mean, sd_ln=sd))

    moved = _moved(of, asked_again([2.6, 2.6]).question.logs, 0.10)
    assert moved.alarm and moved.better and (moved.largest, moved.lowest) == (moved.z[0], moved.z[1])
    assert moved.largest < -moved.lowest and moved.last == 1
    assert moved.change == pytest.approx(math.expm1(0.7))


@pytest.mark.parametrize(
    ("median", "spread", "held", "words"),
    [
        (2.0, 1.4, (2.0, 1.0), "a standard deviation of ln N50 of 1.4; a fit takes 0.05 to 1: 1 was taken."),
        (2.0, 0.0123, (2.0, 0.05), "a standard deviation of ln N50 of 0.0123; a fit takes 0.05 to 1: 0.05 was taken."),
        (31.0, 0.5, (20.0, 0.5), "N50 about 31 cycles; a fit takes 0.2 to 20: 20 was taken."),
        (0.1, 0.5, (0.2, 0.5), "N50 about 0.1 cycles; a fit takes 0.2 to 20: 0.2 was taken."),
    ],
)
def test_a_plan_whose_prior_the_grid_cannot_hold_is_not_refused_after_the_evening(monkeypatch, median, spread, held, words):
    """Catches: a site file with a narrow or wide cycles_50, walked, and then no fit, no next walks and no re-test."""
    without_simulation(monkeypatch)
    plan = invented_plan(1).model_copy(update={"prior_median": median, "prior_spread": spread})
    logs = [invented_log(plan, 2.6, 0.3, 5)]
    if spread > 1.0:
        fit = walk_fit(plan, logs, WALKERS)
        assert (fit.posterior.prior.median, fit.posterior.prior.spread) == held and words in said(fit_blocks(fit))
        assert any(words in text for text in fit_object(fit)["warnings"])
        assert words not in said(fit_blocks(walk_fit(plan, logs, WALKERS, prior_spread=0.4)))
    further = walk_next(plan, logs, 2, WALKERS)
    assert (further.question.prior.median, further.question.prior.spread) == held
    again = walk_again(plan, logs, walkers=WALKERS)
    assert words in said(next_blocks(further)) and words in said(again_blocks(again))
    assert any(words in text for made in (next_object(further), again_object(again)) for text in made["warnings"])
    assert prior_notes(invented_plan(1), Prior()) == []

"""What a sentence claims of its numbers: the defects are those that a reader of five invented yards found."""

import json
from dataclasses import replace

import pytest

from fencecast.decide.remedy import Remedy, RemedyStep
from fencecast.estimate.lift import Due
from fencecast.estimate.results import Results
from fencecast.estimate.weakest import lowest_places
from fencecast.findings.readings import Reading, reading, reading_sentence
from fencecast.findings.remedy import kept_steps, remedy_blocks, remedy_sentence
from fencecast.findings.unseen import Away, Unseen, unseen_words
from fencecast.findings.words import in_class
from fencecast.findings.yeartitles import FogStart, optical_range_title
from fencecast.job import run
from fencecast.site import parse_site
from kernels.kernel_sites import CAMERA, FENCE, LINE, site_text
from show import invented_results

BEST = Reading("clear night", "washed out", Away("C7", 30.0, "long"), Away("C7", 30.0), True, False, False, best_pd=0.8)
STEP = RemedyStep("let rule 1 hear C4 too", "rule", 0.0, (83.0, 83.0), (83.0, 83.0), "fog", (35.0, 15.0))
SITE = parse_site(site_text())


def remedy(**change) -> Remedy:
    kept = {"words": "w", "kind": "rule", "mends": False, "cost": None, "place": "A 1-2 m", "weather": "fog", "tried": 9,
            "before": (0.1, 0.0, 0.2), "at_place": (0.9, 0.8, 1.0), "after": (0.1, 0.0, 0.2), "worst": "heavy rain",
            "weak_m": (83.0, 83.0), "undecided_m": (0.0, 0.0), "fence_m": (83.0, 83.0), "assumed": (), "site": SITE,
            "steps": (STEP,)}  # fmt: skip
    return Remedy(**{**kept, **change})


def texts(found: Remedy) -> list[str]:
    return [block.text for block in remedy_blocks(found)]


@pytest.mark.parametrize(
    ("name", "said"),
    [("heavy rain", "in heavy rain"), ("after rain", "after rain"), ("At dusk", "At dusk"), ("inversion", "in inversion")],
)
def test_a_class_that_begins_with_a_word_of_time_needs_no_in(name, said):
    """Catches: `weak in after rain`; the words are English, typed here."""
    assert in_class(name) == said


def test_a_best_camera_that_does_little_is_said_to():
    """Catches: a camera with Pd 0.05 alone, 570 m away, called the best without a word."""
    assert ", with Pd 0.05 alone" in reading_sentence(replace(BEST, best_pd=0.05))
    assert "alone" not in reading_sentence(BEST)


def test_the_camera_that_looks_beside_a_place_is_not_named_twice():
    """Catches: `no camera looks this way; the nearest is P5, and looks elsewhere. Best camera here: P5`."""
    beside = Unseen("elsewhere", Away("C7", 30.0), turned_rad=0.0698)  # 4 degrees
    text = reading_sentence(replace(BEST, cause="not in view", unseen=beside, best_pd=0.36))
    assert text == (
        "No camera assigned here looks this way; the nearest is C7, 30 m away; the place lies 4 degrees beside its picture; "
        "still it does best here, Pd 0.36 alone."
    )
    framed = reading_sentence(replace(BEST, cause="not in view", unseen=Unseen("framed", Away("C7", 30.0))))
    assert framed.count("C7") == 1


def test_a_camera_to_be_heard_hides_no_cause_that_stays():
    """Catches: `heard too, Pd 0.46` as all that is said of a place that is too small for everybody, with 0.90 required."""
    due = Due("heard: N1", 0.46)
    text = reading_sentence(replace(BEST, cause="too small", due=due, required=0.9))
    assert "too small even at full contrast; no rule here listens to N1: heard too, Pd 0.46" in text
    assert "too small" not in reading_sentence(replace(BEST, cause="too small", due=replace(due, pd=0.97), required=0.9))


@pytest.mark.parametrize("why", ["ends short", "too deep"])
def test_no_rule_is_not_said_where_most_crossings_meet_one(why):
    """Catches: `No rule is armed here` beside Pd 0.76."""
    assert unseen_words(Unseen(why, Away("C1", 5.0), most=True), "si").startswith("No rule is armed here: ")
    assert unseen_words(Unseen(why, Away("C1", 5.0)), "si").startswith("Some crossings meet no rule: ")


def test_a_mitred_corner_is_named():
    """Catches: `the rule's line ends short` at a corner, where paths run between the other fence and the rule's line.

    A square of one section, four cameras that look along its sides, a line 1.5 m inside: at (0, 0) it begins at (1.5, 1.5).
    """
    ring = FENCE | {"points_m": [[0.0, 0.0], [24.0, 0.0], [24.0, 24.0], [0.0, 24.0]], "closed": True}
    ways = [([-8.0, 1.0], [12.0, 1.0]), ([23.0, -8.0], [23.0, 12.0]), ([32.0, 23.0], [12.0, 23.0]), ([1.0, 32.0], [1.0, 12.0])]
    cameras = tuple(CAMERA | {"mark": f"C{k}", "position_m": at, "aim_m": aim} for k, (at, aim) in enumerate(ways, start=1))
    site = parse_site(site_text(segment_length_m=2.0, perimeter=(ring,), camera=cameras, rule=(LINE | {"offset_m": 1.5},)))
    results = Results.of(run(site, precision=0.05, max_crossings=256))
    ruled = [place for place in lowest_places(results) if place.cause == "no rule there"]
    assert ruled and all("beside the corner they pass between fence and rule's line" in reading(results, p) for p in ruled)


def test_changes_that_help_other_classes_are_not_called_useless():
    """Catches: `nothing that was tried helps` where 20 m of fog are mended and the worst class is not."""
    assert any(
        text.startswith("This brings other classes nearer to the requirement, not the worst one") for text in texts(remedy())
    )
    useless = remedy(steps=(replace(STEP, most_m=(35.0, 34.0)),))
    assert any(text.startswith("Nothing that was tried helps") for text in texts(useless))


def test_a_cost_of_nothing_is_not_called_free():
    """Catches: `cost 0 in all` where the file has no price for putting a camera higher."""
    assert any("no price for this work in the file" in text for text in texts(remedy(cost=0.0)))
    assert any("cost 900 in all" in text for text in texts(remedy(cost=900.0)))


@pytest.mark.parametrize(("steps", "said"), [(4, "; then one more change: "), (5, "; then two more changes: ")])
def test_more_changes_are_counted_in_english(steps, said):
    """Catches: `and 1 more changes`."""
    assert said in remedy_sentence(remedy(steps=(STEP,) * steps))


def test_kept_steps_name_the_class_of_their_numbers():
    """Catches: the metres of one class under the name of another, where two classes are as weak."""
    step = {"words": "turn C1", "kind": "turned", "cost": None, "weak_m": [80, 60], "fence_m": [80, 60], "most_in": "b",
            "most_m": [80, 60]}  # fmt: skip
    results = invented_results.yard()
    results.attrs |= {"remedy_steps": json.dumps([step]), "remedy_worst": "b"}
    assert kept_steps(Results.of(results)) == ["1. Turn C1: 80 -> 60 m weak in b."]


def test_a_fog_range_for_small_drops_says_so():
    """Catches: `from 30 m in radiation fog` where the median drops meet only from 50 m: 30 m is for small drops alone."""
    start = FogStart(kind="radiation", small_m=30.0, large_m=70.0, reached_m=30.0)
    other = FogStart(kind="advection", small_m=None, large_m=None, reached_m=None)
    title = optical_range_title([("A 0–3 m", [start, other])], 0.9, "si")
    assert "from 30 m in radiation fog of small drops (large: 70 m)" in title
    alike = optical_range_title([("A 0–3 m", [replace(start, large_m=30.0), other])], 0.9, "si")
    assert "small drops" not in alike

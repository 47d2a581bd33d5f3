"""Small yards with a planted fault: that the fault is what makes them weak, and that what is said names it and no other.

Catches: a diagnosis in the worst class (a fog that is worse lies beside every fault), a cause that leaks into another along the
ladder, a stretch that is not split where its cause changes, and, for the yards themselves, a change of the model under
which a yard no longer has the fault that it was made for. The reference is how each yard was made (`changes.py`).
"""

import numpy as np
import pytest

from planted.base import BAD, MILD
from planted.faults import FAULTS, PAIRS, SINGLE
from planted.runs import SEGMENT_M, Said, inside, leading, misses, results_of, said, weak_in

EACH = pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.name)


def test_there_are_thirty_and_ten():
    assert len(SINGLE) >= 30
    assert len(PAIRS) >= 10
    assert len({fault.name for fault in FAULTS}) == len(FAULTS)


def test_the_base_meets_everywhere_on_a_clear_night_and_not_in_the_bad_class():
    results = results_of("base")
    verdicts = results["verdict"].values.astype(str)
    classes = [str(name) for name in results["weather"].values]
    assert set(verdicts[classes.index(MILD)]) == {"meets"}
    assert weak_in(results, BAD).mean() > 0.5


@EACH
def test_the_fault_makes_its_place_weak_by_its_cause(fault):
    results = results_of(fault.name)
    milder = [str(name) for name in results["weather"].values]
    for place in fault.places:
        there = inside(results, place.where)
        assert (weak_in(results, place.weather) & there).any()
        for weather in milder[: milder.index(place.weather)]:
            assert not (weak_in(results, weather) & there).any(), f"weak already in {weather}"
        assert leading(results, place.weather, there) == place.cause


@EACH
def test_nothing_else_is_weak_before_the_bad_class(fault):
    results = results_of(fault.name)
    known = inside(results, tuple(stretch for place in fault.places for stretch in place.where), SEGMENT_M)
    for weather in (str(name) for name in results["weather"].values):
        if weather != BAD:
            assert not (weak_in(results, weather) & ~known).any()


@EACH
def test_the_bad_class_is_worse_and_blames_itself(fault):
    results = results_of(fault.name)
    classes = [str(name) for name in results["weather"].values]
    pd = results["pd"].mean("segment").values
    assert classes.index(BAD) == len(classes) - 1
    assert pd[-1] < pd[:-1].min()
    shares = np.nansum(results["miss_share"].values[:, -1], axis=1)
    assert str(results["cause"].values[int(shares.argmax())]) == "washed out"


@EACH
def test_the_sentence_names_the_fault_and_no_other(fault):
    words = said(results_of(fault.name))
    wrong = [problem for place in fault.places for problem in misses(place, words)]
    assert not wrong


# The judge itself, on sentences made here: a judge that accepts anything would make the test above worthless.
RIGHT = Said("south", 14.0, 26.0, "not in view", MILD, "The pipe stack hides it from S. In dense fog clutter adds to it.")
JUDGED = (
    (RIGHT, True),
    (
        Said("south", 14.0, 26.0, "not in view", MILD, "The pipe stack hides it, and fog adds to it."),
        False,
    ),  # blames fog
    (Said("south", 14.0, 26.0, "washed out", BAD, "Fog leaves too little contrast behind the pipe stack."), False),  # worst class
    (Said("south", 14.0, 26.0, "too brief", MILD, "Behind the pipe stack for a moment."), False),  # another cause
    (Said("south", 14.0, 26.0, "not in view", MILD, "No camera sees it."), False),  # no name
    (Said("south", 0.0, 40.0, "not in view", MILD, "The pipe stack hides it."), False),  # the whole side, not the place
    (Said("north", 14.0, 26.0, "not in view", MILD, "The pipe stack hides it."), False),  # elsewhere
)


@pytest.mark.parametrize(("sentence", "right"), JUDGED)
def test_the_judge_knows_a_right_sentence_from_wrong_ones(sentence, right):
    place = next(fault for fault in SINGLE if fault.name == "stock").places[0]
    assert (not misses(place, [sentence])) == right

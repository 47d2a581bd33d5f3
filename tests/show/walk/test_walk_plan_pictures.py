"""Pictures of a walk plan: no text on another or off the page, titles made from the plan, what is drawn."""

import numpy as np
import pytest

from fencecast.cautions import CAUTION
from fencecast.prove.walks.chance import course
from fencecast.prove.walks.planfile import WalkPlan
from fencecast.show.walk.chance import plot_walk_chance
from fencecast.show.walk.plandata import walk_chance_data, walk_plan_data
from fencecast.show.walk.walkplan import plot_walk_plan
from prove.invented_walks import invented_plan
from show.overlap import overlaps, texts
from show.wording import wrong_words


def no_claim() -> WalkPlan:
    plan = invented_plan()
    trials = tuple(trial.model_copy(update={"claim": None}) for trial in plan.trials)
    return plan.model_copy(update={"claims": (), "trials": trials})


def three_claims() -> WalkPlan:
    """The pool, and two places with ladders of their own; long names."""
    plan = invented_plan()
    (pool,) = plan.claims
    more = [
        pool.model_copy(update={"claim": f"C{k}", "of": "place", "where": place, "stops": stops, "kinds": (kind,)})
        for k, place, stops, kind in ((2, "front 9", (39, 53, 65), "K1"), (3, "front 27", (36, 48), "K7"))
    ]
    trials = list(plan.trials)
    for at, claim in ((0, "C2"), (6, "C3")):
        trials[at] = trials[at].model_copy(update={"claim": claim})
    roles = {"front 9": "full", "front 27": "full"}
    places = tuple(place.model_copy(update={"role": roles.get(place.place, place.role)}) for place in plan.places)
    return plan.model_copy(update={"claims": (pool, *more), "trials": tuple(trials), "places": places})


CASES = {"usual": invented_plan, "no claim": no_claim, "three claims": three_claims}


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("draw", [plot_walk_plan, plot_walk_chance])
def test_no_text_overlaps_or_leaves_the_page(case, draw):
    """Catches: labels on each other, a promise in words, a picture without its caution."""
    figure = draw(CASES[case]())
    said = texts(figure)
    assert overlaps(figure) == [] and wrong_words(said) == [] and CAUTION in said
    assert not any("nan" in text for text in said)


def test_the_map_numbers_places_in_the_order_of_the_walks():
    """Catches: numbers along the fence, walks that only follow a miss counted, a place left out."""
    plan = invented_plan()
    turned = plan.model_copy(update={"trials": plan.trials[::-1]})
    data = walk_plan_data(turned)
    assert [place.place for place in data.places] == [f"front {x}" for x in (39, 33, 27, 21, 15, 9)]
    assert [place.number for place in data.places] == [1, 2, 3, 4, 5, 6] and data.title == "36 walks at 6 places, 110 minutes"
    assert data.places[0].rows[0][:2] == ("walk", "3") and data.places[0].cameras[0] == ("E", 0.99)
    drawn = texts(plot_walk_plan(turned))
    assert all(str(number) in drawn for number in range(1, 7)) and {"W", "E"} <= set(drawn)


def test_lines_are_the_chances_and_points_are_the_claims():
    """Catches: a curve of another plan; a headline typed by hand over a picture that says otherwise."""
    data = walk_chance_data(three_claims())
    assert [line.label.split(":")[0] for line in data.lines] == ["C1", "C2", "C3", "29 walks, no miss"]
    np.testing.assert_allclose(data.lines[1].chances, course((39, 53, 65), data.pd).chance)
    assert data.lines[3].reference and data.pd[-1] == 1.0 and data.pd[0] < data.requirement
    assert [(point.claim, point.line) for point in data.points] == [("C1", 0), ("C2", 1), ("C3", 2)]
    plan = invented_plan()
    assert walk_chance_data(plan).title == (
        f"A test of 36 walks without a miss passes one time in eight at Pd {plan.claim_pd(plan.claims[0]):.3f}"
    )
    assert walk_chance_data(no_claim()).title.startswith("No claim is made; a test of 29 walks without a miss would pass")

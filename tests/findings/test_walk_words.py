"""What a walk test may say: its finding, claims, ladder, limits and what it cannot show."""

from __future__ import annotations

import pytest

import fencecast as fc
from fencecast.findings.walkladder import ladders, limit_rows
from fencecast.findings.walkplan import without_claim
from fencecast.findings.walkwords import (
    claim_rows,
    finding,
    prediction_rows,
    statements,
)
from prove.cardplans import claim_of, depot_plan, estuary_plan
from prove.invented_walks import invented_plan
from show.wording import wrong_words


@pytest.fixture(scope="module")
def estuary(request):
    return estuary_plan(fc.load_site(request.config.rootpath / "configs/estuary-yard.toml"))


@pytest.fixture(scope="module")
def depot(request):
    return depot_plan(fc.load_site(request.config.rootpath / "configs/marsh-depot.toml"))


def with_claims(plan, number):
    """So many copies of the first claim with chances of 10, 20, ... per cent."""
    claims = []
    for k in range(number):
        chance = plan.claims[0].chance.model_copy(update={"predicted": 0.1 * (k + 1)})
        claims.append(plan.claims[0].model_copy(update={"claim": f"C{k + 1}", "chance": chance}))
    return plan.model_copy(update={"claims": tuple(claims)})


def test_the_finding(estuary, depot):
    """One claim, two, many, none: computed from the plan."""
    assert finding(invented_plan()) == (
        "36 walks in clear night: with no miss they show Pd 0.90 at 95 % for six places together; "
        "chance of passing as predicted 12 %"
    )
    assert finding(estuary) == (
        "91 walks, up to 26 more as the ladder asks, in clear night for two claims of Pd 0.90 at 95 %; "
        "chance of passing as predicted: C1 50 %, C2 86 %"
    )
    together = finding(estuary.model_copy(update={"together": True}))
    assert "of Pd 0.90 at 95 %, all of them together; chance" in together
    assert finding(with_claims(estuary, 5)).endswith("as predicted: from 10 % (C1) to 50 % (C5)")
    assert finding(depot) == (
        "24 walks in clear night to learn N50: expected to leave it uncertain by 9 % (standard error); nothing is claimed"
    )


def test_claims_are_rows(estuary):
    """Place with a ladder, pool, walks for N50, controls; the pool's mean by hand: all its kinds have 0.97."""
    rows = claim_rows(estuary)
    assert [row.claim for row in rows] == ["C1", "C2", "none", "control"]
    assert (rows[0].walks, rows[0].misses, rows[0].pd) == ("39 / 53 / 65", "0 / 1 / 2", "0.74 (0.54 to 0.76)")
    assert (rows[1].walks, rows[1].misses, rows[1].pd) == ("46", "1", "0.97 (0.77 to 0.99)")
    assert rows[0].chance == "50 % / <1 % / 45 %" and rows[2].misses == "no claim" and rows[2].walks == "6"
    assert rows[0].shows.endswith("for this place") and rows[1].shows.endswith("together, not for each")
    assert rows[3].walks == "2" and rows[3].pd == ""
    split = estuary.claims[0].model_copy(update={"confidence": 1.0 - 0.05 / 3.0})
    assert claim_rows(estuary.model_copy(update={"claims": (split,)}))[0].shows == "Pd 0.90 at 98.33 % for this place"


def test_a_pooled_pd_is_weighted_by_walks():
    """By hand: two walks at 0.99495 and one at 0.40; the first kind once more than the others."""
    plan = invented_plan(1)
    kinds = plan.kinds[0].model_copy(update={"pd": 0.9}), plan.kinds[1].model_copy(update={"pd": 0.3, "pd_low": 0.0})
    trials = tuple(plan.trials[k].model_copy(update={"trial": n + 1}) for n, k in enumerate((0, 0, 1)))
    claim = plan.claims[0].model_copy(update={"kinds": ("K1", "K2"), "stops": (3,)})
    plan = plan.model_copy(update={"kinds": kinds, "trials": trials, "claims": (claim,)})
    assert claim_rows(plan)[0].pd.startswith("0.70 (")


def test_the_ladder_in_words(estuary):
    first, second = ladders(estuary)
    assert [(rung.heading, rung.outcomes) for rung in first.rungs] == [
        ("after 39 walks", (("no miss", "stop, passed"), ("1 or 2 missed", "walk on to 53, pack 2"))),
        ("after 53 walks", (("1 missed or fewer", "stop, passed"), ("2 missed", "walk on to 65, pack 3"))),
        ("after 65 walks", (("2 missed or fewer", "stop, passed"),)),
    ]
    assert first.end == "at miss 3: stop, not shown" and first.most_misses == 3 and len(first.trials) == 65
    assert [rung.outcomes for rung in second.rungs] == [(("1 missed or fewer", "stop, passed"),)]
    assert second.end == "at miss 2: stop, not shown" and len(second.trials) == 46


def test_every_outcome_of_a_ladder_is_said(estuary):
    """After each rung every number of misses below the one that ends it is in exactly one outcome."""
    kinds = [estuary.kinds[0]]
    plan = estuary.model_copy(update={"claims": (claim_of("C1", "place", "x", kinds, (30, 34, 36, 38, 39)),)})
    (ladder,) = ladders(plan)
    for k, rung in enumerate(ladder.rungs):
        passed, *on = [seen for seen, _ in rung.outcomes]
        assert passed == ("no miss" if k == 0 else f"{k} missed or fewer")
        assert on == ([] if k == 4 else [{0: "1 to 4", 1: "2 to 4", 2: "3 or 4", 3: "4"}[k] + " missed"])


def test_limits_of_every_number_of_walks(estuary, depot):
    rows = dict(limit_rows(estuary))
    assert list(rows) == ["39 walks, 95 %", "46 walks, 95 %", "53 walks, 95 %", "65 walks, 95 %"]
    assert dict(limit_rows(invented_plan()))["36 walks, 95 %"][:3] == ("0.920", "0.875", "0.835")
    assert all(len(limits) == 9 for limits in rows.values()) and not limit_rows(depot)


def test_predictions_in_the_order_of_the_cards(estuary):
    rows = prediction_rows(estuary)
    assert [row.card for row in rows] == [f"{trial.trial}" for trial in estuary.trials]
    assert {row.pd for row in rows if row.claim == "C1"} == {"0.74"} and {row.pd for row in rows if row.claim == "control"} == {
        "–"
    }
    assert all(row.weak == (row.pd in ("0.74", "0.60")) for row in rows)
    assert {row.gait for row in rows if row.claim == "control"} == {"walk, out"}


def test_what_the_walks_do_not_show(estuary, depot):
    """Night, walkers, gaits; each by itself or together; what N50 includes; few walks; voids; who reads; who hides."""
    said = " ".join(statements(estuary))
    expected = (
        "this night, these walkers and these gaits",
        "Each claim holds by itself at 95 %",
        "law of resolution",
        "91 walks say hardly",
        "threshold and clutter",
        "wider band",
        "as misses",
        "an operator who knows sees more",
        "Intruders may hide",
    )
    for words in expected:
        assert words in said, words
    assert "All claims hold together at 95 %" in " ".join(statements(estuary.model_copy(update={"together": True})))
    assert "by itself" not in " ".join(statements(invented_plan())) and "No claim is made" in statements(depot)[0]
    many = estuary.model_copy(update={"trials": estuary.trials * 2})
    assert "hardly" not in " ".join(statements(many))


def test_no_promise(estuary, depot):
    for plan in (estuary, depot, invented_plan()):
        said = [finding(plan), *statements(plan)]
        said += [f"{row.where} {row.shows}" for row in claim_rows(plan)]
        assert not wrong_words(said)
        assert not [text for text in said if "told" in text or "hangs on" in text]


def test_a_plan_without_a_claim_says_what_time_is_left_and_what_the_weakest_place_does():
    """Catches: an idle half hour without a word, a mean without the weakest place that is still below the requirement."""
    plan = invented_plan()
    trials = tuple(trial.model_copy(update={"claim": None}) for trial in plan.trials)
    kinds = tuple(kind.model_copy(update={"pd": 0.2 if kind.place == "front 9" else 0.97}) for kind in plan.kinds)
    bare = plan.model_copy(update={"claims": (), "trials": trials, "kinds": kinds, "budget_minutes": 150.0})
    said = " ".join(without_claim(bare))
    assert "predicted as 0.84, below 0.90. 40 of 150 minutes are left" in said
    assert "Without front 9 it would be 0.97: --goal accept" in said
    low = tuple(kind.model_copy(update={"pd": 0.5}) for kind in plan.kinds)
    assert "Without" not in " ".join(without_claim(bare.model_copy(update={"kinds": low, "budget_minutes": None})))

"""Rules of a walk test: with claims and without, who walks which cards, where the alarm line lies."""

from __future__ import annotations

from dataclasses import replace

import pytest

import fencecast as fc
from fencecast.findings.walkrules import (
    WALKER_RULES,
    alarm_line_words,
    caller_rules,
    log_notes,
    ranges,
    rules,
    who_walks,
)
from fencecast.prove.walks.alarmline import AlarmLine
from fencecast.prove.walks.cards import cards_of
from prove.cardplans import depot_plan, estuary_plan
from prove.invented_walks import SITE, invented_plan
from show.wording import wrong_words


@pytest.fixture(scope="module")
def estuary(request):
    return estuary_plan(fc.load_site(request.config.rootpath / "configs/estuary-yard.toml"))


@pytest.fixture(scope="module")
def depot(request):
    return depot_plan(fc.load_site(request.config.rootpath / "configs/marsh-depot.toml"))


@pytest.fixture(scope="module")
def cards():
    return cards_of(invented_plan(1), fc.load_site(SITE))


def test_rules_of_a_plan_with_claims(estuary):
    """Weather, start, three people, pools; from outside where the walks come from there."""
    said = rules(estuary)
    assert len(said) == 8 and "clear night" in said[3] and "no climb" in said[5] and "only the ladder says" in said[0]
    assert said[2].startswith("Best with three: walker, caller (gives the word, writes the time), and one at the alarms")
    assert "pooled claim" in said[6]
    assert "from outside" in rules(estuary.model_copy(update={"from_fence": False}))[5]


def test_rules_without_a_claim_name_none(depot):
    """No claim, no pool, no ladder: catches rules of tests that this one is not."""
    said = rules(depot)
    assert len(said) == 7 and not [text for text in said if "claim" in text or "ladder" in text]
    assert said[0].startswith("Walk every card once; further walks only for N50, after the last card.")


def test_the_caller_gives_the_word_and_nobody_else(estuary, depot):
    for plan in (estuary, depot, invented_plan()):
        said = [*rules(plan), *WALKER_RULES, *caller_rules(plan)]
        assert "director's word" not in " ".join(said) and "stands still" not in " ".join(caller_rules(plan))
        assert "Go on the caller's word." in WALKER_RULES[1] and not wrong_words(said)


def test_who_walks_which_cards(estuary):
    """Two rounds of six places with two gaits; later packs say it on their cards."""
    assert who_walks(invented_plan(2)) == "A walks cards 1 to 12, B 13 to 24."
    assert who_walks(invented_plan(1)) == "A walks cards 1 to 6, B 7 to 12."
    assert who_walks(estuary).endswith("; cards of later packs say who walks.")


def test_where_the_alarm_line_lies(cards):
    """One line for all, some by the letters of the fence, many by their ends, none."""
    assert alarm_line_words([]) == "Alarm line: no walk meets one."
    at = [replace(card, alarm=AlarmLine(0.5 + 0.5 * k, False), letter="ABCDEF"[k]) for k, card in enumerate(cards[:6])]
    one, two, many = (alarm_line_words(at[:k]).replace("\u00a0", " ") for k in (1, 2, 6))
    assert one == "Alarm line: 0.5 m inside the fence; drawn in dashes on every card."
    assert two == "Alarm line: 0.5 m inside the fence (A); 1 m inside the fence (B); drawn in dashes on every card."
    assert many == "Alarm line: from 0.5 m inside the fence to 3 m inside the fence; drawn in dashes on every card."
    area = replace(cards[0], alarm=AlarmLine(4.0, True))
    assert "into the area, 4\u00a0m inside" in alarm_line_words([area])
    assert "depth_m" in " ".join(log_notes([area])) and "depth_m" not in " ".join(log_notes(at))


def test_numbers_in_a_row_are_a_range():
    assert ranges((9, 1, 2, 3, 5, 6, 11)) == "1 to 3, 5, 6, 9, 11" and ranges((4,)) == "4"

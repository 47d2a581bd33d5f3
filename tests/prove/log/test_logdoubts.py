"""Warnings: what is odd and no reason to refuse a log."""

from __future__ import annotations

import datetime

import pytest

from fencecast.prove.log.doubts import doubts
from fencecast.prove.log.walked import Walked
from prove.invented_walks import invented_plan

PLAN = invented_plan()
START = datetime.datetime(2026, 11, 29, 22, 0, 7)


def walks(**changes):
    """Twenty walks every five minutes by two walkers; changes: a list of values by position, for a field."""
    found = []
    for k in range(20):
        more = {name: values[k] for name, values in changes.items() if k < len(values)}
        fields = {
            "trial": k + 1, "place": "front 9", "gait": "walk", "direction": "in", "walker": "AB"[k % 2],
            "crossed": START + datetime.timedelta(minutes=5 * k), "heard": {"W": "yes", "E": "no"}, "kind": "K1", "claim": "C1",
            "control": False, "weather": "clear night",
        }  # fmt: skip
        found.append(Walked(**(fields | more)))
    return found


def said(**changes):
    return list(doubts(PLAN, sorted(walks(**changes), key=lambda walk: walk.crossed)))


def test_nothing_is_odd():
    assert said() == []


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"void": ["animal"] * 3, "heard": [{"W": "no"}] * 3}, "3 of 20 walks are void"),
        ({"void": ["animal"]}, "Trial 1 is void and alarms are noted"),
        ({"void": ["animal"] * 2}, "Trials 1, 2 are void and alarms are noted"),
        ({"trial": list(range(20, 0, -1))}, "The order walked is far from the plan's"),
        ({"walker": ["A"] * 20}, "One walker (A) walked everything"),
        ({"walker": [""] * 20}, "No walker is named"),
        ({"weather": ["fog"] * 3}, 'The weather changed its class between walks ("fog", "clear night")'),
        ({"weather": ["fog"] * 20}, 'All walks were in "fog"'),
        ({"crossed": [START + datetime.timedelta(seconds=60 * k) for k in range(20)]}, "All walks lie within 60 minutes"),
        (
            {"crossed": [START.replace(second=0) + datetime.timedelta(minutes=5 * k) for k in range(20)]},
            "All crossings lie on whole minutes",
        ),
        (
            {"crossed": [START - datetime.timedelta(hours=21, seconds=1)]},
            "Trial 1 crossed at 01:00 and trial 2 at 22:05 of one date",
        ),
    ],
)
def test_what_is_odd(changes, words):
    found = said(**changes)
    assert len(found) == 1, found
    assert found[0].startswith(words)


def test_a_few_walks_out_of_order_are_not_odd():
    assert said(trial=[2, 1, 4, 3]) == []

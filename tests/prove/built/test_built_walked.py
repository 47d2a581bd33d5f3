"""Walks of a log by place: those that count, in the plan's weather."""

from __future__ import annotations

import datetime

from fencecast.prove.built.walked import count_places
from fencecast.prove.log.walked import Walked, WalkLog
from prove.invented_walks import invented_plan


def _walk(trial: int, place: str, heard: str, **keys) -> Walked:
    night = datetime.datetime(2026, 11, 29, 22, 0, 0)
    given = {"weather": "clear night"} | keys
    return Walked(trial, place, "walk", "in", "A", night, {"W": heard, "E": "no"}, "K1", "C1", False, **given)


def test_walks_are_counted_where_they_crossed():
    """Catches: voids or walks in other weather counted, misses taken for alarms."""
    walks = (
        _walk(1, "front 9", "yes"), _walk(2, "front 9", "no"), _walk(3, "front 9", "yes", void="fell"),
        _walk(4, "front 9", "yes", weather="fog"), _walk(5, "front 39", "yes"),
    )  # fmt: skip
    assert count_places(invented_plan(), WalkLog("log.csv", walks, (), "")) == {("front", 9.0): (1, 2), ("front", 39.0): (1, 1)}

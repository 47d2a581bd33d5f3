"""A thousand mutated drawings: each becomes a site or a report, none a traceback. Catches what no list thought of."""

from __future__ import annotations

from collections import Counter

from maps.mutations import outcome


def test_a_thousand_mutated_drawings(tmp_path):
    seen = Counter()
    for number in range(1_000):
        try:
            seen[outcome(number, tmp_path)] += 1
        except Exception as error:
            raise AssertionError(f"mutation {number}: {type(error).__name__}: {error}") from error
    assert set(seen) <= {"site", "InputError"}
    assert min(seen["site"], seen["InputError"]) > 100  # both ends are met: catches a fuzz that breaks everything, or nothing

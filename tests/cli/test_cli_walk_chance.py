"""`fencecast walk chance`: what it says, as a table and as JSON, and how it refuses."""

import json

import pytest
from command_line import flat, typed


def test_the_command_says_what_the_function_gives():
    """Catches: a table of other numbers, JSON with something else on standard output."""
    ended = typed("walk", "chance", "--true", "0.95", "--json")
    found = json.loads(ended.out)
    assert (ended.code, ended.err) == (0, "")
    assert [plan["stops"] for plan in found["plans"]] == [[29], [46, 46], [61, 61, 61], [39, 53, 65]]
    assert found["plans"][3]["chance"] == pytest.approx([0.398], abs=6e-4)
    said = flat(typed("walk", "chance", "--true", "0.95").out)
    assert "ladder of 39, 53 and 65 walks 0.398" in said
    assert "The ladder passes after 39 with none missed, 53 with at most one missed, 65 with at most two missed" in said
    assert "it is wrong in 0.090 of tests at a true Pd of 0.90" in said


def test_the_command_refuses_in_one_line():
    ended = typed("walk", "chance", "--pd", "90")
    assert ended == (2, "", "Error: pd 90 is not allowed: a number between 0 and 1; type for instance 0.9\n")

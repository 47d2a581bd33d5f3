"""A plan comes back from its file as it was, and a plan that was changed is refused."""

from __future__ import annotations

import json

import pytest

from fencecast.errors import InputError, UsageError
from fencecast.prove.walks.planfile import read_plan, write_plan
from prove.invented_walks import invented_plan


def test_a_plan_comes_back(tmp_path):
    plan = invented_plan()
    path = tmp_path / "plan.json"
    path.write_text(write_plan(plan), encoding="utf-8")
    assert read_plan(path) == plan
    for kind in plan.kinds:
        assert sum(kind.patterns.values()) == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize("text", ["", "[1]", "{}", '{"kind": "walk plan"}', "[" * 10_000])
def test_what_is_no_plan_is_refused(tmp_path, text):
    path = tmp_path / "plan.json"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError):
        read_plan(path)


def test_a_missing_file_is_refused(tmp_path):
    with pytest.raises(UsageError, match="cannot be read"):
        read_plan(tmp_path / "none.json")


def test_a_plan_whose_site_was_changed_is_refused(tmp_path):
    data = json.loads(write_plan(invented_plan()))
    data["site_toml"] = data["site_toml"].replace("2.0", "2.1", 1)
    path = tmp_path / "plan.json"
    path.write_text(json.dumps(data), encoding="utf-8")
    with pytest.raises(InputError, match="changed"):
        read_plan(path)


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"kinds": []}, "kinds is empty"),
        ({"trials": []}, "trials is empty"),
        ({"created": "yesterday"}, "created is no date"),
        ({"prior_median": -1.0}, "prior_median is -1"),
        ({"prior_spread": float("nan")}, "prior_spread is nan"),
        ({"marks": ["Q"]}, "names cameras that are no marks"),
        ({"places": json.loads(write_plan(invented_plan()))["places"][1:]}, "which is no place"),
        ({"claims": []}, "is for C1, which is no claim"),
    ],
)
def test_a_plan_that_is_at_odds_with_itself_is_refused(tmp_path, changed, said):
    path = tmp_path / "plan.json"
    path.write_text(json.dumps(json.loads(write_plan(invented_plan())) | changed), encoding="utf-8")
    with pytest.raises(InputError, match=said):
        read_plan(path)

"""A plan of a site with an hourly weather record: the record is looked for beside the plan, and must be that of the plan."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from fencecast.errors import InputError, UsageError
from fencecast.prove.log.rows import weather_names
from fencecast.prove.walks.planned import planned_site, record_sha256
from fencecast.site import load_site
from prove.invented_walks import SITE, invented_plan

DEPOT = Path(__file__).parents[3] / "configs" / "marsh-depot.toml"
RECORD = b"time,air_c\n2031-01-01 00:00,5.9\n"


@pytest.fixture
def plan(tmp_path, monkeypatch):
    """A plan in the folder `walks` whose site names a record; where one stands there is nothing."""
    text = DEPOT.read_text(encoding="utf-8")
    (tmp_path / "walks").mkdir()
    (tmp_path / "elsewhere").mkdir()
    monkeypatch.chdir(tmp_path / "elsewhere")
    return invented_plan().model_copy(
        update={
            "site_toml": text,
            "site_sha256": hashlib.sha256(text.encode()).hexdigest(),
            "weather_sha256": hashlib.sha256(RECORD).hexdigest(),
        }
    )


@pytest.mark.parametrize("folder", ["walks", ".", "elsewhere"])
def test_the_record_is_found_beside_the_plan_above_it_and_where_one_stands(plan, tmp_path, folder):
    (tmp_path / folder / "marsh-depot-weather.csv").write_bytes(RECORD)
    found = planned_site(plan, tmp_path / "walks" / "plan.json")
    assert found.weather_path.resolve() == (tmp_path / folder / "marsh-depot-weather.csv").resolve()
    assert found.text == plan.site_toml and record_sha256(found) == plan.weather_sha256


def test_another_record_is_passed_over_and_refused_when_there_is_no_other(plan, tmp_path):
    (tmp_path / "walks" / "marsh-depot-weather.csv").write_bytes(RECORD + b"2031-01-01 01:00,6.0\n")
    with pytest.raises(InputError, match=f"was made with another weather record.*begins {plan.weather_sha256[:8]}"):
        planned_site(plan, tmp_path / "walks" / "plan.json")
    (tmp_path / "marsh-depot-weather.csv").write_bytes(RECORD)
    assert planned_site(plan, tmp_path / "walks" / "plan.json").folder == tmp_path.resolve()


def test_a_record_that_is_nowhere_is_one_report_that_says_what_to_type(plan, tmp_path):
    with pytest.raises(InputError) as refused:
        planned_site(plan, tmp_path / "walks" / "plan.json")
    said = str(refused.value)
    assert "needs the site's weather record marsh-depot-weather.csv" in said and str(tmp_path / "walks") in said
    assert "copy it beside plan.json, or type --site SITE.toml" in said and len(refused.value.problems) == 1
    folder = tmp_path / "yard"
    folder.mkdir()
    (folder / "depot.toml").write_text(plan.site_toml, encoding="utf-8")
    (folder / "marsh-depot-weather.csv").write_bytes(RECORD)
    assert planned_site(plan, tmp_path / "walks" / "plan.json", folder / "depot.toml").folder == folder.resolve()
    with pytest.raises(InputError, match="no such file"):
        planned_site(plan, tmp_path / "walks" / "plan.json", folder / "none.toml")


def test_a_plan_that_holds_all_of_its_site_needs_no_other():
    plan = invented_plan()
    assert planned_site(plan).text == plan.site_toml and record_sha256(planned_site(plan)) is None
    with pytest.raises(UsageError, match="is not needed"):
        planned_site(plan, None, SITE)


def test_a_log_may_name_every_class_that_hours_are_sorted_into(plan):
    names = weather_names(plan)
    assert names[0] == plan.weather and {"fog", "rain"} & set(names) and len(names) == len(set(names)) > 5


def test_the_plans_record_is_the_sites(tmp_path):
    assert record_sha256(load_site(DEPOT)) == hashlib.sha256(DEPOT.with_name("marsh-depot-weather.csv").read_bytes()).hexdigest()

"""`fencecast bill`: tables and words, one JSON object, a CSV that other programs read, refusals that leave nothing behind."""

import json
import math
import os

import pandas
import pytest
from command_line import CAUTION, QUICK, TINY, flat, typed

PRICED = (
    TINY.replace("netd_mk = 50.0", "netd_mk = 50.0\nprice = 1000")
    .replace("f_number = 1.0", "f_number = 1.0\nprice = 300")
    .replace('mark = "C1"', 'mark = "C1"\ndepends_on = "=1+1"')
    + """
[prices]
currency = "EUR & <b>"
date = 2026-09-01
masts = 480.5

[[item]]
name = "=HYPERLINK(A1)"
number = 2.5
unit = "h"
price = 60

[[item]]
name = "walk test"
number = 16
unit = "h"

[[variant]]
name = "+longer"
change.camera.C1.height_m = 5.0
"""
)


@pytest.fixture
def billed(yard):
    (yard / "priced.toml").write_text(PRICED)
    return yard


def test_the_console_says_at_least_and_names_what_has_no_price(billed):
    """By hand: 1000 + 300 + 480.50 + 2.5 x 60. Catches: a total that reads as whole, "[b]" taken as markup, no caution."""
    ended = typed("bill", "priced.toml", "--date", "2026-11-29")
    assert (ended.code, ended.err) == (0, "")
    text = flat(ended.out)
    assert "At least 1,930.50 EUR & <b>, without what has no price: =1+1 (1), walk test (16 h)." in text
    assert "12 m of fence: at least 161 EUR & <b> a metre." in text and "Not simulated" in text
    assert "no price no price" in text and CAUTION in text
    for word in ("secure", "safe", "detects", "covers", "guaranteed"):
        assert word not in text.replace(CAUTION, "").lower()


def test_json_has_every_line_and_null_where_nothing_is_known(billed):
    """Catches: a key that is renamed, a 0 for what is not known, words beside the object."""
    ended = typed("bill", "priced.toml", "--date", "2028-01-01", "--json")
    assert (ended.code, ended.err) == (0, "")
    said = json.loads(ended.out)
    assert list(said) == [
        "title", "site_sha256", "currency", "price_date", "price_source", "price_age_days", "simulated_by", "simulated_at",
        "weather_classes", "options", "notes", "files", "caution",
    ]  # fmt: skip
    assert (said["currency"], said["price_date"], said["price_source"], said["price_age_days"]) == (
        "EUR & <b>", "2026-09-01", None, 487,
    )  # fmt: skip
    base, other = said["options"]
    assert list(base) == [
        "name", "lines", "total", "complete", "unpriced", "difference", "cameras", "sensors", "lenses", "masts", "fence_m",
        "cost_per_metre_of_fence", "meets_m", "cost_per_metre_that_meets",
    ]  # fmt: skip
    assert (base["total"], base["complete"], base["unpriced"]) == (1930.5, False, ["=1+1", "walk test"])
    assert (base["meets_m"], base["cost_per_metre_that_meets"], base["difference"], other["difference"]) == (None, None, 0.0, 0.0)
    assert base["lines"][-1] == {
        "kind": "work", "item": "walk test", "number": 16.0, "unit": "h", "each": None, "total": None,
        "key": 'item "walk test" price',
    }  # fmt: skip
    assert any("487 days old" in note for note in said["notes"])


def test_the_csv_adds_up_in_pandas_and_starts_no_formula(billed):
    """pandas as an outside reader. Catches: thousands separators, a sum among the lines, empty prices that read as 0."""
    ended = typed("bill", "priced.toml", "-o", "bill.csv", "--json")
    assert ended.code == 0 and json.loads(ended.out)["files"] == ["bill.csv"]
    table = pandas.read_csv("bill.csv", keep_default_na=True)
    assert list(table.columns) == [
        "option", "kind", "item", "number", "unit", "each", "total", "currency", "price_date", "key",
    ]  # fmt: skip
    sums = table.groupby("option", sort=False)["total"].sum()
    assert sums.to_dict() == {"as in the file": 1930.5, "'+longer": 1930.5}
    assert table["number"].dtype.kind in "if" and table["each"].dtype.kind == "f"
    missing = table[table["each"].isna()]
    assert missing["item"].tolist() == ["'=1+1", "walk test"] * 2 and missing["total"].isna().all()
    priced = table.dropna(subset=["each"])
    assert all(math.isclose(row.number * row.each, row.total) for row in priced.itertuples())
    cells = pandas.read_csv("bill.csv", dtype=str, keep_default_na=False).to_numpy().ravel()
    assert not [cell for cell in cells if cell.startswith(("=", "+", "-", "@"))]


def test_results_give_metres_and_us_units_feet(billed):
    """Catches: results of one file taken for another, feet that are metres, a command that computes something."""
    (billed / "us.toml").write_text(PRICED.replace("seed = 4", 'seed = 4\nunits = "us"'))
    assert typed("run", "us.toml", *QUICK, "--max-crossings", "64").code == 0
    said = json.loads(typed("bill", "us.toml", "--results", "us-results/results.nc", "--json").out)
    assert said["simulated_by"] == "run" and said["weather_classes"] == ["clear night", "thick fog"]
    assert said["options"][0]["meets_m"] == 0.0 and said["options"][0]["cost_per_metre_that_meets"] is None
    text = flat(typed("bill", "us.toml", "--results", "us-results/results.nc").out)
    assert "12 m (39 ft) of fence: at least 161 EUR & <b> a metre (49.03 a foot)." in text
    assert "No metre meets the requirement in every weather class simulated (2: clear night, thick fog)" in text
    assert "no metre meets" in text and said["options"][1]["meets_m"] is None
    assert "mast, 4 m (13.1 ft)" in text and "mast, 5 m (16.4 ft)" in text
    (billed / "other.toml").write_text(PRICED.replace("aim_m = [6.0, 0.0]", "aim_m = [7.0, 0.0]"))
    ended = typed("bill", "other.toml", "--results", "us-results/results.nc", "-o", "bill.csv")
    assert (ended.code, ended.out) == (2, "") and "differs in camera" in ended.err
    assert not os.path.exists("bill.csv")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["priced.toml", "-o", "bill.txt"], "bill.txt: the bill's name ends in .csv; type for instance -o bill.csv"),
        (["priced.toml", "-o", "taken.csv"],
         "taken.csv exists already; type --force to replace it, or choose another name with -o"),
        (["priced.toml", "-o", "no/bill.csv"], "no/bill.csv cannot be written: no does not exist; make it first"),
        (["priced.toml", "--date", "soon"],
         'date "soon" is not allowed: a day as year-month-day; type for instance 2026-11-29'),
        (["priced.toml", "--results", "no.nc"], "no.nc does not exist: a results file that `fencecast run` wrote is wanted; "
         "type for instance yard-results/results.nc"),
        (["no.toml"], "no.toml: there is no such file (there is: priced.toml, tiny.toml)"),
    ],
)  # fmt: skip
def test_refusals_say_what_to_type_and_leave_nothing(billed, words, said):
    (billed / "taken.csv").write_text("mine")
    assert typed("bill", *words) == (2, "", f"Error: {said}\n")
    assert sorted(os.listdir(billed)) == ["priced.toml", "taken.csv", "tiny.toml"]
    assert (billed / "taken.csv").read_text() == "mine"


def test_force_replaces_the_file_whole(billed):
    (billed / "bill.csv").write_text("mine\n" * 1000)
    assert typed("bill", "priced.toml", "-o", "bill.csv", "--force").code == 0
    assert (billed / "bill.csv").read_text().startswith("option,kind,item") and "mine" not in (billed / "bill.csv").read_text()

"""Quantities and sums of a bill with arithmetic by hand, and what a missing price does to them."""

from __future__ import annotations

import copy
import datetime
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import fencecast as fc
from decide.bill.priced_yards import TOTAL, camera, priced, tables
from fencecast.decide.bill.lines import bill_of
from fencecast.findings.bill import bill_blocks, bill_object, csv_rows, total_sentence
from fencecast.findings.blocks import words_of
from fencecast.site import Site, load_site
from fencecast.spreadsheet import text_of


def lines_of(site) -> dict:
    return {line.name: (line.number, line.each) for line in bill_of(site).lines}


def test_every_line_and_the_total_by_hand():
    """Catches: a line left out or counted twice, a mast for each camera, cable that forgets the cameras, metres of no fence."""
    bill = bill_of(priced())
    assert [(line.kind, line.name, line.number, line.unit, line.each, line.total) for line in bill.lines] == [
        ("parts", "sensor core", 4, "", 1000.0, 4000.0),
        ("parts", "lens long", 2, "", 300.0, 600.0),
        ("parts", "lens wide", 2, "", 200.0, 400.0),
        ("parts", "switch A", 1, "", 250.0, 250.0),
        ("parts", "switch B", 1, "", 260.0, 260.0),
        ("parts", "cable", 100.0, "m", 1.85, 185.0),
        ("masts", "mast, 4 m", 1, "", 500.0, 500.0),
        ("masts", "mast, 6 m", 1, "", 700.0, 700.0),
        ("masts", "place on hut", 1, "", 80.0, 80.0),
        ("work", "fitting of a camera", 4, "", 150.0, 600.0),
        ("work", "foundation", 2.0, "", 320.0, 640.0),
        ("work", "trench", 20.0, "m", 30.0, 600.0),
        ("work", "walk test", 16.0, "h", 60.0, 960.0),
    ]
    assert bill.total == TOTAL == 9775 and bill.complete and bill.unpriced == ()
    assert (bill.sensors, bill.lenses, bill.masts, bill.cameras) == ({"core": 4}, {"long": 2, "wide": 2}, 2, 4)
    assert bill.per_fence_m == TOTAL / 20.0 and bill.meets_m is None and bill.per_meets_m is None
    assert [bill.of_kind(kind) for kind in ("parts", "masts", "work")] == [5695.0, 1280.0, 2800.0]


def test_a_mast_is_as_high_as_its_highest_camera_and_has_that_price():
    """Catches: the first camera's height, a step below the height, a mast above the last step for the last price."""
    for height_m, each in ((3.0, 500.0), (4.0, 500.0), (4.01, 700.0), (6.0, 700.0), (6.01, None)):
        site = priced(camera=[camera("C1", 0.0, 1.0, height_m=2.0), camera("C2", 1.9, 1.0, height_m=height_m)])
        assert lines_of(site)[f"mast, {height_m:g} m"] == (1, each)
    apart = priced(camera=[camera("C1", 0.0, 1.0), camera("C2", 2.1, 1.0)])
    assert lines_of(apart)["mast, 4 m"] == (2, 500.0)
    one = tables()["prices"] | {"masts": 640}
    assert lines_of(priced(prices=one))["mast, 6 m"] == (1, 640.0)


def test_where_a_camera_stands_decides_what_it_stands_on():
    """A priced [[mounting]] there, a mast with a name of its own, a building, something moveable; else a mast by its height.

    Catches: a mounting's price for a camera elsewhere or at another height, a mast twice, a stack of timber as a wall.
    """
    mounting = {"name": "gantry", "points_m": [[-2.0, 1.0], [2.0, 1.0]], "heights_m": [3.0, 5.0], "price": 900.0}
    here, there, high = camera("C1", 0.0, 1.05), camera("C2", 0.0, 1.2), camera("C1", 0.0, 1.0, height_m=5.5)
    assert lines_of(priced(camera=[here], mounting=[mounting]))["place at gantry, 4 m up"] == (1, 900.0)
    assert lines_of(priced(camera=[there], mounting=[mounting]))["mast, 4 m"] == (1, 500.0)
    assert lines_of(priced(camera=[high], mounting=[mounting]))["mast, 5.5 m"] == (1, 700.0)
    free = {key: value for key, value in mounting.items() if key != "price"}
    assert lines_of(priced(camera=[here], mounting=[free]))["mast, 4 m"] == (1, 500.0), "no price is no price of 0"

    named = [camera("C1", 0.0, 1.0, depends_on="west mast"), camera("C2", 1.0, 1.0, depends_on="west mast")]
    assert lines_of(priced(camera=named))["mast, 4 m"] == (1, 500.0) and "west mast" not in lines_of(priced(camera=named))
    own = tables()["prices"] | {"depends_on": {"west mast": 1250.0}}
    assert lines_of(priced(camera=named, prices=own))["west mast, 4 m"] == (1, 1250.0)
    spread = [*named, camera("C3", 30.0, 1.0, depends_on="west mast")]
    found = lines_of(priced(camera=spread, prices=own))
    assert found["west mast"] == (1, 1250.0) and found["mast, 4 m"] == (2, 500.0), "a name for two masts is neither"

    stack = tables()["obstacle"][0] | {"moveable": True}
    assert "place on hut" not in lines_of(priced(obstacle=[stack]))
    tall = lines_of(priced(camera=[camera("C4", 16.0, 3.9, height_m=6.1)]))
    assert "place on hut" not in tall and tall["mast, 6.1 m"] == (1, None), "higher than 1 m above the hut, and than any step"


def test_a_camera_s_own_price_counts_instead_of_its_parts():
    """Catches: the camera and its parts both, or the parts alone; two prices in one line."""
    cameras = [camera("C1", 0.0, 1.0, price=1400), camera("C2", 9.0, 1.0, price=1400), camera("C3", 22.0, 1.0, price=1200)]
    lines = [line for line in bill_of(priced(camera=[*cameras, camera("C5", 40.0, 1.0)])).lines if line.kind == "parts"]
    assert [(line.name, line.number, line.total) for line in lines[:4]] == [
        ("camera: sensor core, lens long", 1, 1200.0),
        ("camera: sensor core, lens long", 2, 2800.0),
        ("sensor core", 1, 1000.0),
        ("lens long", 1, 300.0),
    ]


# Where prices stand, as paths into the tables, and the lines that lose theirs with them.
PLACES = {
    ("prices", "masts"): {"mast, 4 m", "mast, 6 m"},
    ("prices", "on_building"): {"place on hut"},
    ("prices", "depends_on"): {"switch A", "switch B"},
    ("item", 0, "price"): {"cable"},
    ("item", 1, "price"): {"foundation"},
    ("item", 2, "price"): {"trench"},
    ("item", 3, "price"): {"walk test"},
    ("sensors", "core", "price"): {"sensor core"},
    ("lenses", "long", "price"): {"lens long"},
    ("lenses", "wide", "price"): {"lens wide"},
}


@settings(deadline=None, max_examples=60)
@given(st.sets(st.sampled_from(sorted(PLACES, key=str))))
def test_priced_and_unpriced_lines_are_all_lines_and_no_missing_price_is_a_zero(missing):
    """Any prices taken away: the same quantities, the named lines without a price, the total that of the rest.

    Catches: a None that became 0, a line that vanishes with its price, a total or a rate that still counts it.
    """
    full, table = tables(), tables()
    for path in missing:
        place = table
        for step in path[:-1]:
            place = place[step]
        del place[path[-1]]
    bill, before = bill_of(Site(**table)), bill_of(Site(**full))
    expected = set().union(*(PLACES[path] for path in missing))
    assert [(line.name, line.number) for line in bill.lines] == [(line.name, line.number) for line in before.lines]
    assert {line.name for line in bill.unpriced} == expected and all(line.total is None for line in bill.unpriced)
    rest = [line.number * line.each for line in before.lines if line.name not in expected]
    assert bill.total == pytest.approx(math.fsum(rest)) and bill.complete == (not expected)
    said = total_sentence(bill, "EUR")
    assert said.startswith("At least " if expected else "In all ") and all(name in said for name in expected)
    # What is missing in one is known in the other: nobody knows the difference.
    assert bill.less(before) == (None if expected else 0.0) and bill.less(bill) == 0.0


def test_a_name_with_an_apostrophe_before_a_formula_comes_back_from_the_csv():
    """Catches: a guard that leaves "'=1" as it is, which is what it makes of "=1"."""
    site = priced(item=[{"name": name, "price": 1.0} for name in ("=1", "'=1", "it's")])
    cells = [row[2] for row in csv_rows(fc.bill(site, date="2026-11-29")) if row[1] == "work"]
    assert cells[-3:] == ["'=1", "''=1", "it's"] and [text_of(cell) for cell in cells[-3:]] == ["=1", "'=1", "it's"]


def test_without_any_price_there_is_no_total():
    """Catches: a sum of nothing that reads as free."""
    table = tables(prices={"currency": "EUR"}, kit={}, item=[{"name": "walk test", "number": 16, "unit": "h"}])
    for part in (*table["sensors"].values(), *table["lenses"].values()):
        del part["price"]
    bill = bill_of(Site(**table))
    assert (bill.total, bill.per_fence_m, bill.complete) == (None, None, False)
    bills = fc.bill(Site(**table), date="2026-11-29")
    text = words_of(bill_blocks(bills))
    assert "Quantities alone: no line has a price." in text and "0 EUR" not in text and "fitting and aiming" in text
    assert bill_object(bills)["options"][0]["total"] is None


def test_a_site_without_a_camera_has_no_lines_of_cameras():
    """Catches: lines of nothing, such as fitting of 0 cameras; an item for the whole site that goes with the cameras."""
    mounting = {"name": "inside", "points_m": [[0.0, 1.0], [20.0, 1.0]], "heights_m": [4.0]}
    bills = fc.bill(priced(camera=[], mounting=[mounting]))
    assert [line.name for line in bills.bills[0].lines] == ["trench", "walk test"] and bills.bills[0].total == 600.0 + 960.0
    assert "No camera is in it yet" in words_of(bill_blocks(bills))


def test_variants_side_by_side_are_bills_of_their_own():
    """Each [[variant]] against the bill of a site file that was written by hand with its changes.

    Catches: a variant at the base's numbers, a lens that changes without its price, a price that the variant gives, ignored.
    """
    table = tables()
    table["camera"][0]["price"] = 1400.0
    table["variant"] = [
        {"name": "fewer", "without": ["C2", "C3"]},
        {"name": "other lens", "change": {"camera": {"C1": {"lens": "wide"}, "C3": {"height_m": 4.0}}}},
        {"name": "own price", "change": {"camera": {"C1": {"lens": "wide", "price": 1111.0}}}},
    ]
    bills = fc.bill(Site(**table)).bills
    assert [bill.name for bill in bills] == ["as in the file", "fewer", "other lens", "own price"]
    alone = [copy.deepcopy(table) | {"variant": []} for _ in range(3)]
    alone[0]["camera"] = [table["camera"][0], table["camera"][3]]
    alone[1]["camera"][0] |= {"lens": "wide", "price": 1300.0}  # 1400 - 300 + 200
    alone[1]["camera"][2]["height_m"] = 4.0
    alone[2]["camera"][0] |= {"lens": "wide", "price": 1111.0}
    for bill, other in zip(bills[1:], alone):
        expected = bill_of(Site(**other))
        assert (bill.lines, bill.total) == (expected.lines, expected.total)
        assert bill.less(bills[0]) == pytest.approx(expected.total - bills[0].total)
    assert bills[2].less(bills[0]) == -100.0 - 200.0, "a cheaper lens, and a mast of 4 m for one of 6 m"


def test_another_lens_without_a_price_leaves_the_camera_without_one():
    """Catches: a camera of 1400 that keeps its price with a lens of which nobody knows the price."""
    table = tables(variant=[{"name": "other", "change": {"camera": {"C1": {"lens": "wide"}}}}])
    for part in (*table["sensors"].values(), *table["lenses"].values()):
        del part["price"]
    for each in table["camera"]:
        each["price"] = 1400.0
    base, other = fc.bill(Site(**table)).bills
    assert base.complete and {line.name for line in other.unpriced} == {"sensor core", "lens wide"}
    assert other.less(base) is None


def test_prices_of_what_is_not_there_are_named():
    """Catches: a misspelt name that leaves the thing without a price and the price without a thing, in silence."""
    table = tables()
    table["prices"]["depends_on"] = {"swich A": 250.0, "switch B": 260.0}
    table["lenses"]["tele"] = {"focal_length_mm": 9.0, "f_number": 1.0, "price": 400.0}
    bills = fc.bill(Site(**table))
    assert bills.strays == (("swich A", "switch A"),) and bills.unused == ("lens tele",)
    assert {line.name for line in bills.bills[0].unpriced} == {"switch A"}
    text = words_of(bill_blocks(bills))
    assert '[prices] depends_on has a price for "swich A", and no camera depends on it; did you mean "switch A"?' in text
    table["variant"] = [{"name": "v", "change": {"camera": {"C1": {"depends_on": "swich A"}}}}]
    assert fc.bill(Site(**table)).strays == (), "a name that a variant has is there"


@pytest.mark.parametrize(
    ("day", "old", "said"),
    [
        ("2026-11-29", False, ""),
        (datetime.date(2027, 11, 1), False, ""),
        ("2027-11-02", True, "The prices are of 2026-11-01, 366 days old: more than a year."),
        ("2026-10-31", False, "The prices are dated 2026-11-01, which is still to come."),
    ],
)
def test_old_prices_are_named(day, old, said):
    site = priced(prices=tables()["prices"] | {"date": datetime.date(2026, 11, 1)})
    bills = fc.bill(site, date=day)
    assert bills.old is old and ((said in words_of(bill_blocks(bills))) if said else True)
    assert ("days old" in words_of(bill_blocks(bills))) is old
    with pytest.raises(fc.UsageError, match='^date "tomorrow" is not allowed: a day as year-month-day; type for'):
        fc.bill(site, date="tomorrow")


def test_the_priced_example_is_told_as_it_says():
    """Its first lines promise a switch, cable by the metre, and a walk test that is named. By hand: 3 sensors 3450, lenses 2 x
    340 + 210, switches 520, cable 90 m x 1.85 = 166.5, a mast 480, the shed 85, fitting 435, foundation 320, 6 h x 70 = 420.
    """
    site = load_site(fc.__file__.replace("__init__.py", "examples/priced-yard.toml"))
    bills = fc.bill(site, date="2026-11-29")
    base = bills.bills[0]
    assert base.total == 3450 + 890 + 520 + 166.5 + 480 + 85 + 435 + 320 + 420
    assert [line.name for line in base.unpriced] == ["walk test"] and bills.strays == () and bills.unused == ()

"""Bills with results: metres that meet counted anew, designs of a comparison and of a proposal, results of another site."""

from __future__ import annotations

import csv

import numpy as np
import pytest

import fencecast as fc
from decide.bill.priced_yards import TOTAL, camera, priced, tables
from fencecast.decide.bill.lines import bill_of
from fencecast.decide.bill.options import meets_m
from fencecast.decide.place.bill import bill_of as place_bill_of
from fencecast.decide.place.candidates import Candidate
from fencecast.decide.place.kit import kit_of
from fencecast.findings.bill import bill_blocks
from fencecast.findings.billwords import notes_of
from fencecast.findings.blocks import words_of
from fencecast.findings.frontwords import mast_sentence
from fencecast.site import Site, site_to_toml

QUICK = {"precision": 0.5, "max_crossings": 16}


@pytest.fixture(scope="module")
def run():
    """(site, results of a quick run); verdicts are replaced where a test says what they should be."""
    site = priced()
    return site, fc.run(site, **QUICK)


def with_words(results, rows):
    """The results with these verdicts, a row of words for each class; m, u, w, - for meets, undecided, weak, no data."""
    names = {"m": "meets", "u": "undecided", "w": "weak", "-": "no data"}
    words = np.array([[names[letter] for letter in row] for row in rows])
    return results.assign(verdict=(("weather", "segment"), words))


def test_metres_that_meet_do_so_in_every_class():
    """Catches: the worst class left out, undecided that meets, a segment without any data that meets."""
    words = np.array([["meets", "meets", "weak", "no data", "no data"], ["meets", "undecided", "meets", "no data", "meets"]])
    assert meets_m(words, np.array([2.0, 3.0, 5.0, 7.0, 11.0])) == 13.0


def test_cost_of_a_metre_that_meets(run):
    """Five segments of 4 m of which two meet in both classes; a class of 0 hours does not count.

    Catches: metres of one class, a rate over the whole fence, classes without hours that count.
    """
    site, results = run
    bills = fc.bill(site, with_words(results, ["mmmuw", "mmw-m"]))
    assert (bills.bills[0].meets_m, bills.bills[0].per_meets_m) == (8.0, TOTAL / 8.0)
    assert bills.simulated.classes == ("clear", "fog") and bills.simulated.by == "run" and not bills.simulated.other_prices
    said = "8 m of 20 m meet the requirement in every weather class simulated (2: clear, fog): 1,222 EUR a metre that meets."
    assert said in words_of(bill_blocks(bills))
    none = results.assign_coords(weather_hours=("weather", np.array([3000.0, 0.0])))
    assert fc.bill(site, with_words(none, ["mmmuw", "wwwww"])).bills[0].meets_m == 12.0


def test_no_metre_that_meets_is_said_in_words(run):
    """Catches: a division by zero metres, an infinite rate."""
    site, results = run
    bills = fc.bill(site, with_words(results, ["mmmmm", "wwwww"]))
    assert (bills.bills[0].meets_m, bills.bills[0].per_meets_m) == (0.0, None)
    assert "No metre meets the requirement in every weather class simulated" in words_of(bill_blocks(bills))


def test_prices_may_be_typed_after_the_simulation_and_nothing_else(run):
    """Catches: a simulation that is thrown away for a price; results of a design that has moved a camera since."""
    site, results = run
    table = tables(title="Other title", prices={"masts": 1.0}, variant=[{"name": "v", "without": ["C2"]}])
    table["sensors"]["core"]["price"] = 2000.0
    later = fc.bill(Site(**table), results)
    assert later.simulated.other_prices and later.bills[0].meets_m is not None and later.bills[1].meets_m is None
    assert "The site file has changed since it was simulated" in words_of(bill_blocks(later))
    table["camera"][0]["bearing_deg"] = 91.0
    with pytest.raises(fc.UsageError, match='of another site, "Priced yard"; beside prices it differs in camera, rule|in camera'):
        fc.bill(Site(**table), results)
    with pytest.raises(fc.UsageError, match="differs in camera"):
        fc.bill(site, fc.run(fc.without_cameras(site, ["C3"]), **QUICK))
    with pytest.raises(fc.UsageError, match="is not what a run gives"):
        fc.bill(site, 3)


def test_designs_of_a_comparison_are_bills_of_separate_files():
    """Variants of the file, and a file beside it: lines as from each by itself, metres as the comparison's standings have them.

    Catches: metres of the base for all, a variant at prices of the day of the simulation, another file at this one's prices.
    """
    table = tables(
        variant=[{"name": "fewer", "without": ["C2"]}, {"name": "high", "change": {"camera": {"C1": {"height_m": 5.0}}}}]
    )
    site = Site(**table)
    results = fc.compare(site, **QUICK)
    standing = results["standing"].values.copy()
    for k in range(3):  # k + 1 segments that meet in both classes, which no quick run would tell
        standing[k, :, : k + 1], standing[k, 0, k + 1 :] = "meets", "weak"
    results["standing"] = (results["standing"].dims, standing)
    bills = fc.bill(site, results)
    assert [bill.name for bill in bills.bills] == ["base", "fewer", "high"] and bills.own_prices == ()
    assert [bill.meets_m for bill in bills.bills] == [4.0, 8.0, 12.0]
    table["sensors"]["core"]["price"] = 1.0
    cheap = fc.bill(Site(**table), results)
    alone = [tables(camera=[each for each in table["camera"] if each["mark"] != "C2"]), tables()]
    alone[1]["camera"][0]["height_m"] = 5.0
    for bill, other in zip(cheap.bills[1:], alone):
        other["sensors"]["core"]["price"] = 1.0
        assert bill.lines == bill_of(Site(**other)).lines

    other = priced(title="Other", camera=[camera("C1", -2.0, 1.0)], prices={"currency": "EUR", "masts": 9.0})
    files = fc.bill(site.replace(variant=()), fc.compare([site.replace(variant=()), other], **QUICK))
    assert files.own_prices == ("Other",) and files.bills[1].lines == bill_of(other).lines
    dollars = other.replace(prices={"currency": "USD"})
    with pytest.raises(fc.UsageError, match="the prices of Other are in USD and those of this site in EUR"):
        fc.bill(site.replace(variant=()), fc.compare([site.replace(variant=()), dollars], **QUICK))
    with pytest.raises(fc.UsageError, match="differs in site"):
        fc.bill(site.replace(site={"ground": "snow", "segment_length_m": 4.0}), results)


def test_lenses_of_a_comparison_are_this_site_s_with_other_lenses():
    """Neither design is the file itself, whose hash is in no results. Catches: both refused, both at one lens's price."""
    site = priced()
    bills = fc.bill(site, fc.compare(site, lenses=["wide", "long"], **QUICK))
    assert [bill.name for bill in bills.bills] == ["wide", "long"] and not bills.simulated.other_prices
    assert [bill.lenses for bill in bills.bills] == [{"wide": 4}, {"long": 4}]
    assert bills.bills[1].less(bills.bills[0]) == 400.0


@pytest.fixture
def front(tmp_path):
    """A folder as place writes it: the site, C1 turned, C1 turned and a camera more 20 m away at a price of its own."""
    site = priced(kit={"camera_price": 150.0, "reaim_price": 90.0})
    turned = [each | ({"bearing_deg": 80.0} if each["mark"] == "C1" else {}) for each in tables()["camera"]]
    rows = [(site, 4.0), (site.replace(camera=turned), 8.0)]
    rows.append((site.replace(camera=[*turned, camera("P1", 40.0, 1.0, price=9999.0)], title="x (proposal)"), 20.0))
    names = ["front-1.toml", "front-2.toml", "proposal.toml"]
    with (tmp_path / "front.csv").open("w", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["cost", "meets_m", "site_file"])
        for name, (made, metres) in zip(names, rows):
            writer.writerow([0.0, metres, name])
            (tmp_path / name).write_text(site_to_toml(made))
    return site, tmp_path


def test_rows_of_a_front_are_told_at_the_site_s_prices(front):
    """By hand: turning 90; a camera more: 1000 + 300, 25 m of cable 46.25, a mast 500, fitting 150, a foundation 320.

    Catches: a turned camera for nothing, a new camera at a price that holds its mast and fitting as well.
    """
    site, folder = front
    bills = fc.bill(site, folder)
    assert [bill.name for bill in bills.bills] == ["front-1.toml", "front-2.toml", "proposal.toml"]
    assert [bill.less(bills.bills[0]) for bill in bills.bills] == [0.0, 90.0, 90.0 + 1300.0 + 46.25 + 500.0 + 150.0 + 320.0]
    assert [bill.meets_m for bill in bills.bills] == [4.0, 8.0, 20.0]
    no_price = fc.bill(site.replace(kit={"camera_price": 150.0}), folder).bills
    assert no_price[1].less(no_price[0]) is None and [line.name for line in no_price[1].unpriced] == [
        "turning of a camera that is there"
    ]


def test_a_mast_is_charged_once_here_and_for_every_camera_by_place_and_both_say_so(front):
    """Two new cameras at one place of 400: 400 in the bill, 800 in the proposal. Catches: a difference that nobody explains."""
    site, folder = front
    post = {"name": "post", "points_m": [[60.0, 1.0]], "heights_m": [4.0], "price": 400.0}
    two = [camera(mark, 60.0, y) for mark, y in (("P1", 1.0), ("P2", 1.05))]
    made = priced(mounting=[post], camera=[*tables()["camera"], *two])
    with_post = priced(mounting=[post])
    assert bill_of(made).of_kind("masts") - bill_of(with_post).of_kind("masts") == 400.0
    new = [Candidate(each, 1300.0 + 150.0 + 400.0, "new") for each in made.camera[-2:]]
    items = place_bill_of(with_post, kit_of(with_post), new)
    assert sum(item.total for item in items if item.kind == "masts") == 800.0
    assert "charged for every new camera there. fencecast bill charges a mast once" in mast_sentence(items)
    assert mast_sentence([item for item in items if item.kind != "masts"]) == ""
    said = " ".join(note.text for note in notes_of(fc.bill(site, folder)))
    assert "A mast is charged once here; `place` charges the price of a [[mounting]] for every new camera there" in said
    assert "A mast is charged once here" not in " ".join(note.text for note in notes_of(fc.bill(site)))


def test_a_front_of_another_site_or_none_is_refused(front, tmp_path):
    site, folder = front
    with pytest.raises(fc.UsageError, match="differs in perimeter"):
        fc.bill(site.replace(perimeter=[{"name": "south", "points_m": [[0, 0], [24, 0]], "inside": "left"}]), folder)
    (folder / "front.csv").write_text("site_file,meets_m\n../evil.toml,3\n")
    with pytest.raises(fc.UsageError, match="names ../evil.toml, which is no file of that folder"):
        fc.bill(site, folder)
    (folder / "front.csv").write_text("site_file,meets_m\n")
    with pytest.raises(fc.UsageError, match="has no rows"):
        fc.bill(site, folder)
    (folder / "front.csv").unlink()
    with pytest.raises(fc.UsageError, match="holds no front that fencecast place wrote"):
        fc.bill(site, folder)

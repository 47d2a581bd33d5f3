"""More of the full edition against the Dataset, read by the names of its variables: plain words, losses, register, bill."""

import math
import re
import tomllib
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

import fencecast as fc
from fencecast.estimate.results import Results
from fencecast.findings.words import pd_text
from fencecast.report.cells import cells_of, metre_lines
from fencecast.report.full import full_facts
from fencecast.report.options import ReportOptions
from fencecast.report.sections.change import change_of
from fencecast.report.sections.section import Source
from report.full_sites import facts_of, results_of, section_of
from show import invented_results

PRICED = files("fencecast") / "examples" / "priced-yard.toml"


def lengths_of(results):
    return (results["segment_end_m"] - results["segment_start_m"]).values


def whole(metres: float) -> str:
    return f"{math.floor(metres + 0.5):,} m"


@pytest.mark.parametrize("name", ("yard", "requirement_0.99", "one_class", "mended"))
def test_plain_words_count_the_metres_of_the_verdicts(name):
    """Catches: metres of one class, of the year, or of the whole fence where a part has no data."""
    results = results_of(name)
    verdict, lengths = results["verdict"].values[results["weather_hours"].values > 0], lengths_of(results)
    meets, total = lengths[(verdict == "meets").all(axis=0)].sum(), lengths[(verdict != "no data").any(axis=0)].sum()
    said = re.search(r"([\d,]+ m) of ([\d,]+ m) meets? the requirement", " ".join(facts_of(name).plain.lines))
    if meets < 0.5:
        assert "No metre meets the requirement" in " ".join(facts_of(name).plain.lines)
    else:
        assert said.groups() == (whole(meets), whole(total))


def test_the_table_of_places_has_the_share_of_its_lowest_metre():
    """Catches: the share of the whole place, which the cards have, in the table, or the other way round without a word."""
    results, seen = results_of("yard"), 0
    order = [str(each) for each in results["weather"].values]
    shares = results["miss_share"].transpose("cause", "weather", "segment").values
    for place, row in zip(Results(results).weak_places, section_of("yard", "why").facts.places):
        if not row.cause_share:
            continue
        cell = shares[:, order.index(row.weather), place.segment]
        share = cell[list(map(str, results["cause"].values)).index(row.cause)] / cell.sum()
        seen += 1
        said = "nearly all" if share >= 0.995 else f"{100 * share:.0f} %"
        assert row.cause_share == f"{said} at its lowest metre"
    assert seen and all("of the whole place" in card.causes for card in section_of("yard", "why").facts.cards if card.bar)


def test_a_camera_of_no_use_is_the_same_in_box_and_card():
    """Catches: 0.0497, which prints as 0.05, of use in the box and of none on the card."""
    results = invented_results.yard(fresh=True)
    place = Results(results).weak_places[0]
    results["pd_camera"].loc[{"segment": results["segment"].values[place.segment]}] = 0.0497
    found = Results(results)
    row = next(k for k, c in enumerate(found.worst_first) if c.index == place.weather_index)
    assert "No camera alone is of use here." in metre_lines(cells_of(found), row, place.segment)
    card = next(s for s in full_facts(Source(found, ReportOptions())).sections if s.key == "why").facts.cards[0]
    assert card.best == "no camera alone reaches a Pd of 0.05"
    results["pd_camera"].loc[{"segment": results["segment"].values[place.segment]}] = 0.0503
    assert any(line.startswith("Best camera here:") for line in metre_lines(cells_of(Results(results)), row, place.segment))


def test_losses_are_told_as_they_are_kept(demo_results):
    """Catches: a loss in another's row, seven times the same lowest Pd, a lowest Pd that is left out where it differs."""
    results = demo_results.copy(deep=True)

    def table_of(kept):
        blocks = change_of(Source(Results(kept), ReportOptions())).facts.parts[-1].blocks
        return next(block for block in blocks if hasattr(block, "columns")), " ".join(getattr(b, "text", "") for b in blocks)

    table, said = table_of(results)
    names = [name for name, _ in table.columns]
    moved = {str(name): float(results["loss_year_change"].values[k]) for k, name in enumerate(results["loss"].values)}
    assert {row[0] for row in table.rows} == set(moved)
    for row in table.rows:
        change = row[names.index("mean Pd moves")]
        assert change.startswith((f"{moved[row[0]]:+.3f}".replace("-", "−"), "less than 0.001"))
    lowest = Results(results).weak_places[0].pd
    for pd, told in ((lowest, False), (lowest + 0.3, True)):
        for end in ("", "_low", "_high"):
            fresh = demo_results[f"pd_loss_fresh{end}"]
            results[f"pd_loss_fresh{end}"] = fresh.where(np.isnan(fresh), pd)
        table, said = table_of(results)
        assert ("weakest place" in [name for name, _ in table.columns]) is told
        assert (f"With each of these losses the weakest metre has Pd {pd_text(lowest)}, as " in said) is not told


def test_register_and_provenance_hold_what_the_results_hold():
    """Catches: hours of one class, a seed or a day of another run."""
    results = results_of("yard")
    facts = section_of("yard", "register").facts
    rows = {row.what: row.value for row in (*facts.owner, *facts.others)}
    assert rows["Hours that count"].startswith(f"{results['weather_hours'].values.sum():,.0f} a year")
    assert rows["Length of fence"].startswith(whole(lengths_of(results).sum()))
    printed = " ".join(str(row) for row in section_of("yard", "provenance").facts.rows)
    assert str(results.attrs["created"]) in printed and str(results.attrs["seed"]) in printed


@pytest.fixture(scope="module")
def priced():
    return fc.run(str(PRICED), precision=0.2, max_crossings=64)


def test_the_bill_is_that_of_the_site_file(priced):
    """Catches: prices of another design, a sum without what has no price, a metre that meets in one class alone."""
    site = tomllib.loads(Path(str(PRICED)).read_text(encoding="utf-8"))
    sections = {s.key: s for s in full_facts(Source(Results(priced), ReportOptions())).sections}
    assert list(sections).index("cost") == list(sections).index("why") + 1 + ("change" in sections)
    found = sections["cost"]
    table = next(block for block in found.facts.blocks if hasattr(block, "columns"))
    texts = [[cell if isinstance(cell, str) else cell.text for cell in row] for row in table.rows]
    money = [(row[2], *(re.sub(r"[^\d.]", "", cell) for cell in row[3:])) for row in texts[:-1] if row[4] != "no price"]
    total = sum(float(each) for *_, each in money)
    for number, each, of_all in money:
        assert float(number.split(" ")[0].replace(",", "")) * float(each) == pytest.approx(float(of_all), abs=0.01)
    pairs = [(site["sensors"][c["sensor"]]["price"], site["lenses"][c["lens"]]["price"]) for c in site["camera"]]
    assert sum(float(row[4].replace(",", "")) for row in texts if row[1].startswith(("sensor ", "lens "))) == sum(map(sum, pairs))
    assert f"{total:,.2f}" in found.finding and found.finding.startswith("At least ") and "walk test" in found.finding
    meets = lengths_of(priced)[(priced["verdict"].values == "meets").all(axis=0)].sum()
    said = " ".join(getattr(block, "text", "") for block in found.facts.blocks)
    if meets >= 0.5:
        assert f"{total / meets:,.0f} crowns a metre" in said and f"{whole(meets)} of " in said
    else:
        assert "No metre meets the requirement" in said
    assert "cost" not in [s.key for s in facts_of("yard").sections]


def test_the_bill_of_a_comparison_has_what_its_designs_reach(priced):
    """Catches: designs that were simulated, called not simulated beside their own comparison."""
    compared = fc.compare(str(PRICED), precision=0.2, max_crossings=64)
    source = Source(Results(priced), ReportOptions(), Results(compared))
    found = next(s for s in full_facts(source).sections if s.key == "cost")
    table = next(b for b in found.facts.blocks if hasattr(b, "columns") and [n for n, _ in b.columns][-1] == "per m that meets")
    above = (compared["pd_low"] >= float(compared.attrs["requirement_pd"])).all("weather")
    meets = above.transpose("variant", "segment").values @ lengths_of(compared)
    shown = [[cell if isinstance(cell, str) else cell.text for cell in row][-2] for row in table.rows]
    assert shown == [f"{math.floor(each + 0.5):,}" for each in meets] and len(shown) == 3


def test_the_bill_has_no_place_in_the_client_edition(priced):
    """Catches: what was paid, in the edition that is passed on."""
    assert "What it costs" in fc.report(priced) and "What it costs" not in fc.report(priced, "client")

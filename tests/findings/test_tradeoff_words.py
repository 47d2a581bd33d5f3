"""What is said of a trade-off: sentences, tables and JSON from invented numbers, and how little is said without stimuli."""

import json

import pytest

import fencecast as fc
from fencecast.cli.output import plain
from fencecast.estimate.results import Results
from fencecast.findings.blocks import words_of
from fencecast.findings.tradefacts import setting_words, trade_of
from fencecast.findings.tradeoff import tradeoff_blocks, tradeoff_object
from fencecast.findings.tradewords import NOT_ASKED, trade_sentences, trade_titles
from show.invented_tradeoffs import ROWS, invented
from show.wording import wrong_words

BASE = ROWS[0]


def flat(text: str) -> str:
    return " ".join(text.split())


def said(rows=ROWS, **options) -> list[str]:
    return trade_sentences(trade_of(Results.of(invented(rows, **options))))


def test_one_setting_that_helps_and_one_that_only_seems_to():
    """Catches: the largest saving named although it costs metres, a comparison with a setting of another size."""
    found = said()
    assert found[0] == (
        "As it is, 122 m of 163 m are at 0.90 in every weather class (114 to 127 m), with 5.1 (3.0 to 10) nuisance alarms a "
        "night; 19 nights in 20 have 15 or fewer."
    )
    assert found[1] == (
        "Confirm 5 of 8 takes 36 % of the alarms away and costs no metre; least size 0.45 takes 35 % and costs 16 m."
    )
    titles = trade_titles(trade_of(Results.of(invented())))
    assert titles == [found[1].rstrip("."), "Confirm 5 of 8 takes 36 % of the alarms away and costs no metre"]


def test_dominated_settings_are_named_with_what_is_better_and_what_they_do_raise():
    """Catches: a setting called useless that lifts the weakest tenth, the wrong one named as better."""
    found = said()
    assert (
        "Threshold 3.5, N50 1.5 and confirm 2 of 3 are dominated: the site as it is has fewer alarms and as many metres, though "
        "with N50 1.5 the weakest tenth of the metres has Pd 0.49, not 0.41." in found
    )
    assert "Lines 3 m inward is dominated: the site as it is has more metres and as few alarms." in found
    assert "Threshold 8, N50 3 and least size 0.45 are dominated: confirm 5 of 8 has more metres and fewer alarms." in found


def test_metres_that_no_setting_reaches():
    assert said()[-1] == (
        "20 m reach 0.90 in every class under none of these settings; 3 m of them are too seldom in view: no setting changes "
        "them."
    )
    alone = "3 m reach 0.90 in every class under none of these settings: they are too seldom in view, so no setting changes them."
    assert said(unreached_m=3)[-1] == alone
    assert said(hidden_m=0)[-1] == "20 m reach 0.90 in every class under none of these settings."
    assert not any("under none" in text for text in said(unreached_m=0, hidden_m=0))


def test_no_setting_is_called_costless_that_costs():
    """Catches: 'costs no metre' by rounding, a saving within its error, no sentence where nothing helps."""
    costly = (BASE, ("threshold", "8", 121.0, 4.0, 0.4), ("confirm", "5/8", 110.0, 3.0, 0.4))
    assert said(costly, error_m=0.1)[1] == (
        "No setting that was tried takes alarms away without costing metres; the cheapest is threshold 8: it takes 21 % of the "
        "alarms away and costs 1 m."
    )
    nothing = (BASE, ("threshold", "6", 122.0, 5.0, 0.4))
    assert said(nothing)[1] == "No setting that was tried takes alarms away beyond what is uncertain."
    single = (BASE, ("confirm", "5/8", 122.0, 3.2, 0.4))
    assert said(single)[1] == "Confirm 5 of 8 takes 37 % of the alarms away and costs no metre."


def test_next_to_no_alarms_have_no_percentages():
    """Sensor noise alone differs by factors of 1e20 between settings. Catches: a setting praised or dominated for that."""
    rows = (("as it is", "", 122.0, 1e-30, 0.4), ("confirm", "2/3", 122.0, 1e-15, 0.4), ("threshold", "8", 122.0, 1e-60, 0.4))
    found = said(rows)
    assert found[1] == "There are next to no nuisance alarms that a setting could take away." and len(found) == 3
    text = words_of(tradeoff_blocks(Results.of(invented(rows)), ["x/tradeoff.nc"], []))
    assert "confirm 2 of 3  122  0 ±2  0.40  <0.01  0 %  0" in text
    rows = (("as it is", "", 122.0, 1e-30, 0.4), ("confirm", "2/3", 122.0, 1.0, 0.4))
    text = words_of(tradeoff_blocks(Results.of(invented(rows)), ["x/tradeoff.nc"], []))
    assert "confirm 2 of 3  122  0 ±2  0.40  1.0    3  dominated" in text


def test_what_brings_metres_says_what_it_costs():
    rows = (BASE, ("N50", "1.5", 131.0, 6.2, 0.5))
    assert "N50 1.5 brings most metres, 9 m, for 22 % more alarms." in said(rows)
    assert "N50 1.5 brings most metres, 9 m; what it costs in alarms is not known." in said(rows, asked=False)


def test_the_ceiling_is_met_by_the_upper_end():
    """Catches: a mean below the ceiling taken for met. Upper ends are twice the means here."""
    assert said(ceiling=4.0)[-1].endswith("by the upper end of the interval, under none of these settings.")
    assert said(ceiling=5.0)[-1].endswith("under least size 0.6.")
    assert said(ceiling=50.0)[-1] == (
        "The ceiling of 50 alarms a night is met, by the upper end of the interval, under all of these settings."
    )


def test_without_stimuli_no_setting_is_free_of_cost():
    """Catches: a low threshold praised because only sensor noise was counted."""
    results = Results.of(invented(asked=False))
    blocks = words_of(tradeoff_blocks(results, ["x/tradeoff.nc"], []))
    assert NOT_ASKED in blocks and "dominated:" not in blocks and "takes" not in blocks and "nan" not in blocks
    assert "alarms\na night" not in blocks and "sensor noise alone" in blocks
    made = json.loads(json.dumps(plain(tradeoff_object(results, []))))
    assert made["nuisance_asked"] is False and made["helps"] is None
    assert all(row["nuisance"] is None and row["dominated"] is False for row in made["settings"])


def test_the_report_holds_every_setting_and_the_object_the_same_numbers():
    results = Results.of(invented(ceiling=4.0))
    blocks = tradeoff_blocks(results, ["x/tradeoff.nc", "x/tradeoff.png"], [])
    text = words_of(blocks)
    assert wrong_words([text]) == []
    watch = "2 m, or 2 % of the fence that rules watch"
    assert f"the error leaves open no loss of 3.3 m ({watch}) and no 5 % more alarms." in flat(text)
    for words in ("threshold 3.5", "confirm 5 of 8", "least size 0.6", "lines 3 m inward"):
        assert text.count(f"\n{words}  ") == 2, words
    assert "confirm 5 of 8  122  0 ±2  0.42  3.2  −36 % (−36 to −36)  10  " in text
    assert "threshold 8  50  −72 ±2  0.26  4.1  −19 % (−19 to −19)  12  dominated" in text
    made = plain(tradeoff_object(results, []))
    row = next(each for each in made["settings"] if each["setting"] == "confirm 5 of 8")
    assert row["family"] == "confirm" and row["value"] == "5/8" and row["meets_m"] == 122.0 and row["dominated_by"] is None
    assert row["nuisance"]["per_night"] == 3.23 and row["nuisance"]["change"] == pytest.approx(-0.3629, abs=1e-4)
    assert [each["name"] for each in row["classes"]] == ["clear night", "thick fog"]
    assert made["sentences"][1].startswith("Confirm 5 of 8") and made["unreached_m"] == 20.0 and made["nuisance_ceiling"] == 4.0


def test_a_notebook_shows_the_trade():
    """Catches: results of a trade-off that end in an error of a run's table."""
    shown = repr(fc.Results(invented()))
    assert "Confirm 5 of 8 takes 36 %" in shown and "least size 0.6" in shown and "Planning aid" in shown


def test_numbers_in_words():
    assert setting_words("offset", "-1") == "lines 1 m outward" and setting_words("dwell", "2") == "dwell 2 s"
    assert setting_words("offset", "1", "3", "-2") == "lines 1 and 3 m inward and lines 2 m outward"
    assert setting_words("confirm", "2/3", "5/8") == "confirm 2 of 3 and 5 of 8"

"""What is said of nuisance alarms, and that every number of noise alone says so where they were not asked for."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from fencecast.cautions import NOT_MODELLED, not_modelled
from fencecast.cli.layout import rendered
from fencecast.estimate.exposure import UNSEEN
from fencecast.estimate.results import Results
from fencecast.findings import nuisancetables, nuisancewords
from fencecast.findings.blocks import Heading, Table, words_of
from fencecast.findings.nuisance import Cause, Ceiling, Logged, Nuisance, ceilings_met, nuisance_object, nuisance_of
from fencecast.findings.run import noise_sentence, run_blocks
from fencecast.findings.runfacts import run_object
from fencecast.findings.sheetwords import sheet_notes
from show import invented_nuisance, invented_results
from show.wording import wrong_words


def cause(name: str, per_night: float, of: float = 5.08, kind: str = "", family: str = "burst") -> Cause:
    return Cause(name, kind or name, family, per_night, per_night / of, (per_night,), math.nan, math.nan)


# A yard whose numbers were computed beforehand by other means: 5.08 a night (3.13 to 10.69), one in twenty 15.
YARD = Nuisance(
    per_night=5.08, low=3.13, high=10.69, bad_night=15, bad_low=9, bad_high=32, none_share=0.09,
    causes=(cause("insect", 2.25), cause("cat", 1.50), cause("web", 0.59), cause("sensor noise", 1e-9, family="noise")),
    classes=(), cameras=(), ceilings=(), logs=(), met="", attempts_per_year=2.0, true_share=1.0 / 1033.0, wait_s=12.4,
    other_alarms_per_h=0.0, service_s=120.0, armed_h_per_night=12.0, uncertainty=3.0, zones=4,
    recorded=False, notes=(),
)  # fmt: skip


def test_the_headline_says_how_many_how_sure_how_bad_and_of_what():
    """Catches: a headline that leaves out the interval, the bad night or the causes; the kind's key in place of its words."""
    assert nuisancewords.headline(YARD) == (
        "Nuisance alarms: 5.1 a night (3.1 to 11); 19 nights in 20 have 15 (9 to 32) or fewer; most from insects near the lens "
        "(44 %) and cats (30 %)."
    )
    assert nuisancewords.bad_night_words(15) == "19 nights in 20 have 15 or fewer"


def test_true_alarms_are_as_unsure_as_the_others():
    """By hand: odds 1 to 1,032, times 5.08 / 3.13 and 5.08 / 10.69. Catches: odds that go with the alarms instead of against."""
    assert nuisancewords.true_words(YARD) == (
        "If somebody tries twice a year, as the site file assumes, about 1 alarm in 1,000 is an intruder (1 in 640 to 1 "
        "in 2,200)."
    )
    often = replace(YARD, attempts_per_year=1.0, true_share=0.42)
    assert nuisancewords.true_words(often).endswith("once a year, as the site file assumes, about 42 % of alarms are an intruder "
                                                    "(26 % to 54 %).")  # fmt: skip
    silent = replace(YARD, per_night=0.0, low=0.0, high=0.0, true_share=1.0)
    assert nuisancewords.true_words(silent).endswith("every alarm is an intruder.")
    assert "Nobody tries" in nuisancewords.true_words(replace(YARD, attempts_per_year=0.0, true_share=0.0))
    said = {a: nuisancewords.times_a_year(a) for a in (0.5, 1.0, 2.0, 12.0)}
    assert said == {0.5: "once in 2 years", 1.0: "once a year", 2.0: "twice a year", 12.0: "12 times a year"}


def test_the_year_is_told_before_anybody_looks():
    """By hand: 365.25 nights. Catches: alarms taken for call-outs, a count of none."""
    assert nuisancewords.year_words(YARD).startswith("About 1,900 a year (1,100 to 3,900), counted before anybody looks")
    for none in (0.0, math.nan):
        assert nuisancewords.year_words(replace(YARD, per_night=none, low=none, high=none)) == ""


def test_what_was_logged_is_not_called_judgement():
    """Catches: a log that is not mentioned, a user's name of a cause where names may not stand, a log for all seasons."""
    log = Logged("cat", 14.0, 20, 2.0, (1.4, 0.3, 3.0), (1.5, 0.9, 2.2))
    one, every = (replace(YARD, logs=logs) for logs in ((log,), tuple(replace(log, cause=c.name) for c in YARD.causes[:3])))
    assert "judgement until a log of alarms on site corrects them." in nuisancewords.basis_words(YARD)
    assert nuisancewords.basis_words(one).endswith(
        "Its rates are judgement, except cats, which were logged for 14 nights; a log speaks for the season it was kept in."
    )
    assert "except one cause, which was logged;" in nuisancewords.basis_words(one, names=False)
    assert "cats" not in nuisancewords.basis_words(one, names=False)
    assert "judgement" not in nuisancewords.basis_words(every) and "judgement" not in nuisancewords.short_words(every)
    assert nuisancewords.short_words(one).endswith("the rates are judgement but for cats, which were logged.")
    assert [cause.name for cause in one.unlogged] == ["insect", "web"] and every.unlogged == ()


@pytest.mark.parametrize(
    ("share", "said"),
    [(0.17, "about one night in six has no alarm"), (0.09, "about one night in 11 has no alarm"),
     (0.7, "70 % of nights have no alarm"),
     (0.4, "40 % of nights have no alarm"), (0.01, "1 % of nights have no alarm"), (0.0, "no night is without an alarm"),
     (0.51, "about one night in two has no alarm"), (math.nan, "")],
)  # fmt: skip
def test_quiet_nights_are_a_count_where_it_reads_well(share, said):
    assert nuisancewords.none_words(share) == said


def test_what_nobody_gave_is_not_invented():
    """Catches: a share of true alarms without attempts, an operator who keeps up with any number."""
    silent = replace(YARD, attempts_per_year=math.nan, true_share=math.nan, wait_s=math.nan, bad_night=0, other_alarms_per_h=27.0)
    assert "give attempts_per_year under [nuisance]" in nuisancewords.true_words(silent)
    assert "faster than one person can look at them" in nuisancewords.operator_words(silent)
    assert "with 27 other alarms an hour from elsewhere and 120 s" in nuisancewords.operator_words(silent)
    assert "19 nights in 20 have none" in nuisancewords.headline(silent)


@pytest.mark.parametrize(
    ("per_night", "said"),
    [(0.0, "0"), (1e-9, "<0.01"), (0.0049, "<0.01"), (0.005, "0.01"), (0.364, "0.36"), (0.996, "1.0"), (5.08, "5.1"),
     (9.96, "10"), (10.69, "11"), (1053.2, "1,053"), (math.nan, "no data")],
)  # fmt: skip
def test_rates_have_two_digits(per_night, said):
    """Catches: `0.00` for what is there, `10.0` beside `11`."""
    assert nuisancewords.rate_words(per_night) == said


def test_one_cause_that_makes_nearly_all_is_said_alone():
    found = replace(YARD, causes=(cause("fox", 9.6, 10.0), cause("cat", 0.4, 10.0)))
    assert nuisancewords.causes_words(found) == "nearly all from foxes (96 %)"
    mine = replace(YARD, causes=(cause("cats of the farm", 9.0, 10.0, kind="cat"), cause("dog", 1.0, 10.0)))
    assert "cats of the farm (90 %)" in nuisancewords.causes_words(mine)
    assert nuisancewords.causes_words(replace(YARD, causes=(cause("cat", 0.0),))) == ""


@pytest.mark.parametrize(("value", "verdict"), [(11.0, "met"), (5.2, "undecided"), (4.0, "undecided"), (3.0, "not met")])
def test_a_ceiling_is_met_only_by_the_upper_end(value, verdict):
    """Catches: a ceiling above the mean called met; one below the mean called not met though the lower end is under it."""
    results = invented_nuisance.asked(ceiling=value, bad_ceiling=9.0)
    results.attrs |= {"nuisance_bad_night_low": 9, "nuisance_bad_night_high": 32}
    results["nuisance_year"], results["nuisance_year_low"], results["nuisance_year_high"] = 5.08, 3.13, 10.69
    found = nuisance_of(Results(results))
    assert found.ceilings == (Ceiling("mean", value, verdict, 3.13, 10.69), Ceiling("bad night", 9.0, "undecided", 9, 32))
    text = words_of(nuisancetables.head_lines(Results(results)))
    assert f"The ceiling of {value:g} a night on average is {verdict}" in text
    assert "The ceiling of 9 a night on 19 nights in 20 is undecided: 9 to 32 lies across it." in text
    assert text.count("A log of alarms on site narrows this; more crossings hardly do.") == 1
    known = replace(found, ceilings=found.ceilings[:1])
    assert len(nuisancewords.ceilings_words(known)) == (2 if verdict == "undecided" else 1)
    assert ceilings_met({}) and ceilings_met({"nuisance_met": "met"}) and not ceilings_met({"nuisance_met": "undecided"})


def test_what_others_allow_stands_beside_and_is_never_a_ceiling():
    """By hand: 4 zones, 4/7 = 0.571 and 4/30 = 0.133 a night. Catches: the guide's number taken for the site's own."""
    rows = {name: (most, here) for name, most, here in nuisancetables.allowed_rows(YARD)}
    assert rows["nuisance, first 90 days"] == (pytest.approx(0.5714, abs=1e-4), 5.08)
    assert rows["nuisance, after 90 days"] == (pytest.approx(0.1333, abs=1e-4), 5.08)
    assert rows["false (sensor noise)"] == (pytest.approx(0.1333, abs=1e-4), 1e-9)
    text = words_of(nuisancetables.ceiling_blocks(YARD))
    assert (
        "about 8.9 times (5.5 to 20)" in text
        and "about 40 times (20 to 80)" in text
        and "within" in text
        and "No ceiling is set" in text
        and "not met" not in text
    )


def test_tables_are_the_results_by_name_and_fit_the_console():
    """Catches: a class under its neighbour's name, a cause in another's row, a table wider than a console."""
    results = Results(invented_nuisance.asked(invented_results.twelve_classes()))
    tables = [block for block in nuisancetables.nuisance_blocks(results) if isinstance(block, Table)][:2]
    seen = {}
    for table in tables:
        for column, (name, _) in enumerate(table.columns):
            for row in table.rows:
                seen[name.replace("\n", " "), row[0]] = row[column]
    for name in results.classes:
        for stimulus, said in (("cat", "cats"), ("people on the path", "people on the path")):
            value = float(results["nuisance_night"].sel(weather=name, stimulus=stimulus))
            assert seen[name, said] == nuisancewords.rate_words(value)
        assert seen[name, "all causes"] == nuisancewords.rate_words(float(results["nuisance_total"].sel(weather=name)))
        assert seen[name, "all, 19 nights in\n20 at most"] == str(int(results["bad_night"].sel(weather=name)))
    assert seen["year", "cats"] == nuisancewords.rate_words(float(results["nuisance_cause_year"].sel(stimulus="cat")))
    from rich.console import Console

    console = Console(width=100)
    with console.capture() as capture:
        console.print(*rendered(tables))
    assert all(part in capture.get() for part in ("thunderstorm", "windy", "people on the path"))
    assert "…" not in capture.get()


def test_what_no_camera_sees_and_what_raised_nothing_are_not_zero():
    """Catches: `0` of what no camera has in its picture, `0 %` of encounters of which some would raise an alarm."""
    results = invented_nuisance.asked(notes=f"fox: {UNSEEN}")
    results["p_nuisance"] = results["p_nuisance"].where(results["stimulus"] != "cat", 0.0)
    text = words_of(nuisancetables.nuisance_blocks(Results(results)))
    assert "foxes (not in view)  –  –" in text and "cats (not in view)" not in text
    assert "cats 7" in text and "(none of those simulated)" in text and "(0 %)" not in text


def test_years_are_weighted_by_hours():
    """By hand with numpy. Catches: cameras averaged over classes without their hours; a class of 0 h/yr that counts."""
    results = invented_nuisance.asked(invented_results.class_without_hours())
    hours = results["weather_hours"].values
    found = nuisance_of(Results(results))
    for camera in found.cameras:
        nights = results["nuisance_camera"].sel(camera=camera.mark).values
        assert camera.per_night == pytest.approx(np.sum(nights * hours) / hours.sum())
        assert camera.worst == nights.max() and camera.worst_class == results["weather"].values[nights.argmax()]
    cats = next(each for each in found.causes if each.name == "cat")
    passes = results["encounters_night"].sel(stimulus="cat").sum("segment").values
    assert cats.passes_night == pytest.approx(np.sum(passes * hours) / hours.sum())
    assert [each.per_night for each in found.causes] == sorted((each.per_night for each in found.causes), reverse=True)


def test_a_log_stands_beside_what_was_assumed_before_it():
    """Catches: a prior that is hidden, an interval under another's heading, the user's cause by its key."""
    log = invented_nuisance.log_of("cat", 7, 5, 2.0, (0.714, 0.232, 1.667), (0.9227, 0.391, 1.679))
    results = Results(invented_nuisance.asked(soak=[log]))
    text = words_of(nuisancetables.nuisance_blocks(results))
    assert "cause  log  before the log  as logged  after the log" in text
    assert "cats  5 in 7 nights  2.0  0.71 (0.23 to 1.7)  0.92 (0.39 to 1.7)" in text
    assert "before the log" not in words_of(nuisancetables.nuisance_blocks(Results(invented_nuisance.asked())))


def test_the_json_is_the_results_own():
    """Catches: a number that is not the Dataset's, a key without its number."""
    results = invented_nuisance.asked(ceiling=2.0, met="not met")
    said = run_object(Results(results), [])["nuisance"]
    assert (said["asked"], said["met"], said["ceiling"], said["bad_night_ceiling"]) == (True, "not met", 2.0, None)
    for key, name in (("per_night", "nuisance_year"), ("low", "nuisance_year_low"), ("bad_night", "bad_night_year")):
        assert said[key] == float(results[name])
    assert {each["name"]: each["per_night"] for each in said["causes"]} == {
        str(name): float(value) for name, value in zip(results["stimulus"].values, results["nuisance_cause_year"].values)
    }
    assert sum(each["share"] for each in said["causes"]) == pytest.approx(1.0)
    assert {each["name"]: (each["low"], each["high"]) for each in said["classes"]} == {
        str(name): (float(low), float(high))
        for name, low, high in zip(*(results[each].values for each in ("weather", "nuisance_total_low", "nuisance_total_high")))
    }
    assert [each["mark"] for each in said["cameras"]] == results["camera"].values.tolist()
    silent = nuisance_object(Results(invented_results.yard()))
    assert set(silent) == set(said) and silent["asked"] is False
    assert all(value in (None, [], False) for value in silent.values())


def test_where_nothing_was_asked_every_number_of_noise_says_so():
    """Catches: `below 0.001` that a reader takes for all alarms."""
    results = Results(invented_results.yard())
    assert noise_sentence(results).endswith(nuisancewords.NOT_ASKED) and nuisancewords.NOT_ASKED in sheet_notes(results)[1]
    assert "not asked; this number is sensor noise alone" in nuisancewords.NOT_ASKED
    assert nuisancetables.head_lines(results) == nuisancetables.nuisance_blocks(results) == []


def test_a_report_of_a_run_has_them_under_the_verdict_and_in_a_part_of_their_own():
    """Catches: a headline that is lost; `not asked` beside numbers; a caution that says they are left out."""
    data = invented_nuisance.asked()
    data.attrs |= {"precision": 0.02, "not_modelled": "\n".join(not_modelled(nuisance=True))}
    blocks = run_blocks(Results(data), ["x/results.nc"], [])
    text = words_of(blocks)
    assert text.index("Nuisance alarms: 5.7 a night") < text.index("seed 7")
    assert [block.text for block in blocks if isinstance(block, Heading) and block.text.startswith("Nuisance alarms")]
    assert "not asked" not in text and "Nuisance alarms (animals, plants, weather)" not in text
    assert "judgement" in text and "a moving web, flag or cover" in text
    assert not wrong_words(text.splitlines())


def test_what_is_left_out_depends_on_what_was_asked():
    """Catches: results that count nuisance alarms and say that they do not; one limit lost with the sentence that goes."""
    assert not_modelled(nuisance=False) == NOT_MODELLED
    with_them = " ".join(not_modelled(nuisance=True))
    gone = [line for line in NOT_MODELLED if line not in with_them]
    assert len(gone) == 1 and gone[0].startswith("Nuisance alarms (animals, plants, weather)")
    assert all(word in with_them for word in ("transmission", "assessment", "response", "a log of alarms", "web", "in groups"))

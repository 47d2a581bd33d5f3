"""Titles are findings made from the numbers, also when nothing is weak, all is weak, or the worst class never happens."""

import pytest

from fencecast.estimate.results import Results
from fencecast.estimate.weakest import lowest_places
from fencecast.findings.sheetwords import sheet_notes, small_number, table_heading
from fencecast.findings.titles import cause_title, plan_title, reason_lines, strip_title, verdict_line
from fencecast.findings.words import (
    feet,
    interval_text,
    kelvin_difference_text,
    metres_text,
    number_word,
    pd_text,
    plural,
    requirement_text,
)
from show import invented_results

ALL = invented_results.ALL


def test_plan_title_names_the_worst_class_and_the_next_with_their_metres():
    results = ALL["yard"]()
    weak = {str(w): 2 * int((v == "weak").sum()) for w, v in zip(results.weather.values, results.verdict.values)}  # 2 m segments
    assert (
        plan_title(results)
        == f"Warm dusk is worst: {weak['warm dusk']} m of 410 m weak; advection fog next, {weak['advection fog']} m"
    )
    assert weak["warm dusk"] == max(weak.values())


def test_nothing_weak_is_said_in_one_sentence():
    """Catches: an all-meets result without a first place, which broke the sheet once."""
    results = ALL["all_meet"]()
    sentence = "Every metre simulated meets the requirement in this model, in all six weather classes."
    assert plan_title(results) == strip_title(Results.of(results)) == verdict_line(results) == sentence
    undecided = ALL["no_weak_some_undecided"]()
    sentence = "No metre is weak; 30 m of 410 m undecided in clear night."
    assert plan_title(undecided) == strip_title(Results.of(undecided)) == verdict_line(undecided) == sentence


def test_a_class_of_no_hours_is_never_the_worst():
    """Catches: weather that never comes giving the title (0 h/yr, weak nearly everywhere)."""
    results, same = ALL["class_without_hours"](), ALL["yard"]()
    assert results.verdict.values[-1].tolist().count("weak") > 150
    for text in (plan_title(results), strip_title(Results.of(results)), cause_title(Results.of(results)), verdict_line(results)):
        assert "dense fog" not in text.lower()
    assert plan_title(results) == plan_title(same)
    assert "six" in strip_title(Results.of(results))  # of the six classes that have hours


def test_everything_weak_is_said_without_places():
    """Catches: one place called 'A 0 m to D 140 m', or an empty list that breaks the title."""
    results = ALL["weak_everywhere_in_all"]()
    assert plan_title(results).startswith("Very dense fog is worst: all 410 m weak")
    assert strip_title(Results.of(results)) == "Very dense fog: all 410 m weak; dense fog: all 410 m weak"
    assert verdict_line(results) == "Requirement not met: all 410 m weak in very dense fog, the worst class."
    assert len(reason_lines(Results.of(results))) == 2, "what is required, and the weakest place"


def test_a_class_weak_over_more_than_half_is_set_apart():
    """Catches: one foggy class that swallows every place."""
    results = ALL["weak_everywhere_in_one_class"]()
    title = strip_title(Results.of(results))
    assert title.startswith("Dense fog: ") and "Apart from that, nine places are weak" in title
    assert any(
        line.endswith("places are marked off without it, as it would swallow them all.")
        for line in reason_lines(Results.of(results))
    )


def test_many_classes_weak_over_more_than_half_are_counted_not_named():
    """Catches a title that names them all and is cut with its finding at the end of the second line."""
    results = ALL["weak_everywhere_in_one_class"]().copy(deep=True)
    wide = [str(name) for name in results.weather.values].index("dense fog")
    other = 0 if wide else 1
    results.verdict.values[other] = results.verdict.values[wide]
    title = strip_title(Results.of(results))
    assert title.startswith("Two classes are weak over more than half of the fence. Apart from that, ")
    assert "…" not in title and len(title) < 140
    assert any(
        line.endswith("places are marked off without them, as they would swallow them all.")
        for line in reason_lines(Results.of(results))
    )


def test_metres_without_data_are_said_and_not_counted():
    results = ALL["section_without_data"]()
    assert " of 356 m weak" in plan_title(results)
    assert "54 m have no data." in reason_lines(Results.of(results))[0]


def test_one_class_reads_as_one():
    results = invented_results.yard(classes=invented_results.SIX_CLASSES[2:3])
    assert verdict_line(results).endswith("weak in warm dusk, the one class.")
    assert plan_title(results).endswith("m weak")
    assert strip_title(Results.of(results)).startswith("Six places are weak, the weakest at ")


def test_cause_title_speaks_of_one_class():
    """Catches: the cause of another class's crossings named in the title of the worst class."""
    results = ALL["yard"]()
    title = cause_title(Results.of(results))
    assert title.startswith("Warm dusk: ") and title.endswith(
        " % of misses washed out; D 48 m to E 6 m is weak in clear night already: not in view"
    )


def test_too_few_misses_name_no_cause():
    """Catches: a leading cause printed although 1 - Pd lies within its interval's half width, or shares of 0 / 0."""
    results = ALL["yard"]()
    results["pd"][:] = 0.999
    results["pd_low"][:], results["pd_high"][:], results["verdict"][:] = 0.99, 1.0, "meets"
    results["miss_share"][:] = 0.00025
    assert cause_title(Results.of(results)).endswith("misses are too few to name a cause")
    results["miss_share"][:], results["pd"][:] = 0.0, 1.0
    assert cause_title(Results.of(results)).endswith("misses are too few to name a cause")


def test_fresh_numbers_are_the_printed_ones():
    """Catches: the weakest place printed with the number that it was picked by, which is too low by selection."""
    results = invented_results.yard(fresh=True)
    place = lowest_places(Results.of(results))[0]
    cell = place.weather_index, place.segment
    fresh = 0.0321
    results["pd_fresh"][cell], results["pd_fresh_low"][cell], results["pd_fresh_high"][cell] = fresh, 0.0121, 0.0521
    assert interval_text(fresh, fresh - 0.02, fresh + 0.02) in reason_lines(Results.of(results))[-1]
    assert "(fresh crossings)" in reason_lines(Results.of(results))[-1]


@pytest.mark.parametrize(
    "pd, text",
    [
        (0.2349, "0.23"),
        (0.995, ">0.99"),
        (0.9949, "0.99"),
        (0.0049, "<0.01"),
        (0.005, "0.01"),
        (1.0, ">0.99"),
        (float("nan"), "no data"),
    ],
)
def test_probabilities_have_two_decimals_and_never_claim_0_or_1(pd, text):
    assert pd_text(pd) == text


def test_numbers_in_words():
    assert [number_word(n) for n in (0, 1, 6, 10, 11, 1053)] == ["no", "one", "six", "ten", "11", "1,053"]
    assert (
        plural(1, "place") == "one place"
        and plural(8, "place") == "eight places"
        and plural(2, "class", "classes") == "two classes"
    )
    assert interval_text(0.23, 0.17, 0.29) == "0.23 (0.17 to 0.29)"
    assert requirement_text(0.9) == "0.90" and requirement_text(0.995) == "0.995"
    assert small_number(3e-7) == "3 × 10⁻⁷" and small_number(0.0) == "0" and small_number(0.25) == "0.25"


def test_metres_and_feet_kelvin_and_fahrenheit():
    """Catches: feet by a rounded factor, an offset of 32 on a temperature difference."""
    assert feet(0.3048) == 1.0
    assert metres_text(1053.4) == "1,053 m" and metres_text(16, "us") == "16 m (52 ft)" and metres_text(2.5) == "3 m"
    assert kelvin_difference_text(2.0, "us") == "2.0 K (3.6 °F)" and kelvin_difference_text(-1.0) == "−1.0 K"


def test_the_sheet_prints_walks_noise_sensitivities_and_limits():
    """Catches: a sheet without what keeps a reader from being fooled, or a rate of 10 to the minus 37."""
    results = ALL["yard"]()
    text = " ".join(sheet_notes(results))
    assert "29 walks without a miss, 46 with one, 61 with two (exact binomial)" in text
    assert "False alarms from sensor noise alone, per camera and day: at most 0.004 (C6)." in text
    assert "geometry and N50 are nearly the whole answer" in text and "moves the mean Pd most" in text
    assert "the ground is flat; no vehicles, insiders or cyber." in text
    results["noise_alarms_per_day"][:] = 7e-37
    assert "below 0.001 for every camera." in " ".join(sheet_notes(results))


def test_one_lowest_place_is_named_as_one():
    """Catches: "The one lowest places"."""
    places = lowest_places(Results.of(ALL["all_meet"]()), 5)
    assert table_heading(places) == "The five lowest places (none is weak)"
    assert table_heading(places[:1]) == "The lowest place (none is weak)"

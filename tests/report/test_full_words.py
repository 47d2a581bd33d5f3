"""Sentences of the full edition: in plain words, decisions, register; right for the sites that make a sentence go wrong."""

import pytest

from fencecast.decide.remedyfacts import kept_remedy
from fencecast.estimate.placecodes import standing_text
from fencecast.estimate.results import Results
from fencecast.findings.checksentences import with_feet
from fencecast.findings.dependence import Dependence, dependence_sentence
from fencecast.findings.lenstitles import holds_sentence
from fencecast.report.sections.provenance import without_paths
from fencecast.report.sections.quantities import quantity_text
from fencecast.report.sections.registerrows import DEFAULT, FILE, PART, assumptions
from fencecast.report.words import out_of
from fencecast.site import parse_site
from fencecast.site.quantity import Quantity
from report.full_sites import REMEDY, STEPS, facts_of, mended, results_of, section_of
from show import invented_results

PLAIN = {
    "yard": "In all six kinds of weather there is a place where fewer than 90 in 100 crossings raise an alarm.",
    "weak_everywhere_in_all": "No metre meets the requirement in every kind of weather.",
    "one_class": "In the one kind of weather that counts, warm dusk, there is a place where fewer than 90 in 100",
    "all_meet": "at least 90 in 100 crossings raise an alarm on every metre simulated, in all six kinds of weather.",
    "no_weak_some_undecided": "no place is shown to stay below 90 in 100 crossings, but in clear night there are metres",
    "requirement_0.99": "fewer than 99 in 100 crossings raise an alarm",
    "section_without_data": "of fence have no data: no rule watches there, so nothing raises an alarm.",
    "nothing_watched": "Nothing was simulated: no rule watches any section, so nothing raises an alarm.",
    "one_camera": "In both kinds of weather there is a place",
    "us_units": " ft) meet the requirement in every kind of weather.",
}


@pytest.mark.parametrize(("name", "said"), PLAIN.items())
def test_plain_words_fit_the_site(name, said):
    """Catches: `0 m meet`, `all one kinds`, a promise where nothing was simulated, a count of classes without hours."""
    assert said in " ".join(facts_of(name).plain.lines)


def test_weak_in_some_classes_names_how_many():
    """Catches: the one class that is weak without its name, and all classes where it is some."""
    results = invented_results.yard(everywhere=0.985)
    for name in ("pd", "pd_low", "pd_high"):
        results[name].values[1, :5] = 0.5
    results["verdict"].values[1, :5] = "weak"
    from fencecast.report.words import plain_lines

    first = plain_lines(Results(results))[0]
    assert first.startswith("In one of six kinds of weather, heavy rain, there is a place where fewer than 90 in 100")
    results["verdict"].values[2, :5] = "weak"
    assert plain_lines(Results(results))[0].startswith("In two of six kinds of weather there is a place")


@pytest.mark.parametrize(
    ("probability", "said"), [(0.9, "90 in 100"), (0.5, "50 in 100"), (0.995, "995 in 1,000"), (0.9999, "9,999 in 10,000")]
)
def test_a_probability_is_a_count(probability, said):
    """Catches: 99.5 in 100."""
    assert out_of(probability) == said


def test_the_gravest_is_said_first():
    """Catches: the weather before a place that lets people through in all of it; a place that has half of what is required in one
    class called so; the mildest number told for the lowest metre in every class."""
    from fencecast.report.words import plain_lines

    def first(pd, weak_in=slice(None), at=slice(5, 9)):
        results = invented_results.yard(everywhere=0.985)
        for name, off in (("pd", 0.0), ("pd_low", -0.002), ("pd_high", 0.002)):
            results[name].values[weak_in, at] = pd + off
        results["verdict"].values[weak_in, at] = "weak"
        return plain_lines(Results(results))

    lines = first(0.003)
    assert lines[0] == (
        "At A 10–18 m, West fence, fewer than 1 in 100 crossings of its lowest metre raise an alarm, in every kind of weather."
    )
    assert lines[1].startswith("In all six kinds of weather there is a place")
    assert "about 31 in 100 crossings of its lowest metre" in first(0.31)[0]
    assert not first(0.46)[0].startswith("At ")  # more than half of 0.90
    assert not first(0.003, slice(1, None))[0].startswith("At ")  # in one class it is not weak
    said = " ".join(" ".join(facts_of(name).plain.lines) for name in ("yard", "one_class", "mended"))
    assert "Whoever knows" not in said and "intruder may" not in said


def test_a_count_has_its_upper_end_beside_it():
    """Catches: `at most about 22` beside an interval up to 43; below half said of a place whose interval is not."""
    from fencecast.report.words import plain_lines

    def lines(second_high):
        results = invented_results.yard(everywhere=0.985)
        for at, (pd, low, high) in ((slice(5, 9), (0.22, 0.09, 0.43)), (slice(20, 24), (0.37, 0.18, second_high))):
            for name, value in (("pd", pd), ("pd_low", low), ("pd_high", high)):
                results[name].values[:, at] = value
            results["verdict"].values[:, at] = "weak"
        results["pd"].values[0, 5:9] = 0.18
        return plain_lines(Results(results))

    first, *others = lines(0.62)
    assert "about 18 to 22 in 100 crossings of its lowest metre raise an alarm, in every kind of weather, and in none" in first
    assert first.endswith("more than 43.") and not others[0].startswith("Below half")
    assert lines(0.44)[1].startswith("Below half of what is required in every kind of weather, too: ")


def test_undecided_metres_stand_on_the_first_page():
    """Catches: 18 m that are neither weak nor meet in no figure and no decision; counted twice where weak in one class."""
    from fencecast.report.sections.head import figures_of
    from fencecast.report.sections.plain import _undecided

    results = invented_results.yard(everywhere=0.985)
    results["verdict"].values[:, :] = "meets"
    assert len(figures_of(Results(results))) == 4 and not _undecided(Results(results))
    results["verdict"].values[:, 3:5] = "undecided"
    results["verdict"].values[0, 4] = "weak"
    found = Results(results)
    (asked,) = _undecided(found)
    metres = f"{found.lengths_m[3]:.0f} m"
    assert asked.ask.startswith(f"{metres} ") and "run again with more crossings, or treat them as weak." in asked.ask
    assert "Undecided in the worst class" in [figure.label for figure in figures_of(found)]
    results.attrs["calibration"] = '{"walks": 36}'
    assert ": walk more, or treat them as weak." in _undecided(Results(results))[0].ask


def test_a_reading_says_its_class():
    """Catches: a Pd whose weather nobody knows, on a card, in plain words and in the box of another class."""
    for place, card in zip(Results(results_of("yard")).weak_places, section_of("yard", "why").facts.cards):
        assert card.reading.lower().startswith(f"in {place.weather}: ")
        told = f"Part of place {card.number}, {place.code}: In {place.weather}: "
        assert told in section_of("yard", "where").facts.data.replace("\\u2013", "–")
    assert f", in {Results(results_of('yard')).weak_places[0].weather}: " in " ".join(facts_of("yard").plain.lines)


def test_what_usually_helps_has_one_wording():
    """Catches: a key that says another help than the card, and a box that says a third one."""
    from fencecast.report.words import HELPS

    for term in section_of("yard", "why").facts.key:
        assert term.meaning.endswith(f": {HELPS[term.word]}")
        assert any(t.meaning.lower().rstrip(".") == term.meaning.lower() for t in section_of("yard", "words").facts.terms)
        assert HELPS[term.word] in section_of("yard", "where").facts.data


def test_the_owner_s_rows_come_first():
    """Catches: a row of the owner's among the designer's, a row that is lost, a rule without its cameras."""
    facts = section_of("yard", "register").facts
    assert {row.confirmed_by.split(",")[0].split(":")[0] for row in facts.owner} == {"owner"}
    assert not any("owner" in row.confirmed_by for row in facts.others)
    assert len(facts.owner) + len(facts.others) == len(assumptions(Results(results_of("yard"))))
    site = Results(results_of("yard")).site
    assert [(row[0], row[3]) for row in facts.rules.rows] == [
        (str(k + 1), "every camera" if len(rule.cameras) == len(site.camera) else ", ".join(rule.cameras))
        for k, rule in enumerate(site.rule)
    ]
    stands = ", ".join(f"{each.name} {each.height_m:g} m" for each in site.obstacle)
    assert facts.stands.startswith(f"Nothing else stands in a view but: {stands}. Stacks, vehicles")


def test_one_class_is_not_counted():
    """Catches: `one of one class`."""
    first, weakest = facts_of("one_class").verdict.reasons
    assert (
        "Weak metres in warm dusk; " in first and weakest.endswith("mostly not in view.") and "one of one" not in first + weakest
    )


def test_what_numbers_are_about_is_said_before_them():
    """Catches: a run of two classes, without cameras or on chosen hours that reads as the complete year."""
    some = facts_of("some_classes").plain.conditions
    assert some == (
        "Only heavy rain, warm dusk were run, of 6 classes: the year here is weighted over these alone.",
        "Run as if C2, C3 had failed.",
    )
    assert "have visibility_m<=100" in facts_of("stressed").plain.conditions[0]
    assert not facts_of("yard").plain.conditions


def test_decisions_fit_what_was_found():
    """Catches: a change offered that was not found, a link into nothing, old results without a decision."""

    def first(name):
        return facts_of(name).plain.decisions[0]

    assert (first("mended").ask, first("mended").key) == ("Decide on the two changes of", "change")
    assert first("mended").text == (
        "With them 124 m weak in warm dusk become 20 m; each metre in its worst class, 130 m weak become 30 m."
    )
    assert first("mended_us").text.startswith("With them 124 m (407 ft) weak")
    assert first("mended_of_old").text == "In warm dusk from 124 to 20 m weak."
    assert first("no_remedy_found").text == "No change that was tried helps." and first("no_remedy_found").key == "why"
    assert first("yard").ask.startswith("Say what is to change at ") and not first("yard").text
    assert first("no_weak_some_undecided").ask.startswith("30 m are undecided: have them run again with more crossings")
    assert first("all_meet").key == "register" and first("nothing_watched").key == "register"


def test_a_remedy_is_kept_as_it_was_found():
    """Catches: a field that is lost in JSON, lists for tuples, a remedy where none was asked for."""
    kept = kept_remedy(results_of("mended").attrs)
    assert kept == REMEDY and kept.steps == STEPS
    assert kept_remedy(results_of("no_remedy_found").attrs) is None and kept_remedy(results_of("yard").attrs) is None
    assert list(results_of("mended")["remedy"].values) == ["as it is", "after change 1", "after change 2"]
    part = section_of("no_remedy_found", "change").facts.parts[0]
    assert "was found to help" in part.finding and not part.blocks
    old = section_of("mended_of_old", "change").facts.parts[0]
    assert [block.text[:2] for block in old.blocks] == ["1.", "2.", "Me"]


def test_classes_that_a_remedy_did_not_look_at_are_left_out():
    """Catches: `no data` printed as metres before and after."""
    results = mended(invented_results.class_without_hours())
    results["pd_remedy_low"].values[:, -1] = float("nan")
    from fencecast.report.options import ReportOptions
    from fencecast.report.sections.change import change_of
    from fencecast.report.sections.section import Source

    _, table = (b for b in change_of(Source(Results(results), ReportOptions())).facts.parts[0].blocks if hasattr(b, "columns"))
    assert "dense fog, never here" not in [row[0] for row in table.rows] and len(table.rows) == 6


def test_yards_as_built_are_told_where_they_were_asked_for():
    """Catches: installations that are in the results and not in the report, an assumption that is left out."""
    built = [block.text for block in section_of("installed", "depends").facts.built if hasattr(block, "role")]
    said = "Built within 1 degree, 3 of 8 yards like this meet everywhere; the weakest metre lies between 0.81 and 0.92."
    assert said in built and said in facts_of("installed").plain.lines
    rows = {row.what: row.value for row in section_of("installed", "register").facts.others}
    assert rows["What differs from yard to yard"].startswith("bearing and depression within 1 degree")
    assert not section_of("yard", "depends").facts.built


def test_a_lens_is_told_by_where_it_holds_the_requirement():
    """Catches: another class's curve, the first distance for the last. The invented curves 1 / (1 + (d / r)^3) reach 0.90 up to
    r (1 / 9)^(1 / 3) = 0.48 r; r is 46 m for the wide lens on a clear night, 38 m in heavy rain."""
    results = Results(results_of("one_camera"))
    assert holds_sentence(results, 0) == "In clear night, one camera on its axis holds 0.90 with a 3 mm lens up to 22 m."
    assert holds_sentence(results, 1) == "In heavy rain, one camera on its axis holds 0.90 with a 3 mm lens up to 18 m."
    assert holds_sentence(Results(results_of("bare")), 0) == ""
    assert section_of("one_camera", "why").facts.cards[0].holds == holds_sentence(results, 0)


def test_classes_that_cannot_be_told_apart_are_told_together():
    """Catches: the same sentence ten times over for ten classes of a record, and classes with other rivals among them."""
    slopes = {"n50": -0.10, "netd": 0.0, "threshold": -0.11, "clutter": -0.02}
    errors = {"n50": 0.03, "threshold": 0.03}
    found = [Dependence(name, slopes, errors) for name in ("rain", "mist")]
    found.append(Dependence("haze", slopes | {"clutter": -0.12}, errors | {"clutter": 0.03}))
    said = dependence_sentence(found, closing=False)
    assert "Rain and mist: cannot tell whether the threshold or N50 moves the mean Pd most." in said
    assert "Haze: cannot tell whether clutter, the threshold or N50 moves the mean Pd most." in said


def test_headings_count_what_is_shown():
    """Catches: `one weak places`, twelve places called all."""
    assert section_of("yard", "why").heading == f"Why: {_word(len(Results(results_of('yard')).weak_places))} weak places"
    assert section_of("all_meet", "why").heading == "Why: the lowest places (none is weak)"
    assert all(not card.helps for card in section_of("all_meet", "why").facts.cards)


def _word(number: int) -> str:
    return ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"][number]


# ------------------------------------------------------------------------------------------------ the register


SITE = invented_results.yard().attrs["site_toml"]


def rows_of(text: str, units: str = "si"):
    results = invented_results.yard(units=units)
    results.attrs["site_toml"] = text
    return {row.what: row for row in assumptions(Results(results))}


def test_the_register_tells_file_from_default():
    """Catches: a default that is said to be the owner's word, a file's value called a default."""
    rows = rows_of(SITE)
    need = rows["Probability of an alarm that every metre needs in every class"]
    assert (need.value, need.source, need.confirmed_by) == ("0.90 at 95 % confidence", FILE, "owner")
    assert rows["How they move"].source == DEFAULT and "walk 45 %, run 20 %" in rows["How they move"].value
    assert rows["Detail that the analytics need (N50)"].source == "default; a judgement"
    half = rows_of(SITE.replace("confidence = 0.95\n", ""))
    assert half["Probability of an alarm that every metre needs in every class"].source == PART
    given = rows_of(SITE + '\n[decision]\ncycles_50 = { dist = "lognormal", median = 2.5, sigma_ln = 0.2 }\n')
    row = given["Detail that the analytics need (N50)"]
    assert row.source == "site file; a judgement" and row.value.startswith("median 2.5, mostly 2 to 3.1 resolved")


def test_rows_are_grouped_where_they_are_alike():
    """Catches: a row of forty sections that say the same."""
    barriers = rows_of(SITE)["Barriers"].value
    assert barriers == "mesh 2.4 m: West fence, North fence along the footpath, East fence; no barrier: Quay edge"
    assert "Gate (A 30–38 m)" in rows_of(SITE)["Gates, taken as shut and not climbed"].value
    assert len(rows_of(SITE)["Rules"].value) < 200


def test_feet_stand_beside_metres():
    """Catches: a length that is left in metres alone."""
    value = rows_of(SITE.replace('units = "si"', 'units = "us"'), "us")
    assert value["Length of fence"].value == "410 m (1345 ft) in four sections"
    assert "6 m (20 ft)" in value["Buildings and stacks; nothing else stands in a view"].value
    assert "A 30–38 m)" in value["Gates, taken as shut and not climbed"].value


def test_the_demo_has_its_nineteen_assumptions(demo_results):
    """Catches: a row that is lost. The worked example gives all of them but the intruders' ways and bodies."""
    rows = assumptions(Results(demo_results))
    assert len(rows) == 19 and len({row.what for row in rows}) == 19
    assert {row.source for row in rows} == {FILE, DEFAULT, PART, f"{FILE}; flat by the model", f"{FILE}; a judgement"}


QUANTITIES = [
    (Quantity.fixed(-0.5), "K", "−0.5 K"),
    (Quantity.uniform(-0.5, 0.3), "K", "−0.5 to 0.3 K"),
    (Quantity.normal(8.0, 2.0), "°C", "8 °C, mostly 6 to 10"),
    (Quantity.lognormal(90.0, 0.5), "m", "median 90 m, mostly 55 to 148"),
    (Quantity.normal(2.0, 2.0), "°C", "2 °C, mostly 0 to 4"),
    (Quantity.normal(1.69, 0.1), "m", "1.69 m, mostly 1.59 to 1.79"),
    (Quantity("triangular", low=3.0, mode=8.0, high=13.0), "K", "3 to 13 K, most often 8"),
    (Quantity("choice", values=(0.0, 2.0), weights=(0.6, 0.4)), "s", "0 s (60 %), 2 s (40 %)"),
    (Quantity.uniform(-30.0, 30.0), "°", "−30 to 30°"),
    (Quantity.normal(1500.0, 160.0), "m", "1,500 m, mostly 1,340 to 1,660"),
    (Quantity.normal(2.0, 1.9975), "°C", "2 °C, mostly 0 to 4"),
    (Quantity.lognormal(12000.0, 0.5), "m", "median 12,000 m, mostly 7,000 to 20,000"),
]


@pytest.mark.parametrize(("quantity", "unit", "said"), QUANTITIES)
def test_distributions_in_words(quantity, unit, said):
    """Catches: a hyphen for a minus, an sd where two thirds are meant, a unit that is lost."""
    assert quantity_text(quantity, unit) == said


# ------------------------------------------------------------------------------------------------ places and paths


def test_a_point_is_told_by_the_fence_it_stands_at():
    """Catches: coordinates for a reader, the wrong side, chainage from the far end. By hand: the west fence runs north from 0, 0
    with the yard on its right, the quay west from 140, 0."""
    site = parse_site(SITE)
    assert standing_text(site, (1.0, 40.0)) == "A 40 m, 1 m inside the fence"
    assert standing_text(site, (-2.5, 40.0)) == "A 40 m, 2.5 m outside the fence"
    assert standing_text(site, (100.0, 2.0)) == "E 40 m, 2 m inside the fence"
    assert standing_text(site, (140.0, 20.0)) == "D 34 m, on the fence line"


def test_commands_lose_their_folders():
    """Catches: the name of a client or a user in the path of a file."""
    said = without_paths("fencecast run /someone/client/yard.toml -o 'C:\\\\Users\\\\x\\\\out' --seed 3")
    assert said == "fencecast run yard.toml -o out --seed 3"


def test_feet_are_for_lengths_and_not_for_places():
    """Catches: feet in the middle of a place code."""
    site = parse_site(SITE.replace('units = "si"', 'units = "us"'))
    assert with_feet(site, "at D 18.3 m, 1 m inside") == "at D 18.3 m (60 ft), 1 m (3 ft) inside"

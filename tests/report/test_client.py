"""The client edition tells how much and in which weather; it never tells where, who watches, or at what time."""

from __future__ import annotations

import ast
import dataclasses
import html
import json
import re
from pathlib import Path

import invented_proof
import numpy as np
import pytest
from named_sites import EAST, NORTH, results_of

import fencecast as fc
from fencecast.estimate.results import Results
from fencecast.findings.weakhours import MONTHS
from fencecast.findings.words import in_class
from fencecast.prove.proof.proof import read_proof
from fencecast.report.client import always_open, client_facts, tells_where
from fencecast.report.options import ReportOptions
from fencecast.report.sections.client.words import change_words
from fencecast.report.sections.section import Source
from fencecast.show.svg.figure import SvgText
from show import invented_comparisons, invented_hours, invented_nuisance, invented_results
from show.wording import wrong_words

TOKEN = "Qzx"
# All that this edition may hold: a new field is added here by somebody who asked what it gives away.
ALLOWED = {
    "ClientFacts": {"mark", "edition", "head", "verdict", "plain", "sections"},
    "Head": {"title", "subtitle", "issue", "status", "day", "made_by", "made_for"},
    "Verdict": {"line", "reasons", "figures", "caution"},
    "Figure": {"label", "value", "note"},
    "ClientPlain": {"meaning", "conditions", "lines", "decisions"},
    "Asked": {"ask", "text", "key"},
    "Section": {"key", "number", "heading", "finding", "template", "facts"},
    "ClientWeather": {"caption", "missing", "rows", "hours", "notes"},
    "WeatherRow": {"name", "hours", "weak", "undecided", "meets", "no_data", "bar", "lowest", "dot", "cause", "cause_share"},
    "ClientWhy": {"rows", "note"},
    "CauseRow": {"cause", "swatch", "places", "metres", "means", "helps"},
    "ClientChange": {"changes", "steps", "losses", "designs", "note"},
    "Step": {"what", "text"},
    "Design": {"heading", "sentence", "rows"},
    "DesignRow": {"name", "hours", "better", "worse", "not_distinguishable", "equivalent"},
    "ClientNuisance": {"lines", "caption", "rows", "note"},
    "NightRow": {"name", "a_night", "bad_night"},
    "ClientProve": {"lines", "claims", "time"},
    "PlannedClaim": {"number", "about", "walks", "misses", "chance"},
    "ClientProved": {"claims", "key", "prediction", "caption", "figure", "log", "held"},
    "TestedClaim": {"number", "about", "walks", "missed", "interval", "dot", "verdict", "below"},
    "ClientAsBuilt": {"heads", "rows", "lines"},
    "BuiltRow": {"name", "meets_design", "meets_built", "weak_design", "weak_built"},
    "ClientRegister": {"rows", "note", "signing", "signed_by"},
    "Assumed": {"about", "assumed", "value", "source", "confirmed_by"},
    "ClientLimits": {"points", "not_modelled"},
    "ClientWords": {"terms"},
    "ClientTerm": {"word", "meaning", "swatch"},
    "ClientProvenance": {"rows"},
}
# `B 58-68 m`, `C 108 m to D 2 m`: a capital or two, a blank, metres. In US units the length of a fence is in feet beside metres.
PLACE_CODE = re.compile(r"\b[A-Z]{1,2} \d[\d,.]*(?:[-–]\d[\d,.]*)? m\b")
WEATHER_SHA256 = "5eed" * 16
CLOCK = re.compile(r"\b\d{1,2}:\d\d\b|\bo'clock\b")


@pytest.fixture(scope="session")
def marked(tmp_path_factory):
    """Results and a comparison of a site whose every name, mark, mast, path and design carries the token."""
    return results_of(tmp_path_factory.mktemp("marked"), lambda kind: f"{TOKEN} {kind}", "Invented yard")


def text_of(page: str) -> str:
    """What a reader sees, on one line."""
    body = re.sub(r"<style>.*?</style>", " ", page, flags=re.DOTALL)
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", body)).split())


def facts_of(results, compared=None, files=None):
    found = Results.of(results)
    options = ReportOptions(edition="client")
    proof = read_proof(found.site, found.attrs["site_sha256"], **(files or {}))
    return client_facts(Source(found, options, None if compared is None else Results.of(compared), proof=proof))


def walked(facts):
    """Every dataclass in the facts, and every plain value."""
    if dataclasses.is_dataclass(facts):
        yield facts
        for field in dataclasses.fields(facts):
            yield from walked(getattr(facts, field.name))
    elif isinstance(facts, (tuple, list)):
        for part in facts:
            yield from walked(part)
    else:
        yield facts


def test_nothing_of_the_site_but_its_title_and_its_weather_is_in_the_page(marked):
    """Catches: a name, mark, mast, lens, path, design or acceptance that a section takes from results or site."""
    page = fc.report(marked[0], "client", marked[1])
    assert TOKEN.lower() not in page.lower()
    assert "clear night" in page and "thick fog" in page and "Invented yard" in page
    # The same results in the full edition do carry them, or this test would prove nothing.
    assert TOKEN in marked[0].attrs["site_toml"] and TOKEN in str(marked[1]["variant"].values)


def test_no_coordinate_is_in_the_page(marked):
    """Catches: the plan, a position, a figure with true coordinates. Written in metres, kilometres or with a comma."""
    page = fc.report(marked[0], "client", marked[1])
    for value in (EAST, NORTH):
        digits = f"{value:.0f}"
        assert digits not in page and f"{digits[0]},{digits[1:]}" not in page and f"{digits[0]}.{digits[1:]}" not in page


def test_what_would_change_it_is_told_without_where(marked):
    """Catches: a section that hides by saying nothing at all."""
    text = text_of(fc.report(marked[0], "client", marked[1]))
    assert "One camera turned, one camera more: 12 m weak in thick fog become 4 m." in text
    assert re.search(r"The costliest single loss \(a mast, switch or supply\) makes \d+ m newly weak|No single loss", text)
    assert "Design B against design A" in text


@pytest.mark.parametrize("make", list(invented_results.ALL.values()), ids=list(invented_results.ALL))
def test_no_place_code_by_its_form(make):
    """Catches: a code in a sentence borrowed from the full edition; marks such as C1; section names."""
    results = make()
    text = text_of(fc.report(results, "client"))
    assert not PLACE_CODE.findall(text)
    names = {str(name) for name in results["section"].values} | {str(mark) for mark in results["camera"].values}
    assert not [name for name in names if re.search(rf"\b{re.escape(name)}\b", text)]
    assert not wrong_words([text])


def test_a_real_run_names_no_place(demo_results):
    """The same on a simulated site. Catches: sentences that invented results never reach."""
    text = text_of(fc.report(demo_results, "client"))
    assert not PLACE_CODE.findall(text) and not CLOCK.findall(text)
    assert not re.findall(r"\bT[1-7]\b|quay|east fence|north fence|west fence|lorry|workshop|mast\b(?!, switch)", text)


def test_the_pattern_of_place_codes_meets_them():
    """Catches: a pattern that meets nothing."""
    for code in ("B 58–68 m", "A 1 m", "AB 1,108 m to C 2 m", "D 10-12 m"):
        assert PLACE_CODE.search(f"at {code}, weak")


def hourly():
    results = invented_hours.yard()
    for end, hours in (("", 1500.0), ("_low", 1400.0), ("_high", 1600.0)):
        results[f"weak_hours_any{end}"] = ((), hours)
    results.attrs |= {"weather_source": f"{TOKEN}.epw", "weather_notes": "", "created": "2026-02-03T01:02:03Z", "stress": ""}
    results.attrs["weather_sha256"] = WEATHER_SHA256
    return results


def test_hours_are_counted_and_not_dated():
    """Catches: a month, an hour of the clock, the name of the record. The report's own date is in February here."""
    page = fc.report(hourly(), "client")
    text = text_of(page)
    assert "In 1,500 of " in text and "armed hours a year some metre of the fence is below 0.90" in text
    assert "hourly record" in text and TOKEN not in page
    # Station files are public: whoever hashes them all finds this one, and the place.
    assert WEATHER_SHA256 not in page and WEATHER_SHA256[:8] not in page
    assert WEATHER_SHA256 in fc.report(hourly(), "full")
    assert not CLOCK.findall(text)
    months = [month for month in MONTHS if month not in ("February", "May") and month in text]
    assert not months and " may " not in text.replace("may be", "").replace("may know", "").replace("may read", "")


def test_a_condition_is_told_without_naming_hours():
    """Catches: `clock_hour>=22` in an edition that names no hour; silence on results of some hours only."""
    results = hourly()
    results.attrs |= {
        "stress": "clock_hour>=22 and month==11",
        "stress_hours": 21.0,
        "stress_of_hours": 4344.0,
        "period_years": 1.0,
    }
    text = text_of(fc.report(results, "client"))
    assert "Only the hours that meet one condition were simulated" in text
    assert "over these stress hours, by hours" in text and "Weak over these stress hours" in text
    assert "over the year" not in text.lower()
    assert "clock_hour" not in text and "month" not in text.replace("no month", "")


@pytest.mark.parametrize("kind", ["marked", "hourly", "invented", "nuisance", "proved"])
def test_the_facts_are_the_fields_of_this_file(kind, request, tmp_path):
    """Catches: a field that came in without a decision; a value that is more than plain."""
    given = {"hourly": (hourly, None), "invented": (lambda: invented_results.yard(fresh=True), None),
             "nuisance": (lambda: invented_nuisance.asked(ceiling=6.0), None),
             "proved": (invented_proof.results_of_yard, None, invented_proof.files(tmp_path))}  # fmt: skip
    if kind == "marked":
        given = request.getfixturevalue("marked")
    else:
        make, *rest = given[kind]
        given = make(), *rest
    for each in walked(facts_of(*given)):
        if dataclasses.is_dataclass(each):
            assert type(each).__dataclass_params__.frozen
            assert {field.name for field in dataclasses.fields(each)} == ALLOWED[type(each).__name__], type(each).__name__
        else:
            assert type(each) in (str, SvgText, int, float, bool, type(None)), type(each)


# What names a place or a camera. `show.svg.plan` and `show.svg.strips` draw places.
NAMES_PLACES = re.compile(
    r"readings?|short_reading|segment_code|place_code|code_of|placecodes|where\w*|plan|plan_svg|strips|strip_svg|cause_svg|carpet_svg"
)
CLIENT_MODULES = sorted((Path(fc.__file__).parent / "report" / "sections" / "client").glob("*.py"))


def imported_names(text: str) -> set[str]:
    """Every part of every name that a module imports."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import):
            found |= {part for alias in node.names for part in alias.name.split(".")}
        elif isinstance(node, ast.ImportFrom):
            found |= set((node.module or "").split(".")) | {alias.name for alias in node.names}
    return found


@pytest.mark.parametrize("path", CLIENT_MODULES, ids=lambda path: path.stem)
def test_no_module_of_this_edition_imports_what_names_a_place(path):
    """Catches: a sentence borrowed from the full edition, before any results show that it names a place."""
    assert not [name for name in imported_names(path.read_text(encoding="utf-8")) if NAMES_PLACES.fullmatch(name)]


def test_what_names_a_place_is_met_where_it_is_imported():
    """Catches: a list that is empty, a pattern that meets nothing."""
    assert len(CLIENT_MODULES) >= 10
    sections = CLIENT_MODULES[0].parents[1]
    for name in ("where", "why"):
        names = imported_names((sections / f"{name}.py").read_text(encoding="utf-8"))
        assert [each for each in names if NAMES_PLACES.fullmatch(each)], name


def test_no_script_and_none_allowed(marked):
    page = fc.report(marked[0], "client", marked[1])
    assert "<script" not in page and "script-src 'none'" in html.unescape(page)
    assert not re.findall(r"\son[a-z]+=", re.sub(r"<style>.*?</style>", "", page, flags=re.DOTALL))


def test_metres_and_pd_of_every_class_are_the_results_own():
    """Against the Dataset. Catches: rows in another order than their names, the main run's Pd where a fresh one stands."""
    results = invented_results.yard(fresh=True)
    facts = next(s.facts for s in facts_of(results).sections if s.key == "weather")
    lengths = (results["segment_end_m"] - results["segment_start_m"]).values
    assert [row.name for row in facts.rows][-1] == "over the year, by hours"
    for row in facts.rows[:-1]:
        words = results["verdict"].sel(weather=row.name).values
        for word, said in (("weak", row.weak), ("undecided", row.undecided), ("meets", row.meets)):
            assert said == f"{lengths[words == word].sum():.0f} m"
        pd, fresh = results["pd"].sel(weather=row.name).values, results["pd_fresh"].sel(weather=row.name).values
        at = int(np.nanargmin(pd))
        value = pd[at] if np.isnan(fresh[at]) else fresh[at]
        assert row.lowest.startswith("<0.01" if value < 0.005 else f"{value:.2f}")


def test_causes_count_every_place_once():
    results = invented_results.yard()
    facts = next(s.facts for s in facts_of(results).sections if s.key == "why")
    words = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
    places = Results.of(results).weak_places
    assert sum(words.index(row.places) for row in facts.rows) == len(places)
    said = {row.cause: row for row in facts.rows}
    for cause in said:
        mine = [place for place in places if place.cause == cause]
        assert said[cause].places == words[len(mine)]
        assert said[cause].metres == f"{sum(place.length_m for place in mine):.0f} m"


def test_designs_have_letters_and_the_metres_of_the_comparison():
    base = invented_results.yard()
    compared = invented_comparisons.comparison(base)
    compared.attrs |= {"site_sha256": base.attrs["site_sha256"]}
    facts = next(s.facts for s in facts_of(base, compared).sections if s.key == "change")
    (design,) = facts.designs
    lengths = (base["segment_end_m"] - base["segment_start_m"]).values
    assert design.heading == "Design B against design A"
    for row in design.rows[:-1]:
        words = compared["verdict"].isel(compared=0).sel(weather=row.name).values
        assert (
            row.better == f"{lengths[words == 'better'].sum():.0f} m" and row.worse == f"{lengths[words == 'worse'].sum():.0f} m"
        )


def test_nothing_weak_has_no_causes_and_asks_for_no_change():
    """Catches: a heading with nothing below it, links to a section that is not there."""
    page = fc.report(invented_results.all_meet(), "client")
    assert "what usually helps" not in page and "What is to change" not in page
    targets = set(re.findall(r'id="([^"]+)"', page))
    assert set(re.findall(r'href="#([^"]+)"', page)) <= targets


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (invented_results.yard, ""),
        (invented_results.one_camera, "one section: the client edition tells where by telling how much"),
        (invented_results.weak_everywhere_in_all, "weak everywhere: the client edition tells where by telling how much"),
    ],
)
def test_totals_that_tell_where_are_known(make, said):
    assert tells_where(Results.of(make())) == said


def test_a_place_that_is_open_in_every_weather_is_warned_of():
    """Catches: an edition that says `come any night` and leaves the building before the place is mended."""
    results = invented_results.all_meet()
    assert always_open(Results.of(results)) == ""
    at = 40
    results["pd"][:, at], results["pd_low"][:, at], results["pd_high"][:, at] = 0.003, 0.001, 0.01
    results["verdict"][:, at] = "weak"
    said = "a place is weak in every kind of weather (lowest Pd <0.01): hand the client edition out after it is mended"
    assert always_open(Results.of(results)) == said
    # In one class it is better than half of what is required: somebody has to wait for the others.
    results["pd"][0, at] = 0.46
    assert always_open(Results.of(results)) == ""
    results["pd"][0, at] = 0.44
    assert "(lowest Pd <0.01 to 0.44)" in always_open(Results.of(results))


def test_us_units_have_feet_beside_metres():
    text = text_of(fc.report(invented_results.yard(units="us"), "client"))
    assert "410 m (1,344 ft)" in text
    # What is left after every metre with its feet is taken out has no metre.
    assert not re.findall(r"\d m\b", re.sub(r"[\d,]+ m \([\d,]+ ft\)", "", text))


def test_changes_of_one_kind_are_counted():
    """Catches: eight changes as one sentence of sixteen clauses."""
    assert change_words(["rule", "rule", "turned", "rule", "new"]) == "Three rules changed, one camera turned, one camera more"


def test_some_classes_are_not_the_year():
    """Catches: `over the year` over numbers of the classes that were run."""
    base = invented_results.yard()
    compared = invented_comparisons.comparison(base)
    compared.attrs |= {"site_sha256": base.attrs["site_sha256"]}
    for each in (base, compared):
        each.attrs["weather_classes"] = each.sizes["weather"] + 2
    text = text_of(fc.report(base, "client", compared))
    assert text.count("over these classes, by hours") == 2 and "Weak over these classes" in text
    assert "Over these classes design B is better" in text and "over the year" not in text.lower()


def with_steps(results, *steps, worst="heavy rain"):
    """Results with changes found: (metres weak in the worst class, the class that gains most, metres weak in it)."""
    kept = [
        {"words": "", "kind": "new", "cost": None, "weak_m": weak, "fence_m": weak, "most_in": name, "most_m": most}
        for weak, name, most in steps
    ]
    results = results.copy()
    results.attrs = results.attrs | {"remedy_worst": worst, "remedy_steps": json.dumps(kept)}
    return results


@pytest.mark.parametrize(
    ("steps", "said"),
    [
        ([([54.0, 54.0], "snow", [16.0, 6.0])], "54 m stay weak in heavy rain; in snow 16 m become 6 m."),
        ([([54.4, 53.9], "heavy rain", [54.4, 53.9])], "no metre less, Pd a little higher."),
        ([([54.0, 54.0], "snow", [16.0, 16.0])], "no metre less, Pd a little higher."),
        ([([0.0, 0.0], "snow", [16.0, 6.0])], "no metre is weak in heavy rain, as before; in snow 16 m become 6 m."),
        ([([54.0, 40.0], "snow", [16.0, 2.0])], "54 m weak in heavy rain become 40 m."),
        ([([54.0, 57.0], "snow", [16.0, 6.0])], "54 m weak in heavy rain become 57 m; in snow 16 m become 6 m."),
        (
            [([54.0, 54.0], "snow", [16.0, 10.0]), ([54.0, 54.0], "snow", [10.0, 6.0])],
            "Two cameras more: 54 m stay weak in heavy rain; in snow 16 m become 6 m.",
        ),
    ],
)
def test_a_gain_is_told_only_where_there_is_one(steps, said):
    """Catches: `other weather gains` where nothing does, `54 m weak become 54 m`."""
    text = text_of(fc.report(with_steps(invented_results.yard(), *steps), "client"))
    assert said in text and "other weather gains" not in text
    assert not [m for m in re.findall(r"([\d,]+ m) (?:weak )?(?:in [a-z ]+ )?become ([\d,]+ m)", text) if m[0] == m[1]]


def test_gains_are_those_of_all_changes_where_cells_are_kept():
    """Catches: metres of the steps that name a class, which leave out what the others do in it."""
    results = with_steps(invented_results.yard(), ([54.0, 54.0], "snow", [16.0, 6.0]))
    name = str(results["weather"].values[2])
    lengths = (results["segment_end_m"] - results["segment_start_m"]).values
    weak = np.full((2, results.sizes["weather"], results.sizes["segment"]), 1.0)
    weak[0, 2, :20] = 0.1
    weak[1, 2, :5] = 0.1
    for end, off in (("", 0.0), ("_low", -0.01), ("_high", 0.01)):
        results[f"pd_remedy{end}"] = (("remedy", "weather", "segment"), weak + off)
    before, after = (f"{lengths[:count].sum():.0f} m" for count in (20, 5))
    assert f"54 m stay weak in heavy rain; {in_class(name)} {before} become {after}." in text_of(fc.report(results, "client"))


def test_unknown_kinds_of_change_are_no_error(marked):
    """Catches: results of a later version whose change has a kind that this one does not know."""
    results = marked[0].copy()
    steps = json.loads(results.attrs["remedy_steps"])
    results.attrs = results.attrs | {"remedy_steps": json.dumps([steps[0] | {"kind": "something"}])}
    assert "One change: 12 m weak in thick fog become 8 m." in text_of(fc.report(results, "client"))

"""Stimuli of a site: kinds with their numbers and sources, what the user's keys change, and what a site without them stays."""

import dataclasses
import hashlib
import sys
from pathlib import Path

import pytest
from small_sites import LEAST, least, python_site

import fencecast
from fencecast.decide.layout import with_cameras
from fencecast.errors import UsageError
from fencecast.findings.sitewarnings import site_warnings
from fencecast.site import Quantity, Site, load_site, parse_site, site_to_toml, without_cameras
from fencecast.site.stimuli import BodyStimulus, BurstStimulus, Stimulus, missing_keys, resolve, resolved
from fencecast.site.stimuluskinds import BODIES, BURSTS, KINDS, Sourced
from fencecast.site.without import no_stimuli

TESTS = Path(__file__).parent.parent
sys.path.insert(0, str(Path(fencecast.__file__).parent / "docs" / "_ext"))
from references import mark_of  # noqa: E402

DEMO = (Path(fencecast.__file__).parent / "examples" / "estuary-yard.toml").read_text(encoding="utf-8")
DEMO_STIMULI = (TESTS / "data" / "nuisance" / "estuary-stimuli.toml").read_text(encoding="utf-8")
fixed = Quantity.fixed


def site_of(*stimuli: str, more: str = "") -> Site:
    return parse_site(LEAST + "".join(f"\n[[stimulus]]\n{each}\n" for each in stimuli) + more)


def only(text: str) -> BodyStimulus | BurstStimulus:
    return resolved(site_of(text))[0]


# ------------------------------------------------------------------------------------------------ the kinds

# Height, length, breadth [m]; median speed [m/s]; coat and legs [m2 K/W]; share confused; size of the negative binomial. Typed
# a second time, not read from the code.
PRINTED = {
    "hedgehog": ((0.14, 0.25, 0.15), 0.25, (0.35, 0.35), 0.15, 0.01, 1.0),
    "cat": ((0.28, 0.46, 0.13), 0.8, (0.27, 0.27), 0.15, 0.02, 1.0),
    "fox": ((0.40, 0.70, 0.16), 1.2, (0.70, 0.33), 0.15, 0.03, 1.0),
    "dog": ((0.60, 0.90, 0.24), 1.5, (0.25, 0.25), 0.12, 0.05, 0.5),
    "roe deer": ((0.95, 1.05, 0.25), 1.2, (0.65, 0.65), 0.15, 0.10, 1.0),
    "boar": ((0.75, 1.20, 0.35), 1.2, (0.45, 0.45), 0.12, 0.08, 0.5),
    "bird": ((0.25, 0.45, 0.60), 8.0, (0.35, 0.35), None, 0.02, 0.5),
    "bat": ((0.05, 0.10, 0.30), 6.0, (0.15, 0.15), None, 0.01, 0.5),
}
ANIMALS_KM2_AND_KM = {
    "hedgehog": (10.0, 0.8), "cat": (50.0, 2.4), "fox": (3.0, 9.4), "dog": (0.3, 5.0), "roe deer": (5.0, 2.5), "boar": (1.0, 12.7)
}  # fmt: skip
# Events a night and camera; duration, cycles, contrast and size (median, sigma); share on a line; confused; shape cycles; k.
PRINTED_BURSTS = {
    "insect": (30.0, (0.35, 0.6), (3.0, 0.5), (2.0, 0.7), (1.0, 1.0), 0.2, 0.05, 8.0, 0.5),
    "web": (1.5, (20.0, 1.0), (4.0, 0.5), (2.5, 0.6), (1.0, 1.0), 0.15, 0.10, 8.0, 0.3),
    "branch": (20.0, (1.5, 0.8), (2.5, 0.5), (0.8, 0.6), (0.8, 0.6), 0.1, 0.10, 6.0, 0.3),
    "vent": (10.0, (4.0, 0.8), (5.0, 0.6), (3.0, 0.6), (1.5, 0.6), 0.1, 0.10, 6.0, 0.7),
    "sun": (5.0, (10.0, 1.0), (4.0, 0.6), (2.0, 0.6), (1.5, 0.8), 0.1, 0.05, 6.0, 0.3),
}


@pytest.mark.parametrize("kind", PRINTED)
def test_a_body_brings_the_numbers_of_its_kind(kind):
    """Catches: a number of a kind that drifted, one that lands in another field."""
    body = resolve(Stimulus(kind=kind))
    size, speed, coats, legs, confused, k = PRINTED[kind]
    assert (body.size_m, body.leg_m2k_w, body.confused, body.bursts) == (size, legs, confused, k)
    assert body.speed_m_s == Quantity.lognormal(speed, 0.4) and body.size_sigma_ln == 0.10
    assert body.coat_m2k_w == tuple(Quantity.lognormal(coat, 0.25) for coat in coats)
    if kind in ANIMALS_KM2_AND_KM:
        assert (body.rate.density_km2, body.rate.km_per_night) == tuple(map(fixed, ANIMALS_KM2_AND_KM[kind]))
        assert (body.way, body.offset_m, body.base_m) == ("cross", Quantity.uniform(-0.6, -0.1), fixed(0.0))
    else:
        assert body.way == "over" and body.rate.parts == (body.rate.per_night_100m,)


def test_what_only_some_kinds_have():
    """Catches: a cat that walks as far in heavy rain, a hedgehog awake in frost, a gull that sits no higher on a higher fence."""
    cat, hedgehog, bird, bat = (resolve(Stimulus(kind=kind)) for kind in ("cat", "hedgehog", "bird", "bat"))
    assert cat.rain_share == 0.67 and hedgehog.rain_share == 1.0
    assert hedgehog.active == {"air_temperature_c": (5.0, 99.0)} and cat.active == {}
    assert cat.through == {"none": 1.0, "mesh": 0.3, "palisade": 0.8, "wall": 0.0}
    assert bird.base_of_barrier and bird.base_m == Quantity.uniform(0.0, 1.0) and bird.pause_s == fixed(10.0)
    assert not bat.base_of_barrier and bat.base_m == Quantity.uniform(1.0, 6.0) and bat.pause_s == fixed(0.0)
    assert bat.months == (4, 5, 6, 7, 8, 9, 10)


def test_people_and_vehicles():
    people = only('kind = "people"\nper_night = 6')
    assert (people.silhouette, people.way, people.confused, people.bursts) == ("person", "along", 1.0, 2.0)
    assert (people.size_m, people.speed_m_s, people.coat_m2k_w) == (None, None, None)
    assert people.offset_m == Quantity.uniform(-6.0, -1.0) and people.rate.per_night == fixed(6.0)
    car = only('kind = "vehicle"\nper_night = 3\nat = { points_m = [[0, -5], [48, -5]] }')
    assert (car.over_air_k, car.coat_m2k_w, car.size_m) == ((2.0, 10.0), None, (1.5, 4.5, 1.8))
    assert car.at.points_m == ((0.0, -5.0), (48.0, -5.0))


@pytest.mark.parametrize("kind", PRINTED_BURSTS)
def test_a_burst_brings_the_numbers_of_its_kind(kind):
    at = {"at": {"points_m": ((1.0, 2.0),)}} if kind in ("branch", "vent") else {}
    burst = resolve(Stimulus(kind=kind, **at))
    rate, duration, cycles, contrast, size, on_line, confused, shape, k = PRINTED_BURSTS[kind]
    assert burst.per_night == fixed(rate) and burst.on_line_share == on_line
    for found, expected in ((burst.duration_s, duration), (burst.cycles, cycles), (burst.contrast_k, contrast)):
        assert found == Quantity.lognormal(*expected)
    assert burst.relative_size == Quantity.lognormal(*size)
    assert (burst.confused, burst.shape_cycles, burst.bursts) == (confused, shape, k)
    assert burst.law == {"branch": "wind", "sun": "sun"}.get(kind, "fixed")


def test_every_number_has_a_source_and_every_kind_is_complete():
    """Catches: a number that nobody stands for; a kind of which the loader would ask numbers that its user cannot know."""
    for row in (*BODIES, *BURSTS):
        numbers = [value for value in (getattr(row, each.name) for each in dataclasses.fields(row)) if isinstance(value, Sourced)]
        assert len(numbers) >= 3 and all(mark_of(number.source) for number in numbers), row.name
        place = {"at": {"points_m": ((0.0, -5.0), (9.0, -5.0))}} if row.name in ("vehicle", "branch", "vent") else {}
        assert missing_keys(Stimulus(kind=row.name, **place)) == ()
    assert len(KINDS) == len(BODIES) + len(BURSTS)


# ------------------------------------------------------------------------------------------------ what the user's keys change


def test_the_files_keys_win():
    fox = only(
        'kind = "fox"\nname = "vixen"\ndensity_km2 = 8\nthrough = { palisade = 0.1 }\nspeed_m_s = 2.0\nsize_m = [0.5, 0.8, 0.2]\n'
        "coat_m2k_w = { winter = 0.9, summer = { median = 0.2, sigma_ln = 0.1 } }\nconfused = 0.2\nbursts = 3\nrain_share = 0.5\n"
        "size_sigma_ln = 0\nactive = { wind_m_s = [0, 5] }\nshape_cycles = 6\nmonths = [12, 1]"
    )
    assert (fox.name, fox.kind) == ("vixen", "fox")
    assert (fox.rate.density_km2, fox.rate.km_per_night) == (fixed(8.0), fixed(9.4))
    assert fox.through == {"none": 1.0, "mesh": 0.2, "palisade": 0.1, "wall": 0.0}
    assert fox.speed_m_s == fixed(2.0) and fox.speed_sigma_ln == 0.0 and fox.size_m == (0.5, 0.8, 0.2)
    assert fox.coat_m2k_w == (fixed(0.9), Quantity.lognormal(0.2, 0.1))
    assert (fox.confused, fox.bursts, fox.rain_share, fox.size_sigma_ln, fox.shape_cycles) == (0.2, 3.0, 0.5, 0.0, 6.0)
    assert fox.active == {"wind_m_s": (0.0, 5.0)} and fox.months == (12, 1)
    assert only('kind = "cat"\nthrough = 0.5').through == {"none": 1.0, "mesh": 0.5, "palisade": 0.5, "wall": 0.5}


def test_a_rate_is_one_rate():
    """Catches: a rate of the user's beside the kind's own, so that both are counted."""
    cat = only('kind = "cat"\nper_night_100m = { median = 4.0, sigma_ln = 0.3 }')
    assert cat.rate.parts == (Quantity.lognormal(4.0, 0.3),) and cat.rate.has_spread
    bird = only('kind = "bird"\ndensity_km2 = 100\nkm_per_night = 1.5')
    assert bird.rate.parts == (fixed(100.0), fixed(1.5)) and not bird.rate.has_spread
    assert only('kind = "bird"\nper_night = 9').rate.parts == (fixed(9.0),)
    assert only('kind = "insect"\nper_night = 9').per_night == fixed(9.0)


def test_a_flyer_of_a_given_height_flies_at_that_height():
    """Catches: metres taken for heights of the barrier."""
    bird = only('kind = "bird"\nbase_m = 3.0')
    assert bird.base_m == fixed(3.0) and not bird.base_of_barrier


def test_kinds_of_ones_own():
    sheep = only(
        'kind = "body"\nname = "sheep"\nsilhouette = "four-legged"\nway = "along"\noffset_m = -1.0\n'
        "per_night = 5\nsize_m = [0.7, 1, 0.4]\nspeed_m_s = { median = 0.5, sigma_ln = 0.5 }\ncoat_m2k_w = 1.2\n"
        "leg_m2k_w = 0.2\nconfused = 0.05\nbursts = 0.5"
    )
    assert (sheep.name, sheep.way, sheep.leg_m2k_w, sheep.shape_cycles) == ("sheep", "along", 0.2, None)
    assert sheep.speed_sigma_ln == 0.5 and sheep.coat_sigma_ln == 0.0
    spray = only(
        'kind = "burst"\nname = "spray"\nper_night = 4\nduration_s = { median = 1, sigma_ln = 0.5 }\n'
        "cycles = { median = 2, sigma_ln = 0.5 }\ncontrast_k = { median = 1, sigma_ln = 0.5 }\n"
        "relative_size = { median = 1, sigma_ln = 0.5 }\non_line_share = 0.3\n"
        'confused = 0.1\nshape_cycles = 6\nbursts = 0.4\nrate_follows = "wind"\ncameras = ["C1"]'
    )
    assert (spray.law, spray.cameras, spray.on_line_share) == ("wind", ("C1",), 0.3)
    with pytest.raises(UsageError, match='stimulus of kind "body" lacks silhouette, way'):
        resolve(Stimulus(kind="body"))
    with pytest.raises(UsageError, match='stimulus of kind "people" lacks a rate'):
        resolve(Stimulus(kind="people"))


def test_places_have_a_name_and_a_height():
    vent = only('kind = "vent"\nname = "boiler"\nat = { points_m = [[3, 4]] }')
    assert (vent.at.name, vent.at.points_m, vent.at.height_m) == ("boiler", ((3.0, 4.0),), 2.0)
    named = only('kind = "vent"\nat = { name = "stack", points_m = [[3, "4 ft"]], height_m = "10 ft" }')
    assert (named.at.name, named.at.height_m) == ("stack", pytest.approx(3.048)) and named.at.points_m[0][1] == pytest.approx(
        1.2192
    )


def test_uncertainty_of_the_site_is_that_of_its_stimuli():
    site = site_of('kind = "cat"', more="\n[nuisance]\nuncertainty = 5.0\n")
    assert resolved(site)[0].rate_uncertainty == 5.0 and resolve(site.stimulus[0]).rate_uncertainty == 3.0


# ------------------------------------------------------------------------------------------------ as part of a site


def test_a_site_without_stimuli_is_what_it_was():
    """Catches: a text, and with it a hash and the key of a cache, that changes by an empty table."""
    site = least()
    assert (site.stimulus, site.soak, site.nuisance.model_fields_set) == ((), (), set())
    assert (site.requirement.nuisance_per_night, site.requirement.nuisance_bad_night) == (None, None)
    assert (site.nuisance.attempts_per_year, site.nuisance.uncertainty, site.nuisance.other_alarms_per_h) == (None, 3.0, 0.0)
    assert site.nuisance.service_s == fixed(120.0)
    text = site_to_toml(python_site())
    assert not any(word in text for word in ("nuisance", "stimulus", "soak"))
    assert hashlib.sha256(text.encode()).hexdigest() == "abb937cbcccc31b73bd84d9db6172b2b604746f3226f50e11ac54d0aa90888dc"
    assert no_stimuli(site) == {}


def test_names_and_sections_are_filled_in():
    site = site_of('kind = "cat"', 'kind = "insect"', 'kind = "cat"\nname = "barn cats"\nperimeters = ["fence"]')
    assert [(each.name, each.family, each.perimeters) for each in site.stimulus] == [
        ("cat", "body", ("fence",)),
        ("insect", "burst", ()),
        ("barn cats", "body", ("fence",)),
    ]
    assert "name" not in site.stimulus[0].model_fields_set


def test_the_demos_stimuli_come_back_from_their_text():
    """Catches: a key that is not written, or that is read otherwise than it was written."""
    site = parse_site(DEMO + DEMO_STIMULI + '\n[[soak]]\ncause = "cat"\nnights = 7\nalarms = 5\n[nuisance]\nservice_s = 60\n')
    assert len(site.stimulus) == 10 and site.replace() == site
    again = parse_site(site_to_toml(site))
    assert again == site and resolved(again) == resolved(site)
    assert parse_site(DEMO).replace(stimulus=site.stimulus, soak=site.soak, nuisance=site.nuisance) == site


def test_every_key_comes_back_from_its_text():
    fields = {
        "kind": "fox", "name": "a", "perimeters": ["fence"], "density_km2": {"dist": "uniform", "low": 1, "high": 5},
        "km_per_night": 4, "through": {"mesh": 0.1}, "way": "cross", "offset_m": -1, "silhouette": "four-legged",
        "size_m": [1, 1, 1], "size_sigma_ln": 0.2, "speed_m_s": 1, "coat_m2k_w": {"winter": 1.0, "summer": 0.5},
        "leg_m2k_w": 0.2, "rain_share": 0.5, "confused": 0.1, "shape_cycles": 5, "bursts": 2, "by_hour": [1.0] * 24,
        "months": [1, 2], "active": {"wetness": [0, 0.5]},
    }  # fmt: skip
    burst = {
        "kind": "branch", "name": "b", "per_night": 4, "cameras": ["C1"], "rate_follows": "fixed", "on_line_share": 0.5,
        "at": {"name": "oak", "points_m": [[1, 2]], "height_m": 4}, "duration_s": {"median": 2, "sigma_ln": 0.5},
        "cycles": {"median": 2, "sigma_ln": 0.5}, "contrast_k": {"median": 2, "sigma_ln": 0.5},
        "relative_size": {"median": 2, "sigma_ln": 0.5},
    }  # fmt: skip
    rest = [{"kind": "bird", "base_m": 1, "pause_s": 2, "per_night_100m": 3}]
    site = python_site(stimulus=[fields, burst, *rest], soak=[{"cause": "a", "nights": 3, "alarms": 0}])
    assert {key for each in site.stimulus for key in each.model_fields_set} == set(Stimulus.model_fields)
    assert parse_site(site.text) == site and resolved(parse_site(site.text)) == resolved(site)


def test_a_camera_that_is_taken_away_leaves_its_stimuli_their_rows():
    """Catches: a site that cannot be made because a stimulus names a camera that failed; a burst that moves to other cameras."""
    second = '[[camera]]\nmark = "C2"\nposition_m = [9, 1]\nheight_m = 4\naim_m = [1, 1]\nsensor = "core"\nlens = "wide"\n'
    of = '\n[[stimulus]]\nkind = "web"\nname = "{0}"\ncameras = {1}\n'
    text = (
        LEAST
        + second
        + of.format("both", '["C1", "C2"]')
        + of.format("one", '["C2"]')
        + '[[soak]]\ncause = "one"\nnights = 2\nalarms = 1\n'
    )
    site = parse_site(text)
    for left in (without_cameras(site, ["C2"]), with_cameras(site, site.camera[:1])):
        both, one = resolved(left)
        assert (both.cameras, both.per_night) == (("C1",), fixed(1.5))
        assert (one.name, one.cameras, one.per_night) == ("one", (), fixed(0.0))
    assert without_cameras(site, ["C1"]).stimulus[1] == site.stimulus[1]
    assert site.replace(**no_stimuli(site)).stimulus == ()


def test_without_stimuli_a_site_loses_its_ceilings_too():
    site = site_of('kind = "cat"').replace(requirement={"pd": 0.8, "nuisance_per_night": 2.0})
    bare = site.replace(**no_stimuli(site))
    assert bare.requirement == least(("[site]", "[requirement]\npd = 0.8\n[site]")).requirement and bare.soak == ()


def test_flyers_above_every_camera_are_warned_about():
    """Catches: a stimulus whose rate counts for nothing, without a word."""
    assert not [text for text in site_warnings(site_of('kind = "bird"', 'kind = "bat"')) if "base_m" in text]
    assert [text for text in site_warnings(site_of('kind = "bat"\nbase_m = 4.5')) if "base_m" in text] == [
        'stimulus "bat": base_m is never below the 4 m of the highest camera, so none takes it to be on the ground, and it '
        "raises no alarm"
    ]


def test_the_example_shows_what_it_says():
    site = load_site(Path(fencecast.__file__).parent / "examples" / "orchard-yard.toml")
    families = [each.family for each in resolved(site)]
    assert families.count("body") == 4 and families.count("burst") == 4 and site.soak[0].cause == "insects"
    assert site.requirement.nuisance_per_night and site.requirement.nuisance_bad_night and site_warnings(site) == []

"""Places, their codes, their order and their readings, on invented results with known answers."""

from string import ascii_uppercase
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.stats import binom

import fencecast as fc
from fencecast.estimate.diagnosis import widespread_classes
from fencecast.estimate.places import (
    class_summaries,
    class_with_most,
    letter_number,
    place_code,
    runs_of,
    section_letters,
    sections_of,
    segment_codes,
    site_of,
    touching,
    worst_first,
    year_verdicts,
)
from fencecast.estimate.results import Results
from fencecast.estimate.sight import blind_outline, hidden_by, hiders_of, near_edge_m, views_of
from fencecast.estimate.walktest import walks_needed
from fencecast.estimate.weakest import lowest_places, touching_sets, weak_places
from fencecast.findings.designtitles import loss_titles
from fencecast.findings.losses import loss_rows
from fencecast.findings.readings import reading
from fencecast.site import parse_site
from show import invented_results as invented


def with_weak(results, cells):
    """The results with only these (class, first, stop) stretches weak, the lower the later in the list; else meets."""
    results["pd"][:], results["pd_low"][:], results["pd_high"][:] = 0.97, 0.95, 0.99
    results["verdict"][:] = "meets"
    for n, (row, first, stop) in enumerate(cells):
        results["pd"][row, first:stop] = 0.5 - 0.05 * n
        results["pd_low"][row, first:stop] = 0.45 - 0.05 * n
        results["pd_high"][row, first:stop] = 0.55 - 0.05 * n
        results["verdict"][row, first:stop] = "weak"
    results["miss_share"][:] = 0.0
    results["miss_share"].loc[{"cause": "too small"}] = 1 - results["pd"].values
    return results


def places_of(results):
    return weak_places(Results.of(results))


def test_codes_and_letters():
    assert place_code("B", 58, 68) == "B 58–68 m"
    assert place_code("B", 108, 2, "C") == "B 108 m to C 2 m"
    assert place_code("A", 350, 4) == "A 350 m to A 4 m"  # across the joint of a closed section
    assert place_code("A", 0.4, 1053.2) == "A 0–1,053 m"
    assert [letter_number(n) for n in (0, 25, 26, 27, 51, 52)] == ["A", "Z", "AA", "AB", "AZ", "BA"]


def test_letters_begin_no_mark():
    """Catches: "C 48 m" beside camera "C6"; a site whose marks use up the alphabet."""
    site = invented.one_camera().attrs["site_toml"]
    site = parse_site(site)
    fence, camera = site.perimeter[0], site.camera[0]

    def lettered(sections: int, marks: str) -> tuple:
        pieces = [fence.model_copy(update={"name": f"piece {k}"}) for k in range(sections)]
        cameras = [camera.model_copy(update={"mark": mark}) for mark in marks]
        return section_letters(SimpleNamespace(perimeter=pieces, camera=cameras))

    assert lettered(3, "T") == ("A", "B", "C") and lettered(3, "bC") == ("A", "D", "E")
    assert lettered(16, "T")[-2:] == ("O", "Q"), "a proposal calls its cameras P1, P2 ..."
    assert lettered(2, ascii_uppercase) == ("AA", "AB")


def test_every_segment_has_a_code_that_can_be_typed(tmp_path):
    """Catches: two segments with one code, a dash that no keyboard has, an index that is lost in the file."""
    run = fc.run(parse_site(invented.yard().attrs["site_toml"]), precision=0.5, max_crossings=16)
    fc.save_results(run, tmp_path / "results.nc")
    for results in (run, fc.open_results(tmp_path / "results.nc")):
        codes = results["segment"].values
        assert len(set(codes)) == len(codes) and all(code.isascii() for code in codes)
        letters = [section.letter for section in sections_of(Results.of(results))]
        assert letters == ["A", "B", "D", "E"], "its cameras are C1, C2 ..."
        for k in (1, 40, len(codes) - 1):
            letter = letters[[p.name for p in Results.of(results).site.perimeter].index(str(results["section"].values[k]))]
            start, end = (results[name].values[k] for name in ("segment_start_m", "segment_end_m"))
            assert codes[k] == place_code(letter, start, end).replace("–", "-")
            assert np.array_equal(results["pd"].sel(segment=codes[k]).values, results["pd"].values[:, k])
    assert segment_codes(["A"], [np.array([0.0, 0.3])], [np.array([0.3, 0.6])]).tolist() == ["A 0.0-0.3 m", "A 0.3-0.6 m"]


def test_sections_and_what_touches():
    """Catches: sections that do not know their neighbours, segments that join across a gap."""
    results = invented.yard()
    sections = sections_of(Results.of(results))
    assert [(s.letter, s.name, s.length_m) for s in sections][:2] == [
        ("A", "West fence", 70.0),
        ("B", "North fence along the footpath", pytest.approx(120 + np.hypot(20, 16))),
    ]
    assert [s.following for s in sections] == [1, 2, 3, 0]
    after, before = touching(sections)
    assert after[sections[3].stop - 1] == 0 and before[0] == sections[3].stop - 1
    lane = invented.one_camera()
    (lane_section,) = sections_of(Results.of(lane))
    assert lane_section.following is None and touching((lane_section,))[0][-1] == -1
    ring = invented.closed_ring()
    assert sections_of(Results.of(ring))[0].following == 0


def test_runs_are_cut_at_joints():
    """Catches: a rail drawn from one section into the next."""
    results = invented.yard()
    sections = sections_of(Results.of(results))
    runs = runs_of(np.full(results.sizes["segment"], "weak"), sections)
    assert [(run.first, run.stop) for run in runs] == [(s.first, s.stop) for s in sections]


def test_a_place_is_entered_once_in_the_mildest_class_in_which_it_is_weak():
    """Catches: the same place listed once per class; a place described by the class that hides its fault."""
    results = with_weak(invented.yard(), [(0, 12, 16), (2, 10, 20), (1, 60, 62)])
    places = places_of(results)
    assert {(p.code, p.weather, p.weak_in) for p in places} == {
        ("B 50–54 m", "heavy rain", ("heavy rain",)),
        ("A 20–40 m", "clear night", ("clear night", "warm dusk")),
    }
    long = next(p for p in places if p.code == "A 20–40 m")
    assert long.weak_hours == 2650 + 420 and long.cause == "too small" and long.cause_share == pytest.approx(1.0)
    assert (long.pd, long.segment, long.weak_m, long.length_m) == (0.5, 12, 8.0, 20.0)
    assert long.worse is not None and (long.worse.weather, long.worse.segment) == ("warm dusk", 10)
    assert long.worse.pd == pytest.approx(0.45)


def test_of_classes_about_as_mild_the_usual_one_is_named():
    """Catches: a blind corner diagnosed in fog, whose mean Pd was a hundredth higher than that of clear nights."""
    results = with_weak(invented.yard(), [(row, 10, 14) for row in range(6)])
    results["pd"][5, 20:] = 0.985  # wet snow is a little milder over the fence, and rarer
    assert [(p.weather, len(p.weak_in)) for p in places_of(results)] == [("clear night", 6)]
    results["pd"][:5, 20:] = 0.93
    assert [p.weather for p in places_of(results)] == ["wet snow"]


def test_a_stretch_is_cut_where_the_cause_changes():
    """Catches: one cause named over a stretch that has two; number, cause and class of different segments; the edge of a view
    counted as a fault of its own; a near tie that splits a place by chance."""
    results = with_weak(invented.yard(), [(2, 10, 24), (0, 10, 16)])
    results["miss_share"].loc[{"cause": "too small"}][:, 16:24] = 0.0
    results["miss_share"].loc[{"cause": "washed out"}][:, 16:24] = 1.0 - results["pd"].values[:, 16:24]
    first, second = sorted(places_of(results), key=lambda place: place.segment)
    assert (first.code, first.cause, first.weather) == ("A 20–32 m", "too small", "clear night")
    assert (second.code, second.cause, second.weather) == ("A 32–48 m", "washed out", "warm dusk")
    for place in (first, second):
        named = results["miss_share"].sel(cause=place.cause).values[place.weather_index, place.segment]
        assert place.pd == results["pd"].values[place.weather_index, place.segment]
        assert place.cause_share == pytest.approx(named / (1.0 - place.pd))
    # A fringe of one segment (2 m) beside a longer, worse stretch belongs to it ...
    results = with_weak(invented.yard(), [(0, 10, 16)])
    results["pd"][0, 16], results["pd_low"][0, 16], results["pd_high"][0, 16] = 0.8, 0.78, 0.82
    results["verdict"][0, 16] = "weak"
    results["miss_share"].loc[{"cause": "too brief"}][0, 16] = 0.2
    assert [(p.code, p.cause) for p in places_of(results)] == [("A 20–34 m", "too small")]
    # ... and one that is worse than what it lies beside does not.
    results["pd"][0, 16], results["pd_low"][0, 16], results["pd_high"][0, 16] = 0.1, 0.08, 0.12
    results["miss_share"].loc[{"cause": "too brief"}][0, 16] = 0.9
    assert {(p.code, p.cause) for p in places_of(results)} == {("A 20–32 m", "too small"), ("A 32–34 m", "too brief")}
    # A near tie over a long half follows the other half.
    results = with_weak(invented.yard(), [(0, 10, 20)])
    results["miss_share"].loc[{"cause": "too small"}][0, 16:20] = 0.24
    results["miss_share"].loc[{"cause": "washed out"}][0, 16:20] = 0.26
    assert [(p.code, p.cause) for p in places_of(results)] == [("A 20–40 m", "too small")]


def test_places_merge_across_classes_joints_and_the_ring():
    """Catches: two weak runs of different classes that touch counted as two places; a joint that splits a place."""
    results = with_weak(invented.yard(), [(0, 30, 35), (1, 35, 38)])  # A 60-70 m and B 0-6 m touch at the joint
    (place,) = places_of(results)
    assert place.code == "A 60 m to B 6 m" and set(place.weak_in) == {"clear night", "heavy rain"}
    results = with_weak(invented.yard(), [(0, 30, 38)])
    assert [p.code for p in places_of(results)] == ["A 60 m to B 6 m"]
    ring = invented.closed_ring()
    last = ring.sizes["segment"]
    assert [p.code for p in places_of(with_weak(ring, [(0, 0, 2), (0, last - 3, last)]))] == ["A 354 m to A 4 m"]


def test_a_class_weak_over_more_than_half_is_left_out_of_the_merging():
    """Catches: a foggy class that turns the whole fence into one place; and a class just under half that must count."""
    results = with_weak(invented.yard(), [(0, 10, 20), (5, 0, 110)])
    assert widespread_classes(results) == [5]
    assert [p.code for p in places_of(results)] == ["A 20–40 m"]
    results = with_weak(invented.yard(), [(5, 0, 100)])
    assert widespread_classes(results) == [] and len(places_of(results)) == 1


def test_what_worse_weather_adds_may_be_weak_everywhere():
    """Catches: a class that is weak over most of the fence left out of what is said beside a place."""
    results = with_weak(invented.yard(), [(0, 10, 20), (5, 0, 110)])
    results["pd"][5, 13], results["pd_low"][5, 13], results["pd_high"][5, 13] = 0.2, 0.15, 0.25
    (place,) = places_of(results)
    assert (place.code, place.weather, place.pd, place.segment, place.widespread) == ("A 20–40 m", "clear night", 0.5, 10, False)
    assert place.worse is not None and (place.worse.weather, place.worse.pd, place.worse.segment) == ("wet snow", 0.2, 13)
    assert "In wet snow Pd falls to 0.20." in reading(Results.of(results), place)
    (alone,) = places_of(with_weak(invented.yard(), [(0, 10, 20)]))
    assert alone.worse is None and "falls to" not in reading(Results.of(results), alone)


def test_where_all_weak_classes_are_widespread_the_mildest_names_the_places():
    """Catches: no place named where a fault reaches over most of the fence; a meeting stretch named beside weak ones."""
    results = with_weak(invented.yard(), [(row, 0, 110) for row in range(6)])
    (place,) = lowest_places(Results.of(results))
    mildest = max(class_summaries(results), key=lambda c: c.mean_pd).name
    assert place.segments == tuple(range(110)) and place.weather == mildest and place.widespread and not place.valley
    assert reading(Results.of(results), place).endswith(f" Most of the fence is also weak in {mildest}.")


def test_a_class_without_hours_names_no_place():
    results = invented.class_without_hours()
    assert places_of(with_weak(invented.class_without_hours(), [(6, 10, 15)])) == []
    assert worst_first(results)[-1].name == "dense fog, never here"


def test_weather_classes_come_worst_first():
    """Longest weak length first, then the lowest mean Pd; classes of no hours last."""
    results = with_weak(invented.yard(), [(3, 0, 5), (4, 0, 20)])
    results["pd"][2] -= 0.01
    assert [c.name for c in worst_first(results)][:3] == ["radiation fog", "advection fog", "warm dusk"]


def test_metres_add_up_to_the_fence():
    for make in (invented.yard, invented.section_without_data, invented.large):
        results = make()
        for c in class_summaries(results):
            total = float((results["segment_end_m"] - results["segment_start_m"]).sum())
            assert c.meets_m + c.undecided_m + c.weak_m + c.no_data_m == pytest.approx(total)


def test_the_five_lowest_places_of_a_met_fence_lie_apart():
    """Catches: five neighbours of the one lowest segment, or an empty table."""
    results = invented.all_meet()
    places = lowest_places(Results.of(results))
    assert len(places) == 5 and all(p.verdict == "meets" and p.weak_in == () for p in places)
    spots = sorted((p.section, p.chainage_m) for p in places)
    assert all(a[0] != b[0] or b[1] - a[1] >= 10 for a, b in zip(spots, spots[1:]))
    assert places[0].pd == pytest.approx(float(results["pd_worst"].min()))


def test_a_valley_keeps_its_neighbours_off_the_list():
    """Catches: the slope of one valley listed as four more places; a shallow valley that spans its whole section."""
    results = with_weak(invented.yard(), [])
    results["pd"][0, 15:26] = 0.955
    results["pd"][0, 19:22] = 0.925
    results["pd"][0, 20] = 0.92
    places = lowest_places(Results.of(results))
    assert places[0].code == "A 38–44 m"
    assert all(p.pd == pytest.approx(0.97) for p in places[1:])


def test_the_cause_of_a_place_needs_misses_beyond_its_interval():
    """Catches: a leading cause named although 1 - Pd lies within the interval's half width."""
    results = with_weak(invented.yard(), [(0, 10, 20)])
    assert places_of(results)[0].cause == "too small"
    results["pd_low"][0, 10:20], results["pd_high"][0, 10:20] = -0.6, 0.6  # half width 0.6, misses 0.5
    assert places_of(results)[0].cause is None
    assert "; misses are too few to name a cause." in reading(Results.of(results), places_of(results)[0])


def test_touching_sets_follow_the_fence():
    after, before = np.array([1, 2, 3, 4, 0]), np.array([4, 0, 1, 2, 3])
    assert touching_sets(np.array([True, False, True, False, True]), after, before) == [[4, 0], [2]]
    assert sorted(touching_sets(np.ones(5, dtype=bool), after, before)[0]) == [0, 1, 2, 3, 4]


def test_fresh_crossings_replace_the_number_and_the_verdict():
    results = with_weak(invented.yard(), [(0, 10, 20)])
    results["pd_fresh"][0, 10], results["pd_fresh_low"][0, 10], results["pd_fresh_high"][0, 10] = 0.89, 0.86, 0.92
    (place,) = places_of(results)
    assert (place.pd, place.low, place.high, place.fresh, place.verdict) == (0.89, 0.86, 0.92, True, "undecided")


def test_the_year_is_judged_by_its_own_interval():
    results = invented.yard()
    results["pd_year_low"][:], results["pd_year_high"][:] = 0.91, 0.93
    results["pd_year_high"][0], results["pd_year_low"][1] = 0.89, 0.89
    assert year_verdicts(results)[:3].tolist() == ["weak", "undecided", "meets"]


@pytest.mark.parametrize("misses, walks", [(0, 29), (1, 46), (2, 61)])
def test_walks_of_the_trade_for_0_90_at_95_percent(misses, walks):
    """29, 46, 61: exact binomial, the numbers that acceptance tests quote."""
    assert walks_needed(0.90, 0.95, misses) == walks


@pytest.mark.parametrize("pd, confidence, misses", [(0.9, 0.95, 3), (0.95, 0.9, 0), (0.5, 0.99, 1), (0.99, 0.95, 2)])
def test_walks_agree_with_a_statistics_library(pd, confidence, misses):
    """Catches: the wrong tail, or one walk too few. Source: the binomial distribution of scipy.stats."""
    n = walks_needed(pd, confidence, misses)
    assert binom.cdf(misses, n, 1 - pd) <= 1 - confidence < binom.cdf(misses, n - 1, 1 - pd)
    with pytest.raises(ValueError):
        walks_needed(1.0, 0.95)


def test_readings_name_camera_distance_and_cause():
    results = invented.yard()
    quay = sections_of(Results.of(results))[3].first
    results = with_weak(results, [(0, quay, quay + 2)])
    results["pd"][0, quay : quay + 2] -= 0.1
    (place,) = places_of(results)
    results["pd_camera"][:] = 0.01
    results["pd_camera"][2] = 0.4
    far = round(float(np.hypot(results.x_m[quay] - 58, results.y_m[quay] - 68)))
    text = reading(Results.of(results), place)
    assert text.startswith(f"Best camera here: C3, {far} m away (C5, only 1 m away, looks the other way); ")
    assert text.endswith("; too small there even at full contrast (lens wide).")
    results["miss_share"][:] = 0.0
    results["miss_share"].loc[{"cause": "not in view"}] = 1 - results["pd"].values
    (place,) = places_of(results)
    assert reading(Results.of(results), place).endswith(f". Best camera here: C3, {far} m away.")
    results["pd_camera"][:] = 0.01
    text = reading(Results.of(results), place)
    assert text == "No camera assigned here sees the blind ground at the foot of C5, 1 m away, which looks the other way."
    # A place that a far camera has in its picture is not called unseen.
    (place,) = places_of(with_weak(results, [(0, 1, 3)]))
    results["miss_share"][:] = 0.0
    results["miss_share"].loc[{"cause": "not in view"}] = 1 - results["pd"].values
    (place,) = places_of(results)
    expected = "C6, 70 m away, has the place in its picture, yet many crossings are out of view where they pass."
    assert reading(Results.of(results), place) == expected


def test_only_cameras_that_watch_the_section_are_read():
    """Catches: a camera that no rule of the section uses named as the one that has the place in its picture."""
    results = with_weak(invented.yard(), [(0, 1, 3)])
    results["miss_share"][:] = 0.0
    results["miss_share"].loc[{"cause": "not in view"}] = 1 - results["pd"].values
    results["pd_camera"][:] = 0.0
    rule = '[[rule]]\nkind = "line"\nperimeter = "West fence"\n'
    assert rule in results.attrs["site_toml"]
    results.attrs["site_toml"] = results.attrs["site_toml"].replace(rule, rule + 'cameras = ["C1", "C2"]\n')
    (place,) = places_of(results)
    text = reading(Results.of(results), place)
    assert text.startswith("No camera assigned here sees the blind ground below C1, within ") and text.endswith(" m.")


def test_a_met_place_is_not_read_as_a_weak_one():
    """Catches: 'too small there' printed beside a Pd of 0.97, and 'often' forgotten where half the crossings raise an alarm."""
    results = with_weak(invented.yard(), [])
    results["pd"][0, 20] = 0.94
    assert reading(Results.of(results), lowest_places(Results.of(results))[0]).endswith("; of its few misses most are too small.")
    (place,) = places_of(with_weak(results, [(0, 10, 20)]))
    assert place.pd == 0.5 and "often too small" in reading(Results.of(results), place)


def test_a_hidden_place_names_what_hides_it():
    """Catches: an obstacle ignored, or one behind the place blamed."""
    results = invented.yard()
    site = site_of(results)
    view = next(v for v in views_of(site) if v.mark == "C3")
    hiders = hiders_of(site)
    assert hidden_by(view, hiders, 25.0, 30.0, 1.0) == "Workshop"
    assert hidden_by(view, hiders, 110.0, 69.0, 1.0) is None
    assert hidden_by(view, hiders, 34.0, 57.95, 1.0) is None  # at its face, not behind it
    # The ray over the office (3 m high) to a far point: from 4 m up it clears only what is near the camera.
    assert hidden_by(view, hiders, 85.0, 0.0, 1.0) == "Site office"
    assert hidden_by(view, hiders, 85.0, 0.0, 4.0) is None


def test_the_near_edge_is_the_blind_ground_of_the_formula():
    """d0 = (h - z) / tan(t + v/2), for a camera 4 m up, 12 degrees down, 160 x 120 pixels of 17 um behind 3 mm."""
    results = invented.yard()
    view = views_of(site_of(results))[0]
    half_field = np.arctan(60 * 17e-6 / 3e-3)
    for height in (0.0, 1.0):
        expected = (4 - height) / np.tan(np.radians(12) + half_field)
        ahead = (view.x_m + 40 * np.sin(view.bearing_rad), view.y_m + 40 * np.cos(view.bearing_rad))
        assert near_edge_m(view, *ahead, height) == pytest.approx(expected, abs=0.25)
    outline = blind_outline(view)
    middle = outline[1:].mean(axis=0)
    assert view.distance_m(*middle) == pytest.approx(4 / np.tan(np.radians(12) + half_field), abs=0.05)


def test_of_equal_metres_the_worst_class_is_named_in_table_and_picture():
    """Catches: a tie broken by the order of the file in `worst-loss.png` and by the order of the table on the console."""
    results = with_weak(invented.yard(), [(2, 50, 60)])  # the third class is the worst
    shape = (1, results.sizes["weather"], results.sizes["segment"])
    newly = np.zeros(shape, dtype=np.int8)
    newly[0, 0, :10] = newly[0, 2, 10:20] = newly[0, 3, 20:30] = 1
    lost = np.zeros((1, results.sizes["camera"]), dtype=np.int8)
    lost[0, 0] = 1
    results = results.assign_coords(loss=["C1"]).assign(
        loss_newly_weak=(("loss", "weather", "segment"), newly),
        lost=(("loss", "camera"), lost),
        loss_mean_change=(("loss", "weather"), np.zeros(shape[:2])),
        pd_loss_change=(("loss", "weather", "segment"), np.zeros(shape)),
        pd_loss_fresh=(("loss", "weather", "segment"), np.full(shape, np.nan)),
        **{f"loss_year_change{end}": ("loss", [0.0]) for end in ("", "_low", "_high")},
    )
    assert class_with_most(results, newly[0].sum(axis=1)) == 2
    (row,) = loss_rows(Results.of(results))
    assert (row["most_in"], row["newly_weak_m"]) == ("warm dusk", pytest.approx(20.0))
    assert "20 m newly weak in warm dusk" in loss_titles(Results.of(results), 0, Results.of(results))[0]
    newly[0, 3, 30] = 1
    assert class_with_most(results, newly[0].sum(axis=1)) == 3

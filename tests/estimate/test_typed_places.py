"""Places as they are typed, held against the segments' own ends: by hand on an invented yard, and every printed code of it."""

import numpy as np
import pytest
import xarray as xr

import fencecast as fc
from fencecast.estimate.places import code_of, place_code, segment_codes
from fencecast.estimate.results import Results
from fencecast.estimate.typedplaces import segments_at
from show import invented_results

# Sections of the yard: A 70 m in 35 segments of 2 m, B 145.6 m in 73, D 54 m in 27, E 140 m in 70; A follows E.
A, B, D, E = range(35), range(35, 108), range(108, 135), range(135, 205)


@pytest.fixture(scope="module")
def yard():
    return Results(invented_results.yard())


@pytest.mark.parametrize(
    ("place", "segments"),
    [
        ("A 10-12 m", [5]),
        ("A 10–12 m", [5]),
        ("  a  10 - 12m ", [5]),
        ("A10-12", [5]),
        ("A 10 m-12 m", [5]),
        ("A 10 m", [5]),
        ("A 11.9 m", [5]),
        ("A 0 m", [0]),
        ("A 70 m", [34]),
        ("A 10-13 m", [5, 6]),
        ("A 9-13 m", [4, 5, 6]),
        ("A", A),
        ("Quay edge", E),
        ("quay EDGE", E),
        ("quay edge 138-140 m", [204]),
        ("North fence along the footpath 0-2 m", [35]),
        ("B 58–68 m", [64, 65, 66, 67, 68]),  # 57.85 to 67.82 m: rounded as they are printed
        ("B 144-146 m", [107]),
        ("A 66 m to B 4 m", [33, 34, 35, 36]),
        ("A 66 m to D 4 m", [33, 34, *B, 108, 109]),
        ("E 138 m to A 2 m", [204, 0]),
        ("A 10 m to A 14 m", [5, 6]),
    ],
)
def test_places_have_the_segments_that_they_name(yard, place, segments):
    """Catches: a neighbour too many or too few, a section's own metres counted along the fence, a dash that is not read."""
    assert segments_at(yard, place).tolist() == list(segments)


@pytest.mark.parametrize("name", ["yard", "one_camera", "large", "closed_ring", "short_sections"])
def test_every_printed_code_leads_back_to_its_segments(name):
    """Of all single segments, and of stretches of up to nine. Catches: rounding that differs between printing and reading."""
    results = Results(invented_results.ALL[name]())
    for section in results.sections:
        for first in range(section.first, section.stop):
            last = min(first + first % 9, section.stop - 1)
            code = code_of(results, results.sections, first, last)
            starts, ends = (results.array(f"segment_{end}_m", "segment") for end in ("start", "end"))
            if place_code(section.letter, starts[first], ends[last]).count("–") and round(ends[last]) > round(starts[first]):
                assert segments_at(results, code).tolist() == list(range(first, last + 1)), code


def test_a_place_over_the_joint_of_a_closed_section():
    """Catches: a ring whose place over its own joint is empty, or is all of it."""
    ring = Results(invented_results.closed_ring())
    count = ring.sizes["segment"]
    last, letter = float(ring.array("segment_start_m", "segment")[-1]), ring.sections[0].letter
    assert segments_at(ring, f"{letter} {last:.0f} m to {letter} 4 m").tolist() == [count - 1, 0, 1]


def test_codes_of_the_index_are_taken_as_they_are():
    """Codes with decimals, where segments are short. Catches: an index code whose decimals are dropped."""
    data = invented_results.one_camera()
    start, end = data["segment_start_m"].values, data["segment_end_m"].values
    data = data.assign_coords(segment=segment_codes(["A"], [start / 10], [end / 10]))
    results = Results(data.assign(segment_start_m=data["segment_start_m"] / 10, segment_end_m=data["segment_end_m"] / 10))
    codes = [str(code) for code in data["segment"].values]
    assert "." in codes[0] and [segments_at(results, code).tolist() for code in codes] == [[i] for i in range(len(codes))]


@pytest.mark.parametrize(
    ("place", "said"),
    [
        ("Qay edge", 'place "Qay edge" is not known: did you mean "Quay edge"? the sections are A ("West fence"), B ('),
        ("West fense 3-5 m", 'section "West fense" of the place "West fense 3-5 m" is not known: did you mean "West fence"?'),
        ("C 3-5 m", 'section "C" of the place "C 3-5 m" is not known: the sections are A'),
        ("C1", 'place "C1" is not known: the sections are A'),
        ("A 80 m", 'place "A 80 m": section A ends at 70 m;'),
        ("B 140-150 m", 'place "B 140-150 m": section B ends at 145.6 m;'),
        ("A 12-10 m", 'place "A 12-10 m" ends where or before it begins;'),
        ("10-12 m", 'place "10-12 m" names no section;'),
        ("", 'place "" is not known: the sections are A'),
    ],
)
def test_places_that_are_none_say_what_to_type(yard, place, said):
    """Catches: an empty selection or a KeyError for a slip of the keyboard."""
    with pytest.raises(fc.UsageError) as caught:
        segments_at(yard, place)
    assert said in str(caught.value) and 'such as "A 10-12 m"' in str(caught.value)


def test_a_stretch_over_a_gap_is_refused():
    """Catches: a place that jumps to a section which does not touch."""
    lane = Results(invented_results.one_camera())
    with pytest.raises(fc.UsageError, match="section A does not follow A"):
        segments_at(lane, "A 60 m to A 4 m")


def test_sel_narrows_by_place_and_labels(yard):
    """Against the same numbers by position. Catches: another order of segments, a variable kept that is of all classes."""
    data = yard.data
    part = yard.sel("E 138 m to A 2 m", weather="clear night")
    row = yard.classes.index("clear night")
    assert isinstance(part, xr.Dataset) and part.sizes["segment"] == 2 and "weather" not in part.sizes
    assert part["pd"].values.tolist() == data["pd"].values[row, [204, 0]].tolist()
    assert part["miss_share"].dims == ("cause", "segment") and part.attrs["caution"] == data.attrs["caution"]
    for name in ("pd_year", "pd_worst", "worst_weather", "noise_alarms_per_day", "pd_distance"):
        assert name not in part
    assert yard.sel("A 10 m", weather="clear night", camera="C1")["pd_camera"].values == data["pd_camera"].values[0, row, 5]
    assert "pd_year" in yard.sel("A") and yard.sel("A")["pd_year"].size == 35
    two = yard.sel(weather=["wet snow", "clear night"])
    assert two["weather"].values.tolist() == ["wet snow", "clear night"]
    assert np.array_equal(two["pd"].values[1], data["pd"].values[row])
    assert yard.sel(distance=20.0)["pd_distance"].dims == ("weather", "lens")


@pytest.mark.parametrize(
    ("labels", "said"),
    [
        ({"weather": "clear nigth"}, 'no weather "clear nigth" in these results; there are "clear night", '),
        ({"weather": "clear nigth"}, '; did you mean "clear night"?'),
        ({"camera": ["C1", "C9"]}, 'no camera "C9" in these results'),
        ({"wether": "clear night"}, 'these results have no labels "wether"; there are "weather", "camera", "cause"'),
        ({"distance": 21.0}, 'no distance "21.0" in these results; there are "2.0", "4.0"'),
        ({"distance": 21.0}, '"24.0" and 33 more'),
    ],
)
def test_labels_that_are_none_say_which_there_are(yard, labels, said):
    with pytest.raises(fc.UsageError) as caught:
        yard.sel(**labels)
    assert said in str(caught.value)

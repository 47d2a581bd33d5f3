"""Rain and snow from present-weather codes, where there is no gauge.

Classes of intensity: EnergyPlus, Auxiliary Programs, "EnergyPlus Weather File (EPW) Data Dictionary", table of weather codes.
"""

import numpy as np
import pytest

from fencecast.meteorology.records.presentweather import epw_code_mm_h, wmo_code_mm_h


def code(**digits):
    """An EPW code: nines, but for digits named p1 to p9."""
    return "".join(digits.get(f"p{place}", "9") for place in range(1, 10))


@pytest.mark.parametrize(
    ("what", "low", "high"),
    [
        (code(), 0.0, 0.0),
        (code(p2="0"), 0.1, 2.5),
        (code(p2="1"), 2.8, 7.6),
        (code(p2="2"), 7.6, 50.0),
        (code(p2="3"), 0.1, 2.5),
        (code(p2="7"), 2.8, 7.6),
        (code(p3="3"), 0.01, 0.25),
        (code(p3="4"), 0.25, 0.51),
        (code(p3="8"), 0.51, 2.0),
        (code(p3="0"), 0.26, 2.5),
        (code(p4="0"), 0.1, 0.9),
        (code(p5="2"), 1.0, 5.0),
        (code(p1="0"), 0.0, 0.0),
        (code(p7="5"), 0.0, 0.0),
        (code(p8="1"), 0.0, 0.0),
        (code(p2="0", p3="5"), 0.1, 2.5),
        (code(p1="0", p2="2"), 7.6, 50.0),
    ],
)
def test_epw_codes_fall_in_the_classes_that_the_format_defines(what, low, high):
    """The example of the data dictionary, heavy rain, is 929999999. Fog, haze and dry thunder are no rain."""
    assert low <= epw_code_mm_h(what) <= high


def test_the_example_of_the_data_dictionary():
    assert epw_code_mm_h("929999999") > 7.6
    assert np.isnan(epw_code_mm_h(""))


@pytest.mark.parametrize(
    ("what", "low", "high"),
    [
        ("00", 0.0, 0.0),
        ("45", 0.0, 0.0),
        ("51", 0.01, 0.25),
        ("53", 0.25, 0.51),
        ("55", 0.51, 2.0),
        ("61", 0.1, 2.5),
        ("63", 2.8, 7.6),
        ("65", 7.6, 50.0),
        ("71", 0.1, 0.9),
        ("75", 1.0, 5.0),
        ("79", 0.1, 0.9),
        ("80", 0.1, 2.5),
        ("82", 7.6, 50.0),
        ("85", 0.1, 0.9),
        ("95", 0.1, 7.6),
        ("97", 7.6, 50.0),
    ],
)
def test_codes_of_table_4677_by_kind_and_intensity(what, low, high):
    """WMO No. 306, code table 4677 (from memory): tens 5 drizzle, 6 rain, 7 snow, 8 showers; units rise with intensity."""
    assert low <= wmo_code_mm_h(what) <= high
    assert np.isnan(wmo_code_mm_h(""))


def test_every_code_has_a_rate():
    assert all(0.0 <= wmo_code_mm_h(f"{number:02}") <= 10.0 for number in range(100))
    draw = np.random.default_rng(3)
    for _ in range(300):
        assert 0.0 <= epw_code_mm_h("".join(draw.choice(list("0123456789"), 9))) <= 10.0

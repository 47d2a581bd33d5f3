"""`fencecast run --sensitivity`: table, variables and picture, and nothing of it without the option."""

import os

import numpy as np
import pytest
from command_line import TINY, typed

import fencecast as fc

HEADING = "What drives the weakest places"


@pytest.mark.slow
def test_table_variables_and_picture(yard):
    """Catches: an option that changes nothing, a fixed input listed, results that lost units, a picture that plot forgets."""
    ended = typed("run", "tiny.toml", "--sensitivity", "--precision", "0.1")
    assert ended.code == 0, ended.err
    table = ended.out[ended.out.index(HEADING) : ended.out.index("How far to trust it")]
    assert "with others" in table and "mostly the" in table and "relative humidity" not in table
    assert "sensitivity.png" in os.listdir("tiny-results")
    with fc.open_results("tiny-results/results.nc") as results:
        assert results["sensitivity_total"].dims == results["sensitivity_first"].dims == ("place", "variable")
        assert results["sensitivity_total"].attrs["long_name"] and results["variable"].values[-1] == "cameras"
        assert str(results["place"].values[0]) in table
        assert np.all(results["sensitivity_total"].sel(variable="relative_humidity").fillna(0.0) == 0.0)
    assert typed("plot", "tiny-results/results.nc", "-o", "again").code == 0
    assert "sensitivity.png" in os.listdir("again")


def test_nothing_of_it_without_the_option(yard):
    """Catches: time and files that nobody asked for; an option that changes the other numbers."""
    ended = typed("run", "tiny.toml", "--precision", "0.1", "--no-pictures")
    assert HEADING not in ended.out
    site = fc.parse_site(TINY)
    plain, asked = (fc.run(site, precision=0.1, sensitivity=flag) for flag in (False, True))
    assert "sensitivity_total" not in plain and "sensitivity_total" in asked
    for name in plain.data_vars:
        assert plain[name].equals(asked[name]), name

"""[map] and [site]: one place, told once or twice; a second one is a contradiction."""

from __future__ import annotations

import pytest

from cli.command_line import HOURLY, TINY
from fencecast.errors import InputError
from fencecast.site import parse_site, site_to_toml

MAP = "[map]\nlatitude = 54.07\nlongitude = 6.41\ngrid_north_deg = 12.5\n\n"


def placed(ground: str = "") -> str:
    return TINY.replace("[site]\n", f"{MAP}[site]\n{ground}")


def test_the_site_lies_where_the_map_says():
    """Catches: a sun that does not know where it shines, and a default that is written into the file."""
    site = parse_site(placed())
    assert (site.site.latitude, site.site.longitude) == (54.07, 6.41)
    text = site_to_toml(site)
    assert text.count("latitude") == 1
    assert parse_site(text) == site
    assert parse_site(TINY).map is None


@pytest.mark.parametrize(
    ("ground", "said"),
    [
        ("latitude = 54.0\n", None),
        ("latitude = 53.9\n", "[site] latitude = 53.9 is not allowed: within 0.1 degrees of 54.07, the latitude of [map]"),
        ("longitude = 6.6\n", "[site] longitude = 6.6 is not allowed: within 0.1 degrees of 6.41, the longitude of [map]"),
    ],
)
def test_two_places(ground, said):
    """Catches: swapped numbers in one of the two, and rounded ones that are taken for another place."""
    if said is None:
        assert parse_site(placed(ground)).site.latitude == 54.0
        return
    with pytest.raises(InputError) as caught:
        parse_site(placed(ground))
    assert said in str(caught.value)


def test_longitudes_meet_at_180():
    text = placed("longitude = -179.99\n").replace("longitude = 6.41", "longitude = 179.99")
    assert parse_site(text).map.longitude == 179.99


def test_a_record_without_a_place_takes_that_of_the_map():
    """A CSV record needs a place for the sun: catches [map] that does not count."""
    plain = HOURLY.replace("latitude = 54.0\nlongitude = 4.0\n", "")
    with pytest.raises(InputError):
        parse_site(plain)
    assert parse_site(plain.replace("[site]\n", f"{MAP}[site]\n")).site.latitude == 54.07


def test_a_picture_goes_into_text_and_back():
    """Control points are pairs inside and tables in a file: catches a text that cannot be read again."""
    points = '[{ pixel = [1, 2], at_m = [0.0, "3 ft"] }, { pixel = [90, 2], at_m = [9.0, 0.0] }]'
    picture = f'[picture]\npath = "a.png"\npoints = {points}\n\n'
    site = parse_site(TINY.replace("[site]\n", f"{picture}[site]\n"))
    assert site.picture.points[0] == ((1.0, 2.0), (0.0, pytest.approx(0.9144)))
    assert parse_site(site_to_toml(site)) == site

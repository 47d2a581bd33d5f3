"""The picture under the plan: placed by a world file or by points, refused when it does not fit, kept in the results."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image

from fencecast.errors import InputError
from fencecast.maps.grid import Grid, to_system
from fencecast.maps.picture import affine_of_points, ground_picture
from fencecast.site import load_site

GRID = Grid(54.07, 6.41, 37.5)
SITE = """\
schema = 2
title = "Yard"
[site]
ground = "gravel"
[map]
latitude = 54.07
longitude = 6.41
grid_north_deg = 37.5
[picture]
{picture}
[[perimeter]]
name = "fence"
points_m = [[0.0, 0.0], [40.0, 0.0]]
inside = "left"
[sensors.s]
columns = 160
rows = 120
pitch_um = 17.0
netd_mk = 50.0
[lenses.l]
focal_length_mm = 6.0
f_number = 1.0
[[camera]]
mark = "T1"
position_m = [-9.0, 2.0]
height_m = 4.0
aim_m = [20.0, 1.0]
sensor = "s"
lens = "l"
[[rule]]
kind = "line"
perimeter = "fence"
[[weather]]
name = "clear night"
hours_per_year = 3000
air_temperature_c = 6.0
relative_humidity = 0.8
ground_minus_air_k = -2.0
"""


@pytest.fixture
def site(tmp_path):
    def make(picture: str, size=(900, 600), world: str | None = None):
        image = Image.new("RGB", size, (200, 200, 200))
        image.putpixel((0, 0), (0, 0, 0))
        image.save(tmp_path / "a.png")
        if world is not None:
            (tmp_path / "a.pgw").write_text(world)
        (tmp_path / "site.toml").write_text(SITE.format(picture=picture))
        return load_site(tmp_path / "site.toml")

    return make


def utm_world(pixel_m: float) -> str:
    x, y = to_system("EPSG:32632", GRID.to_map(np.array([-20.0, 40.0])))[0]
    return f"{pixel_m}\n0\n0\n{-pixel_m}\n{x}\n{y}\n"


def test_a_world_file_in_utm(site):
    """The centre of the upper left pixel lies where C and F say, and the far corner where pyproj puts it: catches half a pixel,
    rows the wrong way, UTM's grid north (2 degrees) taken for the site's."""
    placed = ground_picture(site('path = "a.png"\ncrs = "EPSG:32632"', world=utm_world(0.1)))
    assert np.allclose(placed.affine @ [0.0, 0.0, 1.0], [-20.0, 40.0], atol=1e-3)
    assert placed.residual_m < 2e-5  # 90 m of picture
    x, y = to_system("EPSG:32632", GRID.to_map(np.array([-20.0, 40.0])))[0]
    from fencecast.maps.grid import from_system

    corner = GRID.to_site(from_system("EPSG:32632", np.array([[x + 89.9, y - 59.9]])))[0]
    assert np.allclose(placed.affine @ [899.0, 599.0, 1.0], corner, atol=1e-3)


def test_a_small_copy_covers_the_same_ground(site):
    """2,400 pixels become 1,200; the corners of the picture stay: catches a shift of half a pixel in the copy."""
    placed = ground_picture(site('path = "a.png"\ncrs = "site"', (2400, 1600), "0.05\n0\n0\n-0.05\n10.025\n79.975\n"))
    assert placed.grey.shape == (800, 1200)
    assert np.allclose(placed.affine @ [-0.5, -0.5, 1.0], [10.0, 80.0])
    assert np.allclose(placed.affine @ [1199.5, 799.5, 1.0], [130.0, 0.0])


def test_web_mercator_far_away_is_refused(site):
    """One affine does not fit kilometres of web Mercator: told with the number (0.2 m for 3.4 km, much more for 9 km)."""
    x, y = to_system("EPSG:3857", np.array([[6.41, 54.07]]))[0]
    with pytest.raises(InputError, match="one affine places within 0.5 m; this leaves"):
        ground_picture(site('path = "a.png"\ncrs = "EPSG:3857"', world=f"20\n0\n0\n-20\n{x}\n{y}\n"))


def test_points(site):
    """Two fix turn, scale and shift; a third tells what is off."""
    turn, scale = np.radians(30.0), 0.08
    rotation = scale * np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])

    def at(column, row):
        return tuple(rotation @ [column, -row] + [5.0, 50.0])

    affine, residual = affine_of_points([((10, 20), at(10, 20)), ((800, 500), at(800, 500))])
    assert residual < 1e-9
    assert np.allclose(affine @ [300.0, 400.0, 1.0], at(300, 400))
    x, y = at(400, 20)
    _, residual = affine_of_points([((10, 20), at(10, 20)), ((800, 500), at(800, 500)), ((400, 20), (x + 0.4, y))])
    assert 0.1 < residual < 0.4
    with pytest.raises(InputError, match="off by 1: .* m, 2: .* m, 3: .* m"):
        affine_of_points([((10, 20), at(10, 20)), ((800, 500), at(800, 500)), ((400, 20), (x + 4.0, y))])
    with pytest.raises(InputError, match="scales agree within 2%"):
        affine_of_points([((0, 0), (0.0, 0.0)), ((100, 0), (10.0, 0.0)), ((0, 100), (0.0, -10.4))])


@pytest.mark.parametrize(
    ("picture", "world", "said"),
    [
        ('path = "none.png"\ncrs = "site"', None, "a file that is there"),
        ('path = "a.png"\ncrs = "site"', None, "a world file: six lines"),
        ('path = "a.png"\ncrs = "site"', "1\n2\n3\n", "a world file: six lines"),
        ('path = "a.png"\ncrs = "site"', "0\n0\n0\n0\n1\n1\n", "a world file: six lines"),
        ('path = "a.png"\ncrs = "EPSG:99999"', "1\n0\n0\n-1\n1\n1\n", "is not known"),
        ('path = "site.toml"\ncrs = "site"', None, "a PNG or JPEG file"),
    ],
)
def test_what_is_refused(site, picture, world, said):
    with pytest.raises(InputError, match=said):
        ground_picture(site(picture, world=world))


def test_a_huge_picture_is_not_unpacked(site, monkeypatch):
    """Asked of its head: catches a picture of gigabytes that is decoded before anybody asks."""
    made = site('path = "a.png"\ncrs = "site"', (400, 300), "1\n0\n0\n-1\n1\n1\n")
    monkeypatch.setattr("fencecast.maps.picture.MOST_PX", 100_000)
    monkeypatch.setattr(Image.Image, "convert", lambda *_: pytest.fail("it was decoded"))
    with pytest.raises(InputError, match="400 x 300"):
        ground_picture(made)

"""The promises about draws, a test each: about variables of the results, not bytes of files.

All comparisons are to the last bit and hold no chance, except the three that ask whether streams are unrelated; those state their
false-alarm rates. Bit-identity is promised on one kind of processor with the same library versions, which is what a test run is.
"""

import copy

import numpy as np
import pytest

import fencecast as fc
from fencecast.estimate import simulate as simulation
from fencecast.estimate.simulate import advance, new_tally
from fencecast.kernels.crossing import SUM_PD
from fencecast.kernels.pack import pack_cells, pack_plan
from fencecast.sampling.variables import stratum_key
from statistical.trial import CLEAR_COLD, base, crossings, fence

QUICK = {"precision": 0.05, "max_crossings": 256, "threads": 1}
FOG = CLEAR_COLD | {
    "name": "fog",
    "hours_per_year": 200,
    "visibility_m": {"dist": "lognormal", "median": 50.0, "sigma_ln": 0.4},
    "fog": "radiation",
}


def two_classes() -> dict:
    """Fog and clear air, a tolerance and spread NETD so that every kind of draw takes part, a second section."""
    table = base()
    table["weather"].append(copy.deepcopy(FOG))
    table["tolerance"] = {"bearing_deg": 1.0, "depression_deg": 0.5, "height_m": 0.1}
    table["perimeter"].append(fence("side", [[40.0, 0.0], [40.0, 12.0]]))
    table["rule"].append({"kind": "line", "perimeter": "side"})
    return table


def run(table: dict, **options):
    return fc.run(fc.Site(**copy.deepcopy(table)), **(QUICK | options))


def same_bits(one, other, skip=()):
    """Every variable and coordinate of two results, NaN equal to NaN; the names of those that differ."""
    assert set(one.variables) == set(other.variables)
    differing = []
    for name in set(one.variables) - set(skip):
        a, b = one[name].values, other[name].values
        equal = np.array_equal(a, b, equal_nan=True) if a.dtype.kind == "f" else np.array_equal(a, b)
        if not equal:
            differing.append(name)
    return differing


@pytest.fixture(scope="module")
def reference():
    return run(two_classes())


def test_the_same_file_seed_and_version_give_the_same_bits(reference):
    """Catches state left over from a run, draws from a global generator, an unordered set on the way."""
    assert same_bits(run(two_classes()), reference) == []


@pytest.mark.parametrize("threads", [2, 3])
def test_the_number_of_threads_changes_nothing(reference, threads, monkeypatch):
    """Small blocks, so that the threads have work to share. Catches sums shared between threads, draws keyed by thread."""
    monkeypatch.setattr(simulation, "BLOCK_CROSSINGS", 64)
    assert same_bits(run(two_classes(), threads=threads), reference) == []


@pytest.mark.parametrize("block", [1, 100, 10**6])
def test_the_size_of_a_block_changes_nothing(reference, block, monkeypatch):
    """Catches sums per block that are added up, and scratch that carries over from one crossing to the next."""
    monkeypatch.setattr(simulation, "BLOCK_CROSSINGS", block)
    assert same_bits(run(two_classes()), reference) == []


def tally_of(table: dict, upto: list[int], seed: int = 7, purpose: str = "main"):
    site = fc.Site(**copy.deepcopy(table))
    strata = pack_cells(site, seed, purpose=purpose)
    tally = new_tally(len(strata.weather), len(site.camera))
    for points in upto:
        advance(pack_plan(site), strata, tally, np.arange(len(strata.weather)), points, threads=1)
    return tally


def test_more_crossings_keep_the_first_ones():
    """16 points and then on to 32 gives the sums of 32 at once, and the first 16 are those of 16 alone. Catches a sequence that
    depends on how many points are asked for, and points that are done twice or left out where a round begins."""
    table = two_classes()
    assert np.array_equal(tally_of(table, [16, 32]).sums, tally_of(table, [32]).sums)
    assert np.array_equal(tally_of(table, [5, 16, 21, 32]).sums, tally_of(table, [32]).sums)
    single = crossings(table, 32)
    for points in (16, 32):
        added = np.zeros_like(single.rows[:, 0])
        for point in range(points):
            added += single.rows[:, point]
        assert np.array_equal(tally_of(table, [points]).sums[:, 0], added)


def test_a_higher_cap_only_adds():
    """Cells that were precise enough keep their every bit; the others go on. Catches a cap that changes the first rounds."""
    less = run(two_classes(), precision=0.02, max_crossings=256)
    more = run(two_classes(), precision=0.02, max_crossings=1024)
    kept = more["crossings"].values == less["crossings"].values
    assert 0 < kept.sum() < kept.size
    for name in ("pd", "pd_low", "pd_high", "alarm_depth_m", "alarm_delay_s"):
        assert np.array_equal(more[name].values[kept], less[name].values[kept], equal_nan=True), name
    assert np.all(more["crossings"].values[~kept] > less["crossings"].values[~kept])


CELLS = ("pd", "pd_low", "pd_high", "alarm_depth_m", "alarm_delay_s", "crossings", "verdict", "miss_share", "pd_camera")


def same_cells(larger, smaller, **chosen):
    """Cells of the smaller design inside the larger one, chosen by name, to the last bit."""
    for name in CELLS:
        ours = larger[name]
        for dimension, value in chosen.items():
            if dimension in ours.dims:
                ours = ours.sel({dimension: value})
        a, b = ours.transpose(*smaller[name].dims).values, smaller[name].values
        assert np.array_equal(a, b, equal_nan=True) if a.dtype.kind == "f" else np.array_equal(a, b), name


def test_adding_a_weather_class_leaves_the_others_alone(reference):
    """Before, between and after. Catches strata keyed by place in the file, and a table of choices that shifts."""
    table = two_classes()
    choice = {"dist": "choice", "values": [0.5, 3.0], "weights": [1.0, 2.0]}
    table["weather"].insert(0, CLEAR_COLD | {"name": "breeze", "wind_m_s": choice})
    table["weather"].insert(2, CLEAR_COLD | {"name": "gale", "wind_m_s": 9.0})
    same_cells(run(table), reference, weather=["clear cold night", "fog"])


def test_classes_chosen_on_the_command_line_equal_the_full_run(reference):
    """`--weather`: the rows of the full run. Catches strata counted over the chosen classes only."""
    for name in ("fog", "clear cold night"):
        chosen = run(two_classes(), weather=(name,))
        assert chosen["weather"].values.tolist() == [name]
        same_cells(reference, chosen, weather=[name])
        distance = reference["pd_distance"].sel(weather=[name]).values
        assert np.array_equal(chosen["pd_distance"].values, distance)


def test_adding_a_section_leaves_the_others_alone(reference):
    """In front of the others, far away, with a rule of its own. Catches strata keyed by a running segment number."""
    table = two_classes()
    table["perimeter"].insert(0, fence("outpost", [[500.0, 500.0], [520.0, 500.0]]))
    table["rule"].insert(0, {"kind": "line", "perimeter": "outpost"})
    larger = run(table)
    old = larger.isel(segment=larger["section"].values != "outpost")
    same_cells(old, reference)


def test_adding_a_camera_leaves_the_others_draws_alone(reference):
    """A camera that looks away, first in the file: nothing changes but its own row. Catches per-camera draws keyed by the
    camera's place, and a draw taken for it from the crossing's own stream."""
    table = two_classes()
    away = {"mark": "A", "position_m": [20.0, 60.0], "bearing_deg": 0.0}
    table["camera"].insert(0, table["camera"][0] | away)
    larger = run(table)
    assert np.all(larger["pd_camera"].sel(camera="A") == 0.0)
    same_cells(larger, reference, camera=["W", "E"])


def test_the_order_of_the_file_changes_nothing(reference):
    """Weather, cameras, rules, sections and lenses turned about. Catches anything keyed by position. Products over cameras are
    then taken in another order, so Pd may differ in its last bits, by 1e-12; crossings and each camera alone may not."""
    table = two_classes()
    for name in ("weather", "camera", "rule", "perimeter"):
        table[name].reverse()
    table["lenses"] = dict(reversed(table["lenses"].items()))
    turned = run(table)
    order = np.concatenate([np.flatnonzero(turned["section"].values == name) for name in ("fence", "side")])
    turned = turned.isel(segment=order).sel(weather=reference["weather"].values, camera=reference["camera"].values)
    for name in ("pd_camera", "crossings", "verdict"):
        assert np.array_equal(turned[name].values, reference[name].values), name
    for name in ("pd", "pd_low", "pd_high", "miss_share", "pd_year"):
        assert np.allclose(turned[name].values, reference[name].values, rtol=0.0, atol=1e-12), name


def test_a_title_a_price_or_a_comment_changes_nothing(reference):
    """Catches a stream keyed by the text or hash of the file."""
    table = two_classes() | {"title": "Another title"}
    table["camera"][0]["price"] = 900
    assert same_bits(run(table), reference) == []


def deviations(table: dict, seed: int, purpose: str = "main"):
    """How far each scrambling of each cell lies from its cell's mean, in standard deviations; 0 in cells without any."""
    tally = tally_of(table, [16], seed, purpose)
    means = tally.sums[:, :, SUM_PD] / 16
    return (means - means.mean(axis=1, keepdims=True)) / np.maximum(means.std(axis=1, keepdims=True), 1e-12)


@pytest.mark.parametrize("step", [1, 2, 2**32])
def test_seeds_are_unrelated(step):
    """Deviations of 26 cells of 8 scramblings under seeds s and s + 1 (users run 1, 2, 3), three times over: n = 624, |r| < 4.5 /
    sqrt(n) (12 comparisons of 1e-5). Catches a seed added to an index, so that cell or scrambling 2 of seed 1 is the first of
    seed 2."""
    table = two_classes()
    one = np.concatenate([deviations(table, seed) for seed in (1, 11, 21)])
    other = np.concatenate([deviations(table, seed + step) for seed in (1, 11, 21)])
    for shift in range(8):  # the same scrambling, and each other one
        r = np.mean(one * np.roll(other, shift, axis=1))
        assert abs(r) < 4.5 / np.sqrt(one.size), shift
    for shift in (-2, -1, 1, 2):  # neighbouring cells
        r = np.mean(one * np.roll(other, shift, axis=0))
        assert abs(r) < 4.5 / np.sqrt(one.size), shift
    assert not np.array_equal(one, other)


def test_strata_are_unrelated():
    """Cells of one run share nothing: deviations of neighbouring segments, of one segment in two classes or two sections that
    differ in name alone. n = 288 and 160, |r| < 4.5 / sqrt(n) (1e-5 each). Catches a key that leaves one of these out."""
    table = base()
    table["weather"].append(CLEAR_COLD | {"name": "twin"})
    table["perimeter"] = [fence("fence", [[0.0, 0.0], [40.0, 0.0]]), fence("again", [[0.0, 0.001], [40.0, 0.001]])]
    table["rule"] = [{"kind": "line", "points_m": [[-20.0, 1.0], [60.0, 1.0]]}]
    z = deviations(table, 5).reshape(2, 2, 10, 8)
    for one, other in ((z[0], z[1]), (z[:, 0], z[:, 1]), (z[:, :, :-1], z[:, :, 1:])):
        assert abs(np.mean(one * other)) < 4.5 / np.sqrt(one.size)
    keys = {int(stratum_key(s, n, k, w)) for s in range(5) for n in ("a", "b") for k in range(20) for w in ("x", "y")}
    assert len(keys) == 5 * 2 * 20 * 2


def test_fresh_crossings_are_unrelated_to_the_first_ones():
    """What the lowest cells are run again on. n = 208, |r| < 4.5 / sqrt(n) (1e-5). Catches a second run that repeats the first,
    and with it the selection that it should remove."""
    table = two_classes()
    one, other = deviations(table, 7), deviations(table, 7, "fresh")
    assert abs(np.mean(one * other)) < 4.5 / np.sqrt(one.size)
    results = run(table)
    again = ~np.isnan(results["pd_fresh"].values) & (results["pd"].values > 0.0) & (results["pd"].values < 1.0)
    assert again.any()
    assert np.all(results["pd_fresh"].values[again] != results["pd"].values[again])
    lowest = np.nanargmin(results["pd"].values, axis=1)
    assert not np.any(np.isnan(results["pd_fresh"].values[np.arange(len(lowest)), lowest]))


def test_the_seed_of_the_file_is_the_default():
    """Catches a run that ignores the file's seed, or prefers it to the one that was asked for."""
    table = two_classes()
    other = table | {"seed": 8}
    assert same_bits(run(table, seed=8), run(other)) == []
    assert "pd" in same_bits(run(table), run(other))

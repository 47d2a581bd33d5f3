"""Every check of `fencecast verify`: it passes, and it fails when the product is broken under it.

Which defect each check would catch, its source and the cause of its tolerance stand in the check itself.
"""

from __future__ import annotations

import ast
from pathlib import Path

import breaks
import numpy as np
import pytest

from fencecast.evidence import air, catalogue, crossings, radiance, slow
from fencecast.evidence.check import Check

CHECKS = {check.__name__: check for subject in catalogue.SUBJECTS for check in catalogue.checks_of(subject)}
# The slow Monte Carlo runs once: its checks pass and are broken in one test.
LONG = [check.__name__ for check in crossings.CHECKS]
SHORT = [name for name in CHECKS if name not in LONG]
PACKAGE = Path(catalogue.__file__).parent


def test_every_check_has_its_break():
    """Catches: a new check that was never seen to fail; two checks of one name."""
    assert set(CHECKS) == set(breaks.BREAKS)
    assert len(CHECKS) == sum(len(catalogue.checks_of(subject)) for subject in catalogue.SUBJECTS)


@pytest.mark.parametrize("name", SHORT)
def test_check_passes_and_says_what_it_is(name):
    """Catches: a model that has left its outside source; a line of the table without source, cause or cases."""
    check = CHECKS[name]()
    assert check.passed, check
    assert check.name == name
    assert check.quantity
    assert check.unit
    assert check.cause
    assert check.source
    assert check.cases >= 2
    assert CHECKS[name].__doc__.startswith("Catches ")


@pytest.mark.parametrize("name", SHORT)
def test_check_fails_when_the_product_is_broken(name, monkeypatch):
    """Catches: a check that cannot fail, or that does not call the product."""
    breaks.BREAKS[name](monkeypatch)
    check = CHECKS[name]()
    assert not check.passed, check


@pytest.mark.slow
@pytest.mark.parametrize("name", LONG)
def test_whole_crossings_pass_and_fail_when_broken(name, monkeypatch):
    """Catches: any slip in the kernel; and a comparison of the product with itself."""
    check = CHECKS[name]()
    assert check.passed, check
    breaks.BREAKS[name](monkeypatch)
    check = CHECKS[name]()
    assert not check.passed, check


def test_lost_numbers_do_not_pass(monkeypatch):
    """Catches: a comparison that is true for what is not a number."""
    monkeypatch.setattr(radiance.radiance, "planck_fraction", breaks.not_a_number)
    assert not radiance.planck_handbook().passed
    assert not Check("x", "x", np.nan, "x", 1.0, "x", "x", 1).passed


def test_the_independent_code_imports_nothing_of_the_product():
    """Catches: a shared formula, with which both would be wrong alike."""
    for path in sorted((PACKAGE / "independent").glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom):
                names = [node.module]
            elif isinstance(node, ast.Import):
                names = [alias.name for alias in node.names]
            else:
                continue
            for name in names:
                ours = name.split(".")[0] == "fencecast"
                assert not ours or name.startswith("fencecast.evidence.independent"), f"{path.name} imports {name}"


def test_sites_are_those_of_the_tests():
    """Catches: copies that drift apart."""
    for name in slow.SITES:
        original = Path(__file__).parents[1] / "data" / "sites" / f"{name}.toml"
        assert slow.site_file(name).read_bytes() == original.read_bytes()


@pytest.mark.parametrize(
    ("celsius", "percent", "distance_m", "passed"),
    [(20.0, 50.0, 20.0, 0.9749), (20.0, 50.0, 100.0, 0.9347), (20.0, 90.0, 100.0, 0.9055), (30.0, 50.0, 150.0, 0.8801)],
)
def test_band_model_table_is_the_one_of_the_specification(celsius, percent, distance_m, passed):
    """Catches: a run with other gases, other units of humidity, another band. Source: points of the run that the model's fit
    was made from; 6e-4 for gases whose mixing ratios that run does not state."""
    table = air.band_model_table()
    row = table[(table[:, 0] == celsius) & (table[:, 1] == percent) & (table[:, 2] == distance_m)]
    assert row[0, 3] == pytest.approx(passed, abs=6e-4)


def test_the_process_that_works_ahead_ends_with_its_block(monkeypatch):
    """Catches: a process that outlives an interrupted run; a reader that waits for a process that is gone."""
    with slow.working_ahead():
        assert slow._ahead is not None
    assert slow._ahead is None
    monkeypatch.setattr(slow, "run_cells", lambda: "worked out here")
    slow.means.cache_clear()
    reading, writing = slow.multiprocessing.Pipe(duplex=False)
    writing.close()
    monkeypatch.setattr(slow, "_ahead", reading)
    assert slow.means() == "worked out here"
    slow.means.cache_clear()

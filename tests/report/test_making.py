"""What may be handed to `fc.report`, and what it says of anything else."""

import pytest
import xarray as xr
from click.testing import CliRunner

import fencecast as fc
from fencecast.cli import main
from fencecast.errors import UsageError
from fencecast.estimate.store import save_results
from report.full_sites import results_of
from show import invented_comparisons


def compared():
    return invented_comparisons.comparison(results_of("yard"))


@pytest.mark.parametrize(
    ("results", "comparison", "said"),
    [
        (compared, None, "results: these are results of `fencecast compare`; give those of `fencecast run`"),
        (lambda: results_of("yard"), lambda: results_of("yard"), "compare: these are results of `fencecast run`; give those of"),
        (lambda: xr.Dataset(attrs={"study_toml": ""}), None, "results: these are results of `fencecast study`; give those of"),
    ],
)
def test_results_of_another_command_are_named(results, comparison, said):
    """Catches: an index error deep in a drawing."""
    with pytest.raises(UsageError, match=said):
        fc.report(results(), compare=None if comparison is None else comparison())


def test_the_command_ends_with_two_and_writes_nothing(tmp_path):
    """Catches: exit code 1 for a file of another command, a page half written."""
    save_results(compared(), tmp_path / "compare.nc")
    ended = CliRunner().invoke(main, ["report", str(tmp_path / "compare.nc"), "-o", str(tmp_path / "page.html")])
    assert ended.exit_code == 2 and "results of `fencecast compare`" in ended.output
    assert [each.name for each in tmp_path.iterdir()] == ["compare.nc"]

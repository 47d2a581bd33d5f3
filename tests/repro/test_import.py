"""Importing the package changes nothing in the user's process."""

import json
import os
import subprocess
import sys

PROGRAM = """
import importlib, json, os, pkgutil, sys, warnings
import matplotlib, numpy, xarray

def state():
    return {
        "xarray": {name: repr(value) for name, value in xarray.get_options().items()},
        "numpy": [repr(numpy.geterr()), repr(numpy.get_printoptions())],
        "matplotlib": {name: repr(value) for name, value in matplotlib.rcParams.items()},
        "warnings": [repr(each) for each in warnings.filters],
        "environment": dict(os.environ),
    }

import fencecast
before, names = state(), []
for found in pkgutil.walk_packages(fencecast.__path__, "fencecast."):
    if found.name != "fencecast.__main__":
        importlib.import_module(found.name)
        names.append(found.name)
after = state()
print(json.dumps({"names": names, "changed": {key: [before[key], after[key]] for key in before if before[key] != after[key]}}))
"""


def test_no_module_changes_the_process():
    """Catches: options set for the whole process (`xr.set_options(...)`, `np.seterr`, rcParams, warnings, the environment).

    The other libraries are imported first, by the modules themselves too: what they do at import is theirs, and is taken out by
    importing every one of them before.
    """
    first = "import click, dask, distributed, h5netcdf, numba, pandas, pvlib, rich, scipy.stats, shapely\n"
    ended = subprocess.run([sys.executable, "-c", first + PROGRAM], capture_output=True, text=True, env=os.environ, timeout=300)
    assert ended.returncode == 0, ended.stderr
    found = json.loads(ended.stdout.splitlines()[-1])
    assert len(found["names"]) > 150 and found["changed"] == {}

"""Where results come from: the code that made them, the libraries, the processor, and the model's parts with their sources.

What stands here goes into every results file, so that a file says by itself what it was made with. No name of a machine or of a
user and no path is among it.
"""

from __future__ import annotations

import json
import os
import platform
import sys
from collections.abc import Mapping, Sequence
from functools import lru_cache
from pathlib import Path

from fencecast import __version__
from fencecast.sources import COMPUTED, digest

# Libraries that a number of the results comes through, or that write the file.
LIBRARIES = ("numpy", "numba", "llvmlite", "scipy", "shapely", "pydantic", "pandas", "pvlib", "xarray", "h5netcdf", "h5py")

# The model's main parts with their sources, a sentence each, as in the model card; [P] and [M] have its meaning.
MODEL_PARTS = (
    "Radiance after Planck's law in the camera's band; clear air by a fit to the band model LOWTRAN7.",
    "Fog by Mie theory with the water of Hale & Querry 1973.",
    "Rain after Marshall & Palmer 1948, snow after Rasmussen et al. 1999.",
    "Clothing by a heat balance after ISO 7730, its insulation reduced after ISO 11079 [M]; emissivities of Steketee 1973, SLUM "
    "and NIJ.",
    "A body of a box and four rectangles, its sizes and speeds by gait after ANSUR II 2012, Bohannon & Williams Andrews 2011 and "
    "Cao et al. 2018; shapes and the mix of gaits [P].",
    "Noise by NETD (ASTM E1543) and clutter [P]; blur of diffraction, aberration and motion as one Gaussian.",
    "A look counts by resolved cycles on sqrt(height x width) through a target transfer function [M]; an alarm is m hits in the "
    "last n looks, exact; cameras are combined crossing by crossing with an encounter correlation [P].",
)
# What is added for sites with an hourly record.
HOURLY_PART = (
    "Ground by the hour by a force-restore model (Deardorff 1978) under sun (Haurwitz 1945, Kasten & Czeplak 1980) and sky "
    "(Prata 1996, Unsworth & Monteith 1975)."
)
MARKS = "[P] is common practice or judgement without a source, [M] a published value, not checked against the original."
INTERVALS = (
    "Crossings are stratified Sobol points under 8 independent scramblings; an interval is Student's t over the scramblings plus "
    "1/n, at 95 % never below 3.1/n, and at most 1.5 t se from Pd 0.05 to 0.95 unless scramblings agree within 0.1/n."
)


@lru_cache(maxsize=1)
def code_sha256() -> str:
    """SHA-256 of the package's sources and tables that numbers come from (`sources.COMPUTED`), 64 hexadecimal digits."""
    return digest(COMPUTED)


def library_versions() -> dict[str, str]:
    """Versions of Python and of the libraries that numbers come through; one that is not installed as a package is left out."""
    from importlib.metadata import PackageNotFoundError, version

    found = {"python": platform.python_version()}
    for name in LIBRARIES:
        try:
            found[name] = version(name)
        except PackageNotFoundError:
            continue
    return found


def processor() -> str:
    """What the machine code ran on: model, architecture, and the name by which code is compiled for it.

    `AMD EPYC (x86_64, compiled for znver4)`; the last digit of a number may differ between processors.
    """
    from llvmlite.binding import get_host_cpu_name

    compiled_for = os.environ.get("NUMBA_CPU_NAME") or get_host_cpu_name()
    machine = f"{platform.machine()}, compiled for {compiled_for}"
    model = _processor_model()
    return f"{model} ({machine})" if model else machine


def _processor_model(cpuinfo: Path = Path("/proc/cpuinfo")) -> str:
    """The processor's model as the system names it; '' where it does not."""
    if sys.platform.startswith("linux"):
        try:
            lines = cpuinfo.read_text(encoding="utf-8", errors="replace").splitlines()
        except OSError:
            return ""
        named = (line.partition(":")[2] for line in lines if line.partition(":")[0].strip().lower() == "model name")
        return " ".join(next(named, "").split())
    return " ".join(platform.processor().split())


def made_by(hourly: bool = False) -> dict[str, str]:
    """Attributes of results that this process computed: version, code, libraries, processor, the model's parts, intervals.

    hourly: whether an hourly record was used.
    """
    return {**made_with(library_versions(), hourly), "processor": processor()}


def made_with(libraries: Mapping[str, str], hourly: bool = False) -> dict[str, str]:
    """The same without the processor, for results that whole files of are compared across machines."""
    parts = [*MODEL_PARTS, *([HOURLY_PART] if hourly else []), MARKS]
    return {
        "version": __version__,
        "code_sha256": code_sha256(),
        "libraries": json.dumps(dict(libraries)),
        "model": "\n".join(parts),
        "interval_method": INTERVALS,
    }


def merged_libraries(many: Sequence[Mapping[str, str]]) -> dict[str, str]:
    """Versions by library of work that several processes did: where they differ, all of them, such as "2.1.0, 2.2.0"."""
    names = sorted({name for each in many for name in each})
    return {name: ", ".join(sorted({each[name] for each in many if name in each})) for name in names}


def version_object() -> dict[str, object]:
    """The object of `fencecast --version --json`."""
    libraries = library_versions()
    python = libraries.pop("python")
    return {
        "version": __version__,
        "code_sha256": code_sha256(),
        "python": python,
        "libraries": libraries,
        "processor": processor(),
    }

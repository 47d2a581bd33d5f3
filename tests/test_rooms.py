"""The layout's rule: a room imports only from rooms earlier in the flow, and heavy libraries stay in their rooms.

Catches: a formula that reaches for a file or a table, a picture that computes, a circle between rooms.
"""

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "sim" / "fencecast"

# Data flows down this list; a room may import from its own line and the lines above.
FLOW = (
    {"errors", "units", "cautions", "sources", "provenance", "spreadsheet", "jit", "lanes"},
    {"site"},
    {"physics"},
    {"camera"},
    {"meteorology"},
    {"maps"},
    {"sampling"},
    {"kernels"},
    {"estimate"},
    {"hours"},
    {"job", "lensranges", "onelook"},
    {"review"},
    {"decide"},
    {"prove"},
    {"evidence"},
    {"findings"},
    {"show"},
    {"report"},
    {"cli", "__main__"},
)
# Rooms of pure numbers: of all the rooms above them they may use only these.
NARROW = {
    "physics": {"jit", "lanes", "units"},
    "sampling": {"jit"},
    "kernels": {"jit", "lanes", "units", "physics", "sampling"},
}
# Packing is where the site meets the kernels.
MAY_KNOW_THE_SITE = {
    f"kernels/{name}.py" for name in ("pack", "pack_inputs", "pack_inside", "pack_quantity", "pack_stimuli", "pack_weather")
}
# The only rooms that may import a library.
LIBRARY_HOME = {
    "xarray": {"estimate", "hours", "job", "decide", "prove", "findings", "show", "report"},
    "matplotlib": {"show"},
    "jinja2": {"report"},
    "markupsafe": {"report"},
    "click": {"cli"},
    "rich": {"cli"},
    "pydantic": {"site", "prove"},
    **dict.fromkeys(("pyproj", "ezdxf"), {"maps"}),
    "tomlkit": {"maps", "prove"},
    "shapely": {"site", "maps", "kernels", "estimate", "findings", "decide", "prove", "review", "show"},
    "numba": {"jit", "lanes"},
    "llvmlite": {"jit", "lanes", "provenance"},  # there it says what processor code is compiled for
    "pandas": {"meteorology"},
    "pvlib": {"meteorology"},
    "dask": {"decide"},
    "distributed": {"decide"},
    # The outside sides of the evidence: an extra, so nothing else may need them.
    **dict.fromkeys(("miepython", "psychrolib", "pythermalcomfort", "cv2", "galsim", "statsmodels"), {"evidence"}),
}
# An example is a user's file, which imports from where it stands; docs are pages and what builds them, no part of the program.
FILES = sorted(
    path
    for path in PACKAGE.rglob("*.py")
    if path != PACKAGE / "__init__.py" and path.parent.name != "examples" and path.relative_to(PACKAGE).parts[0] != "docs"
)


def room_of(path: Path) -> str:
    relative = path.relative_to(PACKAGE)
    return relative.parts[0] if len(relative.parts) > 1 else relative.stem


def imported(path: Path) -> list[str]:
    names = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative imports hide which room is meant"
            names.append(node.module)
    return names


def level_of(room: str) -> int:
    return next(k for k, rooms in enumerate(FLOW) if room in rooms)


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_a_room_imports_only_from_rooms_above_it(path):
    room = room_of(path)
    for name in imported(path):
        parts = name.split(".")
        if parts[0] == "fencecast" and len(parts) > 1:
            assert level_of(parts[1]) <= level_of(room), f"{room} imports from {parts[1]}, which comes later"
            known = NARROW.get(room)
            if known is not None and str(path.relative_to(PACKAGE)) not in MAY_KNOW_THE_SITE:
                assert parts[1] in known | {room}, f"{room} knows nothing of {parts[1]}"
        elif parts[0] in LIBRARY_HOME:
            assert room in LIBRARY_HOME[parts[0]], f"{parts[0]} lives in {sorted(LIBRARY_HOME[parts[0]])}, not in {room}"


def test_every_room_has_a_place_in_the_flow():
    assert {room_of(path) for path in FILES} <= set().union(*FLOW)


def test_no_drawer_called_utils():
    assert not [path for path in FILES if "util" in path.stem or "helper" in path.stem]


def test_modules_stay_small():
    everything = [*FILES, *(PACKAGE / "docs").rglob("*.py")]
    long = {str(p.relative_to(PACKAGE)): n for p in everything if (n := len(p.read_text(encoding="utf-8").splitlines())) > 300}
    assert not long, f"modules past 300 lines are asking to be two: {long}"

"""From design to signature on one invented yard: plan, a simulated evening, score, fit, marks, as built, run again, report.

    python benchmarks/evening.py [FOLDER] [--cycles-50 2.6] [--correlation 0.3] [--seed 9] [--quick]

The evening is simulated with an N50 that is not the file's and another seed (`fencecast walk rehearse`). The marks are read in
pictures of cameras that hang otherwise than designed, by trigonometry that shares nothing with the package: rotations of scipy
about the axes of the mount. What the commands say afterwards is held against what was put in.
"""

from __future__ import annotations

import argparse
import csv
import json
import math
import random
import subprocess
import sys
from pathlib import Path

import numpy as np
from scipy.spatial.transform import Rotation

SITE = Path(__file__).parents[1] / "sim" / "fencecast" / "examples" / "rope-yard.toml"
# What the installers left: bearing, depression, roll [degrees] and height [m] beside the design, by camera.
LEFT_BY_INSTALLERS = {
    "T1": (0.4, -0.3, 0.2, 0.02),
    "T2": (-0.9, 1.8, 1.5, -0.04),
    "T3": (0.2, 0.5, -0.6, 0.0),
    "T4": (2.4, 0.1, -2.2, 0.06),
}


def read_in_picture(point, camera, focal_px: float, columns: int, rows: int) -> tuple[float, float]:
    """Column and row of a ground point in the picture of a camera (x, y, height, bearing, depression, roll), pinhole.

    The mount is turned in the order in which it is built: about the vertical to the bearing, down by the depression, about its
    own axis by the roll (right side down).
    """
    x, y, height, bearing, depression, roll = camera
    # East, north, up -> the frame of the mount: x right, y forward, z up.
    turn = Rotation.from_euler("ZXY", [-bearing, -depression, roll], degrees=True)
    right, forward, up = turn.inv().apply(np.array([point[0] - x, point[1] - y, 0.0 - height]))
    return columns / 2 + focal_px * right / forward, rows / 2 - focal_px * up / forward


def fill_marks(path: Path, site, draw: random.Random) -> dict[str, tuple[float, ...]]:
    """Fill in column, row and tape height in marks.csv as an installer would, to whole pixels; returns the true poses."""
    rows = list(csv.DictReader(path.read_text(encoding="utf-8-sig").splitlines()))
    poses = {}
    for camera in site.camera:
        bearing, depression, roll, height = LEFT_BY_INSTALLERS[camera.mark]
        poses[camera.mark] = (
            *camera.position_m, camera.height_m + height, camera.bearing_deg + bearing, camera.depression_deg + depression, roll,
        )  # fmt: skip
    first = set()
    for row in rows:
        pose = poses[row["camera"]]
        camera = next(each for each in site.camera if each.mark == row["camera"])
        sensor, lens = site.sensors[camera.sensor], site.lenses[camera.lens]
        focal = lens.focal_length_mm * 1e3 / sensor.pitch_um
        u, v = read_in_picture((float(row["x_m"]), float(row["y_m"])), pose, focal, sensor.columns, sensor.rows)
        row["column"], row["row"] = str(math.floor(u + draw.gauss(0.0, 0.7))), str(math.floor(v + draw.gauss(0.0, 0.7)))
        if row["camera"] not in first:
            row["height_m"] = f"{pose[2] + draw.gauss(0.0, 0.03):.2f}"
            first.add(row["camera"])
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, rows[0].keys())
        writer.writeheader()
        writer.writerows(rows)
    return poses


def main() -> None:
    """Run every step in a folder and say what was put in and what came out."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", nargs="?", default="evening")
    parser.add_argument("--cycles-50", type=float, default=2.6)
    parser.add_argument("--correlation", type=float, default=0.3)
    parser.add_argument("--seed", type=int, default=9)
    parser.add_argument("--quick", action="store_true", help="half widths of 0.05 and no report")
    asked = parser.parse_args()
    folder = Path(asked.folder)
    folder.mkdir(parents=True, exist_ok=True)
    (folder / SITE.name).write_bytes(SITE.read_bytes())
    precision = "0.05" if asked.quick else "0.02"

    def run(*words: str, ends=(0,), keep: str = "") -> str:
        print("\n$ fencecast", *words, flush=True)
        done = subprocess.run(
            [sys.executable, "-m", "fencecast", *words], cwd=folder, capture_output=True, text=True, check=False
        )
        if done.returncode not in ends:
            raise SystemExit(f"ended with {done.returncode}\n{done.stdout}\n{done.stderr}")
        if keep:
            (folder / keep).write_text(done.stdout, encoding="utf-8")
        else:
            print(done.stdout)
        return done.stdout

    import fencecast as fc

    design = fc.load_site(folder / SITE.name)
    run("walk", "plan", SITE.name, "--force")
    plan = f"{SITE.stem}-walks/plan.json"
    law = ["--cycles-50", str(asked.cycles_50), "--correlation", str(asked.correlation), "--seed", str(asked.seed)]
    run("walk", "rehearse", plan, *law, "-o", "log.csv", "--force")
    walkers = ["--walkers", "log-walkers.csv"]
    run("walk", "score", plan, "log.csv", *walkers, "-o", "score", "--force")
    run("walk", "fit", plan, "log.csv", *walkers, "-o", "fit", "--force")
    run("walk", "next", plan, "log.csv", *walkers)
    run("aim", SITE.name, "-o", "aim", "--force")
    true = fill_marks(folder / "aim" / "marks.csv", design, random.Random(asked.seed))
    calibrated = f"fit/{SITE.stem}-calibrated.toml"
    run("built", calibrated, "aim/marks.csv", "-o", f"{SITE.stem}-built.toml", "--force")
    run("built", calibrated, "aim/marks.csv", "-o", f"{SITE.stem}-built.toml", "--force", "--json", "--run", keep="built.json")
    run("run", f"{SITE.stem}-built.toml", "-o", "results", "--precision", precision, "--force")
    if not asked.quick:
        proof = ["--walk-plan", plan, "--score", "score/score.json", "--calibration", "fit/calibration.json"]
        for edition in ("full", "client"):
            words = ["--edition", edition, "-o", f"report-{edition}.html", "--force"]
            run("report", "results/results.nc", *proof, "--built", "built.json", *words)
    print("\nPut in and come out")
    fitted = json.loads((folder / "fit" / "calibration.json").read_text(encoding="utf-8"))["cycles_50"]
    print(f"N50 {asked.cycles_50:g}: {fitted}")
    for camera in json.loads((folder / "built.json").read_text(encoding="utf-8"))["cameras"]:
        pose = true[camera["mark"]]
        said = [camera[key] for key in ("bearing_deg", "depression_deg", "roll_deg", "height_m")]
        print(
            camera["mark"], "true", [round(each, 2) for each in (*pose[3:], pose[2])], "solved", [round(each, 2) for each in said]
        )


if __name__ == "__main__":
    main()

"""`fencecast walk fit`, `next` and `again`: files, JSON, refusals; on invented steps, nothing is simulated."""

import json

import pytest
from command_line import flat, typed

import fencecast as fc
from fencecast.prove.walks.planfile import write_plan
from prove.fit.onestep import invented_log, without_simulation
from prove.invented_walks import invented_plan

PLAN = invented_plan()
WALKERS = "walker,stature_m,clo,note\nA,1.80,,\nB,1.65,1.5,\n"


def log_text(cycles_50, seed, day=0):
    rows = ["trial,place,gait,direction,walker,date,crossed,W,E,weather"]
    for walk in invented_log(PLAN, cycles_50, 0.3, seed, day=day).walks:
        when = f"{walk.crossed.date()},{walk.crossed.time()}"
        cells = f"{walk.heard['W']},{walk.heard['E']},{walk.weather}"
        rows.append(f"{walk.trial},{walk.place},{walk.gait},{walk.direction},{walk.walker},{when},{cells}")
    return "\n".join(rows) + "\n"


@pytest.fixture
def yard(tmp_path, monkeypatch):
    """A folder with a plan, two logs and walkers; the working folder above it."""
    without_simulation(monkeypatch)
    folder = tmp_path / "kelpen-walks"
    folder.mkdir()
    for name, text in {
        "plan.json": write_plan(PLAN), "log.csv": log_text(2.6, 5), "later.csv": log_text(5.5, 6, 400), "walkers.csv": WALKERS,
    }.items():  # fmt: skip
        (folder / name).write_text(text, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


PATHS = ("kelpen-walks/plan.json", "kelpen-walks/log.csv")
WHO = ("--walkers", "kelpen-walks/walkers.csv")


def test_fit_writes_the_calibrated_site_and_says_what_it_holds(yard):
    ended = typed("walk", "fit", *PATHS, *WHO)
    assert ended.code == 0, ended.err
    files = {"calibration.json", "calibration.png", "kelpen-calibrated.toml", "manifest.json"}
    assert {path.name for path in (yard / "kelpen-fit").iterdir()} == files
    site = fc.load_site(yard / "kelpen-fit" / "kelpen-calibrated.toml")
    found = json.loads((yard / "kelpen-fit" / "calibration.json").read_text(encoding="utf-8"))
    assert site.calibration.walks == found["walks"] == 36
    assert site.decision.cycles_50.middle() == pytest.approx(found["cycles_50"]["median"], rel=1e-3)
    assert "else fencecast run kelpen-fit/kelpen-calibrated.toml" in flat(ended.out)
    again = typed("walk", "fit", *PATHS, *WHO)
    assert again.code == 2 and "exists already; add --force" in again.err
    forced = typed("walk", "fit", *PATHS, *WHO, "--force", "--json", "--prior-spread", "0.3", "--nuisance-per-hour", "5")
    assert forced.code == 0 and json.loads(forced.out)["prior"]["sd_ln"] == 0.3
    assert json.loads(forced.out)["nuisance_per_hour"] == 5.0


def test_the_same_log_with_rows_in_another_order_gives_the_same_bits(yard):
    """Catches: sums in the order of rows, a random stream that is."""
    log = yard / "kelpen-walks" / "log.csv"
    head, *rows = log.read_text(encoding="utf-8").splitlines()
    typed("walk", "fit", *PATHS, *WHO, "-o", "one")
    log.write_text("\n".join([head, *rows[::-1]]) + "\n", encoding="utf-8")
    typed("walk", "fit", *PATHS, *WHO, "-o", "two")
    one, two = (json.loads((yard / name / "calibration.json").read_text(encoding="utf-8")) for name in ("one", "two"))
    assert one.pop("log_sha256") != two.pop("log_sha256")
    for each in (one, two):
        each.pop("warnings")  # how far the order of walks is from the plan's
    assert one == two


def test_refusals_write_nothing(yard):
    site = yard / "other.toml"
    site.write_text(PLAN.site_toml.replace("[46.0, 0.0]]", "[47.0, 0.0]]"), encoding="utf-8")
    cases = [
        ((*PATHS, *WHO, "--prior-median", "50"), "--prior-median is 50; allowed: 0.2 to 20 cycles"),
        ((*PATHS, *WHO, "--nuisance-per-hour", "-1"), "--nuisance-per-hour is -1; allowed: 0 to 1000"),
        ((*PATHS, *WHO, "--site", "other.toml"), "fences ([[perimeter]]) are not those of the plan"),
        ((*PATHS, PATHS[1], *WHO), "is the same log as"),
        ((PATHS[1], PATHS[1], *WHO), "is no JSON file"),
        (PATHS, "Missing option '--walkers'"),
    ]
    for words, reason in cases:
        ended = typed("walk", "fit", *words)
        assert ended.code == 2 and reason in flat(ended.err), (words, ended.err)
    assert sorted(path.name for path in yard.iterdir()) == ["kelpen-walks", "other.toml"]


def test_next_and_again_say_where_to_walk(yard):
    ended = typed("walk", "next", *PATHS, "--walks", "3", "--json")
    assert ended.code == 0 and len(json.loads(ended.out)["walks"]) == 3
    assert typed("walk", "next", *PATHS, "--walks", "0").code == 2
    ended = typed("walk", "again", PATHS[0], "kelpen-walks/later.csv", PATHS[1], "-o", "again", "--changed", "camera W")
    assert ended.code == 0, ended.err
    assert "N50 has risen by" in flat(ended.out)
    found = json.loads((yard / "again" / "again.json").read_text(encoding="utf-8"))
    assert found["moved"]["alarm"] is True and [each["date"] for each in found["dates"]] == sorted(
        d["date"] for d in found["dates"]
    )
    assert {path.name for path in (yard / "again").iterdir()} == {"again.json", "again.png", "manifest.json"}
    wrong = typed("walk", "again", *PATHS, "--changed", "camera Z")
    assert wrong.code == 2 and '--changed "camera Z" is not known' in wrong.err

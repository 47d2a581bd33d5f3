"""What was proved on site, in both editions: each section where its file was given, nothing of a place in the client edition."""

from __future__ import annotations

import html
import json
import re

import pytest

import fencecast as fc
from fencecast.errors import FencecastError
from fencecast.findings.rehearsal import BAR
from report import invented_proof as invented
from show.wording import wrong_words

TOKEN = "Qzx"
ODD = '"><img src=x onerror=alert(1)>{{7*7}}'
KEYS = ("prove", "proved", "as-built")


def text_of(page: str) -> str:
    body = re.sub(r"<style>.*?</style>|<script.*?</script>", " ", page, flags=re.DOTALL)
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", body)).split())


def section(page: str, key: str) -> str:
    """The markup of one section; '' when the page has none."""
    found = re.search(rf'<section id="{key}".*?</section>', page, flags=re.DOTALL)
    return found.group(0) if found else ""


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    return invented.files(tmp_path_factory.mktemp("files"))


@pytest.fixture(scope="module")
def results():
    return invented.results_of_yard()


@pytest.fixture(scope="module")
def pages(results, files):
    return {edition: fc.report(results, edition, **files) for edition in ("full", "client")}


def test_each_section_stands_where_its_file_was_given(results, files, pages):
    """Catches: a heading with nothing under it, a section of a file that nobody gave."""
    for edition, page in pages.items():
        assert all(section(page, key) for key in KEYS), edition
    without = fc.report(results)
    assert section(without, "prove") and not section(without, "proved") and not section(without, "as-built")
    planned = fc.report(results, walk_plan=files["walk_plan"])
    assert "front 39" in section(planned, "prove") and not section(planned, "proved")


def test_the_same_files_give_the_same_bytes(results, files, pages):
    assert fc.report(results, "full", **files) == pages["full"] and fc.report(results, "client", **files) == pages["client"]


def test_the_full_edition_has_claims_groups_and_stretches(pages):
    """Catches: a verdict beside another claim, a figure without its counts."""
    text = text_of(section(pages["full"], "proved"))
    assert "C1 5 places of front 29 1 0.847 0.97 (0.82 to 1.00) not shown" in text
    assert "C2 front 39 6 0 0.607 >0.99 (0.54 to 1.00) walk on to 39 walks" in text
    for group in invented.score_of(invented.plan_of()).prediction.groups:
        assert f"{group.alarms} of {group.n}" in text
    assert "N50 is 2.58 (2.16 to 3.09)" in text and "All this holds for 2026-11-29, in clear night, two walkers (A, B)" in text
    aim = text_of(section(pages["full"], "as-built"))
    assert "5 of 6 (0.36 to 1.00)" in aim and "Difference by aim alone, at N50 2" in aim and "is in section 1" in aim
    assert not {"meets", "weak", "undecided"} & set(aim.split())
    assert "Walk test of 35 walks in clear night: none of two claims shown" in text_of(pages["full"])
    assert "as tested" in text_of(pages["full"]) and not wrong_words([text_of(pages["full"]), text_of(pages["client"])])


def test_no_link_leads_nowhere(pages):
    for page in pages.values():
        assert set(re.findall(r'href="#([^"]+)"', page)) <= set(re.findall(r'id="([^"]+)"', page))


def test_nothing_of_the_walks_but_counts_is_in_the_client_edition(tmp_path):
    """Catches: a place, camera, walker, reason, gait, pose, N50 or hour that a section takes from plan, score or poses."""
    names = (f"{TOKEN} fence", f"{TOKEN}w", f"{TOKEN}e")
    plan = invented.renamed(invented.plan_of(), *names)
    score = invented.score_of(plan)
    for walk in score.log.walks:
        object.__setattr__(walk, "walker", f"{TOKEN} walker")
        object.__setattr__(walk, "void", f"{TOKEN} reason" if walk.void else "")
    object.__setattr__(score.log, "warnings", (f"{TOKEN} warning",))
    given = invented.files(tmp_path, plan, score)
    cameras = invented.built_object(plan.site_sha256)
    for camera, mark in zip(cameras["cameras"], plan.marks):
        camera["mark"] = mark
        camera["explanations"] = [{"what": f"{TOKEN} cause", "kind": "misread", "p": 0.4}]
    for segment in cameras["run"]["segments"]:
        segment["section"], segment["place"] = f"{TOKEN} fence", segment["place"].replace("A ", f"{TOKEN} ")
    invented.write(given["built"], cameras)
    results = invented.results_of_yard(plan.site_toml, names=names)
    full, client = (fc.report(results, edition, **given) for edition in ("full", "client"))
    for key in KEYS:
        assert TOKEN in section(full, key), key  # or this test would prove nothing
        assert TOKEN not in section(client, key), key
        said = text_of(section(client, key))
        assert not re.search(r"\bN50\b|crouch|crawl|2\.1|depression|bearing|22:|2026-11-29|\b[A-Z] \d+[–-]\d+ m\b", said), key
    assert TOKEN not in client


def test_odd_names_stay_text(tmp_path):
    """Catches: a name of a place, camera, walker or reason that ends a tag or a template."""
    names = (ODD, "W<b>", "E&amp;")
    plan = invented.renamed(invented.plan_of(), *names)
    score = invented.score_of(plan)
    for walk in score.log.walks:
        object.__setattr__(walk, "walker", ODD)
        object.__setattr__(walk, "void", ODD if walk.void else "")
    object.__setattr__(score.log, "warnings", ("</section><script>alert(1)</script>\u202e",))
    given = invented.files(tmp_path, plan, score)
    cameras = invented.built_object(plan.site_sha256)
    for camera, mark in zip(cameras["cameras"], plan.marks):
        camera["mark"] = mark
    for segment in cameras["run"]["segments"]:
        segment["section"] = ODD
    invented.write(given["built"], cameras)
    results = invented.results_of_yard(plan.site_toml, names=names)
    for edition in ("full", "client"):
        page = fc.report(results, edition, **given)
        assert "<img" not in page and "W<b>" not in page and "E&amp;," not in page and "\u202e" not in page
    full = fc.report(results, **given)
    assert "{{7*7}}" in full and "W&lt;b&gt;" in full and "alert(1)</script>" not in section(full, "proved")


def test_results_of_a_calibrated_site_say_so(tmp_path, files):
    """Catches: `a judgement until walk tests calibrate it` beside calibrated numbers; the N50 in the client edition."""
    text = invented.calibrated_text()
    results = invented.results_of_yard(text, invented.CALIBRATION)
    full, client = (text_of(fc.report(results, edition, **files)) for edition in ("full", "client"))
    assert (
        "Calibrated by 36 walks of 2 people at 6 places on 2026-11-29 in clear night: N50 2.6 (2.2 to 3.1 for people in general)"
        in full
    )
    assert "Every metre is judged by the wider interval" in full and "is a judgement until walk tests" not in full
    assert "The results of this report use it." in full and "calibrated by 36 walks" in full
    assert "calibrated by 36 walks at 6 places by 2 walkers on one day in clear night" in client
    assert "2.6" not in client and "2.58" not in client and "the wider interval" in client
    for page in (full, client):
        assert "are calibrated by these very walks: that they agree with them shows nothing new" in page
        assert "too close to call with the crossings simulated and what walks left open." in page
    other = invented.results_of_yard(invented.calibrated_text("77" * 32), {**invented.CALIBRATION, "log_sha256": ["77" * 32]})
    scored = text_of(fc.report(other, walk_plan=files["walk_plan"], score=files["score"]))
    assert "The results of this report are calibrated by other walks than these." in scored


def test_what_does_not_belong_is_refused_before_a_page(results, files, tmp_path):
    """Catches: a page with the walks of another yard."""
    with pytest.raises(FencecastError, match="type --walk-plan PLAN.json as well"):
        fc.report(results, score=files["score"])
    other = invented.results_of_yard(invented.SITE.read_text(encoding="utf-8").replace("[46.0, 0.0]]", "[47.0, 0.0]]"))
    with pytest.raises(FencecastError, match="is of another site"):
        fc.report(other, walk_plan=files["walk_plan"])


def test_the_command_takes_the_files(results, files, tmp_path, monkeypatch):
    """Catches: an option that reaches nothing; half a file after a refusal."""
    from click.testing import CliRunner

    from fencecast.cli import main
    from fencecast.estimate.store import save_results

    monkeypatch.chdir(tmp_path)
    save_results(results, tmp_path / "results.nc")
    asked = ["report", "results.nc", "-o", "r.html"]
    for name, path in files.items():
        asked += [f"--{name.replace('_', '-')}", str(path)]
    done = CliRunner().invoke(main, asked)
    assert done.exit_code == 0, done.output
    assert section((tmp_path / "r.html").read_text(encoding="utf-8"), "proved")
    refused = CliRunner().invoke(main, ["report", "results.nc", "-o", "s.html", "--score", str(files["score"])])
    assert refused.exit_code != 0 and not (tmp_path / "s.html").exists()


@pytest.mark.parametrize("part", ["score", "calibration"])
def test_a_rehearsal_is_said_first_in_both_editions(results, files, tmp_path, part):
    """Catches: simulated walks handed out as a test, in the edition that names no place as well."""
    found = json.loads(files[part].read_text(encoding="utf-8")) | {"rehearsal": True}
    own = files | {part: invented.write(tmp_path / f"{part}.json", found)}
    for edition in ("full", "client"):
        page = fc.report(results, edition, **own)
        text = text_of(page)
        assert text.count(BAR) >= 2 and text.index(BAR) < 300, edition
        assert "Issue 1, rehearsal" in text and "Issue 1, as tested" not in text
        assert "Rehearsal, nobody walked." in section(page, "proved")
    with pytest.raises(FencecastError, match="nobody walked them"):
        fc.report(results, "full", status="as tested", **own)


def test_results_calibrated_by_a_rehearsal_say_so_without_any_file(pages):
    facts = invented.CALIBRATION | {"rehearsal": True}
    other = invented.results_of_yard(invented.calibrated_text(), facts)
    for edition in ("full", "client"):
        text = text_of(fc.report(other, edition))
        assert text.count(BAR) >= 2 and "Issue 1, rehearsal" in text and "imulated" in text, edition
        assert BAR not in text_of(pages[edition])

"""The script of the full edition in a real browser: the program's words, keys and pointer, and nothing else."""

import re

import pytest

from fencecast.estimate.results import Results
from fencecast.show.svg.plan import plan_svg
from report.page_checks import sideways
from report.where_sites import all_metres, data_of, made, page_of_site, results_of
from show import invented_results as invented

HOSTILE = "</script><img src=x>\"'&{{7*7}}{pd}"
BOX = "Array.from(document.querySelectorAll('#here .here-lines p'), p => p.textContent)"
WALK_ALL = """() => {
  const radios = document.querySelectorAll('#weather input'), walk = document.getElementById('walk'), found = [];
  radios.forEach(radio => {
    radio.click();
    const row = radio.closest('tr'), told = [];
    for (let i = 0; i <= +walk.max; i += 1) {
      walk.value = i;
      walk.dispatchEvent(new Event('input'));
      told.push({
        lines: Array.from(document.querySelectorAll('#here .here-lines p'), p => p.textContent),
        pd: row.querySelector('.v').textContent, verdict: row.querySelector('.word').textContent,
        code: document.querySelector('#here .here-code').textContent, aria: walk.getAttribute('aria-valuetext'),
        section: document.querySelector('#here .here-section').textContent,
      });
    }
    found.push(told);
  });
  return found;
}"""
INKS = "Object.fromEntries(Array.from(document.querySelectorAll('.fig-plan .ink'), e => [e.dataset.ink, e.getAttribute('d')]))"


@pytest.fixture(scope="module")
def yard():
    return results_of("fresh yard")


@pytest.fixture(scope="module")
def yard_page():
    return page_of_site("fresh yard")


def state(page) -> tuple[int, int]:
    """Row and segment that are pinned, as radios and slider say."""
    return tuple(
        page.evaluate("""[Array.from(document.querySelectorAll('#weather input')).findIndex(r => r.checked),
        +document.getElementById('walk').value]""")
    )


def shown_code(page) -> str:
    return page.locator("#here .here-code").inner_text()


def on_row(page) -> int:
    return page.evaluate("Array.from(document.querySelectorAll('#weather tbody tr')).findIndex(r => r.classList.contains('on'))")


@pytest.mark.parametrize("site", ["fresh yard", "us, part without data", "closed_ring"])
def test_every_metre_in_words_as_the_program_says_it(page_of, site):
    """Catches: a branch, a sign or an order in which script and program differ; every cell of three sites."""
    results, html = results_of(site), page_of_site(site)
    cells, told = all_metres(results)
    page = page_of(html)
    found = page.evaluate(WALK_ALL)
    data = data_of(html)
    assert len(found) == len(told)
    checked = 0
    for row, (of_row, expected) in enumerate(zip(found, told)):
        for i, (here, program) in enumerate(zip(of_row, expected)):
            part = data["part"][i]
            place = [data["places"][part - 1]["told"]] if part else []
            assert here["lines"] == program["lines"] + place, (row, i)
            assert (here["pd"], here["verdict"]) == (program["pd"], program["verdict"])
            assert here["code"] == data["codes"][i]
            assert here["aria"].startswith(f"{here['code']}, {cells.rows[row].name}: ")
            assert program["pd"] in here["aria"] and program["verdict"] in here["aria"]
            assert here["section"] == results["section"].values[i]
            checked += 1
    assert checked == len(cells.rows) * results.sizes["segment"]
    assert page.told.nothing(), page.told


def test_the_plan_of_every_row_is_the_one_that_the_program_draws(page_of, yard, yard_page):
    """Catches: a cell in another ink, rails of another class, path data joined in another order."""
    page = page_of(yard_page)
    for row in range(yard.sizes["weather"] + 1):
        page.locator("#weather input").nth(row).click()
        found = page.evaluate(INKS)
        drawn = plan_svg(Results.of(yard), row).svg
        expected = {name: d for d, name in re.findall(r'<path d="([^"]*)" class="ink" data-ink="(\w+)"', drawn)}
        assert len(expected) > 10 and found == expected


@pytest.mark.parametrize("site", ["fresh yard", "us, part without data", "all_meet", "one_class", "twenty classes"])
def test_the_page_at_the_start_says_the_same_with_and_without_script(page_of, site):
    """Catches: a number, word or sentence that changes as the script starts. Only hints and controls may differ."""
    html = page_of_site(site)
    words = """() => { const copy = document.getElementById('where').cloneNode(true);
        copy.querySelectorAll('.js, .nojs, .walk, script').forEach(e => e.remove());
        return copy.textContent.replace(/\\s+/g, ' ').trim(); }"""
    static, moved = page_of(html, script=False), page_of(html)
    assert static.evaluate(words) == moved.evaluate(words)
    dots = """Array.from(document.querySelectorAll('#weather .pt, #weather .ci'), e =>
        [e.getBoundingClientRect().left, e.getBoundingClientRect().width, getComputedStyle(e).visibility].join())"""
    offset = "document.querySelector('#weather .dot')?.getBoundingClientRect().left ?? 0"
    for a, b in zip(static.evaluate(dots), moved.evaluate(dots), strict=True):
        (left, width, seen), (left_b, width_b, seen_b) = a.split(","), b.split(",")
        assert seen == seen_b
        assert float(width) == pytest.approx(float(width_b), abs=0.4)
        start, start_b = static.evaluate(offset), moved.evaluate(offset)
        assert float(left) - start == pytest.approx(float(left_b) - start_b, abs=0.4)


def test_without_script_no_control_is_seen_and_with_it_all_are(page_of, yard_page):
    """Catches: a slider that does nothing, a button that stays hidden; hints that speak of controls that are not there."""
    seen = "Array.from(document.querySelectorAll('input, button')).filter(e => e.checkVisibility()).length"
    static, moved = page_of(yard_page, script=False), page_of(yard_page)
    assert static.evaluate(seen) == 0
    assert moved.evaluate(seen) >= 7 + 1 + 2
    hint = "document.querySelector('#where .how.js').checkVisibility()"
    assert (static.evaluate(hint), moved.evaluate(hint)) == (False, True)


def test_keys_alone_reach_every_class_and_every_metre(page_of, yard_page):
    """Catches: a control that needs a mouse; arrows that choose without showing."""
    page = page_of(yard_page)
    start = data_of(yard_page)["start"]
    assert state(page) == (start["row"], start["segment"])
    page.locator("#walk").focus()
    page.keyboard.press("Home")
    assert state(page)[1] == 0 and shown_code(page) == data_of(yard_page)["codes"][0]
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    assert state(page)[1] == 2
    page.keyboard.press("ArrowLeft")
    assert state(page)[1] == 1
    page.keyboard.press("End")
    assert state(page)[1] == 204 and shown_code(page) == data_of(yard_page)["codes"][204]
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.id") == "previous"
    page.keyboard.press("Enter")
    before = state(page)[1]
    assert before < 204
    page.keyboard.press("Tab")
    page.keyboard.press("Space")
    assert state(page)[1] != before
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.type") == "radio"
    page.keyboard.press("ArrowDown")
    assert state(page)[0] == on_row(page) == 1
    page.keyboard.press("ArrowUp")
    page.keyboard.press("ArrowUp")
    assert state(page)[0] == on_row(page) == 6  # round to the year
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.type") != "radio"  # one stop for all classes


def test_next_place_walks_all_places_that_are_weak_in_the_class(page_of, yard_page):
    """Catches: a button that leaves the class, skips a place or stops at the end."""
    page = page_of(yard_page)
    data = data_of(yard_page)
    for row in (0, 3, 5):
        page.locator("#weather input").nth(row).click()
        stops = sorted(p["segment"] for p in data["places"] if data["verdict"][row][p["segment"]] == "w")
        assert stops
        seen = []
        for _ in stops:
            page.locator("#next").click()
            seen.append(state(page))
        assert sorted(seen) == [(row, i) for i in stops]
        forward = [i for _, i in seen]
        back = []
        for _ in stops[1:]:
            page.locator("#previous").click()
            back.append(state(page)[1])
        assert back == forward[-2::-1]


CELL = """i => {
  const d = JSON.parse(document.getElementById('where-data').textContent);
  const m = document.querySelector('.fig-plan').getScreenCTM();
  return [d.at[i][0] * m.a + m.e, d.at[i][1] * m.d + m.f];
}"""
STRIP_CELL = """([k, i]) => {
  const d = JSON.parse(document.getElementById('where-data').textContent).strip;
  const m = document.querySelector('.fig-strip').getScreenCTM();
  return [d.x[i] * m.a + m.e, (d.tops[k] + d.row / 2) * m.d + m.f];
}"""


def cell_on_screen(page, segment: int) -> tuple[float, float]:
    return tuple(page.evaluate(CELL, segment))


def strip_on_screen(page, row: int, segment: int) -> tuple[float, float]:
    return tuple(page.evaluate(STRIP_CELL, [row, segment]))


def test_pointing_shows_and_leaving_returns_and_a_click_stays(page_of, yard_page):
    """Catches: hover that pins, a click that does not, a place beside the one under the pointer, the row of a strip ignored."""
    page = page_of(yard_page, height=2600)
    data = data_of(yard_page)
    start = state(page)
    for segment in (0, 40, 90, 150, 204):
        page.mouse.move(*cell_on_screen(page, segment))
        assert shown_code(page) == data["codes"][segment]
        assert state(page) == start
    page.mouse.move(5, 5)
    assert shown_code(page) == data["codes"][start[1]]
    page.mouse.click(*cell_on_screen(page, 90))
    page.mouse.move(5, 5)
    assert state(page) == (start[0], 90) and shown_code(page) == data["codes"][90]
    page.mouse.move(*strip_on_screen(page, 3, 120))
    assert (shown_code(page), on_row(page)) == (data["codes"][120], 3) and state(page) == (start[0], 90)
    page.mouse.click(*strip_on_screen(page, 4, 30))
    page.mouse.move(5, 5)
    assert state(page) == (4, 30) and on_row(page) == 4
    page.locator("#weather tbody tr").nth(2).locator("td").last.click()
    assert state(page) == (2, 30) and on_row(page) == 2
    plan = page.locator(".fig-plan").bounding_box()
    page.mouse.click(plan["x"] + plan["width"] / 2, plan["y"] + plan["height"] / 2)  # far from every fence
    assert state(page) == (2, 30)


def test_touch_pins_and_brings_the_place_into_view(page_of, yard_page):
    """Catches: a phone on which nothing happens, a strip that scrolls by itself on load."""
    page = page_of(yard_page, width=390, height=2400, has_touch=True)
    scrolled = "document.querySelector('.fig-strip').parentNode.scrollLeft"
    assert page.evaluate(scrolled) == 0
    page.touchscreen.tap(*cell_on_screen(page, 150))
    assert state(page)[1] == 150 and shown_code(page) == data_of(yard_page)["codes"][150]
    assert page.evaluate(scrolled) > 0
    x, _ = strip_on_screen(page, 0, 150)
    assert 0 < x < 390


def test_marks_stand_where_the_metre_is(page_of, yard_page):
    """Catches: ring or arrows at another metre than the box tells of."""
    page = page_of(yard_page)
    page.locator("#walk").evaluate("e => { e.value = 77; e.dispatchEvent(new Event('input')); }")
    data = data_of(yard_page)
    places = page.evaluate("""['.fig-plan .here', '.fig-strip .here', '.fig-strip .row'].map(s => {
        const e = document.querySelector(s); return [e.getAttribute('transform'), e.getAttribute('visibility')]; })""")
    x, y = data["at"][77]
    middle = data["strip"]["tops"][0] + data["strip"]["row"] / 2
    assert [tuple(map(float, re.findall(r"-?[\d.]+", where))) for where, _ in places] == [
        (x, y), (data["strip"]["x"][77], 0.0), (0.0, pytest.approx(middle)),
    ]  # fmt: skip
    assert {seen for _, seen in places} == {"visible"}


def test_each_card_s_button_shows_its_place(page_of, yard_page):
    """Catches: a card's button that shows another place, or a card without one."""
    data = data_of(yard_page)
    page = page_of(yard_page)
    cards = page.locator(".card")
    assert cards.count() == page.locator(".show-place").count() == len(data["places"]) > 1
    for number, place in enumerate(data["places"]):
        card = page.locator(f"#place-{number + 1}")
        assert place["code"] in card.locator("h3").inner_text().replace("\u00a0", " ")
        card.locator(".show-place").click()
        assert state(page) == (place["row"], place["segment"])
        assert page.evaluate("document.activeElement.id") == "walk"
        box = page.locator("#walk").bounding_box()
        assert 0 <= box["y"] < 900
        assert data["places"][number]["told"] in page.evaluate(BOX)


def test_print_shows_the_start_and_then_the_pinned_metre_again(page_of, yard_page):
    """Catches: a printed page that is another than the sent one, a reader who loses the metre by printing."""
    page = page_of(yard_page)
    start = page.evaluate(BOX)
    page.locator("#weather input").nth(4).click()
    page.locator("#walk").evaluate("e => { e.value = 77; e.dispatchEvent(new Event('input')); }")
    pinned = page.evaluate(BOX)
    assert pinned != start
    page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    page.emulate_media(media="print")
    assert page.evaluate(BOX) == start and on_row(page) == 0
    seen = "Array.from(document.querySelectorAll('input, button, #where .js')).filter(e => e.checkVisibility()).length"
    assert page.evaluate(seen) == 0
    assert page.evaluate("document.querySelector('#where .nojs').checkVisibility()")
    page.emulate_media(media="screen")
    page.evaluate("window.dispatchEvent(new Event('afterprint'))")
    assert page.evaluate(BOX) == pinned and on_row(page) == 4


def test_the_policy_lets_this_script_and_no_other_run(page_of, yard_page):
    """Catches: a policy that is missing, is too wide, or that a browser does not understand (it would say so on its console)."""
    page = page_of(yard_page)
    assert page.told.nothing(), page.told
    page.evaluate("""() => { const s = document.createElement('script'); s.textContent = 'window.intruder = 1';
        document.body.appendChild(s); const b = document.createElement('div'); b.setAttribute('onclick', 'window.intruder = 2');
        document.body.appendChild(b); b.click(); }""")
    assert page.evaluate("window.intruder === undefined")
    assert len(page.told.console) >= 2 and all("Content Security Policy" in line for line in page.told.console)
    assert not page.told.asked


def test_hostile_names_stay_names(page_of):
    """Catches: a name that ends the data, becomes an element, is read as a pattern, or is shown otherwise than it is written."""
    results = invented.yard(classes=((HOSTILE, 2650, 46.0), ("heavy rain", 640, 38.0)), fresh=True)
    toml, quoted = results.attrs["site_toml"], HOSTILE.replace('"', '\\"')
    toml = toml.replace(f'"{HOSTILE}"', f'"{quoted}"')
    names = {name: f"{k} {HOSTILE}" for k, name in enumerate(dict.fromkeys(results["section"].values))}
    for k, name in enumerate(names):
        toml = toml.replace(f'"{name}"', f'"{k} {quoted}"')
    results = results.assign_coords(section=("segment", [names[name] for name in results["section"].values]))
    results.attrs.update(site_toml=toml, title=HOSTILE + "\u2028\u202e")
    html = made(results)
    page = page_of(html)
    assert page.evaluate("document.querySelectorAll('img').length") == 0
    assert page.evaluate("document.querySelectorAll('script').length") == 2
    found = page.evaluate(WALK_ALL)
    assert page.told.nothing(), page.told
    assert found[0][0]["section"] == f"0 {HOSTILE}"
    rows = [row["name"] for row in data_of(html)["rows"]]
    assert HOSTILE in rows
    line = found[rows.index(HOSTILE)][0]["lines"][0]
    assert line.startswith(f"In {HOSTILE}, 2,650 h/yr: Pd ")


@pytest.mark.parametrize("width", [1280, 390, 320])
@pytest.mark.parametrize("site", ["fresh yard", "twenty classes", "us_large"])
def test_no_width_scrolls_sideways(page_of, site, width):
    """Catches: a table, a figure or a long name that widens the page."""
    assert sideways(page_of(page_of_site(site), width=width)) <= 0
    assert sideways(page_of(page_of_site(site), width=width, script=False)) <= 0


def test_a_kilometre_in_twenty_classes_answers_at_once(page_of):
    """Catches: work that grows with the square of the fence. The limits are ten times what a page needs on an idle machine."""
    page = page_of(page_of_site("twenty classes"))
    step, of_class = page.evaluate("""() => {
        const walk = document.getElementById('walk'), radios = document.querySelectorAll('#weather input');
        let t = performance.now();
        for (let i = 0; i < 100; i += 1) {
          walk.value = 7 * i; walk.dispatchEvent(new Event('input')); document.body.offsetWidth;
        }
        const step = (performance.now() - t) / 100;
        t = performance.now();
        radios.forEach(radio => { radio.click(); document.body.offsetWidth; });
        return [step, (performance.now() - t) / radios.length];
    }""")
    assert step < 160 and of_class < 500

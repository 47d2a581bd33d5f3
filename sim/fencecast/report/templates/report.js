// The page is whole without this: it moves the plan, one column of the table and the box to any metre in any weather class.
// State is a row (class, worst first; last the year) and a segment. Nothing is stored, asked for, or written as markup.
(function () {
  "use strict";
  var $ = function (s, root) { return (root || document).querySelector(s); };
  var $$ = function (s, root) { return Array.prototype.slice.call((root || document).querySelectorAll(s)); };
  if (!$("#where-data")) { return; }
  var d = JSON.parse($("#where-data").textContent);
  var plan = $(".fig-plan"), strip = $(".fig-strip"), causes = $(".fig-causes"), box = $("#here"), walk = $("#walk");
  var inks = $$(".ink", plan), rows = $$("#weather tbody tr"), figures = [plan, strip, causes].filter(Boolean);
  var cells = rows.map(function (row) { return { v: $(".v", row), word: $(".word", row), pt: $(".pt", row), ci: $(".ci", row) }; });
  var pinned = { row: d.start.row, segment: d.start.segment }, shown = { row: -1, segment: -1 };

  // Two hexadecimal digits a number, all f for none; a row of zeros alone is ''.
  function num(row, i, digits) {
    var n = digits || 2, v = row ? parseInt(row.substr(n * i, n), 16) : 0;
    return v === Math.pow(16, n) - 1 ? -1 : v;
  }

  // --- in words: the same functions as in the program, line by line -------------------------------------------------
  function two(n) { return Math.floor(n / 100) + "." + (n % 100 < 10 ? "0" : "") + n % 100; }
  function pdWords(n) { return n < 0 ? "no data" : n >= 100 ? ">0.99" : n === 0 ? "<0.01" : two(n); }
  function intervalWords(r, i) {
    var pd = num(d.pd[r], i);
    return pd < 0 ? pdWords(pd) : pdWords(pd) + " (" + two(num(d.low[r], i)) + " to " + two(num(d.high[r], i)) + ")";
  }
  function verdictWord(r, i) { return d.verdicts[d.word[r].charAt(i)]; }
  function fill(pattern, values) {
    return d.words[pattern].replace(/\{(\w+)\}/g, function (_, key) { return values[key]; });
  }
  function causesWords(r, i, lead) {
    var told = d.causes.map(function (_, k) { return [num(d.missed[r][k], i), k]; }).filter(function (c) { return c[0] >= 1; });
    told.sort(function (a, b) { return (a[1] !== lead) - (b[1] !== lead) || b[0] - a[0] || a[1] - b[1]; });
    return told.map(function (c) {
      return fill(c[0] >= 100 ? "nearly_all" : "share", { cause: d.causes[c[1]], share: c[0] });
    }).join(", ");
  }
  function metreLines(r, i) {
    var name = d.rows[r], verdict = verdictWord(r, i);
    var values = { where: name.start, hours: name.hours, pd: intervalWords(r, i), verdict: verdict };
    if (num(d.pd[r], i) < 0) { return [fill("none", {})]; }
    if (name.year) { return [fill("year", values), fill("year_why", {})]; }
    var lead = d.lead[r].charAt(i) === "n" ? -1 : +d.lead[r].charAt(i), lines = [fill("here", values)];
    lines.push(lead < 0 ? fill("few", {}) : fill("why", { causes: causesWords(r, i, lead) }));
    var one = num(d.alone[r][0], i), other = num(d.alone[r][1], i);
    if (one < d.of_use) { lines.push(fill("nobody", {})); } else {
      lines.push(fill(other < d.of_use ? "best" : "best_two", {
        mark: d.cameras[num(d.best[r][0], i, d.digits)], pd: pdWords(one),
        mark2: d.cameras[num(d.best[r][1], i, d.digits)], pd2: pdWords(other)
      }));
    }
    if (lead >= 0 && verdict !== "meets") { lines.push(fill("helps", { help: d.helps[lead] })); }
    return lines;
  }

  // --- showing a class and a metre ----------------------------------------------------------------------------------
  function move(mark, x, y) {
    if (!mark) { return; }
    mark.setAttribute("visibility", "visible");
    mark.setAttribute("transform", "translate(" + x + " " + y + ")");
  }
  function showRow(r) {
    var path = {}, steps = d.step[r], verdicts = d.verdict[r];
    inks.forEach(function (e) { path[e.getAttribute("data-ink")] = []; });
    d.cells.forEach(function (cell, i) {
      var step = steps.charAt(i), verdict = verdicts.charAt(i);
      path[step === "-" ? "n" : (verdict === "u" ? "u" : "c") + step].push(cell);
      if (verdict === "w") { path.rail.push(d.rails[i]); }
    });
    inks.forEach(function (e) { e.setAttribute("d", path[e.getAttribute("data-ink")].join("")); });
    rows.forEach(function (row, k) { row.classList.toggle("on", k === r); });
    $(".here-class").textContent = d.rows[r].name;
    move($(".row", strip), 0, d.strip.tops[r] + d.strip.row / 2);
  }
  function tell(r, i) {
    var part = d.part[i], holder = $(".here-lines", box), lines = metreLines(r, i);
    if (part) { lines.push(d.places[part - 1].told); }
    $(".here-section", box).textContent = d.sections.filter(function (s) { return i < s.stop; })[0].name;
    holder.textContent = "";
    lines.forEach(function (line) { holder.appendChild(document.createElement("p")).textContent = line; });
  }
  function showMetre(r, i) {
    tell(r, i);
    $$(".here-code").forEach(function (e) { e.textContent = d.codes[i]; });
    function x(n) { return d.dot[0] + (d.dot[1] - d.dot[0]) * Math.max(n, 0) / 100; }
    cells.forEach(function (cell, k) {
      var pd = num(d.pd[k], i), verdict = verdictWord(k, i);
      cell.v.textContent = intervalWords(k, i);
      cell.word.textContent = pd < 0 ? "" : verdict;
      cell.word.className = "word " + verdict.replace(" ", "-");
      [cell.pt, cell.ci].forEach(function (e) { e.setAttribute("visibility", pd < 0 ? "hidden" : "visible"); });
      cell.pt.setAttribute("cx", x(pd));
      cell.ci.setAttribute("d", "M" + x(num(d.low[k], i)) + " " + d.dot[2] + "H" + x(num(d.high[k], i)));
    });
    move($(".here", plan), d.at[i][0], d.at[i][1]);
    [strip, causes].forEach(function (svg) { if (svg) { move($(".here", svg), d.strip.x[i], 0); } });
  }
  function reserve() { // room for the longest text, so that nothing below the box moves under the pointer
    var most = 0;
    box.style.minHeight = "0";
    d.places.slice(0, d.most).forEach(function (p) { tell(p.row, p.segment); most = Math.max(most, box.offsetHeight); });
    box.style.minHeight = most + 24 + "px";
    tell(shown.row, shown.segment);
  }
  function show(r, i) {
    if (r !== shown.row) { showRow(r); }
    if (r !== shown.row || i !== shown.segment) { showMetre(r, i); }
    shown = { row: r, segment: i };
  }
  function pin(r, i) {
    pinned = { row: r, segment: i };
    $("input", rows[r]).checked = true;
    walk.value = i;
    walk.setAttribute("aria-valuetext", fill(num(d.pd[r], i) < 0 ? "at_none" : "at",
      { code: d.codes[i], weather: d.rows[r].name, pd: intervalWords(r, i), verdict: verdictWord(r, i) }));
    show(r, i);
  }
  function choose(r, i) { // by hand: on a narrow screen the place is brought into view in the wide figures
    pin(r, i);
    [strip, causes].forEach(function (svg) {
      var frame = svg && svg.parentNode;
      if (frame && frame.scrollWidth > frame.clientWidth + 2) {
        frame.scrollLeft = d.strip.x[i] * svg.clientWidth / svg.viewBox.baseVal.width - frame.clientWidth / 2;
      }
    });
  }

  // --- choosing -----------------------------------------------------------------------------------------------------
  rows.forEach(function (row, k) {
    var radio = document.createElement("input"), label = document.createElement("label"), name = $(".names", row);
    radio.type = "radio"; radio.name = "weather"; radio.id = "weather-" + k; label.htmlFor = radio.id;
    while (name.firstChild) { label.appendChild(name.firstChild); }
    name.appendChild(radio); name.appendChild(label);
    radio.addEventListener("change", function () { choose(k, pinned.segment); });
    row.addEventListener("click", function (e) { if (e.target !== radio && !label.contains(e.target)) { choose(k, pinned.segment); } });
  });
  walk.addEventListener("input", function () { choose(pinned.row, +walk.value); });
  function jump(step) { // to the next place that is weak in the class that is shown; where none is, to the next of all
    var all = d.places.map(function (p) { return p.segment; }).sort(function (a, b) { return a - b; });
    var weak = all.filter(function (i) { return d.verdict[pinned.row].charAt(i) === "w"; }), stops = weak.length ? weak : all;
    var ahead = stops.filter(function (i) { return step * (i - pinned.segment) > 0; }), from = ahead.length ? ahead : stops;
    if (from.length) { choose(pinned.row, from[step > 0 ? 0 : from.length - 1]); }
  }
  $("#previous").addEventListener("click", function () { jump(-1); });
  $("#next").addEventListener("click", function () { jump(1); });
  $$(".show-place").forEach(function (button) {
    var i = +button.getAttribute("data-segment"), place = d.places.filter(function (p) { return p.segment === i; })[0];
    if (!place) { return; }
    button.hidden = false;
    button.addEventListener("click", function () {
      choose(place.row, i);
      $("#where").scrollIntoView();
      walk.focus({ preventScroll: true });
    });
  });

  // --- pointing, in a figure's own millimetres ----------------------------------------------------------------------
  function under(svg, e) {
    var m = svg.getScreenCTM(), x = (e.clientX - m.e) / m.a, y = (e.clientY - m.f) / m.d;
    var best = -1, row = pinned.row, least = svg === plan ? 7 : 4;
    d.at.forEach(function (at, i) {
      var off = svg === plan ? Math.sqrt(Math.pow(at[0] - x, 2) + Math.pow(at[1] - y, 2)) : Math.abs(d.strip.x[i] - x);
      if (off < least) { least = off; best = i; }
    });
    if (svg === strip) {
      d.strip.tops.forEach(function (top, k) { if (y > top - 1.5 && y < top + d.strip.row + 1.5) { row = k; } });
    }
    return best < 0 ? null : { row: row, segment: best };
  }
  figures.forEach(function (svg) {
    svg.addEventListener("pointermove", function (e) {
      var hit = e.pointerType !== "touch" && under(svg, e);
      if (hit) { show(hit.row, hit.segment); }
    });
    svg.addEventListener("pointerleave", function () { show(pinned.row, pinned.segment); });
    svg.addEventListener("click", function (e) { var hit = under(svg, e); if (hit) { choose(hit.row, hit.segment); } });
  });
  window.addEventListener("beforeprint", function () { show(d.start.row, d.start.segment); });
  window.addEventListener("afterprint", function () { show(pinned.row, pinned.segment); });
  window.addEventListener("resize", reserve);
  pin(pinned.row, pinned.segment);
  reserve();
  $(".walk").hidden = false;
  document.documentElement.classList.remove("nojs");
}());

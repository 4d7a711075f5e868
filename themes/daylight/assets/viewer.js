"use strict";
/* Lays traces over each other. A column's traces are a script of their own, added to the page when the
   first of them is asked for; what is shown stands in the address after '#'. */

lyewitnessDress(function (part) {
  var SVG = "http://www.w3.org/2000/svg";
  var LEFT = 64, RIGHT = 12, BOTTOM = 44, HEIGHT = 420, LARGER = 1;
  /* Of one panel of several: below the width no peak of two would be told apart, at the height three rows of them
     stand on a screen. */
  var NARROWEST = 280, LOW = 250;
  var DASHES = ["none", "7 3", "2 2.5", "11 3 2 3", "14 4", "7 2 2 2 2 2"];
  var box = part.querySelector("[data-part=viewer]");
  var list = part.querySelector("[data-part=viewer-list]");
  if (!box || !list) { return; }
  var sheet = box.closest(".sheet");
  var words = JSON.parse(part.querySelector("[data-part=viewer-words]").textContent);
  var limits = JSON.parse(part.querySelector("[data-part=viewer-limits]").textContent);
  var markers = JSON.parse(list.dataset.markers);
  var opening = JSON.parse(list.dataset.first);
  var items = new Map();
  var decoded = new Map();
  var state = { show: [], align: "", scale: "", apart: "", limit: "", from: null, to: null };
  var reading = null, dragged = null, failed = new Set(), view = null;

  function say(key, values) {
    return words[key].replace(/\{(\w+)\}/g, function (_, name) { return values[name]; });
  }

  function make(name, attributes, parent) {
    var element = document.createElementNS(SVG, name);
    Object.keys(attributes || {}).forEach(function (key) { element.setAttribute(key, attributes[key]); });
    if (parent) { parent.append(element); }
    return element;
  }

  function html(name, className, text, parent) {
    var element = document.createElement(name);
    if (className) { element.className = className; }
    if (text) { element.textContent = text; }
    if (parent) { parent.append(element); }
    return element;
  }

  /* ---- data ---- */

  function trace(id) {
    if (decoded.has(id)) { return decoded.get(id); }
    var item = items.get(id);
    var column = (window.lyewitnessTraces || {})[item.column];
    if (!column || !column[id]) { return null; }
    decoded.set(id, lyewitnessTrace.decode(column[id]));
    return decoded.get(id);
  }

  function load(section) {
    if (section.dataset.loading || (window.lyewitnessTraces || {})[section.dataset.column]) { return; }
    section.dataset.loading = "yes";
    var drawing = true;
    lyewitnessTrace.load(section.dataset.column, section.dataset.script, function (found) {
      if (!found) { failed.add(section.dataset.column); }
      if (!drawing) { draw(); }
    });
    drawing = false;
  }

  /* ---- state and address ---- */

  function fromAddress() {
    var told = new URLSearchParams(location.hash.slice(location.hash.indexOf("?") + 1).replace(/^#/, ""));
    state.show = (told.get("show") || "").split(",").map(decodeURIComponent).filter(function (id) { return items.has(id); });
    state.align = markers.includes(told.get("align")) ? told.get("align") : "";
    state.scale = told.get("scale") === "highest" ? "highest" : "";
    state.apart = ["yes", "columns"].includes(told.get("apart")) ? told.get("apart") : "";
    state.limit = Object.prototype.hasOwnProperty.call(limits, decodeURIComponent(told.get("limit") || "")) ? decodeURIComponent(told.get("limit")) : "";
    state.from = told.has("from") ? Number(told.get("from")) : null;
    state.to = told.has("to") ? Number(told.get("to")) : null;
    if (!(state.to > state.from)) { state.from = state.to = null; }
    if (!told.has("apart") && several()) { state.apart = "columns"; }
    if (state.limit && !["align", "scale", "apart", "from"].some(function (one) { return told.has(one); })) { atLimit(limits[state.limit]); }
  }

  /* Traces of several columns, mostly of one colour, over each other would tell nobody which is which. */
  function several() {
    return new Set(state.show.map(function (id) { return items.get(id).column; })).size > 1;
  }

  /* What a limit is about: the peak that it is set on, the apex at zero and equally high, a panel for each column. */
  function atLimit(limit) {
    state.align = markers.includes(limit.marker) ? limit.marker : "";
    state.apart = "columns";
    if (state.align && limit.reach) {
      state.scale = "highest";
      state.from = -limit.reach;
      state.to = limit.reach;
    }
  }

  function toAddress() {
    var told = new URLSearchParams();
    if (state.show.length) { told.set("show", state.show.map(encodeURIComponent).join(",")); }
    if (state.align) { told.set("align", state.align); }
    if (state.scale) { told.set("scale", state.scale); }
    if (state.apart || several()) { told.set("apart", state.apart); }
    if (state.limit) { told.set("limit", encodeURIComponent(state.limit)); }
    if (state.from !== null) { told.set("from", state.from.toFixed(4)); told.set("to", state.to.toFixed(4)); }
    history.replaceState(null, "", "#" + (sheet ? sheet.id + "?" : "") + told.toString());
  }

  function change(changes) {
    Object.assign(state, changes);
    toAddress();
    controls();
    draw();
  }

  function toggle(id, shown) {
    var others = state.show.filter(function (one) { return one !== id; });
    change({ show: shown ? others.concat(id) : others });
  }

  /* ---- what is drawn ---- */

  function shift(data) {
    if (!state.align) { return 0; }
    var peak = data.peaks.find(function (one) { return one[0] === state.align; });
    return peak ? -peak[1] : null;
  }

  function lines() {
    var ready = [];
    state.show.forEach(function (id) {
      var item = items.get(id), data = trace(id);
      load(item.section);
      data = data || trace(id);
      if (!data) { return; }
      var by = shift(data);
      if (by === null) { ready.push({ id: id, item: item, absent: true }); return; }
      var time = data.time.map(function (one) { return one + by; });
      var ends = state.scale ? heights(data, time) : [0, 1], span = ends[1] - ends[0] || 1;
      ready.push({
        id: id, item: item, data: data, time: time,
        signal: state.scale ? data.signal.map(function (one) { return (one - ends[0]) / span; }) : data.signal
      });
    });
    var drawn = ready.filter(function (line) { return !line.absent; });
    drawn.forEach(function (line) {
      // Of one colour are all traces of a group: which is which their strokes tell, those of a panel by themselves.
      var by = state.apart === "columns" ? "column" : "group";
      var kin = drawn.filter(function (other) { return other.item[by] === line.item[by]; });
      line.dashes = DASHES[kin.indexOf(line) % DASHES.length];
    });
    return ready;
  }

  /* What is drawn as 0 and as 1: lowest and highest point; of a marker whose apex is at zero its own foot and apex. */
  function heights(data, time) {
    var low = Math.min.apply(null, data.signal), high = Math.max.apply(null, data.signal);
    if (!state.align || state.from === null) { return [low, high]; }
    var seen = data.signal.filter(function (_, i) { return time[i] >= state.from && time[i] <= state.to; });
    var tenth = Math.ceil(seen.length / 10);
    function mean(some) { return some.reduce(function (sum, one) { return sum + one; }, 0) / some.length; }
    if (tenth < 2) { return [low, high]; }
    return [
      Math.min(mean(seen.slice(0, tenth)), mean(seen.slice(-tenth))),
      data.peaks.find(function (one) { return one[0] === state.align; })[2]
    ];
  }

  function extent(drawn) {
    var from = state.from, to = state.to;
    if (from === null) {
      from = Math.min.apply(null, drawn.map(function (line) { return line.time[0]; }));
      to = Math.max.apply(null, drawn.map(function (line) { return line.time[line.time.length - 1]; }));
    }
    var low = Infinity, high = -Infinity;
    drawn.forEach(function (line) {
      line.time.forEach(function (time, i) {
        if (time >= from && time <= to) { low = Math.min(low, line.signal[i]); high = Math.max(high, line.signal[i]); }
      });
    });
    if (!(high > low)) { low = Number.isFinite(low) ? low - 1 : 0; high = low + 2; }
    var step = stacked() ? (high - low) * 0.25 : 0;
    drawn.forEach(function (line, i) { line.lift = step * i; });
    var room = 0.04 * (high - low);
    return { from: from, to: to, low: low - room, high: high + room + step * Math.max(0, drawn.length - 1) };
  }

  function stacked() { return state.apart === "yes"; }

  function ticks(low, high, most) {
    var rough = (high - low) / most, power = Math.pow(10, Math.floor(Math.log10(rough)));
    var step = [1, 2, 5, 10].map(function (one) { return one * power; }).find(function (one) { return one >= rough; });
    var found = [], places = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
    for (var i = Math.ceil(low / step); i * step <= high; i++) {
      found.push([i * step, (i * step).toFixed(places).replace("-", "\u2212")]);
    }
    return found;
  }

  function draw() {
    var all = lines();
    var drawn = all.filter(function (line) { return !line.absent; });
    plot.replaceChildren();
    notes(all);
    plot.hidden = !drawn.length;
    if (!drawn.length) { view = null; readings(); return; }
    var width = Math.max(280, plot.clientWidth || box.clientWidth);
    /* Letters grow with the reader's text, and what is kept free for them with the letters. */
    LARGER = parseFloat(getComputedStyle(document.documentElement).fontSize) / 16 || 1;
    LEFT = 24 + 40 * LARGER;
    BOTTOM = 4 + 40 * LARGER;
    view = extent(drawn);
    view.lines = drawn;
    view.panels = panels(drawn, width);
    var last = view.panels[view.panels.length - 1], height = last.up + last.height;
    var svg = make("svg", { viewBox: "0 0 " + width + " " + height, height: height, "aria-hidden": "true" }, plot);
    view.panels.forEach(function (panel, i) { fill(panel, make("g", { transform: "translate(" + panel.over + " " + panel.up + ")" }, svg), i); });
    if (reading === null || reading < view.from || reading > view.to) {
      reading = view.from < 0 && view.to > 0 && state.align ? 0 : highest(drawn);
    }
    read(reading);
  }

  /* The time of the highest point in view: a line that reads there reads something. */
  function highest(drawn) {
    var time = (view.from + view.to) / 2, most = -Infinity;
    drawn.forEach(function (line) {
      line.time.forEach(function (at, i) {
        if (at >= view.from && at <= view.to && line.signal[i] > most) { most = line.signal[i]; time = at; }
      });
    });
    return time;
  }

  /* Where each panel lies and what it shows: one with all traces, or one for each column. */
  function panels(drawn, width) {
    var own = new Map();
    drawn.forEach(function (line) {
      var key = state.apart === "columns" ? line.item.column : "";
      own.set(key, (own.get(key) || []).concat(line));
    });
    var across = Math.max(1, Math.min(own.size, Math.floor(width / NARROWEST / LARGER)));
    var rows = Math.ceil(own.size / across), up = 0;
    across = Math.ceil(own.size / rows);
    var made = Array.from(own.values()).map(function (lines, i) {
      return { lines: lines, width: width / across, over: i % across * width / across, row: Math.floor(i / across) };
    });
    made.forEach(function (panel) {
      /* Room above the peaks for what tells the strokes, for the unit, and for names that find none beside each other. */
      panel.head = state.apart === "columns" ? (22 + 17 * panel.lines.length) * LARGER : 0;
      panel.height = panel.head + (rows > 1 || across > 1 ? LOW : HEIGHT);
      panel.top = panel.head + 10 + 20 * LARGER;
      var most = panel.top + 56 * LARGER;
      panel.x = function (time) { return LEFT + (time - view.from) / (view.to - view.from) * (panel.width - LEFT - RIGHT); };
      panel.time = function (x) { return view.from + (x - LEFT) / (panel.width - LEFT - RIGHT) * (view.to - view.from); };
      panel.y = function (signal) { return panel.top + (view.high - signal) / (view.high - view.low) * (panel.height - panel.top - BOTTOM); };
      panel.places = named(panel);
      while (panel.top < most && panel.places.some(function (one) { return !one.shown; })) {
        panel.top += 14 * LARGER;
        panel.places = named(panel);
      }
    });
    for (var row = 0; row < rows; row++) {
      var beside = made.filter(function (panel) { return panel.row === row; });
      var most = Math.max.apply(null, beside.map(function (panel) { return panel.height; }));
      beside.forEach(function (panel) { panel.up = up; panel.height = most; });
      up += most + 12;
    }
    return made;
  }

  function fill(panel, svg, i) {
    axes(svg, panel);
    var clip = make("clipPath", { id: "viewer-clip-" + i }, make("defs", {}, svg));
    make("rect", { x: LEFT, y: panel.head, width: panel.width - LEFT - RIGHT, height: panel.height - BOTTOM - panel.head }, clip);
    var group = make("g", { "clip-path": "url(#viewer-clip-" + i + ")" }, svg);
    panel.lines.forEach(function (line) {
      make("path", { "class": "trace g" + line.item.group, "stroke-dasharray": line.dashes, d: path(line, panel) }, group);
    });
    if (state.apart === "columns") { legend(svg, panel); }
    panel.reader = make("path", { "class": "reader" }, svg);
    names(svg, panel.places);
    panel.window = make("rect", { "class": "window", y: panel.top, height: panel.height - panel.top - BOTTOM, width: 0 }, svg);
  }

  /* The column, then each of its strokes with what it stands for. */
  function legend(svg, panel) {
    make("text", { "class": "column", x: 0, y: 14 * LARGER }, svg).textContent = panel.lines[0].item.label;
    panel.lines.forEach(function (line, i) {
      var y = (31 + 17 * i) * LARGER, told = sideOf(line.id);
      make("path", { "class": "stroke g" + line.item.group, "stroke-dasharray": line.dashes, d: "M0 " + (y - 4 * LARGER) + "h32" }, svg);
      make("text", { x: 40, y: y }, svg).textContent = (told ? told + ", " : line.id + ", ") + line.item.exposure;
    });
  }

  function sideOf(id) {
    var told = state.limit && limits[state.limit].sides[id];
    return told ? say("side", { side: words["side_" + told[0]], value: told[1] }) : "";
  }

  function path(line, panel) {
    var d = "", pen = "M";
    line.time.forEach(function (time, i) {
      var next = line.time[i + 1], before = line.time[i - 1];
      if ((time < view.from && next < view.from) || (time > view.to && before > view.to)) { pen = "M"; return; }
      d += pen + panel.x(time).toFixed(1) + " " + panel.y(line.signal[i] + line.lift).toFixed(1);
      pen = "L";
    });
    return d;
  }

  /* Each marker's name above the highest of its peaks, between the axis and the edge; where two would meet, that
     of the lower peak goes a line higher. */
  function named(panel) {
    var highest = new Map(), taken = [];
    var least = panel.head + 26 * LARGER;
    panel.lines.forEach(function (line) {
      line.data.peaks.forEach(function (peak) {
        var time = peak[1] + (shift(line.data) || 0), signal = value(line, time);
        if (signal === null || time < view.from || time > view.to) { return; }
        var found = { name: peak[0], x: panel.x(time), at: panel.x(time), top: panel.y(signal + line.lift), signal: signal + line.lift, rows: 0 };
        if (!highest.has(found.name) || found.signal > highest.get(found.name).signal) { highest.set(found.name, found); }
      });
    });
    function place(one) { one.y = Math.max(least, panel.y(one.signal) - 6 - 14 * LARGER * one.rows); }
    Array.from(highest.values()).sort(function (a, b) { return b.signal - a.signal; }).forEach(function (one) {
      one.half = 3.3 * LARGER * one.name.length;
      one.x = Math.min(Math.max(LEFT + one.half, one.x), panel.width - one.half);
      function meets(other) { return Math.abs(other.y - one.y) < 14 * LARGER && Math.abs(other.x - one.x) < one.half + other.half; }
      place(one);
      while (one.y > least && taken.some(meets)) { one.rows += 1; place(one); }
      one.shown = !taken.some(meets);
      if (one.shown) { taken.push(one); }
    });
    return Array.from(highest.values());
  }

  function names(svg, found) {
    found.filter(function (one) { return one.shown; }).forEach(function (one) {
      /* A name that went higher, or aside, is tied to its peak. */
      if (one.rows || Math.abs(one.at - one.x) > one.half) {
        make("path", { "class": "leader", d: "M" + one.at.toFixed(1) + " " + (one.top - 3).toFixed(1) + "V" + (one.y + 4 * LARGER).toFixed(1) }, svg);
      }
      make("text", { "class": "peak", "paint-order": "stroke", x: one.x.toFixed(1), y: one.y.toFixed(1), "text-anchor": "middle" }, svg).textContent = one.name;
    });
  }

  function axes(svg, panel) {
    var bottom = panel.height - BOTTOM, floor = bottom + 4, d = "M" + LEFT + " " + floor + "H" + (panel.width - RIGHT);
    /* One number alone would tell no scale. */
    ticks(view.from, view.to, Math.max(2.5, panel.width / 90 / LARGER)).forEach(function (tick) {
      var x = panel.x(tick[0]);
      d += "M" + x.toFixed(1) + " " + floor + "v5";
      make("text", { x: x, y: floor + 5 + 13 * LARGER, "text-anchor": "middle" }, svg).textContent = tick[1];
    });
    if (!stacked()) {
      d += "M" + (LEFT - 6) + " " + panel.top + "V" + bottom;
      ticks(view.low, view.high, panel.height - panel.head < HEIGHT ? 3 : 6).forEach(function (tick) {
        var y = panel.y(tick[0]);
        d += "M" + (LEFT - 6) + " " + y.toFixed(1) + "h-4";
        make("text", { x: LEFT - 14, y: y + 4 * LARGER, "text-anchor": "end" }, svg).textContent = tick[1];
      });
    }
    make("path", { "class": "axis", d: d }, svg);
    var units = Array.from(new Set(view.lines.map(function (line) { return line.data.unit; })));
    var title = make("text", { x: panel.width - RIGHT, y: panel.height - 4, "text-anchor": "end" }, svg);
    title.textContent = state.align ? say("shifted", { marker: state.align }) : words.time;
    if (state.align && title.getComputedTextLength() > panel.width - RIGHT) title.textContent = words.shifted_here;
    make("text", { x: 0, y: panel.head + 12 * LARGER }, svg).textContent =
      state.scale ? words.relative : say("signal", { unit: units.join(", ") || "?" });
    if (!state.scale && units.length > 1 && panel === view.panels[0]) { html("p", "", say("units", { units: units.join(", ") }), hints); }
  }

  function value(line, time) {
    var low = 0, high = line.time.length - 1;
    if (time < line.time[0] || time > line.time[high]) { return null; }
    while (high - low > 1) {
      var middle = (low + high) >> 1;
      if (line.time[middle] <= time) { low = middle; } else { high = middle; }
    }
    var share = (time - line.time[low]) / (line.time[high] - line.time[low] || 1);
    return line.signal[low] + share * (line.signal[high] - line.signal[low]);
  }

  function number(text) { return text.replace("-", "\u2212"); }

  function read(time) {
    reading = Math.min(view.to, Math.max(view.from, time));
    view.panels.forEach(function (panel) {
      panel.reader.setAttribute("d", "M" + panel.x(reading).toFixed(1) + " " + panel.top + "V" + (panel.height - BOTTOM));
    });
    plot.setAttribute("aria-valuemin", view.from.toFixed(3));
    plot.setAttribute("aria-valuemax", view.to.toFixed(3));
    plot.setAttribute("aria-valuenow", reading.toFixed(3));
    readings();
  }

  function readings() {
    var spoken = [];
    table.replaceChildren();
    if (!view) { plot.removeAttribute("aria-valuetext"); return; }
    html("caption", "", say("reading", { time: number(reading.toFixed(3)) }), table);
    var body = html("tbody", "", "", table);
    view.lines.forEach(function (line) {
      var found = value(line, reading);
      var text = found === null ? "–" : number(Number(found.toPrecision(3)).toString());
      var row = html("tr", "", "", body), head = html("th", "", "", row);
      head.scope = "row";
      var sample = make("svg", { "class": "sample g" + line.item.group, viewBox: "0 0 32 12", "aria-hidden": "true" }, head);
      make("path", { d: "M0 6H32", "stroke-dasharray": line.dashes }, sample);
      var way = html("a", line.id.length > 12 ? "" : "whole", line.id, head);
      way.href = line.item.href;
      html("td", "", line.item.exposure, row);
      if (view.lines.some(function (one) { return sideOf(one.id); })) { html("td", "", sideOf(line.id), row); }
      html("td", "number", text + (state.scale || found === null ? "" : "\u2009" + line.data.unit), row);
      spoken.push(line.id + " " + text);
    });
    plot.setAttribute("aria-valuetext", say("reading", { time: number(reading.toFixed(3)) }) + ": " + spoken.join(", "));
  }

  function notes(all) {
    hints.replaceChildren();
    heading.textContent = titled(all);
    heading.hidden = !heading.textContent;
    if (!state.show.length) { html("p", "", words.empty, hints); return; }
    all.filter(function (line) { return line.absent; }).forEach(function (line) {
      html("p", "", say("no_marker", { injection: line.id, marker: state.align }), hints);
    });
    failed.forEach(function (column) { html("p", "", say("failed", { column: column }), hints); });
    var thin = all.find(function (line) { return line.data && line.data.n < line.data.of; });
    if (thin) { html("p", "hint", say("thinned", thin.data), hints); }
    html("p", "hint", words.help, hints);
  }

  /* What a view of both sides of a limit shows; nothing where other traces were added. */
  function titled(all) {
    var sides = state.limit ? limits[state.limit].sides : {};
    if (!all.length || !all.every(function (line) { return sides[line.id]; })) { return ""; }
    function past(line) { return sides[line.id][0] === "beyond"; }
    var some = all.some(past);
    var held = all.some(function (line) {
      return !all.some(function (other) { return other.item.column === line.item.column && past(other); });
    });
    if (some && held) { return say("both", { what: limits[state.limit].name }); }
    var many = new Set(all.map(function (line) { return line.item.column; })).size > 1;
    return say(some ? (many ? "sides" : "side_of_one") : "ends", { what: limits[state.limit].name, column: all[0].item.column });
  }

  /* ---- moving about ---- */

  function zoom(factor, centre) {
    if (!view) { return; }
    var middle = centre === undefined ? (view.from + view.to) / 2 : centre;
    change({ from: middle - (middle - view.from) * factor, to: middle + (view.to - middle) * factor });
  }

  function move(share) {
    if (!view) { return; }
    var by = (view.to - view.from) * share;
    change({ from: view.from + by, to: view.to + by });
  }

  function whole() { change({ from: null, to: null }); }

  /* The first and the last used injection of each column, column by column. */
  function endsByColumn() {
    return Array.from(list.querySelectorAll("section")).map(function (section) {
      var own = Array.from(section.querySelectorAll("li:not([data-untraced])")).filter(function (one) { return !one.querySelector("s"); });
      return [own[0], own[own.length - 1]].slice(0, Math.min(own.length, 2)).map(function (li) { return li.dataset.injection; });
    }).filter(function (pair) { return pair.length; });
  }

  function ends() {
    change({ show: [].concat.apply([], endsByColumn()), apart: "columns" });
  }

  /* The points of all traces that are shown, as they were measured: neither aligned nor scaled. */
  function save() {
    if (!view) { return; }
    var rows = ["injection,time_min,signal,unit"];
    /* A spreadsheet takes nothing for a formula that an apostrophe stands before. */
    function cell(text) { return '"' + text.replace(/^(?=[=+@\t\r-])/, "'").replace(/"/g, '""') + '"'; }
    view.lines.forEach(function (line) {
      line.data.time.forEach(function (time, i) {
        rows.push([cell(line.id), Number(time.toFixed(5)), Number(line.data.signal[i].toPrecision(7)), cell(line.data.unit)].join(","));
      });
    });
    var way = document.createElement("a");
    way.href = URL.createObjectURL(new Blob([rows.join("\n") + "\n"], { type: "text/csv" }));
    way.download = "points-" + (view.lines.length > 1 ? view.lines.length + "-traces" : view.lines[0].id) + ".csv";
    way.click();
    setTimeout(function () { URL.revokeObjectURL(way.href); }, 1000);
  }

  /* The panel under the pointer, and where in it. */
  function place(event) {
    var frame = plot.getBoundingClientRect(), x = event.clientX - frame.left, y = event.clientY - frame.top;
    var panel = view.panels.find(function (one) { return x <= one.over + one.width && y <= one.up + one.height; }) || view.panels[view.panels.length - 1];
    return { panel: panel, x: x - panel.over };
  }

  function keyed(event) {
    if (!view || event.ctrlKey || event.metaKey || event.altKey) { return; }
    var step = (view.to - view.from) / (event.shiftKey ? 20 : 200);
    var moves = { ArrowLeft: -step, ArrowRight: step, ArrowDown: -step, ArrowUp: step };
    if (event.key in moves) { read(reading + moves[event.key]); }
    else if (event.key === "Home") { read(view.from); }
    else if (event.key === "End") { read(view.to); }
    else if (event.key === "+" || event.key === "=") { zoom(0.6, reading); }
    else if (event.key === "-") { zoom(1 / 0.6, reading); }
    else if (event.key === "0") { whole(); }
    else { return; }
    event.preventDefault();
  }

  function pressed(event) {
    if (!view || event.button) { return; }
    dragged = place(event);
    plot.setPointerCapture(event.pointerId);
  }

  function moved(event) {
    if (!view) { return; }
    var at = place(event), panel = dragged ? dragged.panel : at.panel, x = at.x + at.panel.over - panel.over;
    read(panel.time(x));
    if (dragged) {
      panel.window.setAttribute("x", Math.min(x, dragged.x));
      panel.window.setAttribute("width", Math.abs(x - dragged.x));
    }
  }

  function released(event) {
    if (!dragged || !view) { return; }
    var panel = dragged.panel, at = place(event), x = at.x + at.panel.over - panel.over, far = Math.abs(x - dragged.x) > 6;
    var start = panel.time(dragged.x), end = panel.time(x);
    dragged = null;
    if (far) { change({ from: Math.min(start, end), to: Math.max(start, end) }); }
    else { panel.window.setAttribute("width", 0); }
  }

  /* ---- controls ---- */

  var bar = html("div", "controls", "", box);
  var choices = {};

  function choice(name, options) {
    var label = html("label", "", words[name] + " ", bar), select = html("select", "", "", label);
    options.forEach(function (option) {
      var one = html("option", "", option[1], select);
      one.value = option[0];
    });
    select.addEventListener("change", function () {
      var changes = {};
      changes[name] = select.value;
      if (name === "align") { changes.from = changes.to = null; }
      change(changes);
    });
    choices[name] = select;
  }

  function button(name, action) {
    var one = html("button", "", words[name], bar);
    one.type = "button";
    one.addEventListener("click", action);
  }

  choice("align", [["", words.align_none]].concat(markers.map(function (one) { return [one, say("align_on", { marker: one })]; })));
  choice("scale", [["", words.scale_none], ["highest", words.scale_highest]]);
  choice("apart", [["", words.apart_none], ["yes", words.apart_yes], ["columns", words.apart_columns]]);
  button("first_last", ends);
  button("save", save);
  button("zoom_in", function () { zoom(0.5); });
  button("zoom_out", function () { zoom(2); });
  button("left", function () { move(-0.4); });
  button("right", function () { move(0.4); });
  button("whole", whole);
  button("none", function () { change({ show: [], limit: "", from: null, to: null }); });

  var heading = html("h2", "", "", box);
  heading.hidden = true;
  var plot = html("div", "plot", "", box);
  plot.tabIndex = 0;
  plot.setAttribute("role", "slider");
  plot.setAttribute("aria-label", words.plot);
  plot.addEventListener("keydown", keyed);
  plot.addEventListener("pointerdown", pressed);
  plot.addEventListener("pointermove", moved);
  plot.addEventListener("pointerup", released);
  plot.addEventListener("pointercancel", function () { dragged = null; });
  plot.addEventListener("dblclick", whole);
  var readout = html("div", "readings", "", box), table = html("table", "", "", readout);
  var hints = html("div", "hints", "", box);

  /* A telephone shows the traces first, and what there is to choose below them, folded. */
  var phone = matchMedia("(max-width: 38em)"), chooser = html("details", "chooser");
  html("summary", "", words.choose, chooser);
  list.before(chooser);
  chooser.append(list);
  function arrange() {
    if (phone.matches) { readout.after(bar); } else { box.prepend(bar); }
    chooser.open = !phone.matches;
  }
  arrange();
  phone.addEventListener("change", arrange);

  list.querySelectorAll("section").forEach(function (section) {
    var lis = Array.from(section.querySelectorAll("li:not([data-untraced])"));
    var label = section.querySelector("h2").lastChild.textContent.trim();
    var all = html("button", "", words.all_of);
    section.querySelector("h2").after(all);
    all.setAttribute("aria-label", words.all_of + ": " + label);
    all.type = "button";
    all.addEventListener("click", function () {
      var own = lis.map(function (li) { return li.dataset.injection; });
      change({ show: state.show.filter(function (one) { return !own.includes(one); }).concat(own) });
    });
    lis.forEach(function (li) {
      var tick = document.createElement("input");
      tick.type = "checkbox";
      tick.setAttribute("aria-label", say("show", { injection: li.dataset.injection }));
      tick.addEventListener("change", function () { toggle(li.dataset.injection, tick.checked); });
      li.prepend(tick);
      items.set(li.dataset.injection, {
        section: section, label: label, column: section.dataset.column, group: section.dataset.group,
        exposure: li.dataset.exposure, tick: tick, href: li.querySelector("a").getAttribute("href")
      });
    });
  });

  function controls() {
    items.forEach(function (item, id) { item.tick.checked = state.show.includes(id); });
    choices.align.value = state.align;
    choices.scale.value = state.scale;
    choices.apart.value = state.apart;
  }

  /* Where the address names nothing, what the page opens on is shown; the address stays. */
  function atFirst() {
    var known = opening.filter(function (id) { return items.has(id); });
    return known.length ? known : endsByColumn()[0] || [];
  }

  function begin() {
    if (sheet && sheet.hidden) { return; }
    fromAddress();
    if (!state.show.length && !location.hash.includes("=")) { state.show = atFirst(); }
    controls();
    draw();
  }

  /* A link to a place on this page, such as the one past the menu, is no other view: the one shown stays. */
  function moved() {
    if (state.show.length && !location.hash.includes("=") && !(sheet && sheet.hidden)) { toAddress(); } else { begin(); }
  }

  box.hidden = false;
  window.addEventListener("hashchange", moved);
  window.addEventListener("resize", draw);
  begin();
});

"use strict";
/* Lays traces over each other. A column's traces are a script of their own, added to the page when the
   first of them is asked for; what is shown stands in the address after '#'. */

lyewitnessDress(function (part) {
  var SVG = "http://www.w3.org/2000/svg";
  var LEFT = 64, RIGHT = 12, TOP = 10, BOTTOM = 44, HEIGHT = 420, LARGER = 1;
  var DASHES = ["none", "7 3", "2 2.5", "11 3 2 3", "14 4", "7 2 2 2 2 2"];
  var box = part.querySelector("[data-part=viewer]");
  var list = part.querySelector("[data-part=viewer-list]");
  if (!box || !list) { return; }
  var sheet = box.closest(".sheet");
  var words = JSON.parse(part.querySelector("[data-part=viewer-words]").textContent);
  var markers = JSON.parse(list.dataset.markers);
  var opening = JSON.parse(list.dataset.first);
  var items = new Map();
  var decoded = new Map();
  var state = { show: [], align: "", scale: "", apart: false, from: null, to: null };
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
    state.apart = told.get("apart") === "yes";
    state.from = told.has("from") ? Number(told.get("from")) : null;
    state.to = told.has("to") ? Number(told.get("to")) : null;
    if (!(state.to > state.from)) { state.from = state.to = null; }
  }

  function toAddress() {
    var told = new URLSearchParams();
    if (state.show.length) { told.set("show", state.show.map(encodeURIComponent).join(",")); }
    if (state.align) { told.set("align", state.align); }
    if (state.scale) { told.set("scale", state.scale); }
    if (state.apart) { told.set("apart", "yes"); }
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
      var low = Math.min.apply(null, data.signal), high = Math.max.apply(null, data.signal);
      var span = high - low || 1;
      ready.push({
        id: id, item: item, data: data,
        time: data.time.map(function (one) { return one + by; }),
        signal: state.scale ? data.signal.map(function (one) { return (one - low) / span; }) : data.signal
      });
    });
    var drawn = ready.filter(function (line) { return !line.absent; });
    drawn.forEach(function (line) {
      // Of one colour are all traces of a group: which is which their strokes tell.
      var kin = drawn.filter(function (other) { return other.item.group === line.item.group; });
      line.dashes = DASHES[kin.indexOf(line) % DASHES.length];
    });
    return ready;
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
    var step = state.apart ? (high - low) * 0.25 : 0;
    drawn.forEach(function (line, i) { line.lift = step * i; });
    var room = 0.04 * (high - low);
    return { from: from, to: to, low: low - room, high: high + room + step * Math.max(0, drawn.length - 1) };
  }

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
    view.x = function (time) { return LEFT + (time - view.from) / (view.to - view.from) * (width - LEFT - RIGHT); };
    view.time = function (x) { return view.from + (x - LEFT) / (width - LEFT - RIGHT) * (view.to - view.from); };
    view.y = function (signal) { return TOP + (view.high - signal) / (view.high - view.low) * (HEIGHT - TOP - BOTTOM); };
    /* Room above the peaks for names that find none beside each other. */
    TOP = 10;
    var places = named(drawn, width);
    while (TOP < 10 + 56 * LARGER && places.some(function (one) { return !one.shown; })) {
      TOP += 14 * LARGER;
      places = named(drawn, width);
    }
    var svg = make("svg", { viewBox: "0 0 " + width + " " + HEIGHT, height: HEIGHT, "aria-hidden": "true" }, plot);
    axes(svg, width);
    var clip = make("clipPath", { id: "viewer-clip" }, make("defs", {}, svg));
    make("rect", { x: LEFT, y: 0, width: width - LEFT - RIGHT, height: HEIGHT - BOTTOM }, clip);
    var group = make("g", { "clip-path": "url(#viewer-clip)" }, svg);
    drawn.forEach(function (line) {
      make("path", { "class": "trace g" + line.item.group, "stroke-dasharray": line.dashes, d: path(line) }, group);
    });
    names(svg, places);
    view.reader = make("path", { "class": "reader" }, svg);
    view.window = make("rect", { "class": "window", y: TOP, height: HEIGHT - TOP - BOTTOM, width: 0 }, svg);
    if (reading === null || reading < view.from || reading > view.to) { reading = (view.from + view.to) / 2; }
    read(reading);
  }

  function path(line) {
    var d = "", pen = "M";
    line.time.forEach(function (time, i) {
      var next = line.time[i + 1], before = line.time[i - 1];
      if ((time < view.from && next < view.from) || (time > view.to && before > view.to)) { pen = "M"; return; }
      d += pen + view.x(time).toFixed(1) + " " + view.y(line.signal[i] + line.lift).toFixed(1);
      pen = "L";
    });
    return d;
  }

  /* Each marker's name above the highest of its peaks, between the axis and the edge; where two would meet, that
     of the lower peak goes a line higher. */
  function named(drawn, width) {
    var highest = new Map(), taken = [];
    drawn.forEach(function (line) {
      line.data.peaks.forEach(function (peak) {
        var time = peak[1] + (shift(line.data) || 0), signal = value(line, time);
        if (signal === null || time < view.from || time > view.to) { return; }
        var found = { name: peak[0], x: view.x(time), signal: signal + line.lift, rows: 0 };
        if (!highest.has(found.name) || found.signal > highest.get(found.name).signal) { highest.set(found.name, found); }
      });
    });
    function place(one) { one.y = Math.max(12 * LARGER, view.y(one.signal) - 6 - 14 * LARGER * one.rows); }
    Array.from(highest.values()).sort(function (a, b) { return b.signal - a.signal; }).forEach(function (one) {
      one.half = 3.3 * LARGER * one.name.length;
      one.x = Math.min(Math.max(LEFT + one.half, one.x), width - one.half);
      function meets(other) { return Math.abs(other.y - one.y) < 14 * LARGER && Math.abs(other.x - one.x) < one.half + other.half; }
      place(one);
      while (one.y > 12 * LARGER && taken.some(meets)) { one.rows += 1; place(one); }
      one.shown = !taken.some(meets);
      if (one.shown) { taken.push(one); }
    });
    return Array.from(highest.values());
  }

  function names(svg, found) {
    found.filter(function (one) { return one.shown; }).forEach(function (one) {
      make("text", { "class": "peak", "paint-order": "stroke", x: one.x.toFixed(1), y: one.y.toFixed(1), "text-anchor": "middle" }, svg).textContent = one.name;
    });
  }

  function axes(svg, width) {
    var floor = HEIGHT - BOTTOM + 4, d = "M" + LEFT + " " + floor + "H" + (width - RIGHT);
    /* One number alone would tell no scale. */
    ticks(view.from, view.to, Math.max(2.5, width / 90 / LARGER)).forEach(function (tick) {
      var x = view.x(tick[0]);
      d += "M" + x.toFixed(1) + " " + floor + "v5";
      make("text", { x: x, y: floor + 5 + 13 * LARGER, "text-anchor": "middle" }, svg).textContent = tick[1];
    });
    if (!state.apart) {
      d += "M" + (LEFT - 6) + " " + TOP + "V" + (HEIGHT - BOTTOM);
      ticks(view.low, view.high, 6).forEach(function (tick) {
        var y = view.y(tick[0]);
        d += "M" + (LEFT - 6) + " " + y.toFixed(1) + "h-4";
        make("text", { x: LEFT - 14, y: y + 4 * LARGER, "text-anchor": "end" }, svg).textContent = tick[1];
      });
    }
    make("path", { "class": "axis", d: d }, svg);
    var units = Array.from(new Set(view.lines.map(function (line) { return line.data.unit; })));
    make("text", { x: width - RIGHT, y: HEIGHT - 4, "text-anchor": "end" }, svg).textContent =
      state.align ? say("shifted", { marker: state.align }) : words.time;
    make("text", { x: 0, y: HEIGHT - 4 }, svg).textContent =
      state.scale ? words.relative : say("signal", { unit: units.join(", ") || "?" });
    if (!state.scale && units.length > 1) { html("p", "", say("units", { units: units.join(", ") }), hints); }
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
    var x = view.x(reading).toFixed(1);
    view.reader.setAttribute("d", "M" + x + " " + TOP + "V" + (HEIGHT - BOTTOM));
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
      html("td", "number", text + (state.scale || found === null ? "" : "\u2009" + line.data.unit), row);
      spoken.push(line.id + " " + text);
    });
    plot.setAttribute("aria-valuetext", say("reading", { time: number(reading.toFixed(3)) }) + ": " + spoken.join(", "));
  }

  function notes(all) {
    hints.replaceChildren();
    if (!state.show.length) { html("p", "", words.empty, hints); return; }
    all.filter(function (line) { return line.absent; }).forEach(function (line) {
      html("p", "", say("no_marker", { injection: line.id, marker: state.align }), hints);
    });
    failed.forEach(function (column) { html("p", "", say("failed", { column: column }), hints); });
    var thin = all.find(function (line) { return line.data && line.data.n < line.data.of; });
    if (thin) { html("p", "hint", say("thinned", thin.data), hints); }
    html("p", "hint", words.help, hints);
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
    change({ show: [].concat.apply([], endsByColumn()) });
  }

  function place(event) {
    var frame = plot.getBoundingClientRect();
    return event.clientX - frame.left;
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
    var x = place(event);
    read(view.time(x));
    if (dragged !== null) {
      view.window.setAttribute("x", Math.min(x, dragged));
      view.window.setAttribute("width", Math.abs(x - dragged));
    }
  }

  function released(event) {
    if (dragged === null || !view) { return; }
    var start = view.time(dragged), end = view.time(place(event)), far = Math.abs(place(event) - dragged) > 6;
    dragged = null;
    if (far) { change({ from: Math.min(start, end), to: Math.max(start, end) }); }
    else { view.window.setAttribute("width", 0); }
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
  var apart = html("label", "", "", bar);
  choices.apart = html("input", "", "", apart);
  choices.apart.type = "checkbox";
  apart.append(words.apart);
  choices.apart.addEventListener("change", function () { change({ apart: choices.apart.checked }); });
  button("first_last", ends);
  button("zoom_in", function () { zoom(0.5); });
  button("zoom_out", function () { zoom(2); });
  button("left", function () { move(-0.4); });
  button("right", function () { move(0.4); });
  button("whole", whole);
  button("none", function () { change({ show: [], from: null, to: null }); });

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
  var table = html("table", "", "", html("div", "readings", "", box));
  var hints = html("div", "hints", "", box);

  list.querySelectorAll("section").forEach(function (section) {
    var lis = Array.from(section.querySelectorAll("li:not([data-untraced])"));
    var label = section.querySelector("h2").lastChild.textContent.trim();
    var all = html("button", "", words.all_of, section.querySelector("h2"));
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
        section: section, column: section.dataset.column, group: section.dataset.group,
        exposure: li.dataset.exposure, tick: tick, href: li.querySelector("a").getAttribute("href")
      });
    });
  });

  function controls() {
    items.forEach(function (item, id) { item.tick.checked = state.show.includes(id); });
    choices.align.value = state.align;
    choices.scale.value = state.scale;
    choices.apart.checked = state.apart;
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

"use strict";
/* The chart that answers: point at an injection of a decline, or move along one, and its chromatogram stands
   beside the figure, that of the column's first injection pale behind it. */

lyewitnessDress(function (part) {
  var box = part.querySelector("[data-part=follow]"), image = part.querySelector(".pictures-first img");
  if (!box || !image) { return; }
  function find(what) { return box.querySelector(what); }
  function make(name, properties) { return Object.assign(document.createElement(name), properties); }
  var told = JSON.parse(find("script").textContent), words = JSON.parse(box.dataset.words), root = box.dataset.root;
  var select = find("select"), along = find("input"), button = find("button"), status = find("[role=status]"), both = find("a");
  var viewer = both.getAttribute("href").replace(/show=.*/, "show="), ring = make("span", { className: "ring", hidden: true }), which = told.start, timer = 0;

  function say(key, values) {
    return words[key].replace(/\{(\w+)\}/g, (_, name) => values[name]);
  }

  /* Where a point lies on the figure as it is shown, pixels. */
  function place(point) {
    var form = image.naturalWidth === told.narrow[0] ? told.narrow : told.wide, zoom = image.width / form[0];
    return [
      zoom * (form[2] + form[4] * (point[1] - form[6]) / (form[7] - form[6])),
      zoom * (form[3] + form[5] * (form[9] - point[2]) / (form[9] - form[8]))
    ];
  }

  /* What stands at the handle: an injection after so many hours, not the number of a step. */
  function speak() {
    var point = told.columns[which].points[along.value], hours = Math.round(point[1] * 10) / 10;
    along.ariaValueText = say("spoken", { hours, injection: point[0] });
    return hours;
  }

  /* What draws a chromatogram is loaded with the first that is asked for. */
  function ready(then) {
    if (window.lyewitnessTrace) { then(); return; }
    document.head.append(make("script", { src: root + "theme/traces.js", onload: then }));
  }

  function show(next, where, moved) {
    var column = told.columns[which = Number(next)], points = column.points, point = points[where], at = place(point);
    select.value = which;
    along.max = points.length - 1;
    along.value = where;
    status.textContent = say("told", {
      column: column.id, hours: speak(), injection: point[0],
      value: point[2].toFixed(told.places).replace("-", "\u2212") + told.unit
    });
    both.href = viewer + [points[0][0], point[0]].map(encodeURIComponent).map(encodeURIComponent).join();
    box.classList.add("open");
    ring.hidden = false;
    ring.style.translate = at[0] + "px " + at[1] + "px";
    ready(() => {
      if (moved) { lyewitnessTrace.inSight(box, image); }
      lyewitnessTrace.load(column.id, root + column.script, (held) => {
        if (which !== next || Number(along.value) !== where) { return; }
        if (held) { lyewitnessTrace.draw(find(".drawing"), held, points[0][0], point[0], column.group, words.time); }
        else { stop(); status.textContent = say("failed", { column: column.id }); }
      });
    });
  }

  function again(moved) { show(which, Number(along.value), moved); }

  function stop() {
    clearInterval(timer);
    timer = 0;
    button.textContent = words.play;
    status.ariaLive = "polite";
  }

  function play() {
    if (timer) { stop(); return; }
    var last = told.columns[which].points.length - 1, at = Number(along.value) % last;
    status.ariaLive = "off";
    button.textContent = words.pause;
    show(which, at, true);
    timer = setInterval(() => {
      if (++at === last) { stop(); }
      show(which, at);
    }, 450);
  }

  function nearest(event) {
    var frame = image.getBoundingClientRect(), best = event.type === "pointermove" ? 18 : 40, found;
    told.columns.forEach((column, i) => {
      column.points.forEach((point, j) => {
        var at = place(point), far = Math.hypot(event.clientX - frame.left - at[0], event.clientY - frame.top - at[1]);
        if (far < best) { best = far; found = [i, j]; }
      });
    });
    if (found) { stop(); show(...found); }
  }

  image.parentElement.className = "followed";
  image.after(ring);
  image.onpointermove = image.onpointerdown = nearest;
  along.oninput = () => { stop(); again(true); };
  select.onchange = () => {
    var next = Number(select.value), hours = told.columns[which].points[along.value][1], near = 0;
    told.columns[next].points.forEach((point, i, all) => {
      if (Math.abs(point[1] - hours) < Math.abs(all[near][1] - hours)) { near = i; }
    });
    stop();
    show(next, near, true);
  };
  button.onclick = play;
  button.hidden = matchMedia("(prefers-reduced-motion: reduce)").matches;
  window.addEventListener("resize", () => { if (!ring.hidden) { again(); } });
  select.value = which;
  along.max = told.columns[which].points.length - 1;
  speak();
  box.hidden = false;
});

"use strict";
/* Traces as the scripts beside the report hold them: loaded when they are asked for, decoded when they are
   drawn. Integers are zigzag, seven bits a byte, in base 64; times differenced twice, signals once. */

var lyewitnessTrace = (function () {
  function sums(numbers) {
    var sum = 0;
    return numbers.map(function (one) { return (sum += one); });
  }

  function integers(text) {
    var bytes = atob(text), numbers = [], value = 0, shift = 1;
    for (var i = 0; i < bytes.length; i++) {
      var byte = bytes.charCodeAt(i);
      value += (byte & 127) * shift;
      if (byte & 128) { shift *= 128; continue; }
      numbers.push(value % 2 ? -(value + 1) / 2 : value / 2);
      value = 0;
      shift = 1;
    }
    return sums(numbers);
  }

  function decode(packed) {
    return {
      time: sums(integers(packed.t)).map(function (one) { return one * packed.dt; }),
      signal: integers(packed.y).map(function (one) { return packed.y0 + one * packed.dy; }),
      peaks: packed.peaks, unit: packed.unit, n: packed.n, of: packed.of
    };
  }

  function make(name, attributes, text) {
    var element = document.createElementNS("http://www.w3.org/2000/svg", name);
    Object.keys(attributes).forEach(function (key) { element.setAttribute(key, attributes[key]); });
    element.textContent = text || "";
    return element;
  }

  return {
    decode: decode,

    /* Draws an injection over the first of its column, on one scale for the whole column, with the markers'
       names at its peaks. Each trace counts from its lowest signal in 20,000 steps, see trace_data.py. */
    draw: function (drawing, held, first, id, group, unit) {
      var wide = drawing.clientWidth, tall = 152, all = Object.values(held), trace = decode(held[id]);
      var low = Math.min.apply(null, all.map(function (one) { return one.y0; }));
      var high = Math.max.apply(null, all.map(function (one) { return one.y0 + 20000 * one.dy; }));
      var from = trace.time[0], to = trace.time[trace.time.length - 1], taken = -99, before = 0;
      function x(time) { return (time - from) / (to - from) * wide; }
      function y(signal) { return 128 - (signal - low) / (high - low) * 94; }
      function line(one, name) {
        var corners = one.time.map(function (time, i) { return x(time).toFixed(1) + " " + y(one.signal[i]).toFixed(1); });
        return make("path", { "class": name, d: "M" + corners.join("L") });
      }
      var ghost = decode(held[first]);
      /* Where the higher of both traces ends between two places: a name stands above what both draw there. */
      function clear(left, right) {
        return [ghost, trace].reduce(function (up, one) {
          return one.time.reduce(function (least, time, i) {
            return x(time) > left && x(time) < right ? Math.min(least, y(one.signal[i])) : least;
          }, up);
        }, 128);
      }
      var svg = make("svg", { viewBox: "0 0 " + wide + " " + tall, height: tall, "aria-hidden": "true" });
      svg.append(line(ghost, "ghost"), line(trace, "trace g" + group));
      var steps = [0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100];
      var step = steps.find(function (one) { return (to - from) / one < wide / 60; }) || 200;
      for (var i = Math.ceil(from / step); i * step <= to; i++) {
        var across = x(i * step);
        svg.append(make("path", { "class": "axis", d: "M" + across.toFixed(1) + " 131v4" }));
        if (across > wide - 80) { continue; }
        svg.append(make("text", { x: across.toFixed(1), y: 148, "text-anchor": i ? "middle" : "start" }, (i * step).toFixed(step < 1 ? 1 : 0)));
      }
      svg.append(make("path", { "class": "axis", d: "M0 131H" + wide }));
      svg.append(make("text", { x: wide, y: 148, "text-anchor": "end" }, unit));
      drawing.replaceChildren(svg);
      trace.peaks.slice().sort(function (a, b) { return a[1] - b[1]; }).forEach(function (peak) {
        var name = make("text", { "class": "peak", "paint-order": "stroke", "text-anchor": "middle" }, peak[0]);
        svg.append(name);
        var half = name.getComputedTextLength() / 2 + 2, middle = Math.max(half, Math.min(wide - half, x(peak[1])));
        var up = Math.min(y(peak[2]), clear(middle - half, middle + half)) - 5;
        if (middle - half < taken && Math.abs(up - before) < 14) { up = before - 14; }
        taken = middle + half;
        before = up;
        name.setAttribute("x", middle.toFixed(1));
        name.setAttribute("y", up.toFixed(1));
      });
    },

    /* Brings into sight what a key or handle has changed, and the figure beside it where both have room; a hand
       on the figure itself moves no page. */
    inSight: function (box, image) {
      var own = box.getBoundingClientRect(), beside = image.getBoundingClientRect(), room = window.innerHeight - 16;
      var top = Math.min(own.top, beside.top), bottom = Math.max(own.bottom, beside.bottom);
      if (bottom - top > room) { top = own.top; bottom = own.bottom; }
      var by = top < 8 ? top - 8 : Math.max(0, bottom - 8 - room);
      if (by) { window.scrollBy({ top: by, behavior: "instant" }); }
    },

    /* Hands the packed traces of a column to `done`, or nothing where their script cannot be read. */
    load: function (column, source, done) {
      function held() { return (window.lyewitnessTraces || {})[column]; }
      var inside = Array.from(document.querySelectorAll("script[data-traces]")).find(function (one) {
        return one.dataset.traces === source;
      });
      if (!held() && inside) {
        window.lyewitnessTraces = Object.assign(window.lyewitnessTraces || {}, JSON.parse(inside.textContent));
      }
      if (held()) { done(held()); return; }
      var script = document.createElement("script");
      script.src = source;
      script.onload = script.onerror = function () { done(held()); };
      document.head.append(script);
    }
  };
})();

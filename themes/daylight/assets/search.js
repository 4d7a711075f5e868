"use strict";
/* Search over everything in the report, in an index that lies beside the pages. */

lyewitnessDress(function (part) {
  var box = part.querySelector("[data-part=search]");
  if (!box || !window.lyewitnessIndex) { return; }
  var sheet = box.closest(".sheet");
  var words = JSON.parse(part.querySelector("[data-part=search-words]").textContent);
  var also = JSON.parse(part.querySelector("[data-part=search-also]").textContent);
  var query = box.querySelector("input");
  var found = box.querySelector("[data-part=found]");
  var results = box.querySelector("[data-part=results]");
  var MOST = 60;
  var index = window.lyewitnessIndex.map(function (entry) {
    return { kind: entry[0], title: entry[1], href: entry[2], text: entry[3],
             low: plain(entry[1]), all: plain(entry.join(" ")) };
  });

  function plain(text) {
    return text.normalize("NFKD").replace(/[\u0300-\u036f]/g, "").toLowerCase();
  }

  function weight(entry, wanted) {
    return wanted.reduce(function (sum, word) {
      if (!entry.all.includes(word)) { return NaN; }
      if (entry.low === word) { return sum + 20; }
      if (entry.low.startsWith(word)) { return sum + 8; }
      return sum + (entry.low.includes(word) ? 5 : 1);
    }, 0);
  }

  /* The names of the trade in what was asked for. */
  function named(asked) {
    return Object.keys(also).filter(function (name) { return asked.includes(name); });
  }

  /* What was asked for, and the same with each name of the trade put into the report's own words. */
  function readings(asked) {
    var said = [asked].concat(named(asked).map(function (name) { return asked.replace(name, plain(also[name])); }));
    return said.map(function (text) { return text.split(/\s+/).filter(Boolean); });
  }

  function heaviest(entry, ways) {
    return ways.map(function (wanted) { return { entry: entry, wanted: wanted, weight: weight(entry, wanted) }; })
      .filter(function (hit) { return hit.weight > 0; })
      .sort(function (a, b) { return b.weight - a.weight; })[0];
  }

  function inSheets(href) {
    var parts = href.split("#"), name = parts[0].replace(/\.html$/, "").replace(/\//g, "-");
    return "#" + name + (parts[1] ? "--" + parts[1] : "");
  }

  function excerpt(entry, wanted) {
    var text = entry.text, place = plain(text).indexOf(wanted[0]), start = 0, end = text.length;
    if (place > 60) { start = text.indexOf(" ", place - 60) + 1 || place; }
    if (end > start + 200) { end = text.lastIndexOf(" ", start + 200); }
    if (end <= start) { end = start + 200; }
    return (start > 0 ? "… " : "") + text.slice(start, end) + (end < text.length ? " …" : "");
  }

  function item(entry, wanted) {
    var line = document.createElement("li");
    var kind = document.createElement("span");
    var link = document.createElement("a");
    kind.className = "kind";
    kind.textContent = entry.kind + " ";
    link.href = sheet ? inSheets(entry.href) : box.dataset.root + entry.href;
    link.textContent = entry.title;
    line.append(kind, link);
    if (entry.text) {
      var text = document.createElement("p");
      text.textContent = excerpt(entry, wanted);
      line.append(text);
    }
    return line;
  }

  function count(n) {
    if (n === 0) { return words.none; }
    if (n === 1) { return words.one; }
    return (n > MOST ? words.most : words.many).replace("{n}", n).replace("{shown}", MOST);
  }

  function search() {
    var ways = readings(plain(query.value));
    if (!ways[0].length) { results.replaceChildren(); found.textContent = ""; return; }
    var hits = index.map(function (entry) { return heaviest(entry, ways); }).filter(Boolean)
      .sort(function (a, b) { return b.weight - a.weight; });
    found.textContent = [count(hits.length)].concat(named(plain(query.value)).map(function (name) {
      return words.also.replace("{name}", name).replace("{words}", also[name]);
    })).join(" ");
    results.replaceChildren.apply(results, hits.slice(0, MOST).map(function (hit) { return item(hit.entry, hit.wanted); }));
  }

  query.addEventListener("input", function () {
    search();
    history.replaceState(null, "", "#" + (sheet ? sheet.id + "?" : "") + "q=" + encodeURIComponent(query.value));
  });
  box.hidden = false;
  var told = /[#?]q=(.*)$/.exec(location.hash);
  if (told) { query.value = decodeURIComponent(told[1]); search(); }
  /* Who opens the page wants to type; a place on it that was asked for stays where it is. */
  if (!sheet && (told || !location.hash)) { query.focus({ preventScroll: true }); }
});

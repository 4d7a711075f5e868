"use strict";
/* What a page can do beyond being read: sort and filter its tables, explain a term where it stands.
   Everything is there without it. */

/* Runs `dress` on the page; where the report is one file, on each of its sheets when it is turned to. */
function lyewitnessDress(dress) {
  lyewitnessDress.all.push(dress);
  if (!document.querySelector(".sheet")) { dress(document); }
}
lyewitnessDress.all = [];

(function () {
  function key(cell) {
    var text = cell.dataset.key !== undefined ? cell.dataset.key : cell.textContent.trim();
    var number = Number(text);
    return text !== "" && !Number.isNaN(number) ? number : text.toLowerCase();
  }

  function compare(a, b) {
    var aEmpty = a === "" || a === "–", bEmpty = b === "" || b === "–";
    if (aEmpty || bEmpty) { return aEmpty === bEmpty ? 0 : "last"; }
    if (typeof a === "number" && typeof b === "number") { return a - b; }
    return String(a).localeCompare(String(b), document.documentElement.lang, { numeric: true });
  }

  function sort(table, place, button) {
    var head = button.closest("th");
    var falling = head.getAttribute("aria-sort") === "ascending";
    table.querySelectorAll("th[aria-sort]").forEach(function (other) { other.removeAttribute("aria-sort"); });
    head.setAttribute("aria-sort", falling ? "descending" : "ascending");
    var body = table.tBodies[0];
    var rows = Array.from(body.rows).map(function (row, order) {
      return { row: row, key: key(row.cells[place]), order: order };
    });
    rows.sort(function (a, b) {
      var difference = compare(a.key, b.key);
      if (difference === "last") { return a.key === "" || a.key === "–" ? 1 : -1; }
      return (falling ? -difference : difference) || a.order - b.order;
    });
    rows.forEach(function (one) { body.append(one.row); });
  }

  function sortable(table) {
    if (table.tBodies[0].rows.length < 2) { return; }
    table.querySelectorAll("thead th").forEach(function (head, place) {
      var button = document.createElement("button");
      button.type = "button";
      button.append.apply(button, Array.from(head.childNodes));
      button.addEventListener("click", function () { sort(table, place, button); });
      head.append(button);
    });
  }

  function filterable(table) {
    var label = document.createElement("label");
    var input = document.createElement("input");
    label.className = "filter";
    input.type = "search";
    label.append(table.dataset.filter + " ", input);
    table.closest(".scroll").before(label);
    input.addEventListener("input", function () {
      var words = input.value.toLowerCase().split(/\s+/).filter(Boolean);
      Array.from(table.tBodies[0].rows).forEach(function (row) {
        var text = row.textContent.toLowerCase();
        row.hidden = !words.every(function (word) { return text.includes(word); });
      });
    });
  }

  function explain(term) {
    var meaning = document.getElementById(decodeURIComponent(term.hash.slice(1)));
    if (!meaning) { return; }
    term.setAttribute("aria-expanded", "false");
    term.setAttribute("role", "button");
    var note = null;
    function toggle(event) {
      event.preventDefault();
      if (note) {
        note.remove();
        note = null;
      } else {
        note = document.createElement("span");
        note.className = "here";
        note.setAttribute("role", "note");
        note.textContent = meaning.textContent.trim().replace(/\s+/g, " ");
        term.after(note);
      }
      term.setAttribute("aria-expanded", note ? "true" : "false");
    }
    term.addEventListener("click", toggle);
    term.addEventListener("keydown", function (event) {
      if (event.key === " ") { toggle(event); }
      if (event.key === "Escape" && note) { toggle(event); }
    });
  }

  /* A place with room for less than three quarters of a wide drawing, in letters, gets the narrow form, whatever
     made the letters large: what a picture's own condition asks knows the browser's letters, not the page's. */
  function fit(figure) {
    var forms = Array.from(figure.querySelectorAll("source[width]")), picture = figure.querySelector("picture");
    var image = figure.querySelector("img"), letters = image && 0.75 * image.getAttribute("width") / 16;
    var asked = forms.map(function (form) { return form.media; });
    if (!forms.length) { return; }
    new ResizeObserver(function () {
      var place = getComputedStyle(figure).display === "grid" ? picture : figure;
      var letter = parseFloat(getComputedStyle(document.documentElement).fontSize);
      var slim = place.clientWidth > 0 && place.clientWidth < letters * letter;
      if (slim === figure.classList.contains("slim")) { return; }
      figure.classList.toggle("slim", slim);
      forms.forEach(function (form, i) {
        form.media = slim ? asked[i].replace("max-width: 38em", "min-width: 0") : asked[i];
      });
    }).observe(figure);
    /* What was laid on the other form is laid anew. */
    image.addEventListener("load", function () { window.dispatchEvent(new Event("resize")); });
  }

  function reachable(scroller) {
    if (scroller.scrollWidth > scroller.clientWidth) { scroller.tabIndex = 0; }
  }

  /* What an address leads to is opened where it lies folded. */
  function unfold() {
    var name = decodeURIComponent(location.hash.slice(1));
    var target = name && document.getElementById(name);
    var folded = target && target.closest("details:not([open])");
    if (folded) { folded.open = true; target.scrollIntoView(); }
  }

  window.addEventListener("hashchange", unfold);
  lyewitnessDress(unfold);
  lyewitnessDress(function (part) {
    part.querySelectorAll(".figure").forEach(fit);
    part.querySelectorAll(".figure picture").forEach(reachable);
    part.querySelectorAll(".table table").forEach(sortable);
    part.querySelectorAll("table[data-filter]").forEach(filterable);
    part.querySelectorAll("a.term").forEach(explain);
  });
})();

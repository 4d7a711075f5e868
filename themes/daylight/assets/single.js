"use strict";
/* Turns to the sheet that the address after '#' names: its page before '--', a place in it after. A sheet
   is text until it is turned to; then it becomes part of the document and is dressed like a page. */

(function () {
  var sheets = Array.from(document.querySelectorAll(".sheet"));
  var first = sheets[0];

  function wanted() {
    var told = decodeURIComponent(location.hash.slice(1)).split("?")[0];
    var name = told.split("--")[0];
    return { sheet: sheets.find(function (one) { return one.id === name; }) || first, place: told };
  }

  function open(sheet) {
    if (sheet.dataset.open) { return; }
    sheet.dataset.open = "yes";
    var kept = sheet.firstElementChild;
    if (kept && kept.localName === "noscript") { sheet.innerHTML = kept.textContent; }
    lyewitnessDress.all.forEach(function (dress) { dress(sheet); });
  }

  function turn(event) {
    var now = wanted();
    sheets.forEach(function (one) { one.hidden = one !== now.sheet; });
    open(now.sheet);
    document.title = now.sheet.dataset.title;
    document.querySelectorAll(".running a").forEach(function (link) {
      var current = link.hash === "#" + now.sheet.id;
      link.toggleAttribute("aria-current", current);
      if (current) { link.setAttribute("aria-current", "page"); }
      link.tabIndex = current ? -1 : 0;
    });
    var here = document.getElementById(now.place);
    if (here && here !== now.sheet) { here.scrollIntoView(); }
    else {
      window.scrollTo(0, 0);
      if (event) { now.sheet.focus({ preventScroll: true }); }
    }
  }

  document.documentElement.classList.add("one-at-a-time");
  window.addEventListener("hashchange", turn);
  turn(null);
})();

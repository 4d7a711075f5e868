"use strict";
/* Shows the sheet that the address after '#' names: its page before '--', a place in it after. */

(function () {
  var sheets = Array.from(document.querySelectorAll(".sheet"));
  var first = sheets[0];

  function shown() {
    var told = decodeURIComponent(location.hash.slice(1)).split("?")[0];
    var name = told.split("--")[0];
    return { sheet: sheets.find(function (one) { return one.id === name; }) || first, place: told };
  }

  function turn(event) {
    var now = shown(), here = document.getElementById(now.place);
    sheets.forEach(function (one) { one.hidden = one !== now.sheet; });
    document.title = now.sheet.dataset.title;
    document.querySelectorAll(".running a").forEach(function (link) {
      if (link.hash === "#" + now.sheet.id) { link.setAttribute("aria-current", "page"); }
      else { link.removeAttribute("aria-current"); }
    });
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

(function () {
  "use strict";
  var form = document.getElementById("filters"), list = document.getElementById("studies"), told = document.getElementById("told");
  if (!form || !list) { return; }
  var items = Array.prototype.slice.call(list.children);
  function plain(text) { return text.normalize("NFKD").replace(/[\u0300-\u036f]/g, "").toLowerCase(); }
  var texts = items.map(function (item) { return plain(item.textContent + " " + item.getAttribute("data-words")); });
  function near(item, name, wanted) {
    var low = form.elements[name + "-low"].value, high = form.elements[name + "-high"].value;
    if (low === "" && high === "") { return true; }
    return item.getAttribute("data-" + name).split(" ").some(function (one) {
      return one !== "" && (low === "" || Number(one) >= Number(low)) && (high === "" || Number(one) <= Number(high));
    });
  }
  function show() {
    var words = plain(form.elements.words.value).split(/\s+/).filter(Boolean), shown = 0;
    items.forEach(function (item, place) {
      var fits = words.every(function (word) { return texts[place].indexOf(word) >= 0; });
      Array.prototype.forEach.call(form.querySelectorAll("select"), function (choice) {
        if (choice.value) { fits = fits && JSON.parse(item.getAttribute("data-" + choice.name)).indexOf(choice.value) >= 0; }
      });
      fits = fits && near(item, "heat") && near(item, "ph");
      item.hidden = !fits;
      shown += fits ? 1 : 0;
    });
    told.textContent = shown + " of " + items.length + " studies";
  }
  form.hidden = false;
  form.addEventListener("input", show);
  form.addEventListener("submit", function (event) { event.preventDefault(); });
  show();
})();

"use strict";
/* Another limit than the study's, tried by a reader: a dashed line on the figure, and the lives to it. */

lyewitnessDress(function (part) {
  var box = part.querySelector("[data-part=what-if]"), follow = part.querySelector("[data-part=follow] script");
  var image = part.querySelector(".pictures-first img");
  if (!box) { return; }
  var told = JSON.parse(box.querySelector("script").textContent), words = JSON.parse(box.dataset.words);
  var along = box.querySelector("input"), list = box.querySelector("ul"), said = box.querySelector("[role=status] p");
  var forms = follow && image && JSON.parse(follow.textContent), drawn = [];

  /* Puts something on the figure, at hours and percent. */
  function put(name, hours, percent, wide) {
    var form = image.naturalWidth === forms.narrow[0] ? forms.narrow : forms.wide, zoom = image.width / form[0];
    var mark = document.createElement("span");
    mark.className = name;
    mark.style.left = zoom * (form[2] + form[4] * (hours - form[6]) / (form[7] - form[6])) + "px";
    mark.style.top = zoom * (form[3] + form[5] * (form[9] - percent) / (form[9] - form[8])) + "px";
    if (wide) { mark.style.width = zoom * form[4] + "px"; }
    image.after(mark);
    drawn.push(mark);
  }

  function show() {
    var level = told.levels[along.value], lives = told.lives[along.value], own = Number(along.value) === Number(along.dataset.own);
    drawn.splice(0).forEach((one) => one.remove());
    along.setAttribute("aria-valuetext", level + " %");
    said.textContent = words[own ? "own" : "then"].replace("{level}", level).replace("{by}", told.by || "");
    list.replaceChildren.apply(list, told.groups.map(function (group, i) {
      var item = document.createElement("li"), mark = document.createElement("span");
      mark.className = "mark g" + group[1];
      mark.textContent = group[2];
      mark.setAttribute("aria-hidden", "true");
      item.append(mark, " " + group[0] + ": " + lives[i][0]);
      return item;
    }));
    if (!forms || own || forms.unit.trim() !== "%") { return; }
    put("supposed", forms.wide[6], level, true);
    told.groups.forEach((group, i) => { if (lives[i][1] !== null) { put("supposed-life g" + group[1], lives[i][1], level); } });
  }

  along.addEventListener("input", show);
  window.addEventListener("resize", show);
  if (image) { image.parentElement.classList.add("followed"); }
  box.hidden = false;
  along.value = along.dataset.own;
  show();
});

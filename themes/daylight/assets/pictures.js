"use strict";
/* Two pictures of one place under one slider: the earlier one left of a line, the later one right of it. Without this they
   stand side by side, as they do on paper; neither is changed. */

lyewitnessDress(function (part) {
  part.querySelectorAll("[data-part=pair]").forEach(function (pair) {
    var frame = pair.querySelector(".pictures"), later = frame.querySelectorAll(".view")[1];
    var control = pair.querySelector(".uncover"), along = control.querySelector("input");
    var edge = document.createElement("span"), moved = pair.dataset.moved.split(" ");

    function show() {
      later.style.clipPath = "inset(0 0 0 " + along.value + "%)";
      edge.style.left = along.value + "%";
      along.setAttribute("aria-valuetext", control.dataset.told.replace("{share}", along.value));
    }

    function drag(event) {
      var box = frame.getBoundingClientRect();
      if (event.buttons !== 1) { return; }
      along.value = Math.round(100 * (event.clientX - box.left) / box.width);
      show();
    }

    edge.className = "edge";
    frame.append(edge);
    later.firstElementChild.style.translate = moved[0] + "% " + moved[1] + "%";
    along.addEventListener("input", show);
    frame.addEventListener("pointerdown", drag);
    frame.addEventListener("pointermove", drag);
    frame.addEventListener("dragstart", (event) => event.preventDefault());
    control.hidden = false;
    pair.classList.add("over");
    show();
  });
});

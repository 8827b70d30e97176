// Ticks of the evening and the red light are remembered on this device. Everything on the page works without
// this script.
"use strict";
const list = document.querySelector("[data-evening]");
const mark = list ? list.dataset.evening : "";
const shelf = {
  read(key) {
    try { return localStorage.getItem(key); } catch { return null; }
  },
  write(key, value) {
    try { localStorage.setItem(key, value); } catch { /* private window: nothing is remembered */ }
  },
  forget(wanted) {
    try {
      for (const key of Object.keys(localStorage)) if (key.startsWith("evening:") && key !== wanted) localStorage.removeItem(key);
    } catch { /* nothing to forget */ }
  },
};
const red = document.getElementById("red");
if (red) {
  red.checked = shelf.read("red-light") === "on";
  red.addEventListener("change", () => shelf.write("red-light", red.checked ? "on" : "off"));
}
if (mark) {
  const key = `evening:${mark}`;
  shelf.forget(key);
  const boxes = [...document.querySelectorAll("input[data-task]")];
  const evening = boxes.filter((box) => box.closest("[data-evening]"));
  const count = document.getElementById("done-count");
  let done = new Set();
  try { done = new Set(JSON.parse(shelf.read(key) || "[]")); } catch { /* start anew */ }
  const told = () => {
    if (count) count.textContent = say("{done} of {all} done.", { done: evening.filter((box) => box.checked).length, all: evening.length });
  };
  for (const box of boxes) {
    box.checked = done.has(box.dataset.task);
    box.addEventListener("change", () => {
      if (box.checked) done.add(box.dataset.task);
      else done.delete(box.dataset.task);
      shelf.write(key, JSON.stringify([...done]));
      told();
    });
  }
  told();
}

// Has the pages kept for when there is no signal, and says of a kept page how old it is.
"use strict";
(() => {
  const KEPT = "bearwell-kept";
  const root = document.documentElement;

  function ago(then) {
    const minutes = Math.max(0, Math.round((Date.now() - then.getTime()) / 60000));
    const hours = Math.round(minutes / 60);
    const days = Math.round(minutes / 1440);
    if (minutes < 1) return say("just now");
    if (minutes < 90) return minutes === 1 ? say("1 minute ago") : say("{number} minutes ago", { number: minutes });
    if (minutes < 2880) return say("{number} hours ago", { number: hours });
    return say("{number} days ago", { number: days });
  }
  const written = (then) =>
    then.toLocaleString(root.lang === "en" ? "en-GB" : root.lang, { day: "numeric", month: "short", hour: "2-digit", minute: "2-digit" });

  function tellAge() {
    const then = new Date(root.dataset.kept || "");
    if (Number.isNaN(then.getTime())) return;
    const said = document.createElement("p");
    said.className = "kept";
    said.setAttribute("role", "status");
    const strong = document.createElement("b");
    strong.textContent = `${root.dataset.missed ? say("There is no signal, and the page you asked for is not kept here.") : say("No signal.")} `;
    const age = document.createElement("span");
    const tell = () => { age.textContent = `${say("This page was kept {ago}, {time}.", { ago: ago(then), time: written(then) })} `; };
    const again = document.createElement("a");
    again.href = "";
    again.textContent = say("Try again");
    tell();
    setInterval(tell, 30000);
    said.append(strong, age, again);
    document.querySelector("main").prepend(said);
    // It stays at the head of the screen: what is gone to comes to stand below it, not behind.
    new ResizeObserver(() => { root.style.scrollPaddingTop = `${said.offsetHeight + 16}px`; }).observe(said);
  }

  async function tellShelf() {
    const places = [...document.querySelectorAll("[data-keep]")];
    const sum = document.getElementById("kept-sum");
    if (!places.length || !sum) return;
    if (!("caches" in window)) {
      sum.textContent = say("This browser keeps pages only from a secure address (https, or this machine itself).");
      return;
    }
    const shelf = await caches.open(KEPT);
    let kept = 0;
    for (const place of places) {
      const found = await shelf.match(place.dataset.keep);
      const at = found && new Date(found.headers.get("x-kept-at"));
      if (at) kept += 1;
      place.querySelector(".age").textContent = at ? say("kept {ago}", { ago: ago(at) }) : say("not kept yet");
    }
    sum.textContent = say("{number} of {all} pages are kept on this device.", { number: kept, all: places.length });
  }

  if (document.body.dataset.door === "shut") {
    if ("caches" in window) caches.delete(KEPT).catch(() => {});
    return;
  }
  tellAge();
  tellShelf().catch(() => {});
  if (!("serviceWorker" in navigator)) return;
  const keep = () => navigator.serviceWorker.ready
    .then((worker) => worker.active.postMessage({ keep: location.pathname })).catch(() => {});
  navigator.serviceWorker.register("/keeper.js").then(keep, () => {});
  addEventListener("online", keep);
  if (document.getElementById("kept-sum")) setInterval(() => tellShelf().catch(() => {}), 2000);
})();

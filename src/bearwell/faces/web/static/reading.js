// Drawings read point by point: by a pointer over them, a finger along them, or the arrow keys. What each point
// says and where it lies stands in the page (drawing/reading.py); every drawing is read by this one script.
"use strict";
(() => {
  const SVG = "http://www.w3.org/2000/svg";
  const WEEK = 7; // points passed over by page up and page down

  // One drawing of a frame, wide or narrow, with its mark.
  function drawn(shape) {
    const across = shape.dataset.at.split(" ").map(Number);
    const first = Number(shape.dataset.first);
    const [upper, lower] = shape.dataset.reach.split(" ").map(Number);
    const mark = document.createElementNS(SVG, "path");
    mark.setAttribute("class", "read-mark");
    mark.setAttribute("visibility", "hidden");
    shape.append(mark);
    const last = first + across.length - 1;
    return {
      shape, first, last,
      seen: () => shape.getClientRects().length > 0,
      show(point) {
        const here = point !== null && point >= first && point <= last;
        mark.setAttribute("visibility", here ? "visible" : "hidden");
        if (here) mark.setAttribute("d", `M${across[point - first]} ${upper}V${lower}m-5 6l5 -6l5 6z`);
      },
      nearest(event) {
        const { x } = new DOMPoint(event.clientX, event.clientY).matrixTransform(shape.getScreenCTM().inverse());
        let best = 0;
        for (let place = 1; place < across.length; place += 1) {
          if (Math.abs(across[place] - x) < Math.abs(across[best] - x)) best = place;
        }
        return first + best;
      },
    };
  }

  function wake(frame, number) {
    const { hint, start } = frame.dataset;
    const sentences = frame.dataset.sentences.split("\n");
    const points = frame.dataset.points.split("\n").map((point) => point.split("\t"));
    const told = frame.querySelector(".reading");
    const drawings = [...frame.querySelectorAll("svg[data-at]")].map(drawn);
    let chosen = null;

    function choose(point) {
      if (point === chosen) return;
      chosen = point;
      for (const one of drawings) one.show(point);
      if (point === null) { told.textContent = hint; return; }
      const [sentence, ...values] = points[point];
      told.textContent = sentences[sentence].replace(/\{(\d+)\}/g, (_, at) => values[at]);
    }

    for (const one of drawings) {
      let held = false;
      one.shape.addEventListener("pointerdown", (event) => {
        if (event.button !== 0) return;
        held = true;
        if (event.pointerType !== "mouse") one.shape.setPointerCapture(event.pointerId);
        choose(one.nearest(event));
      });
      one.shape.addEventListener("pointermove", (event) => {
        if (held || event.pointerType === "mouse") choose(one.nearest(event));
      });
      for (const end of ["pointerup", "pointercancel"]) one.shape.addEventListener(end, () => { held = false; });
    }

    frame.addEventListener("keydown", (event) => {
      if (event.altKey || event.ctrlKey || event.metaKey) return;
      const now = drawings.find((one) => one.seen());
      if (!now) return;
      const from = chosen === null ? Number(start) : chosen;
      const to = {
        ArrowLeft: from - 1, ArrowRight: from + 1, ArrowDown: from - 1, ArrowUp: from + 1,
        PageUp: from - WEEK, PageDown: from + WEEK, Home: now.first, End: now.last,
      }[event.key];
      if (event.key === "Escape") choose(null);
      if (to === undefined) return;
      event.preventDefault();
      choose(Math.min(Math.max(to, now.first), now.last));
    });
    frame.addEventListener("focus", () => {
      if (chosen === null && frame.matches(":focus-visible")) choose(Number(start));
    });

    told.id = `reading-${number}`;
    told.textContent = hint;
    frame.tabIndex = 0;
    frame.setAttribute("role", "application");
    frame.setAttribute("aria-label", frame.querySelector("svg > title").textContent);
    frame.setAttribute("aria-describedby", told.id);
    frame.classList.add("reads");
  }

  document.querySelectorAll(".readable").forEach(wake);
})();

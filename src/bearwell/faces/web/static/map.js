// Moves trees on the drawing, by pointer and by arrow keys. Where the page can record, their new places are put
// into the form that keeps them; elsewhere the line to write in the garden file is shown.
"use strict";
(() => {
  const drawing = document.querySelector(".map-drawing");
  const panel = document.querySelector(".moved");
  if (!drawing || !panel) return;
  const list = panel.querySelector(".moved-list");
  const keeps = panel instanceof HTMLFormElement;
  const west = Number(drawing.dataset.west), top = Number(drawing.dataset.north), unit = Number(drawing.dataset.unit);
  const feet = panel.dataset.units === "us", FOOT = 0.3048;
  const box = drawing.viewBox.baseVal;
  const trees = [...drawing.querySelectorAll(".map-tree")].map((shape) => ({
    shape,
    id: shape.dataset.tree,
    name: shape.dataset.name,
    radius: Number(shape.dataset.spread) / 2,
    later: Number(shape.dataset.later) / 2,
    home: shape.dataset.east === undefined ? null : [Number(shape.dataset.east), Number(shape.dataset.north)],
    ring: drawing.querySelector(`[data-later="${CSS.escape(shape.dataset.tree)}"].later`),
  }));
  for (const tree of trees) tree.at = tree.home && [...tree.home];

  const measure = (metres) => (feet ? `${(metres / FOOT).toFixed(1)} ft` : `${metres.toFixed(1)} m`);
  const line = (tree) => `place = { east = "${measure(tree.at[0])}", north = "${measure(tree.at[1])}" }`;
  // As it is read, in the language of the page; what is sent, and a garden file, keep the point.
  const mark = (0.5).toLocaleString(document.documentElement.lang)[1];
  const read = (metres) => measure(metres).replace(".", mark);
  const stands = (tree) => say("{east} east, {north} north", { east: read(tree.at[0]), north: read(tree.at[1]) });
  const spoken = (tree) => `${tree.name}, ${stands(tree)}`;

  function neighbour(tree) {
    let best = null;
    for (const other of trees) {
      if (other === tree || !other.at) continue;
      const trunks = Math.hypot(tree.at[0] - other.at[0], tree.at[1] - other.at[1]);
      const apart = trunks - tree.radius - other.radius, ahead = trunks - tree.later - other.later;
      if (!best || ahead < best.ahead) best = { other, apart, ahead };
    }
    if (!best) return "";
    const values = { tree: best.other.name, distance: read(best.apart) };
    if (best.apart <= 0) return window.say("would touch {tree} now", values);
    if (best.ahead > 0) return window.say("{distance} from the canopy of {tree}", values);
    return window.say("{distance} from the canopy of {tree}, and would touch it later", values);
  }

  // What the form sends of a tree: its place, and where it stood, so that nobody else's move is written over.
  function fields(tree) {
    const sent = { tree: tree.id, east: measure(tree.at[0]), north: measure(tree.at[1]), was: tree.home ? tree.home.join(" ") : "" };
    return Object.entries(sent).map(([name, value]) => Object.assign(document.createElement("input"), { type: "hidden", name, value }));
  }

  function tell(tree) {
    const id = `moved-${tree.id}`;
    let entry = document.getElementById(id);
    const moved = tree.at && !(tree.home && tree.at.every((value, axis) => Math.abs(value - tree.home[axis]) < 0.01));
    if (!moved) {
      if (entry) entry.remove();
    } else {
      if (!entry) {
        entry = document.createElement("li");
        entry.id = id;
        list.append(entry);
      }
      const name = document.createElement("b"), near = document.createElement("span");
      const place = document.createElement(keeps ? "span" : "code");
      name.textContent = tree.name;
      place.textContent = keeps ? stands(tree) : line(tree);
      near.textContent = neighbour(tree);
      near.className = "soft";
      entry.replaceChildren(name, place, near, ...(keeps ? fields(tree) : []));
    }
    panel.hidden = !list.children.length;
  }

  function put(tree, east, north) {
    const round = (value) => Math.round(value * 10) / 10;
    const low = top - box.height / unit, right = west + box.width / unit;
    tree.at = [round(Math.min(Math.max(east, west), right)), round(Math.min(Math.max(north, low), top))];
    show(tree);
  }

  function show(tree) {
    const x = (tree.at[0] - west) * unit, y = (top - tree.at[1]) * unit;
    tree.shape.setAttribute("transform", `translate(${x.toFixed(1)} ${y.toFixed(1)})`);
    if (tree.ring) {
      tree.ring.setAttribute("cx", x.toFixed(1));
      tree.ring.setAttribute("cy", y.toFixed(1));
    }
    tree.shape.setAttribute("aria-label", spoken(tree));
    tell(tree);
  }

  function wake(tree) {
    tree.shape.setAttribute("tabindex", "0");
    tree.shape.setAttribute("role", "button");
    tree.shape.setAttribute("aria-roledescription", window.say("tree that can be moved"));
    tree.shape.setAttribute("aria-label", spoken(tree));
  }

  function place(event) {
    const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(drawing.getScreenCTM().inverse());
    return [west + point.x / unit, top - point.y / unit];
  }

  function putBack(tree) {
    if (tree.home) {
      tree.at = [...tree.home];
      show(tree);
    } else if (tree.at) {
      tree.at = null;
      tree.shape.classList.add("waiting");
      if (tree.button) tree.button.hidden = false;
      tell(tree);
    }
  }

  const STEPS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
  for (const tree of trees) {
    if (tree.at) wake(tree);
    let held = null;
    tree.shape.addEventListener("keydown", (event) => {
      const step = STEPS[event.key];
      if (step && tree.at && !event.altKey && !event.ctrlKey && !event.metaKey) {
        event.preventDefault();
        const far = event.shiftKey ? 1 : 0.1;
        put(tree, tree.at[0] + far * step[0], tree.at[1] + far * step[1]);
      } else if (event.key === "Escape" && tree.home) {
        putBack(tree);
      }
    });
    tree.shape.addEventListener("pointerdown", (event) => {
      if (event.button !== 0 || !tree.at) return;
      const [east, north] = place(event);
      held = [east - tree.at[0], north - tree.at[1]];
      tree.shape.setPointerCapture(event.pointerId);
      tree.shape.classList.add("held");
      tree.shape.focus({ preventScroll: true });
      event.preventDefault();
    });
    tree.shape.addEventListener("pointermove", (event) => {
      if (!held) return;
      const [east, north] = place(event);
      put(tree, east - held[0], north - held[1]);
    });
    for (const end of ["pointerup", "pointercancel"]) {
      tree.shape.addEventListener(end, () => {
        held = null;
        tree.shape.classList.remove("held");
      });
    }
  }

  for (const button of document.querySelectorAll(".set-down")) {
    const tree = trees.find((one) => one.id === button.dataset.set);
    if (!tree) continue;
    tree.button = button;
    button.hidden = false;
    button.addEventListener("click", () => {
      tree.shape.classList.remove("waiting");
      put(tree, west + box.width / unit / 2, top - box.height / unit / 2);
      wake(tree);
      tree.shape.focus();
      button.hidden = true;
    });
  }
  if (keeps) {
    panel.querySelector(".put-back").addEventListener("click", () => {
      const [first] = trees.filter((tree) => document.getElementById(`moved-${tree.id}`));
      for (const tree of trees) putBack(tree);
      if (first && first.home) first.shape.focus();
    });
    // The record waits on this device: what was moved stands there from now on.
    panel.addEventListener("reset", () => {
      for (const tree of trees) {
        if (!tree.at) continue;
        tree.home = [...tree.at];
        tell(tree);
      }
    });
  }
  document.documentElement.classList.add("moves");
})();

// Walks branches without asking the server: the same sheet, kept in the address, so that it works where
// there is no signal. Without this file every step is a request and the page does the same.
"use strict";
(() => {
  const sheet = document.getElementById("walking");
  if (!sheet) return;
  const told = sheet.dataset;
  const number = (name) => Number(told[name]);
  const quantiles = told.quantiles.split(",").map(Number);
  const at = (id) => document.getElementById(id);
  const metre = told.unit === "in" ? 0.0254 : 0.01;
  const units = { cm: 0.01, mm: 0.001, m: 1, in: 0.0254 };
  const marked = (figures) => (document.documentElement.lang === "en" ? figures : figures.replace(".", ","));
  const first = new URLSearchParams(location.search);
  const walks = all("walk").map((text) => text.split(":").map(Number));
  const forks = all("fork").map((text) => {
    const [girths, taken] = text.split("@");
    return { girths: girths.split(",").map(Number), taken: Number(taken) };
  });

  function all(name) {
    return [...at("fork-form").querySelectorAll(`input[name=${name}]`)].map((one) => one.value);
  }

  // A small seeded generator (a 32-bit mixing of seed, walk and fork): the same sheet chooses the same way.
  function chance(walk, fork) {
    let mixed = (number("seed") + 0x9e3779b9 * (walk * 64 + fork + 1)) | 0;
    mixed = Math.imul(mixed ^ (mixed >>> 16), 0x85ebca6b);
    mixed = Math.imul(mixed ^ (mixed >>> 13), 0xc2b2ae35);
    return ((mixed ^ (mixed >>> 16)) >>> 0) / 4294967296;
  }

  function shares(girths) {
    const squares = girths.map((girth) => girth * girth);
    const whole = squares.reduce((sum, one) => sum + one, 0);
    return squares.map((one) => one / whole);
  }

  const soFar = () => forks.reduce((p, fork) => p * shares(fork.girths)[fork.taken], 1);

  function complain(text) {
    const old = sheet.querySelector(".complaint");
    if (old) old.remove();
    if (!text) return;
    const said = document.createElement("p");
    said.className = "complaint";
    said.setAttribute("role", "alert");
    said.textContent = text;
    sheet.insertBefore(said, at("fork-form"));
  }

  function girthsOf(text) {
    const parts = text.trim().split(/[,;\s]+/).filter(Boolean);
    let factor = metre;
    if (parts.length && units[parts[parts.length - 1]]) factor = units[parts.pop()];
    const read = parts.map((part) => Number(part) * factor);
    return read.length > 1 && read.every((one) => one >= 0.003 && one <= 4) ? read : null;
  }

  function estimate() {
    const each = walks.map(([p, fruit]) => fruit / p);
    const n = each.length;
    const mean = each.reduce((sum, one) => sum + one, 0) / n;
    if (!mean) return noneMet(n);
    const few = n < number("few");
    const spread = Math.sqrt(each.reduce((sum, one) => sum + (one - mean) ** 2, 0) / (n - 1));
    const error = few ? (number("spread") * mean) / Math.sqrt(n) : spread / Math.sqrt(n);
    const wide = few ? 1.645 : quantiles[Math.min(n - 1, quantiles.length) - 1];
    const seen = Math.max(...walks.map((walk) => walk[1]));
    const low = Math.max(mean - wide * error, Math.min(seen, mean));
    const needed = mean ? Math.ceil(((error * Math.sqrt(n)) / mean / number("wanted")) ** 2 - 1e-9) : 0;
    return { mean, error, low, high: mean + wide * error, more: Math.max(needed - n, 0) };
  }

  // No fruit on any walk is no proof of an empty tree: the most that leaves them all empty, as the server has it.
  function noneMet(n) {
    const clump = number("spread") ** 2;
    const wanted = -Math.log(1 - number("sure"));
    const empty = (fruit) => walks.reduce((sum, [p]) => sum + Math.log1p(p * fruit * clump), 0) / clump;
    let low = 0;
    let high = 1;
    while (empty(high) < wanted) high *= 2;
    for (let step = 0; step < 80; step += 1) {
      const middle = (low + high) / 2;
      if (empty(middle) < wanted) low = middle;
      else high = middle;
    }
    const needed = Math.ceil((number("spread") / number("wanted")) ** 2 - 1e-9);
    return { mean: 0, error: high / 1.645, low: 0, high, more: Math.max(needed - n, 0) };
  }

  function remember() {
    const query = new URLSearchParams({ how: "walks", seed: told.seed });
    walks.forEach(([p, fruit]) => query.append("walk", `${p}:${fruit}`));
    forks.forEach((fork) => query.append("fork", `${fork.girths.join(",")}@${fork.taken}`));
    history.replaceState(null, "", `${location.pathname}?${query}`);
    for (const form of [at("fork-form"), at("fruit-form"), at("back-form")]) {
      form.querySelectorAll("input[type=hidden]").forEach((one) => one.remove());
      for (const [name, value] of query) {
        const field = document.createElement("input");
        Object.assign(field, { type: "hidden", name, value });
        form.prepend(field);
      }
    }
  }

  function line(tag, text, parent, name) {
    const made = document.createElement(tag);
    made.textContent = text;
    if (name) made.className = name;
    parent.append(made);
  }

  function show() {
    at("walk-head").textContent = say("Walk {number}", { number: walks.length + 1 });
    at("now").replaceChildren();
    const fork = forks[forks.length - 1];
    if (fork) {
      const girth = `${marked((fork.girths[fork.taken] / metre).toFixed(1).replace(/\.0$/, ""))} ${told.unit}`;
      line("p", say("Take branch {number}, {girth} round.", { number: fork.taken + 1, girth }), at("now"), "take");
      const sofar = { number: forks.length, chance: marked(soFar().toPrecision(3)) };
      line("p", say("Fork {number}; the chance of this walk so far is {chance}.", sofar), at("now"), "soft");
    } else {
      line("p", walks.length ? say("Back to the trunk.") : say("Start at the trunk."), at("now"), "take");
    }
    at("walks").replaceChildren();
    for (const [p, fruit] of walks) {
      const values = { fruit, chance: marked(p.toPrecision(3)), number: Math.round(fruit / p) };
      line("li", say("{fruit} fruit at a chance of {chance}: stands for {number}", values), at("walks"));
    }
    at("stands-for").hidden = !walks.length;
    if (walks.length) {
      const found = estimate();
      const whole = (value) => Math.round(value).toLocaleString("en").replace(/,/g, " ");
      const range = say("{value} ({low} to {high})", { value: whole(found.mean), low: whole(found.low), high: whole(found.high) });
      at("estimate").textContent = say("{number} fruit", { number: range });
      const values = { error: whole(found.error), more: found.more };
      at("more").textContent = found.more
        ? say("Give or take {error}. {more} more walks like these would bring the error to a tenth.", values)
        : say("Give or take {error}: as good as it need be.", values);
      const paths = walks.map(([p, fruit]) => `{ probability = ${Number(p.toPrecision(6))}, fruit = ${fruit} }`);
      at("line").textContent = `counts = [ { date = ${told.date}, paths = [${paths.join(", ")}] } ]`;
    }
    remember();
  }

  at("fork-form").addEventListener("submit", (event) => {
    event.preventDefault();
    const girths = girthsOf(at("girths").value);
    if (!girths) return complain(say("A fork has two branches or more: the girth of each, such as 14 9 6"));
    let left = chance(walks.length, forks.length);
    const odds = shares(girths);
    let taken = 0;
    while (taken < odds.length - 1 && left >= odds[taken]) left -= odds[taken++];
    forks.push({ girths, taken });
    at("girths").value = "";
    complain("");
    return show();
  });
  at("fruit-form").addEventListener("submit", (event) => {
    event.preventDefault();
    const text = at("fruit").value.trim();
    if (!/^\d{1,6}$/.test(text)) return complain(say("How many fruit hang beyond here? A whole number, 0 where there are none"));
    if (!forks.length) return complain(say("No fork was walked yet: type the girths at the first fork"));
    walks.push([Number(soFar().toFixed(6)), Number(text)]);
    forks.length = 0;
    at("fruit").value = "";
    complain("");
    return show();
  });
  at("back-form").addEventListener("submit", (event) => {
    event.preventDefault();
    if (forks.length) forks.pop();
    else walks.pop();
    complain("");
    show();
  });
  if (first.has("do")) remember(); // a reload must not take the same step twice
})();

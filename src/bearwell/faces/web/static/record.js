// A record is written down on this device first and then sent. Without signal it waits here and is sent later,
// each under the id it was made with, so that none is kept twice. What the server refuses later stays here until
// somebody has looked at it. Each record lies under a key of its own: two open pages never overwrite each other.
"use strict";
(() => {
  const KEY = "bearwell-waiting:";
  const PATIENCE = 8000; // ms
  const LARGEST_PHOTO = 24e6; // bytes: what the server takes, less what a form wraps round it
  const root = document.documentElement;
  const fresh = () => {
    if (crypto.randomUUID) return crypto.randomUUID();
    const b = crypto.getRandomValues(new Uint8Array(16));
    b[6] = (b[6] & 15) | 64; b[8] = (b[8] & 63) | 128;
    const h = [...b].map((x) => x.toString(16).padStart(2, "0")).join("");
    return [h.slice(0, 8), h.slice(8, 12), h.slice(12, 16), h.slice(16, 20), h.slice(20)].join("-");
  };
  const shelf = {
    all() {
      const found = [];
      try {
        for (const key of Object.keys(localStorage)) {
          if (key.startsWith(KEY)) found.push(JSON.parse(localStorage.getItem(key)));
        }
      } catch { /* nothing can be read here */ }
      return found.sort((a, b) => (a.made < b.made ? -1 : 1));
    },
    put(one) {
      try { localStorage.setItem(KEY + one.id, JSON.stringify(one)); return true; } catch { return false; }
    },
    has: (id) => { try { return localStorage.getItem(KEY + id) !== null; } catch { return false; } },
    drop(id) { try { localStorage.removeItem(KEY + id); } catch { /* it was not there */ } },
  };
  let sending = false;
  let typed = false;

  // One sending: "sent", "refused" with its reasons, "sign in", or "no signal".
  async function send(one) {
    const stop = new AbortController();
    const clock = setTimeout(() => stop.abort(), PATIENCE);
    let answer;
    try {
      answer = await fetch(one.url, {
        method: "POST", body: one.body, credentials: "same-origin", signal: stop.signal, redirect: "manual",
        headers: { "Content-Type": "application/x-www-form-urlencoded", Accept: "application/json" },
      });
    } catch { return { how: "no signal" }; } finally { clearTimeout(clock); }
    if (answer.ok) return { how: "sent" };
    if (answer.status === 401 || answer.type === "opaqueredirect") return { how: "sign in" };
    if (answer.status >= 500 || answer.status === 429 || answer.status === 408) return { how: "no signal" };
    const told = await answer.json().catch(() => ({ problems: [] }));
    const why = (told.problems || []).map((p) => p.hint ? `${p.message} (${p.hint})` : p.message).join("; ");
    return { how: "refused", why: why || `refused (${answer.status})` };
  }

  async function sendAll() {
    if (sending) return;
    sending = true;
    let sent = 0;
    try {
      for (const one of shelf.all()) {
        if (one.why) continue;
        const { how, why } = await send(one);
        if (how === "sign in") signIn = true;
        if (how === "no signal" || how === "sign in") break;
        signIn = false;
        if (how === "sent") { shelf.drop(one.id); sent += 1; } else shelf.put({ ...one, why });
      }
    } finally { sending = false; show(sent); }
    // What was sent moved the plan: show it anew, but never under somebody's hands.
    if (sent && !typed && !shelf.all().length) location.replace(location.pathname + location.search);
  }
  let signIn = false;

  function button(text, act) {
    const made = document.createElement("button");
    made.type = "button"; made.className = "plain-button"; made.textContent = text;
    made.addEventListener("click", act);
    return made;
  }

  // What waits, at the foot of every page; nothing is thrown away but by hand.
  function show(sent = 0) {
    const list = shelf.all();
    let box = document.querySelector(".to-send");
    if (!list.length && !sent) {
      if (box) box.remove();
      root.style.scrollPaddingBottom = "";
      return;
    }
    if (!box) {
      box = document.createElement("div");
      box.className = "to-send";
      box.setAttribute("role", "status");
      document.querySelector("main").append(box);
      // It stays at the foot of the screen: what is gone to comes to stand above it, not behind.
      const own = box;
      new ResizeObserver(() => {
        if (own.isConnected) root.style.scrollPaddingBottom = `${own.offsetHeight + 16}px`;
      }).observe(own);
    }
    const stuck = list.filter((one) => one.why);
    box.classList.toggle("stuck", stuck.length > 0);
    const waits = list.length - stuck.length;
    const p = document.createElement("p");
    p.textContent = [
      sent ? `${sent} ${sent === 1 ? "record was" : "records were"} sent.` : "",
      waits ? `${waits} ${waits === 1 ? "record waits" : "records wait"} on this device for ${signIn ? "you to sign in" : "signal"}.` : "",
      stuck.length ? `${stuck.length} could not be recorded and ${stuck.length === 1 ? "needs" : "need"} a look.` : "",
    ].filter(Boolean).join(" ");
    const ul = document.createElement("ul");
    for (const one of list) {
      const li = document.createElement("li");
      const said = document.createElement("span");
      said.textContent = one.label + (one.why ? `: ${one.why}` : "");
      li.append(said);
      if (one.why) {
        const tree = new URLSearchParams(one.body).get("advice");
        if (tree && one.url === "/do") {
          const there = document.createElement("a");
          there.href = `/tree/${encodeURIComponent(tree.split("/")[0])}/record`;
          there.textContent = "Record the work itself";
          li.append(there);
        }
        li.append(
          button("Try again", () => { shelf.put({ ...one, why: "" }); sendAll(); }),
          button("Throw it away", () => { shelf.drop(one.id); show(); }),
        );
      }
      ul.append(li);
    }
    box.replaceChildren(p, ul);
  }

  function complain(form, text) {
    const old = form.querySelector(".complaint");
    if (old) old.remove();
    if (!text) return;
    const box = document.createElement("div");
    box.className = "complaint";
    box.setAttribute("role", "alert");
    const p = document.createElement("p");
    p.textContent = `Not recorded: ${text}`;
    box.append(p);
    form.prepend(box);
    box.scrollIntoView({ block: "nearest" });
  }

  // What a record is called while it waits: what it is about, then what was typed or touched.
  function labelled(form, touched) {
    const fields = "brief" in form.dataset ? [] : [...form.querySelectorAll('input[type="text"], select')];
    const said = fields.map((one) => (one.tagName === "SELECT" ? one.selectedOptions[0].text : one.value.trim())).filter(Boolean);
    if (!said.length && touched) said.push(touched.textContent.trim());
    return [form.dataset.label || "A record", ...said].join(", ");
  }

  // The page that says what was recorded, as after sending the form without this script.
  function onward(data) {
    const to = new URL(data.get("back") || "/", location.origin);
    to.searchParams.set("told", data.get("id"));
    location.assign(`${to.pathname}${to.search}#told`);
  }

  // A photo is too large to wait here; what cannot be taken is told before it is sent.
  function checkPhoto(event, form) {
    const [photo] = form.querySelector('input[type="file"]').files;
    const told = (text) => { event.preventDefault(); complain(form, text); };
    if (photo && photo.size === 0) told("the photo is empty (choose it again; was it still being saved?)");
    else if (photo && photo.size > LARGEST_PHOTO) told(`the photo has ${Math.round(photo.size / 1e6)} MB (${LARGEST_PHOTO / 1e6} MB at most)`);
    else if (navigator.onLine === false) told("a photo needs signal (keep it on this device and add it later, with its day)");
  }

  document.addEventListener("submit", async (event) => {
    const form = event.target;
    if (!(form instanceof HTMLFormElement) || !form.classList.contains("record")) return;
    if (form.enctype === "multipart/form-data") { checkPhoto(event, form); return; }
    const data = new FormData(form, event.submitter);
    data.set("id", fresh()); // a kept page may be used twice: the id is that of this record, not of the page
    const made = new Date().toISOString();
    data.set("made", made);
    if (root.dataset.kept && data.get("day") === today()) data.delete("day"); // the garden knows what day "made" is there
    const one = {
      id: data.get("id"), url: form.getAttribute("action"), body: new URLSearchParams(data).toString(),
      label: labelled(form, event.submitter), why: "", made,
    };
    if (!shelf.put(one)) return; // nothing can be kept on this device: send it as a form
    event.preventDefault();
    if (form.dataset.busy) { shelf.drop(one.id); return; }
    form.dataset.busy = "yes";
    complain(form, "");
    const { how, why } = navigator.onLine === false ? { how: "no signal" } : await send(one);
    delete form.dataset.busy;
    if (how === "sent") { shelf.drop(one.id); typed = false; onward(data); return; }
    if (how === "refused" && !root.dataset.kept) { shelf.drop(one.id); complain(form, why); return; }
    if (how === "refused") shelf.put({ ...one, why });
    if (how === "sign in") signIn = true;
    typed = false;
    form.reset();
    freshen();
    const fold = form.closest("details[open]");
    if (fold) fold.open = false;
    show();
  });

  function today() {
    const now = new Date();
    return `${now.getFullYear()}-${String(now.getMonth() + 1).padStart(2, "0")}-${String(now.getDate()).padStart(2, "0")}`;
  }

  // A page kept since another day still means today by today.
  function freshen(first = false) {
    if (!root.dataset.kept) return;
    const asked = first && new URLSearchParams(location.search).get("kind");
    for (const field of document.querySelectorAll('details form.record input[name="kind"]')) {
      if (field.value === asked) field.closest("details").open = true;
    }
    const here = today();
    for (const field of document.querySelectorAll('form.record input[type="date"][name="day"]')) {
      if (here <= field.max) continue;
      if (field.value === field.max) field.value = here;
      field.max = here;
    }
  }

  const retry = () => { if (navigator.onLine !== false && shelf.all().some((one) => !one.why)) sendAll(); };
  document.addEventListener("input", (event) => { if (event.target.closest("form")) typed = true; });
  addEventListener("online", retry);
  addEventListener("storage", (event) => { if (event.key && event.key.startsWith(KEY)) show(); });
  document.addEventListener("visibilitychange", () => { if (!document.hidden) retry(); });
  setInterval(retry, 30000);
  freshen(true);
  show();
  retry();
})();

// Records made without signal wait on this device and are sent once there is one, each under the id it was
// made with, so that none is kept twice. What the server refuses stays here until somebody has looked at it.
"use strict";
(() => {
  const KEY = "bearwell-waiting";
  const read = () => { try { return JSON.parse(localStorage.getItem(KEY)) || []; } catch { return []; } };
  const write = (list) => localStorage.setItem(KEY, JSON.stringify(list));
  const fresh = () => {
    if (crypto.randomUUID) return crypto.randomUUID();
    const b = crypto.getRandomValues(new Uint8Array(16));
    b[6] = (b[6] & 15) | 64; b[8] = (b[8] & 63) | 128;
    const h = [...b].map((x) => x.toString(16).padStart(2, "0")).join("");
    return [h.slice(0, 8), h.slice(8, 12), h.slice(12, 16), h.slice(16, 20), h.slice(20)].join("-");
  };
  let sending = false;

  // One sending: "sent", "refused" with its reasons, or "no signal".
  async function send(one) {
    let answer;
    try {
      answer = await fetch(one.url, {
        method: "POST", body: one.body, credentials: "same-origin",
        headers: { "Content-Type": "application/x-www-form-urlencoded", Accept: "application/json" },
      });
    } catch { return { how: "no signal" }; }
    if (answer.ok) return { how: "sent", said: await answer.json().catch(() => ({})) };
    if (answer.status >= 500 || answer.status === 429 || answer.status === 401) return { how: "no signal" };
    const told = await answer.json().catch(() => ({ problems: [] }));
    const why = (told.problems || []).map((p) => p.hint ? `${p.message} (${p.hint})` : p.message).join("; ");
    return { how: "refused", why: why || `refused (${answer.status})` };
  }

  async function sendAll() {
    if (sending) return;
    sending = true;
    try {
      for (const one of read()) {
        if (one.why) continue;
        const { how, why } = await send(one);
        if (how === "no signal") break;
        const list = read();
        const at = list.findIndex((x) => x.id === one.id);
        if (at < 0) continue;
        if (how === "sent") list.splice(at, 1); else list[at].why = why;
        write(list);
      }
    } finally { sending = false; show(); }
  }

  // What waits, at the foot of every page; nothing is thrown away but by hand.
  function show() {
    const list = read();
    let box = document.querySelector(".waiting");
    if (!list.length) { if (box) box.remove(); return; }
    if (!box) {
      box = document.createElement("div");
      box.className = "waiting";
      box.setAttribute("role", "status");
      document.querySelector("main").append(box);
    }
    const stuck = list.filter((one) => one.why);
    box.classList.toggle("stuck", stuck.length > 0);
    const p = document.createElement("p");
    const waits = list.length - stuck.length;
    p.textContent = [
      waits ? `${waits} ${waits === 1 ? "record waits" : "records wait"} on this device for signal.` : "",
      stuck.length ? `${stuck.length} could not be recorded and needs a look.` : "",
    ].filter(Boolean).join(" ");
    const ul = document.createElement("ul");
    for (const one of list) {
      const li = document.createElement("li");
      const said = document.createElement("span");
      said.textContent = one.label + (one.why ? `: ${one.why}` : "");
      li.append(said);
      if (one.why) {
        const again = document.createElement("button");
        again.type = "button"; again.className = "plain-button"; again.textContent = "Try again";
        again.addEventListener("click", () => {
          write(read().map((x) => x.id === one.id ? { ...x, why: "" } : x)); sendAll();
        });
        const away = document.createElement("button");
        away.type = "button"; away.className = "plain-button"; away.textContent = "Throw it away";
        away.addEventListener("click", () => { write(read().filter((x) => x.id !== one.id)); show(); });
        li.append(again, away);
      }
      ul.append(li);
    }
    box.replaceChildren(p, ul);
  }

  document.addEventListener("submit", async (event) => {
    const form = event.target;
    if (!(form instanceof HTMLFormElement) || !form.classList.contains("record")) return;
    if (navigator.onLine !== false && !document.documentElement.dataset.kept) return;
    // No signal, or a page kept from an earlier visit: keep the record here first, then try.
    event.preventDefault();
    const data = new FormData(form);
    if (!data.get("id") || form.dataset.used) data.set("id", fresh());
    form.dataset.used = "1";
    const one = {
      id: data.get("id"), url: form.getAttribute("action"), body: new URLSearchParams(data).toString(),
      label: form.dataset.label || "A record", why: "",
    };
    write([...read(), one]);
    show();
    await sendAll();
  });
  addEventListener("online", sendAll);
  addEventListener("storage", (event) => { if (event.key === KEY) show(); });
  show();
  if (navigator.onLine !== false) sendAll();
})();

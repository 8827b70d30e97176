// A record is written down on this device first and then sent. Without signal it waits here and is sent later,
// each under the id it was made with, so that none is kept twice, and only to the garden it was made for. What the
// server refuses later stays here until somebody has looked at it. A photo is a record with a picture.
"use strict";
(() => {
  const PATIENCE = 8000; // ms for the answer to a record
  const SLOWEST = 90; // bytes a ms: a photo that goes slower than this is tried again later
  const LARGEST_PHOTO = 24e6; // bytes: what the server takes, less what a form wraps round it
  const SMALL = 160; // pixels of the longer side of a photo shown while it waits
  const root = document.documentElement;
  const told = document.body.dataset;
  const own = { id: told.garden || "", called: told.called || "" }; // the garden that this page is of
  let here = own; // the garden that this address serves: another one, once it says so
  const flying = new Set(); // what this page sends just now
  let sending = false;
  let typed = false;
  let signIn = false;
  let leaving = false; // for the page that tells what was recorded
  let drawn = 0;

  const SAY = {
    sent: (n) => (n === 1 ? say("1 record was sent.") : say("{n} records were sent.", { n })),
    forSignal: (n) => (n === 1
      ? say("1 record waits on this device for signal.")
      : say("{n} records wait on this device for signal.", { n })),
    forSignIn: (n) => (n === 1
      ? say("1 record waits on this device for you to sign in.")
      : say("{n} records wait on this device for you to sign in.", { n })),
    forServer: (n, why) => (n === 1
      ? say("1 record waits on this device: {why}. It is tried again.", { why })
      : say("{n} records wait on this device: {why}. They are tried again.", { n, why })),
    forGarden: (n, garden) => (n === 1
      ? say("1 record waits on this device for the garden {garden}, which this address does not serve now.", { garden })
      : say("{n} records wait on this device for the garden {garden}, which this address does not serve now.", { n, garden })),
    forNamed: (n, garden) => (n === 1
      ? say("1 record waits on this device for the garden {garden}.", { garden })
      : say("{n} records wait on this device for the garden {garden}.", { n, garden })),
    forNobody: (n) => (n === 1
      ? say("1 record was made before gardens were told apart and is sent when you say where.")
      : say("{n} records were made before gardens were told apart and are sent when you say where.", { n })),
    stuck: (n) => (n === 1
      ? say("1 could not be recorded and needs a look.")
      : say("{n} could not be recorded and need a look.", { n })),
    look: () => say("Look at what waits"),
    instead: () => say("Record the work itself"),
    again: () => say("Try again"),
    sendTo: (garden) => say("Send it to {garden}", { garden }),
    letGo: () => say("Throw it away"),
    letGoYes: () => say("Yes, throw it away"),
    letGoNo: () => say("Keep it"),
    notRecorded: (why) => say("Not recorded: {why}", { why }),
    someRecord: () => say("A record"),
    aPhoto: () => say("Photo that waits"),
    busySending: () => say("Sending the photo …"),
    refused: (status) => say("refused ({status})", { status }),
    trouble: (status) => say("the garden could not take it ({status})", { status }),
    full: () => say("this device is full and cannot keep it until there is signal (make room on the device, or stay on this page and send it again later)"),
    noShelf: () => say("there is no signal, and this browser can keep nothing (stay on this page and send it again later)"),
    anotherGarden: (garden) => (garden
      ? say("this address serves another garden now, {garden}", { garden })
      : say("this address serves another garden now")),
    photoEmpty: () => say("the photo is empty (choose it again; was it still being saved?)"),
    photoLarge: (mb, most) => say("the photo has {mb} MB ({most} MB at most)", { mb, most }),
    photoPhone: () => say("pictures in the HEIC or AVIF form are not taken (let the phone save or send it as JPEG)"),
    photoNone: () => say("this is not a picture (a JPEG, PNG or WebP file is)"),
    photoUnread: () => say("the photo could not be read (choose it again)"),
  };

  const fresh = () => {
    if (crypto.randomUUID) return crypto.randomUUID();
    const b = crypto.getRandomValues(new Uint8Array(16));
    b[6] = (b[6] & 15) | 64; b[8] = (b[8] & 63) | 128;
    const h = [...b].map((x) => x.toString(16).padStart(2, "0")).join("");
    return [h.slice(0, 8), h.slice(8, 12), h.slice(12, 16), h.slice(16, 20), h.slice(20)].join("-");
  };

  // ---------------------------------------------------------------- sending

  // What is sent of a record: its fields, with its picture where it has one.
  function bodyOf(one, bytes) {
    if (!one.picture) return new URLSearchParams(one.fields);
    const form = new FormData();
    for (const [key, value] of one.fields) form.append(key, value);
    form.append(one.picture.field, new Blob([bytes], { type: one.picture.type }), one.picture.name);
    return form;
  }

  // What the garden answers is shown on this page, so it is asked for in the page's language.
  const inLanguage = (url) => (root.lang === "en" ? url : `${url}?${new URLSearchParams({ language: root.lang })}`);

  // One sending: "sent", "refused" with its reasons, "sign in", "elsewhere", "later" with the reason, or "no signal".
  async function send(one, bytes) {
    const stop = new AbortController();
    const patience = PATIENCE + (one.picture ? one.picture.size / SLOWEST : 0);
    const clock = setTimeout(() => stop.abort(), patience);
    let answer;
    try {
      answer = await fetch(inLanguage(one.url), {
        method: "POST", body: bodyOf(one, bytes), credentials: "same-origin", signal: stop.signal, redirect: "manual",
        headers: { Accept: "application/json" },
      });
    } catch { return { how: "no signal" }; } finally { clearTimeout(clock); }
    if (answer.status === 401 || answer.type === "opaqueredirect") return { how: "sign in" };
    if ([408, 429, 502, 504].includes(answer.status)) return { how: "no signal" };
    const said = await answer.json().catch(() => ({}));
    if (answer.ok && said.recorded) return { how: "sent" };
    if (answer.ok) return { how: "no signal" }; // somebody else answered: the gate of a network, say
    if (answer.status === 412) {
      here = { id: said.garden || "", called: said.called || "" };
      return { how: "elsewhere" };
    }
    const why = (said.problems || []).map((p) => p.hint ? `${p.message} (${p.hint})` : p.message).join("; ");
    if (answer.status >= 500) return { how: "later", why: why || SAY.trouble(answer.status) };
    return { how: "refused", why: why || SAY.refused(answer.status) };
  }

  async function sendWaiting(one) {
    if (flying.has(one.id)) return { how: "under way" };
    flying.add(one.id);
    try {
      const bytes = one.picture ? await waiting.picture(one.order) : null;
      const came = await send(one, bytes);
      if (came.how === "sent") await waiting.drop(one.order);
      else if (came.how === "refused") await waiting.say(one.order, { why: came.why, later: "" });
      else if (came.how === "later") await waiting.say(one.order, { later: came.why });
      return came;
    } finally { flying.delete(one.id); }
  }

  const mine = (one) => here.id && one.garden === here.id;
  const ready = async () => (await waiting.all()).filter((one) => !one.why && mine(one));

  // Everything that waits for this garden, in order, by one page of this device at a time where that can be had.
  async function sendAll() {
    if (sending) return;
    sending = true;
    let sent = 0;
    const round = async () => {
      for (const one of await ready()) {
        const { how } = await sendWaiting(one);
        if (how === "sign in") signIn = true;
        if (how === "no signal" || how === "sign in" || how === "elsewhere") break;
        signIn = false;
        if (how === "sent") sent += 1;
      }
    };
    try {
      if (navigator.locks) {
        await navigator.locks.request("bearwell-sending", round); // after another page's turn: it may learn what that one did
      } else await round();
    } finally { sending = false; await show(sent); }
    // What was sent moved the plan: show it anew, but never under somebody's hands.
    if (sent && !typed && !(await waiting.all()).some(mine) && !leaving) location.replace(location.pathname + location.search);
  }

  async function retry() {
    if (navigator.onLine !== false && (await ready()).length) await sendAll();
  }

  // ---------------------------------------------------------------- telling

  function element(tag, text, name) {
    const made = document.createElement(tag);
    if (text) made.textContent = text;
    if (name) made.className = name;
    return made;
  }

  function button(text, act) {
    const made = element("button", text, "plain-button");
    made.type = "button";
    made.addEventListener("click", () => act(made));
    return made;
  }

  // Letting go takes two touches: what is thrown away here was sent nowhere.
  function letGo(one) {
    return button(SAY.letGo(), (first) => {
      const no = button(SAY.letGoNo(), () => show());
      const yes = button(SAY.letGoYes(), async () => { await waiting.drop(one.order); await show(); });
      first.replaceWith(yes, no);
      no.focus();
    });
  }

  const locale = root.lang !== "en" ? root.lang : told.units === "us" ? "en-US" : "en-GB";
  function dayOf(one) {
    const said = (one.fields.find(([key]) => key === "day") || [])[1];
    const day = said ? new Date(`${said}T12:00`) : new Date(one.made);
    return Number.isNaN(day.getTime()) ? "" : day.toLocaleDateString(locale, { day: "numeric", month: "long" });
  }
  const sizeOf = (bytes) => (bytes < 95e4 ? `${Math.max(1, Math.round(bytes / 1e3))} kB` : `${(bytes / 1e6).toFixed(1)} MB`);

  function listed(one, atLength) {
    const li = element("li");
    const { picture } = one;
    if (picture && picture.small) {
      const shown = element("img");
      shown.src = picture.small;
      shown.alt = SAY.aPhoto();
      li.append(shown);
    }
    const facts = [one.label, ...(picture ? [picture.name, sizeOf(picture.size)] : []), dayOf(one)];
    if (!mine(one) && one.called) facts.push(one.called);
    li.append(element("span", facts.filter(Boolean).join(", ") + (one.why || one.later ? `: ${one.why || one.later}` : "")));
    const field = (name) => (one.fields.find(([key]) => key === name) || [])[1];
    if (one.why && one.url === "/do" && field("advice")) {
      const there = element("a", SAY.instead());
      there.href = `/tree/${encodeURIComponent(field("advice").split("/")[0])}/record`;
      li.append(there);
    }
    if (one.why && mine(one)) {
      li.append(button(SAY.again(), async () => { await waiting.say(one.order, { why: "" }); await sendAll(); }));
    }
    if (!one.garden && here.id) {
      li.append(button(SAY.sendTo(here.called), async () => {
        await waiting.say(one.order, { garden: here.id, called: here.called, why: "", fields: [...one.fields, ["garden", here.id]] });
        await sendAll();
      }));
    }
    if (one.why || atLength) li.append(letGo(one));
    return li;
  }

  function sums(list, sent) {
    const said = sent ? [SAY.sent(sent)] : [];
    const own = list.filter((one) => !one.why && mine(one));
    const late = own.filter((one) => one.later && !signIn);
    if (signIn && own.length) said.push(SAY.forSignIn(own.length));
    else if (own.length > late.length) said.push(SAY.forSignal(own.length - late.length));
    if (late.length) said.push(SAY.forServer(late.length, late[0].later));
    const others = new Map();
    for (const one of list) if (one.garden && !mine(one)) others.set(one.called, (others.get(one.called) || 0) + 1);
    for (const [called, n] of others) said.push((here.id ? SAY.forGarden : SAY.forNamed)(n, called));
    const unknown = list.filter((one) => !one.garden).length;
    if (unknown) said.push(SAY.forNobody(unknown));
    const stuck = list.filter((one) => one.why && mine(one)).length;
    if (stuck) said.push(SAY.stuck(stuck));
    return { said: said.join(" "), stuck };
  }

  // What waits, at the foot of every page and at length on its own; nothing is thrown away but by hand.
  async function show(sent = 0) {
    drawn += 1;
    const turn = drawn;
    const list = await waiting.all();
    if (turn !== drawn) return;
    const place = document.getElementById("waits");
    let box = document.querySelector(".to-send");
    if (place) place.querySelector(".none-waits").hidden = list.length > 0;
    if (!list.length && !sent) {
      if (box) box.remove();
      root.style.scrollPaddingBottom = "";
      return;
    }
    if (!box) {
      box = element("div", "", "to-send");
      box.setAttribute("role", "status");
      (place || document.querySelector("main")).append(box);
      // It stays at the foot of the screen: what is gone to comes to stand above it, not behind.
      const foot = box;
      if (!place) new ResizeObserver(() => {
        if (foot.isConnected) root.style.scrollPaddingBottom = `${foot.offsetHeight + 16}px`;
      }).observe(foot);
    }
    box.classList.toggle("at-length", Boolean(place));
    const { said, stuck } = sums(list, sent);
    box.classList.toggle("stuck", stuck > 0);
    const ul = element("ul");
    ul.append(...list.map((one) => listed(one, Boolean(place))));
    box.replaceChildren(element("p", said), ul);
    if (list.length && !place) {
      const there = element("a", SAY.look());
      there.href = "/outdoors#waits";
      box.append(there);
    }
  }

  function complain(form, text) {
    const old = form.querySelector(".complaint");
    if (old) old.remove();
    if (!text) return;
    const box = element("div", "", "complaint");
    box.setAttribute("role", "alert");
    box.append(element("p", SAY.notRecorded(text)));
    form.prepend(box);
    box.scrollIntoView({ block: "nearest" });
  }

  function working(form, text) {
    const old = form.querySelector(".under-way");
    if (old) old.remove();
    if (!text) return;
    const said = element("p", text, "under-way");
    said.setAttribute("role", "status");
    form.append(said);
  }

  // ---------------------------------------------------------------- photos

  const begins = (bytes, at, text) => [...text].every((sign, n) => bytes[at + n] === sign.charCodeAt(0));

  // What is wrong with a photo as far as a device can know; empty where nothing is.
  async function wrongWith(photo) {
    if (photo.size === 0) return SAY.photoEmpty();
    if (photo.size > LARGEST_PHOTO) return SAY.photoLarge(Math.round(photo.size / 1e6), LARGEST_PHOTO / 1e6);
    const b = new Uint8Array(await photo.slice(0, 12).arrayBuffer());
    if (begins(b, 4, "ftyp")) return SAY.photoPhone();
    const known = (b[0] === 0xff && b[1] === 0xd8) || begins(b, 0, "\x89PNG") || (begins(b, 0, "RIFF") && begins(b, 8, "WEBP"));
    return known ? "" : SAY.photoNone();
  }

  // The photo made small, to be shown while it waits; empty where this browser cannot open it.
  async function small(photo) {
    let image = null;
    try {
      image = await createImageBitmap(photo);
      const share = Math.min(1, SMALL / Math.max(image.width, image.height));
      const canvas = element("canvas");
      canvas.width = Math.max(1, Math.round(image.width * share));
      canvas.height = Math.max(1, Math.round(image.height * share));
      canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
      return canvas.toDataURL("image/jpeg", 0.7);
    } catch { return ""; } finally { if (image) image.close(); }
  }

  async function taken(input) {
    const [photo] = input.files;
    try {
      const wrong = await wrongWith(photo);
      if (wrong) return { wrong };
      const bytes = await photo.arrayBuffer();
      const told = { field: input.name, name: photo.name || "photo.jpg", type: photo.type, size: photo.size, small: await small(photo) };
      return { bytes, picture: told };
    } catch { return { wrong: SAY.photoUnread() }; }
  }

  // ---------------------------------------------------------------- recording

  // What a record is called while it waits: what it is about, then what was typed or touched.
  function labelled(form, touched) {
    const fields = "brief" in form.dataset ? [] : [...form.querySelectorAll('input[type="text"], select')];
    const said = fields.map((one) => (one.tagName === "SELECT" ? one.selectedOptions[0].text : one.value.trim())).filter(Boolean);
    if (!said.length && touched && !form.querySelector('input[type="file"]')) said.push(touched.textContent.trim());
    return [form.dataset.label || SAY.someRecord(), ...said].join(", ");
  }

  // The page that says what was recorded, as after sending the form without this script.
  function onward(data) {
    leaving = true;
    const to = new URL(data.get("back") || "/", location.origin);
    to.searchParams.set("told", data.get("id"));
    location.assign(`${to.pathname}${to.search}#told`);
  }

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!(form instanceof HTMLFormElement) || !form.classList.contains("record")) return;
    event.preventDefault();
    if (form.dataset.busy) return;
    form.dataset.busy = "yes";
    const data = new FormData(form, event.submitter);
    record(form, data, event.submitter).finally(() => {
      delete form.dataset.busy;
      working(form, "");
    });
  });

  async function record(form, data, submitter) {
    complain(form, "");
    const input = form.querySelector('input[type="file"]');
    const { wrong, bytes, picture } = input ? await taken(input) : { bytes: null, picture: null };
    if (wrong) { complain(form, wrong); return; }
    if (input) data.delete(input.name);
    const made = new Date().toISOString();
    data.set("id", fresh()); // a kept page may be used twice: the id is that of this record, not of the page
    data.set("made", made);
    data.set("garden", own.id);
    if (root.dataset.kept && data.get("day") === today()) data.delete("day"); // the garden knows what day "made" is there
    const one = {
      id: data.get("id"), url: form.getAttribute("action"), fields: [...data], label: labelled(form, submitter),
      garden: own.id, called: own.called, made, why: "", later: "", picture,
    };
    flying.add(one.id);
    try {
      const kept = await waiting.keep(one, bytes);
      if (picture) working(form, SAY.busySending());
      const { how, why } = navigator.onLine === false ? { how: "no signal" } : await send(one, bytes);
      await settled(form, { ...one, order: kept.order }, kept, how, why, data);
    } finally { flying.delete(one.id); }
  }

  async function settled(form, one, kept, how, why, data) {
    const drop = async () => { if (one.order !== undefined) await waiting.drop(one.order); };
    if (how === "sent") { await drop(); typed = false; onward(data); return; }
    if (how === "refused" && !root.dataset.kept) { await drop(); complain(form, why); return; }
    if (kept.why) {
      const reasons = { refused: why, later: why, elsewhere: SAY.anotherGarden(here.called) };
      complain(form, reasons[how] || (kept.why === "full" ? SAY.full() : SAY.noShelf()));
      return;
    }
    if (how === "refused") await waiting.say(one.order, { why });
    if (how === "later") await waiting.say(one.order, { later: why });
    if (how === "sign in") signIn = true;
    if (navigator.storage && navigator.storage.persist) navigator.storage.persist().catch(() => {});
    typed = false;
    form.reset();
    freshen();
    const fold = form.closest("details[open]");
    if (fold) fold.open = false;
    await show();
  }

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

  document.addEventListener("input", (event) => { if (event.target.closest("form")) typed = true; });
  addEventListener("pageshow", () => { leaving = false; }); // back here again
  addEventListener("online", retry);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) retry(); });
  waiting.onChange(() => show());
  setInterval(retry, 30000);
  freshen(true);
  waiting.takeOver().catch(() => {}).then(() => show()).then(retry);
})();

// Keeps the pages that matter outdoors, and what they need, for when there is no signal. The list of them comes
// from /outdoors.json with a mark that changes whenever the plan does; the pages are fetched one by one in the
// background. Asked for a page, the network comes first; when it does not answer in time, the kept page is shown
// and says how old it is. What is kept goes when somebody signs out, or the server asks for the passphrase.
"use strict";
const KEPT = "bearwell-kept";
const LIST = "/outdoors.json";
const PATIENCE = 3000; // ms
const PAUSE = 100; // ms between two pages fetched in the background
const AT = "x-kept-at";
const AS = "x-kept-as";
let turn = 0; // another number once everything was forgotten: a round begun before then stops
let round = null;
let next = null; // the page that the round to come begins with

addEventListener("install", () => skipWaiting());
addEventListener("activate", (event) => event.waitUntil(clients.claim()));
addEventListener("message", (event) => {
  if (event.data && event.data.keep) event.waitUntil(refresh(String(event.data.keep)));
});

async function forget() {
  turn += 1;
  await caches.delete(KEPT);
}

// One round at a time. Who asks during one may have moved the plan since it began: another one follows.
function refresh(first) {
  next = first;
  if (!round) round = rounds().finally(() => { round = null; });
  return round;
}

async function rounds() {
  while (next !== null) {
    const first = next;
    next = null;
    await keepAll(first).catch(() => {});
  }
}

// The list of what to keep; nothing without signal, and nothing stays kept for who is not signed in.
async function listed() {
  const answer = await fetch(LIST, { cache: "no-store", redirect: "manual" });
  if (answer.status === 401 || answer.type === "opaqueredirect") await forget();
  return answer.ok ? answer.json() : null;
}

async function keepAll(first) {
  const mine = turn;
  const list = await listed();
  if (!list || turn !== mine) return;
  const shelf = await caches.open(KEPT);
  for (const file of list.files) {
    if (await shelf.match(file)) continue;
    const answer = await fetch(file);
    if (turn !== mine) return;
    if (answer.ok) await shelf.put(file, answer);
  }
  const pages = list.pages.map((one) => one.path);
  const inTurn = pages.includes(first) ? [first, ...pages.filter((one) => one !== first)] : pages;
  for (const page of inTurn) {
    const old = await shelf.match(page);
    if (old && old.headers.get(AS) === list.mark) continue;
    const answer = await fetch(page, { cache: "no-store", redirect: "manual", headers: { Accept: "text/html" } });
    if (turn !== mine) return;
    if (answer.status === 401 || answer.type === "opaqueredirect") return forget();
    if (answer.ok) await shelf.put(page, await stamped(answer, list.mark));
    else if (answer.status === 404) await shelf.delete(page);
    await new Promise((done) => setTimeout(done, PAUSE));
  }
  const wanted = new Set([...list.files, ...pages]);
  for (const one of await shelf.keys()) {
    const address = new URL(one.url);
    if (!wanted.has(address.pathname + address.search)) await shelf.delete(one);
  }
}

async function stamped(answer, mark) {
  const headers = new Headers(answer.headers);
  for (const name of ["content-encoding", "content-length"]) headers.delete(name);
  headers.set(AT, new Date().toISOString());
  headers.set(AS, mark);
  return new Response(await answer.blob(), { status: 200, headers });
}

// A kept page with its age written into it, or the page that says what is kept.
async function fromShelf(address) {
  const shelf = await caches.open(KEPT);
  const found = (await shelf.match(address.pathname + address.search)) || (await shelf.match(address.pathname));
  const answer = found || (await shelf.match("/outdoors"));
  if (!answer) return null;
  const said = `<html data-kept="${answer.headers.get(AT)}"${found ? "" : ' data-missed="yes"'} `;
  const text = (await answer.text()).replace("<html ", said);
  return { found: Boolean(found), answer: new Response(text, { status: found ? 200 : 503, headers: answer.headers }) };
}

async function page(request, address) {
  const asked = fetch(request).catch(() => null);
  const late = new Promise((done) => setTimeout(done, PATIENCE, "late"));
  let answer = await Promise.race([asked, late]);
  const gone = (one) => !one || one.status === 502 || one.status === 504;
  if (answer !== "late" && !gone(answer)) return answer;
  const kept = await fromShelf(address);
  if (kept && kept.found) return kept.answer;
  if (answer === "late") answer = await asked;
  if (!gone(answer)) return answer;
  return kept ? kept.answer : answer || Response.error();
}

async function file(request) {
  const shelf = await caches.open(KEPT);
  return (await shelf.match(request)) || fetch(request);
}

addEventListener("fetch", (event) => {
  const { request } = event;
  const address = new URL(request.url);
  if (address.origin !== location.origin) return;
  if (request.method === "POST" && address.pathname === "/sign-out") event.waitUntil(forget());
  if (request.method !== "GET") return;
  if (address.pathname === "/sign-in") event.respondWith(forget().then(() => fetch(request)));
  else if (address.pathname.startsWith("/static/")) event.respondWith(file(request));
  else if (request.mode === "navigate") event.respondWith(page(request, address));
});

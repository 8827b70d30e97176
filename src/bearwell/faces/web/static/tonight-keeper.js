// Keeps the page of tonight, and the files it needs, for when there is no signal. NAME and FILES stand above.
"use strict";
const PAGE = "/tonight";
const PATIENCE = 4000;
addEventListener("install", (event) => {
  event.waitUntil(caches.open(NAME).then((kept) => kept.addAll([PAGE, ...FILES])).then(() => skipWaiting()));
});
addEventListener("activate", (event) => {
  const old = (name) => name.startsWith("tonight-") && name !== NAME;
  event.waitUntil(caches.keys().then((names) => Promise.all(names.filter(old).map((name) => caches.delete(name)))).then(() => clients.claim()));
});
async function fresh(request) {
  const answer = await fetch(request);
  if (answer.ok && new URL(request.url).search === "") {
    const kept = await caches.open(NAME);
    await kept.put(PAGE, answer.clone());
  }
  return answer;
}
async function page(request) {
  const asked = fresh(request);
  const late = new Promise((done) => setTimeout(done, PATIENCE));
  try {
    const answer = await Promise.race([asked, late]);
    if (answer) return answer;
  } catch (error) {
    const kept = await caches.match(PAGE);
    if (kept) return kept;
    throw error;
  }
  return (await caches.match(PAGE)) || asked;
}
addEventListener("fetch", (event) => {
  const address = new URL(event.request.url);
  if (event.request.method !== "GET" || address.origin !== location.origin) return;
  if (address.pathname === PAGE) event.respondWith(page(event.request));
  else if (FILES.includes(address.pathname + address.search)) {
    event.respondWith(caches.match(event.request).then((kept) => kept || fetch(event.request)));
  }
});

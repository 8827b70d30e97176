// What waits on this device to be sent: records, and photos with theirs, in the device's own database, so that a
// page may be closed meanwhile. They keep the order they were made in, whatever the clock of the device does. A
// picture lies beside its record and is read only to be sent. Every page that is open here sees the same ones.
"use strict";
const waiting = (() => {
  const NAME = "bearwell-waiting";
  const OLD = "bearwell-waiting:"; // how the keys of localStorage began, where records waited before
  const news = "BroadcastChannel" in window ? new BroadcastChannel(NAME) : null;
  let opening = null;

  function open() {
    if (!opening) {
      opening = new Promise((done, failed) => {
        const asked = indexedDB.open(NAME, 1);
        asked.onupgradeneeded = () => {
          asked.result.createObjectStore("records", { keyPath: "order", autoIncrement: true })
            .createIndex("id", "id", { unique: true });
          asked.result.createObjectStore("pictures");
        };
        asked.onerror = () => failed(asked.error);
        asked.onsuccess = () => {
          const base = asked.result;
          base.onversionchange = () => base.close();
          base.onclose = () => { opening = null; };
          done(base);
        };
      });
      opening.catch(() => { opening = null; });
    }
    return opening;
  }

  // One turn at both shelves: all of it happens, or nothing. The result of the request that ``act`` gives is the answer.
  async function turn(mode, act) {
    const base = await open();
    return new Promise((done, failed) => {
      const all = base.transaction(["records", "pictures"], mode, { durability: "strict" });
      const asked = act(all.objectStore("records"), all.objectStore("pictures"));
      all.oncomplete = () => {
        if (mode === "readwrite" && news) news.postMessage("changed");
        done(asked && asked.result);
      };
      all.onabort = () => failed(all.error || (asked && asked.error) || new Error("aborted"));
    });
  }

  // Keep a record, with the bytes of its picture where it has one: its number in the order, or why it cannot be kept.
  async function keep(one, bytes) {
    try {
      const order = await turn("readwrite", (records, pictures) => {
        const asked = records.add(one);
        if (bytes) asked.onsuccess = () => pictures.put(bytes, asked.result);
        return asked;
      });
      return { order };
    } catch (error) {
      return { why: error && error.name === "QuotaExceededError" ? "full" : "none" };
    }
  }

  // Say something anew of a record that still waits; one that was sent or let go meanwhile is not brought back.
  function say(order, more) {
    return turn("readwrite", (records) => {
      const asked = records.get(order);
      asked.onsuccess = () => { if (asked.result) records.put({ ...asked.result, ...more }); };
      return asked;
    });
  }

  function drop(order) {
    return turn("readwrite", (records, pictures) => {
      pictures.delete(order);
      return records.delete(order);
    });
  }

  const all = () => turn("readonly", (records) => records.getAll()).catch(() => []);
  const picture = (order) => turn("readonly", (_, pictures) => pictures.get(order));

  function oldOnes() {
    const found = [];
    for (const key of Object.keys(localStorage)) {
      if (!key.startsWith(OLD)) continue;
      try {
        const { id, url, body, label, why, made } = JSON.parse(localStorage.getItem(key));
        const fields = [...new URLSearchParams(body)];
        if (!id || !url) continue;
        found.push({ key, one: { id, url, fields, label, why: why || "", made, garden: "", called: "", picture: null } });
      } catch { /* cannot be read: it stays where it is */ }
    }
    return found.sort((a, b) => (a.one.made < b.one.made ? -1 : 1));
  }

  // Records that wait in the old place come over; they leave it once they are kept here.
  async function takeOver() {
    let old = [];
    try { old = oldOnes(); } catch { return; }
    if (!old.length) return;
    await turn("readwrite", (records) => {
      for (const { one } of old) {
        const known = records.index("id").getKey(one.id);
        known.onsuccess = () => { if (known.result === undefined) records.add(one); };
      }
    });
    for (const { key } of old) localStorage.removeItem(key);
  }

  // Called when another page of this device changed what waits.
  function onChange(act) { if (news) news.onmessage = act; }

  return { keep, say, drop, all, picture, takeOver, onChange };
})();

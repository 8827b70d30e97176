// Offers the device's own position, where the browser gives it, and its time zone. Nothing is asked of anyone else.
"use strict";
(() => {
  const zone = document.getElementById("timezone");
  try {
    if (zone && !zone.value) zone.value = Intl.DateTimeFormat().resolvedOptions().timeZone || "";
  } catch { /* it stays empty */ }
  const button = document.getElementById("here");
  if (!button || !window.isSecureContext || !navigator.geolocation) return;
  const said = document.getElementById("here-said");
  button.closest(".here").hidden = false;
  button.addEventListener("click", () => {
    said.textContent = say("Looking ...");
    navigator.geolocation.getCurrentPosition(({ coords }) => {
      document.getElementById("place").value = `${coords.latitude.toFixed(3)}, ${coords.longitude.toFixed(3)}`;
      const height = document.getElementById("elevation");
      if (coords.altitude !== null && !height.value) height.value = `${Math.round(coords.altitude)} m`;
      said.textContent = say("Found.");
    }, () => { said.textContent = say("This device does not say where it is: type it in."); }, { timeout: 15000, maximumAge: 600000 });
  });
})();

// Before printing, open what a sheet of paper needs; afterwards, leave it as it was.
"use strict";
let opened = [];
addEventListener("beforeprint", () => {
  opened = [...document.querySelectorAll("details[data-print]:not([open])")];
  for (const part of opened) part.open = true;
});
addEventListener("afterprint", () => {
  for (const part of opened) part.open = false;
  opened = [];
});

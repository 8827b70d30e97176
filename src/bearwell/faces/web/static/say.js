// What a script says, in the language of the page. Another language than English comes with a script of its
// own, which fills window.sayings. Values stand in the text as {name}.
"use strict";
function say(text, values = {}) {
  const known = (window.sayings || {})[text] || text;
  return known.replace(/\{(\w+)\}/g, (place, name) => (name in values ? String(values[name]) : place));
}

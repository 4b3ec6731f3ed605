// Small comforts that HTML alone does not give. Every page works without this file.
"use strict";

const find = document.getElementById("find");
const found = document.getElementById("found");

function closeFound() {
  if (found) found.replaceChildren();
}

// "/" goes to the search box from anywhere; a bar code scanner then types into it.
document.addEventListener("keydown", (event) => {
  const typing = event.target.closest("input, select, textarea");
  if (event.key === "/" && !typing && find) {
    event.preventDefault();
    find.focus();
    find.select();
  }
  if (event.key === "Escape") {
    closeFound();
    for (const menu of document.querySelectorAll("details.menu[open]")) menu.open = false;
  }
});

// Arrow keys walk from the box through what was found and back.
document.addEventListener("keydown", (event) => {
  if (!found || !["ArrowDown", "ArrowUp"].includes(event.key)) return;
  const stops = [find, ...found.querySelectorAll("a")];
  const here = stops.indexOf(document.activeElement);
  if (here < 0 || stops.length < 2) return;
  event.preventDefault();
  const step = event.key === "ArrowDown" ? 1 : -1;
  stops[(here + step + stops.length) % stops.length].focus();
});

document.addEventListener("click", (event) => {
  if (found && !event.target.closest(".find")) closeFound();
  for (const menu of document.querySelectorAll("details.menu[open]")) {
    if (!menu.contains(event.target)) menu.open = false;
  }
});

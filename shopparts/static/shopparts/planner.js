// Small comforts that HTML alone does not give. Every page works without this file.
"use strict";

// Looked for each time: a form that comes back with its errors brings a new body.
const find = () => document.getElementById("find");
const found = () => document.getElementById("found");

function closeFound() {
  found()?.replaceChildren();
}

// "/" goes to the search box from anywhere; a bar code scanner then types into it.
document.addEventListener("keydown", (event) => {
  const typing = event.target.closest("input, select, textarea");
  if (event.key === "/" && !typing && find()) {
    event.preventDefault();
    find().focus();
    find().select();
  }
  if (event.key === "Escape") {
    closeFound();
    for (const menu of document.querySelectorAll("details.menu[open]")) menu.open = false;
  }
});

// Arrow keys walk from the box through what was found and back.
document.addEventListener("keydown", (event) => {
  if (!found() || !["ArrowDown", "ArrowUp"].includes(event.key)) return;
  const stops = [find(), ...found().querySelectorAll("a")];
  const here = stops.indexOf(document.activeElement);
  if (here < 0 || stops.length < 2) return;
  event.preventDefault();
  const step = event.key === "ArrowDown" ? 1 : -1;
  stops[(here + step + stops.length) % stops.length].focus();
});

document.addEventListener("click", (event) => {
  if (!event.target.closest(".find")) closeFound();
  for (const menu of document.querySelectorAll("details.menu[open]")) {
    if (!menu.contains(event.target)) menu.open = false;
  }
});

// "?" opens what a page is about, and shuts it again.
document.addEventListener("keydown", (event) => {
  const about = document.querySelector("details.about");
  if (event.key !== "?" || !about || event.target.closest("input, select, textarea")) return;
  about.open = !about.open;
  about.querySelector("summary").focus();
});

// Alt and a digit lead to a word of the head; no scanner types that.
document.addEventListener("keydown", (event) => {
  const [, digit] = (event.altKey && event.code.match(/^Digit([1-9])$/)) || [];
  const word = digit && document.querySelectorAll("nav.words a")[digit - 1];
  if (!word) return;
  event.preventDefault();
  word.click();
});

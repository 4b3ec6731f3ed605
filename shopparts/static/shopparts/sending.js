// Keeps a posting in the page until the planner has answered, however bad the wifi is.
// A form with a key of its own, or marked data-again, does no more when it is sent twice: it is
// sent from here, one at a time. Without this file it is an ordinary form.

const AGAIN_AFTER = 3000; // milliseconds until the one resending that nobody asks for
const SLOW_AFTER = 1000; // until a person wants to know that something is going on
const NO_ANSWER = "The planner did not answer. Look at the wifi, then try that again.";
const LOGGED_OUT = "You are logged out. Log in, come back to this page and send it again.";
const BROKE = "The planner itself failed. Send it again; if it stays so, tell whoever runs it.";
const waiting = []; // what was posted and is not answered yet, oldest first
const scans = []; // what a scanner read while a code of it was on its way
let sending = false;
let again; // the timer of that resending
let left; // what was answered, while the page it leads to is on its way

const bar = () => document.getElementById("unsent");

function say(words, { button = false, link = false } = {}) {
  bar().querySelector("p").textContent = words;
  bar().querySelector("button").hidden = !button;
  bar().querySelector("a").hidden = !link;
}

function maySendTwice(form) {
  const its = (name) => form.getAttribute(name);
  const post = its("method") === "post" && its("enctype") !== "multipart/form-data";
  return post && (form.querySelector("[name=key]") || form.hasAttribute("data-again"));
}

function posted(form, button) {
  const fields = new URLSearchParams(new FormData(form));
  if (button?.name) fields.append(button.name, button.value);
  const address = button?.getAttribute("formaction") || form.getAttribute("action");
  const words = button?.getAttribute("aria-label") || button?.textContent.trim() || "This";
  return { form, fields, address: address || location.href, words, failed: 0 };
}

// The key stays that of the form; the token is that of whoever is logged in by now.
function body(posting) {
  const fields = new URLSearchParams(posting.fields);
  const token = document.cookie.match(/(?:^|; )csrftoken=([^;]+)/);
  if (token) fields.set("csrfmiddlewaretoken", token[1]);
  return fields;
}

document.addEventListener("submit", (event) => {
  if (event.defaultPrevented || !maySendTwice(event.target) || !AbortSignal.timeout) return;
  event.preventDefault();
  const code = event.target.hasAttribute("data-scan") && event.target.elements.code;
  if (code && (left || waiting.length)) return keepScan(code);
  const next = posted(event.target, event.submitter);
  const same = (one) => one.address === next.address && `${one.fields}` === `${next.fields}`;
  if ([left, ...waiting].some((one) => one && same(one))) return;
  if (left) window.stop(); // or the page on its way would take this one with it
  left = undefined;
  waiting.push(next);
  if (code) [next.code, code.value] = [code.value, ""];
  if (waiting.length === 1) send();
});

async function send() {
  const [posting] = waiting;
  clearTimeout(again);
  sending = true;
  posting.form.setAttribute("aria-busy", "true");
  const slow = setTimeout(say, SLOW_AFTER, `Sending “${posting.words}”.`);
  const answer = await ask(posting);
  clearTimeout(slow);
  posting.form.removeAttribute("aria-busy");
  sending = false;
  if (answer === null) fail(posting);
  else if (answer.status === 401) keep(posting, `“${posting.words}” is not sent. ${LOGGED_OUT}`, true);
  else if (answer.status >= 500) keep(posting, `“${posting.words}” is not written down. ${BROKE}`);
  else take(answer);
}

// Only the planner says where an answer leads; one that does not comes from something in between.
async function ask(posting) {
  try {
    const answer = await fetch(posting.address, {
      method: "POST",
      body: body(posting),
      headers: { "X-Sent-By-Page": "1" },
      signal: AbortSignal.timeout(bar().dataset.seconds * 1000),
    });
    const leads = answer.headers.get("X-Leads-To");
    if (leads === null) return null;
    return { status: answer.status, leads, text: await answer.text() };
  } catch {
    return null;
  }
}

function fail(posting) {
  posting.failed += 1;
  const not = `“${posting.words}” is not sent`;
  if (!navigator.onLine) keep(posting, `${not} yet. It is sent when the wifi is back.`);
  else if (posting.failed > 1) keep(posting, `${not}. Look at the wifi, then send it again.`);
  else {
    keep(posting, `${not} yet. Sending it again.`);
    again = setTimeout(send, AGAIN_AFTER);
  }
}

// What was typed stands as it was sent: it may have arrived, and only the answer was lost.
function keep(posting, words, link = false) {
  const at = document.activeElement;
  posting.form.inert = true;
  if (posting.code) posting.form.elements.code.value = posting.code;
  say(words, { button: true, link });
  if (at === document.body || posting.form.contains(at)) bar().querySelector("button").focus();
}

function take(answer) {
  const posting = waiting.shift();
  posting.form.inert = false;
  if (answer.leads && waiting.length) send();
  else if (answer.leads) go(answer.leads, posting);
  else show(answer.text, waiting.splice(0));
}

// The same page again begins at the wheel one was at, not at the top with four to scroll by.
function go(leads, posting) {
  const there = new URL(leads, location.href);
  const here = there.pathname === location.pathname && there.search === location.search;
  const card = posting.form.closest("main [aria-label], main [aria-labelledby]");
  const name = ["aria-label", "aria-labelledby"].find((its) => card?.hasAttribute(its));
  const called = name && CSS.escape(card.getAttribute(name));
  if (here && name) sessionStorage.setItem("card", `[${name}="${called}"]`);
  left = posting;
  handOn();
  location.assign(leads);
}

// What came of it is said at the top of the page, and goes along.
function goOn() {
  const at = sessionStorage.getItem("card");
  sessionStorage.removeItem("card");
  const card = at && document.querySelector(`main ${at}`);
  if (!card || document.querySelector("main [autofocus]")) return;
  document.querySelector("main > .said")?.classList.add("goes-along");
  card.setAttribute("tabindex", "-1");
  card.focus();
  card.scrollIntoView();
}
goOn();

// A scanner waits for no page: what it reads meanwhile is sent by the page that follows, which knows
// what was posted last. So the same code twice is two pieces, and a number counts what it should.
function keepScan(code) {
  scans.push(code.value);
  code.value = "";
  if (left) handOn();
}

function handOn() {
  sessionStorage.setItem("scans", JSON.stringify(scans));
}

function goOnScanning() {
  scans.push(...JSON.parse(sessionStorage.getItem("scans") || "[]"));
  sessionStorage.removeItem("scans");
  const form = document.querySelector("form[data-scan]");
  if (!form || !scans.length) return tooFast([]);
  form.elements.code.value = scans.shift();
  form.requestSubmit();
}

function tooFast(unsent) {
  const early = [...unsent.map((one) => one.words), ...scans.splice(0)];
  const told = early.map((words) => `“${words}”`).join(", ");
  if (told) say(`Came too fast and not sent: ${told}. Do it again.`);
}
goOnScanning();

// The form again with what was wrong, or the next step of a form of several.
function show(text, unsent) {
  const page = new DOMParser().parseFromString(text, "text/html");
  document.title = page.title;
  document.body.replaceWith(document.adoptNode(page.body));
  htmx.process(document.body);
  const first = document.querySelector("main [aria-invalid=true], main [autofocus]");
  (first || document.getElementById("content")).focus();
  tooFast(unsent);
}

document.addEventListener("click", (event) => {
  if (event.target.closest("#unsent button") && waiting.length && !sending) send();
});
window.addEventListener("online", () => waiting.length && !sending && send());
window.addEventListener("beforeunload", (event) => waiting.length && event.preventDefault());
// Come back to by Back, it would show old stock and send a key that is used up.
window.addEventListener("pageshow", (event) => event.persisted && left && location.reload());

// Parts of pages that htmx fetches change nothing; to ask again is up to the person.
for (const event of ["htmx:sendError", "htmx:timeout", "htmx:responseError"]) {
  document.addEventListener(event, () => waiting.length || say(NO_ANSWER));
}
document.addEventListener("htmx:afterOnLoad", () => waiting.length || say(""));

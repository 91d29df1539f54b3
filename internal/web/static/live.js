// The mix page solves again at once. A change is first shown as a preview of
// the sentence and the grams alone, which is quick; then it is saved, and the
// page that the server sends back, pictures and all, takes the place of the
// old one. What had the focus, was open or scrolled to stays so.
//
// A preview is dropped for whatever comes after it. A save is not: the next
// one waits for it, since it needs the revision that the first one makes.
import { swap, patch, replaceMap, revise } from "/static/swap.js";
import { notice } from "/static/notice.js";

const done = 700; // ms of quiet before it is saved
const slow = 300; // ms before progress is shown
const still = 600; // ms before what takes its time is asked for
const again = 1500; // ms between tries while Firlot is gone

let form, saver;
let underway = null; // { abort, preview, said, save }
let shown = ""; // the form that the last preview answered
let waiting = null; // the save that waits for the one under way
let unsaved = false;
let gone = false;
let dropLater = () => {};

export function start() {
  form = document.querySelector("form[data-live]");
  document.addEventListener("input", typed);
  document.addEventListener("change", changed);
  document.addEventListener("submit", submitted);
  window.addEventListener("pagehide", leaving);
  document.documentElement.classList.add("live");
  later();
}

// Fields that only count with their own button.
const quiet = (name) => name === "name" || name === "add" || name.startsWith("newgroup.") || name.startsWith("newwindow.") || name.startsWith("tie.");
const ours = (e) => e.target.form && e.target.form === form && !quiet(e.target.name);

function typed(e) {
  if (!ours(e) || e.target.tagName === "SELECT") return;
  edited();
  calm();
  send({ preview: true });
  saver = setTimeout(() => send({}), done);
}

function changed(e) {
  if (!ours(e) || (e.target.tagName !== "SELECT" && !unsaved)) return;
  edited();
  calm();
  const said = body().toString();
  if (said === shown) send({});
  else if (underway && underway.preview && underway.said === said) underway.save = true;
  else send({ preview: true, save: true });
}

function edited() {
  unsaved = true;
  form.dataset.unsaved = "";
}

function submitted(e) {
  if (e.target !== form) return;
  e.preventDefault();
  send({ button: e.submitter });
}

function calm() {
  clearTimeout(saver);
}

function body(button) {
  const data = new URLSearchParams(new FormData(form));
  if (button && button.name) data.set(button.name, button.value);
  return data;
}

async function send(what) {
  dropLater();
  if (!what.preview) calm();
  if (underway && !underway.preview) {
    if (!what.preview || what.save) waiting = { button: what.button || (waiting && waiting.button) };
    return;
  }
  if (underway) underway.abort();
  const control = new AbortController();
  const data = body(what.button);
  const mine = (underway = { abort: () => control.abort(), preview: what.preview, said: data.toString(), save: what.save });
  const progress = setTimeout(() => {
    form.setAttribute("aria-busy", "true");
    if (!gone) notice.working(mine.abort);
  }, slow);
  try {
    const to = (what.button && what.button.getAttribute("formaction")) || form.getAttribute("action");
    const headers = what.preview ? { "Firlot-Preview": "answer" } : {};
    const answer = await fetch(to, { method: "POST", body: data, headers, signal: control.signal });
    const text = await answer.text();
    if (mine === underway) arrived(what, mine, answer, text);
  } catch (err) {
    if (mine === underway) failed(what, err);
  } finally {
    clearTimeout(progress);
    if (!underway) form.removeAttribute("aria-busy");
  }
}

function arrived(what, mine, answer, text) {
  underway = null;
  const came = gone;
  gone = false;
  if (came) notice.back();
  else notice.hide();
  const next = waiting;
  waiting = null;
  if (next && answer.redirected) {
    // More was changed meanwhile: what stands in the form stays, on top of
    // the revision just made.
    revise(text);
    send(next);
    return;
  }
  if (what.preview && answer.ok) {
    patch(text);
    shown = mine.said;
    if (mine.save) send({});
    return;
  }
  if (!what.preview && answer.status !== 422) unsaved = false;
  shown = "";
  form = swap(text, answer) || form;
  later();
}

function failed(what, err) {
  underway = null;
  if (err.name === "AbortError") {
    notice.hide();
    if (!what.preview) catchUp();
    return;
  }
  gone = true;
  notice.gone();
  setTimeout(() => underway || send(waiting || { button: what.button }), again);
}

// catchUp learns the revision after a save was stopped: it may have been made
// all the same.
async function catchUp() {
  try {
    revise(await (await fetch(form.getAttribute("action"))).text());
  } catch { /* the next change says that Firlot has stopped */ }
}

// later fetches the part of the map that takes its time, once the page has
// been still for a moment, and drops it for any change.
function later() {
  const link = document.getElementById("later");
  dropLater();
  if (!link) return;
  const control = new AbortController();
  const wait = setTimeout(async () => {
    try {
      const page = await (await fetch(link.href, { signal: control.signal })).text();
      if (link.isConnected) replaceMap(page);
    } catch { /* the link is still there to press */ }
  }, still);
  dropLater = () => {
    clearTimeout(wait);
    control.abort();
  };
}

// What is typed and not yet saved goes out with the page.
function leaving() {
  if (!unsaved || gone || underway) return;
  fetch(form.getAttribute("action"), { method: "POST", body: body(), keepalive: true }).catch(() => {});
}

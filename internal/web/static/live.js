// The mix page solves again at once: a change to its form is shown as a
// preview while it is typed, and saved when it is done. The page that the
// server sends back takes the place of the old one, and what had the focus,
// was open or scrolled to stays so.
import { swap } from "/static/swap.js";
import { notice } from "/static/notice.js";

const typing = 60; // ms of quiet before a preview
const done = 700; // ms of quiet before it is saved
const slow = 300; // ms before progress is shown
const again = 1500; // ms between tries while Firlot is gone

let form, timer, saver, request;
let unsaved = false;
let gone = false;

export function start() {
  form = document.querySelector("form[data-live]");
  document.addEventListener("input", typed);
  document.addEventListener("change", changed);
  document.addEventListener("submit", submitted);
  window.addEventListener("pagehide", leaving);
}

const ours = (e) => e.target.form && e.target.form === form && !e.target.closest("[data-quiet]") && !quiet(e.target.name);

// Fields that only count with their own button.
const quiet = (name) => name === "name" || name === "add" || name.startsWith("newgroup.");

function typed(e) {
  if (!ours(e) || e.target.tagName === "SELECT") return;
  unsaved = true;
  clearTimeout(timer);
  clearTimeout(saver);
  timer = setTimeout(() => send(true), typing);
  saver = setTimeout(() => send(false), done);
}

function changed(e) {
  if (!ours(e)) return;
  unsaved = true;
  clearTimeout(timer);
  clearTimeout(saver);
  send(false);
}

function submitted(e) {
  if (e.target !== form) return;
  e.preventDefault();
  clearTimeout(timer);
  clearTimeout(saver);
  send(false, e.submitter);
}

function body(button) {
  const data = new URLSearchParams(new FormData(form));
  if (button && button.name) data.set(button.name, button.value);
  return data;
}

async function send(preview, button) {
  if (request) request.abort();
  const mine = (request = new AbortController());
  const to = (button && button.getAttribute("formaction")) || form.getAttribute("action");
  const progress = setTimeout(() => {
    if (!gone) notice.working(() => mine.abort());
    form.setAttribute("aria-busy", "true");
  }, slow);
  try {
    const answer = await fetch(to, {
      method: "POST",
      body: body(button),
      headers: preview ? { "Firlot-Preview": "1" } : {},
      signal: mine.signal,
    });
    const text = await answer.text();
    if (mine !== request) return;
    const came = gone;
    gone = false;
    if (!preview && answer.status !== 422) unsaved = false;
    form = swap(text, answer, preview) || form;
    if (came) notice.back();
    else notice.hide();
  } catch (err) {
    if (err.name === "AbortError") {
      if (mine === request) notice.hide();
      return;
    }
    if (mine !== request) return;
    gone = true;
    notice.gone();
    setTimeout(() => mine === request && send(false, button), again);
  } finally {
    clearTimeout(progress);
    if (mine === request) form.removeAttribute("aria-busy");
  }
}

// What is typed and not yet saved goes out with the page.
function leaving() {
  if (!unsaved || gone) return;
  fetch(form.getAttribute("action"), { method: "POST", body: body(), keepalive: true }).catch(() => {});
}

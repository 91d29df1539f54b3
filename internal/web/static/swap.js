// Puts a page's main part in the place of this one's.

// revise takes over only the revision of a page's form.
export function revise(text) {
  const next = new DOMParser().parseFromString(text, "text/html").querySelector("form[data-live] input[name=rev]");
  const here = document.querySelector("form[data-live] input[name=rev]");
  if (next && here) here.value = next.value;
}

// swap returns the new form, or null when the page was left for another.
export function swap(text, answer) {
  const next = new DOMParser().parseFromString(text, "text/html");
  const main = document.getElementById("main");
  const fresh = next.getElementById("main");
  const form = next.querySelector("form[data-live]");
  if (!fresh) return null;
  if (!form) {
    // Another page, such as two hands on one mix: show it whole.
    if (answer.redirected && answer.ok) {
      location.assign(answer.url);
      return null;
    }
  }
  const here = document.activeElement;
  const had = here && here !== document.body ? mark(here) : null;
  const open = openDetails(main);
  const { scrollX, scrollY } = window;
  main.replaceChildren(...fresh.childNodes);
  document.title = next.title;
  // A screen reader hears the new sentence; one that stays the same is not
  // said again.
  document.getElementById("spoken").textContent = main.querySelector("h1").textContent;
  for (const d of main.querySelectorAll("details[id]")) if (open.has(d.id)) d.open = open.get(d.id) || d.open;
  window.scrollTo(scrollX, scrollY);
  if (had) restore(had);
  if (form && answer.redirected && new URL(answer.url).pathname !== location.pathname) history.pushState(null, "", answer.url);
  return document.querySelector("form[data-live]");
}

function openDetails(main) {
  const open = new Map();
  for (const d of main.querySelectorAll("details[id]")) open.set(d.id, d.open);
  return open;
}

// mark remembers what has the focus: by its id, else by its name and value.
function mark(el) {
  const m = { id: el.id, name: el.name, value: el.value, tag: el.tagName, action: el.getAttribute("formaction") };
  if (el.tagName === "SUMMARY") m.details = el.parentElement.id;
  if (el.tagName === "INPUT") {
    try {
      m.from = el.selectionStart;
      m.to = el.selectionEnd;
    } catch { /* no text in it */ }
  }
  const line = el.closest("li[id], fieldset, section");
  if (line) m.around = line.id || line.getAttribute("aria-labelledby");
  return m;
}

function restore(m) {
  let el = m.id ? document.getElementById(m.id) : null;
  if (!el && m.details) el = document.getElementById(m.details)?.querySelector("summary");
  if (!el && m.tag === "BUTTON")
    el = [...document.querySelectorAll("main button")].find((b) => b.name === m.name && b.value === m.value && b.getAttribute("formaction") === m.action);
  if (el && el.disabled) el = null;
  if (!el && m.around) el = document.getElementById(m.around)?.querySelector("summary, button, a");
  if (!el) el = document.getElementById("main");
  el.focus({ preventScroll: true });
  if (el.tagName === "INPUT" && m.tag === "INPUT") {
    // What is being typed stays as it is typed.
    if (el.value !== m.value) el.value = m.value;
    if (m.from != null) el.setSelectionRange(m.from, m.to);
  }
}

// Puts a page's main part in the place of this one's.

// revise takes over only the revision of a page's form.
export function revise(text) {
  const next = new DOMParser().parseFromString(text, "text/html").querySelector("form[data-live] input[name=rev]");
  const here = document.querySelector("form[data-live] input[name=rev]");
  if (next && here) here.value = next.value;
}

// patch puts a new sentence and new grams in the place of the old ones, and
// marks what is older than they are. The fields stay as they are.
export function patch(text) {
  const next = new DOMParser().parseFromString(text, "text/html");
  const main = document.getElementById("main");
  const was = main.querySelector("h1").textContent;
  keeping(main, () => {
    document.getElementById("answer").replaceWith(document.adoptNode(next.getElementById("answer")));
    if (next.getElementById("used")) lines(next);
  });
  const now = main.querySelector("h1").textContent;
  if (now !== was) document.getElementById("spoken").textContent = now;
  for (const old of main.querySelectorAll(".pictures, .trade, .ways")) old.classList.add("older");
}

// lines takes over the grams of each line, and which lines are used.
function lines(next) {
  const lists = ["used", "notused"].map((id) => [document.getElementById(id), [...next.getElementById(id).children].map(line)]);
  for (const [list, want] of lists)
    if (list.children.length !== want.length || want.some((li, i) => li !== list.children[i])) list.replaceChildren(...want);
  for (const id of ["total", "unused-n"]) document.getElementById(id).replaceChildren(...next.getElementById(id).childNodes);
  for (const id of ["total", "unused"]) document.getElementById(id).hidden = next.getElementById(id).hidden;
}

function line(fresh) {
  const li = document.getElementById(fresh.id);
  if (!li) return document.adoptNode(fresh);
  li.className = fresh.className;
  for (const part of [".who", ".grams"]) {
    const to = li.querySelector(part);
    const from = fresh.querySelector(part);
    if (to && from) to.replaceChildren(...from.childNodes);
    else if (from) li.querySelector(".who").after(document.adoptNode(from));
    else if (to) to.remove();
  }
  return li;
}

// replaceMap takes the map of another page of the same mix.
export function replaceMap(text) {
  const fresh = new DOMParser().parseFromString(text, "text/html").getElementById("map");
  if (fresh) keeping(document.getElementById("main"), () => document.getElementById("map").replaceWith(document.adoptNode(fresh)));
}

// keeping does something to the page and leaves what had the focus, was open
// or scrolled to so.
function keeping(main, change) {
  const here = document.activeElement;
  const had = here && here !== document.body ? mark(here) : null;
  const open = openDetails(main);
  change();
  for (const d of main.querySelectorAll("details[id]")) if (open.has(d.id)) d.open = open.get(d.id) || d.open;
  if (had && document.activeElement !== here) restore(had);
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
  const was = main.querySelector("h1").textContent;
  const { scrollX, scrollY } = window;
  keeping(main, () => main.replaceChildren(...fresh.childNodes));
  window.scrollTo(scrollX, scrollY);
  document.title = next.title;
  // A screen reader hears the new sentence; one that stays the same is not
  // said again.
  const now = main.querySelector("h1").textContent;
  if (now !== was) document.getElementById("spoken").textContent = now;
  if (form && answer.redirected) {
    const to = new URL(answer.url);
    if (to.pathname !== location.pathname) history.pushState(null, "", answer.url);
    else if (to.search !== location.search) history.replaceState(null, "", answer.url);
  }
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

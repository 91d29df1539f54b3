// The weighing page: a pour is ticked off at once and told to the laptop by
// the queue, the next line grows large. What the laptop says goes before what
// this page thinks. Without this file the page works by its forms.
import { open, newKey } from "/static/queue.js";

const $ = (id) => document.getElementById(id);
const page = $("weigh");
const say = page.dataset;
const spoken = $("spoken");
const lines = new Map([...document.querySelectorAll("#pours > li")].map((li) => [li.dataset.ref, li]));
const es = document.documentElement.lang === "es";
const since = () => performance.now(); // a clock that is set back must not stop the pouring
const rest = 700; // ms after a pour in which another press does not count: a knuckle bounces
const base = "/making/" + say.id;

let heard = null; // what the laptop said last
let view = null; // the same with what waits on this page
let chosen = new URLSearchParams(location.search).get("now");
let last = -Infinity;
let leaving = false;

const q = open({ making: say.id, event: base + "/event", state: base + "/state" });
q.onchange = changed;

// gram writes milligrams as grams, as the pages do.
function gram(mg) {
  let [whole, part] = String(mg / 1000).split(".");
  if (whole.length > (es ? 4 : 3)) whole = whole.replace(/\B(?=(\d{3})+$)/g, es ? "\u202f" : ",");
  return part ? whole + (es ? "," : ".") + part : whole;
}

// milligrams reads what was typed, or NaN; the laptop reads more kinds of it.
function milligrams(text) {
  const m = /^\s*(\d+)(?:[.,](\d{1,3}))?\s*g?\s*$/.exec(text);
  const thousands = es ? "." : ","; // where three digits are behind it
  return m && !(m[2] && m[2].length === 3 && text.includes(thousands)) ? Number(m[1]) * 1000 + Number((m[2] || "").padEnd(3, "0")) : NaN;
}

// ahead puts what waits on this page on top of what the laptop said.
function ahead(state, pending) {
  const s = structuredClone(state);
  const gone = new Set(pending.filter((e) => e.kind === "take-back").map((e) => e.of));
  s.waiting = new Set();
  for (const e of pending) {
    if (e.kind !== "pour" || gone.has(e.key)) continue;
    const l = s.lines.find((x) => x.ref === e.ref);
    s.waiting.add(e.ref);
    s.poured_mg += e.mg;
    if (l) {
      l.poured_mg += e.mg;
      l.left_mg = Math.max(0, l.left_mg - e.mg);
    }
    const bowl = s.bowls[(e.bowl || 1) - 1];
    if (s.room_mg && bowl.in_mg && bowl.in_mg + e.mg > s.room_mg) Object.assign(bowl, { round: bowl.round + 1, in_mg: 0 });
    bowl.in_mg += e.mg;
    s.last = { key: e.key, kind: "pour", ref: e.ref, mg: e.mg, name: l ? l.name : e._name || e.ref };
    const i = s.steps.findIndex((x) => x.ref === e.ref && x.bowl === (e.bowl || 1));
    if (i < 0) continue;
    const step = s.steps[i];
    if (e.mg >= step.mg) s.steps.splice(i, 1);
    else Object.assign(step, { mg: step.mg - e.mg, of_mg: step.of_mg - e.mg });
  }
  return s;
}

// standing is a step as it would be poured now, whichever has the turn: what
// the scale shows before and after, and whether the bowl must be tipped out.
function standing(step) {
  const bowl = view.bowls[step.bowl - 1];
  const room = view.room_mg || Infinity;
  const mg = Math.min(step.mg, room);
  const tip = bowl.in_mg > 0 && bowl.in_mg + mg > room;
  const before = tip || step.fine ? 0 : bowl.in_mg;
  return { ...step, mg, tip, round: bowl.round + (tip ? 1 : 0), before_mg: before, after_mg: before + mg };
}

function changed(c) {
  if (leaving) return;
  told(c);
  if (!c.state || !c.state.steps) return;
  const was = heard;
  heard = c.state;
  const other = heard.state !== "open" || String(heard.replans) !== say.replans || heard.lines.length !== lines.size || heard.lines.some((l) => !lines.has(l.ref));
  // The page is not of this state. It stays while the laptop is away, for there
  // is no other, and while it alone holds what is not saved.
  if (other) return c.online && (c.kept || !(c.pending.length + c.refused.length)) ? go(base) : undefined;
  view = ahead(heard, c.pending);
  draw();
  if (was && heard.events > was.events && !c.pending.length && since() - last > 4000) spoken.textContent = say.other;
  if (c.pending.length || c.refused.length) return;
  if (heard.off && !("off" in say)) go(base + "/rescue" + (c.both.length ? "?said=both" : ""));
  else if (heard.done && was && !was.done) go(base + "/finish");
}

function go(to) {
  leaving = true;
  q.close();
  location.assign(to);
}

// told says whether everything is saved, and what is not.
function told(c) {
  const unsaved = c.pending.length + c.refused.length;
  $("net2").textContent = unsaved ? say.waits.replace("%n", unsaved) : c.online ? say.saved : say.away;
  page.toggleAttribute("data-waiting", c.pending.length > 0);
  const box = $("trouble");
  const parts = [];
  if (c.trouble) parts.push(text(c.trouble));
  if (c.stop) parts.push(text(say.shut));
  if (!c.kept) parts.push(text(say.lost));
  for (const e of c.refused) parts.push(refused(e));
  if (box.dataset.said === c.trouble + c.stop + c.kept + c.refused.map((e) => e.key)) return;
  box.dataset.said = c.trouble + c.stop + c.kept + c.refused.map((e) => e.key);
  box.hidden = parts.length === 0;
  box.replaceChildren(...parts);
  if (c.refused.length) box.scrollIntoView({ block: "nearest" });
}

function text(words) {
  const p = document.createElement("p");
  p.textContent = words;
  return p;
}

function refused(e) {
  const l = heard && heard.lines.find((x) => x.ref === e.ref);
  const p = text((e.mg ? gram(e.mg) + " g " : "") + (l ? l.name : e._name || e.ref || "") + ": " + e._why + " ");
  const button = (words, act) => {
    const b = document.createElement("button");
    b.type = "button";
    b.textContent = words;
    b.addEventListener("click", act);
    p.append(b, " ");
  };
  if (e._code === "twice") button(say.also, () => q.besides(e.key));
  if (e._code === "which") {
    // The same pour by another name: it keeps its key and its grams.
    const call = (ref, food, name) => q.besides(e.key, { ref, food, _name: name });
    for (const n of e._near || []) button(n.name, () => call(n.ref, "", n.name));
    const i = document.createElement("input");
    i.ariaLabel = say.again;
    i.value = e.food;
    p.append(i, " ");
    button(say.look, () => i.value.trim() && call("", i.value, i.value));
  }
  button(e._code === "twice" ? say.same : say.drop, () => q.drop(e.key));
  return p;
}

// draw brings the page to what is known.
function draw() {
  const step = view.steps.find((s) => s.ref === chosen) || view.steps[0];
  for (const l of view.lines) {
    const li = lines.get(l.ref);
    const now = step && step.ref === l.ref;
    const kind = now ? "now" : view.waiting.has(l.ref) ? "wait" : l.over_mg ? "off" : l.left_mg && l.empty ? "out" : l.left_mg ? "" : "did";
    if (li.className !== kind) li.className = kind;
    if (now) li.id = "now";
    else li.removeAttribute("id");
    li.querySelector(".m").textContent = (l.poured_mg && l.left_mg ? say.of.replace("%a", gram(l.poured_mg)).replace("%b", gram(l.planned_mg)) : gram(l.left_mg ? l.planned_mg : l.poured_mg)) + (l.poured_mg && l.left_mg ? "" : "\u00a0g");
    tell(li, now ? say.now : kind === "did" ? say.did : "");
  }
  page.querySelector(".v-Mass").textContent = gram(view.poured_mg) + "\u00a0g";
  $("back").hidden = !view.last;
  if (view.last) {
    const f = $("back");
    f.of.value = view.last.key;
    $("backsays").textContent = view.last.name + (view.last.mg ? " " + gram(view.last.mg) + "\u00a0g" : "");
  }
  const card = $("card");
  if (card) card.hidden = !step; // all is poured, and the laptop does not know it yet
  if (!step || !card) return;
  const li = lines.get(step.ref);
  if (card.parentNode !== li) turn(card, li);
  fill(standing(step), card);
}

// tell says how a line stands to those who do not see its mark.
function tell(li, words) {
  let word = li.querySelector(".word");
  if (!word && words) {
    word = document.createElement("span");
    word.className = "hidden word";
    li.firstElementChild.append(word);
  }
  if (word) word.textContent = words;
}

// turn gives the card to another line.
function turn(card, li) {
  const had = card.contains(document.activeElement);
  li.append(card);
  for (const d of card.querySelectorAll("details")) d.open = false;
  for (const i of card.querySelectorAll("input[name=mass],input[name=lot_code]")) i.value = "";
  if (had) $("poured").focus({ preventScroll: true });
  li.scrollIntoView({ block: "start" });
}

function fill(step, card) {
  const set = (name, v) => card.querySelectorAll("input[name=" + name + "]").forEach((i) => i.type === "hidden" && (i.value = v));
  for (const f of card.querySelectorAll("form")) if (f.elements.ref && f.elements.ref.type === "hidden") f.elements.ref.value = step.ref;
  set("bowl", step.bowl);
  set("round", step.round);
  set("before_mg", step.before_mg);
  $("pour").mg.value = step.mg;
  $("pour").lot.value = step.lot || "";
  $("pour").seen.value = heard.events;
  const lots = $("lot1");
  if (card.dataset.ref && card.dataset.ref !== step.ref) lots.closest("p").hidden = true;
  card.dataset.ref = step.ref;
  $("grams").textContent = gram(step.mg);
  card.querySelector(".v-A").textContent = gram(step.before_mg);
  card.querySelector(".v-B").textContent = gram(step.after_mg) + "\u00a0g";
  $("tip").hidden = !step.tip;
  $("where").textContent = step.where || "";
  $("part").hidden = step.of_mg <= step.mg;
  card.querySelector("#part .v-Mass").textContent = gram(step.of_mg) + "\u00a0g";
}

// pour tells of one pour.
function pour(event) {
  if (since() - last < rest) return false;
  last = since();
  const l = view && view.lines.find((x) => x.ref === event.ref);
  const name = l ? l.name : event.food;
  spoken.textContent = say.poured.replace("%m", gram(event.mg)).replace("%n", name || "");
  if (navigator.vibrate) navigator.vibrate(30);
  chosen = null;
  q.send({ ...event, _name: name });
  return true;
}

const value = (f, name) => (f.elements[name] ? f.elements[name].value : "");

document.addEventListener("submit", (e) => {
  const f = e.target;
  if (!view || !page.contains(f)) return;
  const event = { kind: f.kind.value, ref: value(f, "ref"), bowl: Number(value(f, "bowl")) || undefined, round: Number(value(f, "round")) || undefined, lot: value(f, "lot") };
  if (f.id === "pour") event.mg = Number(f.mg.value), event.seen = heard.events;
  else if (f.id === "back") return back(e, f.of.value);
  else if (f.id === "note") return note(e, f);
  else {
    let mg = f.mass.value.trim() === "" ? 0 : milligrams(f.mass.value);
    if (value(f, "how") === "shown") mg -= Number(f.before_mg.value);
    const empty = f.dataset.kind === "empty";
    event.food = value(f, "food").trim();
    // What this page cannot read, or a bag that is not known yet, goes the slow way.
    if (!(mg > 0 || (empty && mg === 0)) || value(f, "lot_code") || !(event.ref || event.food)) return;
    event.kind = "pour";
    event.mg = mg;
    if (empty) {
      e.preventDefault();
      const key = newKey();
      if (mg > 0) pour({ ...event, key });
      q.send({ kind: "empty", ref: event.ref, bowl: event.bowl, key: key + ".empty" });
      return;
    }
  }
  e.preventDefault();
  if (pour(event) && event.food) f.reset(), (f.parentNode.open = false);
});

function back(e, key) {
  e.preventDefault();
  if (!key || since() - last < rest) return;
  last = since();
  spoken.textContent = say.taken;
  q.send({ kind: "take-back", of: key });
}

function note(e, f) {
  e.preventDefault();
  if (!f.note.value.trim()) return;
  spoken.textContent = f.note.value;
  q.send({ kind: "note", note: f.note.value });
  f.note.value = "";
  $("remark").open = false;
}

// A line's name gives it the turn.
$("pours").addEventListener("click", (e) => {
  const a = e.target.closest("a[href^='?now=']");
  if (!a || !view) return;
  e.preventDefault();
  chosen = a.closest("li").dataset.ref;
  draw();
});

// Keys, while nothing is typed into and the keeper has not switched them off.
const keysOn = $("keyson");
try {
  keysOn.checked = localStorage.getItem("firlot.keys") !== "off";
} catch { /* nothing is kept: they are on */ }
keysOn.addEventListener("change", () => {
  try {
    localStorage.setItem("firlot.keys", keysOn.checked ? "on" : "off");
  } catch { /* for this page only */ }
});
const opens = { d: "different", e: "empty", w: "wrong", n: "remark" };
document.addEventListener("keydown", (e) => {
  if (!keysOn.checked || e.repeat || e.ctrlKey || e.metaKey || e.altKey || e.target.closest("input,select,textarea")) return;
  const key = e.key.toLowerCase();
  if (e.key === "Enter" && !e.target.closest("a,button,summary") && $("pour")) $("pour").requestSubmit();
  else if ((key === "u" || e.key === "Backspace") && $("back").of) $("back").requestSubmit();
  else if (key === "s") go($("stop").href);
  else if (opens[key] && $(opens[key])) {
    const d = $(opens[key]);
    d.open = true;
    d.querySelector("input:not([type=hidden]):not([type=radio]),select").focus();
  } else return;
  e.preventDefault();
});

// The screen stays on where the browser allows it, and the page opens without
// the laptop. A scale with a cable is fetched when it is asked for, and by
// itself from then on. None of it is ever needed.
import("/static/weigh-awake.js").then((m) => m.keepAwake(), () => {});
import("/static/queue-offline.js").then((m) => m.offline(), () => {});
const cable = $("cable");
const talk = () => {
  cable.hidden = true;
  import("/static/scale-talk.js").then((m) => m.mount($("scale")), () => {});
};
let talked = new URLSearchParams(location.search).has("simulate");
try {
  talked ||= localStorage.getItem("firlot.cable") === "on";
} catch { /* it is asked for each time */ }
if (talked) talk();
else if (navigator.hid || navigator.serial) {
  cable.hidden = false;
  cable.addEventListener("click", () => {
    try {
      localStorage.setItem("firlot.cable", "on");
    } catch { /* for this page only */ }
    talk();
  });
}

// The queue of a making: what is poured while the laptop cannot be reached
// stays on this device and is told to it once it is back, each pour exactly
// once.
//
// How it is used by the weighing page:
//
//   import { open } from "/static/queue.js";
//   const q = open({ making: ID, event: "/making/ID/event", state: "/making/ID/state" });
//   q.onchange = (s) => …     // see below; set it at once, it is called soon
//   q.send({ kind: "pour", ref, mg, bowl, round, lot, by, seen });  // returns the event with its key
//   q.pending()               // events that the laptop has not acknowledged, oldest first
//   q.refused()               // events that it will not have
//   q.besides(key)            // a refused pour was poured besides: it is sent again with also=1
//   q.besides(key, as)        // the same event with these properties instead: it keeps its key
//   q.drop(key)               // forget a refused event
//   q.poll()                  // ask for the state at once
//   q.close()
//
// What onchange is given:
//   online   the laptop answered the last time
//   pending  events that wait on this device, oldest first
//   refused  events that the laptop will not have, each with _refused (the
//            status), _code, _why (its words) and _near (what it may be, where
//            the code is "which")
//   both     keys of events of this device that another device has poured as
//            well, meanwhile: both are in the bowl and both are counted
//   state    what the laptop said last, also to this page as it was open
//            before when the laptop is away from the start; or null
//   trouble  the laptop is there and cannot keep anything: its words
//   stop     0, or the status with which this device is not let in any more
//   kept     false where the browser keeps nothing, so that closing the page
//            would lose what is pending
//
// An event is put into local storage before anything is sent, under a key that
// this page makes (128 random bits), and is taken out only once the laptop has
// acknowledged it. The laptop keeps one event for a key however often it is
// sent, so that an answer that got lost doubles nothing. Events go in the
// order in which they were made, one after the other. An event goes out as a
// form of its properties, but for those with a _ in front, and asks for JSON.
//
// An answer of 2xx means: it is on disk. 401, 403 and 421: this device is not
// let in; everything is kept and nothing is sent until that changes. 409 with
// the code "twice": another device has poured the same. Was this pour made
// while the laptop was away, then it is sent again with also=1, for both are in
// the bowl; else the keeper is asked, for two may have pressed for one pour.
// 410 with the code "not-open": the making was closed; the event stays here as
// refused and goes again by itself once the making is open again; the keeper is
// asked then if somebody has poured the same meanwhile. Another 4xx: the laptop will not have the event; it
// stays here as refused. A refused pour that was taken back on this page is
// forgotten with its take-back.
// Anything else: the laptop is away, or cannot keep it; it is tried again.
const prefix = "firlot.event.";
const statePrefix = "firlot.state.";
const first = 500; // ms before it is tried again; doubled each time
const longest = 8000; // ms between two tries at most
const patience = 6000; // ms before an answer is not waited for any longer
const between = 2000; // ms between two looks at the state

// newKey makes a key of 128 random bits. getRandomValues, unlike randomUUID,
// is there without a secure context too.
export function newKey() {
  const b = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(b, (x) => x.toString(16).padStart(2, "0")).join("");
}

// form is what is sent of an event.
export function form(event) {
  const f = new URLSearchParams();
  for (const [k, v] of Object.entries(event)) if (!k.startsWith("_") && v !== undefined && v !== null && v !== "") f.set(k, String(v));
  return f;
}

// shelf keeps the events of one making, each under a name of its own, so that
// two pages of one browser cannot overwrite each other's. Where the browser
// keeps nothing, it keeps them in memory and says so (kept is false).
export function shelf(making, storage) {
  const here = prefix + making + ".";
  const memory = new Map();
  const gone = new Set(); // removed, also where the browser will not let go of them
  let last = 0;
  let kept = true;
  const name = (e) => here + String(e._order).padStart(16, "0") + "." + e.key;
  return {
    get kept() { return kept; },
    add(event) {
      const newest = this.all().at(-1);
      last = Math.max(Date.now(), last + 1, newest ? newest._order + 1 : 0);
      const e = { ...event, _order: last };
      try {
        storage.setItem(name(e), JSON.stringify(e));
      } catch {
        kept = false;
        memory.set(name(e), e);
      }
      return e;
    },
    // What has no room left in the browser's storage is remembered beside it.
    change(e) {
      try {
        if (memory.has(name(e))) throw new Error("no room");
        storage.setItem(name(e), JSON.stringify(e));
      } catch {
        kept = false;
        memory.set(name(e), e);
      }
    },
    remove(e) {
      gone.add(name(e));
      memory.delete(name(e));
      try { storage.removeItem(name(e)); } catch { /* it is not there */ }
    },
    all() {
      const list = [...memory.values()];
      try {
        for (let i = 0; i < storage.length; i++) {
          const k = storage.key(i);
          if (!k.startsWith(here) || memory.has(k) || gone.has(k)) continue;
          try {
            const e = JSON.parse(storage.getItem(k));
            if (e && e.key && Number.isFinite(e._order)) list.push(e);
          } catch { /* not ours */ }
        }
      } catch { kept = false; }
      return list.sort((a, b) => a._order - b._order || (a.key < b.key ? -1 : 1));
    },
  };
}

// open begins to keep, send and look. What it needs of the browser can be
// handed in, which is how it is tested.
export function open(o) {
  const fetch = o.fetch || globalThis.fetch.bind(globalThis);
  const storage = o.storage || safe(() => globalThis.localStorage) || nothing;
  const kept = shelf(o.making, storage);
  const q = { onchange: () => {} };
  const both = new Set();
  let online = true;
  let state = null;
  let tag = "";
  let stop = 0;
  let trouble = "";
  let sending = false;
  let wait = first;
  let timer, look;
  let closed = false;

  const waiting = () => kept.all().filter((e) => !e._refused);
  const refused = () => kept.all().filter((e) => e._refused);
  const tell = () => {
    if (!closed) q.onchange({ online, stop, trouble, state, kept: kept.kept, pending: waiting(), refused: refused(), both: [...both] });
  };

  async function ask(url, init) {
    const control = new AbortController();
    const t = setTimeout(() => control.abort(), patience);
    try {
      const answer = await fetch(url, { ...init, headers: { Accept: "application/json", ...(init && init.headers) }, signal: control.signal, credentials: "same-origin", cache: "no-store", redirect: "error" });
      const text = await answer.text();
      let said = null;
      try { said = JSON.parse(text); } catch { /* words, or nothing */ }
      return { status: answer.status, ok: answer.ok, tag: answer.headers.get("ETag") || "", said };
    } catch {
      return null; // the laptop is away
    } finally {
      clearTimeout(t);
    }
  }

  // heard takes over what an answer says of the connection, and reports
  // whether it came from the laptop and may be used.
  function heard(answer) {
    trouble = answer && answer.status === 507 ? (answer.said && answer.said.error) || "507" : "";
    online = answer !== null && (answer.status < 500 || answer.status === 507);
    if (!online) remembered();
    if (!online || trouble) return false;
    stop = [401, 403, 421].includes(answer.status) ? answer.status : 0;
    return !stop;
  }

  // newer takes over a state unless a later one is there already: answers may
  // overtake each other.
  function newer(said, from) {
    if (!said || (state && state.rev !== undefined && said.rev < state.rev)) return;
    state = said;
    tag = from;
    if (said.state === "open") for (const { _refused, _code, _why, _waited, ...e } of refused()) if (_code === "not-open") kept.change(e);
    safe(() => said.state === "open" ? storage.setItem(statePrefix + o.making, JSON.stringify(said)) : storage.removeItem(statePrefix + o.making));
  }

  // remembered is what the laptop said to this page when it was open before.
  function remembered() {
    if (!state) state = safe(() => JSON.parse(storage.getItem(statePrefix + o.making))) || null;
  }

  async function flush() {
    if (sending || closed) return;
    sending = true;
    clearTimeout(timer);
    try {
      for (let e = waiting()[0]; e; e = waiting()[0]) {
        const answer = await ask(o.event, { method: "POST", body: form(e) });
        if (closed) return;
        if (!heard(answer) || answer.status === 408 || answer.status === 429) {
          if (!e._waited) kept.change({ ...e, _waited: true });
          again();
          return;
        }
        wait = first;
        took(e, answer);
        tell();
      }
    } finally {
      sending = false;
      tell();
    }
  }

  // took does what the laptop's answer to an event asks for.
  function took(e, answer) {
    const code = (answer.said && answer.said.code) || "";
    if (answer.ok) {
      if (e.also) both.add(e.key);
      kept.remove(e);
      newer(answer.said, "");
      follow(answer.said && answer.said.seq);
    } else if (code === "twice" && e._waited && !e.also && !undone(e)) {
      kept.change({ ...e, also: 1 });
    } else if (code !== "key" && undone(e)) {
      kept.remove(undone(e));
      kept.remove(e);
    } else {
      kept.change({ ...e, _refused: answer.status, _code: code, _why: (answer.said && answer.said.error) || "", _near: answer.said && answer.said.near });
    }
  }

  // undone is what takes an event back that the laptop does not have.
  const undone = (e) => waiting().find((w) => w.kind === "take-back" && w.of === e.key);

  // follow lets what waits behind an event have seen it: what this device
  // itself has just poured is no other's pour.
  function follow(seq) {
    if (seq) for (const w of waiting()) if (Number(w.seen) === seq - 1) kept.change({ ...w, seen: seq });
  }

  function again() {
    if (closed) return;
    clearTimeout(timer);
    timer = setTimeout(flush, wait);
    wait = Math.min(wait * 2, longest);
  }

  async function poll() {
    clearTimeout(look);
    if (closed || !o.state) return;
    if (!globalThis.document || !document.hidden) {
      const answer = await ask(o.state, tag ? { headers: { "If-None-Match": tag } } : {});
      if (closed) return;
      const was = online;
      if (heard(answer)) {
        if (answer.ok) newer(answer.said, answer.tag);
        if (!was || waiting().length) flush();
      }
      tell();
    }
    clearTimeout(look);
    look = setTimeout(poll, o.between || between);
  }

  const awake = () => {
    if (globalThis.document && document.hidden) return;
    wait = first;
    flush();
    poll();
  };
  const others = (e) => { if (!e.key || e.key.startsWith(prefix)) tell(); };
  globalThis.addEventListener?.("online", awake);
  globalThis.addEventListener?.("storage", others);
  globalThis.document?.addEventListener("visibilitychange", awake);

  q.send = (event) => {
    const e = kept.add({ ...event, key: event.key || newKey() });
    tell();
    flush();
    return e;
  };
  q.pending = waiting;
  q.refused = refused;
  q.besides = (key, as = { also: 1 }) => {
    for (const { _refused, _code, _why, _near, ...e } of refused()) if (e.key === key) kept.change({ ...e, ...as });
    tell();
    flush();
  };
  q.drop = (key) => {
    for (const e of refused()) if (e.key === key) kept.remove(e);
    tell();
  };
  q.poll = poll;
  q.flush = flush;
  q.close = () => {
    closed = true;
    clearTimeout(timer);
    clearTimeout(look);
    globalThis.removeEventListener?.("online", awake);
    globalThis.removeEventListener?.("storage", others);
    globalThis.document?.removeEventListener("visibilitychange", awake);
  };
  // The caller sets onchange first.
  queueMicrotask(() => {
    tell();
    flush();
    poll();
  });
  return q;
}

function safe(get) {
  try { return get(); } catch { return null; }
}

const nothing = {
  length: 0,
  key: () => null,
  getItem: () => null,
  setItem() { throw new Error("nothing is kept"); },
  removeItem() {},
};

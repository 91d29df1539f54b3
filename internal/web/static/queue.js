// The queue of a making: what is poured while the laptop cannot be reached
// stays on this device and is told to it once it is back, each pour exactly
// once.
//
// How it is used by the weighing page:
//
//   import { open } from "/static/queue.js";
//   const q = open({ making, event: "/making/ID/event", state: "/making/ID/state" });
//   q.onchange = (s) => …     // s: { online, pending, refused, state, stop, kept }
//   q.send({ kind: "pour", ref, mg, bowl, round, lot, by });  // returns the event with its key
//   q.pending()               // events that the laptop has not acknowledged, oldest first
//   q.drop(key)               // forget a refused event
//   q.poll()                  // ask for the state at once
//   q.close()
//
// An event is put into local storage before anything is sent, under a key that
// this page makes (128 random bits), and is taken out only once the laptop has
// acknowledged it. The laptop keeps one event for a key however often it is
// sent, so that an answer that got lost doubles nothing. Events go in the
// order in which they were made, one after the other.
//
// The event goes out as a form (kind, ref, mg, bowl, round, lot, of, note, by,
// key) that asks for JSON. What the laptop answers to it and to GET state is
// handed on as it is (s.state). An answer of 2xx means: on disk. 401, 403 and
// 421: this device is not let in any more; everything is kept and sending
// stops (s.stop is the status). Another 4xx: the laptop will not have this
// event; it stays here as refused, with the laptop's word, and the next one is
// sent. Anything else: the laptop is away; it is tried again.
const prefix = "firlot.event.";
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

const fields = ["key", "kind", "ref", "mg", "bowl", "round", "lot", "of", "note", "by"];

// form is what is sent of an event.
export function form(event) {
  const f = new URLSearchParams();
  for (const k of fields) if (event[k] !== undefined && event[k] !== null && event[k] !== "") f.set(k, String(event[k]));
  return f;
}

// shelf keeps the events of one making, each under a name of its own, so that
// two pages of one browser cannot overwrite each other's. Where the browser
// keeps nothing, it keeps them in memory and says so (kept is false).
export function shelf(making, storage) {
  const here = prefix + making + ".";
  const memory = new Map();
  let last = 0;
  let kept = true;
  const name = (e) => here + String(e.order).padStart(16, "0") + "." + e.key;
  return {
    get kept() { return kept; },
    add(event) {
      const newest = this.all().at(-1);
      last = Math.max(Date.now(), last + 1, newest ? newest.order + 1 : 0);
      const e = { ...event, order: last };
      try {
        storage.setItem(name(e), JSON.stringify(e));
      } catch {
        kept = false;
        memory.set(name(e), e);
      }
      return e;
    },
    change(e) {
      if (memory.has(name(e))) memory.set(name(e), e);
      else try { storage.setItem(name(e), JSON.stringify(e)); } catch { kept = false; }
    },
    remove(e) {
      memory.delete(name(e));
      try { storage.removeItem(name(e)); } catch { /* it is not there */ }
    },
    all() {
      const list = [...memory.values()];
      try {
        for (let i = 0; i < storage.length; i++) {
          const k = storage.key(i);
          if (!k.startsWith(here)) continue;
          try {
            const e = JSON.parse(storage.getItem(k));
            if (e && e.key && Number.isFinite(e.order)) list.push(e);
          } catch { /* not ours */ }
        }
      } catch { kept = false; }
      return list.sort((a, b) => a.order - b.order || (a.key < b.key ? -1 : 1));
    },
  };
}

// open begins to keep, send and look. What it needs of the browser can be
// handed in, which is how it is tested.
export function open(o) {
  const fetch = o.fetch || globalThis.fetch.bind(globalThis);
  const kept = shelf(o.making, o.storage || safe(() => globalThis.localStorage) || nothing);
  const q = { onchange: () => {} };
  let online = true;
  let state = null;
  let stop = 0;
  let sending = false;
  let wait = first;
  let timer, look;
  let closed = false;

  const waiting = () => kept.all().filter((e) => !e.refused);
  const tell = () => {
    if (closed) return;
    const all = kept.all();
    q.onchange({ online, stop, state, kept: kept.kept, pending: all.filter((e) => !e.refused), refused: all.filter((e) => e.refused) });
  };

  async function ask(url, init) {
    const control = new AbortController();
    const t = setTimeout(() => control.abort(), patience);
    try {
      const answer = await fetch(url, { ...init, headers: { Accept: "application/json", ...(init && init.headers) }, signal: control.signal, credentials: "same-origin", cache: "no-store", redirect: "error" });
      const text = await answer.text();
      let said = null;
      try { said = JSON.parse(text); } catch { /* words, or nothing */ }
      return { status: answer.status, ok: answer.ok, said };
    } catch {
      return null; // the laptop is away
    } finally {
      clearTimeout(t);
    }
  }

  // heard takes over what an answer says of the connection, and reports
  // whether it came from the laptop and may be used.
  function heard(answer) {
    online = answer !== null && answer.status < 500;
    if (!online) return false;
    stop = [401, 403, 421].includes(answer.status) ? answer.status : 0;
    return !stop;
  }

  async function flush() {
    if (sending || closed) return;
    sending = true;
    clearTimeout(timer);
    try {
      for (let e = waiting()[0]; e; e = waiting()[0]) {
        const answer = await ask(o.event, { method: "POST", body: form(e) });
        if (closed) return;
        if (!heard(answer)) {
          again();
          return;
        }
        wait = first;
        if (answer.ok) {
          kept.remove(e);
          if (answer.said) state = answer.said;
        } else if (answer.status === 408 || answer.status === 429) {
          again();
          return;
        } else {
          kept.change({ ...e, refused: answer.status, why: (answer.said && answer.said.error) || "" });
        }
        tell();
      }
    } finally {
      sending = false;
      tell();
    }
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
      const answer = await ask(o.state);
      if (closed) return;
      const was = online;
      if (heard(answer) && answer.ok) {
        state = answer.said;
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
  q.refused = () => kept.all().filter((e) => e.refused);
  q.drop = (key) => {
    for (const e of kept.all()) if (e.key === key && e.refused) kept.remove(e);
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

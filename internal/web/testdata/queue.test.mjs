// The queue of a making against a laptop that is played here: it keeps an
// event for a key once, as the store does, and loses requests and answers as a
// home network does. Run by TestTheQueue.
import test from "node:test";
import assert from "node:assert/strict";
import { open, newKey, form, shelf } from "./queue.mjs";

class Storage {
  map = new Map();
  room = Infinity;
  get length() { return this.map.size; }
  key(i) { return [...this.map.keys()][i] ?? null; }
  getItem(k) { return this.map.get(k) ?? null; }
  setItem(k, v) {
    if (!this.map.has(k) && this.map.size >= this.room) throw new Error("QuotaExceededError");
    this.map.set(k, v);
  }
  removeItem(k) { this.map.delete(k); }
}

// laptop answers as weigh_event.go says.
class Laptop {
  log = [];
  rev = 1;
  away = false;
  next = () => "through"; // what becomes of a request: through, lost, answer lost, or a status
  answer(status, said, headers = {}) {
    return { status, ok: status >= 200 && status < 300, headers: { get: (k) => headers[k] ?? null }, text: async () => (said ? JSON.stringify(said) : "") };
  }
  state() { return { rev: this.rev, state: "open", events: this.log.length, poured_mg: this.log.reduce((n, e) => n + Number(e.get("mg") || 0), 0) }; }
  fetch = async (url, init = {}) => {
    await null;
    if (this.away) throw new TypeError("away");
    const what = this.next(url, init);
    if (what === "lost") throw new TypeError("lost");
    let said;
    if (typeof what === "object") said = this.answer(what.status, what.said);
    else if (init.method === "POST") said = this.event(init.body);
    else {
      const tag = '"' + this.rev + '"';
      said = init.headers["If-None-Match"] === tag ? this.answer(304) : this.answer(200, this.state(), { ETag: tag });
    }
    if (what === "answer lost") throw new TypeError("answer lost");
    return said;
  };
  event(f) {
    const had = this.log.find((e) => e.get("key") === f.get("key"));
    if (had && (had.get("mg") !== f.get("mg") || had.get("ref") !== f.get("ref"))) return this.answer(409, { error: "another", code: "key" });
    if (!had) {
      if (this.twice && !f.get("also") && f.get("ref") === this.twice) return this.answer(409, { error: "poured meanwhile", code: "twice" });
      this.log.push(f);
      this.rev++;
    }
    return this.answer(200, { ...this.state(), key: f.get("key"), seq: 1 + this.log.findIndex((e) => e.get("key") === f.get("key")) });
  }
  pours() { return this.log.map((e) => e.get("ref") + " " + e.get("mg")); }
}

const start = (laptop, storage = new Storage()) => {
  const q = open({ making: "m1", event: "/making/m1/event", state: "/making/m1/state", fetch: laptop.fetch, storage, between: 20 });
  q.said = [];
  q.onchange = (c) => q.said.push(c);
  q.last = () => q.said.at(-1);
  return q;
};
const pour = (ref, mg) => ({ kind: "pour", ref, mg, bowl: 1, round: 1, seen: 0 });
const until = async (what) => {
  for (let i = 0; i < 2000 && !what(); i++) await new Promise((r) => setTimeout(r, 5));
  assert.ok(what(), "this did not come true: " + what);
};

test("a key is 128 random bits, and another one each time", () => {
  const keys = new Set(Array.from({ length: 1000 }, newKey));
  assert.equal(keys.size, 1000);
  for (const k of keys) assert.match(k, /^[0-9a-f]{32}$/);
});

test("what is sent are the properties without a _ in front", () => {
  assert.equal(form({ key: "k", kind: "pour", mg: 0, bowl: undefined, lot: "", note: null, _waited: true }).toString(), "key=k&kind=pour&mg=0");
});

test("a pour is told at once, and is not here any more", async () => {
  const l = new Laptop(), s = new Storage(), q = start(l, s);
  q.send(pour("oats", 100));
  await until(() => l.log.length === 1 && q.pending().length === 0);
  await until(() => q.last().state && q.last().state.poured_mg === 100);
  q.close();
  assert.deepEqual([...s.map.keys()].filter((k) => k.startsWith("firlot.event.")), []);
});

test("pours wait while the laptop is away, and come in order, once", async () => {
  const l = new Laptop(), s = new Storage();
  l.away = true;
  const q = start(l, s);
  for (let i = 1; i <= 5; i++) q.send(pour("r" + i, i));
  await until(() => q.last() && q.last().online === false && q.last().pending.length === 5);
  l.away = false;
  await until(() => q.pending().length === 0);
  q.close();
  assert.deepEqual(l.pours(), ["r1 1", "r2 2", "r3 3", "r4 4", "r5 5"]);
});

test("what this device poured itself is no other's pour", async () => {
  const l = new Laptop(), s = new Storage();
  l.log.push(new URLSearchParams({ key: "theirs", ref: "millet", mg: "1" })); // seen by the page
  l.away = true;
  const q = start(l, s);
  q.send({ ...pour("oats", 1), seen: 1 });
  q.send({ ...pour("oats", 2), seen: 1 });
  q.send({ ...pour("wheat", 3), seen: 0 }); // from a page that had not seen theirs
  await until(() => q.last() && !q.last().online);
  l.away = false;
  await until(() => q.pending().length === 0);
  q.close();
  assert.deepEqual(l.log.slice(1).map((e) => e.get("seen")), ["1", "2", "0"]);
});

test("a page that is closed loses nothing: the next one tells", async () => {
  const l = new Laptop(), s = new Storage();
  l.away = true;
  const one = start(l, s);
  one.send(pour("oats", 1));
  one.send(pour("oats", 2));
  await until(() => one.last() && !one.last().online);
  one.close();
  l.away = false;
  const two = start(l, s);
  await until(() => two.pending().length === 0 && l.log.length === 2);
  two.close();
  assert.deepEqual(l.pours(), ["oats 1", "oats 2"]);
});

test("requests and answers that get lost double nothing and lose nothing", async () => {
  let seed = 7;
  const random = () => (seed = (seed * 1103515245 + 12345) % 2147483648) / 2147483648;
  for (let round = 0; round < 5; round++) {
    const l = new Laptop(), s = new Storage();
    l.next = () => { const x = random(); return x < 0.25 ? "lost" : x < 0.5 ? "answer lost" : x < 0.55 ? { status: 500 } : "through"; };
    let q = start(l, s);
    const want = [];
    for (let i = 0; i < 12; i++) {
      q.send(pour("r" + i, i + 1));
      want.push("r" + i + " " + (i + 1));
      if (random() < 0.3) {
        q.close(); // the page is closed in the middle of it, and opened again
        q = start(l, s);
      }
    }
    await until(() => { q.flush(); return q.pending().length === 0; });
    q.close();
    assert.deepEqual([...l.pours()].sort(), want.sort());
  }
});

test("two pages of one phone tell of a pour once", async () => {
  const l = new Laptop(), s = new Storage();
  l.away = true;
  const one = start(l, s), two = start(l, s);
  one.send(pour("oats", 1));
  two.send(pour("oats", 2));
  await until(() => one.last() && !one.last().online && two.last() && !two.last().online);
  assert.equal(one.pending().length, 2);
  l.away = false;
  one.flush();
  two.flush();
  await until(() => one.pending().length === 0);
  await new Promise((r) => setTimeout(r, 50));
  one.close();
  two.close();
  assert.deepEqual(l.pours().sort(), ["oats 1", "oats 2"]);
});

test("the same poured meanwhile: both, when this one had waited", async () => {
  const l = new Laptop(), s = new Storage();
  l.away = true;
  l.twice = "oats";
  const q = start(l, s);
  const e = q.send(pour("oats", 5));
  await until(() => q.last() && q.last().pending.some((x) => x._waited));
  l.away = false;
  await until(() => q.pending().length === 0 && l.log.length === 1);
  await until(() => q.last().both.includes(e.key));
  q.close();
  assert.equal(l.log[0].get("also"), "1");
});

test("the same poured meanwhile: the keeper is asked, when this one had not waited", async () => {
  const l = new Laptop(), s = new Storage();
  l.twice = "oats";
  const q = start(l, s);
  const e = q.send(pour("oats", 5));
  await until(() => q.refused().length === 1);
  assert.equal(q.refused()[0]._code, "twice");
  assert.equal(q.refused()[0]._why, "poured meanwhile");
  assert.equal(l.log.length, 0);
  q.send(pour("millet", 1)); // does not wait behind it
  await until(() => l.log.length === 1);
  q.besides(e.key);
  await until(() => l.log.length === 2 && q.refused().length === 0);
  assert.equal(l.log[1].get("key"), e.key);
  q.close();
});

test("what the laptop will not have stays here with its words, until it is dropped", async () => {
  const l = new Laptop(), s = new Storage();
  l.next = (url, init) => (init.method === "POST" && init.body.get("ref") === "x" ? { status: 410, said: { error: "not open", code: "not-open" } } : "through");
  const q = start(l, s);
  const e = q.send(pour("x", 5));
  await until(() => q.refused().length === 1);
  assert.equal(q.refused()[0]._refused, 410);
  q.close();
  const again = start(l, s);
  await until(() => again.last());
  assert.equal(again.refused().length, 1);
  assert.equal(again.pending().length, 0);
  again.drop("another");
  assert.equal(again.refused().length, 1);
  again.drop(e.key);
  assert.equal(again.refused().length, 0);
  again.close();
});

test("what came after a making was closed goes once it is open again, and the keeper is asked if it was poured meanwhile", async () => {
  const l = new Laptop(), s = new Storage();
  let closed = true;
  const state = l.state;
  l.state = () => ({ ...state.call(l), state: closed ? "finished" : "open" });
  l.next = (url, init) => (init.method === "POST" && closed ? { status: 410, said: { error: "closed", code: "not-open" } } : "through");
  l.away = true;
  const q = start(l, s);
  q.send(pour("oats", 5));
  q.send(pour("millet", 6));
  await until(() => q.pending()[0]._waited);
  l.away = false;
  await until(() => q.refused().length === 2);
  assert.equal(q.last().state.state, "finished");
  l.twice = "oats"; // on the laptop it was poured by hand, and the making opened again
  closed = false;
  l.rev++;
  await until(() => l.log.length === 1 && q.refused().length === 1);
  assert.deepEqual(l.pours(), ["millet 6"]);
  assert.equal(q.refused()[0]._code, "twice");
  assert.equal(q.last().both.length, 0);
  q.close();
});

test("a pour that is called otherwise keeps its key and its grams, also where the browser has no room left", async () => {
  const l = new Laptop(), s = new Storage();
  l.next = (url, init) => (init.method === "POST" && init.body.get("food") ? { status: 422, said: { error: "which?", code: "which", near: [{ ref: "soy/roasted", name: "roasted soybeans" }] } } : "through");
  let q = start(l, s);
  const e = q.send({ kind: "pour", food: "soybeans", mg: 5000 });
  await until(() => q.refused().length === 1);
  assert.equal(q.refused()[0]._near[0].ref, "soy/roasted");
  l.away = true;
  s.setItem = () => { throw new Error("QuotaExceededError"); };
  q.besides(e.key, { ref: "soy/roasted", food: "" });
  assert.equal(q.refused().length, 0);
  assert.equal(q.pending()[0].key, e.key);
  q.close();
  q = start(l, s); // the page is loaded anew: what could not be written down is asked again
  assert.equal(q.refused()[0].key, e.key);
  q.besides(e.key, { ref: "soy/roasted", food: "" });
  l.away = false;
  await until(() => q.refused().length + q.pending().length === 0);
  assert.deepEqual(l.pours(), ["soy/roasted 5000"]);
  assert.equal(l.log[0].get("key"), e.key);
  q.close();
});

test("a refused pour that was taken back here is forgotten with its take-back", async () => {
  for (const [status, code] of [[410, "not-open"], [409, "twice"]]) {
    const l = new Laptop(), s = new Storage();
    l.away = true;
    const q = start(l, s);
    const e = q.send(pour("oats", 5));
    q.send({ kind: "take-back", of: e.key });
    await until(() => q.pending()[0]._waited);
    l.next = (url, init) => (init.method === "POST" ? { status, said: { error: "no", code } } : "through");
    l.away = false;
    await until(() => q.pending().length === 0);
    assert.equal(q.refused().length, 0);
    assert.equal(l.log.length, 0);
    q.close();
  }
});

test("a device that is shut out keeps its pours and says so", async () => {
  const l = new Laptop(), s = new Storage();
  l.next = () => ({ status: 401 });
  const q = start(l, s);
  q.send(pour("oats", 5));
  await until(() => q.last() && q.last().stop === 401);
  assert.equal(q.pending().length, 1);
  assert.equal(q.last().online, true);
  l.next = () => "through";
  await until(() => q.pending().length === 0);
  assert.equal(q.last().stop, 0);
  q.close();
});

test("a full disk is said, and the pour is tried again", async () => {
  const l = new Laptop(), s = new Storage();
  l.next = (url, init) => (init.method === "POST" ? { status: 507, said: { error: "the disk is full" } } : "through");
  const q = start(l, s);
  q.send(pour("oats", 5));
  await until(() => q.said.some((c) => c.trouble === "the disk is full"));
  assert.equal(q.pending().length, 1);
  l.next = () => "through";
  await until(() => q.pending().length === 0);
  q.close();
});

test("a browser that keeps nothing, or is full, is told of, and pours go on", async () => {
  for (const s of [new Storage(), null]) {
    const l = new Laptop();
    if (s) s.room = 0;
    l.away = true;
    const q = start(l, s);
    q.send(pour("oats", 5));
    q.send(pour("oats", 6));
    await until(() => q.last() && !q.last().online);
    assert.equal(q.last().kept, false);
    l.away = false;
    await until(() => q.pending().length === 0);
    q.close();
    assert.deepEqual(l.pours(), ["oats 5", "oats 6"]);
  }
});

test("an event that the browser will not let go of is sent no more", async () => {
  const l = new Laptop(), s = new Storage();
  s.removeItem = () => { throw new Error("no"); };
  const q = start(l, s);
  q.send(pour("oats", 5));
  await until(() => l.log.length === 1 && q.pending().length === 0);
  q.close();
});

test("makings do not see each other's events, and what is not ours is passed over", async () => {
  const s = new Storage();
  const a = shelf("m1", s), b = shelf("m10", s);
  a.add({ key: "1" });
  b.add({ key: "2" });
  s.setItem("firlot.event.m1.zz", "{");
  s.setItem("firlot.event.m1.yy", "null");
  s.setItem("other", "1");
  assert.deepEqual(a.all().map((e) => e.key), ["1"]);
  assert.deepEqual(b.all().map((e) => e.key), ["2"]);
});

test("events keep their order when the clock is set back", () => {
  const s = new Storage(), a = shelf("m", s), now = Date.now;
  try {
    for (const t of [1000, 500, 500, 2000]) {
      Date.now = () => t;
      a.add({ key: "k" + a.all().length });
    }
    Date.now = () => 1;
    shelf("m", s).add({ key: "k4" });
  } finally { Date.now = now; }
  assert.deepEqual(a.all().map((e) => e.key), ["k0", "k1", "k2", "k3", "k4"]);
});

test("what the laptop said last is there for a page that opens without it", async () => {
  const l = new Laptop(), s = new Storage();
  const one = start(l, s);
  one.send(pour("oats", 5));
  await until(() => one.last() && one.last().state && one.last().state.events === 1);
  one.close();
  l.away = true;
  const two = start(l, s);
  two.send(pour("oats", 6));
  await until(() => two.last() && !two.last().online && two.last().state);
  assert.equal(two.last().state.poured_mg, 5);
  assert.equal(two.last().pending.length, 1);
  two.close();
});

test("an answer that was overtaken does not bring an older state back", async () => {
  const l = new Laptop(), s = new Storage(), q = start(l, s);
  await until(() => q.last() && q.last().state);
  l.rev = 9;
  await until(() => q.last().state.rev === 9);
  l.rev = 3;
  await new Promise((r) => setTimeout(r, 80));
  assert.equal(q.last().state.rev, 9);
  q.close();
});

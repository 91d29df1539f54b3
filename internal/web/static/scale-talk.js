// A scale with a cable fills the amount in. It is offered where the browser
// can reach one (WebHID, Web Serial: on this machine or over TLS), or as a
// simulated one with ?simulate. What it says is shown, and one press takes it
// over into the field; it never pours by itself.
//
// The place for it in the page: <div id="scale" data-into="ID of the field"
// data-opens="ID of the details around it" data-…words hidden></div>
import { hid, Lines, dataReport, weighs } from "/static/scale-read.js";

const silence = 3000; // ms without a word after which what was shown counts no longer
const usagePage = 0x8d;
const rates = [9600, 2400, 4800, 19200, 1200];

// grams writes milligrams as they are typed into the field.
export function grams(mg, comma) {
  const sign = mg < 0 ? "-" : "";
  const t = String(Math.abs(mg)).padStart(4, "0");
  const part = t.slice(-3).replace(/0+$/, "");
  return sign + t.slice(0, -3) + (part ? (comma ? "," : ".") + part : "");
}

const make = (tag, props, ...inside) => {
  const el = Object.assign(document.createElement(tag), props);
  el.append(...inside);
  return el;
};

export function mount(place, env = {}) {
  const nav = env.navigator || navigator;
  const say = place.dataset;
  const comma = document.documentElement.lang === "es";
  const simulate = new URLSearchParams(location.search).get("simulate");
  if (!nav.hid && !nav.serial && simulate === null) return null;

  document.head.append(make("link", { rel: "stylesheet", href: "/static/scale-talk.css" }));
  const shown = make("output", { id: "scaleshows" });
  const take = make("button", { type: "button", id: "scaletakes", disabled: true, textContent: say.take.replace("%m", "0\u00a0g") });
  const doors = make("p", { className: "doors" });
  const shows = make("p", { id: "scalesays" }, shown, " ", take);
  place.replaceChildren(doors, shows);
  place.hidden = false;

  let now = null;
  let hush;
  const quiet = () => {
    now = null;
    shown.textContent = say.silent;
    take.disabled = true;
  };

  // heard shows a reading.
  const heard = (r) => {
    clearTimeout(hush);
    hush = setTimeout(quiet, silence);
    now = r;
    // Once it speaks, it stands beside what is to be poured.
    const near = document.querySelector(say.near || "#card .tare");
    if (near && shows.parentNode === place) near.after(shows);
    const mass = weighs(r.state) ? grams(r.mg, comma) + "\u00a0g" : "";
    const text = (mass ? mass + ", " : "") + (say[r.state] || "");
    if (shown.textContent !== text) shown.textContent = text;
    const may = weighs(r.state) && r.state !== "moving" && r.mg > 0;
    // It stays where it is when it cannot be pressed, so that nothing jumps
    // from under a finger.
    if (take.disabled === may) take.disabled = !may;
    if (mass) take.textContent = say.take.replace("%m", mass);
    place.dispatchEvent(new CustomEvent("reading", { detail: r, bubbles: true }));
  };

  take.addEventListener("click", () => {
    if (!now || !weighs(now.state) || now.state === "moving" || now.mg <= 0) return;
    const field = document.getElementById(say.into);
    const around = document.getElementById(say.opens);
    if (!field) return;
    if (around) around.open = true;
    field.value = grams(now.mg, comma);
    field.dispatchEvent(new Event("input", { bubbles: true }));
    field.focus();
  });

  const failed = () => { shown.textContent = say.failed; };
  const door = (words, act) => {
    const b = make("button", { type: "button", textContent: words });
    b.addEventListener("click", () => act().catch(failed));
    doors.append(b, " ");
    return b;
  };

  if (nav.hid) {
    const listen = async (device) => {
      if (!device.opened) await device.open();
      quiet();
      device.addEventListener("inputreport", (e) => heard(hid(e.reportId || dataReport, new Uint8Array(e.data.buffer, e.data.byteOffset, e.data.byteLength))));
    };
    door(say.usb, async () => {
      const [device] = await nav.hid.requestDevice({ filters: [{ usagePage }] });
      if (device) await listen(device);
    });
    // One that was allowed before speaks at once.
    nav.hid.getDevices().then((list) => {
      const device = list.find((d) => d.collections.some((c) => c.usagePage === usagePage));
      return device && listen(device);
    }).catch(() => {});
  }

  if (nav.serial) {
    const rate = make("select", { id: "scalerate" }, ...rates.map((r) => make("option", { value: String(r), textContent: String(r) })));
    const asks = make("input", { type: "checkbox", id: "scaleasks" });
    door(say.serial, async () => {
      const port = await nav.serial.requestPort();
      await port.open({ baudRate: Number(rate.value) });
      quiet();
      if (asks.checked) {
        // MT-SICS: send the weight now and again.
        const w = port.writable.getWriter();
        await w.write(new TextEncoder().encode("SIR\r\n"));
        w.releaseLock();
      }
      listenTo(port.readable, heard).then(quiet, failed);
    });
    doors.append(make("label", {}, say.rate + " ", rate), " ", make("label", {}, asks, " " + say.asks));
  }

  if (simulate !== null) import("/static/scale-sim.js").then((m) => m.simulated(doors, say, simulate, (frame) => (frame.line ? heardLines(frame.line) : heard(hid(frame[0], frame.subarray(1))))));
  const lines = new Lines();
  const heardLines = (bytes) => lines.add(bytes).forEach(heard);
  return { heard };
}

// listenTo reads lines until the cable is pulled.
export async function listenTo(readable, heard) {
  const lines = new Lines();
  const reader = readable.getReader();
  try {
    for (;;) {
      const { value, done } = await reader.read();
      if (done) return;
      lines.add(value).forEach(heard);
    }
  } finally {
    reader.releaseLock();
  }
}

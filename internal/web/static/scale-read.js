// Reads what a scale with a cable says, as package scales does in Go; its doc
// comment names the sources. Both are held to the same readings and to each
// other on random ones.
//
// A reading is { state, mg, rounded }: mg are whole milligrams, there only for
// the states stable, moving, zero and shown.
export const maxMg = 1_000_000_000;
export const dataReport = 3;
const maxLine = 120;
const maxPower = 40;

const units = { mg: [1n, 1n], g: [1000n, 1n], kg: [1000000n, 1n], oz: [45359237n, 1600n], lb: [45359237n, 100n] };
const hidUnits = { 0x01: "mg", 0x02: "g", 0x03: "kg", 0x0b: "oz", 0x0c: "lb" };
const lastHIDUnit = 0x0c;
const hidStates = ["", "fault", "zero", "moving", "stable", "under", "over", "calibrate", "rezero"];
const lineStates = { ST: "stable", US: "moving", OL: "over", UL: "under", QT: "unit", TL: "fault" };
const lineKinds = ["gs", "nt", "g", "n"];
const sicsWords = { "+": "over", "-": "under", I: "busy" };
const sicsStates = { S: "stable", D: "moving" };

export const weighs = (state) => ["stable", "moving", "zero", "shown"].includes(state);

const own = (o, k) => (Object.hasOwn(o, k) ? o[k] : undefined);
const says = (state) => ({ state, mg: 0, rounded: false });

function reading(state, n, power, unit) {
  if (n === 0n) return { state, mg: 0, rounded: false };
  if (power > maxPower) return says("unreadable");
  power = Math.max(power, -maxPower);
  const [mg, of] = units[unit];
  let num = n * mg;
  let den = of;
  if (power > 0) num *= 10n ** BigInt(power);
  else den *= 10n ** BigInt(-power);
  let q = num / den; // towards nought
  let rest = num % den;
  const rounded = rest !== 0n;
  if (rest < 0n) rest = -rest;
  if (2n * rest >= den) q += num < 0n ? -1n : 1n;
  if (q > BigInt(maxMg) || q < -BigInt(maxMg)) return says("unreadable");
  return { state, mg: Number(q), rounded };
}

// hid reads a report of a USB scale; data are the bytes after its number.
export function hid(report, data) {
  if (report !== dataReport || data.length < 5) return says("unreadable");
  const state = data[0] > 0 ? hidStates[data[0]] : undefined;
  if (!state) return says("unreadable");
  if (!weighs(state)) return says(state);
  const unit = own(hidUnits, data[1]);
  if (!unit) return says(data[1] >= 1 && data[1] <= lastHIDUnit ? "unit" : "unreadable");
  const power = data[2] > 127 ? data[2] - 256 : data[2];
  return reading(state, BigInt(data[3] + 256 * data[4]), power, unit);
}

const spaces = (s) => s.replace(/^[ \t]+|[ \t]+$/g, "");

// line reads one line of a serial scale, without what ends it.
export function line(text) {
  if (text.length > maxLine) return says("unreadable");
  text = text.replace(/^[ \t\r\n\0\x02\x03]+|[ \t\r\n\0\x02\x03]+$/g, "");
  if (text === "") return says("nothing");
  if (/[^\t -~]/.test(text)) return says("unreadable");
  return headed(text) || sics(text) || bare(text);
}

function headed(text) {
  const at = text.indexOf(",");
  if (at < 0) return null;
  let first = text.slice(0, at);
  let rest = text.slice(at + 1);
  if (first.length === 4 && /^[0-9]{2}/.test(first)) first = first.slice(2);
  const state = own(lineStates, spaces(first).toUpperCase());
  if (!state) return null;
  if (!weighs(state)) return says(state);
  const comma = rest.indexOf(",");
  if (comma >= 0) {
    const kind = spaces(rest.slice(0, comma)).toLowerCase();
    if (lineKinds.includes(kind)) rest = rest.slice(comma + 1);
    else if (/^[a-z]+$/.test(kind)) return says("unit");
  }
  const second = rest.indexOf(",");
  if (second >= 0) return amount(state, rest.slice(0, second), rest.slice(second + 1));
  return amountIn(state, rest);
}

function sics(text) {
  const f = text.split(/[ \t]+/);
  if (f[0] !== "S" || f.length === 1) return null;
  if (f.length === 2) return says(own(sicsWords, f[1]) || "unreadable");
  const state = own(sicsStates, f[1]);
  if (!state) return says("unreadable");
  return amountIn(state, f.slice(2).join(" "));
}

function bare(text) {
  if (text.endsWith("?")) return amountIn("moving", text.slice(0, -1));
  return amountIn("shown", text);
}

function amountIn(state, text) {
  let i = text.length;
  while (i > 0 && !/[0-9.]/.test(text[i - 1])) i--;
  return amount(state, text.slice(0, i), text.slice(i));
}

function amount(state, number, name) {
  const m = /^([+-]?)[ \t]*([0-9]*)(?:\.([0-9]*))?$/.exec(spaces(number));
  if (!m || (m[2] + (m[3] || "")) === "") return says("unreadable");
  const unit = spaces(name).toLowerCase();
  if (!own(units, unit)) return says("unit");
  const n = BigInt(m[2] + (m[3] || ""));
  return reading(state, m[1] === "-" ? -n : n, -(m[3] || "").length, unit);
}

// Lines cuts what comes through a cable into readings.
export class Lines {
  held = "";
  skip = false;

  // add takes the next bytes and returns a reading for every line they end.
  add(bytes) {
    const list = [];
    for (const c of bytes) {
      if (c !== 13 && c !== 10) {
        if (this.skip) continue;
        if (this.held.length >= maxLine) {
          this.held = "";
          this.skip = true;
          list.push(says("unreadable"));
          continue;
        }
        this.held += String.fromCharCode(c);
        continue;
      }
      const r = line(this.held);
      if (r.state !== "nothing" && !this.skip) list.push(r);
      this.held = "";
      this.skip = false;
    }
    return list;
  }
}

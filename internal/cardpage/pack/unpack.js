// firlotUnpack undoes what internal/cardpage/pack does: text of 91 letters,
// 13 bits in two of them, and in those bits a row of choices coded by how
// likely they were. It mirrors unsqueeze.go, and model.go says what is what.
function firlotUnpack(text) {
  "use strict";
  const worth = new Uint8Array(128);
  let letters = 0;
  for (let c = 33; c < 127; c++) if (c !== 38 && c !== 60 && c !== 92) worth[c] = letters++;
  const input = new Uint8Array(((text.length >> 1) * 13 + 7) >> 3);
  let held = 0, bits = 0, filled = 0;
  for (let i = 0; i + 1 < text.length; i += 2) {
    held |= (worth[text.charCodeAt(i) & 127] + 91 * worth[text.charCodeAt(i + 1) & 127]) << bits;
    for (bits += 13; bits >= 8; bits -= 8) {
      input[filled++] = held & 255;
      held >>>= 8;
    }
  }
  const word = (i) => (input[i] | input[i + 1] << 8 | input[i + 2] << 16 | input[i + 3] << 24) >>> 0;
  const size = word(0), split = word(4);
  if (size > 1 << 26 || split > size) throw new Error("what was packed is damaged");

  // The chances of all choices, learnt fast and slowly.
  let chances = 0;
  const room = (n) => { const at = chances; chances += n; return at; };
  const match = room(48), rep = room(12), rep0 = room(12), rep1 = room(12), rep2 = room(12), rep0Long = room(48);
  const byOne = room(4 << 16), against = room(4 * 512 * 8);
  const slots = room(256), special = room(128), align = room(16);
  const lengths = () => ({ over8: room(1), over16: room(1), low: room(32), mid: room(32), high: room(256) });
  const matchLen = lengths(), repLen = lengths();
  const fast = new Uint16Array(chances).fill(1 << 15), slow = new Uint16Array(chances).fill(1 << 15);

  let at = 8, width = 0xffffffff, code = 0;
  for (let i = 0; i < 4; i++) code = (code << 8 | input[at++]) >>> 0;
  const more = () => {
    width = (width << 8) >>> 0;
    code = (code << 8 | (at < input.length ? input[at] : 0)) >>> 0;
    at++;
  };
  const bit = (i) => {
    const p = (fast[i] + slow[i]) >>> 5 || 1;
    const bound = (width >>> 12) * p;
    let yes = 0;
    if (code < bound) {
      width = bound;
      fast[i] += (65535 - fast[i]) >>> 4;
      slow[i] += (65535 - slow[i]) >>> 7;
    } else {
      yes = 1;
      code -= bound;
      width -= bound;
      fast[i] -= fast[i] >>> 4;
      slow[i] -= slow[i] >>> 7;
    }
    while (width < 0x1000000) more();
    return yes;
  };
  const half = () => {
    width >>>= 1;
    let yes = 0;
    if (code >= width) {
      code -= width;
      yes = 1;
    }
    while (width < 0x1000000) more();
    return yes;
  };
  const tree = (from, n) => {
    let node = 1;
    for (let i = 0; i < n; i++) node = node << 1 | bit(from + node);
    return node - (1 << n);
  };
  const backwards = (from, n) => {
    let node = 1, v = 0;
    for (let i = 0; i < n; i++) {
      const b = bit(from + node);
      node = node << 1 | b;
      v |= b << i;
    }
    return v;
  };
  const length = (l, place) => {
    if (!bit(l.over8)) return 2 + tree(l.low + 8 * place, 3);
    if (!bit(l.over16)) return 10 + tree(l.mid + 8 * place, 3);
    return 18 + tree(l.high, 8);
  };
  const distance = (n) => {
    const slot = tree(slots + 64 * Math.min(n - 2, 3), 6);
    if (slot < 4) return slot;
    const low = (slot >> 1) - 1;
    let v = (2 | slot & 1) << low;
    if (slot < 14) return v + backwards(special + v - slot, low);
    for (let i = low - 1; i >= 4; i--) v += half() << i;
    return v + backwards(align, 4);
  };

  const out = new Uint8Array(size);
  let pos = 0, state = 0, r0 = 0, r1 = 0, r2 = 0, r3 = 0;
  while (pos < size) {
    if (at > input.length + 16) throw new Error("what was packed is damaged");
    const place = pos < split ? 0 : pos & 3;
    if (!bit(match + 4 * state + place)) {
      const before = pos > 0 ? out[pos - 1] : 0;
      const one = byOne + ((place << 8 | before) << 8);
      let node = 1;
      if (state >= 7) { // right after a match, by the byte that it would go on with
        let next = out[pos - r0 - 1];
        const by = against + ((place << 3 | before >> 5) << 9);
        while (node < 256) {
          const want = next >> 7;
          const yes = bit(by + (want << 8) + node);
          node = node << 1 | yes;
          next = next << 1 & 255;
          if (yes !== want) break;
        }
      }
      while (node < 256) node = node << 1 | bit(one + node);
      out[pos++] = node;
      state = state < 4 ? 0 : state < 10 ? state - 3 : state - 6;
      continue;
    }
    let n = 0;
    if (!bit(rep + state)) {
      n = length(matchLen, place);
      state = state < 7 ? 7 : 10;
      r3 = r2;
      r2 = r1;
      r1 = r0;
      r0 = distance(n);
    } else if (!bit(rep0 + state)) {
      if (!bit(rep0Long + 4 * state + place)) {
        n = 1;
        state = state < 7 ? 9 : 11;
      } else {
        n = length(repLen, place);
        state = state < 7 ? 8 : 11;
      }
    } else {
      let far = r1;
      if (bit(rep1 + state)) {
        if (bit(rep2 + state)) {
          far = r3;
          r3 = r2;
        } else {
          far = r2;
        }
        r2 = r1;
      }
      r1 = r0;
      r0 = far;
      n = length(repLen, place);
      state = state < 7 ? 8 : 11;
    }
    let from = pos - r0 - 1;
    if (from < 0 || pos + n > size) throw new Error("what was packed is damaged");
    while (n-- > 0) out[pos++] = out[from++];
  }
  return out;
}

// firlotEngine starts the engine of a card, a WASI reactor, from its bytes or
// from a compiled module. What the engine may ask of its host is the time and
// random bytes; a line of text goes to the console, and nothing else is there.
// It returns { open, answer }, which take text and return text.
async function firlotEngine(wasm) {
  "use strict";
  let memory;
  const view = () => new DataView(memory.buffer);
  const bytes = (at, n) => new Uint8Array(memory.buffer, at, n);
  const done = 0, notHere = 8, notKnown = 52; // WASI's errno: success, badf, nosys
  const none = (count, size) => {
    view().setUint32(count, 0, true);
    view().setUint32(size, 0, true);
    return done;
  };
  const wasi = {
    args_sizes_get: none,
    environ_sizes_get: none,
    args_get: () => done,
    environ_get: () => done,
    clock_time_get(id, precision, at) {
      const ms = id === 0 ? Date.now() : performance.now();
      view().setBigUint64(at, BigInt(Math.round(ms * 1e6)), true);
      return done;
    },
    random_get(at, n) {
      crypto.getRandomValues(bytes(at, n));
      return done;
    },
    fd_write(fd, parts, count, written) {
      let all = 0;
      for (let i = 0; i < count; i++) {
        const n = view().getUint32(parts + 8 * i + 4, true);
        console.warn(new TextDecoder().decode(bytes(view().getUint32(parts + 8 * i, true), n)));
        all += n;
      }
      view().setUint32(written, all, true);
      return done;
    },
    fd_fdstat_get(fd, at) {
      if (fd > 2) return notHere;
      bytes(at, 24).fill(0);
      view().setUint8(at, 2); // a character device
      view().setBigUint64(at + 8, 64n, true); // fd_write
      return done;
    },
    poll_oneoff(subscriptions, events, n, written) {
      for (let i = 0; i < n; i++) { // whatever is waited for has come
        bytes(events + 32 * i, 32).fill(0);
        view().setBigUint64(events + 32 * i, view().getBigUint64(subscriptions + 48 * i, true), true);
        view().setUint8(events + 32 * i + 10, view().getUint8(subscriptions + 48 * i + 8));
      }
      view().setUint32(written, n, true);
      return done;
    },
    sched_yield: () => done,
    proc_exit(status) { throw new Error("the engine ended with status " + status); },
  };
  const host = new Proxy(wasi, { get: (has, name) => has[name] || (() => name.startsWith("fd_") ? notHere : notKnown) });
  const module = wasm instanceof WebAssembly.Module ? wasm : await WebAssembly.compile(wasm);
  const { exports } = await WebAssembly.instantiate(module, { wasi_snapshot_preview1: host });
  memory = exports.memory;
  exports._initialize();
  const call = (name, text) => {
    const given = new TextEncoder().encode(text);
    const at = exports.room(given.length) >>> 0;
    if (at === 0) throw new Error("there is no room for " + given.length + " bytes");
    bytes(at, given.length).set(given);
    const out = BigInt.asUintN(64, exports[name]());
    return new TextDecoder().decode(bytes(Number(out >> 32n), Number(out & 0xffffffffn)));
  };
  return { open: (text) => call("open", text), answer: (text) => call("answer", text) };
}

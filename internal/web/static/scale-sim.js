// A scale that is played, for trying the page out and for its tests. It speaks
// in real frames, so that they are read by the same code: ?simulate as a USB
// scale, ?simulate=serial as a serial one. Loading moves for a moment, then
// stands still.
const beat = 200; // ms between two frames
const settles = 3; // frames until it is still

export function simulated(doors, say, kind, send) {
  const field = Object.assign(document.createElement("input"), { id: "simulated", inputMode: "decimal", value: "0" });
  const label = document.createElement("label");
  label.append(say.simulated + " ", field);
  doors.append(label);
  let left = 0;
  field.addEventListener("input", () => { left = settles; });
  setInterval(() => {
    const tenths = Math.round(Number(field.value.replace(",", ".")) * 10) || 0;
    const moving = left > 0 && left-- > 0;
    if (kind === "serial") {
      const text = (moving ? "US" : "ST") + ",GS," + (tenths < 0 ? "-" : "+") + (Math.abs(tenths) / 10).toFixed(1).padStart(7) + ",g\r\n";
      send({ line: new TextEncoder().encode(text) });
      return;
    }
    const status = tenths < 0 ? 5 : tenths > 0xffff ? 6 : moving ? 3 : tenths === 0 ? 2 : 4;
    const n = Math.min(Math.abs(tenths), 0xffff);
    send(Uint8Array.of(3, status, 2, 0xff, n & 0xff, n >> 8));
  }, beat);
}

// The page of a making that is closed tells what this device still holds for
// it: what came too late is not in the making. It is sent first, for an answer
// may only have been lost. Opening the making again is a form; the weighing page
// then sends what is here.
import { open } from "/static/queue.js";

const box = document.getElementById("left");
const say = box.dataset;
const es = document.documentElement.lang === "es";

// grams writes milligrams in grams.
const grams = (mg) => (es ? String(mg / 1000).replace(".", ",") : String(mg / 1000)) + "\u00a0g";

function words(e) {
  const what = e._name || e.ref || "";
  if (e.kind === "take-back") return say.back;
  if (e.kind === "empty") return what + ": " + say.empty;
  return [e.mg ? grams(e.mg) : "", what, e.note].filter(Boolean).join(" ");
}

const q = open({ making: say.id, event: "/making/" + say.id + "/event" });
q.onchange = (c) => {
  const list = [...c.refused, ...c.pending];
  box.hidden = !c.refused.length && (c.online && !c.stop || !list.length);
  document.getElementById("leftwhy").hidden = !c.refused.length;
  document.getElementById("leftwaits").hidden = c.online && !c.stop;
  document.getElementById("leftdrop").hidden = !c.refused.length;
  box.querySelector("ul").replaceChildren(...list.map((e) => {
    const li = document.createElement("li");
    li.textContent = words(e);
    return li;
  }));
};
document.getElementById("leftdrop").addEventListener("click", () => q.refused().forEach((e) => q.drop(e.key)));

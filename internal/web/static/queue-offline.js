// Lets the weighing page be installed and opened without the laptop, where the
// browser allows it: on this machine, or over TLS with a certificate that the
// device trusts. Where it does not, the open page carries on all the same.
export async function offline() {
  if (!globalThis.isSecureContext || !navigator.serviceWorker) return false;
  try {
    await navigator.serviceWorker.register("/making/sw.js", { scope: "/making", updateViaCache: "none" });
    await navigator.serviceWorker.ready;
  } catch {
    return false; // a certificate that is not trusted, or a private window
  }
  navigator.serviceWorker.addEventListener("message", (e) => {
    if (e.data && e.data.kept) document.documentElement.dataset.kept = e.data.kept;
  });
  navigator.serviceWorker.addEventListener("controllerchange", tell);
  if (document.readyState === "complete") tell();
  else addEventListener("load", tell);
  return true;
}

// tell names everything that the page is made of, pictures that are not yet
// looked at among them.
function tell() {
  const worker = navigator.serviceWorker.controller;
  if (!worker) return;
  const keep = new Set([location.href]);
  for (const e of performance.getEntriesByType("resource")) keep.add(e.name);
  for (const el of document.querySelectorAll("link[rel=stylesheet],link[rel=icon]")) keep.add(el.href);
  for (const el of document.querySelectorAll("script[src],img[src]")) keep.add(el.src);
  worker.postMessage({ keep: [...keep] });
}

// The service worker of the weighing pages, served at /making/sw.js with the
// version of the program's own files. It lets a weighing page that was open
// once be opened again while the laptop cannot be reached.
//
// It keeps weighing pages, their styles, modules and pictures of seeds, and
// nothing else. The laptop is always asked first, so nothing that is kept is
// shown while there is something newer; what another version kept is thrown
// away. It never touches a form that is sent, the state, or any other page.
const version = "@version@";
const cacheName = "firlot-weighing-" + version;
const patience = 4000; // ms before what is kept is shown in place of an answer
const mostPages = 8;

const isPage = (url) => /^\/making\/[^/]+$/.test(url.pathname) && !/^\/making\/(new|sw\.js|app\.webmanifest)$/.test(url.pathname);
const isPart = (url) => /^\/static\/[a-z-]+\.(css|js|svg)$/.test(url.pathname) || url.pathname.startsWith("/portrait/") || url.pathname.startsWith("/life/");
const ours = (url) => url.origin === self.location.origin;
const pageKey = (url) => url.origin + url.pathname;

self.addEventListener("install", () => self.skipWaiting());

self.addEventListener("activate", (e) => e.waitUntil((async () => {
  for (const name of await caches.keys()) if (name.startsWith("firlot-") && name !== cacheName) await caches.delete(name);
  await self.clients.claim();
})()));

self.addEventListener("fetch", (e) => {
  const url = new URL(e.request.url);
  if (e.request.method !== "GET" || !ours(url)) return;
  if (e.request.mode === "navigate") {
    if (isPage(url)) e.respondWith(page(e.request, url));
    else if (url.pathname === "/making") e.respondWith(start(e.request));
  } else if (isPart(url)) e.respondWith(part(e.request));
});

// The page tells what it is made of, for it was there before this worker.
self.addEventListener("message", (e) => {
  const list = e.data && Array.isArray(e.data.keep) ? e.data.keep : [];
  e.waitUntil((async () => {
    const cache = await caches.open(cacheName);
    for (const href of list.slice(0, 300)) {
      try {
        const url = new URL(href, self.location.origin);
        if (!ours(url)) continue;
        if (isPage(url)) await take(cache, url, await fetch(url.pathname, { credentials: "same-origin", cache: "no-store" }));
        else if (isPart(url) && !(await cache.match(url.href))) {
          const answer = await fetch(url.href, { credentials: "same-origin" });
          if (answer.ok) await cache.put(url.href, answer);
        }
      } catch { /* the laptop is away: later */ }
    }
    if (e.source) e.source.postMessage({ kept: version });
  })());
});

// soon waits for the laptop, but not for ever.
function soon(request) {
  return new Promise((resolve, reject) => {
    const t = setTimeout(() => reject(new Error("no answer")), patience);
    fetch(request).then((r) => { clearTimeout(t); resolve(r); }, (err) => { clearTimeout(t); reject(err); });
  });
}

async function page(request, url) {
  const cache = await caches.open(cacheName);
  try {
    const answer = await soon(request);
    if (answer.ok && !answer.redirected) await take(cache, url, answer.clone());
    else if (answer.status < 500) await cache.delete(pageKey(url)); // finished, or this device is not let in
    return answer;
  } catch (err) {
    const kept = await cache.match(pageKey(url));
    if (kept) return kept;
    throw err;
  }
}

// take keeps a page if it is one at which something can be poured.
async function take(cache, url, answer) {
  if (!answer.ok || answer.redirected) return;
  const text = await answer.clone().text();
  await cache.delete(pageKey(url));
  if (!text.includes(' id="weigh"')) return;
  // A compressed answer has been unpacked: its old length is not the text's.
  await cache.put(pageKey(url), new Response(text, { headers: { "Content-Type": "text/html; charset=utf-8", "Content-Security-Policy": answer.headers.get("Content-Security-Policy") || "default-src 'none'" } }));
  const pages = (await cache.keys()).filter((r) => isPage(new URL(r.url)));
  for (const old of pages.slice(0, Math.max(0, pages.length - mostPages))) await cache.delete(old);
}

// start opens the page that was weighed at last, while the laptop is away.
async function start(request) {
  try {
    return await soon(request);
  } catch (err) {
    const cache = await caches.open(cacheName);
    const last = (await cache.keys()).filter((r) => isPage(new URL(r.url))).pop();
    if (last) return Response.redirect(last.url, 302);
    throw err;
  }
}

async function part(request) {
  const cache = await caches.open(cacheName);
  try {
    const answer = await soon(request);
    if (answer.ok && answer.type === "basic") await cache.put(request.url, answer.clone());
    else if (answer.status === 401) await caches.delete(cacheName); // this device is let in no more
    return answer;
  } catch (err) {
    const kept = await cache.match(request.url);
    if (kept) return kept;
    throw err;
  }
}

// The page of a card. It shows what the engine draws: the published mix stands
// in the page already, in each language; what the reader asks for is worked
// out by the engine in a worker and put in its place. What was asked is kept
// behind # in the address.
(() => {
  "use strict";
  const said = "@words";
  const workerText = "@worker";
  const root = document.documentElement;
  const mains = [...document.querySelectorAll("main")];
  const langs = mains.map((m) => m.id);
  const pristine = new Map(); // the published page, by language
  const status = document.getElementById("status");
  const spoken = document.getElementById("spoken");
  root.classList.add("js");
  for (const p of document.querySelectorAll("main > .nojs-only")) p.remove();

  const agreed = new Set(); // languages whose published page was held against the card
  const own = mains.find((m) => m.classList.contains("own")).id;
  let lang = own;
  let fragment = lang; // what is shown
  let proofs = null; // what checking the published mix came to, by language
  pristine.set(lang, document.getElementById(lang).innerHTML);
  let worker = null;
  let underway = null;
  let waiting = null; // what is asked next, once the worker is free
  const promises = new Map();
  let count = 0;
  let plains = 0;

  const word = (key) => said[lang][key];
  const main = () => document.getElementById(lang);

  // ours tells what was asked from a place on the page.
  function ours(hash) {
    const f = decode(hash.replace(/^#/, ""));
    return langs.includes(f) || /^\d+;/.test(f) ? f : "";
  }
  function decode(s) {
    try {
      return decodeURIComponent(s);
    } catch {
      return s;
    }
  }

  let turned = "";
  function show(l) {
    lang = l;
    if (l === turned) return; // else the whole page is styled anew
    turned = l;
    root.lang = l;
    for (const m of mains) m.hidden = m.id !== l;
    for (const a of document.querySelectorAll(".langs a")) {
      if (a.lang === l) a.setAttribute("aria-current", "true");
      else a.removeAttribute("aria-current");
    }
  }

  let fade;
  let differed = false; // the file's page and its card
  function say(text, stay) {
    clearTimeout(fade);
    if (!text && differed) [text, stay] = [word("page_differed"), true];
    status.textContent = text || "";
    status.hidden = !text;
    if (text && !stay) fade = setTimeout(() => (status.hidden = true), 8000);
  }

  // The engine.
  function start() {
    const packed = document.getElementById("engine");
    if (!packed || worker) return;
    try {
      const url = URL.createObjectURL(new Blob([firlotUnpack.toString(), "\n", workerText], { type: "text/javascript" }));
      worker = new Worker(url);
    } catch (err) {
      broken(err.message);
      return;
    }
    worker.onerror = (e) => broken(e.message || "worker");
    worker.onmessage = ({ data }) => heard(data);
    const texts = langs.map((l) => [l, document.getElementById("texts-" + l)]).filter(([, el]) => el).map(([l, el]) => [l, el.textContent]);
    worker.postMessage({ packed: packed.textContent, card: document.getElementById("card").textContent, texts });
    packed.textContent = "";
  }

  function broken(why) {
    root.dataset.engine = "broken";
    say(word("failed").replace("{{.Why}}", why), true);
  }

  function heard(data) {
    if (data.ready) {
      const opened = JSON.parse(data.opened);
      if (opened.refused) {
        broken(opened.refused);
        return;
      }
      root.dataset.engine = "ready";
      performance.mark("firlot-ready");
      const code = document.querySelector("main .qr svg"); // the engine cannot draw it
      if (code) ask(new URLSearchParams([["do", "code"], ["svg", code.outerHTML]]));
      if (ours(location.hash) && ours(location.hash) !== fragment) follow();
      check();
      return;
    }
    if (data.failed && data.id === undefined) {
      broken(data.failed);
      return;
    }
    const p = promises.get(data.id);
    promises.delete(data.id);
    if (!p) return;
    if (data.failed) p.reject(new Error(data.failed));
    else p.resolve(JSON.parse(data.answer));
  }

  function ask(request) {
    return new Promise((resolve, reject) => {
      const id = ++count;
      promises.set(id, { resolve, reject });
      worker.postMessage({ id, request: request.toString() });
    });
  }

  // check has the published proof checked, once for each of the card's mixes.
  async function check() {
    try {
      const a = await ask(new URLSearchParams([["do", "verify"], ["lang", lang], ["from", fragment]]));
      if (a.error) throw new Error(a.error);
      if (!proofs) {
        proofs = a;
        await agree(own);
        if (langs.includes(fragment)) await agree(fragment);
      }
      root.dataset.verdict = a.verdict;
      for (const l of langs) {
        if (proofs === a && pristine.has(l)) pristine.set(l, proved(l, pristine.get(l)));
        const here = langs.includes(fragment) && document.getElementById(l + "-proof");
        if (here) here.outerHTML = a["proof-" + l];
      }
      if (!langs.includes(fragment) && proofMissing()) want(pageFor(fragment), "follow"); // its answer's proof is said beside it
      if (a.verdict === "altered") spoken.textContent = a["proof-" + lang].replace(/<[^>]*>/g, "");
    } catch (err) {
      broken(err.message);
    }
  }

  // agree compares the published page in a language, as it stood in the file,
  // with the one that the card makes, since the proof speaks of the card. Where
  // they differ the card's is shown. One that is packed is compared once it is
  // shown.
  async function agree(l) {
    if (agreed.has(l)) return;
    agreed.add(l);
    const a = await asked(new URLSearchParams([["do", "page"], ["lang", l], ["from", l]]));
    const text = (html) => {
      const t = parsed(html);
      t.getElementById(l + "-proof")?.remove();
      return t.textContent.replace(/\s+/g, " ").trim();
    };
    if (text(published(l)) === text(a.html)) return;
    pristine.set(l, proved(l, a.html));
    if (fragment === l) put(parsed(pristine.get(l)));
    differed = true;
    say("");
    spoken.textContent = word("page_differed");
  }

  // published is the published page in a language. All but one come packed.
  function published(l) {
    if (!pristine.has(l)) {
      const packed = document.getElementById("main-" + l).textContent;
      pristine.set(l, proved(l, new TextDecoder().decode(firlotUnpack(packed))));
    }
    return pristine.get(l);
  }

  // proved puts what checking came to into a published page.
  function proved(l, html) {
    if (!proofs) return html;
    const t = document.createElement("template");
    t.innerHTML = html;
    const el = t.content.getElementById(l + "-proof");
    if (el) el.outerHTML = proofs["proof-" + l];
    return t.innerHTML;
  }

  // want asks for a page; only the newest wish is kept while one is worked out.
  function want(request, how) {
    waiting = { request, how };
    if (!underway) next();
  }

  async function next() {
    if (!waiting || root.dataset.engine !== "ready") return;
    const since = plains;
    const wanted = () => !waiting && since === plains;
    underway = waiting;
    waiting = null;
    root.dataset.rest = "asked";
    const slow = setTimeout(() => {
      main().setAttribute("aria-busy", "true");
      say(word("working"), true);
    }, 250);
    try {
      performance.mark("firlot-asked");
      const a = await asked(underway.request, "first");
      const parts = parsed(a.html);
      const early = wanted() && a.lang === lang && placed(parts);
      if (early) {
        clearTimeout(slow);
        arrived(a, parts, underway.how, true);
        root.dataset.rest = "coming"; // pictures, sources and the proof
        performance.measure("firlot-answer", "firlot-asked");
      }
      if (wanted()) {
        const whole = await asked(new URLSearchParams([["do", "rest"]]));
        if (wanted()) {
          if (early) put(parsed(whole.html));
          else arrived(a, parsed(whole.html), underway.how);
          if (proofMissing()) check();
        }
      }
      performance.measure("firlot-whole", "firlot-asked");
    } catch (err) {
      broken(err.message);
    }
    clearTimeout(slow);
    for (const m of mains) m.removeAttribute("aria-busy");
    underway = null;
    if (waiting && root.dataset.engine === "ready") {
      next();
      return;
    }
    delete root.dataset.rest;
    root.dataset.seen = String(++seen);
  }
  let seen = 0;

  async function asked(request, part) {
    if (part) request.set(part, "1");
    const a = await ask(request);
    if (a.error) throw new Error(a.error);
    return a;
  }

  function arrived(a, page, how, parts) {
    show(a.lang);
    put(page, parts);
    say(a.note);
    spoken.textContent = a.said;
    const changed = a.fragment !== fragment;
    fragment = a.fragment;
    if (how !== "follow" && changed) setTimeout(() => history.pushState(null, "", "#" + a.fragment), 0);
  }

  const proofMissing = () => {
    const p = document.getElementById(lang + "-proof");
    return p && !p.dataset.verdict;
  };

  const parsed = (html) => {
    const t = document.createElement("template");
    t.innerHTML = html;
    return t.content;
  };

  // placed reports whether the first parts of a page have a place in the page
  // that is shown.
  const placed = (parts) => [...parts.children].every((el) => main().contains(document.getElementById(el.id)));

  // put puts a page, or its first parts, in the place of what is shown. What
  // had the focus, was open or scrolled to stays so.
  function put(page, parts) {
    const here = document.activeElement;
    const id = here && here.id;
    const text = here && here.tagName === "INPUT" && here.type === "text" ? [here.selectionStart, here.selectionEnd] : null;
    const open = new Map([...main().querySelectorAll("details[id]")].map((d) => [d.id, d.open]));
    const { scrollX, scrollY } = window;
    const top = id && main().contains(here) ? here.getBoundingClientRect().top : null;
    replace(page, parts);
    for (const d of main().querySelectorAll("details[id]")) if (open.has(d.id)) d.open = open.get(d.id) || d.open;
    const same = id && document.getElementById(id);
    if (same && main().contains(same)) {
      same.focus({ preventScroll: true });
      if (text) same.setSelectionRange(...text);
      window.scrollTo(scrollX, scrollY + (top === null ? 0 : same.getBoundingClientRect().top - top));
    } else {
      if (top !== null) document.getElementById(lang + "-sentence")?.closest("section").scrollIntoView({ block: "nearest" });
      if (here && here !== document.body && !here.isConnected) main().focus({ preventScroll: true });
    }
  }

  // replace changes only what differs: an element of a page is laid out anew
  // when it is a new one. Of first parts each takes the place of its own.
  function replace(now, parts) {
    const fields = [...now.querySelectorAll("input, select")].map((n) => [n.id, n.type === "checkbox" ? n.checked : n.value]);
    if (parts) for (const el of [...now.children]) become(document.getElementById(el.id), el);
    else inside(main(), now);
    for (const [id, value] of fields) {
      const el = document.getElementById(id);
      if (el.type === "checkbox") el.checked = value;
      else if (el.value !== value) el.value = value;
    }
  }

  const keyOf = (n) => (n.nodeType === 1 && (n.id || n.dataset.ref)) || "";
  const alike = (o, n) => o.nodeName === n.nodeName && keyOf(o) === keyOf(n) && (o.nodeType !== 1 || o.localName !== "svg");

  // become makes one node the same as another.
  function become(old, now) {
    if (old.isEqualNode(now)) return;
    if (!alike(old, now)) {
      old.replaceWith(now);
      return;
    }
    if (old.nodeType !== 1) {
      old.nodeValue = now.nodeValue;
      return;
    }
    for (const a of [...old.attributes]) if (!now.hasAttribute(a.name)) old.removeAttribute(a.name);
    for (const a of now.attributes) if (old.getAttribute(a.name) !== a.value) old.setAttribute(a.name, a.value);
    inside(old, now);
  }

  // inside gives one node the children of another. Those with an identifier
  // are told by it, others by their order.
  function inside(old, now) {
    const wanted = [...now.childNodes], keys = new Set(wanted.map(keyOf));
    const known = new Map();
    for (const o of [...old.childNodes]) {
      const key = keyOf(o);
      if (!key) continue;
      if (keys.has(key)) known.set(key, o);
      else o.remove();
    }
    let at = old.firstChild;
    for (const n of wanted) {
      const key = keyOf(n);
      const o = key ? known.get(key) : at && !keyOf(at) ? at : null;
      if (!o) {
        old.insertBefore(n, at);
        continue;
      }
      if (o === at) at = at.nextSibling;
      else old.insertBefore(o, at);
      become(o, n);
    }
    while (at) {
      const next = at.nextSibling;
      at.remove();
      at = next;
    }
  }

  // plain shows a published page that needs no engine; what is under way is
  // no longer wanted then.
  function plain(l) {
    plains++;
    waiting = null;
    show(l);
    main().innerHTML = published(l);
    fragment = l;
    say("");
    if (proofs) agree(l).catch((err) => broken(err.message));
  }

  // follow shows what the address says.
  function follow() {
    const f = ours(location.hash);
    if (!f || f === fragment) return;
    if (langs.includes(f)) {
      waiting = null;
      plain(f);
      return;
    }
    const m = /;l=([a-z]+)/.exec(";" + f);
    if (m && langs.includes(m[1])) show(m[1]);
    want(pageFor(f), "follow");
  }

  function formOf() {
    const form = main().querySelector("form.asks");
    const data = new URLSearchParams([["do", "form"], ["lang", lang]]);
    for (const el of form.elements) {
      if (!el.name || (el.type === "checkbox" && !el.checked)) continue;
      data.append(el.name, el.value);
    }
    return data;
  }

  document.addEventListener("submit", (e) => {
    e.preventDefault();
    want(formOf(), "form");
  });
  document.addEventListener("change", (e) => {
    if (e.target.form && e.target.form.classList.contains("asks")) want(formOf(), "form");
  });
  document.addEventListener("click", (e) => {
    const b = e.target.closest("button, .langs a");
    if (!b) return;
    if (b.matches(".langs a")) {
      e.preventDefault();
      turn(b.lang);
    } else if (b.dataset.way) way(b.dataset.way);
    else if (b.dataset.mix) go(otherMix(b.dataset.mix));
    else if (b.dataset.do === "back") back();
    else if (b.dataset.do === "copy") copy(location.href.replace(/#.*/, "") + "#" + fragment, b);
    else if (b.dataset.do === "caption") copy(b.closest("details").querySelector("pre").textContent, b);
    else if (b.dataset.picture) picture(b.dataset.picture, b.dataset.as);
  });
  window.addEventListener("hashchange", follow);
  window.addEventListener("popstate", follow);

  const pageFor = (f) => new URLSearchParams([["do", "page"], ["lang", lang], ["from", f]]);
  function go(f) {
    want(pageFor(f), "go");
  }

  // turn changes the language.
  function turn(l) {
    if (l === lang) return;
    if (langs.includes(fragment)) {
      plain(l);
      history.pushState(null, "", "#" + l);
      main().focus({ preventScroll: true });
      return;
    }
    const parts = fragment.split(";").map((p) => (p.startsWith("l=") ? "l=" + l : p));
    go(parts.join(";"));
  }

  function back() {
    const m = /;(m=\d+)/.exec(fragment);
    if (m) return go("1;l=" + lang + ";" + m[1]);
    plain(lang);
    history.pushState(null, "", "#" + lang);
    main().focus({ preventScroll: true });
    spoken.textContent = document.getElementById(lang + "-sentence").textContent;
  }

  const otherMix = (i) => {
    const names = /;(n=[a-z]+)/.exec(fragment);
    return "1;l=" + lang + (names ? ";" + names[1] : "") + ";m=" + (Number(i) + 1);
  };

  // way takes a way out.
  function way(what) {
    const data = formOf();
    const [kind, arg] = [what.slice(0, what.indexOf(":")), what.slice(what.indexOf(":") + 1)];
    if (kind === "have") {
      const left = data.getAll("without").filter((x) => x !== arg);
      data.delete("without");
      for (const x of left) data.append("without", x);
    } else if (kind === "use") for (const x of arg.split(",")) data.append("use", x);
    else if (kind === "sure") data.set("sureness", arg);
    want(data, "form");
  }

  async function copy(text, by) {
    try {
      await navigator.clipboard.writeText(text);
      say(word("copied"));
      spoken.textContent = word("copied");
    } catch {
      let box = by.parentElement.querySelector("input.copy");
      if (!box) {
        box = document.createElement("input");
        box.className = "copy";
        box.readOnly = true;
        box.setAttribute("aria-label", word("copy_this"));
        by.after(box);
      }
      box.value = text;
      box.focus();
      box.select();
      say(word("copy_this"));
    }
  }

  // picture has a picture drawn and saves it.
  async function picture(shape, as) {
    if (root.dataset.engine !== "ready") return;
    try {
      const a = await ask(new URLSearchParams([["do", "picture"], ["shape", shape], ["lang", lang], ["from", fragment]]));
      if (a.error) throw new Error(a.error);
      const svg = new Blob([a.svg], { type: "image/svg+xml" });
      save(as === "svg" ? svg : await painted(a.svg), "firlot-" + shape + "." + as);
      say(word("picture_made"));
      spoken.textContent = word("picture_made");
    } catch (err) {
      broken(err.message);
    }
  }

  async function painted(svg) {
    const img = new Image();
    img.src = "data:image/svg+xml;charset=utf-8," + encodeURIComponent(svg);
    await img.decode();
    const c = document.createElement("canvas");
    c.width = img.naturalWidth;
    c.height = img.naturalHeight;
    c.getContext("2d").drawImage(img, 0, 0);
    return new Promise((resolve, reject) => c.toBlob((b) => (b ? resolve(b) : reject(new Error("png"))), "image/png"));
  }

  function save(blob, name) {
    const a = document.createElement("a");
    a.href = URL.createObjectURL(blob);
    a.download = name;
    a.click();
    setTimeout(() => URL.revokeObjectURL(a.href), 60000);
  }

  // The address may ask for something already; the engine comes once the page
  // is painted.
  const first = ours(location.hash);
  const wanted = langs.includes(first) ? first : (/;l=([a-z]+)/.exec(";" + first) || [])[1];
  if (langs.includes(wanted) && wanted !== lang) plain(wanted);
  else show(lang);
  requestAnimationFrame(() => setTimeout(start, 0));
})();

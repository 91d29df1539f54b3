// The laptop's page of other devices looks now and then whether a device has
// come in or a code has ended, and shows it. A field that is being typed in is
// left alone.
const between = 2000; // ms

async function look() {
  const here = document.getElementById("devices");
  if (!document.hidden && !(document.activeElement && document.activeElement.tagName === "INPUT")) {
    try {
      const text = await (await fetch(location.pathname, { cache: "no-store" })).text();
      const fresh = new DOMParser().parseFromString(text, "text/html").getElementById("devices");
      if (fresh && fresh.dataset.stamp !== here.dataset.stamp) here.replaceWith(document.adoptNode(fresh));
    } catch { /* Firlot has stopped; the page stays as it is */ }
  }
  setTimeout(look, between);
}
setTimeout(look, between);

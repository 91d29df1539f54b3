// Marks that scripts run, and loads what a page needs. Every page works
// without this file.
document.documentElement.classList.add("js");
const form = document.querySelector("form[data-live]");
if (form) import("/static/live.js").then((m) => m.start());

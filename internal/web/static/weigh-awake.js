// Keeps the screen on while the weighing page is looked at. Browsers allow it
// on this machine and over TLS only.
export async function keepAwake() {
  if (!navigator.wakeLock) return false;
  const ask = async () => {
    if (document.visibilityState !== "visible") return;
    try {
      await navigator.wakeLock.request("screen");
    } catch { /* the battery is low, or the browser will not */ }
  };
  document.addEventListener("visibilitychange", ask);
  await ask();
  return true;
}

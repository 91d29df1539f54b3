// Runs the engine beside the page: takes its packed bytes and the card, then
// answers requests in turn.
let engine;
onmessage = async ({ data }) => {
  try {
    if (data.packed) {
      const opened = await start(data);
      postMessage({ ready: true, opened });
      return;
    }
    postMessage({ id: data.id, answer: engine.answer(data.request) });
  } catch (err) {
    postMessage({ id: data.id, failed: String((err && err.message) || err) });
  }
};

// start starts the engine, opens the card and hands over what the tables say in
// other languages; all of them come packed.
async function start({ packed, card, texts }) {
  const text = (packed) => new TextDecoder().decode(firlotUnpack(packed));
  engine = await firlotEngine(firlotUnpack(packed));
  const opened = engine.open(text(card));
  for (const [lang, said] of texts) {
    try {
      engine.answer(new URLSearchParams([["do", "texts"], ["lang", lang], ["text", text(said)]]).toString());
    } catch { /* what cannot be unpacked is said in English */ }
  }
  return opened;
}

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

// start starts the engine and opens the card; both come packed.
async function start({ packed, card }) {
  engine = await firlotEngine(firlotUnpack(packed));
  return engine.open(new TextDecoder().decode(firlotUnpack(card)));
}

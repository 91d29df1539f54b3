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

async function start({ packed, card }) {
  engine = await firlotEngine(await unpack(packed));
  return engine.open(card);
}

// unpack turns base64 of a deflated program into its bytes.
async function unpack(text) {
  const binary = atob(text);
  const bytes = new Uint8Array(binary.length);
  for (let i = 0; i < binary.length; i++) bytes[i] = binary.charCodeAt(i);
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate-raw"));
  return new Response(stream).arrayBuffer();
}

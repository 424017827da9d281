// Judges on the tablet, beside the page: the engine's own source in Python for the browser. Both come from the store
// that keep.js filled. `prepare` keeps besides how Python stands once the engine is loaded, which makes the next start
// several times quicker; a start without it is slower and gives the same.
const STANDING = "/verdicts/standing";
const DOOR = `
import sys
sys.path.insert(0, "/engine.zip")
from inspections.survey.tablet import get_ready, show
get_ready()
`;
let python;

self.addEventListener("message", async ({ data: { number, kind, judging, text } }) => {
  try {
    if (kind === "prepare") return self.postMessage({ number, answer: await prepare(judging) });
    python ??= start(judging);
    const show = (await python).globals.get("show");
    self.postMessage({ number, answer: show(text) });
  } catch (problem) {
    self.postMessage({ number, problem: String(problem?.message ?? problem) });
  }
});

async function start(judging) {
  const store = await caches.open(judging.store);
  const standing = await store.match(STANDING);
  if (standing) {
    try {
      return await load(judging, { _loadSnapshot: await standing.arrayBuffer() });
    } catch {
      await store.delete(STANDING);
    }
  }
  const loaded = await load(judging);
  loaded.runPython(DOOR);
  return loaded;
}

async function load({ runtime, engine }, more = {}) {
  const { loadPyodide } = await import(`${runtime}pyodide.mjs`);
  const loaded = await loadPyodide({ indexURL: runtime, packageBaseUrl: runtime, ...more });
  // Python reads the archive as it stands, also later for what it imports late.
  loaded.FS.writeFile("/engine.zip", new Uint8Array(await (await fetch(engine)).arrayBuffer()));
  return loaded;
}

async function prepare(judging) {
  const store = await caches.open(judging.store);
  if (await store.match(STANDING)) return "there";
  const loaded = await load(judging, { _makeSnapshot: true });
  loaded.runPython(DOOR);
  await store.put(STANDING, new Response(loaded.makeMemorySnapshot())).catch(() => null); // no room: it starts slower
  return "made";
}

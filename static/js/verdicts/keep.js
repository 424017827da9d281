// Keeps on the tablet what judges without signal: Python for the browser and the engine's source, once for each version.
import { ask, stop } from "./ask.js";

const PREFIX = "verdicts-";
const ROOM_BYTES = 60e6; // the files unpacked, and Python as it stands once the engine is loaded
const QUIET_MS = 1500;
const TYPES = { mjs: "text/javascript", wasm: "application/wasm", json: "application/json" };
const nameOf = (address) => address.replace(/\.gz$/, "");
const mb = (bytes) => Math.max(1, Math.round(bytes / 1e6));

export async function isKept({ store, files }) {
  if (!(await caches.has(store))) return false;
  const cache = await caches.open(store);
  const found = await Promise.all(Object.keys(files).map((address) => cache.match(nameOf(address), { ignoreVary: true })));
  return found.every(Boolean);
}

// Takes it along once the visits are: they are worth more. Asked for again meanwhile, it waits again.
let soon;
export function takeVerdicts(judging) {
  clearTimeout(soon);
  if (judging) soon = setTimeout(() => navigator.locks.request("verdicts", { ifAvailable: true }, (lock) => lock && take(judging)), QUIET_MS);
}

async function take(judging) {
  try {
    await fetchAll(judging);
    say("Getting the verdicts ready to be worked out on this tablet.");
    await ask("prepare", judging);
    say("Verdicts are worked out on this tablet, too.");
    for (const name of await caches.keys()) if (name.startsWith(PREFIX) && name !== judging.store) await caches.delete(name);
  } catch (problem) {
    if (/quota|no room/i.test(`${problem?.name} ${problem?.message}`)) say("The tablet's storage is full: everything can be recorded without signal, but verdicts come only with it.");
    else say("The verdicts could not be taken along; they come with the signal. It is tried again.");
  }
  stop();
}

async function fetchAll({ store, files }) {
  const cache = await caches.open(store);
  const missing = [];
  for (const address of Object.keys(files)) {
    const name = nameOf(address);
    if (await cache.match(name, { ignoreVary: true })) continue;
    const there = await caches.match(name, { ignoreVary: true }); // Python stays when only the engine is another
    if (there) await cache.put(name, there);
    else missing.push(address);
  }
  if (!missing.length) return;
  const { usage = 0, quota = Infinity } = (await navigator.storage?.estimate?.()) ?? {};
  if (quota - usage < ROOM_BYTES) throw new Error("no room");
  const whole = missing.reduce((sum, address) => sum + files[address], 0);
  let came = 0;
  for (const address of missing) {
    const before = came;
    const blob = await fetched(address, (bytes) => { came += bytes; say(`Taking along what works out the verdicts: ${mb(Math.min(came, whole))} of ${mb(whole)} MB.`); });
    came = before + files[address];
    const type = TYPES[nameOf(address).split(".").at(-1)] ?? "application/octet-stream";
    await cache.put(nameOf(address), new Response(await unpacked(blob), { headers: { "Content-Type": type } }));
  }
}

async function fetched(address, said) {
  const answer = await fetch(address);
  if (!answer.ok) throw new Error(`${address}: ${answer.status}`);
  const pieces = [];
  for (const reader = answer.body.getReader(); ;) {
    const { done, value } = await reader.read();
    if (done) return new Blob(pieces);
    pieces.push(value);
    said(value.length);
  }
}

// Some servers call a packed file an encoding, and the browser has then unpacked it already: look at it.
async function unpacked(blob) {
  const [first, second] = new Uint8Array(await blob.slice(0, 2).arrayBuffer());
  return first === 0x1f && second === 0x8b ? new Response(blob.stream().pipeThrough(new DecompressionStream("gzip"))).blob() : blob;
}

function say(words) {
  const status = document.querySelector("[data-take-verdicts]");
  if (status) status.textContent = words;
}

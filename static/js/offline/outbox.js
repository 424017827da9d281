// The outbox: everything that was entered without signal, under ids made here, in the order in which it was entered.
// An entry leaves it only when the server has said what became of it.
import { all, asked, drop, get, put, within } from "./store.js";
import { redo } from "./record.js";

const BATCH = 100, PHOTOS_AT_ONCE = 2;
const LEAST_PIECE_BYTES = 32 * 1024, MOST_PIECE_BYTES = 1024 * 1024;
let pieceBytes = 256 * 1024; // follows the signal: a weak one must get a piece through before its time is over

export const person = Number(document.querySelector('meta[name="person"]')?.content || 0);
// `trouble`: "", "signal", "signed out", "storage"; `pieces` of photos that the server took.
export const standing = { trouble: "", toSettle: 0, sending: false, pieces: 0 };

// How many entries wait for their inspector's choice is told with each answer, and kept for the pages that come after.
const SETTLE_KEY = `to settle of ${person}`;
try { standing.toSettle = Number(localStorage.getItem(SETTLE_KEY) ?? 0); } catch { /* no storage: told with the next answer */ }
export function noteToSettle(number) {
  standing.toSettle = number;
  try { localStorage.setItem(SETTLE_KEY, number); } catch { /* as above */ }
}

const changed = () => document.dispatchEvent(new CustomEvent("outbox:changed"));

// An entry whose request is under way from a living page (see way.js) waits for nothing yet. The page holds a lock of its
// name as long as it lives, however it ends.
export const onItsWay = `page ${crypto.randomUUID?.() ?? ""}`;
navigator.locks?.request(onItsWay, () => new Promise(() => {}));
async function withoutLiving(entries) {
  if (!entries.some((one) => one.way)) return entries;
  const { held } = await navigator.locks.query();
  const living = new Set(held.map((one) => one.name));
  return entries.filter((one) => !living.has(one.way));
}

export const mine = async () => withoutLiving((await all("outbox")).filter((one) => one.person === person));
export const waiting = async (visit) => (await mine()).filter((one) => !one.refused && (!visit || one.visit === visit));
// Entries change what the pages show and what is judged; photos, and what is said of them, change neither.
const OF_PHOTOS = ["add_photo", "describe_photo", "mark_photo"];
export const isEntry = (one) => !OF_PHOTOS.includes(one.kind);
export const waitingEntries = async (visit) => (await waiting(visit)).filter(isEntry);

// What one operation is about: entries about the same thing follow one another.
function subject({ kind, payload }) {
  if (kind === "record_reading" || kind === "clear_reading") return `${payload.part} ${payload.fact}`;
  if (kind === "describe_photo") return `words of ${payload.photo}`;
  if (kind === "mark_photo") return `marks of ${payload.photo}`;
  return kind === "record_finding" ? payload.finding : "";
}

// Whether this one puts the part into the record, and with it what is told of it first.
const adds = ({ kind, payload }, part) => (kind === "add_part" ? payload.part === part : kind === "add_fasteners" && payload.parts.some((one) => one.id === part));

// Keeps operations; all of them or, where the storage is full, none. Gives them back with their ids.
// Throws what IndexedDB throws; then `standing.trouble` is "storage" and the page says so.
// `way` names the page that is about to send them itself.
export async function keep(visit, operations, files = [], way = "") {
  const made = operations.map(([kind, payload]) => ({ id: crypto.randomUUID(), person, visit, kind, payload, made_at: new Date().toISOString(), follows: null, way }));
  try {
    await within(["outbox", "files"], async (store) => {
      const before = (await asked(store("outbox").getAll())).filter((one) => one.person === person && !one.refused);
      const adding = [];
      for (const file of files) store("files").put(file);
      for (const one of made) {
        const about = subject(one);
        const earlier = before.findLast((other) => subject(other) === about) ?? (one.payload.fact && before.findLast((other) => adds(other, one.payload.part)));
        one.follows = (about && earlier?.id) || null;
        before.push(one);
        adding.push(asked(store("outbox").add(one)));
      }
      (await Promise.all(adding)).forEach((number, place) => { made[place].number = number; });
    });
    if (standing.trouble === "storage") standing.trouble = "";
  } catch (error) {
    if (!way) standing.trouble = "storage";
    changed();
    throw error;
  }
  made.filter((one) => one.kind === "add_photo").forEach((one) => untried.add(one.id));
  if (!way) changed();
  return made;
}
const untried = new Set(); // photos of which no byte can have been sent

// The server's answer to entries that a page sent itself; or none came, and they wait like all others. What it took
// (`said` is what it made of them; null: it refused them) is in the tablet's record at once: the signal may go before it is asked for anew.
export const answered = (entries, said) => within(["outbox", "visits"], async (store) => {
  entries.forEach((one) => store("outbox").delete(one.number));
  const base = said && entries.length && (await asked(store("visits").get(entries[0].visit)));
  if (!base) return;
  entries.forEach((one) => redo(base, one, said));
  store("visits").put(base);
});
export async function release(entries) {
  await within(["outbox"], (store) => { entries.forEach((one) => store("outbox").put({ ...one, way: "" })); });
  changed();
  send();
}

export const token = () => /(?:^|;\s*)csrftoken=([^;]+)/.exec(document.cookie)?.[1] ?? "";

async function speak(address, options = {}) {
  let answer;
  try {
    answer = await fetch(address, { ...options, headers: { "X-CSRFToken": token(), ...options.headers }, redirect: "error", signal: AbortSignal.timeout(60000) });
  } catch {
    standing.trouble = "signal";
    throw new Error("signal");
  }
  if (answer.status === 401 || answer.status === 403) standing.trouble = "signed out";
  else if (answer.status === 409 && address === "/sync/") standing.trouble = "other person";
  else if (answer.status >= 500) standing.trouble = "signal";
  else {
    standing.trouble = "";
    return answer;
  }
  throw new Error(standing.trouble);
}

// Sends what waits: first the entries, then the photos. One page at a time does it. True when nothing waits any more.
export async function send() {
  if (!person) return false;
  sendings += 1;
  standing.sending = true;
  changed();
  try {
    await alone(sendEntries);
    await alonePhotos(sendPhotos);
  } catch { /* `standing` says why; it is tried again */ }
  sendings -= 1;
  standing.sending = sendings > 0;
  changed();
  return (await waiting()).length === 0;
}
let sendings = 0;

// Never two pages at once, and never a look at the server's record in the middle of it.
export const alone = (work) => (navigator.locks ? navigator.locks.request("outbox", work) : work());
// A photo takes long; entries must not wait behind it. Where another page sends photos, it sends ours, too.
const alonePhotos = (work) => (navigator.locks ? navigator.locks.request("photos", { ifAvailable: true }, (lock) => lock && work()) : work());

async function sendEntries() {
  for (let at = 0; ;) {
    const entries = (await waiting()).filter((one) => one.kind !== "add_photo");
    const batch = entries.filter((one) => one.number > at).slice(0, BATCH);
    if (!batch.length) return;
    const { outcomes } = await post(batch);
    await settle(batch, outcomes);
    at = batch.at(-1).number; // what is to come later is asked again the next time
  }
}

async function post(operations) {
  const sent = operations.map(({ id, visit, kind, payload, follows, made_at }) => ({ id, visit, kind, payload, follows, made_at }));
  const answer = await speak("/sync/", { method: "POST", body: JSON.stringify({ person, sent_at: new Date().toISOString(), operations: sent }), headers: { "Content-Type": "application/json" } });
  if (!answer.ok) throw new Error(`refused ${answer.status}`);
  const said = await answer.json();
  noteToSettle(said.to_settle);
  return said;
}

// An entry leaves the outbox in the same moment in which what became of it is kept.
async function settle(batch, outcomes) {
  await within(["outbox", "visits", "files"], async (store) => {
    for (const one of batch) {
      const said = outcomes.find((other) => other.id === one.id);
      if (!said || said.outcome === "later") {
        if (said) store("outbox").put({ ...one, words: said.words });
        continue;
      }
      if (said.outcome === "refused" && one.kind === "add_photo") {
        store("outbox").put({ ...one, refused: true, words: said.words }); // the picture itself is only here
        continue;
      }
      store("outbox").delete(one.number);
      if (one.kind === "add_photo") store("files").delete(one.payload.photo);
      if (said.outcome === "applied") {
        const base = await asked(store("visits").get(one.visit));
        if (base) {
          redo(base, one, said);
          store("visits").put(base);
        }
      }
    }
  });
  document.dispatchEvent(new CustomEvent("outbox:answers", { detail: outcomes }));
  for (const one of batch.filter((each) => each.kind === "add_photo")) {
    const said = outcomes.find((other) => other.id === one.id);
    if (said?.outcome === "applied") tell(one, "kept", { kept: said.photo });
    else if (said?.outcome === "refused") tell(one, "refused", { words: said.words });
  }
}

// Two at once: one is sent while the server takes in the other. Those that are taken meanwhile are sent, too.
async function sendPhotos() {
  const tried = new Set();
  const next = async () => {
    const one = (await waiting()).find((each) => each.kind === "add_photo" && !tried.has(each.id));
    if (one) tried.add(one.id);
    return one;
  };
  const oneAfterAnother = async () => { for (let one; (one = await next()); ) await sendPhoto(one); };
  const ended = await Promise.allSettled(Array.from({ length: PHOTOS_AT_ONCE }, oneAfterAnother));
  const broken = ended.find((one) => one.status === "rejected");
  if (broken) throw broken.reason;
  if (tried.size && (await waiting()).some((one) => !isEntry(one) && one.kind !== "add_photo")) await alone(sendEntries);
}

async function sendPhoto(one) {
  const file = await get("files", one.payload.photo);
  if (!file) return refuse(one, "The tablet lost this picture.");
  try {
    if (!(await sendPieces(one, file))) return;
  } catch (error) {
    tell(one, "waits"); // the line broke: nothing is being sent any more
    throw error;
  }
  await alone(async () => settle([one], (await post([one])).outcomes));
  changed();
}

async function sendPieces(one, { blob, sha256 }) {
  const address = `/sync/photos/${one.payload.photo}/`;
  let received = 0; // none of a photo that was taken on this very page; of any other the server says how much it has
  if (!untried.delete(one.id)) ({ received } = await (await speak(address)).json());
  while (received < blob.size) {
    tell(one, "sending", { share: received / blob.size });
    const piece = blob.slice(received, received + pieceBytes);
    const answer = await measured(() => speak(`${address}?sha256=${sha256}&bytes=${blob.size}&from=${received}`, { method: "POST", body: piece, headers: { "Content-Type": "application/octet-stream" } }));
    const said = await answer.json();
    if (answer.status === 422) {
      await refuse(one, said.problem);
      return false;
    }
    if (!answer.ok || said.received <= received) return false;
    received = said.received;
    standing.pieces += 1;
  }
  tell(one, "sending", { share: 1 });
  return true;
}

// Smaller pieces after one that was slow or lost, larger ones after one that was quick.
async function measured(speaking) {
  const began = performance.now();
  let ms = Infinity;
  try {
    const answer = await speaking();
    ms = performance.now() - began;
    return answer;
  } finally {
    if (ms < 4000) pieceBytes = Math.min(MOST_PIECE_BYTES, pieceBytes * 2);
    else if (ms > 20000) pieceBytes = Math.max(LEAST_PIECE_BYTES, pieceBytes / 2);
  }
}

async function refuse(one, words) {
  await put("outbox", { ...one, refused: true, words });
  tell(one, "refused", { words });
}

// Says on every open page how far a photo is: "sending" with its share, "kept" with the server's id, or "refused".
const pages = window.BroadcastChannel ? new BroadcastChannel("photos of the outbox") : null;
const sayHere = (detail) => document.dispatchEvent(new CustomEvent("outbox:photo", { detail }));
pages?.addEventListener("message", (event) => sayHere(event.data));
function tell(one, state, more = {}) {
  const detail = { photo: one.payload.photo, number: one.number, state, ...more };
  sayHere(detail);
  pages?.postMessage(detail);
}

// A photo that was refused, once more: say, when the firm takes larger ones now. A new id: the old one has its answer.
export async function sendAgain(number) {
  const one = await get("outbox", number);
  if (one) await put("outbox", { ...one, id: crypto.randomUUID(), refused: false, words: "" });
  changed();
  return send();
}

export async function throwAway(number) {
  const one = await get("outbox", number);
  await drop("outbox", number);
  if (one?.payload.photo) await drop("files", one.payload.photo);
  changed();
}

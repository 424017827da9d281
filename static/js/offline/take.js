// Taking visits along: the record, the blank forms and the pages of a visit, so that all of it opens without signal.
import { alone, person, standing } from "./outbox.js";
import { all, get, put, within } from "./store.js";
import { takeVerdicts } from "../verdicts/keep.js";

const PAGES = "pages";
const FRESH_MS = 10 * 60 * 1000;

// Asks for the record of a visit. Gives "there", "closed" (not one's own, or handed in), "signed out", or "signal".
export function lookAgain(visit, { withKit = false } = {}) {
  return alone(async () => {
    let answer;
    try {
      answer = await fetch(`/sync/visits/${visit}/${withKit ? "?kit=yes" : ""}`, { cache: "no-store", redirect: "error", signal: AbortSignal.timeout(withKit ? 30000 : 5000) });
    } catch {
      return (standing.trouble = "signal");
    }
    if (answer.status === 401 || answer.status === 403) return (standing.trouble = "signed out");
    if (answer.status >= 500) return (standing.trouble = "signal");
    if (standing.trouble === "signal" || standing.trouble === "signed out") standing.trouble = "";
    if (!answer.ok) return "closed";
    const found = await answer.json();
    const before = await get("visits", visit);
    const kit = found.kit ?? before?.kit;
    await put("visits", { ...found, kit, person, taken_at: withKit ? Date.now() : before?.taken_at ?? 0 });
    return "there";
  });
}

// The record with its kit and its pages, and in the background what judges it. Throws where the storage is full.
export async function takeVisit(visit, options) {
  const became = await takeRecord(visit, options);
  if (became === "there") takeVerdicts((await get("visits", visit)).judging);
  return became;
}

// Fresh ones are left as they are.
async function takeRecord(visit, { anew = false } = {}) {
  const before = await get("visits", visit);
  if (!anew && before?.person === person && before.kit && Date.now() - before.taken_at < FRESH_MS) return lookAgain(visit);
  const became = await lookAgain(visit, { withKit: true });
  if (became !== "there") return became;
  const { kit } = await get("visits", visit);
  for (const address of kit.pages) if (!(await takePage(address))) return "signal";
  return "there";
}

export async function takePage(address) {
  let answer;
  try {
    answer = await fetch(address, { cache: "no-store", headers: { Accept: "text/html" } });
  } catch {
    return false;
  }
  if (!answer.ok || answer.redirected) return answer.status < 500;
  const cache = await caches.open(PAGES);
  const text = await answer.clone().text();
  await cache.put(address, answer);
  for (const [thumb] of text.matchAll(/\/photos\/[0-9a-f-]{36}\/thumb\//g)) {
    if (!(await cache.match(thumb))) await cache.add(thumb).catch(() => null); // a picture more or less stops nobody
  }
  return true;
}

export const taken = async () => (await all("visits")).filter((one) => one.person === person);

// Nobody finds on the tablet what another person took along. The outbox stays: it is sent when its owner signs in.
export async function forgetOthers() {
  const others = (await all("visits")).filter((one) => one.person !== person);
  if (!others.length) return;
  await caches.delete(PAGES);
  await within(["visits"], (store) => { others.forEach((one) => store("visits").delete(one.visit)); });
}

export async function forgetAll() {
  await caches.delete(PAGES);
  await within(["visits"], (store) => { store("visits").clear(); });
}

// Taking visits along: the record, the blank forms and the pages of a visit, so that all of it opens without signal.
import { alone, person, standing } from "./outbox.js";
import { all, asked, get, put, within } from "./store.js";
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
    await put("visits", { ...found, kit, person, taken_at: withKit ? Date.now() : before?.taken_at ?? 0, photo_pages: before?.photo_pages ?? {} });
    return "there";
  });
}

// The record with its kit and its pages, and in the background what judges it. Throws where the storage is full.
export async function takeVisit(visit, options) {
  const became = await takeRecord(visit, options);
  if (became !== "there") return became;
  const { judging, kit } = await get("visits", visit);
  takeVerdicts(judging);
  takePhotoPages(visit, kit?.photos ?? []).catch(() => null); // what is missing of them is taken the next time
  return became;
}

// The pages of the photos, to describe them and draw on them: the latest first, what has changed since, in the background,
// and only as far as there is room to spare. One page of the browser at a time does it.
const takePhotoPages = (visit, photos) => navigator.locks?.request("photo pages", { ifAvailable: true }, async (lock) => {
  if (!lock) return;
  for (const one of photos) {
    const { photo_pages: there } = await get("visits", visit);
    if (there?.[one.id] === one.version) continue;
    const { usage = 0, quota = Infinity } = (await navigator.storage?.estimate?.()) ?? {};
    if (usage > quota / 2) return;
    for (const address of one.pages) if (!(await takePage(address))) return;
    await within(["visits"], async (store) => {
      const now = await asked(store("visits").get(visit));
      if (now) store("visits").put({ ...now, photo_pages: { ...now.photo_pages, [one.id]: one.version } });
    });
  }
});

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
  for (const [, picture] of text.matchAll(/src="(\/photos\/[0-9a-f-]{36}\/(?:thumb|screen)\/)"/g)) {
    if (!(await cache.match(picture))) await cache.add(picture).catch(() => null); // a picture more or less stops nobody
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

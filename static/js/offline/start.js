// On every page of a person who records: keeps the application on the tablet, says what waits, sends it.
import { prepareVisit, visit } from "./catch.js";
import { isEntry, mine, noteToSettle, person, send, standing, waiting, waitingEntries } from "./outbox.js";
import { isShown, photoChoices } from "./pictures.js";
import { element } from "./draw.js";
import { forgetAll, forgetOthers, lookAgain, takePage, takeVisit, taken } from "./take.js";

const AGAIN_MS = 20000;
const isKept = document.documentElement.hasAttribute("data-kept");
const isWalk = /^\/visits\/\d+\/walk\//.test(location.pathname);
let didEnter = false;

const count = (number, one, many) => (number ? `${number} ${number === 1 ? one : many}` : "");

async function sayWhatWaits() {
  const all = await mine();
  const waits = all.filter((one) => !one.refused);
  const entries = waits.filter(isEntry).length;
  // A photo that is on its way, and whose tile says so, needs no second word.
  const photos = waits.filter((one) => one.kind === "add_photo" && (standing.trouble || !standing.sending || !isShown(one))).length;
  const refused = all.length - waits.length;
  const what = [count(entries, "entry", "entries"), count(photos, "photo", "photos")].filter(Boolean).join(" and ");
  didEnter ||= waits.length > 0;
  const lines = [];
  if (standing.trouble === "storage") lines.push([element("strong", "The tablet's storage is full: the last entry was not kept. Make room, then enter it again.")]);
  if (what) lines.push([`${what} ${entries + photos === 1 ? "waits" : "wait"} on this tablet${standing.sending && !standing.trouble ? ", being sent" : ""}. `, whyNot()]);
  else if (isKept || standing.trouble === "signal") lines.push(["No signal. What you enter is kept on this tablet."]);
  else if (standing.trouble === "signed out" && didEnter) lines.push([whyNot()]);
  if (refused) lines.push([`${count(refused, "photo was", "photos were")} refused and is still on this tablet. `, link("See why", "/sync/problems/")]);
  lines.push(...toSettle());
  const room = await roomLeft();
  if (room !== null) lines.push([element("strong", `The tablet's storage is nearly full: room for about ${count(room, "more photo", "more photos") || "no more photos"}. Send what waits, or make room.`)]);
  show(lines);
  listOutbox(all);
}

const toSettle = () => (standing.toSettle ? [[`${count(standing.toSettle, "entry is", "entries are")} to be settled. `, link("See them", "/sync/problems/")]] : []);

function whyNot() {
  if (standing.trouble === "signed out") {
    const line = element("span", "You are signed out; everything is kept. ");
    line.append(link("Sign in", `/sign-in/?next=${encodeURIComponent(location.pathname + location.search)}`));
    return line;
  }
  if (standing.trouble === "other person") return "Another person is signed in; they are sent when their owner signs in.";
  if (standing.trouble === "signal" || !navigator.onLine) return "They are sent when there is signal.";
  return "";
}

const link = (words, href) => element("a", words, { href });

let shown = "";
function show(lines) {
  let bar = document.getElementById("tablet-bar");
  if (!bar) {
    bar = element("div", "", { id: "tablet-bar", className: "notice tablet-bar" });
    bar.setAttribute("role", "status");
    document.getElementById("content").prepend(bar);
  }
  bar.hidden = !lines.length;
  const drawn = lines.map((parts) => { const line = element("p"); line.append(...parts); return line; });
  const says = drawn.map((line) => line.outerHTML).join("");
  if (says !== shown) bar.replaceChildren(...drawn); // a link that is drawn anew under the finger cannot be tapped
  shown = says;
}

const PHOTO_BYTES = 5 * 1024 * 1024; // of a 12-megapixel camera; common practice, no published source
const FEW_PHOTOS = 40;

// For how many photos there is room; null where there is plenty, or the browser does not say.
async function roomLeft() {
  const { usage = 0, quota = 0 } = (await navigator.storage?.estimate?.()) ?? {};
  const photos = Math.max(0, Math.floor((quota - usage) / PHOTO_BYTES));
  return quota > 0 && (photos < FEW_PHOTOS || usage / quota > 0.9) ? photos : null;
}

function listOutbox(all) {
  const list = document.querySelector("[data-outbox-list]");
  if (!list) return;
  if (!all.length) return list.replaceChildren(element("p", "Nothing waits here.", { className: "empty" }));
  const rows = element("ul", "", { className: "rows" });
  for (const one of all) {
    const row = element("li", `${one.payload.label ?? "An entry"}${one.payload.typed ? `: ${one.payload.typed}` : ""}${one.words ? ` — ${one.words}` : ""} `);
    if (one.refused) row.append(...photoChoices(one).flatMap((button) => [button, " "]));
    rows.append(row);
  }
  list.replaceChildren(rows);
}

async function listTaken() {
  const list = document.querySelector("[data-taken-list]");
  if (!list) return;
  const visits = await taken();
  if (!visits.length) return;
  const rows = element("ul", "", { className: "rows" });
  for (const one of visits) {
    const row = element("li");
    row.append(link(one.words, `/visits/${one.visit}/walk/`));
    rows.append(row);
  }
  list.replaceChildren(rows);
}

async function sendAndGoOn() {
  const had = (await waitingEntries()).length > 0;
  if ((await waiting()).length) await send();
  if ((await waitingEntries()).length || !isWalk || !(had || isKept)) return;
  if ((await lookAgain(visit)) === "there") offerFreshPage();
  else await sayWhatWaits();
}

// After a break it is tried again soon, then at longer and longer intervals; every entry that got through begins anew, and
// every piece of a photo.
const SOON_MS = 2000;
let pause = SOON_MS, isPlanned = false;
function tryAgainSoon() {
  if (isPlanned || standing.sending || !standing.trouble) return;
  isPlanned = true;
  setTimeout(async () => {
    const before = (await waiting()).length, { pieces } = standing;
    if (before) await sendAndGoOn();
    const left = (await waiting()).length;
    pause = left && left >= before && standing.pieces === pieces ? Math.min(AGAIN_MS, 2 * pause) : SOON_MS;
    isPlanned = false;
    if (left) tryAgainSoon();
  }, pause);
}

// The page is drawn anew by the server, with its verdicts; but never under the hands of who is writing on it.
function offerFreshPage() {
  const focused = document.activeElement;
  const isWriting = focused && focused !== document.body && focused.closest("main") && /^(INPUT|SELECT|TEXTAREA)$/.test(focused.tagName);
  if (!isWriting && !document.body.classList.contains("has-keypad")) return location.reload();
  const again = element("button", "Show the verdicts", { type: "button", className: "button small" });
  again.addEventListener("click", () => location.reload());
  show([["All is sent. ", again], ...toSettle()]);
}

async function takeAlong(anew) {
  const box = document.querySelector("[data-take-along]");
  if (!box) return;
  box.hidden = false;
  const status = box.querySelector("[data-take-status]");
  const visits = box.dataset.takeAlong.split(" ").filter(Boolean).map(Number);
  await navigator.storage?.persist?.();
  try {
    await takePage("/");
    for (const [number, one] of visits.entries()) {
      status.textContent = `Taking along ${number + 1} of ${visits.length}.`;
      const became = await takeVisit(one, { anew });
      if (became === "signal") throw new Error("signal");
    }
    status.textContent = visits.length ? `${count(visits.length, "visit is", "visits are")} on this tablet and can be written without signal.` : "";
  } catch (problem) {
    status.textContent = problem?.name === "QuotaExceededError" ? "The tablet's storage is full: not everything could be taken along." : "No signal: not everything could be taken along. What was taken before is still there.";
  }
}

async function start() {
  if (!("serviceWorker" in navigator) || !window.indexedDB || !person) return;
  navigator.serviceWorker.register("/worker.js", { scope: "/" }).catch(() => null);
  document.querySelector('form[action="/sign-out/"]')?.addEventListener("submit", () => { forgetAll(); });
  document.addEventListener("outbox:changed", sayWhatWaits);
  document.addEventListener("outbox:changed", tryAgainSoon);
  await forgetOthers();
  await prepareVisit();
  const settling = document.querySelector("[data-to-settle]");
  if (settling && !isKept) noteToSettle(Number(settling.dataset.toSettle));
  await sayWhatWaits();
  listTaken();
  window.addEventListener("online", sendAndGoOn);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) sendAndGoOn(); });
  navigator.serviceWorker.addEventListener("message", sendAndGoOn);
  setInterval(sendAndGoOn, AGAIN_MS);
  navigator.serviceWorker.ready.then((ready) => {
    // Only where the browser knows of no network: with one, it would tell at once, again and again.
    document.addEventListener("outbox:changed", () => { if (!navigator.onLine) ready.sync?.register("outbox").catch(() => null); });
  });
  await sendAndGoOn();
  document.querySelector("[data-take-now]")?.addEventListener("click", () => takeAlong(true));
  if (!isKept) {
    takeAlong(false);
    if (visit && document.querySelector("[data-writes]")) {
      await takeVisit(visit).catch(() => null);
      await prepareVisit();
    }
  }
}

start();

// On the pages of a visit: what cannot be sent becomes an entry of the outbox, and is shown as such in its place.
import "../doubt.js"; // first: it puts into the field what is kept or sent here
import { drawFasteners, drawFindings, drawPage, element, markWaiting, sayVerdictsWait } from "./draw.js";
import { NotTaken, factEntry, factOperation, fastenerOperations, partOperations, sameOperations, sheetOperations, startOperations } from "./entries.js";
import { keepChosenPhotos, keepDraft, restoreDraft, throwDraftAway } from "./draft.js";
import { fillIn, findingOperation, prepare } from "./findings.js";
import { isEntry, keep, mine, person, send, standing, token, waiting, waitingEntries } from "./outbox.js";
import { isShown, photoOperations, scopeOf, tile } from "./pictures.js";
import { falling, partOf, replayed } from "./record.js";
import { get } from "./store.js";
import { lookAgain } from "./take.js";
import { announce, announceForm, isAnnounced, unanswered, underWay } from "./way.js";

const [, visitText, room = "", slugText = ""] = /^\/visits\/(\d+)\/(?:(walk|findings|photos|parts)\/)?([^/]*)/.exec(location.pathname) ?? [];
export const visit = Number(visitText || 0);
const slug = room === "walk" ? slugText : "";
const isKept = () => document.documentElement.hasAttribute("data-kept");
let hasWaiting = false, isHere = false;

// Whether entries go into the outbox: the page came from the tablet, the signal was lost on it, or others wait before.
const keeping = () => visit > 0 && isKept() || isHere && (hasWaiting || !navigator.onLine || ["signal", "signed out", "other person"].includes(standing.trouble));

export const record = async () => {
  const base = await get("visits", visit);
  return base && replayed(base, await waiting(visit));
};

export async function prepareVisit() {
  if (!visit) return;
  try { await preparePage(); } finally { photosShown = photosShown.then(showPhotos).catch(() => null); }
}

// Behind the page itself: hundreds of photos that wait must not keep anybody from the next entry.
let photosShown = Promise.resolve();

async function preparePage() {
  const now = await record();
  isHere = Boolean(now?.kit);
  hasWaiting = (await waitingEntries(visit)).length > 0;
  if (isKept() && room === "photos") tellWhatOf(now);
  if (!isHere) return;
  // Where something waits, the server's page lacks it: the page is drawn from the tablet until all is sent.
  if (hasWaiting && room === "walk") document.documentElement.dataset.kept = "";
  if (isKept() && room === "walk") drawPage(now, slug);
  if (isKept() && room === "findings" && !slugText) drawFindings(now, "");
  const form = document.getElementById("finding-form");
  if (form) {
    prepare(now, form);
    await restoreDraft(form);
  }
  if (isKept() && location.hash) document.getElementById(location.hash.slice(1))?.scrollIntoView();
  const chosen = new URLSearchParams(location.search).get("fastener");
  if (isKept() && chosen) await openFastener(chosen);
}

// The page of new photos was taken along without saying what they are of: its address does.
function tellWhatOf(now) {
  const asked = new URLSearchParams(location.search), form = document.querySelector("form[data-photo-form]");
  if (!form) return;
  for (const name of ["finding", "part", "link"]) {
    if (!asked.get(name) || form.querySelector(`input[type="hidden"][name="${name}"]`)) continue;
    form.append(element("input", "", { type: "hidden", name, value: asked.get(name) }));
  }
  const part = now && asked.get("part") && partOf(now, asked.get("part"));
  if (part) document.querySelector("h1").textContent = `Add photos of ${now.kit.kinds[part.kind].words} ${part.key}`;
  const next = asked.get("next"), back = document.querySelector("main p > a.button.quiet");
  if (back && next?.startsWith("/visits/")) back.href = next;
}

// The photos of the outbox, each in the strip where it belongs, those that were refused with the reason.
async function showPhotos() {
  const ours = (await mine()).filter((each) => each.visit === visit);
  for (const one of ours.filter((each) => each.kind === "add_photo")) {
    one.caption = ours.findLast((each) => each.kind === "describe_photo" && each.payload.photo === one.payload.photo)?.payload.caption;
    const strip = stripOf(one.payload);
    const file = strip && !isShown(one) && await get("files", one.payload.photo);
    if (file) showTile(strip, one, file.blob);
  }
}

function stripOf(photo) {
  for (const form of document.querySelectorAll("form[data-photo-form]")) {
    const scope = scopeOf(form);
    if (["finding", "link"].every((name) => scope[name] === photo[name])) return form.closest("[data-photo-strip]");
  }
  return null;
}

function showTile(strip, one, blob) {
  strip.querySelector("[data-photo-empty]")?.remove();
  strip.querySelector("ul.photos").append(tile(one, blob));
}

document.addEventListener("outbox:changed", async () => { hasWaiting = visit > 0 && (await waitingEntries(visit)).length > 0; });

// Keeps operations and tries at once to send them. Null, and said, where they could not be kept.
async function put(operations, files = [], box = null) {
  if (!operations.length) return [];
  let kept = null;
  try {
    kept = await keep(visit, operations, files);
    send();
  } catch {
    if (box) say(box, "The tablet could not keep this: its storage is full. It still stands here; make room, then enter it again.");
  }
  return kept;
}

function say(box, words) {
  box.querySelector(":scope > .errorlist.from-tablet")?.remove();
  if (!words) return;
  const list = element("ul", "", { className: "errorlist from-tablet" });
  list.setAttribute("role", "alert");
  list.append(element("li", words));
  box.prepend(list);
}

// One after the other: an entry is told apart from the one just before it, not from what stood before both.
let factsKept = Promise.resolve();
function keepFact(field) {
  factsKept = factsKept.then(() => keepOneFact(field));
  return factsKept;
}

async function keepOneFact(field) {
  say(field, "");
  try {
    const now = await record();
    const since = underWay(field);
    const operation = now && (since ? factEntry(field, since) : factOperation(now, field));
    const chosen = field.querySelector("select.how")?.value;
    if (operation && !(await put([operation], [], field))) return;
    const shown = document.getElementById(field.id) ?? field; // the tablet may have drawn the page meanwhile
    if (operation || now) markWaiting(shown);
    // What is written over "not reachable" was reached after all: the field says so, and the next entry goes on from there.
    // Not over what was chosen meanwhile, which is kept next.
    const how = shown.querySelector("select.how");
    if (how && how.value === chosen && operation?.[1].how) how.value = operation[1].how;
  } catch (problem) {
    say(field, problem instanceof NotTaken ? problem.message : "The tablet could not keep this. It still stands here.");
  }
}

// The forms of the walk, by where they go. Each gives its operations and what the page does then.
const FORMS = [
  [/\/parts\/add\/$/, partOperations, ([[, one]]) => showPart(one.part)],
  [/\/parts\/[^/]+\/same\/$/, sameOperations, redraw],
  [/\/parts\/[^/]+\/fasteners\/$/, fastenerOperations, (_, form) => openLedger(form)],
  [/\/parts\/[^/]+\/readings\//, sheetOperations, (_, form) => form.querySelectorAll(".fact").forEach((field) => { if (field.dataset.changed) markWaiting(field); })],
  [/\/walk\/start\/$/, startOperations, () => { location.hash = ""; document.querySelector('form[action$="/walk/start/"]')?.closest("section").remove(); redraw(); }],
  [/\/findings\/[^/]+\/remove\/$/, removeFinding, leave],
];

const kindOf = (form) => FORMS.find(([address]) => address.test(form.getAttribute("action") ?? ""));
const isFinding = (form) => form.id === "finding-form";

// With signal, what the tablet cannot read is left to the server, which says it beside its field: false.
async function keepForm(form, { leavesProblems = false } = {}) {
  say(form, "");
  const now = await record();
  if (!now?.kit) {
    say(form, "This visit is not on the tablet, so nothing can be kept without signal.");
    return true;
  }
  try {
    const { operations, files } = await (isFinding(form) ? findingOperations(now, form) : { operations: kindOf(form)[1](now, form) });
    const kept = await put(operations, files, form);
    if (kept) await goOn(kept, operations, form);
  } catch (problem) {
    if (problem instanceof NotTaken && leavesProblems) return false;
    say(form, problem instanceof NotTaken ? problem.message : "The tablet could not keep this. It still stands here.");
  }
  return true;
}

async function findingOperations(now, form) {
  const finding = findingOperation(now, form);
  const chosen = [...(form.querySelector('input[type="file"]')?.files ?? [])];
  const { operations, kept } = await photoOperations(chosen, { finding: finding[1].finding, part: "", link: finding[1].fields.link });
  return { operations: [finding, ...operations], files: kept };
}

// With signal the server's page follows, as soon as it has taken what is on the tablet's disk; photos come at their own pace.
const NO_ANSWER_MS = 4000;
async function goOn(kept, operations, form) {
  const isShownHere = keeping(), ids = kept.filter(isEntry).map((one) => one.id);
  const refused = isShownHere || !ids.length ? "" : await Promise.race([answersTo(ids), new Promise((done) => { setTimeout(() => done(""), NO_ANSWER_MS); })]);
  if (refused) return say(form, refused);
  if (isFinding(form)) await throwDraftAway();
  if (isFinding(form) || kindOf(form)[2] === leave) return leave(null, form);
  if (isShownHere || (await waitingEntries(visit)).some((one) => ids.includes(one.id))) return kindOf(form)[2](operations, form);
  const part = partOf(await record(), kept[0]?.payload.part);
  location.hash = part && slug ? `part-${part.key}` : "";
  location.reload();
}

// Resolves when none of these entries waits any more, with why the first of them was refused, or "".
const answersTo = (ids) => new Promise((done) => {
  let words = "";
  const look = async () => { if (!(await waitingEntries(visit)).some((one) => ids.includes(one.id))) done(words); };
  document.addEventListener("outbox:answers", (event) => { words ||= event.detail.find((one) => ids.includes(one.id) && one.outcome === "refused")?.words ?? ""; });
  document.addEventListener("outbox:changed", look);
  look();
});

function removeFinding(now, form) {
  const [, finding] = /\/findings\/([^/]+)\/remove\//.exec(form.getAttribute("action"));
  return [["remove_finding", { finding, label: "A finding taken out" }]];
}

function leave(_, form) {
  // The page on the tablet was taken along from elsewhere: the address knows the way back, the form may not.
  const next = new URLSearchParams(location.search).get("next") || form.querySelector('input[name="next"]')?.value;
  location.assign(next?.startsWith("/visits/") ? next : `/visits/${visit}/walk/`);
}

async function showPart(id) {
  await redraw();
  const part = partOf(await record(), id);
  const sheet = part && document.getElementById(`part-${part.key}`);
  sheet?.scrollIntoView();
  sheet?.querySelector("input:not([type=hidden]), select")?.focus({ preventScroll: true });
}

async function openLedger(form) {
  const now = await record();
  const ledger = partOf(now, /\/parts\/([^/]+)\//.exec(form.getAttribute("action"))[1]);
  const block = drawFasteners(now, ledger);
  for (const name of ["every", "row", "fastener", "diameter_in", "length_in"]) block.querySelector(`[name="${name}"]`).value = form.elements[name].value;
  document.getElementById(`fasteners-${ledger.key}`)?.replaceWith(block);
}

async function openFastener(key) {
  const now = await record();
  const part = partOf(now, key);
  const ledger = part && partOf(now, part.readings.ledger?.text);
  if (!ledger) return;
  const block = drawFasteners(now, ledger, part);
  document.getElementById(`fasteners-${ledger.key}`)?.replaceWith(block);
  block.querySelector(".chosen").scrollIntoView();
}

async function redraw() {
  if (room === "walk") drawPage(await record(), slug);
}

// --- without signal: nothing is sent, the tablet keeps it ------------------------------------------------------------
document.addEventListener("change", (event) => {
  const field = event.target.closest?.(".fact");
  if (field) field.dataset.changed = "yes";
  if (event.target.name === "defect" && event.target.closest("#finding-form")) {
    // From the tablet's own catalogue at once, also while it is not known yet whether there is signal.
    if (keeping()) event.stopPropagation();
    if (visit) record().then((now) => now?.kit && fillIn(now, event.target.form));
    return;
  }
  if (!field) return;
  if (!keeping()) return isAnnounced(event) || canKeep && navigator.locks && announce(event, visit);
  event.stopPropagation(); // HTMX listens further in
  if (!isAnnounced(event) || !unansweredFact(field)) keepFact(field); // the signal was lost while it was written to the disk
}, true);

// Whether this browser can keep a photo at all; where not, photos.js sends it as it is.
const canKeep = visit > 0 && person > 0 && "indexedDB" in window && Boolean(window.crypto?.subtle);

// A photo is on the tablet's disk before the first byte of it is sent, with or without signal.
document.addEventListener("change", (event) => {
  const form = event.target.closest?.("form[data-photo-form]");
  if (!form || event.target.type !== "file" || !canKeep) return;
  event.stopImmediatePropagation();
  const files = [...event.target.files];
  event.target.value = ""; // the same photo may be chosen again after a refusal
  keepPhotos(form, files);
}, true);

async function keepPhotos(form, files) {
  const strip = form.closest("[data-photo-strip]");
  const most = (await get("visits", visit).catch(() => null))?.photo_max_bytes ?? Infinity;
  say(strip, "");
  for (const [number, file] of files.entries()) {
    if (file.size > most) {
      say(strip, `${file.name} is larger than the ${Math.floor(most / 1024 / 1024)} MB that are taken. Set the camera to a smaller size.`);
      continue;
    }
    const made = await photoOperations([file], scopeOf(form)).then(({ operations, kept }) => put(operations, kept), () => null);
    if (made) {
      showTile(strip, made[0], file);
      continue;
    }
    // Not kept, but still in hand: sent straight from here, and the page says to wait for it.
    say(strip, "The tablet cannot keep the photos, as when its storage is full: they are sent without being kept. Stay on this page until they are sent, or save them as files.");
    form.dispatchEvent(new CustomEvent("photos:direct", { bubbles: true, detail: files.slice(number) }));
    return;
  }
}

// What is being written of a finding survives the browser, too, before it is recorded.
document.addEventListener("input", (event) => {
  const form = event.target.closest?.("#finding-form");
  if (!form || !isHere) return;
  keepDraft(form);
  if (event.target.type === "file") keepChosenPhotos(event.target);
});
document.addEventListener("click", (event) => {
  if (event.target.closest?.("#finding-form .actions a")) throwDraftAway(); // "Back without saving"
});

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!visit || !(isHere || isKept()) || form.dataset.goes || !(kindOf(form) || isFinding(form))) return;
  const isFill = event.submitter?.name === "fill";
  const isSentHere = !keeping() && form.hasAttribute("hx-post"); // HTMX sends it, and says when it could not
  if (isSentHere && (isAnnounced(event) || !canKeep || !navigator.locks)) return;
  event.preventDefault();
  event.stopImmediatePropagation();
  if (isAnnounced(event) && unansweredForm(form)) return; // the signal was lost while it was written to the disk
  if (isBusy.has(form) && !isAnnounced(event)) return; // pressed twice, with a glove on
  if (isSentHere) {
    isBusy.add(form);
    announceForm(form, event.submitter, visit, operationsIn);
  } else if (isFill && keeping()) record().then((now) => now && fillIn(now, form));
  else once(form, () => (keeping() ? keepForm(form) : sendIfThereIsSignal(form, event.submitter)));
}, true);

// Forms of which one press is being dealt with: one that HTMX sends until it is answered, any other until it is kept.
const isBusy = new WeakSet();
async function once(form, does) {
  isBusy.add(form);
  try { await does(); } finally { isBusy.delete(form); }
}
document.addEventListener("htmx:afterRequest", (event) => isBusy.delete(event.detail.elt), true);

// What a form of the walk would be as entries; none where the tablet cannot read it.
async function operationsIn(form) {
  const now = await record();
  try { return now?.kit ? kindOf(form)[1](now, form) : []; } catch { return []; }
}

// A form that leaves the page is lost when it does not arrive: it is kept, and sent from the disk, where the tablet knows
// the visit as it stands now. `closed`: it is not written any more, and the server says so.
async function sendIfThereIsSignal(form, submitter) {
  const buttons = form.querySelectorAll("button");
  buttons.forEach((one) => { one.disabled = true; });
  const answer = await lookAgain(visit);
  buttons.forEach((one) => { one.disabled = false; });
  document.dispatchEvent(new CustomEvent("outbox:changed"));
  if (answer !== "closed" && submitter?.name !== "fill" && (await keepForm(form, { leavesProblems: answer === "there" }))) return;
  form.dataset.goes = "yes";
  const csrf = form.querySelector('input[name="csrfmiddlewaretoken"]');
  if (csrf && token()) csrf.value = token();
  form.requestSubmit(submitter);
  delete form.dataset.goes;
}

document.addEventListener("click", (event) => {
  if (!keeping()) return;
  const link = event.target.closest("a");
  if (!link) return;
  const fastener = link.dataset.part ?? link.dataset.fastener;
  if (fastener !== undefined && link.closest(".fasteners")) {
    event.preventDefault();
    event.stopImmediatePropagation();
    openFastener(fastener || link.textContent.trim());
  } else if (/\/parts\/[^/]+\/remove\/$/.test(link.pathname)) {
    event.preventDefault();
    askToRemove(link);
  }
}, true);

async function askToRemove(link) {
  const now = await record();
  const part = partOf(now, /\/parts\/([^/]+)\//.exec(link.pathname)[1]);
  if (!part) return;
  const others = falling(now, part).filter((one) => one !== part);
  const tail = others.length ? ` With it go ${others.map((one) => one.key).join(", ")}.` : "";
  if (!window.confirm(`Take ${part.key} out of the record?${tail}`)) return;
  if (await put([["remove_part", { part: part.id, label: `${part.key} taken out` }]], [], link.closest("section"))) await redraw();
}

// --- with signal, until it is lost: what HTMX could not send ---------------------------------------------------------
// A dead line says nothing: an entry that got no answer for so long is kept. One that did arrive is taken once all the same.
const PATIENCE_MS = 6000;
const isOurs = (element) => isHere && (element.closest?.(".fact") || element.closest?.("form[hx-post]"));

// Its entry is on the disk already, and waits now.
function unansweredFact(elt) {
  const field = elt.closest?.(".fact");
  const waits = Boolean(field) && unanswered(field);
  if (waits) markWaiting(field);
  return waits;
}

function unansweredForm(elt) {
  const form = elt.matches?.("form[hx-post]") ? elt : null;
  const waits = Boolean(form) && unanswered(form);
  if (waits) kindOf(form)[2](null, form);
  return waits;
}

function unsent(event) {
  const elt = event.detail.elt;
  if (unansweredFact(elt) || unansweredForm(elt)) {
    sayVerdictsWait();
    event.stopImmediatePropagation();
    return true;
  }
  if (!isOurs(elt) || event.detail.requestConfig?.verb !== "post") return false;
  const field = elt.closest(".fact"), form = elt.closest("form");
  if (field) keepFact(field);
  else if (kindOf(form)) keepForm(form);
  else return false;
  sayVerdictsWait();
  event.stopImmediatePropagation();
  return true;
}

for (const name of ["htmx:sendError", "htmx:timeout"]) {
  document.addEventListener(name, (event) => { standing.trouble = "signal"; unsent(event); }, true);
}
document.addEventListener("htmx:responseError", (event) => {
  const status = event.detail.xhr.status;
  if (status === 403 && isHere) standing.trouble = "signed out";
  if (status === 403 || status >= 500) unsent(event);
}, true);
document.addEventListener("htmx:beforeOnLoad", (event) => {
  if (!event.detail.xhr.getResponseHeader("HX-Redirect")?.startsWith("/sign-in/")) return;
  standing.trouble = "signed out";
  if (unsent(event)) event.preventDefault();
}, true);
document.addEventListener("htmx:configRequest", (event) => {
  if (token()) event.detail.headers["x-csrftoken"] = token(); // a page from the tablet carries one of an earlier sign-in
  const { elt, verb } = event.detail, form = elt.closest("form");
  if (verb === "post" && isOurs(elt) && (elt.closest(".fact") || form && kindOf(form))) event.detail.timeout = PATIENCE_MS;
}, true);

// What was just saved with signal is what the tablet goes on from without.
let soon;
document.addEventListener("htmx:afterRequest", (event) => {
  if (!isHere || !event.detail.successful || event.detail.requestConfig?.verb !== "post") return;
  clearTimeout(soon);
  soon = setTimeout(() => lookAgain(visit), 400);
});


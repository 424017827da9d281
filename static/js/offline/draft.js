// What is being written of a finding and is not recorded yet: on the tablet's disk a moment after the last key, and back in
// the form when the page is opened again, as after a dead battery, with the photos that were chosen for it.
import { person } from "./outbox.js";
import { drop, get, put } from "./store.js";
import { element } from "./draw.js";

const PAUSE_MS = 400;
const LEFT_OUT = ["csrfmiddlewaretoken", "next", "photos"];

// One for each page of a finding: of this link, of this check.
const asked = new URLSearchParams(location.search);
const id = `draft of ${person} ${location.pathname} ${["link", "check", "subject"].map((name) => asked.get(name) ?? "").join(" ")}`;

const photosId = `photos of the ${id}`;

let soon, isOver = false;
export function keepDraft(form) {
  clearTimeout(soon);
  soon = setTimeout(() => {
    const given = [...new FormData(form)].filter(([name, text]) => !LEFT_OUT.includes(name) && typeof text === "string");
    if (!isOver) put("files", { id, given: Object.fromEntries(given) }).catch(() => null); // no room: it still stands in the form
  }, PAUSE_MS);
}

// Only when others are chosen: they are large, and a letter more in the text does not change them.
export async function keepChosenPhotos(chosen) {
  const files = [...chosen.files];
  if (!isOver) await (files.length ? put("files", { id: photosId, files }) : drop("files", photosId)).catch(() => null);
}

export async function throwDraftAway() {
  isOver = true;
  clearTimeout(soon);
  for (const one of [id, photosId]) await drop("files", one).catch(() => null);
}

let isRestored = false;
export async function restoreDraft(form) {
  if (isRestored) return;
  isRestored = true;
  const there = await get("files", id).catch(() => null);
  const photos = form.elements.photos && (await get("files", photosId).catch(() => null));
  if (!there && !photos) return;
  for (const [name, text] of Object.entries(there?.given ?? {})) if (form.elements[name]) form.elements[name].value = text;
  if (photos) {
    const chosen = new DataTransfer();
    for (const file of photos.files) chosen.items.add(file);
    form.elements.photos.files = chosen.files;
    document.dispatchEvent(new CustomEvent("photos:restored"));
  }
  const line = element("p", "This is what you had begun to write; it is not recorded yet. ", { className: "notice" });
  line.setAttribute("role", "status");
  const anew = element("button", "Begin anew", { type: "button", className: "button quiet small" });
  anew.addEventListener("click", async () => { await throwDraftAway(); location.reload(); });
  line.append(anew);
  form.prepend(line);
}

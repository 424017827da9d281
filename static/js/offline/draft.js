// What is being written of a finding and is not recorded yet: on the tablet's disk a moment after the last key, and back in
// the form when the page is opened again, as after a dead battery. Its photos are not: a page may not choose files.
import { person } from "./outbox.js";
import { drop, get, put } from "./store.js";
import { element } from "./draw.js";

const PAUSE_MS = 400;
const LEFT_OUT = ["csrfmiddlewaretoken", "next", "photos"];

// One for each page of a finding: of this link, of this check.
const asked = new URLSearchParams(location.search);
const id = `draft of ${person} ${location.pathname} ${["link", "check", "subject"].map((name) => asked.get(name) ?? "").join(" ")}`;

let soon, isOver = false;
export function keepDraft(form) {
  clearTimeout(soon);
  soon = setTimeout(() => {
    const given = [...new FormData(form)].filter(([name, text]) => !LEFT_OUT.includes(name) && typeof text === "string");
    if (!isOver) put("files", { id, given: Object.fromEntries(given) }).catch(() => null); // no room: it still stands in the form
  }, PAUSE_MS);
}

export async function throwDraftAway() {
  isOver = true;
  clearTimeout(soon);
  await drop("files", id).catch(() => null);
}

let isRestored = false;
export async function restoreDraft(form) {
  const there = !isRestored && (await get("files", id).catch(() => null));
  isRestored = true;
  if (!there) return;
  for (const [name, text] of Object.entries(there.given)) if (form.elements[name]) form.elements[name].value = text;
  const line = element("p", "This is what you had begun to write; it is not recorded yet. ", { className: "notice" });
  line.setAttribute("role", "status");
  const anew = element("button", "Begin anew", { type: "button", className: "button quiet small" });
  anew.addEventListener("click", async () => { await throwDraftAway(); location.reload(); });
  line.append(anew);
  form.prepend(line);
}

// A fact entered with signal, a row of fasteners and what a part is called are on the tablet's disk, as "on its way", before
// their request goes out: a browser that is killed before the answer loses nothing. The answer takes the entry off the disk; where none comes, it waits like any
// other. One that an earlier page left behind is sent as an operation: the server takes each once, by its id.
import { factEntry } from "./entries.js";
import { answered, keep, onItsWay, release } from "./outbox.js";

const going = new Map(); // id of the field, address of the form -> its entries that are not answered, in order
const announced = new WeakSet(); // changes and submissions whose entry is on the disk
const nameOf = (elt) => elt && (elt.id || elt.getAttribute("action"));
export const isAnnounced = (event) => announced.has(event);

// The last entry of a field that is not answered: who goes back to what stood before it says something new.
export const underWay = (field) => going.get(field.id)?.at(-1);

// Holds a change back until it is on the disk, then lets it go on to HTMX.
export function announce(event, visit) {
  const field = event.target.closest(".fact[hx-post]"), entry = field && factEntry(field, underWay(field));
  if (!entry) return;
  event.stopPropagation();
  const { target } = event, one = { kind: entry[0], payload: entry[1] };
  going.set(field.id, [...(going.get(field.id) ?? []), one]);
  keep(visit, [entry], [], onItsWay).then(([kept]) => Object.assign(one, kept), () => forget(field.id, [one])).then(() => {
    const again = new Event("change", { bubbles: true });
    announced.add(again);
    target.dispatchEvent(again); // also where the storage is full: there is signal
  });
}

// The same of a form that HTMX sends, where it is one entry; `operationsIn` reads it. A form of several facts holds none
// that is not on its way already.
export async function announceForm(form, submitter, visit, operationsIn) {
  const operations = await operationsIn(form), one = {};
  if (operations.length === 1 && !["record_reading", "clear_reading"].includes(operations[0][0])) {
    going.set(nameOf(form), [...(going.get(nameOf(form)) ?? []), one]);
    await keep(visit, operations, [], onItsWay).then(([kept]) => Object.assign(one, kept), () => forget(nameOf(form), [one]));
  }
  const again = new SubmitEvent("submit", { submitter, bubbles: true, cancelable: true });
  announced.add(again);
  form.dispatchEvent(again);
}

function forget(id, entries) {
  const left = going.get(id)?.filter((one) => !entries.includes(one)) ?? [];
  if (left.length) going.set(id, left);
  else going.delete(id);
  if (!going.size) goOn?.();
}

// The entries of a field or form for which no answer came: they wait now. False where there are none.
export function unanswered(field) {
  const entries = (going.get(nameOf(field)) ?? []).filter((one) => one.number);
  forget(nameOf(field), entries);
  if (entries.length) release(entries);
  return entries.length > 0;
}

const sender = (event) => event.detail.requestConfig?.elt;

document.addEventListener("htmx:configRequest", (event) => {
  const entries = (going.get(nameOf(event.detail.elt)) ?? []).filter((one) => one.number);
  if (!entries.length || event.detail.verb !== "post") return;
  const { id, kind, payload } = entries.at(-1);
  event.detail.headers["X-Operation"] = id;
  if (kind === "add_fasteners") event.detail.parameters.part_ids = payload.parts.map((one) => one.id).join(" ");
  entries.forEach((one) => { one.isSent = true; });
}, true);

// A field that was changed again while the answer was under way, or is being written in, is not drawn over: its own request
// comes next.
document.addEventListener("htmx:beforeSwap", (event) => {
  const field = sender(event), { xhr } = event.detail;
  if (!going.has(field?.id) || ![200, 422].includes(xhr.status)) return;
  const fresh = new DOMParser().parseFromString(xhr.responseText, "text/html").getElementById(field.id);
  if (!going.get(field.id).some((one) => !one.isSent) && !isWrittenIn(field, fresh)) return;
  event.preventDefault();
  const seen = (of) => of?.querySelector('[name$=".seen"]');
  // What it is drawn from now; but where two wrote, the one who writes on has not seen the other's yet.
  if (xhr.status === 200 && seen(fresh)) seen(field).value = seen(fresh).value;
}, true);

function isWrittenIn(field, fresh) {
  const written = document.activeElement;
  if (!field.contains(written) || !written.matches('input:not([type="radio"], [type="checkbox"])')) return false;
  return written.value !== fresh?.querySelector(`[name="${written.name}"]`)?.value;
}

document.addEventListener("htmx:afterRequest", (event) => {
  const name = nameOf(sender(event)), { xhr } = event.detail;
  const sent = (going.get(name) ?? []).filter((one) => one.isSent);
  const isAnswer = xhr.status && xhr.status !== 403 && xhr.status < 500 && !xhr.getResponseHeader("HX-Redirect");
  if (!sent.length || !isAnswer) return;
  const said = xhr.status === 200 ? JSON.parse(xhr.getResponseHeader("X-Operation-Answer") ?? "{}") : null;
  answered(sent, said).then(() => forget(name, sent));
}, true);

// Who goes on to another page at once waits for the answer, so that the next page shows what was entered.
const AT_MOST_MS = 1500;
let goOn = null;

document.addEventListener("click", (event) => {
  const link = event.target.closest?.("a[href]");
  if (!link || !going.size || event.defaultPrevented || event.button || event.metaKey || event.ctrlKey || event.shiftKey || event.altKey) return;
  if (link.target || link.origin !== location.origin || link.matches('[href^="#"], [data-part], [data-fastener], [hx-get]')) return;
  event.preventDefault();
  const go = () => {
    if (goOn !== go) return;
    goOn = null;
    location.assign(link.href);
  };
  goOn = go;
  setTimeout(go, AT_MOST_MS);
});

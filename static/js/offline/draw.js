// Draws a page of the walk from the tablet's own record, with the very forms that the server sent as blanks.
import { showTicked } from "../doubt.js";
import { inches } from "../lengths.js";
import { partOf } from "./record.js";

const BLANK_ID = "00000000-0000-4000-8000-00000000b1a7";
const WAITS = "Waits on this tablet";

export const made = (html) => {
  const template = document.createElement("template");
  template.innerHTML = html.trim();
  return template.content.firstElementChild;
};

export const element = (tag, text = "", fields = {}) => Object.assign(document.createElement(tag), { textContent: text, ...fields });

// `slug` is the stop of the walk, "" for the overview.
export function drawPage(record, slug) {
  sayVerdictsWait();
  drawChain(record, slug);
  if (!slug) {
    if (record.parts.length) document.querySelector('form[action$="/walk/start/"]')?.closest("section").remove();
    return;
  }
  const column = document.querySelector(".walk-sheets");
  if (!column) return;
  const typed = typedIn(column);
  // What the release desk wrote stands in the page, not in the blank sheets.
  const comments = new Map([...column.querySelectorAll(":scope > .part > .comments")].map((one) => [one.parentElement.id, one]));
  column.querySelectorAll(":scope > .part, :scope > .fasteners, :scope > .empty").forEach((one) => one.remove());
  const before = column.firstElementChild;
  for (const kind of record.kit.stops[slug] ?? []) {
    if (kind === "fastener") continue; // within the block of their ledger
    for (const part of record.parts.filter((one) => one.kind === kind)) {
      column.insertBefore(drawSheet(record, part, slug), before);
      if (slug === "ledger" && kind === "ledger") column.insertBefore(drawFasteners(record, part), before);
    }
  }
  for (const part of record.parts.filter((one) => one.kind === "fastener" && slug === "ledger" && !partOf(record, one.readings.ledger?.text))) {
    column.insertBefore(drawSheet(record, part, slug), before);
  }
  for (const [id, one] of comments) document.getElementById(id)?.querySelector(".sheet-head").after(one);
  drawAdding(record);
  drawFindings(record, slug);
  putBack(column, typed);
}

// What somebody writes while the record is being read from the disk, and where his finger is: drawn anew, the page keeps both.
const touched = new WeakSet();
document.addEventListener("input", (event) => touched.add(event.target), true);
const isTick = (field) => field.type === "radio" || field.type === "checkbox";
const ownName = (field) => `${field.closest("[id]").id} ${field.name} ${isTick(field) ? field.value : ""}`;
const fieldsOf = (column) => [...column.querySelectorAll("input:not([type=hidden]), select, textarea")];

function typedIn(column) {
  const fields = fieldsOf(column);
  const focused = fields.find((one) => one === document.activeElement);
  return { fields: new Map(fields.filter((one) => touched.has(one)).map((one) => [ownName(one), one])), focused: focused && ownName(focused) };
}

function putBack(column, typed) {
  for (const field of fieldsOf(column)) {
    const was = typed.fields.get(ownName(field));
    if (was && isTick(field)) field.checked = was.checked;
    else if (was) field.value = was.value;
    if (was) touched.add(field);
    if (ownName(field) === typed.focused) field.focus({ preventScroll: true });
  }
}

export function drawSheet(record, part, slug) {
  const sheet = made(record.kit.sheets[slug][part.kind].replaceAll(BLANK_ID, part.id).replaceAll("KEY0", part.key));
  const name = sheet.querySelector('input[name="part-name"]');
  if (name) name.value = part.name;
  if (part.name) {
    const title = sheet.querySelector("h2");
    title.replaceChildren(element("span", part.key, { className: "key" }), ` ${part.name}`);
  }
  for (const field of sheet.querySelectorAll(".fact")) fillFact(record, part, field);
  const folded = sheet.querySelector("details.usual");
  if (folded) folded.open = [...folded.querySelectorAll(".fact")].some((one) => part.readings[factName(one)]);
  offerSame(record, part, slug, sheet);
  return sheet;
}

export const factName = (field) => field.querySelector('[name$=".seen"]').name.replace(/\.seen$/, "");

function fillFact(record, part, field) {
  const name = factName(field);
  const fact = record.kit.kinds[part.kind].facts[name];
  const told = part.readings[name];
  if (fact.kind === "reference") {
    const select = field.querySelector(`select[name="${name}"]`);
    for (const one of record.parts.filter((other) => other.kind === fact.refers_to && other !== part)) {
      select.append(new Option(`${one.key} ${one.name}`.trim(), one.id));
    }
    select.value = partOf(record, told?.text)?.id ?? "";
  } else showText(field, name, fact, told?.text ?? "");
  const how = field.querySelector(`[name="${name}.how"]`);
  if (how) how.value = told?.how ?? "measured";
  field.querySelector(".story").textContent = told?.waits ? WAITS : "";
}

function showText(field, name, fact, text) {
  // Several words of which it is one (see doubt.js): an answer of the field like any other.
  const ticked = fact.choices.includes(text) ? [text] : fact.choices.length ? tickedIn(fact.choices, text) : [];
  for (const one of field.querySelectorAll(`[name="${name}.any"]`)) one.checked = ticked.includes(one.value);
  if (ticked.length > 1) showTicked(field, name);
  else if (field.classList.contains("fact-pick")) {
    for (const radio of field.querySelectorAll(`input[name="${name}"]`)) radio.checked = radio.value === text;
  } else field.querySelector(`[name="${name}"]`).value = text;
  const doubt = field.querySelector(".unsure");
  if (doubt) doubt.open = ticked.length > 1 || !fact.choices.length && / or /.test(text);
}

// The words of "A or B"; a word may hold an "or" itself.
function tickedIn(choices, text) {
  const found = [];
  for (let rest = text; rest; ) {
    const next = choices.filter((one) => rest === one || rest.startsWith(`${one} or `)).sort((one, other) => other.length - one.length)[0];
    if (!next) return [];
    found.push(next);
    rest = rest.slice(next.length + " or ".length);
  }
  return found;
}

export function markWaiting(field) {
  const story = field.querySelector(".story");
  story.textContent = WAITS;
  story.setAttribute("role", "status");
  field.classList.remove("has-error");
  field.querySelector(".errorlist")?.remove();
  field.querySelector(".clash")?.remove();
}

function offerSame(record, part, slug, sheet) {
  const siblings = record.parts.filter((one) => one.kind === part.kind);
  const sibling = siblings[siblings.indexOf(part) - 1];
  if (!sibling || slug === "water") return;
  const form = made('<form method="post" class="same"><input type="hidden" name="source"><button class="button quiet small"></button> <span class="hint">Copies what is still open here, with how it was got.</span></form>');
  form.action = sheet.querySelector("form").getAttribute("action").replace(/\/readings\/.*$/, "/same/");
  form.elements.source.value = sibling.key;
  form.querySelector("button").textContent = `Same as ${sibling.key}`;
  sheet.querySelector(".sheet-head").after(form);
}

const inLedger = (record, ledger) => record.parts
  .filter((one) => one.kind === "fastener" && partOf(record, one.readings.ledger?.text) === ledger)
  .sort((one, other) => inchesOf(one) - inchesOf(other));
// As typed: a plain number where a row was recorded, a length as on a tape where one was put right.
const inchesOf = (part) => inches((part.readings.position_in?.text ?? "").trim()) ?? Infinity;

export function drawFasteners(record, ledger, chosen = null) {
  const block = made(record.kit.fasteners.replaceAll(BLANK_ID, ledger.id).replaceAll("KEY0", ledger.key));
  const parts = inLedger(record, ledger);
  block.querySelector("[data-strip]").replaceChildren(drawStrip(record, ledger, parts));
  if (parts.length) {
    const table = made(`<div class="table-wrap" tabindex="0" role="region"><table><caption></caption><thead><tr><th scope="col">No.</th><th scope="col">At</th><th scope="col">Row</th><th scope="col">Kind</th><th scope="col">As found</th></tr></thead><tbody></tbody></table></div>`);
    table.setAttribute("aria-label", `Table of the fasteners of ${ledger.key}`);
    table.querySelector("caption").textContent = `${parts.length} ${parts.length === 1 ? "fastener" : "fasteners"}, from the left end`;
    for (const part of parts) {
      const row = element("tr", "", { id: `fastener-${part.key}` });
      const head = element("th", "", { scope: "row" });
      const link = element("a", part.key, { className: "row-target", href: `?fastener=${part.key}` });
      link.dataset.fastener = part.key;
      if (part === chosen) link.setAttribute("aria-current", "true");
      head.append(link);
      row.append(head, ...["position_in", "row", "fastener", "condition"].map((name) => element("td", part.readings[name]?.text || (name === "condition" ? "good, taken" : "open"))));
      table.querySelector("tbody").append(row);
    }
    block.querySelector(`#fastener-table-${ledger.key}`).replaceChildren(table);
  }
  if (chosen) {
    const place = element("div", "", { className: "chosen" });
    place.append(drawSheet(record, chosen, "ledger"));
    block.querySelector("form.pattern").before(place);
  }
  sayVerdictsWait();
  return block;
}

// A plain board with its fasteners at their places: a tap on one opens it, a tap on the board says where the next goes.
function drawStrip(record, ledger, parts) {
  const text = ledger.readings.length_in?.text ?? "";
  const length = inchesOf({ readings: { position_in: { text } } });
  const last = Math.max(0, ...parts.map(inchesOf).filter(Number.isFinite));
  const lengthIn = Number.isFinite(length) && length > 0 ? length : Math.max(last + 12, 120);
  const svg = made(`<svg xmlns="http://www.w3.org/2000/svg" class="strip" viewBox="0 0 760 130" role="group" aria-label="The board and its fasteners"><rect x="20" y="25" width="720" height="80" fill="none" stroke="#16242c" stroke-width="2"/></svg>`);
  const scale = 720 / lengthIn;
  Object.assign(svg.dataset, { leftPx: "20", pxPerIn: String(scale), lengthIn: String(lengthIn) });
  for (const part of parts.filter((one) => Number.isFinite(inchesOf(one)))) {
    const x = 20 + inchesOf(part) * scale;
    const y = { upper: 45, lower: 85 }[part.readings.row?.text] ?? 65;
    const good = ["", "good", undefined].includes(part.readings.condition?.text);
    const link = made(`<svg xmlns="http://www.w3.org/2000/svg"><a href="?fastener=${part.key}" data-part="${part.key}"><rect x="${x - 16}" y="25" width="32" height="80" fill="transparent"/><circle cx="${x}" cy="${y}" r="7" fill="${good ? "#16242c" : "none"}" stroke="#16242c" stroke-width="2.5"/><text x="${x}" y="122" text-anchor="middle" font-size="13">${part.key}</text></a></svg>`).firstElementChild;
    svg.append(link);
  }
  return svg;
}

function drawAdding(record) {
  const box = document.querySelector(".walk-sheets > .adding");
  if (!box) return;
  box.querySelectorAll("p, form").forEach((one) => one.remove());
  const token = document.querySelector('input[name="csrfmiddlewaretoken"]')?.value ?? "";
  const here = location.pathname.replace(/\/walk\/.*/, "/parts/add/");
  const slug = location.pathname.split("/").at(-2);
  for (const kind of record.kit.stops[slug].filter((one) => one !== "fastener")) {
    const words = record.kit.kinds[kind].words;
    const needed = Object.entries(record.kit.kinds[kind].facts).find(([, fact]) => fact.kind === "reference" && fact.required);
    const targets = needed ? record.parts.filter((one) => one.kind === needed[1].refers_to) : [];
    if (needed && !targets.length) {
      box.append(element("p", `For a ${words}, add a ${record.kit.kinds[needed[1].refers_to].words} first.`, { className: "soft" }));
      continue;
    }
    const form = element("form", "", { method: "post", className: "inline" });
    form.setAttribute("action", here);
    form.append(...[["csrfmiddlewaretoken", token], ["kind", kind]].map(([name, value]) => element("input", "", { type: "hidden", name, value })));
    if (needed) {
      const label = element("label", `Which ${record.kit.kinds[needed[1].refers_to].words} `);
      const select = element("select", "", { name: needed[0] });
      targets.forEach((one) => select.append(new Option(`${one.key} ${one.name}`.trim(), one.id)));
      label.append(select);
      form.append(label);
    }
    form.append(element("button", `Add a ${words}`, { className: "button quiet" }));
    box.append(form);
  }
}

export function drawFindings(record, slug) {
  const box = document.querySelector("[aria-labelledby='findings-title']") ?? (/\/findings\/$/.test(location.pathname) ? document.querySelector("main section.sheet") : null);
  const link = slug && record.kit.links[slug];
  if (!box) return;
  box.querySelectorAll(".finding-waits").forEach((one) => one.remove());
  const waiting = record.findings.filter((one) => one.waits && (!link || one.link === link));
  for (const one of waiting) {
    const row = element("p", "", { className: "finding-waits" });
    const edit = element("a", "Change", { className: "button quiet small", href: `/visits/${record.visit}/findings/new/?link=${encodeURIComponent(one.link)}&next=${encodeURIComponent(location.pathname)}#waits-${one.id}` });
    row.append(element("strong", one.title || "A finding"), ` ${one.action}${one.place ? `, ${one.place}` : ""}. ${WAITS}. `, edit);
    (box.querySelector("h2") ?? box.firstElementChild).after(row);
    document.getElementById(`finding-${one.id}`)?.setAttribute("hidden", "");
  }
}

// The server's verdicts lack what waits here; verdicts/show.js puts the tablet's own in their place.
export function sayVerdictsWait() {
  document.dispatchEvent(new CustomEvent("verdicts:wanted"));
}

function drawChain(record, slug) {
  for (const link of document.querySelectorAll("#chain a, .chain.links a")) {
    const stop = link.getAttribute("href").split("/").at(-2);
    const kinds = record.kit.stops[stop];
    const state = link.querySelector(".link-state");
    if (!kinds || !state) continue;
    const count = record.parts.filter((one) => kinds.includes(one.kind)).length;
    state.textContent = count ? `${count} ${count === 1 ? "part" : "parts"}` : "nothing recorded";
    link.querySelector(".knot")?.setAttribute("class", "knot");
  }
  document.querySelector(`#chain a[href$="/${slug}/"]`)?.setAttribute("aria-current", "page");
}

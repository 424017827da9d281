// The form of a finding without signal: its words from the catalogue on the tablet, and the finding into the outbox.
import { NotTaken } from "./entries.js";
import { partOf } from "./record.js";

const FIELDS = ["link", "defect", "title", "place", "part", "seen", "action", "how_soon", "who", "meaning", "remedy", "check_id"];
const NEEDS_HOW_SOON = ["keep_off", "put_right"];

// What a choice from the catalogue fills in; what the inspector wrote stays.
export function fillIn(record, form) {
  const chosen = record.kit.catalogue[form.elements.defect.value];
  if (!chosen) return;
  const all = Object.values(record.kit.catalogue);
  for (const name of ["title", "meaning", "remedy"]) {
    const field = form.elements[name];
    if (!field.value.trim() || all.some((one) => one[name] === field.value)) field.value = chosen[name];
  }
  if (![...form.elements.action].some((one) => one.checked)) form.elements.action.value = chosen.action;
}

// A check that fails offers its finding: the numbers of the check, and the words of the one defect that it belongs to.
const PROPOSED = "proposed finding";
export const propose = (proposal) => sessionStorage.setItem(PROPOSED, JSON.stringify(proposal));

function fillProposed(record, form) {
  const asked = new URLSearchParams(location.search);
  const proposed = JSON.parse(sessionStorage.getItem(PROPOSED) ?? "null");
  if (!proposed || form.elements.seen.value || asked.get("check") !== proposed.check_id || asked.get("subject") !== proposed.subject) return;
  const fitting = Object.entries(record.kit.catalogue).filter(([, one]) => one.check === proposed.check_id);
  if (fitting.length === 1) {
    form.elements.defect.value = fitting[0][0];
    fillIn(record, form);
  }
  form.elements.title.value ||= proposed.title;
  for (const name of ["check_id", "place", "seen", "action", "how_soon", "who"]) form.elements[name].value = proposed[name];
  const part = partOf(record, proposed.part), select = form.elements.part;
  if (part && ![...select.options].some((one) => one.value === part.id)) select.append(new Option(part.key, part.id)); // a fastener
  select.value = part?.id ?? "";
}

// Parts that the page does not know yet can be chosen, too; and a finding that waits is shown again to be changed.
export function prepare(record, form) {
  const select = form.elements.part;
  const there = new Set([...select.options].map((one) => one.value));
  for (const part of record.parts) if (part.kind !== "fastener" && !there.has(part.id)) select.append(new Option(`${record.kit.kinds[part.kind].words} ${part.key}${part.name ? ` (${part.name})` : ""}`, part.id));
  fillProposed(record, form);
  const waits = /^#waits-(.+)$/.exec(location.hash)?.[1];
  const finding = waits && record.findings.find((one) => one.id === waits);
  if (!finding?.fields) return;
  form.dataset.finding = finding.id;
  for (const [name, text] of Object.entries(finding.fields)) {
    const field = form.elements[name];
    if (field) field.value = text;
  }
}

export function findingOperation(record, form) {
  const given = new FormData(form);
  const fields = Object.fromEntries(FIELDS.map((name) => [name, String(given.get(name) ?? "").trim()]));
  if (!fields.title && !fields.defect) throw new NotTaken("Say it in one line, or choose it from the catalogue.");
  if (!fields.action) throw new NotTaken("Choose an action.");
  if (NEEDS_HOW_SOON.includes(fields.action) && ["no_date", ""].includes(fields.how_soon)) throw new NotTaken("Say how soon: Keep off and Put right need a time.");
  const id = form.dataset.finding ?? /\/findings\/([0-9a-f-]{36})\//.exec(location.pathname)?.[1] ?? crypto.randomUUID();
  const stands = record.findings.find((one) => one.id === id);
  const action = form.querySelector('[name="action"]:checked')?.closest("label")?.querySelector(".word-pick-word")?.textContent.trim() ?? "";
  const title = fields.title || record.kit.catalogue[fields.defect]?.title || "";
  fields.part = partOf(record, fields.part)?.id ?? "";
  return ["record_finding", { finding: id, fields, title, action, seen: stands?.version ?? "", label: `Finding: ${title}` }];
}

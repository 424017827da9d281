// From the forms of the walk to operations, when they cannot be sent as they are.
import { UnreadableLength, feetAndInches, readLength, rounded } from "../lengths.js";
import { nextKey, partOf } from "./record.js";
import { factName } from "./draw.js";

export class NotTaken extends Error {} // its message stands beside the form

const idIn = (address) => /\/parts\/([0-9a-f-]{36})\//.exec(address)?.[1];

// One field of a sheet: an operation, or null where it says what the record says already.
export function factOperation(record, field) {
  const part = partOf(record, idIn(addressOf(field)));
  if (!part) throw new NotTaken("This part is not on the tablet.");
  const name = factName(field);
  const isReference = record.kit.kinds[part.kind].facts[name].kind === "reference";
  const same = isReference ? (one, other) => partOf(record, one) === partOf(record, other) : undefined;
  return operationOf(field, name, part, part.readings[name], same);
}

// The same on a page that the server drew: what stands is what the field was drawn from, or what was entered since.
export function factEntry(field, since) {
  const name = factName(field);
  const [version, how, text] = JSON.parse(field.querySelector(`[name="${name}.seen"]`).value);
  const key = field.id.slice("fact-".length, -name.length - 1);
  let stands = version || text || how === "not_reachable" ? { version, how, text } : undefined;
  if (since) stands = since.kind === "clear_reading" ? undefined : { version, how: since.payload.how, text: since.payload.typed };
  return operationOf(field, name, { id: idIn(addressOf(field)), key }, stands);
}

const addressOf = (field) => field.getAttribute("hx-post") ?? field.closest("form").getAttribute("action");

function operationOf(field, name, part, stands, isSame = (one, other) => one === other) {
  const chosen = field.querySelector(`input[type="radio"][name="${name}"]:checked`) ?? field.querySelector(`[name="${name}"]:not([type="radio"])`);
  let typed = chosen?.value.trim() ?? "";
  let how = field.querySelector(`[name="${name}.how"]`)?.value ?? "measured";
  const wasText = stands?.text ?? "", wasHow = stands?.how ?? "measured";
  const same = isSame(typed, wasText);
  if (same && how === wasHow) return null;
  if (how === "not_reachable" && wasHow === how && !same) how = "measured"; // it was reached after all
  if (how === "not_reachable") typed = "";
  const label = `${field.querySelector(".fact-label")?.textContent.trim() ?? name} of ${part.key}`;
  const seen = stands?.version ?? "";
  if (typed || how === "not_reachable") return ["record_reading", { part: part.id, fact: name, typed, how, seen, label }];
  return stands ? ["clear_reading", { part: part.id, fact: name, seen, label }] : null;
}

export function sheetOperations(record, form) {
  const found = [...form.querySelectorAll(".fact")].map((field) => factOperation(record, field)).filter(Boolean);
  const part = partOf(record, idIn(form.getAttribute("action")));
  const name = form.elements["part-name"]?.value.trim();
  if (part && name !== undefined && name !== part.name) found.push(["name_part", { part: part.id, name, seen: part.name, label: `What ${part.key} is called` }]);
  return found;
}

export function addOperation(record, kind, readings = {}, name = "") {
  const facts = record.kit.kinds[kind].facts;
  const only = {};
  for (const [fact, { kind: what, refers_to, required }] of Object.entries(facts)) {
    if (what !== "reference" || !(required || fact === "level")) continue;
    const there = record.parts.filter((one) => one.kind === refers_to);
    if (there.length === 1) only[fact] = there[0].id;
  }
  const words = `A new ${record.kit.kinds[kind].words}`;
  return ["add_part", { part: crypto.randomUUID(), kind, key: nextKey(record, kind), name, readings: { ...only, ...readings }, label: words }];
}

export function partOperations(record, form) {
  const { kind, ...given } = Object.fromEntries(new FormData(form));
  const references = Object.fromEntries(Object.entries(given).filter(([name, text]) => record.kit.kinds[kind].facts[name]?.kind === "reference" && text)
    .map(([name, text]) => [name, partOf(record, text)?.id ?? text]));
  return [addOperation(record, kind, references)];
}

export function sameOperations(record, form) {
  const part = partOf(record, idIn(form.getAttribute("action")));
  const source = partOf(record, form.elements.source.value);
  if (!part || !source) return [];
  return Object.entries(source.readings)
    .filter(([name]) => !part.readings[name] && name !== "position_in" && record.kit.kinds[part.kind].facts[name]?.kind !== "reference")
    .map(([fact, told]) => ["record_reading", { part: part.id, fact, typed: told.text, how: told.how, seen: "", label: `Copied from ${source.key}` }]);
}

const MOST_AT_ONCE = 200;

// As `fasteners_add` of the server reads the form: the same places, and the same refusals.
export function fastenerOperations(record, form) {
  const ledger = partOf(record, idIn(form.getAttribute("action")));
  if (!ledger) throw new NotTaken("This ledger is not on the tablet.");
  const said = Object.fromEntries([...new FormData(form)].map(([name, text]) => [name, text.trim()]));
  const fact = (kind, name) => record.kit.kinds[kind].facts[name];
  const place = (text, name) => lengthOf(text, fact("fastener", "position_in"), name);
  const first = place(said.first, "First one"), places = [first];
  if (said.every) {
    const last = said.last ? place(said.last, "Last one") : lengthOfLedger(ledger);
    const every = lengthOf(said.every, fact("joist_field", "spacing_in"), "Every");
    if (last < first) throw new NotTaken("The last one lies before the first.");
    const slack = last - first + 1 / 16, count = Math.round((slack - (slack % every)) / every) + 1;
    if (count > MOST_AT_ONCE) throw new NotTaken(`That would be ${count} fasteners; at most ${MOST_AT_ONCE} are taken at once.`);
    for (let number = 1; number < count; number += 1) places.push(rounded(first + number * every, 4));
    places[0] = rounded(first, 4);
  }
  const facts = Object.fromEntries(["fastener", "diameter_in", "length_in"].filter((name) => said[name]).map((name) => [name, said[name]]));
  for (const [name, words] of [["diameter_in", "Diameter"], ["length_in", "Length"]]) {
    facts[name]?.split(OR).forEach((one) => lengthOf(one, fact("fastener", name), words));
  }
  const parts = places.map((position_in) => ({ id: crypto.randomUUID(), position_in }));
  return [["add_fasteners", { ledger: ledger.id, row: said.row, facts, parts, label: `${parts.length} fasteners of ${ledger.key}` }]];
}

function lengthOfLedger(ledger) {
  const text = ledger.readings.length_in?.text;
  if (!text || OR.test(text)) throw new NotTaken("Say where the last one is, or record the length of the ledger first.");
  return lengthOf(text, {}, "The length of the ledger");
}

const OR = /\s+or\s+/i; // "8 or 10", of which one is not sure
const TOO_MANY_DIGITS = /\d{8}/;

// As inspections/survey/typed.py reads a length. A kit that was taken along earlier tells no range: the server says that one.
function lengthOf(text, { low = 0, high = Infinity, label = "" }, name) {
  const tidy = text.trim().replace(/\s+/g, " ");
  let problem = "", value = 0;
  try {
    if (TOO_MANY_DIGITS.test(tidy)) throw new UnreadableLength("There are too many digits in this number. Check it.");
    if (OR.test(tidy)) throw new UnreadableLength("say one length here. A doubt can be told of each fastener when it is in the record.");
    value = readLength(tidy);
    if (value < low) problem = `A ${label} of ${onTape(value)} is below the ${onTape(low)} that this takes.`;
    if (value > high) problem = `A ${label} of ${onTape(value)} is beyond the ${onTape(high)} that this takes.`;
  } catch (refusal) {
    if (!(refusal instanceof UnreadableLength)) throw refusal;
    problem = refusal.message;
  }
  if (problem) throw new NotTaken(`${name}: ${problem}`);
  return rounded(value, 6);
}

const onTape = (value) => feetAndInches(value, value < 24);

// The usual parts of such a deck, as the short form of an empty record says it: the same as set_up_deck of the server.
export function startOperations(record, form) {
  const said = Object.fromEntries(new FormData(form));
  const operations = [];
  const imagined = structuredClone({ ...record, kit: undefined });
  imagined.kit = record.kit;
  const add = (kind, readings = {}, name = "") => {
    const one = addOperation(imagined, kind, readings, name);
    operations.push(one);
    imagined.parts.push({ id: one[1].part, kind, key: one[1].key, name, readings: {} });
    imagined.taken_keys.push(one[1].key);
    return one[1].part;
  };
  const sizes = ["width", "depth", "height"].filter((name) => said[name]?.trim());
  for (const name of sizes) {
    said[name].split(OR).forEach((one) => lengthOf(one, record.kit.kinds.level.facts[`${name}_in`], name[0].toUpperCase() + name.slice(1)));
  }
  const levels = whole(said.levels, 1, 4, "Levels"), posts = whole(said.posts, 0, 20, "Posts under each beam");
  const beam = (level, name) => {
    const made = add("beam", { level }, name);
    for (let number = 0; number < posts; number += 1) add("footing", { post: add("post", { beam: made }) });
    return made;
  };
  for (let number = 0; number < levels; number += 1) {
    const level = add("level", { stands: said.stands }, number ? "" : "main level");
    if (!number) sizes.forEach((name) => operations.push(["record_reading", { part: level, fact: `${name}_in`, typed: said[name].trim(), how: "measured", seen: "", label: `${name} of the level` }]));
    const joists = { level };
    if (said.stands === "on a ledger") joists.ledger = add("ledger", { level });
    else joists.inner_beam = beam(level, "inner beam");
    joists.beam = beam(level, "outer beam");
    add("joist_field", joists);
    if (said.has_guards) for (const side of ["front", "left", "right"]) add("guard", { level, is_present: "yes" }, side);
    if (said.has_stairs && !number) add("stair", { level });
  }
  return operations;
}

function whole(text, least, most, name) {
  const value = Number(text);
  if (!Number.isInteger(value) || value < least || value > most) throw new NotTaken(`${name}: a whole number from ${least} to ${most}.`);
  return value;
}

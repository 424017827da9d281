// The record of a visit as the tablet knows it: what the server said last, and on top of it what waits in the outbox.

export const reading = (part, fact) => part?.readings[fact];
export const partOf = (record, name) => record.parts.find((one) => one.id === name || one.key === name);

// The record with these operations done to it, in order. `base` is left as it is.
export function replayed(base, operations) {
  const record = structuredClone({ ...base, kit: undefined });
  record.kit = base.kit;
  record.photos = [];
  for (const one of operations) redo(record, one, "");
  return record;
}

// Does one operation to the record. `answer` is what the server said to it, where it has.
export function redo(record, operation, answer) {
  const given = operation.payload;
  const part = given.part && partOf(record, given.part);
  const waits = !answer;
  const version = answer?.version ?? "";
  switch (operation.kind) {
    case "add_part":
      if (!part) addPart(record, given.part, given.kind, answer?.key ?? given.key, given.name ?? "", given.readings ?? {}, answer?.versions, waits);
      break;
    case "record_reading":
      if (part) part.readings[given.fact] = { text: given.typed, how: given.how, version, waits };
      break;
    case "clear_reading":
      if (part) delete part.readings[given.fact];
      break;
    case "name_part":
      if (part) part.name = given.name;
      break;
    case "remove_part":
      if (part) takeOut(record, part);
      break;
    case "add_fasteners":
      given.parts.forEach((one, number) => {
        if (partOf(record, one.id)) return;
        const row = given.row === "staggered" ? ["upper", "lower"][number % 2] : given.row;
        const own = { ...given.facts, ledger: given.ledger, position_in: String(one.position_in), row };
        const told = Object.fromEntries(Object.entries(own).filter(([, text]) => text));
        const versions = Object.fromEntries(Object.keys(told).map((name) => [name, version]));
        addPart(record, one.id, "fastener", answer?.keys?.[one.id] ?? nextKey(record, "fastener"), "", told, versions, waits);
      });
      break;
    case "record_finding": {
      const there = record.findings.find((one) => one.id === given.finding);
      const shown = { id: given.finding, link: given.fields.link, title: given.fields.title || given.title, place: given.fields.place, action: given.action ?? "", version, waits };
      if (there) Object.assign(there, shown, { fields: given.fields });
      else record.findings.push({ ...shown, fields: given.fields });
      break;
    }
    case "remove_finding":
      record.findings = record.findings.filter((one) => one.id !== given.finding);
      break;
    case "add_photo":
      record.photos?.push({ ...given, waits });
      break;
  }
}

function addPart(record, id, kind, key, name, readings, versions, waits) {
  const told = Object.fromEntries(Object.entries(readings).map(([fact, text]) => [fact, { text, how: "measured", version: versions?.[fact] ?? "", waits }]));
  record.parts.push({ id, kind, key, name, readings: told, waits });
  record.taken_keys.push(key);
}

// As the server numbers them: after the highest that was ever given.
export function nextKey(record, kind) {
  const prefix = record.kit.kinds[kind].prefix;
  const numbers = record.taken_keys.map((key) => new RegExp(`^${prefix}(\\d{1,6})$`).exec(key)?.[1] ?? 0).map(Number);
  return `${prefix}${Math.max(0, ...numbers) + 1}`;
}

// The part, and all that cannot be without it.
export function falling(record, part) {
  const gone = [part];
  for (let grew = true; grew;) {
    grew = false;
    for (const one of record.parts) {
      if (gone.includes(one)) continue;
      const needs = Object.entries(record.kit.kinds[one.kind].facts).filter(([, fact]) => fact.kind === "reference" && fact.required);
      if (needs.some(([name]) => gone.some((other) => [other.id, other.key].includes(one.readings[name]?.text)))) {
        gone.push(one);
        grew = true;
      }
    }
  }
  return gone;
}

function takeOut(record, part) {
  const gone = falling(record, part);
  record.parts = record.parts.filter((one) => !gone.includes(one));
  for (const one of record.parts) {
    for (const [name, fact] of Object.entries(record.kit.kinds[one.kind].facts)) {
      if (fact.kind === "reference" && gone.some((other) => [other.id, other.key].includes(one.readings[name]?.text))) delete one.readings[name];
    }
  }
}

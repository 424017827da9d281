// The panel of verdicts of one link, laid out as the server's page does it (templates/inspections/survey/_verdicts.html).
import { element, made } from "../offline/draw.js";
import { propose } from "../offline/findings.js";

export const capitalised = (words) => words.charAt(0).toUpperCase() + words.slice(1);
const withClass = (tag, className, ...inside) => { const one = element(tag, "", { className }); one.append(...inside); return one; };
const strong = (words, className = "") => element("strong", words, { className });

// `shown` is the answer of inspections/survey/tablet.py.
export function drawPanel(shown, now) {
  const box = document.getElementById("verdicts");
  if (!box) return;
  const { failing, apart, open, holding } = shown.panel;
  const found = [element("h2", "What it carries", { id: "verdicts-title" }), workedOut(now)];
  if (shown.contradictions.length) found.push(element("p", "Nothing is judged while the record contradicts itself."));
  else if (![failing, apart, open, holding].some((group) => group.length)) found.push(element("p", "Nothing is judged here yet: record a part and its measures.", { className: "soft" }));
  const group = (words, checks, isFailing) => { if (checks.length) found.push(element("h3", words, { className: "verdict-head" }), ...checks.map((one) => check(one, isFailing, shown, now))); };
  group("Not good enough", failing, true);
  group("Calculation and published rule differ", apart, true);
  group("To find out", open, false);
  if (holding.length) found.push(folded(`Holds (${shown.standing.holds})`, holding.map((one) => check(one, false, shown, now)), "holding"));
  found.push(withClass("div", "caution", element("p", shown.caution)));
  box.replaceChildren(...found);
}

export function workedOut(now) {
  return element("p", `Worked out on this tablet with the engine ${now.judging.version}. The server works it out again when there is signal.`, { className: "small soft by-tablet" });
}

function folded(words, inside, className = "") {
  const box = element("details", "", { className });
  box.append(element("summary", words), ...inside);
  return box;
}

const listOf = (items) => withClass("ul", "", ...items.map((words) => element("li", words)));

function check(one, isFailing, shown, now) {
  const alike = one.others.length ? `, and ${one.others.length} more alike` : "";
  const box = withClass("article", "check", withClass("div", "check-head", element("h4", one.title), element("span", one.subject + alike, { className: "soft" })));
  if (one.is_open) {
    box.append(withClass("p", "", made(now.kit.find_out ?? "<strong>Find out</strong>")), element("p", capitalised(one.reason)));
    if (one.settles.length) box.append(withClass("p", "settles", strong("What would settle it:")), listOf(one.settles));
  }
  box.append(withClass("div", "witnesses", ...one.witnesses.map(witness)));
  if (one.why_apart) box.append(withClass("p", "apart", strong("Why the two differ:"), ` ${one.why_apart}.`));
  if (one.assumptions.length) box.append(folded(`Taken for granted (${one.assumptions.length})`, [listOf(one.assumptions)]));
  if (one.from_memory.length) box.append(element("p", `From memory, to be confirmed against the code: ${one.from_memory.join("; ")}`, { className: "source" }));
  if (one.steps.length) box.append(folded(`Every step (${one.steps.length})`, [table(`Steps: ${one.title}`, "steps", STEPS, one.steps)]));
  if (one.others.length) box.append(folded(`The ${one.others.length} others`, [table(`${one.title}: the others alike, ${one.key}`, "", OTHERS, one.others)]));
  if (isFailing) box.append(toFinding(one, shown, now));
  return box;
}

function witness(one) {
  const method = one.method === "calculation" ? "By calculation" : "By the published rule";
  const box = withClass("div", "witness", element("p", method + (one.is_twin ? `: ${one.title.toLowerCase()}` : ""), { className: "eyebrow" }));
  if (one.is_open) box.append(element("p", `Cannot be told: ${one.reason}`));
  else {
    if (one.gauge) box.append(made(one.gauge));
    if (one.reason) box.append(element("p", capitalised(one.reason)));
    else if (one.demand) box.append(numbers(one));
  }
  box.append(element("p", one.citation, { className: "source" }));
  return box;
}

function numbers({ demand, capacity, governs, is_length }) {
  const [must, can] = [strong(demand, "number"), strong(capacity, "number")];
  if (is_length) return withClass("p", "", must, " against ", can, governs ? ` (${governs}).` : ".");
  return withClass("p", "", "Must carry ", must, ", can carry ", can, governs ? `; ${governs} governs.` : ".");
}

const STEPS = [["Symbol", "symbol"], ["Formula", "formula"], ["Put in", "inputs"], ["Gives", "value", "number"], ["Source", "source"]];
const OTHERS = [["Where", "subject"], ["Must carry", "demand", "number"], ["Can carry", "capacity", "number"], ["Of it", "percent", "number"]];

function table(label, className, columns, rows) {
  const head = withClass("tr", "", ...columns.map(([words, , kind = ""]) => element("th", words, { scope: "col", className: kind })));
  const body = rows.map((row) => withClass("tr", "", ...cells(columns, row)));
  const inside = withClass("table", className, withClass("thead", "", head), withClass("tbody", "", ...body));
  const box = withClass("div", "table-wrap", inside);
  box.tabIndex = 0;
  box.setAttribute("role", "region");
  box.setAttribute("aria-label", label);
  return box;
}

function cells(columns, row) {
  if (columns === OTHERS && !row.percent) return [element("td", row.subject), element("td", row.reason, { colSpan: 3 })];
  return columns.map(([, name, kind = ""]) => element("td", row[name], { className: kind }));
}

function toFinding(one, shown, now) {
  const box = element("p");
  if (one.has_finding) box.append(element("span", "A finding stands for this. ", { className: "soft" }));
  const query = `link=${encodeURIComponent(shown.link).replaceAll("%20", "+")}&${one.query}&next=${encodeURIComponent(location.pathname)}`;
  const link = element("a", "Record as a finding", { className: `button small${one.has_finding ? " quiet" : ""}`, href: `/visits/${now.visit}/findings/new/?${query}` });
  link.addEventListener("click", () => propose(one.proposal));
  box.append(link);
  return box;
}

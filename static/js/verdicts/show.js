// On the pages of the walk without signal: the verdicts as this tablet works them out, where the server's would stand.
import { record, visit } from "../offline/catch.js";
import { element, made } from "../offline/draw.js";
import { waiting } from "../offline/outbox.js";
import { partOf } from "../offline/record.js";
import { ask, isRunning, stop } from "./ask.js";
import { capitalised, drawPanel, workedOut } from "./panel.js";
import { isKept } from "./keep.js";

const walk = `/visits/${visit}/walk/`;
const slug = /\/walk\/([^/]+)\/$/.exec(location.pathname)?.[1] ?? "";
const WITH_SIGNAL = "Verdicts come with the signal: what you enter now is judged when it has been sent.";
const SOON_MS = 30; // one entry is told of twice
let soon, isAsking = false, wasAskedAgain = false, isOurs = false;

async function isWanted() {
  return visit > 0 && (document.documentElement.hasAttribute("data-kept") || (await waiting(visit)).length > 0);
}

function look() {
  clearTimeout(soon);
  soon = setTimeout(judge, SOON_MS);
}

// One at a time, and the last word counts: what was entered while the engine ran is judged next.
async function judge() {
  if (isAsking) { wasAskedAgain = true; return; }
  isAsking = true;
  try {
    if (await isWanted()) await judgeRecord();
  } finally {
    isAsking = false;
    if (wasAskedAgain) { wasAskedAgain = false; look(); }
  }
}

async function judgeRecord() {
  const now = await record();
  if (!now?.judging) return say(WITH_SIGNAL, "judged when there is signal");
  if (!isRunning()) {
    if (!(await isKept(now.judging))) return say(`${WITH_SIGNAL} What works them out was not taken along: open Today with signal before you leave.`, "judged when there is signal");
    say("Getting ready to judge on this tablet.", "getting ready to judge");
  }
  let shown;
  try {
    shown = JSON.parse(await ask("show", now.judging, JSON.stringify(question(now))));
  } catch (problem) {
    stop();
    return say(`${WITH_SIGNAL} This tablet could not work them out (${problem.message.trim().split("\n").at(-1)}).`, "judged when there is signal");
  }
  draw(shown, now);
}

function question(now) {
  const { title, basis, parts } = now;
  const answered = now.findings.map((one) => [one.fields?.check_id ?? one.check ?? "", partOf(now, one.fields?.part ?? one.part)?.key ?? ""]);
  const chosen = document.querySelector(".fasteners .chosen .key")?.textContent ?? "";
  return { kept: { title, basis, parts }, walk, slug, chosen, answered };
}

// No verdict of ours yet: those of the server go, they do not know what was entered since.
function say(words, line) {
  if (!isOurs) {
    const panel = document.getElementById("verdicts");
    const caution = panel?.querySelector(".caution");
    panel?.replaceChildren(element("h2", "What it carries", { id: "verdicts-title" }), element("p", words, { role: "status" }), ...(caution ? [caution] : []));
    document.querySelectorAll("main .link-verdict").forEach((one) => one.remove());
    document.querySelectorAll("main .part-state").forEach((one) => { one.textContent = ""; });
    sayDrawnBefore();
  }
  const place = document.querySelector("#verdict-line .line-words");
  if (place) place.textContent = line;
}

function sayDrawnBefore() {
  const plan = document.getElementById("plan-title");
  if (!plan || document.getElementById("plan-is-old")) return;
  plan.closest("section").prepend(element("p", "Drawn when there was signal last; what waits on this tablet is not in it.", { id: "plan-is-old", className: "notice" }));
}

function draw(shown, now) {
  isOurs = true;
  drawContradictions(shown.contradictions, shown.misfits);
  drawNotRead(shown.not_read);
  drawStandings(now, shown.standings);
  if (slug) {
    drawChain(shown.chain);
    drawWanted(shown.wanted);
    drawPanel(shown, now);
    drawLine(shown);
    for (const [key, svg] of Object.entries(shown.strips)) document.getElementById(`strip-${key}`)?.replaceChildren(made(svg));
    drawFastenerVerdicts(shown.standings);
  } else {
    drawLinks(shown.chain, now);
    drawLoose(shown.loose);
    drawNext(shown.settlers);
    drawDrawings(shown);
  }
}

function listOf(items, tag = "ul") {
  const list = element(tag);
  for (const { words, where } of items) {
    const item = element("li");
    item.append(where ? element("a", words, { href: where }) : words);
    list.append(item);
  }
  return list;
}

function drawContradictions(found, misfits) {
  const box = document.getElementById("contradictions");
  if (!box) return;
  box.replaceChildren();
  const say = (words, items, kind) => {
    if (!items.length) return;
    const notice = element("div", "", { className: kind }), head = element("p");
    head.append(element("strong", words));
    notice.append(head, listOf(items));
    box.append(notice);
  };
  say("The record contradicts itself, so nothing is judged yet.", found, "notice problem");
  say("These measures do not fit together. Look again which of them was misread.", misfits, "notice");
}

// What the server will refuse when it comes: said now, while the tape is still in the hand.
function drawNotRead(found) {
  document.querySelectorAll(".errorlist.not-read").forEach((one) => one.remove());
  for (const { key, fact, reason } of found) {
    const list = element("ul", "", { className: "errorlist not-read" });
    list.setAttribute("role", "alert");
    list.append(element("li", `Not judged: ${reason}`));
    document.getElementById(`fact-${key}-${fact}`)?.prepend(list);
  }
}

const STANDING_WORDS = { fails: "not good enough", "cannot tell": "to find out", holds: "holds" };

function drawStandings(now, standings) {
  for (const { key } of now.parts) {
    const place = document.getElementById(`standing-${key}`);
    if (!place) continue;
    place.textContent = STANDING_WORDS[standings[key]] ?? "not judged yet";
    place.className = `part-state part-state-${(standings[key] ?? "").replace(" ", "-")}`;
  }
}

function drawWanted(wanted) {
  for (const place of document.querySelectorAll(".wanted")) {
    const [, key, name] = /^wanted-fact-([^-]+)-(.+)$/.exec(place.id) ?? [];
    const titles = wanted[`${key}.${name}`] ?? [];
    place.textContent = titles.length ? `wanted for: ${titles[0].toLowerCase()}${titles.length > 1 ? ` and ${titles.length - 1} more` : ""}` : "";
  }
}

function drawChain(chain) {
  for (const link of chain) {
    const place = document.querySelector(`#chain a[href$="/${link.slug}/"]`);
    if (!place) continue;
    place.querySelector(".knot").setAttribute("class", `knot knot-${link.word}`);
    place.querySelector(".link-state").textContent = link.state;
  }
}

function countsOf(standing) {
  const found = [];
  if (standing.fails) found.push(element("strong", `${standing.fails} not good enough`));
  for (const [name, words] of [["apart", "with two answers"], ["open", "to find out"], ["holds", "hold"]]) if (standing[name]) found.push(element("span", `${standing[name]} ${words}`));
  return found;
}

function drawLine({ title, contradictions, standing }) {
  const place = document.querySelector("#verdict-line .line-words");
  if (!place) return;
  document.querySelector("#verdict-line strong").textContent = title;
  if (contradictions.length) return place.replaceChildren(element("span", "not judged: the record contradicts itself"));
  if (!standing.judged) return place.replaceChildren(element("span", "nothing judged yet"));
  const [first, ...others] = countsOf(standing);
  place.replaceChildren(standing.fails ? element("b", `${first.textContent}${standing.percent ? `, ${standing.percent}` : ""}`, { className: "over" }) : first, ...others);
}

function drawFastenerVerdicts(standings) {
  for (const row of document.querySelectorAll(".fasteners tbody tr[id^='fastener-']")) {
    const head = row.closest("table").querySelector("thead tr");
    if (head.lastElementChild.textContent !== "Verdict") head.append(element("th", "Verdict", { scope: "col" }));
    if (row.children.length < head.children.length) row.append(element("td"));
    row.lastElementChild.textContent = STANDING_WORDS[standings[row.id.slice("fastener-".length)]] ?? "";
  }
}

// --- the overview ----------------------------------------------------------------------------------------------------
function drawLinks(chain, now) {
  for (const link of chain) {
    const place = document.querySelector(`.chain.links a[href$="/${link.slug}/"]`);
    if (!place) continue;
    place.querySelector(".knot").setAttribute("class", `knot knot-${link.word}`);
    place.querySelector(".link-state").textContent = [link.counted, link.open].filter(Boolean).join(" · ");
    place.querySelector(".link-verdict")?.remove();
    if (!link.standing?.judged) continue;
    const verdict = element("span", "", { className: "link-verdict" });
    if (link.gauge) verdict.append(made(link.gauge));
    const counts = element("span", "", { className: "counts" });
    counts.append(...countsOf(link.standing));
    verdict.append(counts);
    place.querySelector(".link-state").after(verdict);
  }
  document.querySelector(".by-tablet")?.remove();
  document.getElementById("chain-title")?.closest(".sheet-head").after(workedOut(now));
}

function drawLoose(found) {
  const box = document.getElementById("loose");
  if (!box) return;
  box.replaceChildren();
  if (!found.length) return;
  const notice = element("div", "", { className: "notice" });
  notice.append(element("p", "These parts are recorded but not judged yet:"), listOf(found));
  box.append(notice);
}

function drawNext(found) {
  const box = document.getElementById("next");
  if (!box) return;
  box.replaceChildren();
  if (!found.length) return;
  const sheet = element("section", "", { className: "sheet" });
  sheet.setAttribute("aria-labelledby", "next-title");
  const list = listOf(found.map((one) => ({ ...one, words: capitalised(one.words) })), "ol");
  list.className = "next";
  found.forEach(({ settles, touches }, number) => {
    const words = settles ? `settles ${settles} ${settles === 1 ? "verdict" : "verdicts"}` : `part of ${touches} open ${touches === 1 ? "verdict" : "verdicts"}`;
    list.children[number].append(" ", element("span", words, { className: "soft" }));
  });
  sheet.append(element("h2", "What to measure next", { id: "next-title" }), list);
  box.append(sheet);
}

function drawDrawings({ plan, plan_missing, section, section_missing }) {
  const box = document.getElementById("drawings");
  if (!box) return;
  const planSheet = drawingSheet("plan-title", "Plan", "To scale, seen from above. Tap a part to go to it.", plan);
  if (!plan.length) planSheet.append(element("p", "There is no plan yet. Record the width of the level and the span of its joists, and it is drawn from them.", { className: "empty" }));
  if (plan_missing.length) {
    const more = element("details");
    more.append(element("summary", `Not in the plan, or not to be relied on in it (${plan_missing.length})`), listOf(plan_missing.map((words) => ({ words }))));
    planSheet.append(more);
  }
  const sectionSheet = drawingSheet("section-title", "Section", section ? "Cut from the house outwards, to scale." : "", section ? [section] : []);
  if (section_missing.length) sectionSheet.append(section ? listOf(section_missing.map((words) => ({ words }))) : element("p", section_missing[0], { className: "empty" }));
  box.replaceChildren(planSheet, sectionSheet);
}

function drawingSheet(id, title, words, drawings) {
  const sheet = element("section", "", { className: "sheet" });
  sheet.setAttribute("aria-labelledby", id);
  const head = element("div", "", { className: "sheet-head" });
  head.append(element("h2", title, { id }), element("p", words, { className: "small soft" }));
  sheet.append(head);
  for (const svg of drawings) {
    const box = element("div", "", { className: "drawing" });
    box.append(made(svg));
    sheet.append(box);
  }
  return sheet;
}

for (const name of ["verdicts:wanted", "outbox:changed"]) document.addEventListener(name, look);
look();

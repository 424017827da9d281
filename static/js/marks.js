// Drawing on a photo: a finger, a pen or the mouse over the picture, and a list that says and does the same by keyboard.
// The shapes are those of inspections/drawings/marks.py, which draws what is saved; a browser test compares the two.
import { plates, shape } from "./mark_shapes.js";

document.documentElement.classList.add("has-script");

const form = document.querySelector("form[data-marks]");
const find = (name) => form.querySelector(`[data-${name}]`);
const stage = find("stage");
const over = find("over");
const list = find("list");
const [, , width, height] = over.getAttribute("viewBox").split(" ").map(Number);
const NAMES = Object.fromEntries([...form.querySelectorAll('[name="tool"]')].map((one) => [one.value, one.parentElement.textContent]));
const NEAR_PX = 26; // how far a finger may miss
const STEP = 16; // of the sheet's 1600 units, for one press of an arrow key
const draftKey = `marks-of-${form.dataset.marks}-${form.elements.before.value}`;

let marks = JSON.parse(document.getElementById("marks-now").textContent);
let chosen = -1;
let isDirty = false;
const undone = []; // what stood before each change

const say = (words, isProblem = false) => {
  const place = find("status");
  place.textContent = words;
  place.classList.toggle("is-problem", isProblem);
};
const nameOf = (place) => `${NAMES[marks[place].kind]} ${marks.slice(0, place + 1).filter((one) => one.kind === marks[place].kind).length}`;
const within = (value) => Math.min(1, Math.max(0, Math.round(value * 1e4) / 1e4));

const remember = () => {
  undone.push(JSON.stringify(marks));
  isDirty = true;
};
const keepDraft = () => {
  try { localStorage.setItem(draftKey, JSON.stringify(marks)); } catch { /* a full or closed store costs only the draft */ }
};

const scaleOf = () => over.getBoundingClientRect().width / width || 1;
// On a small screen strokes and letters are drawn larger, so that the words can be read: 40 units are their height.
const weight = () => Math.min(2.5, Math.max(1, 15 / (40 * scaleOf())));

const draw = () => {
  const ends = (mark) => ["1", "2"].filter((end) => `x${end}` in mark);
  const scale = scaleOf();
  const worded = marks.map((mark) => (mark.kind === "text" && !mark.text ? { ...mark, text: "…" } : mark));
  over.innerHTML = marks.map((mark) => shape(mark, width, height, weight())).join("")
    + plates(worded, width, height, weight())
    + (marks[chosen] ? ends(marks[chosen]).map((end) => `<circle cx="${marks[chosen][`x${end}`] * width}" cy="${marks[chosen][`y${end}`] * height}" r="${11 / scale}" fill="#fffdf9" stroke="#1b4b5a" stroke-width="${4 / scale}"/>`).join("") : "");
  for (const [place, row] of [...list.children].entries()) {
    row.querySelector(".mark-name").setAttribute("aria-pressed", String(place === chosen));
  }
  find("none").hidden = marks.length > 0;
  find("undo").disabled = undone.length === 0;
  find("move").hidden = chosen < 0;
  if (chosen >= 0) {
    find("chosen").textContent = nameOf(chosen);
    find("ends").hidden = marks[chosen].kind === "text";
  }
};

const choose = (place) => {
  chosen = place;
  form.querySelector('[name="moves"][value="all"]').checked = true;
  draw();
};

const element = (tag, attributes, text = "") => {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  made.textContent = text;
  return made;
};

const row = (mark, place) => {
  const item = element("li", {});
  const name = element("button", { type: "button", class: "button quiet small mark-name" }, nameOf(place));
  name.addEventListener("click", () => choose(place));
  name.addEventListener("keydown", (event) => keyOn(place, event));
  const away = element("button", { type: "button", class: "button quiet small" }, "Take away");
  away.setAttribute("aria-label", `Take away ${nameOf(place)}`);
  away.addEventListener("click", () => takeAway(place));
  const label = element("label", {}, mark.kind === "line" ? "What it measures" : "Its words");
  const input = element("input", { type: "text", maxlength: form.dataset.longest, autocomplete: "off", enterkeyhint: "done" });
  input.setAttribute("aria-label", `${label.textContent}, ${nameOf(place)}`);
  input.value = mark.text;
  input.addEventListener("focus", () => choose(place));
  input.addEventListener("keydown", (event) => { if (event.key === "Enter") event.preventDefault(); });
  let isRemembered = false;
  input.addEventListener("blur", () => { isRemembered = false; });
  input.addEventListener("input", () => {
    if (!isRemembered) remember();
    isRemembered = true;
    marks[place].text = input.value;
    keepDraft();
    draw();
  });
  label.append(input);
  item.append(name, away, label);
  return item;
};

const rebuild = () => {
  list.replaceChildren(...marks.map(row));
  draw();
};

const takeAway = (place) => {
  const name = nameOf(place);
  remember();
  marks.splice(place, 1);
  chosen = -1;
  keepDraft();
  rebuild();
  say(`${name} is taken away.`);
  (list.children[Math.min(place, marks.length - 1)]?.querySelector(".mark-name") ?? find("middle")).focus();
};

const add = (mark) => {
  if (marks.length >= Number(form.dataset.most)) {
    say(`A photo may have ${form.dataset.most} marks. Take some away.`, true);
    return;
  }
  remember();
  marks.push(mark);
  chosen = marks.length - 1;
  keepDraft();
  rebuild();
  say(`${nameOf(chosen)} is drawn.`);
  if (mark.kind === "text" || mark.kind === "line") list.lastElementChild.querySelector("input").focus({ preventScroll: mark.kind === "line" });
};

// dx and dy are shares of the picture. The whole mark stops at the edge without changing its shape.
const shift = (mark, dx, dy, what) => {
  const ends = what === "all" || mark.kind === "text" ? ["1", "2"].filter((end) => `x${end}` in mark) : [what];
  const limit = (axis, by) => {
    const values = ends.map((end) => mark[axis + end]);
    return Math.min(1 - Math.max(...values), Math.max(-Math.min(...values), by));
  };
  const [byX, byY] = [limit("x", dx), limit("y", dy)];
  for (const end of ends) {
    mark[`x${end}`] = within(mark[`x${end}`] + byX);
    mark[`y${end}`] = within(mark[`y${end}`] + byY);
  }
};

const nudge = (place, dx, dy, what) => {
  remember();
  shift(marks[place], (dx * STEP) / width, (dy * STEP) / height, what);
  keepDraft();
  draw();
  const end = what === "2" ? "2" : "1";
  const of = what === "all" || marks[place].kind === "text" ? "" : what === "1" ? ", start" : ", end";
  say(`${nameOf(place)}${of}: ${Math.round(100 * marks[place][`x${end}`])} % from the left, ${Math.round(100 * marks[place][`y${end}`])} % from the top.`);
};

const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
const keyOn = (place, event) => {
  if (event.key === "Delete" || event.key === "Backspace") {
    event.preventDefault();
    takeAway(place);
  } else if (ARROWS[event.key]) {
    event.preventDefault();
    if (chosen !== place) choose(place);
    nudge(place, ...ARROWS[event.key], event.shiftKey ? "2" : "all");
  }
};

for (const button of form.querySelectorAll("[data-nudge]")) {
  button.addEventListener("click", () => {
    nudge(chosen, ...button.dataset.nudge.split(" ").map(Number), form.elements.moves.value);
  });
}

const tool = () => form.elements.tool.value;
const made = (kind, x, y, dx, dy) => (kind === "text" ? { kind, x1: x, y1: y, text: "" } : { kind, x1: x, y1: y, x2: within(x + dx), y2: within(y + dy), text: "" });

find("middle").addEventListener("click", () => {
  const kind = tool() === "move" ? "arrow" : tool();
  add(kind === "text" ? made(kind, 0.5, 0.5) : made(kind, 0.4, 0.4, 0.2, kind === "line" ? 0 : 0.2));
  if (kind !== "text" && kind !== "line") list.lastElementChild.querySelector(".mark-name").focus();
});

find("undo").addEventListener("click", () => {
  if (!undone.length) return;
  marks = JSON.parse(undone.pop());
  chosen = -1;
  keepDraft();
  rebuild();
  say("The last change is undone.");
});

// --- pointer ---

const pointOf = (event) => {
  const box = over.getBoundingClientRect();
  return [within((event.clientX - box.left) / box.width), within((event.clientY - box.top) / box.height)];
};
// Distances are measured on the screen: a finger is as wide on a small photo as on a large one.
const distancePx = (ax, ay, bx, by) => {
  const box = over.getBoundingClientRect();
  return Math.hypot((ax - bx) * box.width, (ay - by) * box.height);
};
const fromMarkPx = (mark, x, y) => {
  if (mark.kind === "text") return distancePx(mark.x1, mark.y1, x, y);
  const places = Array.from({ length: 25 }, (_, step) => step / 24);
  if (mark.kind !== "circle") return Math.min(...places.map((t) => distancePx(mark.x1 + t * (mark.x2 - mark.x1), mark.y1 + t * (mark.y2 - mark.y1), x, y)));
  const [mx, my, rx, ry] = [(mark.x1 + mark.x2) / 2, (mark.y1 + mark.y2) / 2, (mark.x2 - mark.x1) / 2, (mark.y2 - mark.y1) / 2];
  return Math.min(...places.map((t) => distancePx(mx + rx * Math.cos(2 * Math.PI * t), my + ry * Math.sin(2 * Math.PI * t), x, y)));
};
const endAt = (x, y) => ["1", "2"].find((end) => chosen >= 0 && `x${end}` in marks[chosen] && distancePx(marks[chosen][`x${end}`], marks[chosen][`y${end}`], x, y) < NEAR_PX);

let drag = null;
stage.addEventListener("pointerdown", (event) => {
  if (drag || !event.isPrimary || event.button) return;
  event.preventDefault();
  document.activeElement?.blur?.(); // the words of the mark before are finished
  const [x, y] = pointOf(event);
  const end = endAt(x, y);
  if (end) {
    remember();
    drag = { what: marks[chosen].kind === "text" ? "all" : end, x, y };
  } else if (tool() === "move") {
    const near = marks.map((mark, place) => [fromMarkPx(mark, x, y), place]).sort((a, b) => a[0] - b[0])[0];
    choose(near && near[0] < 1.5 * NEAR_PX ? near[1] : -1);
    if (chosen < 0) return;
    remember();
    drag = { what: "all", x, y };
  } else {
    drag = { what: "new", mark: made(tool(), x, y, 0, 0), x, y };
  }
  stage.setPointerCapture(event.pointerId);
});

stage.addEventListener("pointermove", (event) => {
  if (!drag || !event.isPrimary) return;
  const [x, y] = pointOf(event);
  if (drag.what === "new") {
    if (drag.mark.kind === "text") [drag.mark.x1, drag.mark.y1] = [x, y];
    else [drag.mark.x2, drag.mark.y2] = [x, y];
    draw();
    over.insertAdjacentHTML("beforeend", shape(drag.mark, width, height, weight()));
  } else {
    shift(marks[chosen], x - drag.x, y - drag.y, drag.what);
    [drag.x, drag.y] = [x, y];
    draw();
  }
});

const letGo = (event, isCancelled = false) => {
  if (!drag || !event.isPrimary) return;
  const { what, mark } = drag;
  drag = null;
  if (what !== "new") {
    if (undone[undone.length - 1] === JSON.stringify(marks)) undone.pop(); // only touched
    keepDraft();
    draw();
  } else if (isCancelled) {
    draw();
  } else if (mark.kind === "text" || distancePx(mark.x1, mark.y1, mark.x2, mark.y2) > 8) {
    add(mark);
  } else {
    draw();
    say("Draw from one end to the other. To choose a mark that is there, take Move first.");
  }
};
stage.addEventListener("pointerup", (event) => letGo(event));
stage.addEventListener("pointercancel", (event) => letGo(event, true));
stage.addEventListener("dragstart", (event) => event.preventDefault());

// --- saving ---

const forget = () => {
  isDirty = false;
  try { localStorage.removeItem(draftKey); } catch { /* nothing was kept either */ }
};

// Without signal they wait with whatever else was entered, and are sent by themselves.
async function intoOutbox() {
  try {
    const { keep, person, send } = await import("./offline/outbox.js");
    if (!person) return false;
    const { marks: drawn, before } = form.elements;
    await keep(Number(form.dataset.visit), [["mark_photo", { photo: form.dataset.marks, marks: drawn.value, seen: before.value, label: "Marks on a photo" }]]);
    send();
  } catch {
    return false; // no storage, or none left: the draft stays
  }
  forget();
  say("No signal. The marks wait on this tablet and are sent by themselves.");
  return true;
}

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  form.elements.marks.value = JSON.stringify(marks.map((mark) => ({ ...mark, text: mark.text.trim() })).filter((mark) => mark.kind !== "text" || mark.text));
  find("save").disabled = true;
  say("Saving");
  try {
    const answer = await fetch(form.action, { method: "POST", body: new FormData(form), headers: { "HX-Request": "true" } });
    if (answer.status === 200) {
      forget();
      location.assign((await answer.json()).go_on);
      return;
    }
    if (answer.status === 422) say(await answer.text(), true);
    else if (answer.status === 204 || answer.status === 403) say("Not saved: you were signed out. The marks are kept on this tablet; load this page again, sign in, and save them.", true);
    else say(`Not saved: the server refused it (${answer.status}). The marks are kept on this tablet.`, true);
  } catch {
    if (await intoOutbox()) return;
    say("Not saved: no signal. The marks are kept on this tablet; save again when there is signal.", true);
  }
  find("save").disabled = false;
});
window.addEventListener("beforeunload", (event) => { if (isDirty) event.preventDefault(); });

try {
  const draft = localStorage.getItem(draftKey);
  if (draft && draft !== JSON.stringify(marks)) {
    undone.push(JSON.stringify(marks));
    marks = JSON.parse(draft);
    isDirty = true;
    say("Marks that were not saved yet are back. Save them, or undo.");
  }
} catch { /* no draft then */ }
new ResizeObserver(draw).observe(stage);
rebuild();

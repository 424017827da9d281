// Moving a visit in the calendar: by drag (mouse, pen, touch), by keyboard, by the buttons of the bar. Nothing is stored
// until "Put it there" is pressed, because the client is told of every move. Days and minutes are of the firm's clock.
const STEP = 15;
const HOLD_MS = 350; // how long a finger rests on a visit before it can be dragged; a shorter touch scrolls or opens
const SLACK_PX = 6;

let pending = null; // { block, visit, day, minute, length, inspector, who, place }
let ghost = null;
let drag = null;

const bar = () => document.getElementById("shift");
const addDays = (day, days) => new Date(Date.parse(`${day}T00:00Z`) + days * 86400000).toISOString().slice(0, 10);
const two = (number) => String(number).padStart(2, "0");
const asClock = (minute) => `${two(Math.floor(minute / 60))}:${two(minute % 60)}`;
const clockWords = (minute) => {
  const hour = Math.floor(minute / 60) % 24;
  return `${hour % 12 || 12}:${two(minute % 60)} ${hour < 12 ? "AM" : "PM"}`;
};
const dayWords = (day) => new Intl.DateTimeFormat("en-US", { weekday: "long", month: "long", day: "numeric", timeZone: "UTC" }).format(new Date(`${day}T00:00Z`));

const asItStands = (block) => ({
  block,
  visit: block.dataset.visit,
  version: block.dataset.version,
  day: block.dataset.day,
  minute: Number(block.dataset.minute),
  length: Number(block.dataset.length),
  inspector: block.dataset.inspector,
  who: block.dataset.who,
  place: block.dataset.place,
});
const isMoved = (one) => {
  const was = asItStands(one.block);
  return ["day", "minute", "length", "inspector"].some((name) => one[name] !== was[name]);
};

const showGhost = () => {
  ghost?.remove();
  ghost = null;
  document.querySelectorAll(".cell.is-over").forEach((cell) => cell.classList.remove("is-over"));
  if (!pending || !isMoved(pending)) return;
  const cell = document.querySelector(`.cell[data-day="${pending.day}"]`);
  if (cell) {
    cell.classList.add("is-over");
    return;
  }
  const column = [...document.querySelectorAll(`.column[data-day="${pending.day}"]`)].find((one) => !one.dataset.inspector || one.dataset.inspector === pending.inspector);
  if (!column) return;
  const row = Math.max(0, pending.minute / STEP - Number(column.dataset.first) * 4);
  if (row >= Number(column.dataset.quarters)) return;
  ghost = document.createElement("div");
  ghost.className = "block is-ghost";
  ghost.setAttribute("aria-hidden", "true");
  const span = Math.min(Math.ceil(pending.length / STEP), Number(column.dataset.quarters) - row);
  ghost.style.gridRow = `${Math.floor(row) + 1} / span ${span}`;
  ghost.style.gridColumn = "1 / -1";
  ghost.textContent = `${clockWords(pending.minute)} ${pending.place}`;
  column.querySelector(".quarters").append(ghost);
};

const show = () => {
  const form = bar();
  document.querySelectorAll(".block.is-leaving").forEach((block) => block.classList.remove("is-leaving"));
  showGhost();
  if (!pending) {
    form.hidden = true;
    return;
  }
  pending.block.classList.toggle("is-leaving", isMoved(pending));
  form.elements.visit.value = pending.visit;
  form.elements.version.value = pending.version;
  form.elements.day.value = pending.day;
  form.elements.time.value = asClock(pending.minute);
  form.elements.length_minutes.value = pending.length;
  form.elements.inspector.value = pending.inspector;
  const words = `${pending.place}: ${dayWords(pending.day)}, ${clockWords(pending.minute)} to ${clockWords(pending.minute + pending.length)}, ${pending.who}.`;
  document.getElementById("shift-words").textContent = isMoved(pending) ? `${words} Not stored yet: the client is told once it is put there.` : `${words} As it stands.`;
  form.hidden = false;
};

const change = (name, by) => {
  if (name === "day") pending.day = addDays(pending.day, by);
  if (name === "minute") pending.minute = Math.min(1440 - STEP, Math.max(0, pending.minute + by));
  if (name === "length") pending.length = Math.min(600, Math.max(STEP, pending.length + by));
  show();
};

const leave = () => {
  const block = pending?.block;
  pending = null;
  show();
  block?.focus();
};

const KEYS = { ArrowUp: ["minute", -STEP], ArrowDown: ["minute", STEP], ArrowLeft: ["day", -1], ArrowRight: ["day", 1] };

document.addEventListener("keydown", (event) => {
  if (event.key === "Escape" && drag) return stopDrag(false);
  if (event.key === "Escape" && pending) return leave();
  const block = event.target.closest?.(".block[data-visit]");
  if (!block || event.ctrlKey || event.altKey || event.metaKey) return;
  if (event.key === "Enter" && pending?.block === block && isMoved(pending)) {
    event.preventDefault();
    bar().requestSubmit();
    return;
  }
  const step = KEYS[event.key];
  if (!step || (event.shiftKey && step[0] === "day")) return;
  event.preventDefault();
  if (pending?.block !== block) pending = asItStands(block);
  change(event.shiftKey ? "length" : step[0], step[1]);
});

document.addEventListener("click", (event) => {
  const step = event.target.closest?.("[data-step]");
  if (step && pending) {
    const [name, by] = step.dataset.step.split(":");
    change(name, Number(by));
  }
  if (event.target.closest?.("[data-leave]")) leave();
});

// --- drag ---------------------------------------------------------------------------------------------------------

const targetUnder = (event) => document.elementsFromPoint(event.clientX, event.clientY).map((one) => one.closest(".column, .cell")).find(Boolean);

const minuteAt = (column, y) => {
  const box = column.querySelector(".quarters").getBoundingClientRect();
  return Number(column.dataset.first) * 60 + ((y - box.top) / box.height) * Number(column.dataset.quarters) * STEP;
};

const startDrag = () => {
  drag.isOn = true;
  clearTimeout(drag.timer);
  pending = asItStands(drag.block);
  if (drag.isTouch) navigator.vibrate?.(20);
  document.documentElement.classList.add("is-dragging");
  show();
};

const stopDrag = (isKept) => {
  const was = drag;
  drag = null;
  clearTimeout(was.timer);
  document.documentElement.classList.remove("is-dragging");
  if (!was.isOn) return;
  // The click that ends a drag must not open the visit. It comes at once or, if the pointer is elsewhere, never; a click
  // on anything else is a press of its own, however late the timer below may be.
  const swallow = (event) => { if (was.block.contains(event.target)) { event.preventDefault(); event.stopPropagation(); } };
  addEventListener("click", swallow, { capture: true, once: true });
  setTimeout(() => removeEventListener("click", swallow, { capture: true }), 50);
  if (!isKept || !isMoved(pending)) leave();
};

const follow = (event) => {
  const target = targetUnder(event);
  if (drag.isEdge) {
    const column = drag.block.closest(".column");
    if (column) pending.length = Math.min(600, Math.max(STEP, Math.round((minuteAt(column, event.clientY) - pending.minute) / STEP) * STEP));
  } else if (target) {
    pending.day = target.dataset.day;
    if (target.dataset.inspector) [pending.inspector, pending.who] = [target.dataset.inspector, target.dataset.who];
    if (target.classList.contains("column")) {
      const minute = Math.round((minuteAt(target, event.clientY) - drag.grip) / STEP) * STEP;
      pending.minute = Math.min(1440 - STEP, Math.max(0, minute));
    }
  }
  show();
};

document.addEventListener("pointerdown", (event) => {
  const block = event.target.closest?.(".block[data-visit]");
  if (!block || event.button !== 0 || drag) return;
  const column = block.closest(".column");
  drag = {
    block, isOn: false, isTouch: event.pointerType === "touch", since: event.timeStamp, x: event.clientX, y: event.clientY,
    isEdge: Boolean(event.target.closest(".edge")),
    grip: column ? minuteAt(column, event.clientY) - Number(block.dataset.minute) : 0,
  };
  if (drag.isTouch) drag.timer = setTimeout(startDrag, HOLD_MS);
});
document.addEventListener("pointermove", (event) => {
  if (!drag) return;
  if (!drag.isOn) {
    if (Math.hypot(event.clientX - drag.x, event.clientY - drag.y) < SLACK_PX) return;
    // A finger that moves at once scrolls. How long it rested is told by the events: a slow tablet's timer comes late.
    if (drag.isTouch && event.timeStamp - drag.since < HOLD_MS) return stopDrag(false);
    startDrag();
  }
  follow(event);
});
document.addEventListener("pointerup", () => drag && stopDrag(true));
document.addEventListener("pointercancel", () => drag && stopDrag(false));
document.addEventListener("touchmove", (event) => { if (drag?.isOn) event.preventDefault(); }, { passive: false });
document.addEventListener("contextmenu", (event) => { if (drag?.isTouch) event.preventDefault(); });
document.addEventListener("dragstart", (event) => { if (event.target.closest?.(".block")) event.preventDefault(); });

// --- after a move: the calendar is new; whoever moved by keyboard is where he or she was -----------------------------
document.addEventListener("htmx:afterSwap", () => {
  pending = null;
  const calendar = document.getElementById("calendar");
  const block = calendar?.dataset.focus && document.getElementById(calendar.dataset.focus);
  if (block) block.focus({ preventScroll: true });
});

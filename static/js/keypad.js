// A keypad for lengths: feet, inches and sixteenths with large keys, or millimetres. It writes plain text into the field
// (12' 3 1/2", 95 mm), so that nothing depends on it: the field takes the same text from any keyboard.
import { feetAndInches, inches } from "./lengths.js";

const FRACTIONS = ["1/16", "1/8", "3/16", "1/4", "5/16", "3/8", "7/16", "1/2", "9/16", "5/8", "11/16", "3/4", "13/16", "7/8", "15/16"];
let pad, field, before, units = "us", wasTouched = false;

export function watchLengths(root) {
  root.addEventListener("pointerdown", (event) => {
    wasTouched = event.pointerType !== "mouse";
    const wanted = event.target.closest?.("input[data-keypad]");
    // Before the focus: the keyboard of the tablet must not come up for a moment first.
    if (wanted && wasTouched && !wanted.dataset.letters) wanted.inputMode = "none";
  });
  root.addEventListener("focusin", (event) => {
    const wanted = event.target.closest?.("input[data-keypad]");
    if (wanted && wasTouched && !wanted.dataset.letters) open(wanted);
    else if (field && event.target !== field && !pad.contains(event.target)) close();
  });
  root.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && field) close();
  });
}

function open(wanted) {
  if (field === wanted) return;
  if (field) close();
  pad ||= build();
  field = wanted;
  before = wanted.value;
  units = /m\s*$/.test(wanted.value) ? "mm" : units;
  pad.dataset.units = units;
  pad.classList.toggle("for-several", wanted.dataset.keypad === "lengths");
  pad.querySelector(".for").textContent = wanted.dataset.label || "Length";
  pad.querySelector("[data-key='comma']").hidden = wanted.dataset.keypad !== "lengths";
  pad.show();
  document.body.classList.add("has-keypad");
  wanted.focus();
  (wanted.closest(".fact, .pattern, .start-grid > div") ?? wanted).scrollIntoView({ behavior: "instant", block: roomAbove(wanted) ? "nearest" : "start" });
  wanted.addEventListener("blur", onBlur);
  read();
}

// Whether the field can be seen above the pad as the page stands.
function roomAbove(wanted) {
  const own = wanted.getBoundingClientRect();
  return own.top > 100 && own.bottom < pad.getBoundingClientRect().top - 8;
}

function onBlur(event) {
  if (pad.contains(event.relatedTarget)) return;
  close();
}

function close() {
  const closed = field;
  if (!closed) return;
  field = null;
  closed.removeEventListener("blur", onBlur);
  pad.close();
  document.body.classList.remove("has-keypad");
  // What was written by the keypad is no change to the browser: say it, so that it is saved.
  if (closed.value !== before) closed.dispatchEvent(new Event("change", { bubbles: true }));
}

function press(key) {
  const items = field.value.split(/([,;]\s*|\s+or\s+)/i);
  let one = items.pop();
  if (key === "clear") {
    one = "";
    if (field.dataset.keypad !== "lengths") items.length = 0; // of a doubt ("8 or 10") nothing stays; a list loses its last one
  }
  else if (key === "back") one = one ? one.replace(/(\s*\d+\/\d+|\s*mm|.)\s*$/, "") : (items.pop(), items.pop() ?? "");
  else if (key === "comma") one = one.trim() ? `${one.trim()}, ` : one;
  else if (key === "feet") one = /^\s*\d+(\.\d+)?\s*$/.test(one) ? `${one.trim()}' ` : one;
  else if (key.includes("/")) one = withFraction(one, key);
  else one = withDigit(one, key);
  field.value = items.join("") + one;
  field.dispatchEvent(new Event("input", { bubbles: true }));
  read();
}

function withDigit(text, digit) {
  if (units === "mm") return `${text.replace(/\s*mm$/, "")}${digit} mm`;
  return /\d\/\d/.test(text) ? text : text + digit; // nothing comes behind the sixteenths
}

function withFraction(text, fraction) {
  const whole = text.replace(/\s*\d+\/\d+\s*$/, "").trimEnd();
  return whole ? `${whole} ${fraction}` : fraction;
}

function read() {
  const one = field.value.split(/[,;]|\sor\s/i).filter((each) => each.trim()).pop() ?? "";
  pad.querySelector("output").textContent = readBack(one.trim());
}

function readBack(text) {
  const value = inches(text);
  return value === null ? text : `${feetAndInches(value)}  =  ${Math.round(value * 25.4)} mm`;
}

function build() {
  const made = document.createElement("dialog");
  made.className = "keypad";
  made.setAttribute("aria-label", "Keypad for lengths");
  const key = (value, words, kind = "") => `<button type="button" tabindex="-1" data-key="${value}" class="${kind}">${words}</button>`;
  made.innerHTML = `<div class="keypad-head"><span class="for"></span><output></output></div><div class="keypad-keys">
    <div class="digits">${[..."789456123"].map((each) => key(each, each)).join("")}${key("feet", "ft", "us way")}${key("", "", "metric empty")}${key("0", "0")}${key(".", ".")}</div>
    <div class="fractions us">${FRACTIONS.map((each) => key(each, each)).join("")}</div>
    <div class="ways">${key("units", "mm", "us way")}${key("units", "ft in", "metric way")}${key("back", "Back", "way")}${key("clear", "Clear", "way")}${key("letters", "abc", "way")}${key("comma", "Next one", "way")}${key("done", "Done", "do")}</div></div>`;
  // The field keeps the focus; else each key would close the pad.
  made.addEventListener("pointerdown", (event) => event.preventDefault());
  made.addEventListener("click", (event) => {
    const pressed = event.target.closest("[data-key]")?.dataset.key;
    if (!pressed || !field) return;
    if (pressed === "done") { const done = field; close(); done.blur(); }
    else if (pressed === "units") { units = units === "mm" ? "us" : "mm"; made.dataset.units = units; }
    else if (pressed === "letters") withLetters();
    else press(pressed);
  });
  document.body.append(made);
  return made;
}

function withLetters() {
  const plain = field;
  close();
  plain.dataset.letters = "yes";
  plain.inputMode = "text";
  plain.blur();
  plain.focus();
}

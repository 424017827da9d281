// "Not sure": several words are ticked, or a number is put behind another. The field itself says what stands then, as in
// "8 or 10", and is sent, kept and judged like any other.
const field = (fact, name) => fact.querySelector(`[name="${name}"]`);

const several = (made) => {
  made.dataset.several = "";
  return made;
};

export function showTicked(fact, name) {
  const ticked = [...fact.querySelectorAll(`[name="${name}.any"]:checked`)].map((one) => one.value);
  const text = ticked.join(" or ");
  fact.querySelector("[data-several]")?.remove();
  const select = fact.querySelector(`select[name="${name}"]`);
  if (select) {
    if (ticked.length > 1) select.append(several(new Option(text, text)));
    select.value = text;
    return;
  }
  if (ticked.length > 1) {
    const label = document.createElement("label"), radio = Object.assign(document.createElement("input"), { type: "radio", name, value: text });
    label.append(radio, text);
    fact.querySelector(".pick .open-answer").before(several(label));
  }
  for (const radio of fact.querySelectorAll(`input[type="radio"][name="${name}"]`)) radio.checked = radio.value === text;
}

// Another answer in the field is what is sure now.
function tickAsAnswered(fact, name, text) {
  for (const one of fact.querySelectorAll(`[name="${name}.any"]`)) one.checked = one.value === text;
}

document.addEventListener("change", (event) => {
  const fact = event.target.closest?.(".fact");
  const [, name, part] = /^(.*?)(?:\.(any|or|how|seen|keep))?$/.exec(event.target.name ?? "") ?? [];
  if (!fact || !name) return;
  if (part === "any") showTicked(fact, name);
  else if (part === "or" && event.target.value.trim()) {
    const main = field(fact, name);
    main.value = [main.value.trim(), event.target.value.trim()].filter(Boolean).join(" or ");
    event.target.value = "";
  } else if (!part && event.target.value !== "" && !event.target.closest("[data-several]") && !event.target.selectedOptions?.[0]?.hasAttribute("data-several")) {
    tickAsAnswered(fact, name, event.target.value);
  }
}, true);

// The panel stays open while one ticks; the field is drawn anew with each answer of the server.
let isOpen = false;
document.addEventListener("htmx:beforeSwap", (event) => { isOpen = Boolean(event.detail.target?.querySelector?.(":scope > .fact-tail > .unsure")?.open); });
document.addEventListener("htmx:afterSwap", (event) => {
  const doubt = isOpen && document.getElementById(event.detail.target?.id)?.querySelector(":scope > .fact-tail > .unsure");
  if (doubt) doubt.open = true;
});

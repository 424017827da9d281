// Enter in the client search looks for a client; in a plain form it would press "Book".
document.addEventListener("keydown", (event) => {
  if (event.key === "Enter" && event.target.id === "id_q" && event.target.form?.id === "booking") {
    event.preventDefault();
    event.target.dispatchEvent(new Event("find")); // takes the place of the search that the last letter would begin
  }
});

// An answer takes nothing away that was pressed after it was asked for: what belongs to that press (the free times beside
// the client) would find no place any more. The press has sent the whole form, so its own answer is the newer one. Nor
// does it take a button from under a finger that is just pressing it.
const asked = new WeakMap(); // request, and who asked last -> its number
let lastAsked = 0, pressed = null;
document.addEventListener("htmx:beforeSend", ({ detail }) => {
  lastAsked += 1;
  asked.set(detail.xhr, lastAsked).set(detail.elt, lastAsked);
});
document.addEventListener("pointerdown", (event) => { pressed = event.target.closest?.("button, label") ?? null; });
const release = (after) => () => { const what = pressed; setTimeout(() => { if (pressed === what) pressed = null; }, after); };
document.addEventListener("click", release(0));
for (const end of ["pointerup", "pointercancel"]) document.addEventListener(end, release(300)); // a tap's click comes later
document.addEventListener("htmx:beforeSwap", ({ detail }) => {
  const isNewer = (one) => one !== detail.requestConfig.elt && asked.get(one) > asked.get(detail.xhr);
  if (detail.target.contains(pressed) || [...detail.target.querySelectorAll(".htmx-request")].some(isNewer)) detail.shouldSwap = false;
});

// What would ask by itself (the search a moment after the last letter) no longer does once a button beside it was pressed.
document.addEventListener("htmx:beforeRequest", (event) => {
  const who = document.getElementById("who");
  if (who?.contains(event.detail.elt) && who.querySelector("button[hx-target='#who'].htmx-request")) event.preventDefault();
});

// The length that is proposed follows purpose and size, unless somebody typed another.
let proposed = "";
const proposal = () => document.querySelector("input[name=proposed_minutes]")?.value ?? "";
document.addEventListener("htmx:beforeSwap", () => { proposed = proposal(); });
document.addEventListener("htmx:afterSettle", () => {
  const length = document.getElementById("id_length_minutes");
  if (length && proposed && length.value === proposed && proposal()) length.value = proposal();
});

// In a list of visits the arrow keys go from row to row; Enter opens, as in any link.
document.addEventListener("keydown", (event) => {
  const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
  if (!step || !event.target.matches?.("[data-row]")) return;
  const rows = [...document.querySelectorAll("[data-row]")];
  const next = rows[rows.indexOf(event.target) + step];
  if (next) { event.preventDefault(); next.focus(); }
});

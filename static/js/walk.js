// The walk beyond plain HTML: a keypad for lengths, and a ledger on which one taps.
import { watchLengths } from "./keypad.js";

watchLengths(document);

// A tap on a fastener shows its sheet in place; a tap on the bare board writes the place into "First at".
document.addEventListener("click", (event) => {
  const link = event.target.closest("[data-strip] a[data-part], a[data-fastener]");
  if (link && window.htmx && !event.metaKey && !event.ctrlKey) {
    const section = link.closest(".fasteners");
    event.preventDefault();
    // The one that is open already, and may be half written: drawn anew, it would be lost.
    const open = document.getElementById(`part-${link.dataset.part || link.textContent.trim()}`);
    if (open) return open.scrollIntoView();
    const address = link.getAttribute("href").split("#")[0];
    window.htmx.ajax("GET", address, { target: `#${section.id}`, swap: "outerHTML show:top" });
    return;
  }
  const strip = event.target.closest("[data-strip]");
  const svg = strip?.querySelector("svg");
  const field = strip && document.getElementById(strip.dataset.first);
  if (!svg || !field) return;
  const shown = svg.getBoundingClientRect();
  const x = ((event.clientX - shown.left) / shown.width) * svg.viewBox.baseVal.width;
  const place = Math.round((x - Number(svg.dataset.leftPx)) / Number(svg.dataset.pxPerIn));
  if (place < 0 || place > Number(svg.dataset.lengthIn)) return;
  field.value = String(place);
  markPlace(svg, place);
  field.closest("form").querySelector("button").focus({ preventScroll: true });
});

function markPlace(svg, place) {
  svg.querySelector("[data-ghost]")?.remove();
  const x = Number(svg.dataset.leftPx) + place * Number(svg.dataset.pxPerIn);
  const ghost = document.createElementNS("http://www.w3.org/2000/svg", "path");
  ghost.setAttribute("data-ghost", "");
  ghost.setAttribute("d", `M${x} 22v88`);
  ghost.setAttribute("stroke", "#1b4b5a");
  ghost.setAttribute("stroke-width", "2.5");
  svg.append(ghost);
}

// The chain is wider than a tablet: keep the link one works on in sight, also after it was drawn anew.
function showHere() {
  const chain = document.getElementById("chain");
  const here = chain?.querySelector("[aria-current]");
  if (here) chain.scrollLeft += here.getBoundingClientRect().left - chain.getBoundingClientRect().left - 24;
}
showHere();
document.addEventListener("htmx:oobAfterSwap", showHere);

// Photos on the tablet: kept as they came before a byte is sent, shown at once, sent after the entries.
import { element } from "./draw.js";
import { keep, mine, person, send, sendAgain, throwAway } from "./outbox.js";
import { get } from "./store.js";

const STATES = { waits: "Waits on this tablet", sending: "Being sent", refused: "Not taken in" };

// Operation and file of each photo. `scope` says what they are of: finding, part, link.
export async function photoOperations(files, scope) {
  const operations = [], kept = [];
  for (const file of files) {
    const id = crypto.randomUUID();
    const digest = await crypto.subtle.digest("SHA-256", await file.arrayBuffer());
    const sha256 = [...new Uint8Array(digest)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
    kept.push({ id, blob: file, sha256 });
    operations.push(["add_photo", { photo: id, name: file.name || "photo.jpg", bytes: file.size, ...scope, label: `Photo ${file.name}` }]);
  }
  return { operations, kept };
}

export const scopeOf = (form) => Object.fromEntries(["finding", "part", "link"].map((name) => [name, form.querySelector(`input[type="hidden"][name="${name}"]`)?.value ?? ""]));

const tileOf = (photo) => document.getElementById(`waits-${photo}`);
export const isShown = (one) => Boolean(tileOf(one.payload.photo));

// The tile of a photo that is in the outbox (`one`); its picture is read from the tablet's disk.
export function tile(one, blob) {
  const item = element("li", "", { className: "photo photo-waits", id: `waits-${one.payload.photo}` });
  const figure = element("figure"), stand = element("div", "", { className: "photo-stand-in has-preview" });
  const preview = element("img", "", { alt: `${one.payload.name}, on this tablet`, loading: "lazy", decoding: "async", src: URL.createObjectURL(blob) });
  preview.addEventListener("load", () => URL.revokeObjectURL(preview.src));
  preview.addEventListener("error", () => preview.remove()); // a kind that this browser cannot show
  const bar = element("progress", "", { className: "progress", max: 100, value: 0, hidden: true });
  bar.setAttribute("aria-label", `Sending ${one.payload.name}`);
  stand.append(preview, element("p"), bar);
  figure.append(stand, element("figcaption", one.payload.name), captionOf(one));
  item.append(figure);
  showState(item, one.refused ? "refused" : "waits", one);
  return item;
}

// What it shows can be said while it waits: it follows the photo.
function captionOf(one) {
  const label = element("label", "What it shows", { className: "photo-caption" });
  const input = element("input", "", { type: "text", maxLength: 200, autocomplete: "off", enterKeyHint: "done", value: one.caption ?? "" });
  input.setAttribute("aria-label", `What ${one.payload.name} shows`);
  input.addEventListener("change", async () => {
    const operation = ["describe_photo", { photo: one.payload.photo, caption: input.value.trim(), label: `Words under ${one.payload.name}` }];
    try {
      await keep(one.visit, [operation]);
      send();
    } catch {
      input.setCustomValidity("The tablet could not keep this: its storage is full.");
      input.reportValidity();
    }
  });
  input.addEventListener("input", () => input.setCustomValidity(""));
  label.append(input);
  return label;
}

// The words under a photo that is kept already, on its own page: on the disk before they are sent.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!form.dataset.describes || !person || !window.indexedDB) return;
  event.preventDefault();
  describe(form);
}, true);

async function describe(form) {
  const { describes: photo, visit } = form.dataset, field = form.elements.caption;
  const operation = ["describe_photo", { photo, caption: field.value.trim(), label: "Words under a photo" }];
  try {
    const [{ id }] = await keep(Number(visit), [operation]);
    await send();
    if (!(await mine()).some((one) => one.id === id)) return location.assign(form.elements.next.value);
    said(form, "Waits on this tablet. It is sent when there is signal.");
  } catch {
    said(form, "The tablet could not keep this: its storage is full. It still stands here.");
  }
}

function said(form, words) {
  form.querySelector(".story")?.remove();
  const line = element("p", words, { className: "story" });
  line.setAttribute("role", "status");
  form.append(line);
}

function showState(item, state, { share, words, number }) {
  const bar = item.querySelector("progress");
  bar.hidden = state !== "sending";
  bar.value = Math.round(100 * (share ?? 0));
  item.querySelector(".photo-stand-in p").textContent = state === "refused" && words ? words : share === 1 ? "Being checked" : STATES[state];
  item.classList.toggle("photo-refusal", state === "refused");
  item.querySelector(".photo-choices")?.remove();
  if (state !== "refused") return;
  const choices = element("div", "", { className: "photo-choices" });
  choices.append(...photoChoices({ number, payload: { photo: item.id.replace("waits-", ""), name: item.querySelector("figcaption").textContent } }));
  item.querySelector("figure").append(choices);
}

// What can be done with a photo that the server refused: it is kept until one of these was chosen.
export function photoChoices({ number, payload }) {
  const button = (words, kind, does) => {
    const made = element("button", words, { type: "button", className: `button ${kind} small` });
    made.setAttribute("aria-label", `${words}: ${payload.name}`);
    made.addEventListener("click", does);
    return made;
  };
  return [
    button("Save the picture as a file", "", () => saveAsFile(payload)),
    button("Send it again", "quiet", () => sendAgain(number)),
    button("Throw it away", "quiet", () => {
      if (!window.confirm(`Throw ${payload.name} away for good?`)) return;
      throwAway(number);
      tileOf(payload.photo)?.remove();
    }),
  ];
}

async function saveAsFile(payload) {
  const file = await get("files", payload.photo);
  if (file) element("a", "", { href: URL.createObjectURL(file.blob), download: payload.name }).click();
}

document.addEventListener("outbox:photo", (event) => {
  const said = event.detail;
  const item = tileOf(said.photo);
  if (!item) return;
  if (said.state === "kept") becomeKept(item, said.kept);
  else showState(item, said.state, said);
  if (said.state === "refused") tellStrip(item, said.words);
});

const tellStrip = (item, words) => {
  const status = item.closest("[data-photo-strip]")?.querySelector("[data-photo-status]");
  if (status) status.textContent = words;
};

// The server's own tile takes the place of ours; where it cannot be fetched, ours says that the photo is there.
async function becomeKept(item, photo) {
  const name = item.querySelector("figcaption").textContent;
  const input = item.querySelector(".photo-caption input");
  if (input === document.activeElement && input.value) input.blur(); // what is being written is kept first
  const there = document.getElementById(`photo-${photo}`);
  if (there) {
    tellStrip(item, `${name}: this photo is in the visit already. It is kept once.`);
    item.remove();
    return there.scrollIntoView({ block: "nearest" });
  }
  tellStrip(item, `${name} is kept.`);
  item.querySelector("progress").hidden = true;
  item.querySelector(".photo-stand-in p").textContent = "Kept. Being prepared.";
  try {
    const answer = await fetch(`/photos/${photo}/tile/`, { headers: { "HX-Request": "true" } });
    if (!answer.ok || answer.redirected) return;
    const template = document.createElement("template");
    template.innerHTML = await answer.text();
    const made = template.content.firstElementChild;
    if (!made?.id.startsWith("photo-")) return;
    item.replaceWith(made);
    window.htmx?.process(made);
  } catch { /* the page shows it when it is opened again */ }
}

// The photos chosen for a finding that is being written: shown small, so that one sees which are with it. A second choice
// adds to the first, as when a camera gives one at a time, and each can be left out again.
const field = document.querySelector('#finding-form input[type="file"]');
const box = document.getElementById("chosen-photos");
let chosen = [], isOurs = false;

const isSame = (one, other) => ["name", "size", "lastModified"].every((each) => one[each] === other[each]);

function put(files) {
  const all = new DataTransfer();
  for (const one of files) all.items.add(one);
  field.files = all.files;
  chosen = files;
  show();
}

function tile(file) {
  const item = document.createElement("li"), figure = document.createElement("figure"), name = document.createElement("figcaption");
  const picture = document.createElement("img"), out = document.createElement("button");
  name.textContent = file.name;
  picture.alt = "";
  picture.src = URL.createObjectURL(file);
  picture.addEventListener("load", () => URL.revokeObjectURL(picture.src));
  picture.addEventListener("error", () => picture.remove()); // a kind that the browser cannot show: its name stands there
  Object.assign(out, { type: "button", className: "button quiet small", textContent: "Leave out" });
  out.setAttribute("aria-label", `Leave out ${file.name}`);
  out.addEventListener("click", () => {
    put(chosen.filter((one) => one !== file));
    field.focus();
    isOurs = true;
    field.dispatchEvent(new Event("input", { bubbles: true })); // what is kept of the half-written finding follows
    isOurs = false;
  });
  figure.append(picture, name);
  item.append(figure, out);
  return item;
}

function show() {
  box.hidden = !chosen.length;
  box.querySelector("ul").replaceChildren(...chosen.map(tile));
  box.querySelector("p").textContent = `${chosen.length} ${chosen.length === 1 ? "photo is" : "photos are"} kept with this finding when it is recorded.`;
}

// Before anybody reads the field: what the browser took out of it with the second choice is put back first.
document.addEventListener("input", (event) => {
  if (event.target !== field || isOurs) return;
  const added = [...field.files].filter((one) => !chosen.some((other) => isSame(one, other)));
  put([...chosen, ...added]);
}, true);
document.addEventListener("photos:restored", () => { chosen = [...field.files]; show(); });

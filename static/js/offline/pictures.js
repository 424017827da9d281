// Photos without signal: kept on the tablet as they came, shown at once, sent after the entries.
import { element } from "./draw.js";

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

export function tile(blob, name) {
  const item = element("li", "", { className: "photo photo-waits" });
  const figure = element("figure");
  const stand = element("div", "", { className: "photo-stand-in has-preview" });
  const preview = element("img", "", { alt: "", src: URL.createObjectURL(blob) });
  preview.addEventListener("error", () => preview.remove());
  stand.append(preview, element("p", "Waits on this tablet"));
  figure.append(stand, element("figcaption", name));
  item.append(figure);
  return item;
}

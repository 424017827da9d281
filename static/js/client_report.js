// The client's page: ticks without loading the page anew, and photos enlarged where they stand. Without it both are pages.

document.addEventListener("submit", async (event) => {
  const form = event.target.closest(".tick-form");
  if (!form) return;
  event.preventDefault();
  const body = new URLSearchParams(new FormData(form));
  const headers = { "HX-Request": "true" };
  let answer;
  try {
    answer = await fetch(form.action, { method: "POST", body, headers, credentials: "same-origin" });
  } catch {
    answer = null;
  }
  if (!answer?.ok) return form.submit(); // no signal, or closed meanwhile: let the browser say so
  const number = form.closest("li").id;
  const made = document.createRange().createContextualFragment(await answer.text());
  document.getElementById(number).replaceWith(made);
  document.querySelector(`#${number} button`).focus();
});

document.addEventListener("click", (event) => {
  const link = event.target.closest("a.marked[data-large]");
  if (!link || event.metaKey || event.ctrlKey || !window.HTMLDialogElement) return;
  event.preventDefault();
  const shown = link.closest("figure").cloneNode(true);
  const image = shown.querySelector("img");
  image.src = link.dataset.large;
  image.loading = "eager";
  image.removeAttribute("width");
  image.removeAttribute("height");
  const frame = document.createElement("div");
  frame.className = "marked large";
  frame.append(...shown.querySelector("a").childNodes);
  shown.querySelector("a").replaceWith(frame);
  const close = document.createElement("button");
  close.className = "button";
  close.textContent = document.documentElement.lang === "es" ? "Cerrar" : "Close";
  const dialog = document.createElement("dialog");
  dialog.className = "enlarged";
  dialog.setAttribute("aria-label", image.alt);
  dialog.append(shown, close);
  dialog.addEventListener("click", (pressed) => {
    if (pressed.target === dialog || pressed.target === close) dialog.close();
  });
  dialog.addEventListener("close", () => {
    dialog.remove();
    link.focus();
  });
  document.body.append(dialog);
  dialog.showModal();
});

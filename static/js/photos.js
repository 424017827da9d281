// Photos that the tablet cannot keep (no storage in this browser, or none left): shown at once, sent one after the other
// with their progress, tried again when the signal was lost. All others go through the outbox (offline/catch.js).
// Without a script the same form sends them all at once and the page says what became of each.
document.documentElement.classList.add("has-script");

const TRIES_WITHOUT_ASKING = 2;
let queue = Promise.resolve();

const say = (strip, words) => {
  strip.querySelector("[data-photo-status]").textContent = words;
};

const placeholder = (file) => {
  const item = document.createElement("li");
  item.className = "photo";
  item.innerHTML = '<figure><div class="photo-stand-in has-preview"><p></p><progress class="progress" max="100" value="0"></progress></div><figcaption></figcaption></figure>';
  item.querySelector("figcaption").textContent = file.name;
  item.querySelector("progress").setAttribute("aria-label", `Sending ${file.name}`);
  const preview = document.createElement("img");
  preview.alt = "";
  preview.src = URL.createObjectURL(file);
  preview.addEventListener("error", () => preview.remove());
  item.querySelector(".photo-stand-in").prepend(preview);
  return item;
};

const words = (item, text) => {
  item.querySelector("p").textContent = text;
};

// Resolves with the answer's text when the server has judged the file; rejects when it could not be reached.
const send = (form, file, item) => new Promise((resolve, reject) => {
  const data = new FormData();
  for (const field of form.querySelectorAll('input[type="hidden"]')) data.append(field.name, field.value);
  data.append("photos", file, file.name);
  const request = new XMLHttpRequest();
  request.open("POST", form.action);
  request.setRequestHeader("HX-Request", "true");
  request.upload.addEventListener("progress", (event) => {
    if (!event.lengthComputable) return;
    const bar = item.querySelector("progress");
    if (bar) bar.value = Math.round((100 * event.loaded) / event.total);
    if (event.loaded === event.total) words(item, "Being checked");
  });
  request.addEventListener("load", () => {
    if (request.status === 200 || request.status === 422) resolve(request.responseText);
    else if (request.status >= 500) reject(new Error("server"));
    else resolve(null); // signed out, or not allowed: sending again would not help
  });
  request.addEventListener("error", () => reject(new Error("signal")));
  request.addEventListener("timeout", () => reject(new Error("signal")));
  request.timeout = 120000;
  request.send(data);
});

const wait = (milliseconds) => new Promise((done) => setTimeout(done, milliseconds));

const show = (item, answer, strip) => {
  const template = document.createElement("template");
  template.innerHTML = answer;
  const made = [...template.content.children].filter((one) => {
    const shown = one.id && document.getElementById(one.id);
    if (shown) shown.scrollIntoView({ block: "nearest" });
    return !shown;
  });
  const refusal = made.find((one) => one.classList.contains("photo-refusal"));
  say(strip, refusal ? refusal.textContent.trim() : "The photo is kept.");
  item.replaceWith(...made);
  for (const one of made) window.htmx?.process(one);
};

const button = (text, does) => {
  const made = document.createElement("button");
  made.type = "button";
  made.className = "button quiet small";
  made.textContent = text;
  made.addEventListener("click", does);
  return made;
};

// The picture is nowhere but on this page: it can be sent again, or saved as a file.
const offerAgain = (form, file, item, strip, why = "no signal") => {
  words(item, `Not sent: ${why}.`);
  say(strip, `${file.name} was not sent: ${why}.`);
  item.querySelector("progress").hidden = true;
  const choices = document.createElement("div");
  choices.append(
    button("Send again", () => {
      choices.remove();
      enqueue(form, file, item, strip);
    }),
    button("Save as a file", () => {
      const link = document.createElement("a");
      link.href = URL.createObjectURL(file);
      link.download = file.name;
      link.click();
    }),
  );
  item.querySelector(".photo-stand-in").append(choices);
};

const deliver = async (form, file, item, strip) => {
  item.querySelector("progress").hidden = false;
  for (let attempt = 0; ; attempt += 1) {
    words(item, "Sending");
    try {
      const answer = await send(form, file, item);
      if (answer === null) {
        offerAgain(form, file, item, strip, "you are signed out. Sign in on another page, then send it again");
      } else {
        show(item, answer, strip);
      }
      return;
    } catch {
      if (attempt >= TRIES_WITHOUT_ASKING) {
        offerAgain(form, file, item, strip);
        return;
      }
      words(item, "No answer; trying again");
      await wait(1500 * (attempt + 1));
    }
  }
};

const enqueue = (form, file, item, strip) => {
  words(item, "Waiting");
  queue = queue.then(() => deliver(form, file, item, strip)); // one at a time: a weak signal carries one
};

const sendDirectly = (form, files) => {
  const strip = form.closest("[data-photo-strip]");
  const list = strip.querySelector("ul.photos");
  strip.querySelector("[data-photo-empty]")?.remove();
  for (const file of files) {
    const item = placeholder(file);
    list.append(item);
    enqueue(form, file, item, strip);
  }
};

document.addEventListener("change", (event) => {
  const form = event.target.closest?.("form[data-photo-form]");
  if (!form || event.target.type !== "file") return;
  sendDirectly(form, event.target.files);
  event.target.value = ""; // the same photo may be chosen again after a refusal
});
document.addEventListener("photos:direct", (event) => sendDirectly(event.target, event.detail));

// Leaving while photos are on their way would lose them.
window.addEventListener("beforeunload", (event) => {
  if (document.querySelector(".photo:not(.photo-waits) progress:not([hidden])")) event.preventDefault();
});

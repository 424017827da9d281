// The page's side of worker.js: questions with answers that come later.
let worker, store, asked = 0;
const open = new Map();

// Rejects with what went wrong; the next question then begins with a new worker.
export function ask(kind, judging, text = "") {
  if (store !== judging.store) stop(); // what is asked belongs to another version than what runs
  store = judging.store;
  worker ??= begin();
  return new Promise((done, fail) => {
    asked += 1;
    open.set(asked, { done, fail });
    worker.postMessage({ number: asked, kind, judging, text });
  });
}

export const isRunning = () => Boolean(worker);

export function stop(words = "stopped") {
  worker?.terminate();
  worker = undefined;
  for (const { fail } of open.values()) fail(new Error(words));
  open.clear();
}

function begin() {
  const begun = new Worker(new URL("worker.js", import.meta.url), { type: "module" });
  begun.addEventListener("message", ({ data }) => {
    const { done, fail } = open.get(data.number);
    open.delete(data.number);
    if (data.problem === undefined) done(data.answer);
    else fail(new Error(data.problem));
  });
  begun.addEventListener("error", (event) => stop(event.message || "it did not start"));
  return begun;
}

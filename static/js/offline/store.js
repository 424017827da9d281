// What the tablet keeps in IndexedDB: the outbox, the photos in it, and the visits that were taken along.
let opened;

function database() {
  opened ??= new Promise((done, fail) => {
    const asked = indexedDB.open("soundings", 1);
    asked.addEventListener("upgradeneeded", () => {
      asked.result.createObjectStore("outbox", { keyPath: "number", autoIncrement: true });
      asked.result.createObjectStore("files", { keyPath: "id" });
      asked.result.createObjectStore("visits", { keyPath: "visit" });
    });
    asked.addEventListener("success", () => done(asked.result));
    asked.addEventListener("error", () => { opened = undefined; fail(asked.error); });
  });
  return opened;
}

// Runs `work(name => store)` in one transaction over `names` and gives what it returns once all of it is on the disk.
export async function within(names, work, mode = "readwrite") {
  const db = await database();
  return new Promise((done, fail) => {
    // Strict: an entry counts as kept only when a dead battery cannot take it away.
    const transaction = db.transaction(names, mode, { durability: "strict" });
    let result;
    transaction.addEventListener("complete", () => done(result));
    transaction.addEventListener("abort", () => fail(transaction.error ?? new Error("not kept")));
    Promise.resolve(work((name) => transaction.objectStore(name))).then((value) => { result = value; }, (error) => {
      fail(error);
      try { transaction.abort(); } catch { /* it is over already */ }
    });
  });
}

export const asked = (request) => new Promise((done, fail) => {
  request.addEventListener("success", () => done(request.result));
  request.addEventListener("error", () => fail(request.error));
});

export const all = (name) => within([name], (store) => asked(store(name).getAll()), "readonly");
export const get = (name, key) => within([name], (store) => asked(store(name).get(key)), "readonly");
export const put = (name, value) => within([name], (store) => asked(store(name).put(value)));
export const drop = (name, key) => within([name], (store) => asked(store(name).delete(key)));

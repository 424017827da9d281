// The service worker. Ahead of this file the server puts VERSION, OFF_LINE and SHELL (see inspections/sync/shell.py).
// It keeps the shell of the application, and answers from the pages that were taken along when there is no signal.
// The pages are put there by take.js, for one person; they go when that person signs out.
const SHELL_CACHE = `shell-${VERSION}`;
const PAGES = "pages";
const PATIENCE_MS = 6000; // a network that says nothing for so long is taken for none, where there is a page to show

self.addEventListener("install", (event) => {
  event.waitUntil((async () => {
    const cache = await caches.open(SHELL_CACHE);
    // Without credentials: the page must hold nothing of whoever is signed in now.
    await cache.put(OFF_LINE, await fetch(new Request(OFF_LINE, { credentials: "omit", cache: "no-store" })));
    await Promise.all(SHELL.filter((one) => one !== OFF_LINE).map((one) => keep(cache, one)));
    await self.skipWaiting();
  })());
});

// Where the signal goes in the middle of it, or there is no room, the former worker stays with its whole shell, and the
// browser tries again later. A file that the server does not have stops nobody.
async function keep(cache, address) {
  const answer = await fetch(new Request(address, { cache: "no-cache" }));
  if (answer.ok) await cache.put(address, answer);
}

self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    for (const name of await caches.keys()) if (name.startsWith("shell-") && name !== SHELL_CACHE) await caches.delete(name);
    await self.clients.claim();
  })());
});

self.addEventListener("fetch", (event) => {
  const request = event.request;
  const address = new URL(request.url);
  if (address.origin !== self.location.origin) return;
  if (request.method === "POST" && address.pathname === "/sign-out/") {
    event.waitUntil(caches.delete(PAGES));
    return;
  }
  if (request.method !== "GET" || request.headers.has("HX-Request")) return;
  if (address.pathname.startsWith("/static/vendor/pyodide-") || address.pathname.startsWith("/sync/engine/")) event.respondWith(judging(request));
  else if (address.pathname.startsWith("/static/")) event.respondWith(shellFile(request, address));
  else if (request.mode === "navigate") event.respondWith(page(request));
  else if (request.destination === "image") event.respondWith(fetch(request).catch(async () => (await kept(request)) ?? Response.error()));
});

// Told by the browser when the signal is back, where it knows how: the open pages send what waits.
self.addEventListener("sync", (event) => {
  event.waitUntil(self.clients.matchAll().then((pages) => pages.forEach((one) => one.postMessage("send"))));
});

async function shellFile(request, address) {
  const cache = await caches.open(SHELL_CACHE);
  const found = await cache.match(request, { ignoreVary: true });
  const plain = address.pathname.replace(/\.[0-9a-f]{12}(\.\w+)$/, "$1");
  if (found && plain !== address.pathname) return found;
  // A page that was taken along before the last update asks for files of then: those of now serve it, too.
  const there = found ?? (await cache.match(plain, { ignoreVary: true }));
  try {
    return await (there ? impatient(fetch(request)) : fetch(request));
  } catch {
    return there ?? Response.error();
  }
}

// What judges without signal was put into a store of its own by verdicts/keep.js. Its addresses name its version.
async function judging(request) {
  return (await caches.match(new URL(request.url).pathname, { ignoreVary: true })) ?? fetch(request);
}

async function page(request) {
  const there = await kept(request);
  try {
    const answer = await (there ? impatient(fetch(request)) : fetch(request));
    if (answer.status >= 502 && there) return marked(there);
    return answer;
  } catch {
    return there ? marked(there) : (await caches.match(OFF_LINE, { cacheName: SHELL_CACHE })) ?? Response.error();
  }
}

// The page as it was taken along: the very address, else the one of the same link, else the same page of any link.
async function kept(request) {
  if (!(await caches.has(PAGES))) return undefined;
  const cache = await caches.open(PAGES);
  const address = new URL(request.url);
  const link = address.searchParams.get("link");
  const exact = await cache.match(address.pathname + address.search, { ignoreVary: true });
  const ofLink = link && (await cache.match(`${address.pathname}?link=${link.replaceAll(" ", "+")}`, { ignoreVary: true }));
  return exact ?? (ofLink || undefined) ?? cache.match(address.pathname, { ignoreSearch: true, ignoreVary: true });
}

// So that the page knows that it was not drawn by the server just now.
async function marked(answer) {
  const type = answer.headers.get("Content-Type") ?? "";
  if (!type.startsWith("text/html")) return answer;
  const text = (await answer.text()).replace("<html ", "<html data-kept ");
  const headers = new Headers(answer.headers);
  headers.delete("Content-Length");
  headers.delete("Content-Encoding");
  return new Response(text, { status: 200, headers });
}

function impatient(answer) {
  return Promise.race([answer, new Promise((_, give_up) => { setTimeout(() => give_up(new Error("no answer")), PATIENCE_MS); })]);
}

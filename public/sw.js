// Keeps the whole app on the phone. The build fills in every file with its SHA-256, so that any changed byte makes a new
// version. A version is taken whole or not at all; only what is listed is answered; everything else goes its way.

const FILES = {};
const VERSION = "";

const SCOPE = self.registration.scope;
const OURS = `soakbook ${new URL(SCOPE).pathname} `;
const CACHE = OURS + VERSION;

// Hosts redirect index.html to its folder, or the folder to nothing else: the folder is the address that always answers.
const address = (name) => new URL(name === "index.html" ? "./" : name, SCOPE).href;
const INDEX = address("index.html");
const LISTED = new Set([...Object.keys(FILES).map(address), new URL("index.html", SCOPE).href]);

async function fetchInto(cache, name) {
  const url = address(name);
  const response = await fetch(url, { cache: "no-store", redirect: "error", integrity: `sha256-${FILES[name]}` });
  if (!response.ok) throw new Error(`${url} answered ${response.status}`);
  await cache.put(url, response);
}

async function install() {
  const cache = await caches.open(CACHE);
  const results = await Promise.allSettled(Object.keys(FILES).map((name) => fetchInto(cache, name)));
  const refused = results.find(({ status }) => status === "rejected");
  if (refused) {
    await caches.delete(CACHE);
    throw refused.reason;
  }
}

async function activate() {
  const names = await caches.keys();
  await Promise.all(names.filter((name) => name.startsWith(OURS) && name !== CACHE).map((name) => caches.delete(name)));
  await self.clients.claim();
}

async function answer(request, url) {
  const cache = await caches.open(CACHE);
  const kept = await cache.match(url, { ignoreVary: true });
  return kept ?? fetch(request);
}

// The worker asks, not the page: it sees the runs of every tab, and a tab that crashed holds no lock any more. Where
// nobody can tell, the new version waits until the app is closed.
async function mayUpdate() {
  if (!navigator.locks) return false;
  const { held } = await navigator.locks.query();
  return !held.some(({ name }) => name === "soakbook-test-active");
}

async function update(port) {
  const may = await mayUpdate();
  port?.postMessage(may ? "ok" : "busy");
  if (may) await self.skipWaiting();
}

self.addEventListener("install", (event) => event.waitUntil(install()));
self.addEventListener("activate", (event) => event.waitUntil(activate()));
self.addEventListener("fetch", (event) => {
  if (event.request.method !== "GET") return;
  const url = new URL(event.request.url);
  url.search = url.hash = "";
  if (!LISTED.has(url.href)) return;
  event.respondWith(answer(event.request, url.href.endsWith("/index.html") ? INDEX : url.href));
});
self.addEventListener("message", (event) => {
  if (event.data?.ask === "update") event.waitUntil(update(event.ports[0]));
});

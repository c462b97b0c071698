// Loads and starts the app, then hands its files to the service worker. When the app cannot start or stops, shows the
// page that index.html keeps for that.

const boot = document.getElementById("boot");
const page = document.getElementById("failed");
const container = navigator.serviceWorker;
let failed = false;

// The app puts each place where it was left; the browser would do so before the place is drawn.
history.scrollRestoration = "manual";

function fail(title, what, detail) {
  // The first failure is the cause; those after it are consequences.
  if (failed) return;
  failed = true;
  document.getElementById("failed-title").textContent = title;
  if (what) document.getElementById("failed-what").textContent = what;
  document.getElementById("failed-detail").textContent = String(detail?.stack ?? detail ?? "");
  document.getElementById("starting")?.remove();
  page.hidden = false;
  document.body.replaceChildren(page);
  document.title = title;
}

// A newer version that waits may be the one that mends this: it is let in first.
async function reload() {
  const waiting = (await container?.getRegistration())?.waiting;
  if (waiting) {
    await new Promise((done) => {
      const { port1, port2 } = new MessageChannel();
      port1.onmessage = ({ data }) =>
        data === "ok" ? container.addEventListener("controllerchange", done, { once: true }) : done();
      setTimeout(done, 2000);
      waiting.postMessage({ ask: "update" }, [port2]);
    });
  }
  location.reload();
}

const isTrap = (error) => typeof WebAssembly === "object" && error instanceof WebAssembly.RuntimeError;
const stopped = (detail) => fail("Soakbook has stopped", null, detail);

document.getElementById("failed-reload").addEventListener("click", () => reload().catch(() => location.reload()));
addEventListener("soakbook-panic", (event) => stopped(event.detail));
addEventListener("error", (event) => isTrap(event.error) && stopped(event.error));
addEventListener("unhandledrejection", (event) => isTrap(event.reason) && stopped(event.reason));

try {
  const { default: init } = await import(new URL(boot.dataset.js, document.baseURI));
  await init({ module_or_path: new URL(boot.dataset.wasm, document.baseURI) });
} catch (error) {
  const what =
    typeof WebAssembly === "object"
      ? "A part of the app could not be loaded or run. If it was never opened on this phone before, it needs a network once."
      : "This browser does not run WebAssembly, which the app is made of. On an iPhone, Lockdown Mode switches it off.";
  fail("Soakbook could not start", what, error);
}

// Registered even when the start failed, so that a mended version can arrive.
container?.register(new URL("sw.js", document.baseURI), { updateViaCache: "none" }).catch(console.warn);

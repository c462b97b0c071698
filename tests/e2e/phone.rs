//! A phone: Chromium with a phone's screen and touch, and a storage of its own that outlives the browser.

use std::cell::{Cell, RefCell};
use std::env;
use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use serde_json::{Value, json};
use soakbook::units::Wall;
use thirtyfour::extensions::cdp::ChromeDevTools;
use thirtyfour::prelude::*;

/// How long an event may take before a test gives up. Nothing is asserted about speed.
const PATIENCE: Duration = Duration::from_secs(30);

/// Puts both clocks of a page and the stamps of its events ahead by a time that `__jump` adds to. They move together, as
/// when time simply goes by, so the app has to take it for that; `__set` moves the wall clock alone. Its ticks, its database and everything else stay real.
const CLOCK: &str = "(() => {
  let [ahead, set] = [AHEAD, 0];
  let held = null;
  const real = [Date.now.bind(Date), performance.now.bind(performance)];
  const [wall, mono] = [() => held ? held[0] : real[0](), () => held ? held[1] : real[1]()];
  const stamp = Object.getOwnPropertyDescriptor(Event.prototype, 'timeStamp').get;
  const start = ahead;
  const Real = Date;
  globalThis.Date = class extends Real { constructor(...a) { a.length ? super(...a) : super(wall() + ahead + set); } };
  Date.now = () => wall() + ahead + set;
  performance.now = () => mono() + ahead - start;
  Object.defineProperty(Event.prototype, 'timeStamp', { get() { return stamp.call(this) + ahead - start; } });
  globalThis.__jump = (ms) => { ahead += ms; };
  globalThis.__hold = () => { held = real.map((clock) => clock()); };
  globalThis.__go = () => { ahead -= Math.round(real[1]() - held[1]); held = null; };
  globalThis.__set = (ms) => { set += ms; };
})();";

/// A running browser.
pub(crate) struct Phone {
    pub(crate) driver: WebDriver,
    profile: PathBuf,
    /// Taps since the phone was switched on.
    pub(crate) taps: Cell<usize>,
    /// Signs typed since then.
    pub(crate) keys: Cell<usize>,
    /// How far its clocks are ahead, ms.
    ahead: Cell<i64>,
    /// When the heat was switched on, by the wall clock of the phone, ms.
    pub(crate) heat_on: Cell<Wall>,
    /// The script that puts them ahead in each new page.
    clock: RefCell<Option<Value>>,
    service: Service,
}

/// The driver's process and port; ends with it, and takes the browser along also when a test fails.
struct Service(Child, u16);

impl Drop for Service {
    fn drop(&mut self) {
        let asked = TcpStream::connect(("127.0.0.1", self.1))
            .and_then(|mut stream| stream.write_all(b"GET /shutdown HTTP/1.1\r\nHost: localhost\r\n\r\n"));
        for _ in 0..100 {
            if asked.is_err() || matches!(self.0.try_wait(), Ok(Some(_))) {
                break;
            }
            std::thread::sleep(Duration::from_millis(50));
        }
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

impl Phone {
    /// Switches a phone on whose storage is `profile`.
    pub(crate) async fn on(profile: &Path) -> Self {
        let (service, address) = service();
        let mut wanted = DesiredCapabilities::chrome();
        wanted.set_binary(&env::var("SOAKBOOK_CHROMIUM").expect("`cargo verify` sets SOAKBOOK_CHROMIUM")).unwrap();
        for argument in [
            "--headless=new",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            &format!("--user-data-dir={}", profile.display()),
        ] {
            wanted.add_arg(argument).unwrap();
        }
        // The office's server of a test has a certificate that nobody vouches for.
        wanted.accept_insecure_certs(true).unwrap();
        let screen = json!({ "width": 360, "height": 740, "pixelRatio": 3.0, "touch": true, "mobile": true });
        wanted.insert_browser_option("mobileEmulation", json!({ "deviceMetrics": screen })).unwrap();
        let driver = WebDriver::new(address, wanted).await.unwrap();
        driver.set_script_timeout(PATIENCE).await.unwrap();
        Self {
            driver,
            profile: profile.to_owned(),
            taps: Cell::new(0),
            keys: Cell::new(0),
            ahead: Cell::new(0),
            heat_on: Cell::new(Wall(0)),
            clock: RefCell::default(),
            service,
        }
    }

    /// Switches a phone on whose clocks can be put ahead by [`Phone::jump`] and are so by `ahead` ms already.
    pub(crate) async fn timed(profile: &Path, ahead: i64) -> Self {
        let phone = Self::on(profile).await;
        phone.put_ahead(ahead).await;
        phone
    }

    /// Switches a phone on again, its clock where it stood: how long a start takes on a slow machine is not counted.
    pub(crate) async fn again(profile: &Path, stood: Wall) -> Self {
        let phone = Self::timed(profile, 0).await;
        phone.put_ahead(stood - phone.wall().await).await;
        phone
    }

    /// Lets time go by, in no time.
    pub(crate) async fn jump(&self, seconds: i64) {
        self.put_ahead(self.ahead.get() + seconds * 1_000).await;
        assert_eq!(self.ask(&format!("__jump({seconds} * 1000)")).await, Value::Null);
    }

    /// Lets time go by until so many seconds after heat on; what the test itself has taken counts.
    pub(crate) async fn test_to(&self, seconds: i64) {
        let gone = self.wall().await - self.heat_on.get();
        let left = (seconds * 1_000 - gone) / 1_000;
        assert!(left >= 0, "{gone} ms have gone before {seconds} s could be looked at");
        self.jump(left).await;
    }

    /// The wall clock, as the phone has it, ms.
    pub(crate) async fn wall(&self) -> Wall {
        Wall(self.ask("return Date.now()").await.as_i64().unwrap())
    }

    /// Puts the clocks of every page from now on ahead.
    async fn put_ahead(&self, ahead: i64) {
        self.ahead.set(ahead);
        if let Some(before) = self.clock.take() {
            self.devtools("Page.removeScriptToEvaluateOnNewDocument", before).await;
        }
        let source = json!({ "source": CLOCK.replace("AHEAD", &ahead.to_string()) });
        let script = self.devtools("Page.addScriptToEvaluateOnNewDocument", source).await;
        self.clock.replace(Some(script));
    }

    /// Somebody sets the wall clock of the phone.
    pub(crate) async fn set_clock(&self, by_ms: i64) {
        assert_eq!(self.ask(&format!("__set({by_ms})")).await, Value::Null);
    }

    /// How far its clocks are ahead, ms.
    pub(crate) fn ahead(&self) -> i64 {
        self.ahead.get()
    }

    /// The browser's main process ends at this very moment, without a word to anybody: SIGKILL.
    pub(crate) fn kill(self) {
        let profile = format!("--user-data-dir={}", self.profile.display());
        let mut main = Vec::new();
        for entry in fs::read_dir("/proc").unwrap().map(Result::unwrap) {
            let line = fs::read(entry.path().join("cmdline")).unwrap_or_default();
            let line: Vec<_> = line.split(|byte| *byte == 0).map(String::from_utf8_lossy).collect();
            if line.iter().any(|word| *word == profile) && !line.iter().any(|word| word.starts_with("--type=")) {
                main.push(entry.file_name().into_string().unwrap());
            }
        }
        assert_eq!(main.len(), 1, "{main:?}");
        assert!(Command::new("kill").args(["-9", &main[0]]).status().unwrap().success());
        while Path::new("/proc").join(&main[0]).join("exe").read_link().is_ok() {
            std::thread::sleep(Duration::from_millis(10));
        }
        // Nobody is there to be told goodbye.
        drop(self.driver.leak());
        drop(self.service);
    }

    /// Switches it off; the storage stays.
    pub(crate) async fn off(self) {
        self.driver.quit().await.unwrap();
    }

    pub(crate) async fn open(&self, address: &str) {
        self.driver.goto(address).await.unwrap();
    }

    /// Opens the app and waits until its files are on the phone.
    pub(crate) async fn install(&self, address: &str) {
        self.open(address).await;
        self.until("navigator.serviceWorker.controller !== null").await;
    }

    /// Loads the page anew. The old one still answers for a while, and a tap on it would be lost.
    pub(crate) async fn reload(&self) {
        self.ask("window.old = true; setTimeout(() => location.reload())").await;
        self.until("document.readyState === 'complete' && !window.old").await;
    }

    /// Waits until an expression holds in the page.
    pub(crate) async fn until(&self, expression: &str) {
        let script = format!("return Boolean({expression})");
        let waited = tokio::time::timeout(PATIENCE, async {
            // A page that is just being replaced answers with an error.
            while !self.driver.execute(script.as_str(), vec![]).await.is_ok_and(|answer| answer.json() == &json!(true))
            {
                tokio::time::sleep(Duration::from_millis(50)).await;
            }
        });
        if waited.await.is_err() {
            panic!("never became true: {expression}\n{}", self.page().await);
        }
    }

    /// What an asynchronous function body returns in the page; its error as `"error: …"`.
    pub(crate) async fn ask(&self, body: &str) -> Value {
        let script = format!(
            "const done = arguments[arguments.length - 1];
             (async () => {{ {body} }})().then((v) => done(v ?? null), (e) => done(`error: ${{e}}`));"
        );
        self.driver.execute_async(script, vec![]).await.unwrap().json().clone()
    }

    /// A command of the Chrome `DevTools` Protocol.
    pub(crate) async fn devtools(&self, command: &str, parameters: Value) -> Value {
        let tools = ChromeDevTools::new(self.driver.handle.clone());
        tools.execute_cdp_with_params(command, parameters).await.unwrap()
    }

    /// What axe-core finds on the screen as it is, the two checks that are off by default included.
    pub(crate) async fn accessibility_faults(&self) -> Vec<String> {
        let axe = PathBuf::from(env::var_os("SOAKBOOK_AXE").expect("`cargo verify` sets SOAKBOOK_AXE"));
        self.driver.execute(std::fs::read_to_string(axe).unwrap(), vec![]).await.unwrap();
        let found = self
            .ask(
                "const rules = { 'target-size': { enabled: true }, 'color-contrast-enhanced': { enabled: true } };
                 const { violations } = await axe.run(document, { rules });
                 // What the bar happens to half cover is looked at again where nothing covers it.
                 const small = violations.find((v) => v.id === 'target-size');
                 const [top, still] = [scrollY, []];
                 for (const node of small?.nodes ?? []) {
                   const e = document.querySelector(node.target[0]);
                   e.scrollIntoView({ block: 'center', behavior: 'instant' });
                   const again = await axe.run(e, { runOnly: { type: 'rule', values: ['target-size'] } });
                   if (again.violations.length > 0) still.push(node);
                 }
                 scrollTo({ top, behavior: 'instant' });
                 if (small) small.nodes = still;
                 return violations.filter((v) => v.nodes.length > 0).map((v) => `${v.id}: ${v.nodes.map((n) => n.html).join(' ')}`);",
            )
            .await;
        serde_json::from_value(found).unwrap()
    }
}

/// Starts the driver. It takes a free port of IPv6 and then wants the same one of IPv4, where a host of another test may
/// have it; then it ends, and the next start takes another port.
fn service() -> (Service, String) {
    let program = env::var_os("SOAKBOOK_CHROMEDRIVER").expect("`cargo verify` sets SOAKBOOK_CHROMEDRIVER");
    let mut said = Vec::new();
    for _ in 0..20 {
        let mut driver = Command::new(&program);
        let mut child = driver.arg("--port=0").stdout(Stdio::piped()).stderr(Stdio::null()).spawn().unwrap();
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines().map_while(Result::ok);
        let port = lines.by_ref().find_map(|line| {
            let port =
                line.split_once("started successfully on port ").map(|(_, port)| port.trim_end_matches('.').parse());
            said.push(line);
            port?.ok()
        });
        if let Some(port) = port {
            // Read on, or the driver blocks once the pipe is full.
            std::thread::spawn(move || lines.for_each(drop));
            return (Service(child, port), format!("http://localhost:{port}"));
        }
        let _ = child.wait();
    }
    panic!("the driver does not start: {}", said.join("\n"));
}

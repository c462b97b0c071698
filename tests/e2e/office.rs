//! An office's server from the ready files of `tests/servers`: a real nginx or Apache over TLS, behind a way that can be slow or break.

use std::collections::BTreeMap;
use std::env;
use std::fs;
use std::io::{Read, Write};
use std::net::{Shutdown, TcpListener, TcpStream};
use std::os::unix::process::CommandExt;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicU8, AtomicU64, Ordering};
use std::time::Duration;

use crate::host;

/// User and password of the test; not ASCII, as passwords are.
pub(crate) const USER: &str = "phone-1";
pub(crate) const PASSWORD: &str = "pässwort 7";

/// What the way to the server does.
pub(crate) const PASSES: u8 = 0;
pub(crate) const SLOW: u8 = 1;
pub(crate) const CUTS: u8 = 2;

/// Which server.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    Nginx,
    Apache,
}

/// A server with a folder of its own.
pub(crate) struct Office {
    kind: Kind,
    folder: PathBuf,
    port: u16,
    behind: u16,
    way: Arc<AtomicU8>,
    running: Option<Child>,
}

impl Office {
    /// Starts one whose app is the built one.
    pub(crate) fn start(kind: Kind) -> Office {
        // Where a server that gives its rights away still gets to.
        let folder = env::temp_dir().join(format!("soakbook-office-{}-{kind:?}", std::process::id()));
        let _ = fs::remove_dir_all(&folder);
        for part in ["data/inbox", "data/.uploads", "run", "tls"] {
            fs::create_dir_all(folder.join(part)).unwrap();
        }
        done(Command::new("cp").arg("-r").arg(host::dist()).arg(folder.join("app")));
        let (key, certificate) = (folder.join("tls/key.pem"), folder.join("tls/cert.pem"));
        let mut openssl = Command::new("openssl");
        openssl.args(["req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2", "-subj", "/CN=localhost"]);
        done(openssl.arg("-keyout").arg(key).arg("-out").arg(certificate));
        done(Command::new("htpasswd").args(["-B", "-b", "-c"]).arg(folder.join("passwd")).args([USER, PASSWORD]));
        // Only root has rights to give away.
        let _ =
            Command::new("chown").args(["-R", "www-data"]).arg(folder.join("data")).arg(folder.join("run")).status();
        let (front, behind) = (TcpListener::bind("127.0.0.1:0").unwrap(), free_port());
        let port = front.local_addr().unwrap().port();
        let way = Arc::new(AtomicU8::new(PASSES));
        let mode = way.clone();
        std::thread::spawn(move || lead(&front, behind, &mode));
        let mut office = Office { kind, folder, port, behind, way, running: None };
        office.run(false);
        office
    }

    pub(crate) fn address(&self) -> String {
        format!("https://localhost:{}/", self.port)
    }

    /// What the way to the server does from now on.
    pub(crate) fn way(&self, mode: u8) {
        self.way.store(mode, Ordering::Relaxed);
    }

    /// Ends it at this very moment.
    pub(crate) fn kill(&mut self) {
        if let Some(mut child) = self.running.take() {
            // With its workers, which are in a group of their own with it.
            done(Command::new("kill").args(["-9", "--", &format!("-{}", child.id())]));
            let _ = child.wait();
        }
    }

    /// Ends it and starts it anew, as it is or answering 500 to everything in the folder.
    pub(crate) fn restart(&mut self, faulty: bool) {
        self.kill();
        self.run(faulty);
    }

    fn run(&mut self, faulty: bool) {
        let (name, port, rule, fault) = match self.kind {
            Kind::Nginx => ("nginx.conf", "443 ssl", "set $replaces \"\";", "return 500;"),
            Kind::Apache => ("apache.conf", "443", "RewriteEngine On", "RewriteEngine On\nRewriteRule ^ - [R=500,L]"),
        };
        let ready = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests").join("servers").join(name);
        let mut text = fs::read_to_string(ready).unwrap();
        text = text.replace("/srv/soakbook", self.folder.to_str().unwrap());
        text = text.replace(port, &port.replace("443", &self.behind.to_string()));
        assert!(text.contains(rule), "{name} has changed");
        if faulty {
            text = text.replace(rule, fault);
        }
        let file = self.folder.join(name);
        fs::write(&file, text).unwrap();
        let mut command = match self.kind {
            Kind::Nginx => Command::new("nginx"),
            Kind::Apache => Command::new("apache2"),
        };
        match self.kind {
            Kind::Nginx => command.arg("-c").arg(&file).args(["-g", "daemon off;"]),
            Kind::Apache => command.arg("-f").arg(&file).arg("-DFOREGROUND"),
        };
        let path = format!("{}:/usr/sbin", env::var("PATH").unwrap_or_default());
        command.env("PATH", path).stdout(Stdio::null()).stderr(Stdio::null()).process_group(0);
        self.running = Some(command.spawn().expect("Debian's packages nginx and apache2"));
        for _ in 0..400 {
            if TcpStream::connect(("127.0.0.1", self.behind)).is_ok() {
                return;
            }
            std::thread::sleep(Duration::from_millis(50));
        }
        panic!(
            "{:?} does not start: {}",
            self.kind,
            fs::read_to_string(self.folder.join("run/error.log")).unwrap_or_default()
        );
    }

    /// What is in the folder, by name.
    pub(crate) fn files(&self) -> BTreeMap<String, String> {
        let read = fs::read_dir(self.folder.join("data/inbox")).unwrap().map(Result::unwrap);
        let files = read.map(|file| (file.file_name().into_string().unwrap(), file.path()));
        // What Apache was receiving when it was killed stays as a hidden file of its own.
        let files = files.filter(|(name, _)| !name.starts_with(".davfs.tmp"));
        files.map(|(name, path)| (name, fs::read_to_string(path).unwrap())).collect()
    }

    /// The status that a request of the office's own tools is answered with.
    pub(crate) fn status(&self, arguments: &[&str], name: &str) -> String {
        let mut curl = Command::new("curl");
        curl.args(["-sk", "-o", "/dev/null", "-w", "%{http_code}"]).args(arguments);
        let said = curl.arg(format!("{}inbox/{name}", self.address())).output().unwrap();
        String::from_utf8(said.stdout).unwrap()
    }

    /// The headers that a request of the office's own tools is answered with.
    pub(crate) fn headers(&self, arguments: &[&str], name: &str) -> String {
        let mut curl = Command::new("curl");
        curl.args(["-sk", "-o", "/dev/null", "-D", "-"]).args(arguments);
        let said = curl.arg(format!("{}inbox/{name}", self.address())).output().unwrap();
        String::from_utf8(said.stdout).unwrap()
    }
}

impl Drop for Office {
    fn drop(&mut self) {
        self.kill();
        let _ = fs::remove_dir_all(&self.folder);
    }
}

fn done(command: &mut Command) {
    let done = command.stdout(Stdio::null()).stderr(Stdio::null()).status();
    assert!(done.is_ok_and(|status| status.success()), "{command:?}");
}

fn free_port() -> u16 {
    TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port()
}

/// Leads every connection on to the server, as the mode says at each moment.
fn lead(front: &TcpListener, behind: u16, mode: &Arc<AtomicU8>) {
    let chance = Arc::new(AtomicU64::new(7));
    for near in front.incoming().map_while(Result::ok) {
        // Nobody answers while the server is gone.
        let Ok(far) = TcpStream::connect(("127.0.0.1", behind)) else { continue };
        for (mut from, mut to) in [
            (near.try_clone().unwrap(), far.try_clone().unwrap()),
            (far.try_clone().unwrap(), near.try_clone().unwrap()),
        ] {
            let (mode, chance) = (mode.clone(), chance.clone());
            std::thread::spawn(move || {
                let mut bytes = [0; 16_384];
                while let Ok(read) = from.read(&mut bytes)
                    && read > 0
                {
                    // A small generator of numbers, so that each run breaks differently but never at the same place only.
                    let number = chance.fetch_add(0x9E37_79B9_7F4A_7C15, Ordering::Relaxed).rotate_left(23) % 100;
                    let mut send = read;
                    match mode.load(Ordering::Relaxed) {
                        SLOW => std::thread::sleep(Duration::from_millis(20 + number)),
                        CUTS if number < 15 => send = read / 2,
                        _ => {}
                    }
                    if to.write_all(&bytes[..send]).is_err() || send < read {
                        break;
                    }
                }
                let _ = (from.shutdown(Shutdown::Both), to.shutdown(Shutdown::Both));
            });
        }
    }
}

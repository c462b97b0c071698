//! A host of the built app that can be stopped, and given another version under the same address.

use std::env;
use std::fs;
use std::net::TcpListener;
use std::path::{Path, PathBuf};

use axum::Router;
use axum::response::Html;
use soakbook::desk::{precache, server};
use tokio::runtime::{Builder, Runtime};
use tower_http::services::ServeDir;

/// Serves on one port for its whole life, while it is up.
pub(crate) struct Host {
    port: u16,
    up: Option<Runtime>,
}

impl Host {
    /// Starts on a free port.
    pub(crate) fn start(dist: &Path) -> Self {
        let mut host = Self { port: 0, up: None };
        host.serve(server::router(dist));
        host
    }

    /// Starts on a free port, without any header of ours: for a page that is not ours.
    pub(crate) fn plain(dist: &Path) -> Self {
        let mut host = Self { port: 0, up: None };
        host.serve(Router::new().fallback_service(ServeDir::new(dist)));
        host
    }

    pub(crate) fn address(&self) -> String {
        format!("http://localhost:{}/", self.port)
    }

    /// Serves another folder under the same address.
    pub(crate) fn change(&mut self, dist: &Path) {
        self.stop();
        self.serve(server::router(dist));
    }

    /// Answers everything with a page of its own, like a hotel's network before the log-in.
    pub(crate) fn captivate(&mut self) {
        self.stop();
        self.serve(Router::new().fallback(|| async { Html("<title>Log in</title>") }));
    }

    /// Is gone, open connections too.
    pub(crate) fn stop(&mut self) {
        if let Some(runtime) = self.up.take() {
            runtime.shutdown_background();
        }
    }

    fn serve(&mut self, router: Router) {
        let listener = (0..100).find_map(|_| {
            let listener = TcpListener::bind(("127.0.0.1", self.port)).ok();
            if listener.is_none() {
                std::thread::sleep(std::time::Duration::from_millis(50));
            }
            listener
        });
        let listener = listener.unwrap();
        listener.set_nonblocking(true).unwrap();
        self.port = listener.local_addr().unwrap().port();
        let runtime = Builder::new_multi_thread().worker_threads(1).enable_all().build().unwrap();
        runtime.spawn(async move {
            let listener = tokio::net::TcpListener::from_std(listener).unwrap();
            axum::serve(listener, router).await.unwrap();
        });
        self.up = Some(runtime);
    }
}

impl Drop for Host {
    fn drop(&mut self) {
        self.stop();
    }
}

/// The built app.
pub(crate) fn dist() -> PathBuf {
    PathBuf::from(env::var_os("SOAKBOOK_DIST").expect("`cargo verify` sets SOAKBOOK_DIST"))
}

/// An empty folder of a test's own.
pub(crate) fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("e2e").join(name);
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    folder
}

/// A copy of the built app with another title, listed anew: the next version.
pub(crate) fn version(name: &str, title: &str) -> PathBuf {
    let copy = folder(name);
    copy_all(&dist(), &copy);
    let index = copy.join("index.html");
    let text = fs::read_to_string(&index).unwrap();
    fs::write(&index, text.replace("<title>Soakbook</title>", &format!("<title>{title}</title>"))).unwrap();
    precache::write(&copy).unwrap();
    copy
}

fn copy_all(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap().map(Result::unwrap) {
        let target = to.join(entry.file_name());
        if entry.path().is_dir() {
            copy_all(&entry.path(), &target);
        } else {
            assert!(fs::copy(entry.path(), target).is_ok());
        }
    }
}

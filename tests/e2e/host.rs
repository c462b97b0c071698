//! A host of the built app that can be stopped, and given another version under the same address.

use std::env;
use std::fs;
use std::path::{Path, PathBuf};

use axum::Router;
use axum::extract::Request;
use axum::http::StatusCode;
use axum::middleware::{self, Next};
use axum::response::{Html, IntoResponse};
use soakbook::desk::{precache, server, split};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpListener;
use tokio::runtime::{Builder, Runtime};
use tokio::sync::watch;
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

    /// Serves another folder whose program arrives whole once, for the page, and ends in the middle from then on, for whoever
    /// installs it: the connection is cut, or `stalls` for ever.
    pub(crate) fn cut_off(&mut self, dist: &Path, stalls: bool) {
        self.stop();
        let dist = dist.to_owned();
        self.run(move |listener| async move {
            let mut whole = true;
            let mut open = Vec::new();
            while let Ok((mut socket, _)) = listener.accept().await {
                let mut asked = [0; 8_192];
                let length = socket.read(&mut asked).await.unwrap_or(0);
                let line = String::from_utf8_lossy(&asked[..length]);
                let name = line.split(' ').nth(1).unwrap_or("/").trim_start_matches('/').to_owned();
                let name = if name.is_empty() { "index.html" } else { name.as_str() };
                let Ok(bytes) = fs::read(dist.join(name)) else { continue };
                let kind = match name.rsplit('.').next() {
                    Some("html") => "text/html",
                    Some("js") => "text/javascript",
                    Some("css") => "text/css",
                    Some("wasm") => "application/wasm",
                    _ => "application/octet-stream",
                };
                let heater = format!(
                    "HTTP/1.1 200 OK\r\nContent-Type: {kind}\r\nContent-Length: {}\r\nConnection: close\r\n\r\n",
                    bytes.len()
                );
                let cut = name.ends_with(".wasm") && !std::mem::take(&mut whole);
                let sent = if cut { bytes.len() / 2 } else { bytes.len() };
                // A browser that hangs up is no matter of the host's.
                let _ = socket.write_all(heater.as_bytes()).await;
                let _ = socket.write_all(&bytes[..sent]).await;
                if cut && stalls {
                    open.push(socket);
                }
            }
        });
    }

    /// Serves the folder but for the later part of the app, whose requests hang until there is an answer: whether it can be had.
    pub(crate) fn withhold(&mut self, dist: &Path) -> watch::Sender<Option<bool>> {
        self.stop();
        let (answer, hears) = watch::channel(None);
        let wait = move |asked: Request, next: Next| {
            let mut hears = hears.clone();
            async move {
                if !split::is_later(asked.uri().path()) {
                    return next.run(asked).await;
                }
                // The sender lives as long as the test.
                match hears.wait_for(Option::is_some).await.is_ok_and(|answer| *answer == Some(true)) {
                    true => next.run(asked).await,
                    false => StatusCode::SERVICE_UNAVAILABLE.into_response(),
                }
            }
        };
        self.serve(server::router(dist).layer(middleware::from_fn(wait)));
        answer
    }

    /// Is gone, open connections too.
    pub(crate) fn stop(&mut self) {
        if let Some(runtime) = self.up.take() {
            runtime.shutdown_background();
        }
    }

    fn serve(&mut self, router: Router) {
        self.run(|listener| async move { axum::serve(listener, router).await.unwrap() });
    }

    fn run<F: Future<Output = ()> + Send>(&mut self, serve: impl FnOnce(TcpListener) -> F + Send + 'static) {
        let listener = (0..100).find_map(|_| {
            let listener = std::net::TcpListener::bind(("127.0.0.1", self.port)).ok();
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
            serve(TcpListener::from_std(listener).unwrap()).await;
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

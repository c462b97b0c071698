//! Serves a built folder the way a host should: strict policy, nothing kept by the browser without asking.

use std::path::Path;

use axum::Router;
use axum::http::{HeaderName, HeaderValue, header};
use tower_http::services::ServeDir;
use tower_http::set_header::SetResponseHeaderLayer;

/// The policy of every page: own files only, no inline script, no frame around it.
pub const POLICY: &str = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' blob:; \
    connect-src 'self'; manifest-src 'self'; worker-src 'self'; base-uri 'none'; form-action 'none'; \
    frame-ancestors 'none'";

/// Serves the built folder. `no-cache` lets the browser keep a file but makes it ask whether it still holds; the
/// service worker does not rely on it.
pub fn router(dist: &Path) -> Router {
    let always = |name: HeaderName, value: &'static str| {
        SetResponseHeaderLayer::overriding(name, HeaderValue::from_static(value))
    };
    Router::new()
        .fallback_service(ServeDir::new(dist))
        .layer(always(header::CONTENT_SECURITY_POLICY, POLICY))
        .layer(always(header::CACHE_CONTROL, "no-cache"))
        .layer(always(header::X_CONTENT_TYPE_OPTIONS, "nosniff"))
        .layer(always(header::REFERRER_POLICY, "no-referrer"))
}

//! Randomness and the ids made of it.

use uuid::Uuid;
use wasm_bindgen::prelude::*;

use super::settings;
use super::store::Store;
use super::trouble::Trouble;
use crate::encoding::uuid7;
use crate::units::Wall;

// Declared without a way to fail: every browser has it, and an id without randomness would be worse than stopping.
#[wasm_bindgen]
extern "C" {
    #[wasm_bindgen(js_namespace = crypto, js_name = getRandomValues)]
    fn fill(bytes: &mut [u8]);
}

/// Bytes that nobody can guess.
pub fn random<const N: usize>() -> [u8; N] {
    let mut bytes = [0; N];
    fill(&mut bytes);
    bytes
}

/// A new UUIDv7 (RFC 9562) for a thing made at this time, UTC ms.
pub fn uuid(wall_ms: Wall) -> Uuid {
    uuid7(wall_ms.0.max(0).unsigned_abs(), random())
}

/// The id of this installation, and what went wrong in keeping it.
///
/// It lives and dies with the database: a new or wiped one is a new phone, because its chains begin anew. The copy among the
/// settings serves only while the database cannot be opened.
pub async fn phone(store: &Store, wall_ms: Wall) -> (String, Option<Trouble>) {
    let fresh = uuid(wall_ms).to_string();
    match store.phone(&fresh).await {
        Ok(id) => {
            let kept = settings::set("phone", &id);
            (id, kept.err())
        }
        Err(trouble) => match settings::get("phone") {
            Ok(Some(id)) => (id, Some(trouble)),
            // Nothing but this session would remember it; the trouble with the database is the one to mend.
            _ => (fresh.clone(), settings::set("phone", &fresh).err().or(Some(trouble))),
        },
    }
}

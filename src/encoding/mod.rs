//! Published text and byte formats: canonical JSON, SHA-256, UUID version 7, CSV, character encodings, the sizes that pictures say of
//! themselves, strokes as SVG paths; and `stored`, by which values become JSON and are read back. Knows nothing of the job.

mod canonical;
pub mod charset;
pub mod csv;
mod digest;
mod hash;
mod members;
pub mod picture;
pub mod stored;
mod strict;
pub mod strokes;
mod uuid7;

pub use canonical::canonical;
pub use digest::{base64, content_digest, from_base64, from_hex, sha256, sha256_hex, to_hex};
pub use hash::Hash;
pub use members::split_list;
pub use stored::Stored;
pub use strict::{ParseError, parse_strict};
pub use uuid7::{read_uuid, uuid7};

//! `soakbook promises`: measures what is promised, at full counts. Figures and ratios for people to read; nothing here passes or
//! fails by the clock.

mod invented;

pub use invented::{Size, book};

use std::time::Instant;

/// Times the native evaluation.
#[expect(clippy::disallowed_methods, reason = "the time is what is reported")]
pub fn time_native(size: Size) {
    let start = Instant::now();
    let book = invented::book(size, 1);
    println!("made {} entries in {:?}", book.len(), start.elapsed());
    for _ in 0..3 {
        let start = Instant::now();
        let rounds = crate::book::round::rounds(&book);
        let folded = start.elapsed();
        let count: usize = rounds.iter().map(|round| crate::findings::round(&book, round).runs.len()).sum();
        println!("{count} runs: fold {folded:?}, all {:?}", start.elapsed());
    }
}

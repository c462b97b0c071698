//! Blocks that are shaped later.

use super::Block;
use std::fmt;
use std::sync::Arc;

/// What is shaped only when its turn to be drawn comes, because it is long: a thousand lines are no frame's work.
#[derive(Clone)]
pub struct Later(Arc<dyn Fn() -> Vec<Block> + Send + Sync>);

impl Later {
    /// Blocks to be shaped later.
    pub fn new(of: impl Fn() -> Vec<Block> + Send + Sync + 'static) -> Later {
        Later(Arc::new(of))
    }

    /// The blocks.
    pub fn blocks(&self) -> Vec<Block> {
        (self.0)()
    }
}

impl fmt::Debug for Later {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_tuple("Later").finish_non_exhaustive()
    }
}

impl PartialEq for Later {
    fn eq(&self, other: &Later) -> bool {
        Arc::ptr_eq(&self.0, &other.0)
    }
}

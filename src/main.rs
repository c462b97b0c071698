//! One binary, two lives: in the browser it mounts the app, on a computer it is the `soakbook` command.

// Findings are made of many small lists: the system's allocator took a third of the time of evaluating a book.
#[cfg(not(target_arch = "wasm32"))]
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

#[cfg(target_arch = "wasm32")]
fn main() {
    soakbook::ui::start();
}

#[cfg(not(target_arch = "wasm32"))]
fn main() -> std::process::ExitCode {
    soakbook::desk::main()
}

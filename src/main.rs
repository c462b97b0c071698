//! One binary, two lives: in the browser it mounts the app, on a computer it is the `soakbook` command.

#[cfg(target_arch = "wasm32")]
fn main() {
    soakbook::ui::start();
}

#[cfg(not(target_arch = "wasm32"))]
fn main() -> std::process::ExitCode {
    soakbook::desk::main()
}

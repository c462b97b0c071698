//! What the terminal shows while tools are installed and the app is compiled: a line per step, with the time since the start
//! and, on a terminal, how far each one is.

use std::fs::File;
use std::io::{self, BufRead, BufReader, IsTerminal, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::Mutex;
use std::time::Instant;

use super::Trouble;

/// The steps of one command, which may go on side by side.
#[derive(Debug)]
pub(crate) struct Steps {
    start: Instant,
    /// What goes on, and how many crates of it were begun.
    going: Mutex<Vec<(String, usize)>>,
    /// Where the words of the programs go.
    logs: PathBuf,
}

impl Steps {
    /// None yet; the programs' words go into files of `logs`.
    #[expect(clippy::disallowed_methods, reason = "the time since the start is what is shown")]
    pub(crate) fn new(logs: PathBuf) -> Self {
        Self { start: Instant::now(), going: Mutex::default(), logs }
    }

    /// Says something that is done at once.
    pub(crate) fn say(&self, words: &str) {
        let going = self.going.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        println!("{}{}  {words}", wipe(), clock(self.start.elapsed().as_secs()));
        self.show(&going);
    }

    /// Runs cargo as one step. False when it failed; its words are in the log then, and on the terminal.
    pub(crate) fn cargo(&self, what: &str, usually: &str, mut command: Command) -> Result<bool, Trouble> {
        self.say(&format!("{what}, usually {usually} …"));
        let log = self.logs.join(format!("{}.log", what.replace(' ', "-")));
        let file = |error: io::Error| Trouble::file(&log, &error);
        std::fs::create_dir_all(&self.logs).map_err(file)?;
        let mut kept = File::create(&log).map_err(file)?;
        let child = command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::piped()).spawn();
        let mut child = child.map_err(|error| Trouble::Mend(format!("cargo did not start: {error}")))?;
        self.change(|going| going.push((what.to_owned(), 0)));
        for line in
            child.stderr.take().into_iter().flat_map(|words| BufReader::new(words).lines()).map_while(Result::ok)
        {
            writeln!(kept, "{line}").map_err(file)?;
            if line.trim_start().starts_with("Compiling ") {
                self.change(|going| going.iter_mut().filter(|step| step.0 == what).for_each(|step| step.1 += 1));
            }
        }
        let well = child.wait().is_ok_and(|status| status.success());
        self.change(|going| going.retain(|step| step.0 != what));
        self.say(&if well { format!("{what}: done") } else { format!("{what}: FAILED\n{}", words(&log)) });
        Ok(well)
    }

    fn change(&self, change: impl FnOnce(&mut Vec<(String, usize)>)) {
        let mut going = self.going.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        change(&mut going);
        self.show(&going);
    }

    /// The last line of a terminal; nothing where the words go into a file.
    fn show(&self, going: &[(String, usize)]) {
        if going.is_empty() || !io::stdout().is_terminal() {
            return;
        }
        let each: Vec<_> = going.iter().map(|(what, crates)| format!("{what}: {crates} crates")).collect();
        print!("{}{}  {}", wipe(), clock(self.start.elapsed().as_secs()), each.join(" · "));
        // A terminal that cannot be flushed loses nothing else.
        let _ = io::stdout().flush();
    }
}

/// Goes back to the start of a terminal's line and empties it.
fn wipe() -> &'static str {
    if io::stdout().is_terminal() { "\r\x1b[K" } else { "" }
}

fn words(log: &Path) -> String {
    String::from_utf8_lossy(&std::fs::read(log).unwrap_or_default()).into_owned()
}

/// Minutes and seconds.
#[must_use]
pub fn clock(seconds: u64) -> String {
    format!("{}:{:02}", seconds / 60, seconds % 60)
}

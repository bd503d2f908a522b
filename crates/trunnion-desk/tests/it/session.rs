//! A command and what came of it.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};

use trunnion_desk::command_line::{Outcome, Streams, run_with};

use crate::barrow::BarrowBench;

/// What a command wrote, and its outcome.
pub struct Said {
    pub outcome: Outcome,
    pub out: String,
    pub errors: String,
}

/// Types a command; blanks part its words.
pub fn typed(command: &str) -> Said {
    typed_words(&command.split_whitespace().collect::<Vec<_>>())
}

/// Types words that may hold blanks.
pub fn typed_words(words: &[&str]) -> Said {
    let (mut out, mut errors) = (Vec::new(), Vec::new());
    let outcome = run_with::<BarrowBench>(words.iter().copied(), &mut Streams::plain(&mut out, &mut errors));
    let text = |bytes| String::from_utf8(bytes).unwrap();
    Said { outcome, out: text(out), errors: text(errors) }
}

/// A folder of a test's own, gone with it.
pub struct Folder(PathBuf);

impl Folder {
    pub fn new() -> Self {
        static COUNT: AtomicU32 = AtomicU32::new(0);
        let count = COUNT.fetch_add(1, Ordering::Relaxed);
        let path = std::env::temp_dir().join(format!("trunnion-desk-{}-{count}", std::process::id()));
        fs::create_dir_all(&path).unwrap();
        Self(path)
    }

    /// Writes a file and gives its path.
    pub fn file(&self, name: &str, text: &str) -> String {
        fs::write(self.0.join(name), text).unwrap();
        self.path(name)
    }

    pub fn path(&self, name: &str) -> String {
        self.0.join(name).display().to_string()
    }

    pub fn read(&self, name: &str) -> String {
        fs::read_to_string(self.0.join(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
    }

    pub fn has(&self, name: &str) -> bool {
        Path::new(&self.0).join(name).exists()
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        // Left behind in the worst case: it is in the system's temporary folder.
        let _ = fs::remove_dir_all(&self.0);
    }
}

//! What happened in a simulation, line by line: shown when it fails, and compared when it is run again.

use sha2::{Digest, Sha256};

/// Lines shown of a simulation that fails.
const SHOWN: usize = 80;

pub(crate) struct Trace {
    seed: u64,
    lines: Vec<String>,
}

impl Trace {
    pub(crate) fn of(seed: u64) -> Self {
        Self {
            seed,
            lines: Vec::new(),
        }
    }

    pub(crate) fn note(&mut self, line: String) {
        self.lines.push(line);
    }

    /// The same for two runs in which the same happened.
    pub(crate) fn digest(&self) -> [u8; 32] {
        Sha256::digest(self.lines.join("\n")).into()
    }
}

impl Drop for Trace {
    fn drop(&mut self) {
        if std::thread::panicking() {
            let last = self.lines.len().saturating_sub(SHOWN);
            println!(
                "the end of what happened:\n{}",
                self.lines[last..].join("\n")
            );
            println!(
                "seed {seed} fails; run it alone: PLIMSOLL_TEST_SEED={seed} cargo nextest run -p plimsoll-api \
                 --features testing -E 'binary(simulation) & test(one_seed)'",
                seed = self.seed
            );
        }
    }
}

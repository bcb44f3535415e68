//! The built program: where it is, how it is started, and how it is stopped.

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, ExitStatus, Stdio};
use std::time::{Duration, Instant};

use reqwest::Url;
use rustix::process::{Pid, Signal, kill_process};

/// What the program is started with.
#[derive(Clone, Default)]
pub(crate) struct Environment {
    /// Settings, as environment variables.
    pub(crate) settings: BTreeMap<String, String>,
    /// A command that runs the program as its own arguments, where it does not run directly.
    pub(crate) under: Vec<String>,
}

/// What the program wrote to standard error since its first start in a folder.
pub(crate) const LOG: &str = "stderr.log";
pub(crate) const OUTPUT: &str = "stdout.log";

// Limits that end a hang; no test passes or fails by speed.
const START_LIMIT: Duration = Duration::from_secs(120);
const STOP_LIMIT: Duration = Duration::from_secs(120);
const POLL: Duration = Duration::from_millis(10);

/// The program with these settings and no others: the caller's own settings and files must not reach a test.
pub(crate) fn command(environment: &Environment, folder: &Path) -> Command {
    let mut words = environment.under.iter().map(PathBuf::from).chain([path()]);
    let mut command = Command::new(words.next().expect("at least the program"));
    command.args(words);
    for (name, _) in std::env::vars_os() {
        if name.to_string_lossy().starts_with("PLIMSOLL_") {
            command.env_remove(name);
        }
    }
    command
        .envs(&environment.settings)
        .current_dir(folder)
        .stdin(Stdio::null());
    command
}

/// The program lies beside the `deps` folder of the running test: `target/debug/deps/health-…`, `target/debug/plimsoll`.
fn path() -> PathBuf {
    let test = std::env::current_exe().expect("the running test has a path");
    let build = test
        .parent()
        .and_then(Path::parent)
        .expect("a test lies in target/<profile>/deps");
    let program = build.join("plimsoll");
    assert!(
        program.is_file(),
        "{} is not built: run `cargo build --workspace` first, or `tests/run`, which builds everything",
        program.display()
    );
    program
}

/// `plimsoll serve` or `demo`, running. Dropped, it is stopped.
pub(crate) struct Program {
    child: Child,
}

impl Program {
    /// Starts `plimsoll serve` and waits until it says where it listens.
    pub(crate) async fn serve(environment: &Environment, folder: &Path) -> (Self, Url) {
        Self::start(environment, folder, &["serve"]).await
    }

    /// Starts a command that ends in serving and waits until it says where it listens.
    pub(crate) async fn start(
        environment: &Environment,
        folder: &Path,
        arguments: &[&str],
    ) -> (Self, Url) {
        let log = File::options()
            .create(true)
            .append(true)
            .open(folder.join(LOG))
            .expect("a log file");
        let output = File::create(folder.join(OUTPUT)).expect("an output file");
        let child = command(environment, folder)
            .args(arguments)
            .stdout(output)
            .stderr(log)
            .spawn();
        let mut program = Self {
            child: child.expect("the program starts"),
        };
        let url = program.wait_until_listening(&folder.join(OUTPUT)).await;
        (program, url)
    }

    /// The program writes one line to standard output, `listening on http://127.0.0.1:PORT`.
    async fn wait_until_listening(&mut self, output: &Path) -> Url {
        let started = Instant::now();
        while started.elapsed() < START_LIMIT {
            let text = fs::read_to_string(output).expect("the output is UTF-8");
            let line = text
                .split_inclusive('\n')
                .find_map(|line| line.strip_prefix("listening on "));
            if let Some(url) = line.and_then(|rest| rest.strip_suffix('\n')) {
                return Url::parse(url).expect("the program listens at a URL");
            }
            if let Some(status) = self
                .child
                .try_wait()
                .expect("the program can be waited for")
            {
                panic!("the program ended before it listened: {status}");
            }
            tokio::time::sleep(POLL).await;
        }
        panic!("the program did not say where it listens within {START_LIMIT:?}");
    }

    /// Asks it to stop (SIGTERM) and waits for its end.
    pub(crate) fn stop(mut self) -> ExitStatus {
        self.terminate().expect("the program stops after SIGTERM")
    }

    /// Asks it to stop (SIGTERM) and goes on at once.
    pub(crate) fn ask_to_stop(&self) {
        kill_process(Pid::from_child(&self.child), Signal::TERM).expect("SIGTERM can be sent");
    }

    /// Waits for the end of a program that was asked to stop, while other tasks go on.
    pub(crate) async fn ended(mut self) -> ExitStatus {
        let asked = Instant::now();
        while asked.elapsed() < STOP_LIMIT {
            if let Some(status) = self
                .child
                .try_wait()
                .expect("the program can be waited for")
            {
                return status;
            }
            tokio::time::sleep(POLL).await;
        }
        panic!("the program did not stop within {STOP_LIMIT:?} after SIGTERM");
    }

    /// The most memory that it has had so far, in MB (`VmHWM` of proc(5)).
    pub(crate) fn peak_memory(&self) -> f64 {
        let status =
            fs::read_to_string(format!("/proc/{}/status", self.child.id())).expect("it runs");
        let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
        let kilobytes = line
            .and_then(|rest| rest.trim().strip_suffix(" kB"))
            .expect("VmHWM");
        kilobytes.parse::<f64>().expect("a number") / 1_024.0
    }

    /// Ends it at once (SIGKILL), as a crash would.
    pub(crate) fn kill(mut self) {
        self.child.kill().expect("SIGKILL can be sent");
        self.child.wait().expect("a killed program ends");
    }

    fn terminate(&mut self) -> Option<ExitStatus> {
        kill_process(Pid::from_child(&self.child), Signal::TERM).ok()?;
        let asked = Instant::now();
        while asked.elapsed() < STOP_LIMIT {
            if let Some(status) = self.child.try_wait().ok()? {
                return Some(status);
            }
            std::thread::sleep(POLL);
        }
        None
    }
}

impl Drop for Program {
    fn drop(&mut self) {
        let has_ended = matches!(self.child.try_wait(), Ok(Some(_)));
        if !has_ended && self.terminate().is_none() {
            eprintln!(
                "the program did not stop within {STOP_LIMIT:?} after SIGTERM and was killed"
            );
            let _ = self.child.kill();
            let _ = self.child.wait();
        }
    }
}

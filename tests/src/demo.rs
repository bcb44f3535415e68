//! The demo, running.

use std::fs;
use std::process::{Output, Stdio};

use tempfile::TempDir;

use crate::program::{Environment, OUTPUT, Program};

/// `plimsoll demo`, serving on a free port. Dropped, it is stopped.
pub struct Demo {
    _program: Program,
    folder: TempDir,
}

impl Demo {
    /// Starts it with these arguments and waits until it serves.
    pub async fn start<'a>(arguments: impl IntoIterator<Item = &'a str>) -> Self {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let mut all = vec!["demo", "--port", "0"];
        all.extend(arguments);
        let (program, _) = Program::start(&Environment::default(), folder.path(), &all).await;
        Self {
            _program: program,
            folder,
        }
    }

    /// The lines it prints for a shell.
    pub fn exports(&self) -> String {
        let printed = fs::read_to_string(self.folder.path().join(OUTPUT)).expect("its output");
        let exports: Vec<&str> = printed
            .lines()
            .filter(|line| line.starts_with("export "))
            .collect();
        exports.join("\n")
    }

    /// A variable that it sets for a shell.
    pub fn variable(&self, name: &str) -> String {
        let exports = self.exports();
        let words = exports
            .split_whitespace()
            .filter_map(|word| word.split_once('='));
        let value = words.into_iter().find(|(found, _)| *found == name);
        let value = value.unwrap_or_else(|| panic!("no {name}: {exports}"));
        value.1.trim_matches('"').to_owned()
    }

    /// What its coach reads under the club's path, as this media type.
    pub async fn read(&self, path: &str, accept: &str) -> String {
        self.read_as("COACH", path, accept).await
    }

    /// The id of the athlete with this code of the club.
    pub async fn athlete(&self, code: &str) -> String {
        let path = format!("athletes?external_id={code}");
        let found = self.read(&path, "application/json").await;
        let found: serde_json::Value = serde_json::from_str(&found).expect("JSON");
        let id = found["items"][0]["athlete_id"].as_str();
        id.unwrap_or_else(|| panic!("no {code}: {found}"))
            .to_owned()
    }

    /// What somebody reads, by the name of her token's variable.
    pub async fn read_as(&self, token: &str, path: &str, accept: &str) -> String {
        let request = reqwest::Client::new()
            .get(format!("{}/{path}", self.variable("CLUB")))
            .bearer_auth(self.variable(token))
            .header("Accept", accept);
        let answer = request.send().await.expect("an answer");
        let answer = answer.error_for_status().expect("a good answer");
        answer.text().await.expect("text")
    }
}

impl Demo {
    /// What `plimsoll demo --no-serve` prints with these arguments.
    pub fn print(arguments: &[&str]) -> String {
        let all = [&["--no-serve"], arguments].concat();
        let output = Self::run(&all, Stdio::piped());
        let errors = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "{errors}");
        String::from_utf8(output.stdout).expect("UTF-8")
    }

    /// `plimsoll demo` with arguments that make it end, printing to wherever the test says.
    pub fn run(arguments: &[&str], output: impl Into<Stdio>) -> Output {
        let folder = tempfile::tempdir().expect("a temporary folder");
        crate::program::command(&Environment::default(), folder.path())
            .arg("demo")
            .args(arguments)
            .stdout(output)
            .stderr(Stdio::piped())
            .spawn()
            .and_then(std::process::Child::wait_with_output)
            .expect("the program runs")
    }
}

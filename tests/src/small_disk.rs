//! A file system of a few megabytes, which can run full.

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};

use tempfile::TempDir;

/// A tmpfs in a mount namespace of its own (mount_namespaces(7)): it needs no root and leaves nothing behind, because it
/// ends with the process that holds it. Programs see it when they run `under` it.
pub struct SmallDisk {
    holder: Child,
    folder: TempDir,
    as_root: bool,
}

impl SmallDisk {
    /// Makes one of so many megabytes; says why not where the system does not allow it.
    pub fn of_megabytes(size: u32) -> Result<Self, String> {
        let folder = tempfile::Builder::new()
            .prefix("plimsoll-e2e-disk-")
            .tempdir()
            .expect("a temporary folder");
        let as_root = rustix::process::geteuid().is_root();
        let mut command = Command::new("unshare");
        if !as_root {
            command.args(["--user", "--map-root-user"]);
        }
        let script =
            "mount -t tmpfs -o size=$1m,mode=1777 tmpfs \"$0\" && echo mounted && exec cat";
        command.args(["--mount", "sh", "-c", script]);
        command.arg(folder.path()).arg(size.to_string());
        let holder = command
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn();
        let mut holder = holder.map_err(|error| format!("unshare: {error}"))?;
        let output = holder.stdout.take().expect("the holder's output");
        if BufReader::new(output)
            .lines()
            .any(|line| line.is_ok_and(|line| line == "mounted"))
        {
            return Ok(Self {
                holder,
                folder,
                as_root,
            });
        }
        let output = holder.wait_with_output().expect("the holder ends");
        Err(String::from_utf8_lossy(&output.stderr).trim().to_owned())
    }

    /// Its folder, for programs that run under it.
    pub fn path(&self) -> &Path {
        self.folder.path()
    }

    /// The command under which a program sees it, in the program's own working folder.
    pub fn under(&self) -> Vec<String> {
        let mut words = vec![
            "nsenter".to_owned(),
            format!("--target={}", self.holder.id()),
        ];
        if !self.as_root {
            words.extend(["--user".to_owned(), "--preserve-credentials".to_owned()]);
        }
        words.extend(["--mount".to_owned(), "--wd=.".to_owned(), "--".to_owned()]);
        words
    }

    /// As `under`, for a program that refuses to be root: without root, one is root in the namespace that `under` enters.
    pub fn under_as_user(&self) -> Vec<String> {
        let mut words = self.under();
        if !self.as_root {
            let another = [
                "unshare",
                "--user",
                "--map-user=1000",
                "--map-group=1000",
                "--",
            ];
            words.extend(another.map(str::to_owned));
        }
        words
    }

    /// Fills what is left with a file.
    pub fn fill(&self) {
        let script = "cat /dev/zero > \"$0\" 2>/dev/null; test -s \"$0\"";
        self.run(&["sh", "-c", script, &self.ballast()]);
    }

    /// Gives the space back that `fill` took.
    pub fn make_room(&self) {
        self.run(&["rm", &self.ballast()]);
    }

    fn ballast(&self) -> String {
        self.path().join("ballast").display().to_string()
    }

    fn run(&self, words: &[&str]) {
        let under = self.under();
        let output = Command::new(&under[0])
            .args(&under[1..])
            .args(words)
            .output();
        let output = output.expect("nsenter runs");
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "{words:?}: {said}");
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        let _ = self.holder.kill();
        let _ = self.holder.wait();
    }
}

//! The layers: who may import what.

use std::path::{Path, PathBuf};

fn sources(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder).expect("the folder is there") {
        let path = entry.expect("a readable entry").path();
        if path.is_dir() {
            found.extend(sources(&path));
        } else if path.extension().is_some_and(|end| end == "rs") {
            found.push(path);
        }
    }
    found
}

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .parent()
        .expect("the workspace")
        .to_owned()
}

/// The files under `folder` that hold one of `words` in a line of code and lie outside `allowed`.
fn offenders(folder: &str, words: &[&str], allowed: &[&str]) -> Vec<String> {
    let root = root();
    let files = sources(&root.join(folder));
    assert!(files.len() > 10, "{folder} was looked at");
    let mut found = Vec::new();
    for file in files {
        let name = file
            .strip_prefix(&root)
            .expect("inside")
            .to_string_lossy()
            .into_owned();
        if allowed.iter().any(|allowed| name.starts_with(allowed)) {
            continue;
        }
        let text = std::fs::read_to_string(&file).expect("readable");
        let code = text
            .lines()
            .filter(|line| !line.trim_start().starts_with("//"));
        found.extend(
            code.filter(|line| words.iter().any(|word| line.contains(word)))
                .map(|line| format!("{name}: {}", line.trim())),
        );
    }
    found
}

#[test]
fn only_the_store_knows_diesel() {
    let found = offenders(
        "api/src",
        &["diesel"],
        &["api/src/store/", "api/src/testing/"],
    );
    assert!(found.is_empty(), "{found:#?}");
}

#[test]
fn only_the_edge_knows_actix() {
    let edge = [
        "api/src/routes/",
        "api/src/auth/list_scope.rs",
        "api/src/auth/tenant.rs",
        "api/src/web/",
        "api/src/server.rs",
        "api/src/error.rs",
        "api/src/openapi.rs",
        "api/src/cli/",
    ];
    let found = offenders("api/src", &["actix"], &edge);
    assert!(found.is_empty(), "{found:#?}");
}

#[test]
fn the_domain_knows_no_input_and_output() {
    let words = [
        "actix",
        "diesel",
        "tokio",
        "serde",
        "std::fs",
        "SystemTime",
        "::now()",
        "TimeZone",
    ];
    let found = offenders("domain/src", &words, &[]);
    assert!(found.is_empty(), "{found:#?}");
}

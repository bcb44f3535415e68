//! Migrated databases that those of the tests are copied from: to migrate each anew took a tenth of the time of all tests.
//!
//! Whichever test comes first makes one under a name of its own and then gives it its right name. The right name carries a hash of the
//! migrations, so a changed migration makes another.

use std::fs;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::path::{Path, PathBuf};

use reqwest::Url;
use tempfile::TempDir;

use crate::database::{ROLE, as_app, psql, try_psql};
use crate::program::{self, Environment};

/// Copies it to a file.
pub(crate) fn copy_sqlite(to: &Path) {
    let template = std::env::temp_dir().join(format!("{}.sqlite", name("sqlite")));
    if !template.exists() {
        make_sqlite(&template);
    }
    fs::copy(template, to).expect("a copy of the migrated database");
}

fn make_sqlite(template: &Path) {
    let folder = own_folder();
    let unfinished = folder.path().join("template.sqlite");
    migrate(&format!("sqlite://{}", unfinished.display()), folder.path());
    fs::rename(unfinished, template).expect("the folder of temporary files takes it");
}

/// Copies it to a new database on this server.
pub(crate) fn copy_postgres(server: &Url, database: &str) {
    let template = name("postgres");
    let copy = format!(
        r#"CREATE DATABASE "{database}" OWNER plimsoll_app TEMPLATE "{template}" STRATEGY file_copy"#
    );
    if try_psql(server, &copy).is_err() {
        make_postgres(server, &template, &format!("{database}_template"));
        psql(server, &copy);
    }
}

/// Does nothing where another test was the first.
fn make_postgres(server: &Url, template: &str, unfinished: &str) {
    psql(server, ROLE);
    psql(
        server,
        &format!(
            r#"CREATE DATABASE "{unfinished}" OWNER plimsoll_app TEMPLATE template0 ENCODING 'UTF8' LOCALE 'C.UTF-8'"#
        ),
    );
    migrate(&as_app(server, unfinished), own_folder().path());
    let rename = format!(r#"ALTER DATABASE "{unfinished}" RENAME TO "{template}""#);
    if try_psql(server, &rename).is_err() {
        psql(server, &format!(r#"DROP DATABASE "{unfinished}""#));
    }
}

fn migrate(url: &str, folder: &Path) {
    let mut environment = Environment::default();
    let setting = ("PLIMSOLL_DATABASE_URL".to_owned(), url.to_owned());
    environment.settings.extend([setting]);
    let output = program::command(&environment, folder)
        .arg("migrate")
        .output();
    let output = output.expect("the program runs");
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "plimsoll migrate: {said}");
}

fn own_folder() -> TempDir {
    tempfile::tempdir().expect("a temporary folder")
}

fn name(database: &str) -> String {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../migrations")
        .join(database);
    let mut scripts: Vec<PathBuf> = fs::read_dir(folder)
        .expect("the folder of migrations")
        .map(|entry| entry.expect("a migration").path().join("up.sql"))
        .collect();
    scripts.sort();
    let mut hasher = DefaultHasher::new();
    for script in scripts {
        fs::read(script)
            .expect("a migration's script")
            .hash(&mut hasher);
    }
    format!("plimsoll_e2e_template_{:016x}", hasher.finish())
}

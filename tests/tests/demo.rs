//! What the demo prints. That each story is told whatever the seed is tested beside the generator;
//! here the same is shown through the service, for dates on which calendars are odd.

use std::net::TcpListener;
use std::process::Stdio;

use e2e::Demo;

/// Each athlete with a story, and what the list has to say of it.
const STORIES: [(&str, &str); 9] = [
    ("Jara N. (certain)", "had the same load"),
    ("Edda S. (cannot say)", "the 28th day of membership"),
    (
        "Oda J. (certain)",
        "1.1 times the highest of 8 earlier weeks",
    ),
    ("Selma G. (certain)", "The days of the week were alike"),
    ("Wilma D. (possible)", "With sessions of the week in doubt"),
    (
        "Cosima R. (certain)",
        "the largest rise was in the school team",
    ),
    ("Hanna J. (certain)", "Week 3 after an absence of 28 days"),
    ("Elif A. (possible)", "With 3 sessions unlogged"),
    ("Jule F.", "Nothing was logged and 3 sessions"),
];

fn print(seed: &str, at: &str) -> String {
    Demo::print(&["--seed", seed, "--at", at])
}

#[test]
fn each_story_is_found_and_few_others() {
    // After ISO week 53, over both clock changes, on a leap day, and on a Monday.
    let dates = [
        "2026-11-25",
        "2027-01-06",
        "2027-04-01",
        "2028-02-29",
        "2026-10-26",
    ];
    let mut others = 0;
    for (seed, at) in (1..).zip(dates) {
        let said = print(&seed.to_string(), at);
        for (who, what) in STORIES {
            let line = said.lines().find(|line| line.contains(who));
            let line = line.unwrap_or_else(|| panic!("{who}, seed {seed}, {at}: {said}"));
            assert!(line.contains(what), "seed {seed}, {at}: {line}");
        }
        let (ahead, said): (Vec<&str>, Vec<&str>) =
            said.lines().partition(|line| line.starts_with("    "));
        let findings = said
            .iter()
            .filter(|line| line.starts_with("  ") && line.contains("): "));
        others += findings.count() - STORIES.len();
        assert!(
            ahead[0].starts_with("    Hanna J. (certain): If the 4 sessions planned for "),
            "seed {seed}, {at}: {ahead:?}"
        );
        assert!(ahead.len() <= 3, "seed {seed}, {at}: {ahead:?}");
    }
    // A list that names everybody is read by nobody: 29 athletes without a story, 5 weeks.
    assert!(others <= 5, "{others} findings without a story");
}

#[test]
fn the_same_seed_and_date_print_the_same() {
    assert_eq!(print("3", "2026-11-25"), print("3", "2026-11-25"));
    assert_ne!(print("3", "2026-11-25"), print("4", "2026-11-25"));
}

#[test]
fn what_cannot_be_done_is_said_in_a_sentence() {
    let stderr = |arguments: &[&str], code| {
        let output = Demo::run(arguments, Stdio::piped());
        assert_eq!(output.status.code(), Some(code), "{arguments:?}");
        String::from_utf8(output.stderr).expect("UTF-8")
    };
    for at in ["2000-12-31", "2200-01-01", "tomorrow"] {
        let said = stderr(&["--no-serve", "--at", at], 2);
        assert!(said.contains("from 2001-01-01 to 2199-12-31"), "{said}");
    }
    for at in ["2001-01-01", "2199-12-31"] {
        assert_eq!(stderr(&["--no-serve", "--at", at], 0), "");
    }

    let kept = tempfile::tempdir().expect("a folder");
    let kept = kept.path().to_str().expect("a path");
    assert_eq!(stderr(&["--no-serve", "--keep", kept], 0), "");
    let said = stderr(&["--no-serve", "--keep", kept], 2);
    assert!(said.contains("holds a database already"), "{said}");

    let taken = TcpListener::bind("127.0.0.1:0").expect("a port");
    let port = taken.local_addr().expect("an address").port().to_string();
    let said = stderr(&["--port", &port], 1);
    assert!(said.contains("choose another address or port"), "{said}");
}

#[test]
fn a_reader_who_goes_away_is_no_panic() {
    let (reader, writer) = std::io::pipe().expect("a pipe");
    drop(reader);
    let output = Demo::run(&["--no-serve"], writer);
    assert_eq!(output.status.code(), Some(1));
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(
        said.starts_with("plimsoll: cannot write to standard output"),
        "{said}"
    );
}

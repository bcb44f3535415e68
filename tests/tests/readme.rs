//! The README's five minutes and the page for integrators: every command is run, every printed answer must be part of the real one,
//! and the codes are those that the service has.

use std::path::Path;
use std::process::{Command, Stdio};

use e2e::{Database, Demo, Server};
use serde_json::Value;

/// A page of the repository.
fn page(name: &str) -> String {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join(name);
    std::fs::read_to_string(file).expect(name)
}

/// Fenced blocks of the section under a heading, in order: language and text.
fn blocks(page: &str, heading: &str) -> Vec<(String, String)> {
    let section = page.split(heading).nth(1).expect("the section is there");
    let section = section.split("\n## ").next().expect("its end");
    let mut parts = section.split("```");
    let mut found = Vec::new();
    while let (Some(_), Some(block)) = (parts.next(), parts.next()) {
        let (language, text) = block
            .split_once('\n')
            .expect("a fence has a line of its own");
        found.push((language.to_owned(), text.to_owned()));
    }
    found
}

/// The demo that a command starts.
async fn demo(command: &str) -> Demo {
    let arguments = command.trim().strip_prefix("cargo run -- demo ");
    Demo::start(arguments.expect("a demo").split(' ')).await
}

/// Runs commands against the demo, each followed by what of its answer is printed.
fn assert_true(demo: &Demo, blocks: &[(String, String)]) {
    for pair in blocks.chunks(2) {
        let [(sh, command), (json, printed)] = pair else {
            panic!("a command without an answer")
        };
        assert_eq!((sh.as_str(), json.as_str()), ("sh", "json"));
        let output = Command::new("bash")
            .args(["-c", &format!("{}\n{command}", demo.exports())])
            .stdin(Stdio::null())
            .output()
            .expect("bash runs");
        let answer = String::from_utf8_lossy(&output.stdout);
        let answer: Value =
            serde_json::from_str(&answer).unwrap_or_else(|_| panic!("{command}\n{answer}"));
        let printed: Value = serde_json::from_str(printed).expect("the page's JSON");
        assert_eq!(
            missing(&printed, &answer, ""),
            None,
            "{command}\n{answer:#}"
        );
    }
}

/// Whether all that is printed is in the answer; lists must agree place by place.
fn missing(printed: &Value, answer: &Value, at: &str) -> Option<String> {
    match (printed, answer) {
        (Value::Object(printed), Value::Object(answer)) => {
            printed.iter().find_map(|(name, value)| {
                let at = format!("{at}/{name}");
                match answer.get(name) {
                    None => Some(format!("{at} is absent")),
                    Some(answer) => missing(value, answer, &at),
                }
            })
        }
        (Value::Array(printed), Value::Array(answer)) => (printed.len() > answer.len())
            .then(|| format!("{at} is shorter"))
            .or_else(|| {
                let pairs = printed.iter().zip(answer).enumerate();
                pairs.into_iter().find_map(|(place, (printed, answer))| {
                    missing(printed, answer, &format!("{at}/{place}"))
                })
            }),
        (Value::Number(printed), Value::Number(answer)) => {
            (printed.as_f64() != answer.as_f64()).then(|| format!("{at}: {printed}, not {answer}"))
        }
        _ => (printed != answer).then(|| format!("{at}: {printed}, not {answer}")),
    }
}

#[test]
fn a_printed_answer_that_differs_is_noticed() {
    let answer = serde_json::json!({"a": [{"b": 1.0, "c": null}]});
    assert_eq!(
        missing(&serde_json::json!({"a": [{"b": 1}]}), &answer, ""),
        None
    );
    for wrong in [
        serde_json::json!({"a": [{"b": 2}]}),
        serde_json::json!({"a": [{"d": 1}]}),
        serde_json::json!({"a": [{}, {}]}),
        serde_json::json!({"x": 1}),
    ] {
        assert!(missing(&wrong, &answer, "").is_some(), "{wrong}");
    }
}

#[tokio::test]
async fn the_five_minutes_are_true() {
    let blocks = blocks(&page("README.md"), "## Five minutes");
    let (first, rest) = blocks.split_first().expect("commands");
    assert_true(&demo(&first.1).await, rest);
    assert!(rest.len() >= 10, "{}", rest.len());
}

#[tokio::test]
async fn a_token_leads_to_a_figure_in_fifteen_lines() {
    let blocks = blocks(&page(INTEGRATING), "## From a token to a first figure");
    let (first, rest) = blocks.split_first().expect("commands");
    assert_true(&demo(&first.1).await, rest);
    let lines = rest[0].1.lines().count();
    assert!(lines <= 15 && rest.len() == 2, "{lines} lines");
}

#[tokio::test]
async fn a_year_passes_in_a_sandbox_of_the_demo() {
    let blocks = blocks(
        &page(INTEGRATING),
        "## Getting started without children's data",
    );
    let (first, rest) = blocks.split_first().expect("commands");
    assert_true(&demo(&first.1).await, rest);
    assert_eq!(rest.len(), 2);
}

const INTEGRATING: &str = "openapi/integrating.md";
/// What stands before and after the list of codes on the page.
const CODES: [&str; 2] = [
    "<!-- codes: written by the test the_page_lists_every_code -->\n",
    "<!-- end of codes -->",
];

/// The list of codes as a table, from what the service says of them.
fn table_of(problems: &Value) -> String {
    let cell = |text: &Value| match text {
        Value::String(text) => text.replace('|', "\\|"),
        other => other.to_string(),
    };
    let mut table = "| code | status | cause | remedy |\n|---|---|---|---|\n".to_owned();
    for one in problems["items"].as_array().expect("items") {
        let [code, status, cause, remedy] =
            ["code", "status", "cause", "remedy"].map(|column| cell(&one[column]));
        table += &format!("| `{code}` | {status} | {cause} | {remedy} |\n");
    }
    table
}

/// `PLIMSOLL_TEST_WRITE=yes` writes the list anew.
#[tokio::test]
async fn the_page_lists_every_code() {
    let server = Server::start(Database::Sqlite).await;
    let problems = server.anonymous().get("/problems").await.expect(200).body;
    let (page, table) = (page(INTEGRATING), table_of(&problems));
    let [begin, end] = CODES;
    let (before, rest) = page.split_once(begin).expect("the list's beginning");
    let (list, after) = rest.split_once(end).expect("the list's end");
    if std::env::var_os("PLIMSOLL_TEST_WRITE").is_some() {
        let file = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("..")
            .join(INTEGRATING);
        let text = format!("{before}{begin}{table}{end}{after}");
        std::fs::write(file, text).expect("the page");
        return;
    }
    let differing = list
        .lines()
        .zip(table.lines())
        .find(|(page, service)| page != service);
    assert!(
        list == table,
        "the page's codes are not the service's; PLIMSOLL_TEST_WRITE=yes writes them anew: {differing:?}"
    );
}

/// As long as the page says so.
#[test]
fn nothing_is_deprecated() {
    assert!(page(INTEGRATING).contains("Nothing is deprecated now."));
    let committed = page("openapi/openapi.json");
    assert!(!committed.contains("\"deprecated\": true"));
}

//! The README's five minutes: every command is run, every printed answer must be part of the real one.

use std::path::Path;
use std::process::{Command, Stdio};

use e2e::Demo;
use serde_json::Value;

/// Fenced blocks of the section, in order: language and text.
fn blocks(readme: &str) -> Vec<(String, String)> {
    let section = readme
        .split("## Five minutes")
        .nth(1)
        .expect("the section is there");
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
    let readme = Path::new(env!("CARGO_MANIFEST_DIR")).join("../README.md");
    let blocks = blocks(&std::fs::read_to_string(readme).expect("the README"));
    let (first, rest) = blocks.split_first().expect("commands");
    let arguments = first
        .1
        .trim()
        .strip_prefix("cargo run -- demo ")
        .expect("the demo is first");
    let demo = Demo::start(arguments.split(' ')).await;
    let mut checked = 0;
    for pair in rest.chunks(2) {
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
        let printed: Value = serde_json::from_str(printed).expect("the README's JSON");
        assert_eq!(
            missing(&printed, &answer, ""),
            None,
            "{command}\n{answer:#}"
        );
        checked += 1;
    }
    assert!(checked >= 5, "{checked}");
}

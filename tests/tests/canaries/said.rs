//! Everything the service has said: its log and output, its figures about itself, and answers.

use std::fmt;
use std::fs;

use crate::*;

pub(crate) struct Said(Vec<(String, String)>);

impl Said {
    pub(crate) async fn by(server: &Server, answers: &[Answer]) -> Self {
        let file = |name: &str| fs::read(server.folder().join(name)).expect("a file of the server");
        let text = |octets: Vec<u8>| String::from_utf8_lossy(&octets).into_owned();
        let mut said = vec![
            ("standard output".to_owned(), text(file("stdout.log"))),
            ("standard error".to_owned(), text(file("stderr.log"))),
        ];
        for path in ["/metrics", "/health/ready", "/health/live"] {
            said.push((path.to_owned(), server.anonymous().get(path).await.text()));
        }
        for answer in answers {
            said.push((
                "an answer to somebody else".to_owned(),
                format!("{:?} {}", answer.headers, answer.text()),
            ));
        }
        Self(said)
    }

    /// Where a text stands, with the line.
    pub(crate) fn places_of(&self, text: &str) -> Vec<String> {
        let lines = self.0.iter().flat_map(|(place, said)| {
            said.lines()
                .filter(|line| line.contains(text))
                .map(move |line| format!("{place}: {line}"))
        });
        lines.take(5).collect()
    }

    /// How often a text stands in all of it.
    pub(crate) fn counts(&self, text: &str) -> usize {
        self.0
            .iter()
            .map(|(_, said)| said.matches(text).count())
            .sum()
    }
}

impl fmt::Display for Said {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let octets: usize = self.0.iter().map(|(_, said)| said.len()).sum();
        let lines = self.0.iter().map(|(_, said)| said.lines().count());
        write!(f, "{} lines, {octets} octets", lines.sum::<usize>())
    }
}

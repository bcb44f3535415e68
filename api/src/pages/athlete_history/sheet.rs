//! An athlete's history as one sheet to print: the same sections in the same order as on the page, without the table of every week,
//! which would not find room.

use jiff::tz::TimeZone;

use super::{plots, tables, words};
use crate::pages::sheet::{Block, Item, Sheet, Tone};
use crate::routes::history::HistoryAnswer;

/// The sheet; times are told in the athlete's zone.
pub fn sheet(answer: &HistoryAnswer, zone: &TimeZone) -> Sheet {
    let sections = [
        limits(answer),
        not_known(answer),
        absence(answer),
        loads(answer),
        tests(answer),
        pain(answer),
        decisions(answer),
        what_this_is(answer),
    ];
    Sheet {
        title: words::title(answer),
        head: vec![
            Block::text(words::asked(answer)),
            Block::small(words::known(answer, zone)),
            Block::toned(Tone::Boxed, answer.note),
        ],
        blocks: sections.into_iter().flatten().collect(),
        columns: 2,
    }
}

/// What clinicians limit, before anything else.
fn limits(answer: &HistoryAnswer) -> Vec<Block> {
    let mut blocks = vec![Block::heading(2, words::limits(answer))];
    if answer.restrictions.is_empty() {
        blocks.push(Block::text(words::NO_RESTRICTION));
    }
    for one in &answer.restrictions {
        blocks.push(Block::toned(Tone::Strong, &one.instruction));
        blocks.push(Block::text(words::since(one)));
    }
    blocks
}

fn not_known(answer: &HistoryAnswer) -> Vec<Block> {
    let left_out = answer.not_included.iter().map(words::left_out);
    vec![
        Block::heading(2, words::NOT_KNOWN),
        Block::toned(Tone::Strong, words::unlogged(answer)),
        Block::text(words::days(answer)),
        list(left_out),
    ]
}

fn absence(answer: &HistoryAnswer) -> Vec<Block> {
    let mut blocks = vec![
        Block::heading(2, words::ABSENCE),
        Block::text(words::absence(answer)),
    ];
    blocks.extend(words::entered(&answer.absences).map(Block::small));
    if let Some(before) = &answer.pre_absence {
        let parts = &answer.share_of_pre_absence;
        blocks.push(Block::toned(Tone::Strong, words::before(before)));
        blocks.push(plots::back(parts).block());
        blocks.push(tables::back(parts).into());
    }
    if !answer.since_return.is_empty() {
        blocks.push(plots::since_return(answer).block());
        blocks.push(tables::since_return(&answer.since_return).into());
    }
    blocks
}

fn loads(answer: &HistoryAnswer) -> Vec<Block> {
    let plot = match answer.weeks.is_empty() {
        true => Block::text(words::NO_DAY),
        false => plots::weeks(answer).block(),
    };
    vec![Block::heading(2, words::LOADS), plot]
}

fn tests(answer: &HistoryAnswer) -> Vec<Block> {
    let mut blocks = vec![Block::heading(2, words::TESTS)];
    blocks.extend(answer.injuries.iter().map(words::injury).map(Block::text));
    if answer.injuries.is_empty() {
        blocks.push(Block::text(words::NO_INJURY));
    }
    blocks.push(match answer.tests.is_empty() {
        true => Block::text(words::NO_TEST),
        false => tables::tests(&answer.tests).into(),
    });
    blocks.push(Block::small(words::trials(answer)));
    blocks.extend(answer.tests_note.as_deref().map(Block::text));
    blocks.push(Block::small(words::technique(&answer.sign_offs)));
    blocks
}

fn pain(answer: &HistoryAnswer) -> Vec<Block> {
    if answer.pain_reports.is_empty() {
        return words::no_pain(answer)
            .map(Block::small)
            .into_iter()
            .collect();
    }
    let said = answer.pain_reports.iter().map(words::pain);
    vec![Block::heading(2, words::PAIN), list(said)]
}

fn decisions(answer: &HistoryAnswer) -> Vec<Block> {
    let mut blocks = vec![
        Block::heading(2, words::DECISION),
        Block::toned(Tone::Strong, words::newest(answer.decision)),
    ];
    let decided = answer.clearance_records.iter().map(words::decided);
    blocks.extend(decided.map(Block::text));
    if answer.flags.is_empty() {
        blocks.push(Block::text(words::NO_FLAG));
    } else {
        blocks.push(Block::heading(3, words::FLAGS));
        blocks.push(list(answer.flags.iter().map(words::flag)));
    }
    blocks
}

fn what_this_is(answer: &HistoryAnswer) -> Vec<Block> {
    let mut blocks = vec![
        Block::heading(2, words::WHAT_THIS_IS),
        Block::text(answer.evidence.join(" ")),
        Block::text(answer.caution),
        Block::text(answer.record_note),
    ];
    blocks.extend(answer.age_note.map(Block::text));
    blocks
}

fn list(texts: impl Iterator<Item = String>) -> Block {
    let items = texts.map(|text| Item {
        text,
        ..Item::default()
    });
    Block::Items {
        items: items.collect(),
    }
}

//! The weekly list as a sheet to print: the same lines in the same order as on the page, all unfolded.

use super::page::Beside;
use super::{done, figures, plot, words};
use crate::pages::sheet::{Block, Heading, Item, Sheet, Tone};
use crate::pages::told;
use crate::routes::weeks::{WeeklyEntry, WeeklyListAnswer};

/// The sheet.
pub fn sheet(answer: &WeeklyListAnswer, beside: &Beside) -> Sheet {
    let mut blocks = head(answer, beside);
    blocks.extend(decisions(answer, beside));
    blocks.extend(asks(answer, beside));
    blocks.extend(week_ahead(answer));
    if !answer.entries.is_empty() {
        blocks.push(Block::heading(2, words::ATHLETES));
    }
    let entries = answer.entries.iter();
    blocks.extend(entries.flat_map(|entry| athlete(entry, answer, beside)));
    blocks.extend([
        Block::heading(2, words::WHAT_FIGURES_ARE),
        Block::text(answer.ratio_note),
        Block::text(answer.caution),
        Block::small(words::of_squad(answer)),
    ]);
    Sheet {
        title: words::title(answer, beside),
        head: Vec::new(),
        blocks,
        columns: 1,
    }
}

fn head(answer: &WeeklyListAnswer, beside: &Beside) -> Vec<Block> {
    let mut blocks = vec![
        Block::text(words::span(answer)),
        Block::small(words::closing(answer, beside)),
        Block::small(words::known(answer, beside)),
    ];
    blocks.extend(answer.note.map(|note| Block::toned(Tone::Strong, note)));
    if let Some(note) = &answer.correction {
        let flags = words::corrected(note).into_iter();
        blocks.push(Block::heading(2, words::CORRECTED));
        blocks.push(Block::text(&note.sentence));
        blocks.extend(items(flags.map(|(text, flag)| Item {
            text,
            small: Some(flag),
            ..Item::default()
        })));
        blocks.push(Block::small(words::judged(note, beside)));
    }
    blocks.push(Block::toned(Tone::Boxed, answer.caution));
    blocks
}

fn decisions(answer: &WeeklyListAnswer, beside: &Beside) -> Vec<Block> {
    let mut blocks = vec![Block::heading(2, words::DECISIONS)];
    for (certainty, heading) in words::GROUPS {
        let entries = words::open(answer).filter(|entry| entry.certainty == certainty);
        let found = entries.map(|entry| about(entry, &entry.sentence, None));
        blocks.extend(headed(heading, items(found)));
    }
    let seen_to = words::acknowledged(answer).map(|(entry, done)| {
        let note = done.note.iter().map(|note| format!(" “{note}”"));
        let note: String = note.collect();
        let (what, by) = (done::what(done), done::by(done, beside));
        about(entry, &entry.sentence, Some(format!("{what}{note} {by}")))
    });
    blocks.extend(headed(words::ACKNOWLEDGED, items(seen_to)));
    if let Some(line) = &answer.mostly_unlogged {
        let names = line.athletes.iter().map(|id| Item {
            text: beside.name(*id).to_owned(),
            ..Item::default()
        });
        blocks.push(Block::heading(3, words::AS_A_WHOLE));
        blocks.push(Block::text(&line.sentence));
        blocks.push(Block::small(words::expected(line)));
        if let Some(names) = items(names) {
            blocks.extend([Block::text(words::NOTHING_LOGGED_BY), names]);
        }
    }
    blocks.push(Block::text(words::counts(answer)));
    let policy = answer.policy_version;
    blocks.extend(policy.map(|_| Block::small(words::NOT_LISTED)));
    blocks
}

fn asks(answer: &WeeklyListAnswer, beside: &Beside) -> Vec<Block> {
    let asks = words::asks(answer).into_iter();
    let asks = asks.map(|(entry, missing)| about(entry, &words::ask(missing, beside), None));
    let asks = items(asks);
    let heading = asks.is_some().then(|| Block::heading(2, words::ASKS));
    heading.into_iter().chain(asks).collect()
}

/// Who will, or may, be over a limit in the week after.
fn week_ahead(answer: &WeeklyListAnswer) -> Vec<Block> {
    let Some(ahead) = &answer.ahead else {
        return Vec::new();
    };
    let planned = ahead.iter().map(|entry| Item {
        name: entry.display_name.clone(),
        mark: format!(" ({})", told::words(entry.certainty)),
        text: entry.sentence.clone(),
        small: Some(words::planned(entry)),
    });
    let said = match ahead.is_empty() {
        true => words::NOBODY_AHEAD,
        false => words::A_PLAN,
    };
    let blocks = [Block::heading(2, words::WEEK_AHEAD), Block::text(said)];
    blocks.into_iter().chain(items(planned)).collect()
}

fn athlete(entry: &WeeklyEntry, answer: &WeeklyListAnswer, beside: &Beside) -> Vec<Block> {
    let mut blocks = vec![
        Block::heading(3, &entry.display_name),
        Block::toned(Tone::Lead, &entry.sentence),
    ];
    let weeks = beside.weeks(entry.athlete_id);
    if !weeks.is_empty() {
        blocks.push(Block::Drawing {
            svg: plot::drawing(entry, weeks).into_string(),
            alt: format!(
                "{}. {}",
                plot::title(entry, weeks),
                plot::described(entry, weeks)
            ),
            key: plot::KEY.to_owned(),
            width_mm: None,
        });
        blocks.push(Block::Table {
            caption: plot::CAPTION.to_owned(),
            columns: plot::COLUMNS.map(number).into(),
            rows: plot::rows(weeks).map(Vec::from).collect(),
        });
    }
    let ratio = entry.ratio.map(|_| Block::small(answer.ratio_note));
    blocks.extend(ratio);
    let missing = entry.missing.iter().map(|missing| Item {
        text: words::ask(missing, beside),
        ..Item::default()
    });
    if let Some(missing) = items(missing) {
        blocks.extend([Block::text(words::MISSING), missing]);
    }
    blocks.extend(entry.rating_note.clone().map(Block::text));
    blocks.extend(entry.age_note.map(Block::text));
    let rows = figures::rows(entry).into_iter();
    blocks.push(Block::Table {
        caption: figures::CAPTION.to_owned(),
        columns: Vec::new(),
        rows: rows
            .map(|(name, value)| vec![name.to_owned(), value])
            .collect(),
    });
    blocks
}

fn about(entry: &WeeklyEntry, text: &str, small: Option<String>) -> Item {
    Item {
        name: entry.display_name.clone(),
        text: text.to_owned(),
        small,
        ..Item::default()
    }
}

fn number(name: &str) -> Heading {
    Heading {
        name: name.to_owned(),
        is_number: true,
    }
}

/// A list; none of nothing.
fn items(items: impl Iterator<Item = Item>) -> Option<Block> {
    let items: Vec<Item> = items.collect();
    (!items.is_empty()).then_some(Block::Items { items })
}

/// A list under its heading; neither where there is nothing.
fn headed(heading: &str, list: Option<Block>) -> impl Iterator<Item = Block> {
    let heading = list.is_some().then(|| Block::heading(3, heading));
    heading.into_iter().chain(list)
}

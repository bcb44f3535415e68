//! The check of a plan as a sheet to print: of one athlete the same lines in the same order as on the page; of a squad first all
//! that is in words, then one plot and one table, so that it takes few pages.

use super::{plot, table, words};
use crate::pages::sheet::{Block, Item, Sheet, Tone};
use crate::routes::plans::PlanCheckAnswer;

/// The sheet.
pub fn sheet(checks: &[PlanCheckAnswer]) -> Sheet {
    let mut blocks = match checks.first() {
        Some(first) => vec![
            Block::text(words::judged_by(first)),
            Block::toned(Tone::Boxed, first.note),
        ],
        None => vec![Block::text(words::NOBODY)],
    };
    blocks.extend(match checks {
        [] => Vec::new(),
        [only] => of_one(only),
        [first, ..] => of_squad(checks, first),
    });
    if let Some(first) = checks.first() {
        blocks.extend([
            Block::heading(2, words::WHAT_THIS_IS),
            Block::text(first.ratio_note),
            Block::text(first.caution),
        ]);
    }
    Sheet {
        title: words::title(checks),
        head: Vec::new(),
        blocks,
        columns: 1,
    }
}

/// One athlete's part.
fn of_one(check: &PlanCheckAnswer) -> Vec<Block> {
    let mut blocks = vec![Block::heading(2, words::whose(check))];
    blocks.extend(words::known(check).into_iter().map(Block::small));
    blocks.extend(check.age_note.map(Block::text));
    let items = check.sentences.iter().map(|text| Item {
        text: text.clone(),
        ..Item::default()
    });
    blocks.push(Block::Items {
        items: items.collect(),
    });
    blocks.push(plot::block(0, check));
    blocks.push(table::weeks(check).into());
    blocks
}

/// A squad's part: who breaks a rule first, then the plan as it is for one whose items are those of all, then a row a week.
fn of_squad(checks: &[PlanCheckAnswer], first: &PlanCheckAnswer) -> Vec<Block> {
    let breaks =
        |check: &&PlanCheckAnswer| check.weeks.iter().any(|week| !week.rules_broken.is_empty());
    let (breaking, others): (Vec<_>, Vec<_>) = checks.iter().partition(breaks);
    let items = breaking.into_iter().chain(others).map(|check| Item {
        name: words::whose(check).to_owned(),
        text: check.sentences.join(" "),
        small: Some(below(check)).filter(|said| !said.is_empty()),
        ..Item::default()
    });
    let mut checks_of_all = checks.iter();
    let plotted = checks_of_all.find(|check| check.individual_changes == 0);
    let plotted = plotted.unwrap_or(first);
    vec![
        Block::heading(2, words::IN_WORDS),
        Block::Items {
            items: items.collect(),
        },
        Block::toned(Tone::Lead, words::plotted(plotted)),
        plot::block(0, plotted),
        table::weeks_of_squad(checks).into(),
    ]
}

/// What stands below an athlete's sentences.
fn below(check: &PlanCheckAnswer) -> String {
    let known = words::known(check).into_iter();
    let said = known.chain(check.age_note.map(str::to_owned));
    said.collect::<Vec<_>>().join(" ")
}

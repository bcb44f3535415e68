//! The check of a plan as a sheet to print: the same lines in the same order as on the page.

use super::{plot, table, words};
use crate::pages::sheet::{Block, Item, Sheet, Tone};
use crate::routes::plans::PlanCheckAnswer;

/// The sheet, with a part for each athlete.
pub fn sheet(checks: &[PlanCheckAnswer]) -> Sheet {
    let mut blocks = match checks.first() {
        Some(first) => vec![
            Block::text(words::judged_by(first)),
            Block::toned(Tone::Boxed, first.note),
        ],
        None => vec![Block::text(words::NOBODY)],
    };
    let parts = checks.iter().enumerate();
    blocks.extend(parts.flat_map(|(place, check)| part(place, check)));
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
fn part(place: usize, check: &PlanCheckAnswer) -> Vec<Block> {
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
    blocks.push(plot::block(place, check));
    blocks.push(table::weeks(check).into());
    blocks
}

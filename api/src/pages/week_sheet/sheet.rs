//! The week sheet set on paper: the same in the same order as on the page.

use super::{Beside, exercises, tables, words};
use crate::pages::qr;
use crate::pages::sheet::{Block, Sheet, Tone};
use crate::services::programmes::assigned::{AssignedAnswer, AssignedItem, AssignedSession};

/// How wide a code is: at 29 to 45 modules each is half a millimetre or more.
const CODE_MM: u8 = 25;

/// The sheet.
pub fn sheet(answer: &AssignedAnswer, beside: &Beside) -> Sheet {
    let mut blocks: Vec<Block> = answer.sessions.iter().flat_map(session).collect();
    if answer.sessions.is_empty() {
        blocks.push(Block::text(words::NOTHING));
    } else {
        blocks.push(Block::heading(2, words::EXERCISES));
        blocks.extend(exercises(answer).into_iter().flat_map(exercise));
    }
    blocks.extend([
        Block::heading(2, words::KEEP_IN_MIND),
        Block::text(words::WHERE_TO_LOG),
        Block::text(answer.marks),
        Block::text(answer.note),
        Block::text(words::HEAT),
        Block::small(answer.caution),
    ]);
    Sheet {
        title: words::title(answer, beside),
        head: vec![
            Block::small(words::known(beside)),
            Block::toned(Tone::Boxed, words::STOP),
            Block::text(words::TO_CALL),
        ],
        blocks,
        columns: 1,
    }
}

fn session(one: &AssignedSession) -> Vec<Block> {
    vec![
        Block::heading(2, words::heading(one)),
        Block::toned(Tone::Lead, words::session(one)),
        tables::items(one).into(),
        Block::toned(Tone::Lead, words::QUESTION),
        Block::text(words::TO_FILL),
    ]
}

fn exercise(one: &AssignedItem) -> Vec<Block> {
    let mut blocks = vec![Block::heading(3, &one.name)];
    let tone = match one.film_url {
        Some(_) => Tone::Lead,
        None => Tone::Plain,
    };
    let description = one.description.as_deref();
    blocks.extend(description.map(|text| Block::toned(tone, text)));
    if let Some(url) = &one.film_url {
        let label = words::film_of(&one.name);
        blocks.extend(qr::drawing(url, &label).map(|code| Block::Drawing {
            svg: code.into_string(),
            alt: label,
            key: url.clone(),
            width_mm: Some(CODE_MM),
        }));
    }
    blocks
}

//! The people of the invented club.

use jiff::Span;
use jiff::civil::{Date, date};
use plimsoll_domain::{IsoWeek, Kind, Setting};

use super::first_monday;
use super::plan::{Planned, Week};
use super::story::Story;

/// The club.
pub(super) const CLUB: &str = "Havneby Handball";
/// Its squads.
pub(super) const SQUADS: [&str; 3] = ["U14", "U16", "U18"];

/// One athlete.
#[derive(Debug, Clone)]
pub(super) struct Person {
    /// The club's code, P-01 to P-36.
    pub(super) code: String,
    /// First name and initial.
    pub(super) name: &'static str,
    /// Which of the squads.
    pub(super) squad: usize,
    /// Day of birth.
    pub(super) born: Date,
    /// First day in the club.
    pub(super) joined_on: Date,
    /// What her last weeks have to tell.
    pub(super) story: Story,
    /// What she does every week beside her squad's plan.
    pub(super) habit: Habit,
}

/// What an athlete does beside her squad's plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Habit {
    /// Nothing.
    None,
    /// Practice with a second club on Sunday.
    SecondClub,
    /// A private lesson on Tuesday evening.
    PrivateLesson,
}

impl Habit {
    /// Adds it to a squad's week, Monday to Sunday.
    pub(super) fn add_to(self, plan: &mut Week) {
        use Kind::Practice;
        use Setting::{Private, SecondClub};
        match self {
            Habit::None => {}
            Habit::SecondClub => plan[6].push(Planned::new(SecondClub, Practice, 11, 75, 5.5)),
            Habit::PrivateLesson => plan[1].push(Planned::new(Private, Practice, 19, 60, 5.0)),
        }
    }
}

/// Twelve names a squad.
const NAMES: [[&str; 12]; 3] = [
    [
        "Alba R.", "Bea K.", "Clara D.", "Dunja M.", "Edda S.", "Fanny L.", "Gro T.", "Hedda B.",
        "Iben V.", "Jara N.", "Kira P.", "Lovis A.",
    ],
    [
        "Malin H.", "Nele F.", "Oda J.", "Pia W.", "Quynh T.", "Romy E.", "Selma G.", "Tilde O.",
        "Una C.", "Vega S.", "Wilma D.", "Yara K.",
    ],
    [
        "Zoe L.",
        "Asta M.",
        "Britt N.",
        "Cosima R.",
        "Dagny P.",
        "Elif A.",
        "Frida V.",
        "Greta B.",
        "Hanna J.",
        "Ines T.",
        "Jule F.",
        "Karla W.",
    ],
];

/// Who has something to tell: squad, place in it, story.
const STORIES: [(usize, usize, Story); 9] = [
    (0, 4, Story::Joiner),
    (0, 9, Story::EqualDays),
    (1, 2, Story::OwnHighest),
    (1, 6, Story::Monotonous),
    (1, 10, Story::Overlapping),
    (2, 3, Story::SchoolTournament),
    (2, 5, Story::Forgetful),
    (2, 8, Story::Return),
    (2, 10, Story::Silent),
];

/// Who does more than her squad: squad, place in it, habit.
const HABITS: [(usize, usize, Habit); 5] = [
    (0, 2, Habit::PrivateLesson),
    (1, 4, Habit::SecondClub),
    (1, 8, Habit::PrivateLesson),
    (2, 1, Habit::SecondClub),
    (2, 6, Habit::PrivateLesson),
];

/// Everybody, for sessions that end with `week`.
pub(super) fn all(week: IsoWeek) -> Vec<Person> {
    let begin = first_monday(week);
    let squads = NAMES.iter().enumerate();
    let named = squads.flat_map(|(squad, names)| {
        names
            .iter()
            .enumerate()
            .map(move |(place, name)| (squad, place, *name))
    });
    named
        .enumerate()
        .map(|(number, (squad, place, name))| {
            let story = of(&STORIES, squad, place).unwrap_or(Story::Usual);
            let habit = of(&HABITS, squad, place).unwrap_or(Habit::None);
            let joined_on = match story {
                Story::Joiner => week.sunday().saturating_sub(Span::new().days(15)),
                _ => begin,
            };
            let code = format!("P-{:02}", number + 1);
            Person {
                code,
                name,
                squad,
                born: born(week, squad, place),
                joined_on,
                story,
                habit,
            }
        })
        .collect()
}

fn of<T: Copy>(table: &[(usize, usize, T)], squad: usize, place: usize) -> Option<T> {
    let mut rows = table.iter();
    rows.find(|row| (row.0, row.1) == (squad, place))
        .map(|row| row.2)
}

/// A birthday that makes the athlete 13, 15 or 17 in the year of the week.
fn born(week: IsoWeek, squad: usize, place: usize) -> Date {
    let age = [13, 15, 17].get(squad).copied().unwrap_or(15);
    let month = i8::try_from(place % 12 + 1).unwrap_or(1);
    let day = i8::try_from(3 + place * 7 % 24).unwrap_or(1);
    date(week.year() - age, month, day)
}

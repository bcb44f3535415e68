//! The demo has something to find for each rule, whatever the seed and the date.

use e2e::Demo;

/// Each athlete with a story, and what the list has to say of it.
const STORIES: [(&str, &str); 7] = [
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
    ("Hanna J. (cannot say)", "an absence of 14 days or more"),
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
    for (number, at) in dates.iter().cycle().take(15).enumerate() {
        let seed = (number + 1).to_string();
        let said = print(&seed, at);
        for (who, what) in STORIES {
            let line = said.lines().find(|line| line.contains(who));
            let line = line.unwrap_or_else(|| panic!("{who}, seed {seed}, {at}: {said}"));
            assert!(line.contains(what), "seed {seed}, {at}: {line}");
        }
        others += said.lines().filter(|line| line.starts_with("  ")).count() - STORIES.len();
    }
    // A list that names everybody is read by nobody: 29 athletes without a story, 15 weeks.
    assert!(others <= 15, "{others} findings without a story");
}

#[test]
fn the_same_seed_and_date_print_the_same() {
    assert_eq!(print("3", "2026-11-25"), print("3", "2026-11-25"));
    assert_ne!(print("3", "2026-11-25"), print("4", "2026-11-25"));
}

//! The week sheet: what an athlete is to do, on paper.

use e2e::{Athlete, Client, Club, Database, Server, on_both_databases};
use serde_json::{Value, json};

const OWN: &str = "0199a1b2-7c3d-7e4f-8a5b-520000000003";
const FILM: &str = "https://films.example/squat?part=1&of=2";
/// A name, and the same as text on a page.
const NAME: &str = "<b>Mia</b> & \"Jo\"";
const NAMED: &str = "&lt;b&gt;Mia&lt;/b&gt; &amp; &quot;Jo&quot;";

fn item(exercise: &str, dose: &Value, more: &Value) -> Value {
    let mut item = json!({ "exercise": exercise, "sets": 3 });
    for part in [dose, more] {
        let fields = part.as_object().expect("an object").clone();
        item.as_object_mut().expect("an object").extend(fields);
    }
    item
}

/// One session of which all is said, and one of which nothing is.
fn programme() -> Value {
    let ten = json!({ "reps": 10 });
    let way = json!({ "distance": { "unit": "yd", "returns_to_start": true, "legs": [
        { "direction": "forward", "length": 20 }, { "direction": "back", "length": 20 }] } });
    let items = json!([
        item(
            "squat",
            &json!({ "reps": 8, "hold_seconds": 2 }),
            &json!({ "load": { "amount": 12.5, "unit": "lb" }, "rest_seconds": 75, "note": "Knees & toes in line" })
        ),
        item(
            "block_jump",
            &ten,
            &json!({ "height": { "least": 30, "most": 45, "unit": "cm" } })
        ),
        item("hip_hinge", &ten, &json!({ "band": "blue band" })),
        item("loaded_carry", &way, &json!({})),
        item(
            "side_plank",
            &json!({ "seconds": 25 }),
            &json!({ "side": "left" })
        ),
    ]);
    let all = json!({ "name": "Legs", "setting": "prescribed_home", "kind": "strength", "start": "18:00", "minutes": 45,
        "intended_rpe": 5.5, "items": items });
    let none = json!({ "setting": "free", "kind": "conditioning", "items": [item("squat", &ten, &json!({}))] });
    let days =
        json!([{ "day": "tuesday", "sessions": [all] }, { "day": "friday", "sessions": [none] }]);
    json!({ "name": "At home", "blocks": [{ "name": "One", "weeks": [{ "days": days }] }] })
}

async fn start(database: Database) -> (Server, Club, Athlete) {
    let server = Server::setup(database)
        .clock("2026-06-01T08:00:00+02:00")
        .start()
        .await;
    let club = server.club("Havneby Handball").await;
    let athlete = club
        .squad("U16")
        .await
        .athlete("P-07")
        .with("display_name", NAME)
        .await;
    let coach = club.as_role("strength_coach");
    let film = coach.put("exercises/squat", json!({ "film_url": FILM }));
    film.if_match("\"0\"").await.expect(200);
    let made = coach.post("programmes", programme()).await.expect(201);
    let path = format!(
        "programmes/{}/assignments/{OWN}",
        made.string("programme_id")
    );
    let body = json!({ "athlete_id": athlete.id(), "from": "2026-06-01" });
    coach.put(path, body).await.expect(201);
    (server, club, athlete)
}

fn path(athlete: &Athlete) -> String {
    format!("athletes/{}/programme", athlete.id())
}

async fn page(reader: &Client, athlete: &Athlete) -> String {
    let page = reader.get(path(athlete)).header("Accept", "text/html");
    page.await.expect(200).text()
}

/// What stands between two texts of a page.
fn between<'a>(page: &'a str, from: &str, to: &str) -> &'a str {
    let (_, rest) = page
        .split_once(from)
        .unwrap_or_else(|| panic!("no {from}: {page}"));
    rest.split_once(to)
        .unwrap_or_else(|| panic!("no {to}: {page}"))
        .0
}

on_both_databases! {
    async fn all_that_is_said_stands_on_it_and_nothing_else(database: Database) {
        let (_server, club, athlete) = start(database).await;
        let page = page(&athlete.as_caller(), &athlete).await;
        let told = club.as_role("coach").get(path(&athlete)).await.expect(200);
        let first = between(&page, "Tuesday 2 June 2026: Legs", "Friday 5 June 2026: conditioning");
        for said in [
            "prescribed home, strength, starts 18:00, 45 minutes, intended RPE 5.5, week 1 of “At home”.",
            "3 x 8, each held 2 s<", "<td>12.5\u{a0}lb</td>", "<td>75\u{a0}s</td>", "Knees &amp; toes in line", "<td>☐ ☐ ☐</td>",
            "3 x 10<", "30 to 45 cm high.", "band: blue band", "3 x (forward 20 yd, back 20 yd; back at the start)",
            "3 x 25 s, left side only", "How hard was the whole session, 0 to 10?",
            "Not to be done yet, since this is not signed off: Block jump.",
        ] {
            assert!(first.contains(said), "{said}: {first}");
        }
        let order: Vec<usize> = told["sessions"][0]["items"].as_array().expect("items").iter().map(|item| {
            let name = format!("{}. {}", item["item"]["number"], item["name"].as_str().expect("a name"));
            first.find(&name).unwrap_or_else(|| panic!("no {name}: {first}"))
        }).collect();
        assert!(order.is_sorted(), "{order:?}");
        // Of the second nobody said minutes, effort, load or rest: none is made up.
        let second = between(&page, "Friday 5 June 2026: conditioning", "</section>");
        assert!(second.contains("<p>free, conditioning, week 1 of “At home”.</p>"), "{second}");
        assert!(second.contains("<td>3 x 10</td><td></td><td></td><td>☐ ☐ ☐</td>"), "{second}");
        for (text, times) in [("How hard was the whole session, 0 to 10?", 2), ("☐ Done", 2), ("<h3>Squat</h3>", 1)] {
            assert_eq!(page.matches(text).count(), times, "{text}: {page}");
        }
        for said in [&told["marks"], &told["note"], &told["caution"], &told["sessions"][0]["items"][0]["description"]] {
            assert!(page.contains(said.as_str().expect("a text")), "{said}: {page}");
        }
        assert!(page.contains("a head knock, fainting, breathlessness out of proportion"), "{page}");
    }

    async fn the_film_is_a_link_and_a_code_and_the_page_loads_nothing(database: Database) {
        let (_server, club, athlete) = start(database).await;
        let told = club.as_role("coach").get(path(&athlete)).await.expect(200);
        assert_eq!(told["sessions"][0]["items"][0]["film_url"], FILM);
        let asked = athlete.as_caller().get(path(&athlete)).header("Accept", "text/html");
        let answer = asked.await.expect(200);
        let policy = answer.header("content-security-policy").expect("a policy");
        assert!(policy.starts_with("default-src 'none'; style-src 'sha256-"), "{policy}");
        let page = answer.text();
        assert!(page.contains("<a href=\"https://films.example/squat?part=1&amp;of=2\" rel=\"noreferrer\">"), "{page}");
        assert_eq!(page.matches("aria-label=\"QR code of the club's film of Squat\"").count(), 1, "{page}");
        let code = between(&page, "<svg role=\"img\" aria-label=\"QR code", "</svg>");
        assert!(code.contains("fill=\"#fff\"") && code.contains("fill=\"#000\""), "{code}");
        assert!(page.contains(&format!("<h1>Week sheet: {NAMED}, 2026-06-01 to 2026-06-07</h1>")), "{page}");
        for word in ["<script", "<img", "<link", "<iframe", " style=", " onload", "<b>Mia"] {
            assert!(!page.contains(word), "{word}: {page}");
        }
    }

    async fn it_is_read_by_who_may_and_each_reading_is_entered(database: Database) {
        let (_server, club, athlete) = start(database).await;
        let guardian = club.as_guardian_of(&[&athlete]);
        let readings = async || {
            let readers = guardian.get(format!("athletes/{}/readers", athlete.id())).await.expect(200);
            let items = readers["items"].as_array().expect("items").clone();
            items.iter().filter(|one| one["action"] == "read_assigned_programme").count()
        };
        let readers = [athlete.as_caller(), club.as_guardian_of(&[&athlete]), club.as_role("strength_coach"),
            club.as_role("coach"), club.as_role("athletic_trainer")];
        for (before, reader) in readers.iter().enumerate() {
            assert_eq!(readings().await, before);
            assert!(page(reader, &athlete).await.contains(NAMED));
        }
        assert_eq!(readings().await, readers.len());
        let other = club.squad("U14").await.athlete("P-30").await;
        for stranger in [other.as_caller(), club.as_guardian_of(&[&other])] {
            stranger.get(path(&athlete)).header("Accept", "text/html").await.expect_problem(404, "not_found");
        }
        for role in ["integration", "club_admin", "privacy_lead"] {
            let refused = club.as_role(role).get(path(&athlete)).header("Accept", "text/html");
            refused.await.expect_problem(403, "role_may_not");
        }
    }

    async fn a_week_without_a_session_says_so_and_other_files_are_refused(database: Database) {
        let (_server, club, athlete) = start(database).await;
        let coach = club.as_role("coach");
        let later = coach.get(path(&athlete)).query("from", "2026-06-08").header("Accept", "text/html");
        let empty = later.await.expect(200).text();
        assert!(empty.contains("No programme has a session in these days.") && !empty.contains("☐"), "{empty}");
        coach.get(path(&athlete)).header("Accept", "text/csv").await.expect_problem(406, "not_acceptable");
        coach.get(path(&athlete)).query("paper", "a5").await.expect_problem(400, "bad_query");
        // Whether the program can do it depends on how it was built; if it cannot, it says so.
        let sheet = coach.get(path(&athlete)).header("Accept", "application/pdf").await;
        if sheet.status != 200 {
            let refused = sheet.expect_problem(406, "not_acceptable");
            assert!(refused.string("detail").contains("built without PDF"), "{refused:?}");
        }
    }
}

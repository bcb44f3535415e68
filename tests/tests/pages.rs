//! The weekly list as a page and as a file: by `Accept`, to whom, and what neither lets happen.

use e2e::{
    Answer, Club, Database, Demo, Server, Squad, assert_same_history, assert_same_list,
    on_both_databases,
};
use serde_json::Value;

const NOW: &str = "2026-11-09T07:00:00+01:00";

/// A squad with one athlete of this name, whose week is above the limit.
async fn squad_with(database: Database, name: &str) -> (Server, Club, Squad) {
    let server = Server::setup(database).clock(NOW).start().await;
    let club = server.club("Havneby Handball").await;
    club.example_policy().await;
    let squad = club.squad("U16").await;
    let athlete = squad
        .athlete("P-21")
        .with("joined_on", "2026-10-12")
        .with("display_name", name)
        .await;
    let weeks = athlete.weeks("2026-10-12", &[1600.0, 1700.0, 1700.0, 3300.0]);
    club.bulk(weeks).await.expect(200);
    (server, club, squad)
}

async fn read(club: &Club, squad: &Squad, accept: &str) -> Answer {
    let list = club
        .as_role("coach")
        .get(format!("squads/{}/weeks/2026-W45", squad.id()));
    list.header("Accept", accept).await
}

on_both_databases! {
    async fn the_list_is_sent_as_what_is_asked_for(database: Database) {
        let (_server, club, squad) = squad_with(database, "Cosima R.").await;
        for (accept, sent) in [
            ("*/*", "application/json"),
            ("text/html,application/xhtml+xml,*/*;q=0.8", "text/html; charset=utf-8"),
            ("text/csv", "text/csv; charset=utf-8; header=present"),
        ] {
            let answer = read(&club, &squad, accept).await.expect(200);
            assert_eq!(answer.header("content-type"), Some(sent));
            assert_eq!(answer.header("vary"), Some("Accept"));
            assert_eq!(answer.header("cache-control"), Some("no-store"));
            assert_eq!(answer.header("x-content-type-options"), Some("nosniff"));
        }
        let file = read(&club, &squad, "text/csv").await;
        assert_eq!(file.header("content-disposition"), Some("attachment; filename=\"weekly-list-2026-W45.csv\""));
        for accept in ["image/png", "text/html;q=0"] {
            read(&club, &squad, accept).await.expect_problem(406, "not_acceptable");
        }
        let paper = club.as_role("coach").get(format!("squads/{}/weeks/2026-W45?paper=a5", squad.id()));
        paper.await.expect_problem(400, "bad_query");
        // Whether the program can do it depends on how it was built; if it cannot, it says so.
        let sheet = read(&club, &squad, "application/pdf").await;
        if sheet.status != 200 {
            let refused = sheet.expect_problem(406, "not_acceptable");
            assert!(refused.string("detail").contains("built without PDF"), "{refused:?}");
        }
        let explained = club.as_role("coach").get(format!("squads/{}/weeks/2026-W45?explain=true", squad.id()));
        explained.header("Accept", "text/html").await.expect_problem(406, "not_acceptable");
    }

    async fn a_page_loads_nothing_and_runs_nothing(database: Database) {
        let name = "<script>alert(1)</script> & \"Jo\"";
        let (_server, club, squad) = squad_with(database, name).await;
        let answer = read(&club, &squad, "text/html").await.expect(200);
        let policy = answer.header("content-security-policy").expect("a policy");
        assert!(policy.starts_with("default-src 'none'; style-src 'sha256-"), "{policy}");
        let page = answer.text();
        assert!(page.contains("&lt;script&gt;alert(1)&lt;/script&gt; &amp; &quot;Jo&quot;"), "{page}");
        for word in ["<script", "<img", "<link", "<iframe", " style=", " onload", "http://www.w3.org"] {
            let hits = page.matches(word).count();
            assert_eq!(hits, usize::from(word.starts_with("http")), "{word}");
        }
        assert!(page.starts_with("<!DOCTYPE html><html lang=\"en\">"), "{page}");
    }

    async fn a_cell_is_no_formula(database: Database) {
        let (_server, club, squad) = squad_with(database, "=HYPERLINK(\"//x\")").await;
        let file = read(&club, &squad, "text/csv").await.expect(200).text();
        assert!(file.contains("\r\n\"'=HYPERLINK(\"\"//x\"\")\","), "{file}");
    }

    async fn a_reader_with_a_token_goes_from_week_to_week(database: Database) {
        let (_server, club, squad) = squad_with(database, "Cosima R.").await;
        let page = read(&club, &squad, "text/html").await.expect(200).text();
        for week in ["2026-W44", "2026-W46"] {
            assert!(page.contains(&format!("<a href=\"{week}\">")), "{page}");
        }
        let running = club.as_role("coach").get(format!("squads/{}/weeks/2026-W46", squad.id()));
        let page = running.header("Accept", "text/html").await.expect(200).text();
        assert!(page.contains("<a href=\"2026-W45\">") && !page.contains("2026-W47"), "{page}");
    }

    async fn a_page_is_for_those_who_may_read_the_list(database: Database) {
        let (_server, club, squad) = squad_with(database, "Cosima R.").await;
        let other = club.squad("U14").await;
        let path = format!("squads/{}/weeks/2026-W45", squad.id());
        let stranger = club.as_coach_of(&[&other]);
        stranger.get(&path).header("Accept", "text/html").await.expect_problem(404, "not_found");
        club.as_role("guardian").get(&path).header("Accept", "text/html").await.expect_problem(403, "role_may_not");
    }

    async fn a_list_is_entered_in_the_audit_list_whatever_it_is_sent_as(database: Database) {
        let (_server, club, squad) = squad_with(database, "Cosima R.").await;
        let rows = async || {
            let audit = club.as_role("privacy_lead").get("audit").await.expect(200);
            audit["items"].as_array().map(Vec::len)
        };
        for accept in ["application/json", "text/csv", "text/html"] {
            let before = rows().await.expect("items");
            read(&club, &squad, accept).await.expect(200);
            assert_eq!(rows().await, Some(before + 1), "{accept}");
        }
    }

    async fn a_list_without_entries_says_so(database: Database) {
        let server = Server::setup(database).clock(NOW).start().await;
        let club = server.club("Havneby Handball").await;
        let squad = club.squad("U16").await;
        let list = read(&club, &squad, "application/json").await.expect(200);
        let as_of = list.string("as_of");
        let read = async |accept: &str| {
            let list = club.as_role("coach").get(format!("squads/{}/weeks/2026-W45", squad.id()));
            list.query("as_of", &as_of).header("Accept", accept).await.expect(200).text()
        };
        let (page, file) = (read("text/html").await, read("text/csv").await);
        assert!(assert_same_list(&list.body, &page, &file) > 5);
        assert!(page.contains("The club has no policy for this week"), "{page}");
    }
}

/// Every list of the demo's last weeks.
#[tokio::test]
async fn page_and_file_of_the_demo_say_the_same() {
    let demo = Demo::start(["--seed", "5", "--at", "2026-11-25"]).await;
    let squads: Value =
        serde_json::from_str(&demo.read("squads", "application/json").await).expect("JSON");
    let mut count = 0;
    for squad in squads["items"].as_array().expect("items") {
        let id = squad["squad_id"].as_str().expect("an id");
        for week in 40..=47 {
            let path = format!("squads/{id}/weeks/2026-W{week}");
            let json = demo.read(&path, "application/json").await;
            let list: Value = serde_json::from_str(&json).expect("JSON");
            let as_of = list["as_of"].as_str().expect("an instant");
            let path = format!("{path}?as_of={as_of}");
            let page = demo.read(&path, "text/html").await;
            let file = demo.read(&path, "text/csv").await;
            count += assert_same_list(&list, &page, &file);
        }
    }
    // The lists alone, without any entry, have 240.
    assert!(count > 800, "{count} texts and numbers");
    println!("{count} texts and numbers of the lists stand on the pages and in the files");
}

/// The history of the athlete who comes back, and of one who was never away.
#[tokio::test]
async fn page_and_file_of_a_history_say_the_same() {
    let demo = Demo::start(["--seed", "5", "--at", "2026-11-25"]).await;
    let returned = demo.athlete("P-33").await;
    let example = demo.variable("ATHLETE");
    for (athlete, least) in [(returned.as_str(), 500), (example.as_str(), 300)] {
        let path = format!("athletes/{athlete}/history?purpose=screening");
        let json = demo.read_as("TRAINER", &path, "application/json").await;
        let history: Value = serde_json::from_str(&json).expect("JSON");
        let as_of = history["as_of"].as_str().expect("an instant");
        let path = format!("{path}&as_of={as_of}");
        let page = demo.read_as("TRAINER", &path, "text/html").await;
        let file = demo.read_as("TRAINER", &path, "text/csv").await;
        let count = assert_same_history(&history, &page, &file);
        assert!(count > least, "{count} texts and numbers");
        for word in ["<script", "<img", "<link", " style="] {
            assert!(!page.contains(word), "{word}");
        }
    }
}

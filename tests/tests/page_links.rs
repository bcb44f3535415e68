//! Links that open one weekly list: what they open, for whom, and what ends them.

use e2e::{Answer, Club, Database, Server, Squad, on_both_databases};
use serde_json::json;

const NAME: &str = "Cosima R.";
const PAGE: &str = "text/html,application/xhtml+xml,*/*;q=0.8";

struct World {
    server: Server,
    club: Club,
    squad: Squad,
    /// The notice endpoint that links are sent to.
    recipient: String,
}

/// A squad with one athlete whose week 2026-W45 is above the limit, and somebody to be told.
async fn world(database: Database) -> World {
    let server = Server::start(database).await;
    let club = server.club("Havneby Handball").await;
    club.example_policy().await;
    let squad = club.squad("U16").await;
    let athlete = squad
        .athlete("P-21")
        .with("joined_on", "2026-10-12")
        .with("display_name", NAME)
        .await;
    let weeks = athlete.weeks("2026-10-12", &[1600.0, 1700.0, 1700.0, 3300.0]);
    club.bulk(weeks).await.expect(200);
    server.close_week("2026-W45");
    let endpoint = json!({ "url": "https://club.example.org/notices" });
    let endpoint = club
        .as_role("club_admin")
        .post("notice-endpoints", endpoint)
        .await;
    let recipient = endpoint.expect(201).string("endpoint_id");
    World {
        server,
        club,
        squad,
        recipient,
    }
}

impl World {
    fn link(&self) -> String {
        self.server
            .page_link(&self.club, &self.recipient, &self.squad, "2026-W45")
    }

    async fn open(&self, link: &str) -> Answer {
        self.server
            .anonymous()
            .get(link)
            .header("Accept", PAGE)
            .await
    }

    /// The path that a link leads to, and the cookie that it leaves.
    async fn opened(&self) -> (String, String) {
        let opened = self.open(&self.link()).await.expect(303);
        let path = opened.header("location").expect("Location").to_owned();
        let cookie = opened.header("set-cookie").expect("Set-Cookie");
        let cookie = cookie.split(';').next().expect("a pair").to_owned();
        (path, cookie)
    }

    async fn read(&self, path: &str, cookie: &str) -> Answer {
        let page = self.server.anonymous().get(path).header("Accept", PAGE);
        page.header("Cookie", cookie).await
    }

    async fn change_recipient(&self, change: serde_json::Value) {
        let path = format!("notice-endpoints/{}", self.recipient);
        let patch = self.club.as_role("club_admin").patch(path, change);
        patch.if_match("*").await.expect(200);
    }
}

/// Asserts a page that tells what to do and nothing of the club.
#[track_caller]
fn assert_refused(answer: Answer, status: u16) {
    let answer = answer.expect(status);
    assert_eq!(
        answer.header("content-type"),
        Some("text/html; charset=utf-8")
    );
    assert_eq!(answer.header("cache-control"), Some("no-store"));
    let page = answer.text();
    assert!(page.contains("ollow the link in"), "{page}");
    for told in [NAME, "Havneby", "U16", "0199"] {
        assert!(!page.contains(told), "{told} is told: {page}");
    }
}

on_both_databases! {
    async fn a_link_opens_its_list_in_a_browser(database: Database) {
        let world = world(database).await;
        let opened = world.open(&world.link()).await.expect(303);
        let path = format!("/v1/clubs/{}/squads/{}/weeks/2026-W45", world.club.id(), world.squad.id());
        assert_eq!(opened.header("location"), Some(path.as_str()));
        assert_eq!(opened.header("cache-control"), Some("no-store"));
        assert_eq!(opened.header("referrer-policy"), Some("no-referrer"));
        let cookie = opened.header("set-cookie").expect("Set-Cookie").to_owned();
        let kept = format!("; Path={path}; Max-Age=604");
        assert!(cookie.contains(&kept) && cookie.ends_with("; HttpOnly; SameSite=Lax"), "{cookie}");

        let (path, cookie) = world.opened().await;
        let page = world.read(&path, &cookie).await.expect(200);
        assert_eq!(page.header("content-type"), Some("text/html; charset=utf-8"));
        assert!(page.text().contains(NAME), "{}", page.text());
        assert!(!page.text().contains("href=\"2026-W"), "a link opens one list alone: {}", page.text());
        let list = world.server.anonymous().get(&path).header("Cookie", &cookie).await.expect(200);
        assert_eq!(list["entries"][0]["display_name"], NAME);
    }

    async fn a_read_by_link_is_the_recipients_in_the_audit_list(database: Database) {
        let world = world(database).await;
        let (path, cookie) = world.opened().await;
        world.read(&path, &cookie).await.expect(200);
        let audit = world.club.as_role("privacy_lead").get("audit").await.expect(200);
        let row = &audit["items"][0];
        assert_eq!(row["subject"], format!("notice-endpoint/{}", world.recipient));
        assert_eq!((&row["role"], &row["action"]), (&json!("coach"), &json!("read_weekly_list")));
    }

    async fn a_link_that_was_not_signed_here_opens_nothing(database: Database) {
        let world = world(database).await;
        let link = world.link();
        let (path, cookie) = world.opened().await;
        for altered in [format!("{link}A"), link[..link.len() - 1].to_owned(), "/pages/a.b".to_owned()] {
            assert_refused(world.open(&altered).await, 401);
            let program = world.server.anonymous().get(&altered).await;
            program.expect_problem(401, "unauthenticated");
        }
        assert_refused(world.read(&path, &format!("{cookie}A")).await, 401);
        assert_refused(world.read(&path, "plimsoll-list=").await, 401);
        assert_refused(world.server.anonymous().get(&path).header("Accept", PAGE).await, 401);
    }

    async fn a_link_opens_for_seven_days(database: Database) {
        let mut world = world(database).await;
        let link = world.link();
        let (path, cookie) = world.opened().await;
        world.server.restart_at("2026-11-16T07:59:00+01:00").await;
        world.open(&link).await.expect(303);
        world.read(&path, &cookie).await.expect(200);
        world.server.restart_at("2026-11-16T08:01:00+01:00").await;
        assert_refused(world.open(&link).await, 401);
        assert_refused(world.read(&path, &cookie).await, 401);
    }

    async fn a_link_opens_one_list_and_nothing_else(database: Database) {
        let world = world(database).await;
        let (path, cookie) = world.opened().await;
        let (squad, club) = (world.club.squad("U14").await, world.server.club("Fjordby Handball").await);
        for other in [
            path.replace("W45", "W44"),
            path.replace(world.squad.id(), squad.id()),
            path.replace(world.club.id(), club.id()),
            path.replace("W45", "W99"),
        ] {
            assert_refused(world.read(&other, &cookie).await, 404);
        }
        let caller = world.server.anonymous();
        let bad = caller.get(&path).query("as_of", "never").header("Cookie", &cookie);
        bad.await.expect_problem(400, "bad_query");
        for (club, path) in [(&world.club, "athletes"), (&world.club, "flags"), (&club, "squads")] {
            let path = format!("/v1/clubs/{}/{path}", club.id());
            caller.get(path).header("Cookie", &cookie).await.expect_problem(401, "unauthenticated");
        }
    }

    async fn a_change_of_the_recipient_ends_the_links_at_once(database: Database) {
        let world = world(database).await;
        for change in [json!({ "enabled": false }), json!({ "url": "https://new.example.org/" })] {
            let (path, cookie) = world.opened().await;
            let link = world.link();
            world.change_recipient(change).await;
            assert_refused(world.open(&link).await, 401);
            assert_refused(world.read(&path, &cookie).await, 401);
            // Enabled again, it is not the one that the old links were sent to.
            world.change_recipient(json!({ "enabled": true })).await;
            assert_refused(world.open(&link).await, 401);
        }
        let (path, cookie) = world.opened().await;
        let admin = world.club.as_role("club_admin");
        let gone = admin.delete(format!("notice-endpoints/{}", world.recipient)).if_match("*");
        gone.await.expect(204);
        assert_refused(world.read(&path, &cookie).await, 401);
    }

    async fn a_recipient_can_be_shut_out_by_name(database: Database) {
        let world = world(database).await;
        let (path, cookie) = world.opened().await;
        let name = format!("notice-endpoint/{}", world.recipient);
        let revoked = world.club.as_role("club_admin").post("revocations", json!({ "subject": name, "reason": "left" }));
        revoked.await.expect(201);
        assert_refused(world.read(&path, &cookie).await, 401);
    }
}

//! Every operation of the committed document by every role: in one's own club, in another's, for athletes within reach and
//! outside it, and without a token. What is expected stands in the document: `x-roles` of the operation, `x-reach` of the role.
//!
//! An operation that is new is taken up by itself, once `tests/src/writes.rs` holds an example of it and of the ids in its path.

use std::collections::BTreeSet;

use e2e::FREE_ID;

use crate::*;

/// Records that are about nobody and that every coach of the club reaches.
const OF_THE_CLUB: [&str; 1] = ["/programmes/{programme_id}"];

/// What a role may do but not with the usual example. This list may only become shorter: an entry that is no longer needed
/// fails the test.
const EXCEPTIONS: [Exception; 0] = [];

/// An operation that answers a role that may call it with a refusal of the example.
struct Exception {
    operation: &'static str,
    role: &'static str,
    status: u16,
    /// Why it is right.
    because: &'static str,
}

struct World {
    server: Server,
    document: Document,
    /// A club with a record of every kind.
    writes: Writes,
    /// A squad of that club with somebody who has none of those records.
    far: (Squad, Athlete),
    /// Another club.
    stranger: Club,
}

async fn world(database: Database) -> World {
    let server = Server::start(database).await;
    let writes = Writes::prepare(&server).await;
    let squad = writes.club().squad("U20").await;
    let athlete = squad.athlete("P-30").await;
    World {
        stranger: server.club("Fjordby Handball").await,
        document: Document::committed(),
        far: (squad, athlete),
        writes,
        server,
    }
}

/// A caller in a role whose token names this squad and this athlete, for the roles that they limit. A token that names an athlete
/// is her own or a guardian's, and who treats or trains decides and signs off nothing about either.
fn caller(club: &Club, role: &str, squad: &Squad, athlete: &Athlete) -> Client {
    let identity = Identity::role(role).squad(squad.id());
    club.client(match role {
        "athletic_trainer" | "coach" | "strength_coach" => identity,
        _ => identity.athlete(athlete.id()),
    })
}

impl World {
    /// A caller in a role, in the club, within reach of its records.
    fn near(&self, role: &str) -> Client {
        caller(
            self.writes.club(),
            role,
            self.writes.squad(),
            self.writes.athlete(),
        )
    }

    /// Sets the age from which athletes of the club decide for themselves.
    async fn let_decide_from(&self, own_age: u8) {
        let lead = self.writes.club().as_role("privacy_lead");
        let settings = json!({ "own_age": own_age, "needed_for": [] });
        lead.put("consent-settings", settings)
            .if_match("*")
            .await
            .expect(200);
    }

    /// Operations that are not open, each with each role.
    fn each_role<'a>(
        &'a self,
        operations: &'a [Operation],
    ) -> impl Iterator<Item = (&'a Operation, &'a str, &'a str)> {
        let with_token = operations
            .iter()
            .filter(|operation| operation.takes_token());
        with_token.flat_map(|operation| {
            let roles = self.document.reach();
            roles.map(move |(role, reach)| (operation, role, reach))
        })
    }

    /// The calls of an operation: the usual one and, where a list can be asked about one athlete, that.
    fn calls(&self, operation: &Operation) -> Vec<Request> {
        let mut calls = vec![self.writes.trial(operation)];
        if operation.takes("athlete") {
            calls.push(
                self.writes
                    .trial(operation)
                    .query("athlete", self.writes.athlete().id()),
            );
        }
        calls
    }

    /// The path of an operation in a club, with the ids of the records that are there.
    fn path(&self, operation: &Operation, club: &Club) -> String {
        let path = self.writes.path(&operation.path);
        path.replace(self.writes.club().id(), club.id())
    }

    /// Asserts that a caller in `club` gets the same for the records of the world as for records that never were.
    async fn assert_as_absent(
        &self,
        operation: &Operation,
        role: &str,
        caller: &Client,
        club: &Club,
    ) {
        let path = self.path(operation, club);
        let is_home = club.id() == self.writes.club().id();
        match path.rsplit_once('/') {
            // In the club itself a put to a free id stores a new record, so a taken id cannot be answered alike: it is absent to
            // this caller, and only what the body names is compared.
            Some((list, _))
                if is_home
                    && operation.method == "PUT"
                    && operation.has_record()
                    && !OF_THE_CLUB.iter().any(|end| operation.path.ends_with(end)) =>
            {
                let free = format!("{list}/{FREE_ID}");
                self.assert_same(operation, role, caller, &free).await;
                let put = self.writes.of(operation).by(caller).path(&path);
                put.dry_run().await.expect_problem(404, "not_found");
            }
            _ => self.assert_same(operation, role, caller, &path).await,
        }
    }

    /// Asserts the same status and the same body, with nothing of the records in it. A read that names one is a 404.
    async fn assert_same(&self, operation: &Operation, role: &str, caller: &Client, path: &str) {
        let ids = self.writes.ids();
        let calls = || {
            self.calls(operation)
                .into_iter()
                .map(|call| call.by(caller).path(path))
        };
        for (call, same) in calls().zip(calls()) {
            let absent = ids
                .iter()
                .fold(same, |call, id| call.about(id, FREE_ID))
                .await;
            let (named, unnamed): (Vec<&String>, Vec<&String>) =
                ids.iter().partition(|id| call.mentions(id));
            let answer = call.await;
            let what = format!(
                "{role}: {}: {}\nand for what is absent: {}",
                operation.name(),
                answer.text(),
                absent.text()
            );
            assert_eq!(answer.status, absent.status, "{what}");
            assert_eq!(without_ids(&answer), without_ids(&absent), "{what}");
            assert!(
                operation.method != "GET" || named.is_empty() || answer.status == 404,
                "{what}"
            );
            let told = |id: &&String| answer.text().contains(id.as_str());
            assert!(!unnamed.iter().any(told), "an id is told: {what}");
        }
    }
}

/// The body without what two answers cannot share: instants and ids.
fn without_ids(answer: &Answer) -> String {
    let mut body = answer.body.clone();
    for field in [
        "instance",
        "as_of",
        "received_at",
        "read_at",
        "next_reading_at",
        "next_attempt_at",
        "written_at",
        "changed_at",
        "decided_at",
        "given_at",
        "asked_at",
        "withdrawn_at",
        "at",
        "secret",
        "meta",
    ] {
        body.as_object_mut().map(|body| body.remove(field));
        // What a calendar's reading came to.
        let reading = body.get_mut("reading").and_then(Value::as_object_mut);
        reading.map(|reading| reading.remove(field));
    }
    let is_id = |part: &&str| part.len() == FREE_ID.len() && part.matches('-').count() == 4;
    let text = body.to_string();
    let ids = text
        .split(|at: char| !at.is_ascii_hexdigit() && at != '-')
        .filter(is_id);
    ids.fold(text.clone(), |text, id| text.replace(id, "an id"))
}

on_both_databases! {
    async fn each_role_may_do_what_the_document_says_and_nothing_else(database: Database) {
        let world = world(database).await;
        let operations = world.document.operations();
        let (mut accepted, mut excepted, mut calls) = (BTreeSet::new(), 0, 0);
        for operation in operations.iter().filter(|operation| operation.is_open()) {
            let answer = world.server.anonymous().get(world.writes.path(&operation.path)).await;
            answer.expect(operation.good_status());
            accepted.insert(operation.name());
            calls += 1;
        }
        // Guardians decide up to an age, and athletes from then on: what both may do each does at the age at which it is theirs.
        let (athletes, others): (Vec<_>, Vec<_>) = world.each_role(&operations).partition(|(_, role, _)| *role == "athlete");
        let aged = others.into_iter().map(|call| (call, 18)).chain(athletes.into_iter().map(|call| (call, 13)));
        let mut own_age = 0;
        for ((operation, role, _), age) in aged {
            if own_age != age {
                own_age = age;
                world.let_decide_from(age).await;
            }
            let answer = world.writes.trial(operation).by(&world.near(role)).await;
            world.document.assert_knows(operation, &answer);
            calls += 1;
            if !operation.roles().contains(&role) {
                answer.expect_problem(403, "role_may_not");
                continue;
            }
            let exception = EXCEPTIONS.iter().find(|known| known.operation == operation.id() && known.role == role);
            if let Some(known) = exception {
                excepted += 1;
                assert_eq!(answer.status, known.status, "{role}: {} no longer is an exception ({})", operation.id(), known.because);
                continue;
            }
            assert!((200..300).contains(&answer.status), "{role} may {}: {}", operation.name(), answer.text());
            accepted.insert(operation.name());
        }
        for operation in operations.iter().filter(|operation| !operation.takes_token() && !operation.is_open()) {
            // It is for a browser that opened a link.
            let call = || world.writes.trial(operation);
            assert!(operation.is_good(call().await.status), "{}", operation.name());
            call().by(&world.near("coach")).without_header("Cookie").await.expect_problem(401, "unauthenticated");
            accepted.insert(operation.name());
        }
        assert_eq!(excepted, EXCEPTIONS.len(), "an exception names what is not there");
        assert_eq!(accepted.len(), operations.len(), "an operation was accepted from nobody");
        let open = operations.iter().filter(|operation| operation.is_open()).count();
        let with_token = operations.iter().filter(|operation| operation.takes_token()).count();
        assert_eq!(calls, open + with_token * world.document.reach().count());
    }

    async fn who_is_out_of_reach_is_as_absent(database: Database) {
        let world = world(database).await;
        let operations = world.document.operations();
        let (squad, athlete) = &world.far;
        let mut tried = BTreeSet::new();
        for (operation, role, reach) in world.each_role(&operations) {
            if !operation.roles().contains(&role) || !["squads", "athletes"].contains(&reach) || !operation.has_club() {
                continue;
            }
            let caller = caller(world.writes.club(), role, squad, athlete);
            world.assert_as_absent(operation, role, &caller, world.writes.club()).await;
            tried.insert(role.to_owned());
        }
        assert_eq!(tried.len(), 4, "{tried:?}");
    }

    async fn another_club_is_as_one_that_never_was(database: Database) {
        let world = world(database).await;
        let operations = world.document.operations();
        let own = world.writes.club().id();
        for (operation, role, _) in world.each_role(&operations).filter(|(operation, ..)| operation.has_club()) {
            let caller = caller(&world.stranger, role, world.writes.squad(), world.writes.athlete());
            let call = || world.writes.trial(operation).by(&caller);
            let foreign = call().await;
            let absent = call().about(own, FREE_ID).await;
            // The operator belongs to no club, and has no right inside any.
            let (status, code) = if role == "operator" { (403, "role_may_not") } else { (404, "not_found") };
            let foreign = foreign.expect_problem(status, code);
            assert_eq!(without_ids(&foreign), without_ids(&absent), "{role}: {}", operation.name());
        }
    }

    async fn records_of_another_club_are_as_absent_in_ones_own(database: Database) {
        let world = world(database).await;
        let operations = world.document.operations();
        // Later the audit list holds what this test's own callers ask for.
        let audit = world.stranger.as_role("privacy_lead").get("audit").await.expect(200);
        assert_eq!(audit["items"], json!([]));
        for (operation, role, _) in world.each_role(&operations) {
            if !operation.roles().contains(&role) || !operation.has_club() || operation.id() == "list_audit" {
                continue;
            }
            let caller = caller(&world.stranger, role, world.writes.squad(), world.writes.athlete());
            world.assert_as_absent(operation, role, &caller, &world.stranger).await;
        }
    }

    async fn the_cookie_of_a_link_opens_its_list_alone(database: Database) {
        let world = world(database).await;
        let link = world.writes.path("/pages/{link}");
        let opened = world.server.anonymous().get(link).await.expect(303);
        let cookie = opened.header("set-cookie").expect("Set-Cookie");
        let cookie = cookie.split(';').next().expect("a pair");
        let mut refused = 0;
        for operation in world.document.operations().iter().filter(|operation| !operation.is_open()) {
            let call = world.writes.trial(operation).by(&world.server.anonymous()).without_header("Cookie");
            let answer = call.header("Cookie", cookie).await;
            if operation.takes_list_cookie() {
                answer.expect(operation.good_status());
                continue;
            }
            answer.expect_problem(401, "unauthenticated");
            refused += 1;
        }
        assert!(refused > 50, "{refused}");
    }

    async fn nothing_of_a_club_is_answered_without_a_token(database: Database) {
        let world = world(database).await;
        for operation in world.document.operations().iter().filter(|operation| !operation.is_open()) {
            let call = world.writes.trial(operation).without_header("Cookie");
            let answer = call.by(&world.server.anonymous()).await;
            let answer = answer.expect_problem(401, "unauthenticated");
            assert_eq!(answer.header("www-authenticate"), Some("Bearer"), "{}", operation.name());
        }
    }
}

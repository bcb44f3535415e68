//! What is private lies sealed in the database: nobody reads it without the master key, and it is sealed anew while the service runs.

use e2e::{Client, Club, Database, Server, Writes, on_both_databases};
use serde_json::{Value, json};

mod master_key;
mod moved;
mod rotation;
mod wall;

/// Texts that stand nowhere else, one for each sealed column that holds a text.
const PLANTED: [&str; 23] = [
    "planted session note",
    "planted reason to remove",
    "planted instruction",
    "planted clinician's note",
    "planted reason to take back",
    "planted scope",
    "planted folder",
    "planted acknowledgement",
    "plantedhook",
    "plantedmail@havneby.example",
    "planted note of the bulk",
    "planted words of a consent",
    "planted form",
    "planted withdrawal",
    "planted organisation",
    "plantedfeed",
    "planted summary",
    "planted sight",
    "planted reason to withdraw",
    "plantedregister",
    "plantedcredentials",
    "planted question",
    "planted reply",
];

/// A club with something in every sealed column, each written with an idempotency key. Gives what webhooks are signed with.
async fn plant(server: &Server) -> (Writes, Vec<String>) {
    let writes = Writes::prepare(server).await;
    let club = writes.club();
    let (app, admin) = (club.as_role("integration"), club.as_role("club_admin"));
    let trainer = club.as_role("athletic_trainer");
    let report = |at: &str, note: &str| {
        writes
            .athlete()
            .session(at, 30, 4.0)
            .with("note", note)
            .into_body()
    };
    let noted = report("2026-11-04T17:30:00+01:00", PLANTED[0]);
    let noted = app
        .post("sessions", noted)
        .idempotency_key("k-1")
        .await
        .expect(201);
    let removed = format!("sessions/{}", noted.string("session_id"));
    let bulk = club.bulk(vec![report("2026-11-05T17:30:00+01:00", PLANTED[10])]);
    let bulk = bulk.idempotency_key("k-2").await.expect(200);
    let bulk = bulk["results"][0]["session_id"]
        .as_str()
        .expect("an id")
        .to_owned();
    app.delete(removed)
        .body(
            "application/json",
            json!({ "reason": PLANTED[1] }).to_string(),
        )
        .if_match("*")
        .await
        .expect(204);
    let restriction = json!({ "athlete_id": writes.athlete().id(), "from": "2026-11-02", "review_date": "2026-11-20",
        "availability": "limited", "instruction": PLANTED[2], "note": PLANTED[3] });
    for key in ["k-3", "k-4"] {
        let set = trainer
            .post("restrictions", restriction.clone())
            .idempotency_key(key);
        let set = set.await.expect(201);
        if key == "k-4" {
            trainer
                .delete(format!("restrictions/{}", set.string("restriction_id")))
                .body(
                    "application/json",
                    json!({ "reason": PLANTED[4] }).to_string(),
                )
                .if_match("*")
                .await
                .expect(204);
        }
    }
    let decision = json!({ "athlete_id": writes.athlete().id(), "decision": "not_yet", "scope": PLANTED[5],
        "decided_on": "2026-11-02", "document_reference": PLANTED[6] });
    trainer
        .post("clearance-records", decision)
        .idempotency_key("k-5")
        .await
        .expect(201);
    let flags = app.get("flags").await.expect(200);
    let flag = flags["items"][0]["flag_id"].as_str().expect("a flag");
    club.as_role("coach")
        .post(
            format!("flags/{flag}/acknowledgement"),
            json!({ "action": "talked", "note": PLANTED[7] }),
        )
        .idempotency_key("k-6")
        .await
        .expect(201);
    signed_off(&writes).await;
    asked(&writes, &bulk).await;
    consented(&writes).await;
    calendars(&admin).await;
    roster_source(&admin).await;
    let secrets = endpoints(&admin).await;
    (writes, secrets)
}

/// A sign-off, and its withdrawal.
async fn signed_off(writes: &Writes) {
    let coach = writes.club().as_role("coach");
    let path = format!(
        "athletes/{}/sign-offs/{}",
        writes.athlete().id(),
        e2e::FREE_ID
    );
    let watched = json!({ "exercise": "hip_hinge", "signed_on": "2026-11-02", "seen_in_person": true, "note": PLANTED[17] });
    coach.put(&path, watched).await.expect(201);
    let reason = json!({ "reason": PLANTED[18] }).to_string();
    let withdrawn = coach.delete(&path).body("application/json", reason);
    withdrawn.if_match("*").await.expect(204);
}

/// A question about a session, and its answer.
async fn asked(writes: &Writes, session: &str) {
    let athlete = writes.athlete();
    let question = json!({ "text": PLANTED[21], "about": { "session_id": session } });
    let guardian = writes.club().as_guardian_of(&[athlete]);
    let asked = guardian.post(format!("athletes/{}/questions", athlete.id()), question);
    let asked = asked.idempotency_key("k-20").await.expect(201);
    let path = format!("questions/{}", asked.string("question_id"));
    let coach = writes.club().as_role("strength_coach");
    let answered = coach.patch(path, json!({ "reply": PLANTED[22] }));
    answered.if_match("*").await.expect(200);
}

/// A signed form, its withdrawal, and an organisation that is to share.
async fn consented(writes: &Writes) {
    let (lead, athlete) = (writes.club().as_role("privacy_lead"), writes.athlete());
    let path = format!("athletes/{}", athlete.id());
    let form = json!({ "purpose": PLANTED[11], "data_classes": ["wellness"], "recipient_role": "athletic_trainer",
        "text_version": "2026-1", "evidence": PLANTED[12] });
    let given = lead
        .post(format!("{path}/consents"), form)
        .idempotency_key("k-10")
        .await
        .expect(201);
    let withdrawal = format!("{path}/consents/{}/withdrawal", given.string("consent_id"));
    let withdrawn = lead
        .post(withdrawal, json!({ "evidence": PLANTED[13] }))
        .idempotency_key("k-11");
    withdrawn.await.expect(200);
    let guardian = writes.club().as_guardian_of(&[athlete]);
    let named = guardian.post(
        format!("{path}/sharing-codes"),
        json!({ "organisation": PLANTED[14] }),
    );
    named.idempotency_key("k-12").await.expect(201);
}

/// A feed, and a calendar whose text was sent.
async fn calendars(admin: &Client) {
    let feed = json!({ "name": "Hall", "feed_url": format!("https://hall.example.invalid/{}.ics", PLANTED[15]) });
    let feed = admin.post("calendars", feed).idempotency_key("k-13");
    feed.await.expect(201);
    let text = format!(
        "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//Havneby//EN\r\nBEGIN:VEVENT\r\nUID:a\r\nDTSTAMP:20260901T080000Z\r\n\
         DTSTART:20261110T173000Z\r\nDURATION:PT90M\r\nSUMMARY:{}\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n",
        PLANTED[16]
    );
    let sent = admin.put(format!("calendars/{}", e2e::FREE_ID), Value::Null);
    sent.body("text/calendar", text).await.expect(201);
}

/// A roster app whose address and credentials are secret.
async fn roster_source(admin: &Client) {
    let source = json!({
        "name": "Register", "url": format!("https://register.example.invalid/{}", PLANTED[19]), "mode": "full",
        "credentials": { "kind": "basic", "user": "plimsoll", "password": PLANTED[20] },
        "people": { "list": "", "external_id": "/id" },
    });
    let path = format!("roster/sources/{}", e2e::FREE_ID);
    admin.put(path, source).await.expect(201);
}

/// A webhook whose secret was rotated, and a recipient of mail; gives both secrets.
async fn endpoints(admin: &Client) -> Vec<String> {
    let hook = json!({ "url": format!("https://one.example.invalid/{}", PLANTED[8]) });
    let hook = admin
        .post("notice-endpoints", hook)
        .idempotency_key("k-7")
        .await
        .expect(201);
    let path = format!(
        "notice-endpoints/{}/secret-rotation",
        hook.string("endpoint_id")
    );
    let rotated = admin
        .post(path, json!({}))
        .idempotency_key("k-8")
        .await
        .expect(200);
    let mail = json!({ "channel": "email", "address": PLANTED[9] });
    admin
        .post("notice-endpoints", mail)
        .idempotency_key("k-9")
        .await
        .expect(201);
    vec![hook.string("secret"), rotated.string("secret")]
}

/// Octets as the database's SQL writes them.
fn octets(database: Database, hex: &str) -> String {
    match database {
        Database::Sqlite => format!("x'{hex}'"),
        Database::Postgres => format!("'\\x{hex}'::bytea"),
    }
}

/// Every sealed column.
const COLUMNS: [&str; 24] = [
    "session_reports.note",
    "session_reports.reason",
    "restrictions.instruction",
    "restrictions.note",
    "restrictions.reason",
    "sign_offs.note",
    "sign_offs.reason",
    "questions.text",
    "questions.reply",
    "clearance_records.scope",
    "clearance_records.document_reference",
    "flag_acknowledgements.note",
    "notice_endpoints.address",
    "notice_endpoints.secret",
    "notice_endpoints.old_secret",
    "calendars.feed_url",
    "calendars.content",
    "roster_sources.url",
    "roster_sources.credentials",
    "consents.purpose",
    "consents.evidence",
    "consents.withdrawal_evidence",
    "sharing_links.organisation",
    "idempotency_keys.body",
];

/// How many values of a column there are, and how many of them are not under a key; answers about no club are under none.
fn values(server: &Server, database: Database, column: &str, number: u32) -> (String, String) {
    let (table, column) = column.split_once('.').expect("a column of a table");
    let head = octets(database, &format!("02{number:08x}"));
    let of_a_club = "club_id IN (SELECT club_id FROM clubs)";
    let found = server.rows(&format!(
        "SELECT count(*), count(CASE WHEN substr({column}, 1, 5) <> {head} THEN 1 END) FROM {table} \
         WHERE {column} IS NOT NULL AND {of_a_club}"
    ));
    (found[0][0].clone(), found[0][1].clone())
}

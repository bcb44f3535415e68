//! A subject's complete copy: every planted value of hers, of nobody else, valid by the schema that is served.

use std::collections::BTreeMap;

use crate::*;

async fn schema(server: &Server) -> Value {
    let served = server
        .anonymous()
        .get("/schemas/athlete-copy")
        .await
        .expect(200);
    assert_eq!(
        served.header("content-type"),
        Some("application/schema+json")
    );
    served.body
}

fn path(athlete: &Athlete) -> String {
    format!("athletes/{}/copy?purpose=asked_by_guardian", athlete.id())
}

/// The lines of a CSV copy as table, record, column and value.
fn lines(file: &[u8]) -> Vec<[String; 4]> {
    let mut reader = csv::Reader::from_reader(file);
    let header: Vec<String> = reader
        .headers()
        .expect("a header")
        .iter()
        .map(str::to_owned)
        .collect();
    assert_eq!(header, ["table", "record", "column", "value"]);
    let line = |record: csv::StringRecord| [0, 1, 2, 3].map(|at| record[at].to_owned());
    reader
        .records()
        .map(|record| line(record.expect("a line")))
        .collect()
}

/// How many records of each table a CSV copy has.
fn records(lines: &[[String; 4]]) -> BTreeMap<&str, usize> {
    let mut most: BTreeMap<&str, usize> = BTreeMap::new();
    for [table, record, ..] in lines {
        let number: usize = record.parse().expect("a number");
        let known = most.entry(table).or_default();
        *known = number.max(*known);
    }
    most
}

fn rows<'a>(copy: &'a Value, table: &str) -> &'a Vec<Value> {
    copy["records"][table]
        .as_array()
        .unwrap_or_else(|| panic!("{table}"))
}

on_both_databases! {
    async fn a102_it_holds_every_planted_value_and_nobody_elses(database: Database) {
        let world = world(Server::start(database).await).await;
        let lead = world.club.as_role("privacy_lead");
        let copy = lead.get(path(&world.mara.athlete)).await.expect(200);
        let file = lead.get(path(&world.mara.athlete)).header("Accept", "text/csv").await.expect(200);
        for text in [copy.text(), file.text()] {
            for word in &world.mara.hers {
                assert!(text.contains(word.as_str()), "{word} is missing");
            }
            for word in &world.mara.of_staff {
                assert!(!text.contains(word.as_str()), "{word} is a member of staff");
            }
            for other in [world.ida.prefix, world.ida.athlete.id(), "Vera Holm"] {
                assert!(!text.contains(other), "{other} is somebody else");
            }
        }
        // What was planted is in it because every table of hers is.
        for (table, rows) in copy["records"].as_object().expect("records") {
            let filled = !rows.as_array().expect("rows").is_empty();
            let has_none = ["shares", "shared_day_totals", "erasures"].contains(&table.as_str());
            assert_eq!(filled, !has_none, "{table}");
        }
    }

    async fn json_and_csv_say_the_same_and_the_schema_knows_both(database: Database) {
        let world = world(Server::start(database).await).await;
        let lead = world.club.as_role("privacy_lead");
        let copy = lead.get(path(&world.mara.athlete)).await.expect(200).body;
        let schema = schema(&world.server).await;
        assert_eq!(copy["schema"], "/schemas/athlete-copy");
        let validator = jsonschema::options().should_validate_formats(true).build(&schema).expect("a schema");
        let faults: Vec<String> = validator.iter_errors(&copy).map(|fault| format!("{}: {fault}", fault.instance_path())).collect();
        assert_eq!(faults, Vec::<String>::new());
        // The schema can refuse.
        for (place, wrong) in [("/made_at", json!(7)), ("/records/athletes/0/athlete_id", json!("x")), ("/records/flags/0/rule", json!(null))] {
            let mut other = copy.clone();
            *other.pointer_mut(place).expect("a place") = wrong;
            assert!(!validator.is_valid(&other), "{place}");
        }
        let mut more = copy.clone();
        more["records"]["diaries"] = json!([]);
        assert!(!validator.is_valid(&more));

        let file = lead.get(path(&world.mara.athlete)).header("Accept", "text/csv").await.expect(200);
        assert!(file.header("content-disposition").is_some_and(|how| how.contains("athlete-copy.csv")));
        let lines = lines(&file.bytes);
        let numbers = records(&lines);
        for (table, rows) in copy["records"].as_object().expect("records") {
            let rows = rows.as_array().expect("rows");
            // The first of the two reads is in the second copy.
            let read_since = usize::from(table == "audit_reads");
            assert_eq!(numbers.get(table.as_str()).copied().unwrap_or(0), rows.len() + read_since, "{table}");
            for (number, row) in rows.iter().enumerate() {
                for (column, value) in row.as_object().expect("a row") {
                    let told = lines.iter().find(|[of, record, name, _]| of == table && *record == (number + 1).to_string() && name == column);
                    let told = &told.unwrap_or_else(|| panic!("{table} {number} {column}"))[3];
                    match value {
                        Value::String(text) => assert_eq!(told.trim_start_matches('\''), text.trim_start_matches('\'')),
                        Value::Null => assert_eq!(told, ""),
                        Value::Bool(truth) => assert_eq!(told, &truth.to_string()),
                        _ => {}
                    }
                }
            }
        }
        assert_eq!(numbers["left_out"], copy["left_out"].as_array().expect("a list").len());
    }

    async fn earlier_versions_and_readers_are_in_it(database: Database) {
        let world = world(Server::start(database).await).await;
        let mara = &world.mara.athlete;
        world.club.as_role("coach").get(format!("athletes/{}/load", mara.id())).await.expect(200);
        let lead = world.club.as_role("privacy_lead");
        lead.get(path(mara)).await.expect(200);
        let copy = lead.get(path(mara)).await.expect(200).body;
        let deleted = rows(&copy, "session_reports").iter().filter(|row| row["deleted"] == true);
        assert_eq!(deleted.count(), 1);
        let versions: Vec<&Value> = rows(&copy, "restrictions").iter().map(|row| &row["version"]).collect();
        assert_eq!(versions, [1, 2]);
        let reads = rows(&copy, "audit_reads");
        let last = &reads[reads.len() - 1];
        assert_eq!((&last["action"], &last["purpose"], &last["acting_role"]), (&json!("read_athlete_copy"), &json!("asked_by_guardian"), &json!("privacy_lead")));
        assert!(reads.iter().any(|read| read["acting_role"] == "coach"));
        // Who it was stands in none of the rows, only in which role.
        assert!(reads.iter().all(|read| read.get("subject").is_none()));
    }

    async fn a_copy_is_the_privacy_leads_and_for_a_purpose(database: Database) {
        let server = Server::start(database).await;
        let club = server.club("Havneby Handball").await;
        let athlete = club.squad("U16").await.athlete("P-07").await;
        let path = format!("athletes/{}/copy", athlete.id());
        for role in Document::committed().reach().map(|(role, _)| role.to_owned()) {
            if role == "privacy_lead" {
                continue;
            }
            let caller = match role.as_str() {
                "guardian" => club.as_guardian_of(&[&athlete]),
                "athlete" => athlete.as_caller(),
                _ => club.as_role(&role),
            };
            caller.get(&path).query("purpose", "leaving").await.expect_problem(403, "role_may_not");
        }
        let lead = club.as_role("privacy_lead");
        for purpose in ["", "screening", "Leaving"] {
            lead.get(&path).query("purpose", purpose).await.expect_problem(400, "bad_query");
        }
        let missing = lead.get(&path).await.expect_problem(400, "bad_query");
        assert_eq!(missing["errors"][0]["allowed"], "asked_by_athlete, asked_by_guardian, leaving");
        lead.get(&path).query("purpose", "leaving").header("Accept", "text/html").await.expect_problem(406, "not_acceptable");
        let absent = format!("athletes/{}/copy", e2e::FREE_ID);
        lead.get(absent).query("purpose", "leaving").await.expect_problem(404, "not_found");
        let other = server.club("Fjordby Handball").await.as_role("privacy_lead");
        let foreign = format!("/v1/clubs/{}/{path}", club.id());
        other.get(foreign).query("purpose", "leaving").await.expect_problem(404, "not_found");
    }

    async fn text_is_never_a_formula(database: Database) {
        let server = Server::start(database).await;
        let club = server.club("Havneby Handball").await;
        let athlete = club.squad("U16").await.athlete("P-07").with("display_name", "=SUM(A1)").await;
        let lead = club.as_role("privacy_lead");
        let file = lead.get(path(&athlete)).header("Accept", "text/csv").await.expect(200);
        let lines = lines(&file.bytes);
        let name = lines.iter().find(|[table, _, column, _]| table == "athlete_versions" && column == "display_name");
        assert_eq!(name.expect("a name")[3], "'=SUM(A1)");
    }
}

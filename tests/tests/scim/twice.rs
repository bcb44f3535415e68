//! The same roster once more stores nothing.

use std::collections::BTreeMap;

use crate::*;

/// What a second sync must leave as it is: all but who read what, and the club's own row, which has the instant of the last write.
fn stored(server: &Server) -> BTreeMap<String, Vec<String>> {
    let mut tables = server.tables();
    tables.retain(|name, _| !name.starts_with("audit_") && name != "clubs");
    tables
}

on_both_databases! {
    async fn a_second_sync_stores_nothing(database: Database) {
        let (server, _club, directory) = world(database).await;
        let mut people = Vec::new();
        for number in 0..12 {
            let mut sent = user(&format!("p{number}"));
            match number {
                0 => sent["roles"] = json!([{ "value": "coach" }]),
                1 => sent["roles"] = json!([{ "value": "guardian" }]),
                2 => sent["active"] = json!(false),
                _ => sent[ROSTER]["guardians"] = json!([{ "value": "G-1" }, { "value": format!("G-{number}") }]),
            }
            let id = directory.post("Users", sent.clone()).await.expect(201).string("id");
            people.push((id, sent));
        }
        let members: Vec<&str> = people.iter().map(|(id, _)| id.as_str()).collect();
        let squad = group("U16 girls", &members);
        let made = directory.post("Groups", squad.clone()).await.expect(201);
        assert_eq!(values(&made.body, "members").len(), 9);
        let at = format!("Groups/{}", made.string("id"));
        let before = stored(&server);
        for (id, sent) in &people {
            let filter = format!("userName eq {}", sent["userName"]);
            let found = directory.filtered("Users", &filter).await.expect(200);
            assert_eq!(ids(&found), [id.as_str()]);
            directory.put(&format!("Users/{id}"), sent.clone()).await.expect(200);
            let same = json!([{ "op": "replace", "value": { "displayName": sent["displayName"], "userName": sent["userName"] } }]);
            directory.patch(&format!("Users/{id}"), same).await.expect(200);
        }
        directory.put(&at, squad).await.expect(200);
        let member = json!([{ "op": "add", "path": "members", "value": [{ "value": people[5].0 }] }]);
        directory.patch(&at, member).await.expect(200);
        for (name, rows) in stored(&server) {
            assert_eq!(rows, before[&name], "{name}");
        }
    }
}

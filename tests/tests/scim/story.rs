//! A season of somebody in IT: people in, squads, who joins and who leaves, and what of it the rest of the club sees.

use crate::*;

on_both_databases! {
    async fn an_identity_provider_keeps_the_roster(database: Database) {
        let (server, club, directory) = world(database).await;
        let app = club.as_role("integration");

        // First it asks what there is, by user name, as it does before each user.
        let none = directory.filtered("Users", "userName eq \"runa\"").await.expect(200);
        assert_eq!((&none["totalResults"], &none["itemsPerPage"], &none["Resources"]), (&json!(0), &json!(0), &json!([])));
        let trial = directory.post("Users", user("runa")).dry_run().await.expect(201);
        assert_eq!(directory.get("Users").await.expect(200)["totalResults"], 0, "a trial stores nothing");
        let made = directory.post("Users", user("runa")).await.expect(201);
        assert_eq!(made.header("etag"), trial.header("etag"));
        let runa = made.string("id");
        assert_eq!(made.header("location"), Some(directory.path(&format!("Users/{runa}")).as_str()));
        assert_eq!((&made["meta"]["location"], &made["meta"]["version"]), (&json!(made.header("location")), &json!(made.etag())));

        // To the rest of the club she is an athlete under the directory's key.
        let athlete = app.get(format!("athletes/{runa}")).await.expect(200);
        let known = ["external_id", "display_name", "birth_date", "joined_on"].map(|field| athlete[field].clone());
        assert_eq!(json!(known), json!(["id-runa", "Player runa", "2011-03-14", "2026-08-03"]));

        // Staff and guardians are there too; of a guardian no name is kept, and of nobody an address.
        let mut coach = user("coach");
        coach["roles"] = json!([{ "value": "coach", "primary": true }]);
        coach["emails"] = json!([{ "value": "coach@havneby.example", "type": "work" }]);
        coach["phoneNumbers"] = json!([{ "value": "+45 20 00 00 00" }]);
        coach["password"] = json!("canary");
        let coach = directory.post("Users", coach).await.expect(201);
        assert_eq!((&coach["roles"], &coach["displayName"]), (&json!([{ "value": "coach" }]), &json!("Player coach")));
        for not_kept in ["emails", "phoneNumbers", "password", ROSTER] {
            assert_eq!(coach[not_kept], Value::Null, "{not_kept}");
        }
        app.get(format!("athletes/{}", coach.string("id"))).await.expect(404);
        let guardian = json!({ "schemas": [USER], "userName": "G-1", "externalId": "G-1", "displayName": "Canary", "roles": ["guardian"] });
        let guardian = directory.post("Users", guardian).await.expect(201);
        assert_eq!(guardian["displayName"], Value::Null);
        let stored = format!("{:?}", server.tables());
        for canary in ["havneby.example", "+45 20", "canary", "Canary"] {
            assert!(!stored.contains(canary), "{canary} is kept");
        }

        // She gets her guardian and a squad.
        let path = format!("Users/{runa}");
        let guarded = json!([{ "op": "Add", "path": format!("{ROSTER}:guardians"), "value": [{ "value": "G-1" }] }]);
        let guarded = directory.patch(&path, guarded).await.expect(200);
        assert_eq!(guarded[ROSTER]["guardians"], json!([{ "value": "G-1" }]));
        let elin = directory.post("Users", user("elin")).await.expect(201).string("id");
        let squad = directory.post("Groups", group("U16 girls", &[&runa, &coach.string("id")])).await.expect(201);
        let at = format!("Groups/{}", squad.string("id"));
        assert_eq!(values(&squad.body, "members"), std::slice::from_ref(&runa), "who is no athlete is left out");
        assert_eq!(squad["members"][0]["$ref"], directory.path(&path));
        let member = json!([{ "op": "add", "path": "members", "value": [{ "value": elin }] }]);
        let squad = directory.patch(&at, member).if_match(squad.etag()).await.expect(200);
        assert_eq!(values(&squad.body, "members").len(), 2);
        let athlete = app.get(format!("athletes/{runa}")).await.expect(200);
        assert_eq!((&athlete["squads"][0]["name"], &athlete["squads"][0]["role"]), (&json!("U16 girls"), &json!("member")));
        let seen = directory.get(&path).await.expect(200);
        assert_eq!(seen["groups"][0]["display"], "U16 girls");
        directory.get(&path).header("If-None-Match", seen.etag()).await.expect(304);

        // One leaves the squad, and one the club: memberships end, and nothing of the history goes.
        let removal = json!([{ "op": "remove", "path": format!("members[value eq \"{elin}\"]") }]);
        let squad = directory.patch(&at, removal).await.expect(200);
        assert_eq!(values(&squad.body, "members"), std::slice::from_ref(&runa));
        let left = directory.patch(&path, json!([{ "op": "Replace", "path": "active", "value": "False" }])).await.expect(200);
        assert_eq!((&left["active"], &left["groups"]), (&json!(false), &Value::Null));
        app.get(format!("athletes/{runa}")).await.expect(200);
        assert_eq!(values(&directory.get(&at).await.expect(200).body, "members"), Vec::<String>::new());

        // While she is away nobody adds her; a whole list leaves her out.
        let back = json!([{ "op": "add", "path": "members", "value": [{ "value": runa }] }]);
        assert_type(directory.patch(&at, back.clone()).await, 400, "invalidValue");
        let whole = directory.put(&at, group("U16 girls", &[&runa, &elin])).await.expect(200);
        assert_eq!(values(&whole.body, "members"), std::slice::from_ref(&elin));

        // Deleted, she is not there any more; the same key brings her back, with her history.
        directory.delete(&path).await.expect(204);
        directory.get(&path).await.expect_problem(404, "not_found");
        directory.patch(&path, json!([{ "op": "replace", "path": "active", "value": true }])).await.expect_problem(404, "not_found");
        assert_eq!(directory.filtered("Users", "externalId eq \"id-runa\"").await.expect(200)["totalResults"], 0);
        let again = directory.post("Users", user("runa")).await.expect(201);
        assert_eq!((again.string("id"), &again["active"]), (runa.clone(), &json!(true)));
        directory.patch(&at, back).await.expect(200);

        // So it is with a squad.
        directory.delete(&at).await.expect(204);
        directory.get(&at).await.expect_problem(404, "not_found");
        assert_eq!(directory.get("Groups").await.expect(200)["totalResults"], 0);
        assert_eq!(directory.get(&path).await.expect(200)["groups"], Value::Null);
        let again = directory.post("Groups", group("U16 girls", &[&runa])).await.expect(201);
        assert_eq!((format!("Groups/{}", again.string("id")), values(&again.body, "members")), (at, vec![runa.clone()]));

        // Reading one athlete is in the audit list.
        let audit = club.as_role("privacy_lead").get("audit").query("athlete", &runa).await.expect(200);
        let audit = audit["items"].as_array().expect("items");
        assert!(audit.iter().any(|row| row["action"] == "read_directory_user"), "{audit:?}");
    }

    async fn athletes_of_other_ways_are_users_too(database: Database) {
        let (_server, club, directory) = world(database).await;
        let squad = club.squad("U18").await;
        let athlete = squad.athlete("P-07").await;
        let found = directory.filtered("Users", "externalId eq \"P-07\" and active eq true").await.expect(200);
        assert_eq!(ids(&found), [athlete.id()]);
        let user = &found["Resources"][0];
        assert_eq!((&user["userName"], &user["displayName"], &user["groups"][0]["value"]), (&json!("P-07"), &json!("P-07"), &json!(squad.id())));
        // What a directory does not know of it does not take away.
        let put = json!({ "schemas": [USER], "userName": "asta", "displayName": "Asta" });
        let put = directory.put(&format!("Users/{}", athlete.id()), put).await.expect(200);
        assert_eq!((&put["externalId"], &put[ROSTER]["birthDate"]), (&json!("P-07"), &json!("2011-03-14")));
        let own = club.as_role("integration").get(format!("athletes/{}", athlete.id())).await.expect(200);
        assert_eq!((&own["display_name"], &own["squads"][0]["to"]), (&json!("Asta"), &Value::Null));
        // Null takes a value out, and what cannot be without a value has the one that it had.
        let without = json!({ "externalId": null, ROSTER: { "birthDate": null, "joinedOn": null } });
        let without = directory.put(&format!("Users/{}", athlete.id()), without).await.expect(200);
        assert_eq!((&without["externalId"], &without[ROSTER]), (&Value::Null, &json!({ "joinedOn": "2026-01-01" })));
        // Members of a squad in another capacity stay as they are.
        let list = json!({ "schemas": [GROUP], "displayName": "U18 girls", "members": [{ "value": athlete.id() }] });
        directory.put(&format!("Groups/{}", squad.id()), list).await.expect(200);
        let after = club.as_role("integration").get(format!("athletes/{}", athlete.id())).await.expect(200);
        assert_eq!(after["squads"][0]["from"], own["squads"][0]["from"]);
    }

    async fn nobody_else_keeps_it(database: Database) {
        let (server, club, directory) = world(database).await;
        let runa = directory.post("Users", user("runa")).await.expect(201).string("id");
        let stranger = server.club("Fjordby Handball").await;
        let foreign = Directory::by(stranger.as_role("integration"), &club);
        foreign.get("Users").await.expect_problem(404, "not_found");
        Directory::of(&stranger, "integration").get(&format!("Users/{runa}")).await.expect_problem(404, "not_found");
        let member = group("U16", &[&runa]);
        assert_type(Directory::of(&stranger, "integration").post("Groups", member).await, 400, "invalidValue");
        for role in ["coach", "athletic_trainer", "athlete", "guardian", "privacy_lead"] {
            Directory::of(&club, role).get("Users").await.expect_problem(403, "role_may_not");
        }
        Directory::of(&club, "club_admin").get("Users").await.expect(200);
        let nobody = Directory::by(server.anonymous(), &club).get("Users").await.expect_problem(401, "unauthenticated");
        assert_eq!(nobody.header("www-authenticate"), Some("Bearer"));
    }
}

//! What is refused, with the status and type of RFC 7644, table 9. It is refused before anything of it reaches a database, or by rules
//! that are the same on both, so one is enough.

use crate::*;

#[tokio::test]
async fn bad_questions_are_refused() {
    let (_server, _club, directory) = world(Database::Sqlite).await;
    let long = format!("userName eq \"{}\"", "x".repeat(5_000));
    let deep = format!("{}userName pr{}", "(".repeat(40), ")".repeat(40));
    let many = vec!["userName pr"; 101].join(" or ");
    for filter in [
        "",
        " ",
        "userName",
        "userName eq",
        "userName eq x",
        "userName eq 'x'",
        "eq \"x\"",
        "userName like \"x\"",
        "userName eq \"x",
        "userName eq \"x\" and",
        "(userName pr",
        "userName pr)",
        "not userName pr",
        "userName eq [\"x\"]",
        "userName eq {}",
        "roles[value eq \"coach\"",
        "roles[] pr",
        "nobody eq \"x\"",
        "emails.value eq \"x@example.org\"",
        "phoneNumbers pr",
        "active gt true",
        "active eq \"true\"",
        "userName eq 7",
        "userName.first eq \"x\"",
        "userName[value eq \"x\"]",
        "meta.created gt \"soon\"",
        "roles[nobody eq \"x\"]",
        "urn:x:y:userName eq \"x\"",
        "userName eq \"x\" userName eq \"y\"",
        "\u{0} pr",
        &long,
        &deep,
        &many,
    ] {
        assert_type(
            directory.filtered("Users", filter).await,
            400,
            "invalidFilter",
        );
        let search = json!({ "schemas": [SEARCH], "filter": filter });
        assert_type(
            directory.post(".search", search).await,
            400,
            "invalidFilter",
        );
    }
    for (name, value) in [
        ("count", "ten"),
        ("startIndex", "1.5"),
        ("sortBy", "userName"),
        ("attributes", "a b"),
        ("dry_run", "true"),
    ] {
        assert_type(
            directory.get("Users").query(name, value).await,
            400,
            "invalidValue",
        );
    }
    let both = directory
        .get("Users")
        .query("attributes", "userName")
        .query("excludedAttributes", "id");
    assert_type(both.await, 400, "invalidValue");
    for search in [
        json!({ "sortBy": "userName" }),
        json!({ "schemas": [PATCH] }),
        json!({ "nobody": 1 }),
    ] {
        assert_type(
            directory.post("Users/.search", search).await,
            400,
            "invalidSyntax",
        );
    }
    directory
        .get("Nowhere")
        .await
        .expect_problem(404, "not_found");
    directory
        .get("Users/nobody")
        .await
        .expect_problem(404, "not_found");
    directory
        .get("Schemas/nobody")
        .await
        .expect_problem(404, "not_found");
    directory
        .send(Method::POST, "Bulk", &json!({}))
        .await
        .expect_problem(404, "not_found");
    directory
        .delete("Users")
        .await
        .expect_problem(405, "method_not_allowed");
}

/// The limits that `/v1/limits` tells: what is within is taken, one more is not.
#[tokio::test]
async fn limits_are_kept_as_they_are_told() {
    let (_server, club, directory) = world(Database::Sqlite).await;
    let limits = club
        .as_role("integration")
        .get("/v1/limits")
        .await
        .expect(200);
    let limit = |name: &str| {
        let number = limits["directory"][name].as_u64().expect("a number");
        usize::try_from(number).expect("a small number")
    };
    let made = directory.post("Users", user("runa")).await.expect(201);
    let path = format!("Users/{}", made.string("id"));
    let long = |bytes: usize| {
        let empty = "userName eq \"\"".len();
        format!("userName eq \"{}\"", "x".repeat(bytes - empty))
    };
    let many = |comparisons: usize| vec!["id pr"; comparisons].join(" or ");
    let deep = |brackets: usize| format!("{}id pr{}", "(".repeat(brackets), ")".repeat(brackets));
    for (taken, refused) in [
        (long(limit("filter_bytes")), long(limit("filter_bytes") + 1)),
        (
            many(limit("filter_comparisons")),
            many(limit("filter_comparisons") + 1),
        ),
        (
            deep(limit("filter_brackets")),
            deep(limit("filter_brackets") + 1),
        ),
    ] {
        directory.filtered("Users", &taken).await.expect(200);
        assert_type(
            directory.filtered("Users", &refused).await,
            400,
            "invalidFilter",
        );
    }
    let operations = |count: usize| {
        let one = json!({ "op": "replace", "path": "active", "value": true });
        directory.patch(&path, json!(vec![one; count]))
    };
    operations(limit("patch_operations")).await.expect(200);
    assert_type(
        operations(limit("patch_operations") + 1).await,
        400,
        "invalidSyntax",
    );
    let more = directory
        .get("Users")
        .query("count", limit("results") + 1)
        .await
        .expect(200);
    assert_eq!(more["itemsPerPage"], 1);
}

#[tokio::test]
async fn bad_resources_are_refused() {
    let (server, _club, directory) = world(Database::Sqlite).await;
    let made = directory.post("Users", user("runa")).await.expect(201);
    let path = format!("Users/{}", made.string("id"));
    let before = server.tables();
    let changed = |name: &str, value: Value| {
        let mut body = user("elin");
        body[name] = value;
        body
    };
    let roster = |name: &str, value: Value| changed(ROSTER, json!({ name: value }));
    for (body, status, scim_type) in [
        (changed("userName", json!("RUNA")), 409, "uniqueness"),
        (changed("externalId", json!("id-runa")), 409, "uniqueness"),
        (changed("userName", Value::Null), 400, "invalidValue"),
        (changed("userName", json!(" ")), 400, "invalidValue"),
        (
            changed("userName", json!("x".repeat(201))),
            400,
            "invalidValue",
        ),
        (changed("userName", json!("a\u{0}b")), 400, "invalidValue"),
        (changed("displayName", Value::Null), 400, "invalidValue"),
        (changed("displayName", json!(7)), 400, "invalidValue"),
        (changed("active", json!("perhaps")), 400, "invalidValue"),
        (
            changed("roles", json!([{ "value": "president" }])),
            400,
            "invalidValue",
        ),
        (
            changed("roles", json!([{ "display": "coach" }])),
            400,
            "invalidValue",
        ),
        (
            changed("roles", json!([{ "value": "coach", "since": 1 }])),
            400,
            "invalidSyntax",
        ),
        (changed("schemas", json!(["urn:x:y"])), 400, "invalidSyntax"),
        (changed("schemas", json!("urn:x:y")), 400, "invalidSyntax"),
        (
            changed("birthDate", json!("2011-03-14")),
            400,
            "invalidSyntax",
        ),
        (changed("urn:x:y:z", json!({})), 400, "invalidSyntax"),
        (
            roster("birthDate", json!("14.03.2011")),
            400,
            "invalidValue",
        ),
        (
            roster("birthDate", json!("2025-01-01")),
            400,
            "invalidValue",
        ),
        (roster("joinedOn", json!("2031-01-01")), 400, "invalidValue"),
        (
            roster("timeZone", json!("Europe/Atlantis")),
            400,
            "invalidValue",
        ),
        (
            roster("guardians", json!([{ "value": "id-elin" }])),
            400,
            "invalidValue",
        ),
        (roster("nobody", json!(1)), 400, "invalidSyntax"),
        (changed(ROSTER, json!("x")), 400, "invalidValue"),
    ] {
        assert_type(
            directory.post("Users", body.clone()).await,
            status,
            scim_type,
        );
        if body["userName"] != "RUNA"
            && body["externalId"] != "id-runa"
            && body["userName"] != Value::Null
        {
            let trial = directory.post("Users", body).dry_run().await;
            assert_type(trial, status, scim_type);
        }
    }
    let operations = |operation: Value| directory.patch(&path, json!([operation]));
    for (operation, scim_type) in [
        (
            json!({ "op": "replace", "path": "nobody", "value": 1 }),
            "invalidPath",
        ),
        (
            json!({ "op": "replace", "path": "displayName.first", "value": "x" }),
            "invalidPath",
        ),
        (
            json!({ "op": "replace", "path": "displayName[value eq \"x\"]", "value": "x" }),
            "invalidPath",
        ),
        (
            json!({ "op": "replace", "path": "", "value": "x" }),
            "invalidPath",
        ),
        (
            json!({ "op": "replace", "path": "roles[value eq", "value": "x" }),
            "invalidFilter",
        ),
        (
            json!({ "op": "replace", "path": "roles[nobody eq 1]", "value": "x" }),
            "invalidFilter",
        ),
        (
            json!({ "op": "replace", "path": "roles[value eq \"coach\"]", "value": { "value": "athlete" } }),
            "noTarget",
        ),
        (json!({ "op": "remove" }), "noTarget"),
        (
            json!({ "op": "replace", "path": "id", "value": "x" }),
            "mutability",
        ),
        (
            json!({ "op": "add", "path": "groups", "value": [{ "value": "x" }] }),
            "mutability",
        ),
        (
            json!({ "op": "remove", "path": "displayName" }),
            "invalidValue",
        ),
        (
            json!({ "op": "add", "path": "displayName" }),
            "invalidValue",
        ),
        (json!({ "op": "replace", "value": "x" }), "invalidValue"),
        (
            json!({ "op": "replace", "path": "roles", "value": "x" }),
            "invalidValue",
        ),
        (
            json!({ "op": "move", "path": "displayName", "value": "x" }),
            "invalidSyntax",
        ),
        (
            json!({ "op": "add", "from": "displayName" }),
            "invalidSyntax",
        ),
        (json!({ "path": "displayName" }), "invalidSyntax"),
        (json!(7), "invalidSyntax"),
    ] {
        assert_type(operations(operation).await, 400, scim_type);
    }
    // All of a patch or nothing of it.
    let half = json!([{ "op": "replace", "path": "displayName", "value": "Half" }, { "op": "replace", "path": "nobody", "value": 1 }]);
    assert_type(directory.patch(&path, half).await, 400, "invalidPath");
    for body in [
        json!({}),
        json!({ "Operations": [] }),
        json!({ "Operations": {} }),
        json!({ "schemas": [USER], "Operations": [] }),
    ] {
        assert_type(
            directory.send(Method::PATCH, &path, &body).await,
            400,
            "invalidSyntax",
        );
    }
    for (name, members) in [
        ("U16", json!([{ "value": "nobody" }])),
        ("U17", json!([{ "value": e2e::FREE_ID }])),
    ] {
        let mut body = group(name, &[]);
        body["members"] = members;
        assert_type(directory.post("Groups", body).await, 400, "invalidValue");
    }
    let unreadable = directory.send(Method::POST, "Users", &json!({}));
    assert_type(
        unreadable.body("application/scim+json", "{").await,
        400,
        "invalidSyntax",
    );
    let typed = directory.send(Method::POST, "Users", &json!({}));
    typed
        .body("text/plain", "{}")
        .await
        .expect_problem(415, "wrong_content_type");
    let plain = directory.send(Method::POST, "Users", &json!({}));
    let plain = plain
        .body("application/json", user("plain").to_string())
        .dry_run()
        .await
        .expect(201);
    assert_eq!(plain.header("content-type"), Some("application/scim+json"));
    assert_eq!(server.tables(), before, "a refusal stored something");
}

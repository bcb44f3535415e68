//! The examples of RFC 7644, with the section beside each, on names that our schemas have: requests as printed there, the ids and what
//! is not kept here apart.

use crate::*;

/// A user as in section 3.3.
fn babs() -> Value {
    json!({
        "schemas": [USER], "userName": "bjensen", "externalId": "bjensen",
        "name": { "formatted": "Ms. Barbara J Jensen III", "familyName": "Jensen", "givenName": "Barbara" },
    })
}

on_both_databases! {
    async fn requests_of_rfc_7644(database: Database) {
        let (_server, _club, directory) = world(database).await;

        // 3.3, creating: 201 with Location, ETag, id and meta; the name shown is taken from the parts that the RFC's example has.
        let made = directory.post("Users", babs()).await.expect(201);
        let (id, location) = (made.string("id"), made.header("location").expect("Location").to_owned());
        assert_eq!((&made["meta"]["location"], &made["meta"]["resourceType"]), (&json!(location), &json!("User")));
        assert_eq!((&made["userName"], &made["externalId"], &made["displayName"]), (&json!("bjensen"), &json!("bjensen"), &json!("Ms. Barbara J Jensen III")));
        assert!(made.etag().starts_with("W/\""));

        // 3.3, once more: 409 with scimType uniqueness (3.12).
        assert_type(directory.post("Users", babs()).await, 409, "uniqueness");
        let mut other_case = babs();
        other_case["userName"] = json!("BJensen");
        other_case["externalId"] = json!("other");
        assert_type(directory.post("Users", other_case).await, 409, "uniqueness");

        // 3.4.1, a known resource; 3.4.2.5, the attributes that are asked for, and those that are always there.
        let path = format!("Users/{id}");
        let user = directory.get(&path).await.expect(200);
        assert_eq!((&user["id"], user.etag()), (&json!(id), made.etag()));
        let few = directory.get(&path).query("attributes", "userName").await.expect(200);
        let names: Vec<&String> = few.body.as_object().expect("an object").keys().collect();
        assert_eq!(names, ["id", "schemas", "userName"]);
        let most = directory.get(&path).query("excludedAttributes", "userName,id").await.expect(200);
        assert!(most["userName"].is_null() && most["id"].is_string() && most["displayName"].is_string());

        // 3.4.2, a list: 1-based, in pages; count 0 tells how many there are (3.4.2.4).
        directory.post("Users", json!({ "schemas": [USER], "userName": "jsmith", "displayName": "J Smith" })).await.expect(201);
        let list = directory.get("Users").query("startIndex", 2).query("count", 10).await.expect(200);
        assert_eq!(["totalResults", "startIndex", "itemsPerPage"].map(|field| list[field].clone()), [json!(2), json!(2), json!(1)]);
        assert_eq!(list["schemas"], json!(["urn:ietf:params:scim:api:messages:2.0:ListResponse"]));
        let counted = directory.get("Users").query("count", 0).query("startIndex", -7).await.expect(200);
        assert_eq!(["totalResults", "startIndex", "itemsPerPage"].map(|field| counted[field].clone()), [json!(2), json!(1), json!(0)]);

        // 3.4.2.2, filters: as printed in figure 2 where the attribute is one of ours.
        for (filter, found) in [
            ("userName Eq \"bjensen\"", 1),
            ("userName sw \"J\"", 1),
            ("urn:ietf:params:scim:schemas:core:2.0:User:userName sw \"J\"", 1),
            ("displayName co \"jensen\"", 1),
            ("externalId pr", 1),
            ("not (externalId pr)", 1),
            ("meta.lastModified gt \"2011-05-13T04:42:34Z\"", 2),
            ("meta.lastModified lt \"2011-05-13T04:42:34Z\"", 0),
            ("externalId pr and userName ne \"bjensen\"", 0),
            ("externalId pr or userName eq \"jsmith\"", 2),
            ("active eq true and (userName eq \"x\" or userName eq \"jsmith\")", 1),
            ("roles[value eq \"athlete\"]", 0),
            ("displayName ew \"Smith\" and not (groups pr)", 1),
        ] {
            let list = directory.filtered("Users", filter).await.expect(200);
            assert_eq!(list["totalResults"], found, "{filter}: {}", list.text());
        }

        // 3.4.3, the same by POST: users alone, and whatever there is.
        let search = json!({ "schemas": [SEARCH], "attributes": ["displayName", "userName"], "filter": "displayName co \"smith\"", "startIndex": 1, "count": 10 });
        let one = directory.post("Users/.search", search.clone()).await.expect(200);
        assert_eq!((&one["totalResults"], &one["Resources"][0]["displayName"], &one["Resources"][0]["meta"]), (&json!(1), &json!("J Smith"), &Value::Null));
        directory.post("Groups", group("Smith's squad", &[])).await.expect(201);
        assert_eq!(directory.post(".search", search.clone()).await.expect(200)["totalResults"], 2);
        assert_eq!(directory.post("Groups/.search", search).await.expect(200)["totalResults"], 1);

        // 3.5.1, replacing, for the state that was read (3.14); the same once more changes nothing.
        let mut body = babs();
        body["active"] = json!(true);
        body["roles"] = json!([{ "value": "athlete" }]);
        let put = directory.put(&path, body.clone()).if_match(made.etag()).await.expect(200);
        assert_eq!(put["roles"], json!([{ "value": "athlete" }]));
        let same = directory.put(&path, body.clone()).await.expect(200);
        assert_eq!((same.etag(), &same["meta"]["lastModified"]), (put.etag(), &put["meta"]["lastModified"]));
        directory.put(&path, body).if_match(made.etag()).await.expect_problem(412, "precondition_failed");

        // 3.6, deleting: 204 without a body, then 404, and the name is free again.
        let gone = directory.delete(&path).if_match(put.etag()).await.expect(204);
        assert!(gone.bytes.is_empty());
        let absent = directory.get(&path).await.expect_problem(404, "not_found");
        assert_eq!(absent["scimType"], Value::Null);
        directory.post("Users", json!({ "schemas": [USER], "userName": "bjensen", "displayName": "Another" })).await.expect(201);
    }

    async fn patches_of_rfc_7644(database: Database) {
        let (_server, _club, directory) = world(database).await;
        let mut people = Vec::new();
        for name in ["babs", "james", "jane"] {
            people.push(directory.post("Users", user(name)).await.expect(201).string("id"));
        }
        let [babs, james, jane] = [&people[0], &people[1], &people[2]];
        let made = directory.post("Groups", group("Group A", &[])).await.expect(201);
        let path = format!("Groups/{}", made.string("id"));
        let members = async |operations: Value| {
            let changed = directory.patch(&path, operations).await.expect(200);
            let mut expected = values(&changed.body, "members");
            let read = directory.get(&path).await.expect(200);
            assert_eq!(values(&read.body, "members"), expected);
            expected.sort();
            expected
        };
        let sorted = |mut ids: Vec<String>| { ids.sort(); ids };

        // 3.5.2.1, add a member: by path, as in the RFC's first example; once more changes nothing.
        let add = json!([{ "op": "add", "path": "members", "value": [{ "display": "Babs Jensen", "$ref": directory.path(&format!("Users/{babs}")), "value": babs }] }]);
        assert_eq!(members(add.clone()).await, std::slice::from_ref(babs));
        let etag = directory.get(&path).await.expect(200).etag().to_owned();
        assert_eq!(members(add).await, std::slice::from_ref(babs));
        assert_eq!(directory.get(&path).await.expect(200).etag(), etag);
        // 3.5.2.1, without a path.
        let add = json!([{ "op": "add", "value": { "displayName": "Group B", "members": [{ "value": james }] } }]);
        assert_eq!(members(add).await, sorted(vec![babs.clone(), james.clone()]));
        assert_eq!(directory.get(&path).await.expect(200)["displayName"], "Group B");
        // 3.5.2.2, remove one, then another and add one in the same request, then all.
        let removal = |id: &str| json!({ "op": "remove", "path": format!("members[value eq \"{id}\"]") });
        assert_eq!(members(json!([removal(babs)])).await, std::slice::from_ref(james));
        assert_eq!(members(json!([removal(babs)])).await, std::slice::from_ref(james), "who is gone is gone");
        let both = json!([removal(james), { "op": "add", "path": "members", "value": [{ "value": jane }] }]);
        assert_eq!(members(both).await, std::slice::from_ref(jane));
        assert_eq!(members(json!([{ "op": "remove", "path": "members" }])).await, Vec::<String>::new());
        // 3.5.2.3, replace all members.
        let whole = json!([{ "op": "replace", "path": "members", "value": [{ "value": babs }, { "value": james }] }]);
        assert_eq!(members(whole).await, sorted(vec![babs.clone(), james.clone()]));
        // Those to be taken away as the value, which some directories send.
        let named = json!([{ "op": "Remove", "path": "members", "value": [{ "value": babs }] }]);
        assert_eq!(members(named).await, std::slice::from_ref(james));

        // 3.5.2.3, attributes of a user, one with its URN; one that is not there any more is taken out.
        let path = format!("Users/{jane}");
        let changes = json!([
            { "op": "replace", "path": "displayName", "value": "Jane D" },
            { "op": "add", "path": format!("{ROSTER}:timeZone"), "value": "Atlantic/Faroe" },
            { "op": "replace", "path": "phoneNumbers[type eq \"work\"].value", "value": "+45 20 00 00 00" },
            { "op": "add", "path": "roles", "value": [{ "value": "athlete" }, { "value": "coach" }] },
        ]);
        let changed = directory.patch(&path, changes).await.expect(200);
        assert_eq!((&changed["displayName"], &changed[ROSTER]["timeZone"]), (&json!("Jane D"), &json!("Atlantic/Faroe")));
        assert_eq!(values(&changed.body, "roles"), ["athlete", "coach"]);
        let changes = json!([
            { "op": "replace", "path": "roles[value eq \"coach\"].value", "value": "strength_coach" },
            { "op": "remove", "path": format!("{ROSTER}:timeZone") },
        ]);
        let changed = directory.patch(&path, changes).await.expect(200);
        assert_eq!((values(&changed.body, "roles"), &changed[ROSTER]["timeZone"]), (vec!["athlete".to_owned(), "strength_coach".to_owned()], &Value::Null));
        // Names of attributes in the value, which some directories send without a path.
        let flat = json!([{ "op": "replace", "value": { "displayName": "Jane", format!("{ROSTER}:birthDate"): "2010-02-01", "id": jane } }]);
        let changed = directory.patch(&path, flat).await.expect(200);
        assert_eq!((&changed["displayName"], &changed[ROSTER]["birthDate"]), (&json!("Jane"), &json!("2010-02-01")));
    }
}

/// Section 4, and RFC 7643, sections 5 to 7: what the service says of itself.
#[tokio::test]
async fn the_service_says_what_it_supports() {
    let (_server, club, directory) = world(Database::Sqlite).await;
    let config = directory.get("ServiceProviderConfig").await.expect(200);
    let supported = ["patch", "bulk", "filter", "changePassword", "sort", "etag"]
        .map(|name| config[name]["supported"].clone());
    assert_eq!(
        json!(supported),
        json!([true, false, true, false, false, true])
    );
    let types = directory.get("ResourceTypes").await.expect(200);
    assert_eq!(ids(&types), ["User", "Group"]);
    assert_eq!(
        types["Resources"][0]["schemaExtensions"],
        json!([{ "schema": ROSTER, "required": false }])
    );
    let schemas = directory.get("Schemas").await.expect(200);
    assert_eq!(ids(&schemas), [USER, ROSTER, GROUP]);
    for (list, path) in [(&types, "ResourceTypes"), (&schemas, "Schemas")] {
        for one in list["Resources"].as_array().expect("Resources") {
            let id = one["id"].as_str().expect("an id");
            assert_eq!(
                &directory
                    .get(&format!("{path}/{id}"))
                    .await
                    .expect(200)
                    .body,
                one
            );
        }
    }
    let told = schemas["Resources"][0]["description"]
        .as_str()
        .expect("a description");
    for not_kept in ["phoneNumbers", "addresses", "photos", "password"] {
        assert!(told.contains(not_kept), "{told}");
    }
    assert!(
        !schemas.text().contains(club.id())
            || schemas["Resources"][0]["meta"]["location"].is_string()
    );
}

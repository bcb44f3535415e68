//! Rosters as OneRoster packages over HTTP. What can be wrong with one is tried beside the code.

use std::io::{Cursor, Write};

use e2e::Method;
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

use crate::*;

const ABSENT: [&str; 13] = [
    "categories",
    "classResources",
    "courseResources",
    "lineItemLearningObjectiveIds",
    "lineItems",
    "lineItemScoreScales",
    "resources",
    "resultLearningObjectiveIds",
    "results",
    "resultScoreScales",
    "scoreScales",
    "userProfiles",
    "userResources",
];
const THERE: [&str; 8] = [
    "academicSessions",
    "classes",
    "courses",
    "demographics",
    "enrollments",
    "orgs",
    "roles",
    "users",
];
const PASSWORD: &str = "planted-password-5f1c";

/// A full roster of this many students in forty classes, each with a guardian for every tenth.
fn package(students: usize) -> Vec<u8> {
    zipped(&files(students))
}

fn files(students: usize) -> Vec<(&'static str, String)> {
    let mut manifest =
        "propertyName,value\nmanifest.version,1.0\noneroster.version,1.2\n".to_owned();
    let names = ABSENT
        .iter()
        .map(|name| (name, "absent"))
        .chain(THERE.iter().map(|name| (name, "bulk")));
    names.for_each(|(name, how)| manifest += &format!("file.{name},{how}\n"));
    let mut users = "sourcedId,status,dateLastModified,enabledUser,username,userIds,givenName,familyName,middleName,identifier,email,sms,\
        phone,agentSourcedIds,grades,password,userMasterIdentifier,preferredGivenName,preferredMiddleName,preferredFamilyName,\
        primaryOrgSourcedId,pronouns\n".to_owned();
    let mut roles = "sourcedId,status,dateLastModified,userSourcedId,roleType,role,beginDate,endDate,orgSourcedId,userProfileSourcedId\n".to_owned();
    let mut enrollments = "sourcedId,status,dateLastModified,classSourcedId,schoolSourcedId,userSourcedId,role,primary,beginDate,endDate\n".to_owned();
    let mut demographics = "sourcedId,status,dateLastModified,birthDate,sex\n".to_owned();
    for number in 0..students {
        let agent = if number % 10 == 0 { "G-1" } else { "" };
        let (day, month) = (number % 28 + 1, number % 12 + 1);
        users += &format!(
            "S-{number},,,true,s{number},,Given{number},Family{number},,,,,,{agent},,{PASSWORD},,,,,o-1,\n"
        );
        roles += &format!("r-{number},,,S-{number},primary,student,,,o-1,\n");
        for class in [number % 40, (number + 7) % 40] {
            enrollments += &format!(
                "e-{number}-{class},,,k-{class},o-1,S-{number},student,false,2026-08-01,2027-07-01\n"
            );
        }
        demographics += &format!("S-{number},,,2011-{month:02}-{day:02},\n");
    }
    users += &format!("G-1,,,true,g1,,Siv,Falk,,,,,,,,{PASSWORD},,,,,o-1,\n");
    roles += "r-g,,,G-1,primary,guardian,,,o-1,\n";
    let mut classes = "sourcedId,status,dateLastModified,title,grades,courseSourcedId,classCode,classType,location,schoolSourcedId,\
        termSourcedIds,subjects,subjectCodes,periods\n".to_owned();
    (0..40).for_each(|class| {
        classes += &format!("k-{class},,,Squad {class},,c-1,,scheduled,,o-1,t-1,,,\n");
    });
    vec![
        ("manifest.csv", manifest),
        ("users.csv", users),
        ("roles.csv", roles),
        ("enrollments.csv", enrollments),
        ("demographics.csv", demographics),
        ("classes.csv", classes),
        ("orgs.csv", "sourcedId,status,dateLastModified,name,type,identifier,parentSourcedId\no-1,,,Havneby,school,,\n".to_owned()),
        ("courses.csv", "sourcedId,status,dateLastModified,schoolYearSourcedId,title,courseCode,grades,orgSourcedId,subjects,\
            subjectCodes\nc-1,,,t-1,Handball,,,o-1,,\n".to_owned()),
        ("academicSessions.csv", "sourcedId,status,dateLastModified,title,type,startDate,endDate,parentSourcedId,schoolYear\n\
            t-1,,,Season,schoolYear,2026-08-01,2027-07-01,,2027\n".to_owned()),
    ]
}

fn zipped(files: &[(&str, String)]) -> Vec<u8> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, text) in files {
        zip.start_file(*name, SimpleFileOptions::default())
            .expect("an entry");
        zip.write_all(text.as_bytes()).expect("its text");
    }
    zip.finish().expect("a zip").into_inner()
}

fn send(app: &Client, bytes: Vec<u8>) -> e2e::Request {
    app.request(Method::POST, "roster/imports")
        .body("application/zip", bytes)
}

on_both_databases! {
    async fn a_package_comes_in_without_its_passwords(database: Database) {
        let (server, _club, app) = world(database).await;
        let answer = send(&app, package(50)).await.expect(200);
        assert_eq!((counts(&answer), &answer["mode"]), ([50, 0, 0, 0, 0], &json!("full")));
        let one = read(&app, "S-10").await;
        assert_eq!((&one["display_name"], &one["birth_date"]), (&json!("Given10 Family10"), &json!("2011-11-11")));
        assert_eq!(one["squads"].as_array().map(Vec::len), Some(2));
        assert_eq!(one["squads"][0]["to"], "2027-06-30");
        assert_eq!(counts(&send(&app, package(50)).await.expect(200)), [0, 0, 50, 0, 0]);
        send(&app, package(30)).await.expect_problem(422, "large_removal");
        assert_eq!(counts(&send(&app, package(45)).await.expect(200)), [0, 0, 45, 5, 0]);
        for (table, rows) in server.tables() {
            assert!(rows.iter().all(|row| !row.contains(PASSWORD)), "{table}");
        }
    }

    async fn a_package_that_is_broken_changes_nothing(database: Database) {
        let (server, _club, app) = world(database).await;
        let before = server.tables();
        let good = package(5);
        let broken = send(&app, good[..good.len() / 2].to_vec()).await.expect_problem(422, "invalid");
        assert_eq!(broken["errors"][0]["code"], "archive_unreadable");
        let other = send(&app, good.clone()).query("mode", "delta").await.expect_problem(400, "bad_query");
        assert_eq!(other["errors"][0]["pointer"], "?mode");
        assert_eq!(server.tables(), before);
        send(&app, good).query("mode", "full").await.expect(200);
    }

    async fn a_package_that_inflates_to_too_much_is_stopped_before_it_fills_the_memory(database: Database) {
        let (server, _club, app) = world(database).await;
        let before = server.tables();
        let mut files = files(1);
        let users = files.iter_mut().find(|(name, _)| *name == "users.csv").expect("it is there");
        users.1 = "0".repeat(100 << 20);
        let hostile = zipped(&files);
        assert!(hostile.len() < 200_000, "{}", hostile.len());
        let refused = send(&app, hostile).await.expect_problem(422, "invalid");
        assert_eq!(refused["errors"][0]["code"], "archive_too_large");
        assert_eq!(server.tables(), before);
        let memory = server.peak_memory();
        println!("100 MB out of 100 kB: {memory:.0} MB");
        assert!(memory < 256.0, "{memory} MB");
    }

    async fn ten_thousand_users_come_in_and_again_change_nothing(database: Database) {
        let (server, _club, app) = world(database).await;
        let sent = package(10_000);
        let begun = std::time::Instant::now();
        assert_eq!(counts(&send(&app, sent.clone()).await.expect(200)), [10_000, 0, 0, 0, 0]);
        let first = begun.elapsed();
        assert_eq!(counts(&send(&app, sent).await.expect(200)), [0, 0, 10_000, 0, 0]);
        let memory = server.peak_memory();
        println!("10,000 users, 20,000 enrolments: {first:?}, the same again {:?}, {memory:.0} MB", begun.elapsed() - first);
        assert!(memory < 256.0, "{memory} MB");
    }
}

//! Rosters as CSV, and rejected rows as a file.

use e2e::Method;

use crate::*;

fn send(app: &Client, mode: &str, text: impl Into<Vec<u8>>) -> e2e::Request {
    app.request(Method::POST, "roster/imports")
        .query("mode", mode)
        .body("text/csv", text)
}

const FILE: &str = "\u{feff}external_id;display_name;birth_date;squad_external_id;squad_name;primary;guardian_external_id\r\n\
    P-1;Runa Falk;2011-03-14;u16;U16 girls;true;G-1\r\n\
    P-1;Runa Falk;2011-03-14;u18;U18 girls;;G-2\r\n\
    P-2;Ida Lund;2012-05-06;u16;U16 girls;;\r\n\
    P-3;Maja Berg;2012-02-30;u16;;;\r\n\
    P-4;=Asta;;u99;;;\r\n";

on_both_databases! {
    async fn a_spreadsheet_comes_in_and_its_rejected_rows_go_out_to_be_mended(database: Database) {
        let (_server, _club, app) = world(database).await;
        let answer = send(&app, "delta", FILE).await.expect(200);
        assert_eq!(counts(&answer), [3, 0, 0, 0, 2], "two lines are about one athlete");
        let codes = [3, 4].map(|row: usize| {
            let problem = &answer["athletes"][row]["problems"][0];
            (problem["pointer"].clone(), problem["code"].clone())
        });
        assert_eq!(codes, [(json!("/birth_date"), json!("invalid_date")), (json!("/squad_external_id"), json!("unknown_squad"))]);
        assert_eq!(answer["athletes"][4]["problems"][0]["given"], "u99");
        assert_eq!(read(&app, "P-1").await["squads"].as_array().map(Vec::len), Some(2));

        let file = send(&app, "delta", FILE).header("Accept", "text/csv").await.expect(200);
        assert!(file.header("content-type").is_some_and(|kind| kind.starts_with("text/csv")));
        let text = file.text();
        assert_eq!(text.lines().count(), 3, "{text}");
        assert!(text.contains("invalid_date") && text.contains("unknown_squad") && text.contains("'=Asta"), "{text}");
        let mended = text.replace("2012-02-30", "2012-02-28").replace("u99", "u18");
        assert_eq!(counts(&send(&app, "delta", mended).await.expect(200)), [2, 0, 0, 0, 0]);
        assert_eq!(read(&app, "P-4").await["display_name"], "=Asta");
    }

    async fn a_header_that_cannot_be_used_is_refused(database: Database) {
        let (_server, _club, app) = world(database).await;
        let unknown = send(&app, "delta", "external_id,shirt\nP-1,4\n").await.expect_problem(422, "invalid");
        assert_eq!((&unknown["errors"][0]["code"], &unknown["errors"][0]["given"]), (&json!("unknown_column"), &json!("shirt")));
        for broken in ["external_id,external_id\n", "external_id,\n", "external_id,role\nP-1\n", "external_id,role\n\"P-1,x\n"] {
            send(&app, "delta", broken).await.expect_problem(400, "not_csv");
        }
        send(&app, "delta", b"external_id\n\xff\n".to_vec()).await.expect_problem(400, "not_csv");
        let many = "external_id\n".to_owned() + &"P-1\n".repeat(10_001);
        send(&app, "delta", many).await.expect_problem(413, "body_too_large");
        send(&app, "delta", FILE).header("Accept", "text/html").await.expect_problem(406, "not_acceptable");
    }
}

//! The list of attacks and bad input, by number: each case that applies names the tests that hold it, and those tests are there.
//!
//! A case is an attack on tokens (1 to 24), on objects, fields and functions (25 to 39), on outgoing calls (40 to 60), on
//! bodies, files and imports (61 to 84), on the HTTP layer (85 to 100), on what is private (101 to 103), on the trail and on what is
//! sent (105 to 107) or on the border between clubs (109, 110). A test that is commented out is none, and one that only
//! `tests/run --long` runs does not hold a case by itself.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// Cases that apply, with a file and the name of a test in it.
#[rustfmt::skip] // One test a line.
const TESTED: &[(u8, &str, &str)] = &[
    (1, "tests/tests/access/matrix.rs", "nothing_of_a_club_is_answered_without_a_token"),
    (2, "api/tests/auth/signatures.rs", "a02_no_algorithm_is_no_token"),
    (3, "api/tests/auth/signatures.rs", "a03_a_public_key_is_not_an_hmac_secret"),
    (3, "api/tests/auth/signatures.rs", "a03_a_key_is_used_with_its_own_algorithm_only"),
    (4, "api/tests/auth/signatures.rs", "a04_a_stranger_with_the_right_kid_is_refused"),
    (5, "api/tests/auth/signatures.rs", "a05_every_flipped_bit_and_every_truncation_is_refused"),
    (6, "api/tests/auth/claims.rs", "a06_an_expired_token_is_refused"),
    (7, "api/tests/auth/claims.rs", "a07_a_token_from_the_future_is_refused"),
    (10, "api/tests/auth/claims.rs", "a10_another_issuer_is_refused"),
    (11, "api/tests/auth/envelopes.rs", "a11_other_kinds_of_token_are_refused"),
    (12, "api/tests/auth/envelopes.rs", "a12_extensions_are_refused"),
    (13, "api/tests/auth/signatures.rs", "a13_keys_in_the_header_are_ignored"),
    (14, "api/tests/auth/envelopes.rs", "a14_unknown_and_hostile_key_names_are_refused"),
    (15, "tests/tests/revocations.rs", "a_revoked_subject_is_refused_until_it_is_lifted"),
    (15, "tests/tests/revocations.rs", "another_running_process_refuses_within_a_minute"),
    (18, "api/tests/auth/envelopes.rs", "a18_a_large_token_is_refused_unread"),
    (20, "api/tests/auth/envelopes.rs", "a20_a_key_that_occurs_twice_is_refused"),
    (21, "api/tests/auth/envelopes.rs", "a21_encrypted_and_nested_tokens_are_refused"),
    (22, "api/tests/auth/envelopes.rs", "a22_anything_but_three_base64url_parts_is_refused"),
    (22, "api/tests/auth/signatures.rs", "a22_a_signature_has_one_spelling"),
    (24, "tests/tests/access/reach.rs", "a24_a_token_with_the_subject_of_another_club_opens_nothing_there"),
    (24, "tests/tests/access/matrix.rs", "another_club_is_as_one_that_never_was"),
    (25, "tests/tests/access/matrix.rs", "another_club_is_as_one_that_never_was"),
    (26, "tests/tests/access/matrix.rs", "records_of_another_club_are_as_absent_in_ones_own"),
    (27, "tests/tests/bad_input/queries.rs", "parameters_that_are_unknown_or_there_twice_are_refused"),
    (28, "tests/tests/access/matrix.rs", "records_of_another_club_are_as_absent_in_ones_own"),
    (30, "tests/tests/conventions/borders.rs", "a_foreign_athlete_in_a_bulk_call_is_unknown"),
    (32, "tests/tests/access/matrix.rs", "each_role_may_do_what_the_document_says_and_nothing_else"),
    (33, "tests/tests/bad_input/bodies.rs", "fields_that_are_unknown_or_there_twice_are_named"),
    (34, "tests/tests/access/matrix.rs", "each_role_may_do_what_the_document_says_and_nothing_else"),
    (34, "tests/tests/clinical.rs", "only_a_licence_on_file_that_holds_lets_somebody_decide"),
    (34, "tests/tests/clinical.rs", "who_is_refused_is_in_the_audit_list_and_told_nothing"),
    (35, "tests/tests/access/readers.rs", "nobody_sees_the_readers_of_another_record"),
    (35, "tests/tests/access/reach.rs", "a_guardian_sees_the_children_by_our_ids_or_the_clubs"),
    (35, "tests/tests/consents.rs", "a35_a_guardian_decides_for_her_own_children_alone"),
    (36, "tests/tests/consents.rs", "a36_what_was_withdrawn_is_refused_and_left_out"),
    (37, "tests/tests/page_links.rs", "a_link_that_was_not_signed_here_opens_nothing"),
    (37, "tests/tests/page_links.rs", "a_link_opens_for_seven_days"),
    (37, "tests/tests/page_links.rs", "a_link_opens_one_list_and_nothing_else"),
    (37, "tests/tests/page_links.rs", "a_change_of_the_recipient_ends_the_links_at_once"),
    (38, "tests/tests/conventions/header_fields.rs", "headers_that_would_change_the_request_are_ignored"),
    (40, "tests/tests/notices/guard.rs", "an_inner_address_is_refused_and_never_called"),
    (41, "tests/tests/notices/guard.rs", "an_inner_address_is_refused_and_never_called"),
    (42, "tests/tests/notices/guard.rs", "an_inner_address_is_refused_and_never_called"),
    (43, "tests/tests/notices/guard.rs", "an_inner_address_is_refused_and_never_called"),
    (44, "tests/tests/notices/guard.rs", "an_inner_address_is_refused_and_never_called"),
    (47, "tests/tests/notices/guard.rs", "an_inner_address_is_refused_and_never_called"),
    (48, "api/src/delivery/guard.rs", "addresses_that_lead_inside_are_refused_before_anything_is_sent"),
    (50, "api/src/delivery/guard.rs", "addresses_that_lead_inside_are_refused_before_anything_is_sent"),
    (51, "api/src/delivery/client.rs", "a_name_with_one_inner_address_is_refused_whole"),
    (51, "tests/tests/notices/names.rs", "a_name_that_leads_inside_is_never_called"),
    (52, "api/src/delivery/client.rs", "a_name_with_one_inner_address_is_refused_whole"),
    (52, "tests/tests/notices/names.rs", "a_name_that_leads_inside_is_never_called"),
    (54, "api/src/delivery/client.rs", "a_name_with_one_inner_address_is_refused_whole"),
    (54, "tests/tests/notices/names.rs", "a_name_that_leads_inside_is_never_called"),
    (55, "tests/tests/notices/faults.rs", "a_redirect_is_not_followed"),
    (57, "tests/tests/notices/guard.rs", "an_inner_address_is_refused_and_never_called"),
    (58, "api/src/delivery/guard.rs", "addresses_that_lead_inside_are_refused_before_anything_is_sent"),
    (60, "tests/tests/notices/guard.rs", "a_proxy_of_the_environment_is_not_used"),
    (61, "tests/tests/bad_input/bodies.rs", "types_and_encodings_of_the_body_are_checked"),
    (62, "tests/tests/bad_input/bodies.rs", "types_and_encodings_of_the_body_are_checked"),
    (63, "tests/tests/bad_input/bodies.rs", "types_and_encodings_of_the_body_are_checked"),
    (64, "tests/tests/bad_input/bodies.rs", "what_is_not_json_is_refused"),
    (65, "tests/tests/bad_input/texts.rs", "numbers_off_the_scale_are_refused"),
    (67, "tests/tests/bad_input/bodies.rs", "wrong_types_are_refused_in_every_field"),
    (69, "tests/tests/bad_input/bodies.rs", "types_and_encodings_of_the_body_are_checked"),
    (71, "tests/tests/bad_input/bodies.rs", "a_body_has_a_largest_size"),
    (71, "tests/tests/bad_input/connections.rs", "a_length_that_lies_harms_nobody"),
    (72, "tests/tests/bad_input/bulk.rs", "a_call_that_is_read_whole_has_a_largest_number_of_rows"),
    (72, "tests/tests/bad_input/bulk.rs", "broken_rows_say_why_and_the_others_land"),
    (73, "tests/tests/bad_input/texts.rs", "times_that_do_not_exist_are_refused"),
    (73, "tests/tests/bad_input/texts.rs", "dates_that_do_not_exist_are_refused"),
    (74, "tests/tests/bad_input/texts.rs", "numbers_off_the_scale_are_refused"),
    (74, "api/src/services/athletes/input.rs", "the_limits_of_age_are_taken"),
    (75, "tests/tests/bad_input/texts.rs", "texts_come_back_as_they_went_in"),
    (76, "tests/tests/mail/recipients.rs", "a_recipient_is_one_address"),
    (76, "api/src/services/mail_settings.rs", "an_address_is_one_address_and_nothing_more"),
    (76, "api/src/delivery/message.rs", "a_name_cannot_add_a_header"),
    (78, "tests/tests/bad_input/bulk.rs", "files_that_are_not_csv_are_refused_with_the_line"),
    (78, "tests/tests/roster/tables.rs", "a_header_that_cannot_be_used_is_refused"),
    (79, "api/src/services/roster/oneroster/tests.rs", "each_broken_package_has_its_code_file_line_and_column"),
    (79, "api/src/services/roster/oneroster/tests.rs", "what_inflates_to_too_much_is_stopped"),
    (79, "api/src/services/roster/oneroster/tests.rs", "two_entries_of_one_name_and_encrypted_ones_are_refused"),
    (80, "api/src/services/roster/oneroster/tests.rs", "each_broken_package_has_its_code_file_line_and_column"),
    (80, "tests/tests/roster/packages.rs", "a_package_that_is_broken_changes_nothing"),
    (84, "tests/tests/bad_input/queries.rs", "values_that_cannot_be_read_are_named"),
    (84, "tests/tests/bad_input/queries.rs", "a_cursor_that_was_changed_is_refused"),
    (85, "tests/tests/bad_input/connections.rs", "ambiguous_heads_are_refused_with_one_answer"),
    (86, "tests/tests/conventions/methods.rs", "every_path_answers_other_methods_with_405"),
    (87, "tests/tests/bad_input/connections.rs", "heads_that_are_too_long_are_refused"),
    (89, "tests/tests/stopping.rs", "a_head_that_does_not_come_is_closed"),
    (89, "tests/tests/stopping.rs", "a_body_that_stalls_is_answered_408"),
    (89, "tests/tests/stopping.rs", "a_body_that_trickles_is_answered_408"),
    (89, "tests/tests/stopping.rs", "a_body_has_thirty_seconds_in_all"),
    (89, "tests/tests/stopping.rs", "an_answer_that_is_not_read_is_given_up"),
    (89, "tests/tests/stopping.rs", "a89_slow_callers_hold_up_nobody"),
    (89, "tests/tests/stopping.rs", "a_stalled_body_does_not_hold_up_the_stop"),
    (90, "tests/tests/bad_input/connections.rs", "a_thousand_requests_in_one_go_are_answered_one_by_one"),
    (91, "tests/tests/conventions/header_fields.rs", "a91_fields_that_are_garbage_change_nothing"),
    (92, "tests/tests/conventions/preconditions.rs", "changing_needs_the_current_etag"),
    (93, "tests/tests/rate_limit.rs", "a_93_a_quota_is_the_callers_own"),
    (93, "api/tests/store_contract/letters.rs", "what_has_left_and_what_is_leaving_counts_for_the_quota"),
    (95, "tests/tests/faults.rs", "a95_a_failure_inside_is_told_without_details"),
    (96, "tests/tests/faults.rs", "a96_a_panic_ends_its_own_request_only"),
    (96, "tests/tests/faults.rs", "a96_the_connection_goes_on_after_a_panic"),
    (98, "tests/tests/conventions/methods.rs", "a_path_that_is_not_there_is_a_problem"),
    (99, "tests/tests/telemetry.rs", "neither_log_nor_metrics_hold_what_was_planted"),
    (99, "tests/tests/telemetry.rs", "metrics_stay_few_whatever_is_asked"),
    (100, "api/src/auth/local_key/tests.rs", "the_file_is_its_owners_alone"),
    (100, "api/src/auth/settings/tests.rs", "only_public_key_algorithms_can_be_set"),
    (100, "tests/tests/sealed/master_key.rs", "without_its_master_key_the_service_does_not_start"),
    (101, "tests/tests/canaries/main.rs", "nothing_planted_comes_out"),
    (101, "tests/tests/sealed/wall.rs", "no_octet_of_the_database_tells_what_is_private"),
    (101, "tests/tests/sealed/moved.rs", "a_value_that_was_moved_or_changed_opens_nothing"),
    (101, "tests/tests/sealed/rotation.rs", "a_rotation_is_noticed_by_nobody"),
    (101, "api/tests/store_contract/seals.rs", "without_its_keys_nothing_of_a_club_opens"),
    (102, "tests/tests/subject_rights/copy.rs", "a102_it_holds_every_planted_value_and_nobody_elses"),
    (102, "tests/tests/subject_rights/copy.rs", "json_and_csv_say_the_same_and_the_schema_knows_both"),
    (102, "api/tests/store_contract/subject_records.rs", "every_table_and_column_is_named"),
    (103, "tests/tests/subject_rights/erasure.rs", "a103_nothing_is_left_of_her"),
    (103, "tests/tests/subject_rights/restored.rs", "who_was_erased_is_erased_again"),
    (105, "tests/tests/audit_chain.rs", "every_change_to_the_list_is_found"),
    (105, "tests/tests/audit_chain.rs", "a_row_slipped_in_is_found"),
    (105, "tests/tests/audit_chain.rs", "signed_ends_show_what_was_cut_off"),
    (105, "tests/tests/audit_chain.rs", "the_public_half_of_the_key_is_enough_to_check"),
    (105, "api/tests/store_contract/audit.rs", "what_was_written_stays"),
    (105, "api/tests/store_contract/tampers.rs", "every_one_of_a_thousand_tampers_is_found"),
    (105, "api/tests/store_contract/tampers.rs", "what_was_signed_cannot_be_written_anew_with_the_key"),
    (105, "tests/tests/access/refused_reads.rs", "what_is_absent_and_what_is_out_of_reach_are_entered_alike"),
    (105, "tests/tests/access/refused_reads.rs", "a_flood_of_refusals_ends_with_the_quota_of_the_token"),
    (106, "tests/tests/notices/weeks.rs", "a_closed_and_corrected_week_is_told_without_names_or_figures"),
    (106, "tests/tests/mail/letters.rs", "a_closed_week_is_told_once_in_counts_with_a_link"),
    (107, "tests/tests/notices/signatures.rs", "a_message_passes_the_published_verifier_and_an_altered_one_does_not"),
    (107, "tests/tests/notices/signatures.rs", "an_old_message_is_refused"),
    (107, "tests/tests/notices/signatures.rs", "for_a_day_after_a_rotation_both_secrets_sign"),
    (110, "tests/tests/sharing.rs", "a110_each_club_sees_only_its_own_records"),
    (110, "tests/tests/scenarios/s19_two_clubs.rs", "s19_nothing_but_totals_crosses_the_border"),
];

/// Cases that do not apply, or not yet, and why.
#[rustfmt::skip] // One case a line.
const NOT_TESTED: &[(u8, &str)] = &[
    (16, "the service issues no log-in; a revocation is case 15"),
    (17, "the service issues no refresh tokens"),
    (23, "the service has no log-in"),
    (39, "no job can be started over HTTP yet"),
    (82, "no file names are taken or given yet"),
    (109, "there are no clubs for trials beside live ones, so no key is of either kind; a token of one club opens nothing in another (24)"),
];

/// Numbers that have no case.
const UNUSED: &[u8] = &[
    8, 9, 19, 29, 31, 45, 46, 49, 53, 56, 59, 66, 68, 70, 77, 81, 83, 88, 94, 97, 104, 108,
];

fn source(file: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join(file)
}

/// A test as its source has it.
#[derive(Debug, PartialEq, Eq)]
enum Found {
    /// It runs with all others.
    Runs,
    /// It runs with `tests/run --long` alone, and says why.
    RunsLong,
    /// It says not to run it, and not why.
    Ignored,
}

/// A test in a source file, comments left out; `None` where no function of that name is a test there.
fn find(text: &str, test: &str) -> Option<Found> {
    let lines = code(text);
    let head = format!("fn {test}(");
    let at = lines.iter().position(|line| {
        let declared = line.trim_start().trim_start_matches("async ");
        declared.starts_with(&head)
    })?;
    let attributes = lines[..at].iter().rev();
    let attributes = attributes.map(|line| line.trim());
    let attributes: Vec<&str> = attributes
        .take_while(|line| line.starts_with("#["))
        .collect();
    let opened = lines[..at].iter().rev();
    let in_macro = opened
        .into_iter()
        .find(|line| line.starts_with(|first: char| !first.is_whitespace()))
        .is_some_and(|line| line.ends_with("! {"));
    // The store suite names its tests in a list.
    let listed = lines
        .iter()
        .any(|line| line.trim().trim_end_matches(',') == test);
    let is_test = in_macro || listed || attributes.iter().any(|line| line.ends_with("test]"));
    let ignored = attributes.iter().find(|line| line.starts_with("#[ignore"));
    let found = match ignored {
        None => Found::Runs,
        Some(line) if line.starts_with("#[ignore = \"") => Found::RunsLong,
        Some(_) => Found::Ignored,
    };
    is_test.then_some(found)
}

/// The lines of a source file without those that are comments.
fn code(text: &str) -> Vec<&str> {
    let mut in_comment = false;
    let mut is_code = move |line: &str| {
        let line = line.trim_start();
        in_comment |= line.starts_with("/*");
        let is_code = !in_comment && !line.starts_with("//") && !line.is_empty();
        in_comment &= !line.contains("*/");
        is_code
    };
    text.lines().filter(|line| is_code(line)).collect()
}

#[test]
fn every_case_has_a_test_that_runs() {
    let mut runs = BTreeSet::new();
    for (case, file, test) in TESTED {
        let path = source(file);
        let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{file}: {error}"));
        match find(&text, test) {
            None => panic!("case {case}: {test} is not in {file}"),
            Some(Found::Ignored) => panic!("case {case}: {test} is ignored and says not why"),
            Some(Found::RunsLong) => {}
            Some(Found::Runs) => {
                runs.insert(*case);
            }
        }
    }
    for (case, ..) in TESTED {
        assert!(
            runs.contains(case),
            "no test of case {case} runs with all others"
        );
    }
}

#[test]
fn every_case_is_tested_or_has_a_reason() {
    let tested: BTreeSet<u8> = TESTED.iter().map(|(case, ..)| *case).collect();
    let not_tested: BTreeSet<u8> = NOT_TESTED.iter().map(|(case, _)| *case).collect();
    for case in 1..=110 {
        let places = [
            tested.contains(&case),
            not_tested.contains(&case),
            UNUSED.contains(&case),
        ];
        let named = places.iter().filter(|is_in| **is_in).count();
        assert_eq!(named, 1, "case {case} is in {named} of the lists");
    }
}

#[test]
fn what_is_commented_out_ignored_or_no_test_is_told_apart() {
    let text = r#"
#[test]
fn plain() {}
/// Says what.
#[tokio::test]
#[ignore = "takes a minute"]
async fn slow() {}
#[test]
#[ignore]
fn forgotten() {}
// #[test]
// fn in_a_line() {}
/*
#[test]
fn in_a_block() {}
*/
fn helper() {}
on_both_databases!(
    listed,
);
async fn listed(on: Fixture) {}
on_both_databases! {
    /// Says what.
    async fn on_both(database: Database) {
        let accept = "*/*";
    }

    #[ignore = "takes a minute"]
    async fn on_both_slow(database: Database) {}
}
"#;
    let found = |test| find(text, test);
    assert_eq!(found("plain"), Some(Found::Runs));
    assert_eq!(found("slow"), Some(Found::RunsLong));
    assert_eq!(found("forgotten"), Some(Found::Ignored));
    assert_eq!(found("on_both"), Some(Found::Runs));
    assert_eq!(found("listed"), Some(Found::Runs));
    assert_eq!(found("on_both_slow"), Some(Found::RunsLong));
    for test in ["in_a_line", "in_a_block", "helper", "lain", "absent"] {
        assert_eq!(found(test), None, "{test}");
    }
}

//! Nothing is overwritten: what every versioned table does, and what was known when.

use jiff::Timestamp;
use plimsoll_api::ids::{AthleteId, SquadId};
use plimsoll_api::store::absences::Absence;
use plimsoll_api::store::questions::QuestionFilter;
use plimsoll_api::store::rest_days::RestDay;
use plimsoll_api::store::{
    AbsenceCategory, Author, Change, Conn, CopyDecision, Known, MembershipRole, NameKey,
    StoreError, Who, absences, athletes, consents, directory, event_warm_ups, exercises,
    guardian_links, injuries, licences, memberships, pain_reports, programme_assignments,
    programmes, questions, rest_days, restrictions, second_copies, session_contacts, sessions,
    sign_offs, test_results,
};
use plimsoll_domain::{GivenBy, Side};

use crate::clinical;
use crate::support::{AUTHOR, Fixture, later, now, on_both_databases, september, trials};

on_both_databases!(
    athletes_are_versioned,
    memberships_are_versioned,
    sessions_are_versioned,
    session_contacts_are_versioned,
    rest_days_are_versioned,
    absences_are_versioned,
    test_results_are_versioned,
    injuries_are_versioned,
    pain_reports_are_versioned,
    event_warm_ups_are_versioned,
    exercises_are_versioned,
    sign_offs_are_versioned,
    withdrawn_sign_offs_are_read_as_they_were_known,
    questions_are_versioned,
    questions_are_listed_by_whom_whether_open_and_whether_something_hurts,
    programmes_are_versioned,
    programme_assignments_are_versioned,
    assignments_are_found_by_athlete_squad_and_dates,
    guardian_links_are_versioned,
    second_copies_are_versioned,
    directory_entries_are_versioned,
    licences_are_versioned,
    restrictions_are_versioned,
    consents_are_versioned,
    an_earlier_state_of_knowledge_is_read_back,
    a_change_within_the_same_instant_leaves_no_trace_of_two_truths,
);

/// Runs one content through its whole life.
macro_rules! life_of {
    ($on:ident, $module:ident, $key:ident, $first:expr, |$content:ident| $changed:expr) => {{
        let first = $first;
        let key = first.$key;
        let changed = {
            let mut $content = first.clone();
            $changed;
            $content
        };
        let row = first.clone();
        $on.write(later(1), move |conn, tenant, moment| {
            $module::insert(conn, tenant, moment, AUTHOR, &[row])
        })
        .await
        .unwrap();

        let change = |content, replaces, deleted, at: Timestamp| {
            let change = Change {
                replaces,
                content,
                deleted,
            };
            $on.write(at, move |conn, tenant, moment| {
                let staff = Author {
                    subject: "staff",
                    acting_role: "club_admin",
                };
                $module::supersede(conn, tenant, moment, staff, &[change])
            })
        };
        change(changed.clone(), 1, false, later(2)).await.unwrap();
        let stale = change(first.clone(), 1, false, later(3)).await;
        assert!(matches!(stale, Err(StoreError::Conflict)), "{stale:?}");
        change(changed.clone(), 2, true, later(4)).await.unwrap();

        let mut unknown = first.clone();
        unknown.$key = $on.id();
        let missing = change(unknown, 1, false, later(5)).await;
        assert!(matches!(missing, Err(StoreError::NotFound)), "{missing:?}");

        let history = $on
            .read(move |conn, tenant| $module::history(conn, tenant, key))
            .await;
        let contents: Vec<_> = history.iter().map(|row| row.content.clone()).collect();
        assert_eq!(contents, [first.clone(), changed.clone(), changed]);
        let versions: Vec<_> = history
            .iter()
            .map(|row| {
                let version = &row.version;
                (
                    version.number,
                    version.received_at,
                    version.superseded_at,
                    version.deleted,
                )
            })
            .collect();
        assert_eq!(
            versions,
            [
                (1, later(1), Some(later(2)), false),
                (2, later(2), Some(later(4)), false),
                (3, later(4), None, true)
            ]
        );
        let authors: Vec<_> = history
            .iter()
            .map(|row| row.version.author.as_str())
            .collect();
        assert_eq!(authors, ["suite", "staff", "staff"]);
        assert!(history.is_sorted_by_key(|row| row.version.seq));

        let nobody = $on.id();
        let current = $on
            .read(move |conn, tenant| $module::current(conn, tenant, key))
            .await;
        assert_eq!(current.as_ref(), history.last());
        let several = $on
            .read(move |conn, tenant| $module::current_many(conn, tenant, &[nobody, key, key]))
            .await;
        assert_eq!(several, history[2..]);
        assert_eq!(
            $on.read(move |conn, tenant| $module::current(conn, tenant, nobody))
                .await,
            None
        );
    }};
}

async fn athletes_are_versioned(on: Fixture) {
    life_of!(on, athletes, athlete_id, on.athlete("Mara"), |athlete| {
        athlete.display_name = "Mara Olsen".to_owned();
        athlete.name_key = NameKey::of("Mara Olsen");
        athlete.external_id = None;
    });
}

async fn memberships_are_versioned(on: Fixture) {
    let (mara, girls) = (
        on.add_athlete("Mara").await,
        on.add_squad("U17 girls").await,
    );
    life_of!(
        on,
        memberships,
        membership_id,
        on.membership(mara, girls),
        |membership| {
            membership.to_date = Some(september(30));
            membership.role = MembershipRole::Guest;
        }
    );
}

async fn sessions_are_versioned(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    life_of!(
        on,
        sessions,
        session_id,
        on.session(mara, september(7)),
        |session| {
            session.rpe_half = 19;
            session.reason = Some("typed 9 for 6".to_owned().into());
        }
    );
}

async fn rest_days_are_versioned(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let day = RestDay {
        rest_day_id: on.id(),
        athlete_id: mara,
        date: september(6),
        given_by: GivenBy::Athlete,
    };
    life_of!(on, rest_days, rest_day_id, day, |day| day.date =
        september(5));
}

async fn absences_are_versioned(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let absence = Absence {
        absence_id: on.id(),
        athlete_id: mara,
        from_date: september(6),
        to_date: september(9),
        category: AbsenceCategory::Holiday,
        given_by: GivenBy::Guardian,
    };
    life_of!(on, absences, absence_id, absence, |absence| absence
        .to_date =
        september(20));
}

async fn test_results_are_versioned(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let result = on.test_result(mara, september(6));
    life_of!(on, test_results, test_result_id, result, |result| {
        result.side = Side::Right;
        result.trials = trials(&[1_400, 1_420, 1_441]);
    });
}

async fn injuries_are_versioned(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let injury = on.injury(mara, september(1));
    life_of!(on, injuries, injury_id, injury, |injury| {
        injury.surgery_on = Some(september(4));
    });
}

async fn session_contacts_are_versioned(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let counted = on.session_contacts(&on.session(mara, september(1)));
    life_of!(on, session_contacts, session_id, counted, |counts| {
        (counts.hands, counts.throws) = (Some(24), Some(0));
    });
}

async fn pain_reports_are_versioned(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let report = on.pain_report(mara, september(1));
    life_of!(on, pain_reports, pain_report_id, report, |report| {
        (report.area, report.side) = (None, None);
    });
}

async fn event_warm_ups_are_versioned(on: Fixture) {
    let warm_up = on.warm_up(on.id());
    let event = warm_up.event_id;
    life_of!(on, event_warm_ups, event_id, warm_up, |warm_up| {
        (warm_up.minutes, warm_up.categories) = (0, serde_json::json!([]));
    });
    let of = move |conn: &mut Conn, tenant| {
        let mut known = |state| event_warm_ups::of_events(conn, tenant, &[event], state);
        let then = known(Known::AsOf(later(1)))?;
        Ok((known(Known::Now)?.len(), then.len(), then[0].minutes))
    };
    assert_eq!(on.read(of).await, (0, 1, 15), "taken back, and as it was");
}

async fn exercises_are_versioned(on: Fixture) {
    let exercise = on.exercise();
    life_of!(on, exercises, exercise_id, exercise, |exercise| {
        (exercise.film_url, exercise.content) = (None, None);
    });
    let known = on
        .read(|conn, tenant| exercises::known(conn, tenant, Known::Now))
        .await;
    assert_eq!(known.len(), 1);
    assert!(known[0].version.deleted, "sign-offs still name it");
}

async fn programmes_are_versioned(on: Fixture) {
    let programme = on.programme();
    let id = programme.programme_id;
    life_of!(on, programmes, programme_id, programme, |programme| {
        programme.weeks = 12;
    });
    let of = move |conn: &mut Conn, tenant| {
        let mut known = |state| programmes::known(conn, tenant, id, state);
        assert_eq!(known(Known::Now)?, None, "it was removed");
        let then = known(Known::AsOf(later(1)))?;
        assert_eq!(then.map(|one| one.content.weeks), Some(26), "as it was");
        let asked = [(id, 1), (id, 2), (id, 9)];
        let read = programmes::in_versions(conn, tenant, &asked)?;
        let (listed, counted) = (
            programmes::page(conn, tenant, None, 9)?,
            programmes::count(conn, tenant)?,
        );
        let weeks: Vec<i32> = read.iter().map(|one| one.content.weeks).collect();
        Ok((weeks, listed.len(), counted))
    };
    // What was removed is not listed, and stays in its versions.
    assert_eq!(on.read(of).await, (vec![26, 12], 0, 0));
}

async fn programme_assignments_are_versioned(on: Fixture) {
    let (mara, programme) = (on.add_athlete("Mara").await, on.programme());
    let assignment = on.assignment(programme.programme_id, mara, september(7));
    on.write(now(), move |conn, tenant, moment| {
        programmes::insert(conn, tenant, moment, AUTHOR, &[programme])
    })
    .await
    .unwrap();
    life_of!(
        on,
        programme_assignments,
        assignment_id,
        assignment,
        |assignment| {
            assignment.until_date = september(20);
        }
    );
}

async fn assignments_are_found_by_athlete_squad_and_dates(on: Fixture) {
    let (mara, ida) = (on.add_athlete("Mara").await, on.add_athlete("Ida").await);
    let (squad, programme) = (on.add_squad("U16").await, on.programme());
    let id = programme.programme_id;
    let own = on.assignment(id, mara, september(7));
    let mut of_squad = on.assignment(id, mara, september(14));
    (of_squad.squad_id, of_squad.athlete_id) = (Some(squad), None);
    let hers = on.assignment(id, ida, september(7));
    let ids = [own.assignment_id, of_squad.assignment_id];
    on.write(now(), move |conn, tenant, moment| {
        programmes::insert(conn, tenant, moment, AUTHOR, &[programme])?;
        let all = [own, of_squad, hers];
        programme_assignments::insert(conn, tenant, moment, AUTHOR, &all)
    })
    .await
    .unwrap();
    let found = on.read(move |conn, tenant| {
        let mut of = |squads: &[SquadId], dates| {
            let whose = (mara, squads);
            let found = programme_assignments::of_athlete(conn, tenant, whose, dates, Known::Now)?;
            Ok::<Vec<_>, StoreError>(
                found
                    .into_iter()
                    .map(|one| one.content.assignment_id)
                    .collect(),
            )
        };
        let month = (september(1), september(30));
        Ok((
            of(&[squad], month)?,
            of(&[], month)?,
            of(&[squad], (september(8), september(13)))?,
        ))
    });
    assert_eq!(found.await, (ids.to_vec(), vec![ids[0]], Vec::new()));
    let ending = on.read(move |conn, tenant| {
        let found = programme_assignments::of_programme(conn, tenant, id, september(8))?;
        Ok(found.len())
    });
    assert_eq!(ending.await, 1);
    let own = on.read(move |conn, tenant| {
        let mut of = |dates| {
            let known = Known::Now;
            let found = programme_assignments::own_of_programme(conn, tenant, id, dates, known)?;
            Ok::<_, StoreError>(found.len())
        };
        let month = (september(1), september(30));
        Ok((of(month)?, of((september(8), september(30)))?))
    });
    assert_eq!(own.await, (2, 0), "the squad's is not among them");
}

async fn sign_offs_are_versioned(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let sign_off = on.sign_off(mara, september(1));
    life_of!(on, sign_offs, sign_off_id, sign_off, |sign_off| {
        sign_off.reason = Some("The knee falls inwards again.".to_owned().into());
    });
}

async fn questions_are_versioned(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let question = on.question(mara);
    life_of!(on, questions, question_id, question, |question| {
        question.is_open = false;
        question.reply = Some("Both legs, then rest.".to_owned().into());
    });
}

async fn questions_are_listed_by_whom_whether_open_and_whether_something_hurts(on: Fixture) {
    let (mara, ida) = (on.add_athlete("Mara").await, on.add_athlete("Ida").await);
    let [open, mut closed, other] = [mara, mara, ida].map(|athlete| on.question(athlete));
    (closed.is_open, closed.hurts) = (false, false);
    let [first, second, third] = [&open, &closed, &other].map(|one| one.question_id);
    on.write(later(1), move |conn, tenant, moment| {
        questions::insert(conn, tenant, moment, AUTHOR, &[open, closed, other])
    })
    .await
    .unwrap();
    let listed = async |who: Option<AthleteId>, filter: QuestionFilter, after| {
        let found = on.read(move |conn, tenant| {
            let athletes = who.as_slice();
            let who = match athletes.is_empty() {
                true => Who::WholeClub,
                false => Who::Athletes(athletes),
            };
            questions::page(conn, tenant, who, filter, after, 9)
        });
        let found = found.await.into_iter();
        found.map(|row| row.content.question_id).collect::<Vec<_>>()
    };
    let all = QuestionFilter::default();
    let (open, hurts) = (
        QuestionFilter {
            open: Some(true),
            ..all
        },
        QuestionFilter {
            pain_alone: true,
            ..all
        },
    );
    assert_eq!(listed(None, all, None).await, [first, second, third]);
    assert_eq!(listed(None, all, Some(first)).await, [second, third]);
    assert_eq!(listed(Some(mara), all, None).await, [first, second]);
    assert_eq!(listed(None, open, None).await, [first, third]);
    assert_eq!(listed(Some(mara), hurts, None).await, [first]);
    let count = on.read(move |conn, tenant| questions::count_open(conn, tenant, mara));
    assert_eq!(count.await, 1);
}

async fn withdrawn_sign_offs_are_read_as_they_were_known(on: Fixture) {
    let (mara, ida) = (on.add_athlete("Mara").await, on.add_athlete("Ida").await);
    let rows = [
        on.sign_off(mara, september(2)),
        on.sign_off(mara, september(1)),
        on.sign_off(ida, september(3)),
    ];
    let (stored, gone) = (rows.clone(), rows[1].clone());
    on.write(later(1), move |conn, tenant, moment| {
        sign_offs::insert(conn, tenant, moment, AUTHOR, &stored)
    })
    .await
    .unwrap();
    on.write(later(2), move |conn, tenant, moment| {
        let withdrawn = Change {
            replaces: 1,
            content: gone,
            deleted: true,
        };
        sign_offs::supersede(conn, tenant, moment, AUTHOR, &[withdrawn])
    })
    .await
    .unwrap();
    let known = async |state| {
        let found = on.read(move |conn, tenant| {
            sign_offs::known(conn, tenant, Who::Athletes(&[mara]), state)
        });
        let found = found.await.into_iter();
        let told = found.map(|row| (row.content.signed_on, row.version.deleted));
        told.collect::<Vec<_>>()
    };
    assert_eq!(
        known(Known::Now).await,
        [(september(1), true), (september(2), false)]
    );
    assert_eq!(
        known(Known::AsOf(later(1))).await,
        [(september(1), false), (september(2), false)]
    );
    assert_eq!(known(Known::AsOf(now())).await, []);
}

async fn second_copies_are_versioned(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let copy = on.second_copy(mara);
    life_of!(on, second_copies, second_copy_id, copy, |copy| copy
        .decision =
        CopyDecision::TwoPeople);
}

async fn guardian_links_are_versioned(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let link = on.guardian_link(mara, september(1));
    life_of!(on, guardian_links, guardian_link_id, link, |link| link
        .to_date =
        Some(september(20)));
}

async fn directory_entries_are_versioned(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let entry = on.directory_entry(Some(mara));
    life_of!(on, directory, entry_id, entry, |entry| entry.active = false);
}

async fn licences_are_versioned(on: Fixture) {
    let licence = clinical::licence(&on, september(9));
    life_of!(on, licences, licence_id, licence, |licence| licence
        .valid_until =
        september(20));
}

async fn restrictions_are_versioned(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let restriction = clinical::restriction(&on, mara, september(6));
    life_of!(
        on,
        restrictions,
        restriction_id,
        restriction,
        |restriction| restriction.until_date = Some(september(20))
    );
}

async fn consents_are_versioned(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let consent = crate::consents::consent(&on, mara);
    life_of!(on, consents, consent_id, consent, |consent| {
        consent.withdrawn_at = Some(now());
    });
}

async fn an_earlier_state_of_knowledge_is_read_back(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let session = on.session(mara, september(7));
    on.add_session(session.clone(), later(10)).await;
    let mut moved = session.clone();
    moved.load_date = september(8);
    for (at, replaces, content, deleted) in [
        (20, 1, moved.clone(), false),
        (30, 2, moved.clone(), true),
        (40, 3, session, false),
    ] {
        let change = Change {
            replaces,
            content,
            deleted,
        };
        on.write(later(at), move |conn, tenant, moment| {
            sessions::supersede(conn, tenant, moment, AUTHOR, &[change])
        })
        .await
        .unwrap();
    }
    let mut seen = Vec::new();
    for known in [9, 10, 19, 20, 29, 30, 39, 40]
        .map(|at| Known::AsOf(later(at)))
        .into_iter()
        .chain([Known::Now])
    {
        let found = on
            .read(move |conn, tenant| {
                let (from, to) = (september(1), september(30));
                sessions::in_dates(conn, tenant, Who::Athletes(&[mara]), from, to, known)
            })
            .await;
        assert!(found.len() <= 1);
        seen.push(found.first().map(|row| row.content.load_date.day()));
    }
    let (none, seventh, eighth) = (None, Some(7), Some(8));
    assert_eq!(
        seen,
        [
            none, seventh, seventh, eighth, eighth, none, none, seventh, seventh
        ]
    );
}

async fn a_change_within_the_same_instant_leaves_no_trace_of_two_truths(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let session = on.session(mara, september(7));
    on.add_session(session.clone(), now()).await;
    let mut corrected = session;
    corrected.minutes = 60;
    let change = Change {
        replaces: 1,
        content: corrected,
        deleted: false,
    };
    // The clock stands still: both writes have the same instant.
    on.write(now(), move |conn, tenant, moment| {
        sessions::supersede(conn, tenant, moment, AUTHOR, &[change])
    })
    .await
    .unwrap();
    let found = on
        .read(move |conn, tenant| {
            let (who, day) = (Who::Athletes(&[mara]), september(7));
            sessions::in_dates(conn, tenant, who, day, day, Known::AsOf(now()))
        })
        .await;
    let minutes: Vec<_> = found.iter().map(|row| row.content.minutes).collect();
    assert_eq!(minutes, [60]);
}

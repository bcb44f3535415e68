//! Flags: identity, judgements, lists and acknowledgements.

use jiff::civil::{Date, date};
use plimsoll_api::ids::{AthleteId, FlagId};
use plimsoll_api::store::flags::{
    self, FlagFilter, Judged, NewAcknowledgement, NewFlag, NewFlagVersion,
};
use plimsoll_api::store::{Certainty, FlagState, Known, StoreError, Who};
use serde_json::json;

use crate::support::{AUTHOR, Fixture, later, now, on_both_databases, september};

on_both_databases!(
    a_flag_is_one_for_athlete_rule_and_week,
    each_judgement_is_a_version,
    a_list_shows_the_newest_week_first,
    a_list_keeps_to_its_filter,
    an_acknowledgement_reads_back_as_it_was_stored,
    what_names_nothing_is_refused,
);

const MONDAY: Date = date(2026, 11, 2);

impl Fixture {
    fn flag(&self, athlete_id: AthleteId, rule: &str, monday: Date) -> NewFlag {
        NewFlag {
            flag_id: self.id(),
            athlete_id,
            rule: rule.to_owned(),
            monday,
        }
    }

    async fn find_or_create(&self, wanted: Vec<NewFlag>) -> Result<Vec<flags::Flag>, StoreError> {
        self.write(now(), move |conn, tenant, moment| {
            flags::find_or_create(conn, tenant, moment, &wanted)
        })
        .await
    }

    async fn judge(&self, at: i64, judgements: Vec<NewFlagVersion>) -> Result<(), StoreError> {
        self.write(later(at), move |conn, tenant, moment| {
            flags::append(conn, tenant, moment, &judgements)
        })
        .await
    }

    /// A raised flag of the athlete.
    async fn raise(&self, athlete_id: AthleteId, rule: &str, monday: Date) -> FlagId {
        let found = self
            .find_or_create(vec![self.flag(athlete_id, rule, monday)])
            .await
            .unwrap();
        self.judge(0, vec![judgement(found[0].flag_id, FlagState::Raised)])
            .await
            .unwrap();
        found[0].flag_id
    }
}

fn judgement(flag_id: FlagId, state: FlagState) -> NewFlagVersion {
    NewFlagVersion {
        flag_id,
        state,
        certainty: Certainty::Certain,
        policy_version: 3,
        cause: "week_closed".to_owned(),
        body: json!({ "over_by_au": 300.5, "made_up_of": [{ "setting": "pe", "au": 1 }] }),
    }
}

/// An acknowledgement with a note, of a flag of the athlete.
pub(crate) async fn acknowledged(on: &Fixture, athlete: AthleteId) {
    let flag_id = on.raise(athlete, "week_end_ratio", MONDAY).await;
    let new = NewAcknowledgement {
        acknowledgement_id: on.id(),
        flag_id,
        flag_version: 1,
        squad_id: None,
        action: "other".to_owned(),
        note: Some("moved Friday's practice".to_owned().into()),
    };
    on.write(later(5), move |conn, tenant, moment| {
        flags::acknowledge(conn, tenant, moment, AUTHOR, new)
    })
    .await
    .unwrap();
}

fn ids(found: &[Judged]) -> Vec<FlagId> {
    found.iter().map(|judged| judged.flag.flag_id).collect()
}

async fn a_flag_is_one_for_athlete_rule_and_week(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let wanted = vec![
        on.flag(mara, "week_monotony", MONDAY),
        on.flag(mara, "week_end_ratio", MONDAY),
        on.flag(mara, "week_end_ratio", MONDAY),
    ];
    let made = on.find_or_create(wanted.clone()).await.unwrap();
    assert_eq!(made[0].flag_id, wanted[0].flag_id);
    assert_eq!(made[1], made[2]);
    assert_eq!(
        (made[0].rule.as_str(), made[0].monday, made[0].created_at),
        ("week_monotony", MONDAY, now())
    );

    let again = vec![
        on.flag(mara, "week_end_ratio", MONDAY),
        on.flag(mara, "week_end_ratio", date(2026, 11, 9)),
    ];
    let found = on.find_or_create(again.clone()).await.unwrap();
    assert_eq!(found[0], made[1]);
    assert_eq!(found[1].flag_id, again[1].flag_id);
}

async fn each_judgement_is_a_version(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let id = on.raise(mara, "week_end_ratio", MONDAY).await;
    for (at, state) in [(60, FlagState::Withdrawn), (120, FlagState::Raised)] {
        on.judge(at, vec![judgement(id, state)]).await.unwrap();
    }
    let (history, current) = on
        .read(move |conn, tenant| {
            Ok((
                flags::history(conn, tenant, id)?,
                flags::current(conn, tenant, id)?,
            ))
        })
        .await;
    let states: Vec<_> = history
        .iter()
        .map(|version| (version.version, version.state))
        .collect();
    assert_eq!(
        states,
        [
            (1, FlagState::Raised),
            (2, FlagState::Withdrawn),
            (3, FlagState::Raised)
        ]
    );
    let ends: Vec<_> = history
        .iter()
        .map(|version| version.superseded_at)
        .collect();
    assert_eq!(ends, [Some(later(60)), Some(later(120)), None]);
    assert_eq!(history[0].body, judgement(id, FlagState::Raised).body);
    assert_eq!(current.unwrap().version, history[2]);

    let mut known = Vec::new();
    for state in [
        Known::AsOf(later(-1)),
        Known::AsOf(later(59)),
        Known::AsOf(later(60)),
        Known::Now,
    ] {
        let found = on
            .read(move |conn, tenant| {
                flags::in_weeks(conn, tenant, Who::Athletes(&[mara]), MONDAY, MONDAY, state)
            })
            .await;
        known.push(found.first().map(|judged| judged.version.version));
    }
    assert_eq!(known, [None, Some(1), Some(2), Some(3)]);
}

async fn a_list_shows_the_newest_week_first(on: Fixture) {
    let (mara, jonna) = (on.add_athlete("Mara").await, on.add_athlete("Jonna").await);
    let mut raised = Vec::new();
    for (athlete, monday) in [
        (mara, date(2026, 10, 26)),
        (mara, MONDAY),
        (jonna, MONDAY),
        (jonna, date(2026, 10, 26)),
        (jonna, date(2026, 11, 9)),
    ] {
        raised.push(on.raise(athlete, "week_end_ratio", monday).await);
    }
    let mut seen: Vec<(Date, FlagId)> = Vec::new();
    loop {
        let after = seen.last().copied();
        let page = on
            .read(move |conn, tenant| {
                let filter = FlagFilter {
                    who: Who::WholeClub,
                    monday: None,
                    state: None,
                };
                flags::page(conn, tenant, filter, after, 2)
            })
            .await;
        if page.is_empty() {
            break;
        }
        seen.extend(
            page.iter()
                .map(|judged| (judged.flag.monday, judged.flag.flag_id)),
        );
    }
    let seen: Vec<_> = seen.into_iter().map(|(_, id)| id).collect();
    assert_eq!(seen, [4, 1, 2, 0, 3].map(|place: usize| raised[place]));
}

async fn a_list_keeps_to_its_filter(on: Fixture) {
    let girls = on.add_squad("U17 girls").await;
    let (mara, jonna) = (on.add_athlete("Mara").await, on.add_athlete("Jonna").await);
    on.add_membership(on.membership(mara, girls), now()).await;
    let (first, second) = (
        on.raise(mara, "week_monotony", MONDAY).await,
        on.raise(jonna, "week_monotony", date(2026, 11, 9)).await,
    );
    on.judge(1, vec![judgement(second, FlagState::Withdrawn)])
        .await
        .unwrap();
    let lists = on
        .read(move |conn, tenant| {
            let list = |conn: &mut _, who, monday, state| {
                flags::page(conn, tenant, FlagFilter { who, monday, state }, None, 10)
            };
            Ok([
                list(conn, Who::Squads(&[girls], september(7)), None, None)?,
                list(conn, Who::Athletes(&[jonna]), None, None)?,
                list(conn, Who::WholeClub, Some(MONDAY), None)?,
                list(conn, Who::WholeClub, None, Some(FlagState::Withdrawn))?,
                list(conn, Who::Athletes(&[jonna]), Some(MONDAY), None)?,
            ])
        })
        .await;
    let lists: Vec<_> = lists.iter().map(|found| ids(found)).collect();
    assert_eq!(
        lists,
        [vec![first], vec![second], vec![first], vec![second], vec![]]
    );
}

async fn an_acknowledgement_reads_back_as_it_was_stored(on: Fixture) {
    let girls = on.add_squad("U17 girls").await;
    let mara = on.add_athlete("Mara").await;
    let flag_id = on.raise(mara, "week_end_ratio", MONDAY).await;
    let mut stored = Vec::new();
    for (action, squad_id) in [("talked", Some(girls)), ("other", None)] {
        let new = NewAcknowledgement {
            acknowledgement_id: on.id(),
            flag_id,
            flag_version: 1,
            squad_id,
            action: action.to_owned(),
            note: squad_id
                .is_none()
                .then(|| "moved Friday's practice".to_owned().into()),
        };
        let kept = on
            .write(later(5), move |conn, tenant, moment| {
                flags::acknowledge(conn, tenant, moment, AUTHOR, new)
            })
            .await
            .unwrap();
        assert_eq!(
            (kept.by_subject.as_str(), kept.received_at),
            ("suite", later(5))
        );
        stored.push(kept);
    }
    let found = on
        .read(move |conn, tenant| flags::acknowledgements(conn, tenant, &[flag_id]))
        .await;
    assert_eq!(found, stored);
}

async fn what_names_nothing_is_refused(on: Fixture) {
    let nobody = on.flag(on.id(), "week_end_ratio", MONDAY);
    let refused = on.find_or_create(vec![nobody]).await;
    assert!(matches!(refused, Err(StoreError::Reference)), "{refused:?}");
    let refused = on
        .judge(0, vec![judgement(on.id(), FlagState::Raised)])
        .await;
    assert!(matches!(refused, Err(StoreError::Reference)), "{refused:?}");

    let mara = on.add_athlete("Mara").await;
    let id = on.raise(mara, "week_end_ratio", MONDAY).await;
    let twice = vec![
        judgement(id, FlagState::Raised),
        judgement(id, FlagState::Withdrawn),
    ];
    let refused = on.judge(1, twice).await;
    assert!(matches!(refused, Err(StoreError::Conflict)), "{refused:?}");
}

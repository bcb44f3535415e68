//! Mail settings: nothing until something is set, and of one club alone.

use plimsoll_api::store::mail::{self, MailNames, MailSettings};

use crate::support::{Fixture, now, on_both_databases};

on_both_databases!(
    settings_are_set_and_taken_back,
    names_are_allowed_and_forbidden,
);

async fn settings_are_set_and_taken_back(on: Fixture) {
    assert_eq!(on.read(mail::settings).await, MailSettings::default());
    let other = on.other_club().await;
    let whole = MailSettings {
        sender_name: Some("HK Nordvang".to_owned()),
        reply_to: Some("kontor@nordvang.example".to_owned()),
        quiet_from: Some(1260),
        quiet_to: Some(0),
        version: 1,
    };
    let bare = MailSettings {
        version: 2,
        ..MailSettings::default()
    };
    for settings in [whole, bare] {
        let set = settings.clone();
        on.write(now(), move |conn, tenant, _| mail::set(conn, tenant, &set))
            .await
            .unwrap();
        assert_eq!(on.read(mail::settings).await, settings);
    }
    let of_other = on.read(move |conn, _| mail::settings(conn, other)).await;
    assert_eq!(of_other, MailSettings::default());
}

async fn names_are_allowed_and_forbidden(on: Fixture) {
    let unset = MailNames {
        allowed: false,
        version: 0,
    };
    assert_eq!(on.read(mail::names).await, unset);
    for (allowed, version) in [(true, 1), (false, 2)] {
        let names = MailNames { allowed, version };
        on.write(now(), move |conn, tenant, _| {
            mail::set_names(conn, tenant, names)
        })
        .await
        .unwrap();
        assert_eq!(on.read(mail::names).await, names);
    }
}

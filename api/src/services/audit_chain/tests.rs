use jiff::Timestamp;
use uuid::Uuid;

use super::*;

fn key() -> ChainKey {
    ChainKey::new(&[7; OCTETS])
}

fn tenant() -> Tenant {
    Tenant::granted(Uuid::from_u128(1).into())
}

fn read() -> AuditRead {
    AuditRead {
        audit_id: Uuid::from_u128(2).into(),
        at: Timestamp::UNIX_EPOCH,
        subject: "vera".to_owned(),
        client: "club-app".to_owned(),
        acting_role: "coach".to_owned(),
        purpose: None,
        athlete_id: Some(Uuid::from_u128(3).into()),
        action: "read_load".to_owned(),
        outcome: "read".to_owned(),
        request_id: "0199\n\u{1}".to_owned(),
    }
}

/// The expected link was computed with Python: `hmac.new(bytes([7]) * 32, bytes(32) + row, "sha256")`, the row with
/// `json.dumps(fields, sort_keys=True, separators=(",", ":"), ensure_ascii=False)`.
#[test]
fn a_link_is_what_a_general_purpose_library_makes_of_the_row() {
    let mut head = key().start();
    let chained = key().extend(tenant(), &mut head, read()).unwrap();
    let link: String = chained
        .link
        .iter()
        .map(|octet| format!("{octet:02x}"))
        .collect();
    assert_eq!(
        link,
        "e0ae2b43cd3388defa776f38e6c05c2c2a3e253d7dcd7b96bdfe8a8706ff8e69"
    );
    assert_eq!((chained.number, head.number), (1, 1));
    assert_eq!(head.link, chained.link);
}

#[test]
fn every_field_its_place_and_the_key_are_bound() {
    let link = |key: &ChainKey, tenant, number, read: &AuditRead| {
        key.link(tenant, number, &[0; OCTETS], read).unwrap()
    };
    let whole = link(&key(), tenant(), 1, &read());
    let changes: [fn(&mut AuditRead); 11] = [
        |read| read.audit_id = Uuid::from_u128(4).into(),
        |read| read.at += jiff::SignedDuration::from_micros(1),
        |read| read.subject.push('x'),
        |read| read.client.push('x'),
        |read| read.acting_role.push('x'),
        |read| read.purpose = Some(String::new()),
        |read| read.athlete_id = None,
        |read| read.action.push('x'),
        |read| read.outcome.push('x'),
        |read| read.request_id.push('x'),
        |read| std::mem::swap(&mut read.subject, &mut read.client),
    ];
    for (at, change) in changes.iter().enumerate() {
        let mut changed = read();
        change(&mut changed);
        assert_ne!(link(&key(), tenant(), 1, &changed), whole, "change {at}");
    }
    let other_club = Tenant::granted(Uuid::from_u128(9).into());
    assert_ne!(link(&key(), other_club, 1, &read()), whole);
    assert_ne!(link(&key(), tenant(), 2, &read()), whole);
    assert_ne!(
        link(&ChainKey::new(&[8; OCTETS]), tenant(), 1, &read()),
        whole
    );
    assert_ne!(
        key().link(tenant(), 1, &[1; OCTETS], &read()).unwrap(),
        whole
    );
}

#[test]
fn the_key_is_made_once_and_told_apart_from_others() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("audit.key");
    let made = ChainKey::open(&path).unwrap();
    assert_eq!(ChainKey::open(&path).unwrap().id(), made.id());
    let other = ChainKey::open(&folder.path().join("other.key")).unwrap();
    assert_ne!(other.id(), made.id());
    std::fs::write(&path, "c2hvcnQ=\n").unwrap();
    assert!(matches!(
        ChainKey::open(&path),
        Err(KeyFileError::NotASecret)
    ));
}

use uuid::Uuid;

use super::*;

fn key() -> LinkKey {
    LinkKey::new(&[7; SECRET_OCTETS])
}

fn link() -> Link {
    Link {
        recipient: Uuid::from_u128(2).into(),
        recipient_version: 3,
        list: ListId {
            club: Uuid::from_u128(1).into(),
            squad: Uuid::from_u128(4).into(),
            week: "2026-W45".parse().unwrap(),
        },
        expires: "2026-11-16T00:00:00Z".parse().unwrap(),
    }
}

const SIGNED: &str = "MDAwMDAwMDAtMDAwMC0wMDAwLTAwMDAtMDAwMDAwMDAwMDAxIDAwMDAwMDAwLTAwMDAtMDAwMC0wMDAwLTAwMDAwMDAwMDAw\
    MiAzIDAwMDAwMDAwLTAwMDAtMDAwMC0wMDAwLTAwMDAwMDAwMDAwNCAyMDI2LVc0NSAxNzk0Nzg3MjAw.rOL3-OMn5uo2YXpkFGK6hgIUZ2IvjwgN8vgHTB4hZDM";

/// Computed with Python: `hmac.new(bytes([7]) * 32, b"link\0" + claim, "sha256")`, both parts with
/// `base64.urlsafe_b64encode(…).rstrip(b"=")`; the form's token likewise over `b"form\0" + link`.
#[test]
fn a_link_is_what_a_general_purpose_library_signs() {
    assert_eq!(key().sign(&link()), SIGNED);
    assert_eq!(key().path(&link()), format!("/pages/{SIGNED}"));
    let form = "PZ8X6FTvaeaeCOcykUrhvSB5p6Bu3BTU6yIH9lNxTF4";
    assert_eq!(key().form_token(SIGNED), form);
    assert!(key().is_form_token(SIGNED, form));
}

#[test]
fn a_link_is_read_until_it_expires() {
    let (read, expires) = (|now| key().read(SIGNED, now), link().expires);
    let before = expires - SignedDuration::from_secs(1);
    assert_eq!(read(before), Ok(link()));
    assert_eq!(read(expires), Err(LinkError::Expired));
}

/// A change in any place, a cut at any place, another key, another use of the same key.
#[test]
fn what_was_not_signed_is_not_read() {
    let read = |text: &str| key().read(text, Timestamp::UNIX_EPOCH);
    for at in 0..SIGNED.len() {
        assert_eq!(read(&SIGNED[..at]), Err(LinkError::NotSigned), "{at}");
        let other = if &SIGNED[at..=at] == "A" { "B" } else { "A" };
        let altered = format!("{}{other}{}", &SIGNED[..at], &SIGNED[at + 1..]);
        assert_eq!(read(&altered), Err(LinkError::NotSigned), "{at}");
    }
    let other = LinkKey::new(&[8; SECRET_OCTETS]);
    assert_eq!(
        other.read(SIGNED, Timestamp::UNIX_EPOCH),
        Err(LinkError::NotSigned)
    );
    let claim = SIGNED.split('.').next().unwrap();
    let form = format!("{claim}.{}", key().seal("form", &link().claim()));
    assert_eq!(read(&form), Err(LinkError::NotSigned));
    assert!(!key().is_form_token(SIGNED, &key().seal("link", SIGNED)));
    for text in ["", ".", "..", "a.b", "é.é"] {
        assert_eq!(read(text), Err(LinkError::NotSigned), "{text}");
    }
}

use std::process::Command;

use uuid::Uuid;

use super::*;

fn key() -> (tempfile::TempDir, SignKey) {
    let folder = tempfile::tempdir().unwrap();
    let key = SignKey::open(&folder.path().join("sign.key")).unwrap();
    (folder, key)
}

fn signed(key: &SignKey, number: i64) -> SignedHead {
    let head = AuditHead {
        number,
        link: vec![0xab; 32],
        key_id: vec![1],
    };
    let club = ClubId::from(Uuid::from_u128(7));
    key.sign(club, &head, Timestamp::UNIX_EPOCH).unwrap()
}

fn read(text: &str, key: &SignKey) -> KeptHeads {
    KeptHeads::read(text.as_bytes(), &[key.public().clone()]).unwrap()
}

#[test]
fn what_was_signed_is_read_back_by_club_and_number() {
    let (_folder, key) = key();
    let (late, early) = (signed(&key, 9), signed(&key, 4));
    let lines = [late.line().unwrap(), early.line().unwrap()].join("\n\n");
    let kept = read(&lines, &key);
    assert_eq!(kept.bad, []);
    assert_eq!(kept.of(late.club_id), [early, late]);
    assert_eq!(kept.of(ClubId::from(Uuid::from_u128(8))), []);
}

#[test]
fn a_line_that_was_changed_is_named() {
    let (_folder, key) = key();
    let line = signed(&key, 9).line().unwrap();
    let changed = [
        line.replace("\"number\":9", "\"number\":8"),
        line.replace("abab", "abac"),
        line.replace("1970-01-01", "1970-01-02"),
        line.replace("-000000000007", "-000000000008"),
        line.replace("\"signature\":\"", "\"signature\":\"AAAA"),
    ];
    for text in changed {
        assert_ne!(text, line);
        let kept = read(&format!("{line}\n{text}\n"), &key);
        assert_eq!(kept.bad, [(2, BadLine::NotSigned)], "{text}");
    }
    for text in [
        &line[..line.len() / 2],
        "[]",
        &line.replace("\"at\"", "\"on\""),
    ] {
        assert_eq!(read(text, &key).bad, [(1, BadLine::NotAHead)], "{text}");
    }
    let (_other_folder, other) = self::key();
    assert_eq!(read(&line, &other).bad, [(1, BadLine::OtherKey)]);
    let renamed = line.replace(&key.public().id, &other.public().id);
    assert_eq!(read(&renamed, &other).bad, [(1, BadLine::NotSigned)]);
}

/// Text and line are what `json.dumps(fields, sort_keys=True, separators=(",", ":"))` of Python makes of the fields.
#[test]
fn a_head_is_written_in_canonical_json() {
    let (_folder, key) = key();
    let head = signed(&key, 9);
    let (key_id, link) = (&head.key_id, "ab".repeat(32));
    let fields = format!(
        "\"at\":\"1970-01-01T00:00:00Z\",\"club_id\":\"00000000-0000-0000-0000-000000000007\",\
         \"key_id\":\"{key_id}\",\"link\":\"{link}\",\"number\":9"
    );
    assert_eq!(head.text().unwrap(), format!("{{{fields}}}").into_bytes());
    let signature = &head.signature;
    let line = format!("{{{fields},\"signature\":\"{signature}\"}}");
    assert_eq!(head.line().unwrap(), line);
}

#[test]
fn the_public_half_travels_as_a_file_and_only_checks() {
    let (folder, key) = key();
    let pem = key.public().to_pem();
    let read = HeadKey::from_pem(&pem).unwrap();
    assert_eq!(
        (&read.octets, &read.id),
        (&key.public().octets, &key.public().id)
    );
    assert!(read.signed(&signed(&key, 9)));
    for text in ["", "sign", &pem[..60], &pem.replace("MCow", "MCox")] {
        assert!(HeadKey::from_pem(text).is_none(), "{text}");
    }
    let again = SignKey::open(&folder.path().join("sign.key")).unwrap();
    assert_eq!(again.public().id, key.public().id, "the key is made once");
    assert!(!format!("{key:?}").contains("pair"));
}

/// `openssl pkeyutl` knows nothing of this program.
#[test]
fn a_general_tool_checks_the_signature() {
    if Command::new("openssl").arg("version").output().is_err() {
        eprintln!("left out: there is no openssl on this machine");
        return;
    }
    let (folder, key) = key();
    let head = signed(&key, 9);
    let write = |name: &str, content: &[u8]| {
        let path = folder.path().join(name);
        std::fs::write(&path, content).unwrap();
        path
    };
    let public = write("public.pem", key.public().to_pem().as_bytes());
    let text = write("text", &head.text().unwrap());
    let signature = URL_SAFE_NO_PAD.decode(&head.signature).unwrap();
    let signature = write("signature", &signature);
    let mut check = Command::new("openssl");
    check.args(["pkeyutl", "-verify", "-rawin", "-pubin", "-inkey"]);
    check
        .arg(public)
        .arg("-in")
        .arg(text)
        .arg("-sigfile")
        .arg(signature);
    let output = check.output().unwrap();
    assert!(output.status.success(), "{output:?}");
}

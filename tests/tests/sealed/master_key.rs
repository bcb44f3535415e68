//! The master key: made when absent, its owner's alone, and the one that the clubs' keys were wrapped with.

use std::fs;
use std::os::unix::fs::PermissionsExt;

use e2e::assert_ends;

use crate::*;

async fn is_read(club: &Club) {
    let listed = club
        .as_role("athletic_trainer")
        .get("restrictions")
        .await
        .expect(200);
    assert!(listed.text().contains(PLANTED[3]));
}

on_both_databases! {
    async fn without_its_master_key_the_service_does_not_start(database: Database) {
        let mut server = Server::start(database).await;
        let (writes, _) = plant(&server).await;
        let file = server.folder().join("master.key");
        let mode = fs::metadata(&file).expect("a key").permissions().mode();
        assert_eq!(mode & 0o777, 0o600);
        server.stop();

        let away = server.folder().join("away.key");
        fs::rename(&file, &away).expect("the key is put away");
        for command in [&["serve"][..], &["keys", "rotate"], &["keys", "rewrap"]] {
            assert_ends(&server.run(command), 2, "set master_key to the file with that key");
        }
        let looked = server.run(&["check"]);
        assert_eq!(looked.status.code(), Some(1));
        assert!(String::from_utf8_lossy(&looked.stdout).contains("another master key"));
        fs::rename(&away, &file).expect("the key is put back");

        fs::set_permissions(&file, fs::Permissions::from_mode(0o644)).expect("a mode");
        assert_ends(&server.run(&["serve"]), 1, "set its mode to 0600");
        fs::set_permissions(&file, fs::Permissions::from_mode(0o600)).expect("a mode");
        fs::write(&away, "no key\n").expect("a file");
        fs::set_permissions(&away, fs::Permissions::from_mode(0o600)).expect("a mode");
        let other = server.run_with(&[("PLIMSOLL_MASTER_KEY", "away.key")], &["serve"]);
        assert_ends(&other, 1, "does not hold 32 octets in base64");

        server.restart().await;
        is_read(writes.club()).await;
    }

    async fn another_master_key_takes_over(database: Database) {
        let mut server = Server::start(database).await;
        let (writes, _) = plant(&server).await;
        let file = server.folder().join("master.key");
        let first = fs::read_to_string(&file).expect("a key");
        let second = "YW5vdGhlciBtYXN0ZXIga2V5IG9mIHRoZSB0cmlhbCE=\n";
        fs::write(&file, format!("{first}{second}")).expect("a second key");
        server.restart().await;
        is_read(writes.club()).await;
        let rewrapped = server.run(&["keys", "rewrap"]);
        let said = String::from_utf8_lossy(&rewrapped.stdout).into_owned();
        assert_eq!(said, "1 keys of clubs wrapped with the newest master key\n");
        // The first one is not needed any more, and does not open anything any more.
        fs::write(&file, second).expect("the second key alone");
        server.restart().await;
        is_read(writes.club()).await;
        fs::write(&file, first).expect("the first key alone");
        assert_ends(&server.run(&["serve"]), 2, "set master_key to the file with that key");
    }
}

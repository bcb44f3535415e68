//! Nothing is sent to somebody whose certificate is not good (T-26).

use crate::*;

on_both_databases! {
    async fn an_expired_certificate_another_host_and_an_unknown_authority_get_nothing(database: Database) {
        let (known, unknown) = (Authority::new(), Authority::new());
        let folder = tempfile::tempdir().expect("a folder");
        let roots = folder.path().join("roots.pem");
        known.publish(&roots);
        let server = setup(database).setting("SSL_CERT_FILE", &roots.to_string_lossy()).start().await;
        let admin = server.club("Havneby Handball").await.as_role("club_admin");
        let here = "127.0.0.1:0".parse().expect("an address");

        let good = Receiver::with_tls(here, known.certify("localhost")).await;
        let made = endpoint(&admin, &good).await;
        let notice = try_out(&admin, &made).await;
        delivery(&admin, &notice, is("delivered")).await;

        for (what, tls) in [
            ("expired", known.certify_until_2020("localhost")),
            ("another host", known.certify("club.example.org")),
            ("an unknown authority", unknown.certify("localhost")),
        ] {
            let receiver = Receiver::with_tls(here, tls).await;
            let made = named(&admin, &receiver).await;
            let notice = challenge(&admin, &made).await;
            let fared = delivery(&admin, &notice, attempted(1)).await;
            assert_eq!((&fared["state"], &fared["attempts"][0]["outcome"]), (&json!("pending"), &json!("unreachable")), "{what}");
            assert!(receiver.connections() > 0, "{what}: it was never called");
            assert!(receiver.challenges().is_empty(), "{what}");
        }
    }
}

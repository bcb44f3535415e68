//! Addresses that lead inside are refused when they are named, and nothing is sent to them: connections are
//! counted at a socket of our own.

use crate::*;

on_both_databases! {
    async fn an_inner_address_is_refused_and_never_called(database: Database) {
        let server = Server::start(database).await;
        let admin = server.club("Havneby Handball").await.as_role("club_admin");
        let target = Receiver::taking().await;
        let inner = inner_addresses(&target);
        for address in &inner {
            let refused = admin.post("notice-endpoints", json!({ "url": address })).await;
            let refused = refused.expect_problem(422, "invalid");
            assert_eq!(refused["errors"][0]["code"], "address_not_allowed", "{address}");
            assert_eq!(refused["errors"][0]["pointer"], "/url");
        }
        assert_eq!(target.connections(), 0);
        println!("{} addresses refused, 0 connections", inner.len());
    }

    async fn a_proxy_of_the_environment_is_not_used(database: Database) {
        let proxy = Receiver::taking().await;
        let target = Receiver::taking().await;
        let mut setup = setup(database);
        for name in ["HTTP_PROXY", "http_proxy", "HTTPS_PROXY", "https_proxy", "ALL_PROXY", "all_proxy"] {
            setup = setup.setting(name, &proxy.url());
        }
        let server = setup.start().await;
        let admin = server.club("Havneby Handball").await.as_role("club_admin");
        let made = endpoint(&admin, &target).await;
        try_out(&admin, &made).await;
        target.wait_for(1).await;
        assert_eq!(proxy.connections(), 0);
    }

    async fn what_was_allowed_once_is_judged_again_before_it_is_called(database: Database) {
        let mut server = setup(database).start().await;
        let admin = server.club("Havneby Handball").await.as_role("club_admin");
        let target = Receiver::taking().await;
        let made = endpoint(&admin, &target).await;
        let before = target.connections();
        // The same database, by a program that may not call this machine.
        server.set_and_restart(&[("PLIMSOLL_WEBHOOK_LOOPBACK", "off")]).await;
        let notice = try_out(&admin, &made).await;
        let fared = delivery(&admin, &notice, attempted(1)).await;
        assert_eq!(fared["attempts"][0]["outcome"], "blocked");
        assert_eq!((&fared["attempts"][0]["status"], target.connections()), (&Value::Null, before));
    }
}

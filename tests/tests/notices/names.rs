//! Host names that lead inside: they look like any other until they are resolved, by a name server of our own.
//! Connections are counted at the socket they would lead to.

use std::net::{IpAddr, SocketAddr};
use std::process::Command;

use e2e::{NameServer, Names, Record};

use crate::*;

/// Addresses of this machine that nothing else uses.
const INSIDE: &str = "127.0.0.77";
const NAME_SERVER: &str = "127.0.0.53";

fn names() -> Names {
    let at = |address: &str| Record::Address(address.parse().expect("an address"));
    Names::from([
        ("loopback.example.org", vec![at(INSIDE)]),
        ("loopback6.example.org", vec![at("::1")]),
        ("mapped.example.org", vec![at("::ffff:127.0.0.77")]),
        ("private.example.org", vec![at("10.11.12.13")]),
        ("metadata.example.org", vec![at("169.254.169.254")]),
        ("one-of-two.example.org", vec![at("198.20.0.1"), at(INSIDE)]),
        (
            "one-of-each.example.org",
            vec![at("198.20.0.1"), at("fd00::1")],
        ),
        ("alias.example.org", vec![Record::Alias("step.example.org")]),
        (
            "step.example.org",
            vec![Record::Alias("loopback.example.org")],
        ),
    ])
}

/// The command under which a program asks our name server: in a mount namespace of its own (mount_namespaces(7)).
fn asking_us(resolver: &std::path::Path) -> Vec<String> {
    let script = "mount --bind \"$0\" /etc/resolv.conf && exec \"$@\"";
    let words = ["unshare", "--mount", "sh", "-c", script];
    let words = words.map(str::to_owned).into_iter();
    words.chain([resolver.display().to_string()]).collect()
}

/// Whether this system lets us have a name server and a mount namespace.
fn allowed(under: &[String]) -> bool {
    let tried = Command::new(&under[0])
        .args(&under[1..])
        .arg("true")
        .status();
    tried.is_ok_and(|status| status.success())
}

#[tokio::test]
async fn a_name_that_leads_inside_is_never_called() {
    let folder = tempfile::tempdir().expect("a folder");
    let resolver = folder.path().join("resolv.conf");
    let lines = format!("nameserver {NAME_SERVER}\noptions timeout:2 attempts:2\n");
    std::fs::write(&resolver, lines).expect("a file");
    let under = asking_us(&resolver);
    let names = names();
    let hosts: Vec<&str> = names.keys().copied().collect();
    let port_of_names = SocketAddr::new(NAME_SERVER.parse().expect("an address"), 53);
    let server = NameServer::start(port_of_names, names).await;
    let (Ok(name_server), true) = (server, allowed(&under)) else {
        e2e::left_out("no name server or no mount namespace for this user on this system");
        return;
    };
    let authority = Authority::new();
    let roots = folder.path().join("roots.pem");
    authority.publish(&roots);
    let inside: IpAddr = INSIDE.parse().expect("an address");
    let tls = authority.certify("alias.example.org");
    let target = Receiver::with_tls(SocketAddr::new(inside, 8443), tls).await;

    let mut server = setup(e2e::Database::Sqlite)
        .setting("SSL_CERT_FILE", &roots.to_string_lossy())
        .setting("PLIMSOLL_WEBHOOK_LOOPBACK", "off")
        .under(under)
        .start()
        .await;
    let admin = server.club("Havneby Handball").await.as_role("club_admin");
    let mut last = None;
    for host in &hosts {
        let body = json!({ "url": format!("https://{host}:8443/notices") });
        let made = admin.post("notice-endpoints", body).await.expect(201);
        let notice = challenge(&admin, &made).await;
        let fared = delivery(&admin, &notice, attempted(1)).await;
        assert_eq!(fared["attempts"][0]["outcome"], "blocked", "{host}");
        assert_eq!(fared["attempts"][0]["status"], Value::Null, "{host}");
        if *host == "alias.example.org" {
            last = Some(made);
        }
    }
    assert!(
        name_server.asked() >= hosts.len(),
        "our name server was not asked"
    );
    assert_eq!(target.connections(), 0);
    println!("{} names blocked, 0 connections", hosts.len());

    // The same name is called by a program that may call this machine: so the way was open.
    server
        .set_and_restart(&[("PLIMSOLL_WEBHOOK_LOOPBACK", "on")])
        .await;
    let last = last.expect("the alias is one of them");
    let again = format!(
        "notice-endpoints/{}/confirmation",
        last.string("endpoint_id")
    );
    admin.post(again, json!({})).await.expect(202);
    once(&admin, &last, |endpoint| {
        endpoint["confirmed_at"].is_string()
    })
    .await;
    assert!(target.connections() > 0);
}

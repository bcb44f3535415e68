//! Which addresses this program may call on somebody's behalf: global ones only.
//!
//! The blocks are the special-purpose registries of IANA (RFC 6890 and its updates), with the forms that carry an IPv4
//! address inside an IPv6 one unwrapped and judged again.

use std::net::{IpAddr, Ipv4Addr, Ipv6Addr};

use url::{Host, Url};

/// Ports that may be called.
const PORTS: [u16; 2] = [443, 8443];
const LONGEST: usize = 2_048;

/// How strict the guard is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reach {
    /// Global addresses by https on ports 443 and 8443.
    Global,
    /// Loopback too, by http and on every port: for development and tests.
    WithLoopback,
}

/// Why an address is refused. Holds nothing of the address.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Blocked {
    /// Not a URL, or one of more than 2,048 characters.
    #[error("it is no URL of at most 2,048 characters")]
    NotAUrl,
    /// Another scheme than https.
    #[error("its scheme is not https")]
    Scheme,
    /// A name or password in it.
    #[error("it holds a name or a password")]
    UserInfo,
    /// A fragment.
    #[error("it has a fragment")]
    Fragment,
    /// Another port than 443 or 8443.
    #[error("its port is neither 443 nor 8443")]
    Port,
    /// A host that is not in the public network.
    #[error("its host is not in the public network")]
    NotGlobal,
}

/// Reads a URL and judges all of it that can be judged without asking for its addresses.
///
/// # Errors
/// [`Blocked`] with the first reason.
pub fn url(text: &str, reach: Reach) -> Result<Url, Blocked> {
    if text.len() > LONGEST || text.chars().any(|c| c.is_control() || c.is_whitespace()) {
        return Err(Blocked::NotAUrl);
    }
    let url = Url::parse(text).map_err(|_| Blocked::NotAUrl)?;
    let here = reach == Reach::WithLoopback && is_loopback(&url);
    match url.scheme() {
        "https" => {}
        "http" if here => {}
        _ => return Err(Blocked::Scheme),
    }
    if !url.username().is_empty() || url.password().is_some() {
        return Err(Blocked::UserInfo);
    }
    if url.fragment().is_some() {
        return Err(Blocked::Fragment);
    }
    let port = url.port_or_known_default().ok_or(Blocked::Port)?;
    if !here && !PORTS.contains(&port) {
        return Err(Blocked::Port);
    }
    host(&url, reach)?;
    Ok(url)
}

fn host(url: &Url, reach: Reach) -> Result<(), Blocked> {
    match url.host() {
        Some(Host::Ipv4(ip)) => address(ip.into(), reach),
        Some(Host::Ipv6(ip)) => address(ip.into(), reach),
        Some(Host::Domain(name)) => {
            let name = name.trim_end_matches('.').to_ascii_lowercase();
            let local = ["localhost", "local", "internal", "home.arpa"];
            let is_local = local
                .iter()
                .any(|end| name == *end || name.ends_with(&format!(".{end}")));
            // A name without a dot is completed by the machine's search list.
            let inside = is_local || !name.contains('.');
            if inside && !(reach == Reach::WithLoopback && name == "localhost") {
                return Err(Blocked::NotGlobal);
            }
            Ok(())
        }
        None => Err(Blocked::NotAUrl),
    }
}

fn is_loopback(url: &Url) -> bool {
    match url.host() {
        Some(Host::Ipv4(ip)) => ip.is_loopback(),
        Some(Host::Ipv6(ip)) => ip.is_loopback(),
        Some(Host::Domain(name)) => name == "localhost",
        None => false,
    }
}

/// Judges one address that a host name stands for.
///
/// # Errors
/// [`Blocked::NotGlobal`].
pub fn address(ip: IpAddr, reach: Reach) -> Result<(), Blocked> {
    let allowed = match reach {
        Reach::Global => is_global(ip),
        Reach::WithLoopback => ip.is_loopback() || is_global(ip),
    };
    if allowed {
        Ok(())
    } else {
        Err(Blocked::NotGlobal)
    }
}

/// Whether an address is one of the public network.
pub fn is_global(ip: IpAddr) -> bool {
    match ip {
        IpAddr::V4(ip) => is_global_v4(ip),
        IpAddr::V6(ip) => is_global_v6(ip),
    }
}

/// First address and prefix length of each block that is not global.
const BLOCKED_V4: [([u8; 4], u32); 15] = [
    ([0, 0, 0, 0], 8),
    ([10, 0, 0, 0], 8),
    ([100, 64, 0, 0], 10),
    ([127, 0, 0, 0], 8),
    ([169, 254, 0, 0], 16),
    ([172, 16, 0, 0], 12),
    ([192, 0, 0, 0], 24),
    ([192, 0, 2, 0], 24),
    ([192, 88, 99, 0], 24),
    ([192, 168, 0, 0], 16),
    ([198, 18, 0, 0], 15),
    ([198, 51, 100, 0], 24),
    ([203, 0, 113, 0], 24),
    ([224, 0, 0, 0], 4),
    ([240, 0, 0, 0], 4),
];

fn is_global_v4(ip: Ipv4Addr) -> bool {
    let inside = |(base, bits): &([u8; 4], u32)| {
        (u32::from(ip) ^ u32::from(Ipv4Addr::from(*base))) >> (32 - bits) == 0
    };
    !BLOCKED_V4.iter().any(inside)
}

/// As [`BLOCKED_V4`]. The forms with an IPv4 address inside are judged before.
const BLOCKED_V6: [(Ipv6Addr, u32); 11] = [
    (Ipv6Addr::new(0, 0, 0, 0, 0, 0, 0, 0), 96),
    (Ipv6Addr::new(0x100, 0, 0, 0, 0, 0, 0, 0), 64),
    (Ipv6Addr::new(0x2001, 0, 0, 0, 0, 0, 0, 0), 23),
    (Ipv6Addr::new(0x2001, 0xdb8, 0, 0, 0, 0, 0, 0), 32),
    (Ipv6Addr::new(0x3fff, 0, 0, 0, 0, 0, 0, 0), 20),
    (Ipv6Addr::new(0x5f00, 0, 0, 0, 0, 0, 0, 0), 16),
    (Ipv6Addr::new(0x64, 0xff9b, 1, 0, 0, 0, 0, 0), 48),
    (Ipv6Addr::new(0xfc00, 0, 0, 0, 0, 0, 0, 0), 7),
    (Ipv6Addr::new(0xfe80, 0, 0, 0, 0, 0, 0, 0), 10),
    (Ipv6Addr::new(0xfec0, 0, 0, 0, 0, 0, 0, 0), 10),
    (Ipv6Addr::new(0xff00, 0, 0, 0, 0, 0, 0, 0), 8),
];

fn is_global_v6(ip: Ipv6Addr) -> bool {
    if let Some(inner) = embedded(ip) {
        return is_global_v4(inner);
    }
    let inside =
        |(base, bits): &(Ipv6Addr, u32)| (u128::from(ip) ^ u128::from(*base)) >> (128 - bits) == 0;
    !BLOCKED_V6.iter().any(inside)
}

/// The IPv4 address inside `::ffff:0:0/96` (mapped), `64:ff9b::/96` (translated, RFC 6052) and `2002::/16` (6to4).
fn embedded(ip: Ipv6Addr) -> Option<Ipv4Addr> {
    if let Some(mapped) = ip.to_ipv4_mapped() {
        return Some(mapped);
    }
    let bytes = ip.octets();
    let [a, b, ..] = bytes;
    if (a, b) == (0x20, 0x02) {
        return Some(Ipv4Addr::new(bytes[2], bytes[3], bytes[4], bytes[5]));
    }
    if bytes[..12] == [0, 0x64, 0xff, 0x9b, 0, 0, 0, 0, 0, 0, 0, 0] {
        return Some(Ipv4Addr::new(bytes[12], bytes[13], bytes[14], bytes[15]));
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_special_block_is_refused_at_both_ends() {
        let blocked = "0.0.0.0 0.255.255.255 10.0.0.0 10.255.255.255 100.64.0.0 100.127.255.255 127.0.0.1 127.255.255.255 \
            169.254.0.0 169.254.169.254 169.254.255.255 172.16.0.0 172.31.255.255 192.0.0.0 192.0.0.255 192.0.2.0 \
            192.0.2.255 192.88.99.0 192.88.99.255 192.168.0.0 192.168.255.255 198.18.0.0 198.19.255.255 198.51.100.0 \
            198.51.100.255 203.0.113.0 203.0.113.255 224.0.0.0 239.255.255.255 240.0.0.0 255.255.255.255 \
            :: ::1 ::ffff:127.0.0.1 ::ffff:10.0.0.1 64:ff9b::7f00:1 64:ff9b::a00:1 64:ff9b:1::1 100::1 2001::1 \
            2001:1ff:ffff::1 2001:db8::1 2002:7f00:1:: 2002:c0a8:101:: 3fff::1 3fff:fff::1 5f00::1 fc00::1 fd00:ec2::254 \
            fe80::1 febf::1 fec0::1 feff::1 ff02::1 ffff::1";
        for text in blocked.split_whitespace() {
            assert!(!is_global(text.parse().unwrap()), "{text}");
        }
    }

    #[test]
    fn the_neighbours_of_the_blocks_are_global() {
        let global = "1.0.0.0 9.255.255.255 11.0.0.0 100.63.255.255 100.128.0.0 126.255.255.255 128.0.0.0 169.253.255.255 \
            169.255.0.0 172.15.255.255 172.32.0.0 191.255.255.255 192.0.1.0 192.0.3.0 192.88.98.255 192.88.100.0 \
            192.167.255.255 192.169.0.0 198.17.255.255 198.20.0.0 198.51.99.255 198.51.101.0 203.0.112.255 203.0.114.0 \
            223.255.255.255 ::ffff:1.1.1.1 64:ff9b::101:101 2001:200::1 2001:db7::1 2001:db9::1 2002:101:101:: 2606:4700::1 \
            3ffe::1 3fff:1000::1 2a00::1";
        for text in global.split_whitespace() {
            assert!(is_global(text.parse().unwrap()), "{text}");
        }
    }

    #[test]
    fn addresses_that_lead_inside_are_refused_before_anything_is_sent() {
        // every way of writing an inner host, other schemes, other ports.
        let cases = [
            ("https://127.0.0.1/", Blocked::NotGlobal),
            ("https://localhost/", Blocked::NotGlobal),
            ("https://LOCALHOST./", Blocked::NotGlobal),
            ("https://[::1]/", Blocked::NotGlobal),
            ("https://0.0.0.0/", Blocked::NotGlobal),
            ("https://2130706433/", Blocked::NotGlobal),
            ("https://0x7f.1/", Blocked::NotGlobal),
            ("https://017700000001/", Blocked::NotGlobal),
            ("https://127.1/", Blocked::NotGlobal),
            ("https://[::ffff:127.0.0.1]/", Blocked::NotGlobal),
            ("https://169.254.169.254/latest", Blocked::NotGlobal),
            ("https://metadata.google.internal/", Blocked::NotGlobal),
            ("https://[fd00:ec2::254]/", Blocked::NotGlobal),
            ("https://10.1.2.3/", Blocked::NotGlobal),
            ("https://172.16.9.9/", Blocked::NotGlobal),
            ("https://192.168.1.1/", Blocked::NotGlobal),
            ("https://100.64.0.1/", Blocked::NotGlobal),
            ("https://198.18.0.1/", Blocked::NotGlobal),
            ("https://[fe80::1%25eth0]/", Blocked::NotAUrl),
            ("https://intranet/", Blocked::NotGlobal),
            ("http://club.example.org/", Blocked::Scheme),
            ("file:///etc/passwd", Blocked::Scheme),
            ("gopher://club.example.org/", Blocked::Scheme),
            ("ftp://club.example.org/", Blocked::Scheme),
            ("data:text/plain,hello", Blocked::Scheme),
            ("unix:/run/socket", Blocked::Scheme),
            ("https://club.example.org:22/", Blocked::Port),
            ("https://club.example.org:25/", Blocked::Port),
            ("https://club.example.org:5432/", Blocked::Port),
            ("https://club.example.org:6379/", Blocked::Port),
            ("https://a@club.example.org/", Blocked::UserInfo),
            ("https://a:b@club.example.org/", Blocked::UserInfo),
            ("https://club.example.org/#x", Blocked::Fragment),
            ("https://club.example.org/\r\nX: y", Blocked::NotAUrl),
            ("hook", Blocked::NotAUrl),
        ];
        for (text, reason) in cases {
            assert_eq!(url(text, Reach::Global), Err(reason), "{text}");
        }
        let long = format!("https://club.example.org/{}", "a".repeat(2_048));
        assert_eq!(url(&long, Reach::Global), Err(Blocked::NotAUrl));
        for fine in [
            "https://club.example.org/hook",
            "https://club.example.org:8443/hook?a=1",
            "https://1.1.1.1/",
        ] {
            assert!(url(fine, Reach::Global).is_ok(), "{fine}");
        }
    }

    #[test]
    fn development_reaches_loopback_and_nothing_else_inside() {
        for fine in [
            "http://127.0.0.1:9000/",
            "http://localhost:80/",
            "http://[::1]:1/",
        ] {
            assert!(url(fine, Reach::WithLoopback).is_ok(), "{fine}");
        }
        for refused in [
            "http://10.0.0.1/",
            "https://10.0.0.1/",
            "http://club.example.org/",
        ] {
            assert!(url(refused, Reach::WithLoopback).is_err(), "{refused}");
        }
    }
}

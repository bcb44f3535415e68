//! What somebody may ask for of her own data: a complete copy, and that it is erased.

use e2e::{Answer, Athlete, Club, Database, Document, Server, Squad, on_both_databases};
use serde_json::{Value, json};

mod copy;
mod erasure;
mod planted;
mod restored;
mod withheld;

use planted::{Plants, plant};

/// A club with a policy and a squad in which there are two athletes with planted words in every text, found in W45.
struct World {
    server: Server,
    club: Club,
    /// Whose copy or erasure is asked for.
    mara: Plants,
    /// Another athlete, whose records are nobody's business here.
    ida: Plants,
}

async fn world(server: Server) -> World {
    let club = server.club("Havneby Handball").await;
    club.example_policy().await;
    let admin = club.as_role("club_admin");
    let licence = json!({ "subject": "local", "name": "Vera Holm", "licence_type": "physiotherapist", "valid_until": "2027-06-30" });
    admin.post("licences", licence).await.expect(201);
    let hook = json!({ "url": "https://one.example.invalid/notices" });
    admin.post("notice-endpoints", hook).await.expect(201);
    let squad = club.squad("U16").await;
    let mut planted = Vec::new();
    for prefix in ["marasword", "idasword"] {
        planted.push(plant(&squad, prefix).await);
    }
    server.close_week("2026-W45");
    for one in &mut planted {
        one.find(&club).await;
    }
    let [mara, ida] = planted
        .try_into()
        .unwrap_or_else(|_| panic!("two athletes"));
    World {
        server,
        club,
        mara,
        ida,
    }
}

//! The two kinds of resources, and which of their attributes are kept.

use super::attributes::{Attribute, ResourceType, Schema, Type};

/// What a roster says of an athlete beside the schema of a user.
pub const ROSTER: &str = "urn:plimsoll:scim:schemas:extension:roster:1.0:User";

/// What somebody can be in a club, as `roles` says it.
pub const ROLES: &[&str] = &[
    "athlete",
    "guardian",
    "coach",
    "strength_coach",
    "athletic_trainer",
    "club_admin",
    "privacy_lead",
];

static USER_SCHEMA: Schema = Schema {
    id: "urn:ietf:params:scim:schemas:core:2.0:User",
    name: "User",
    description: "Somebody of the club: an athlete, a guardian, or staff. No phone number, address, photograph or password of \
        anybody is kept: phoneNumbers, addresses, photos, password, emails, ims, entitlements, x509Certificates, nickName, \
        profileUrl, title, userType, preferredLanguage, locale, timezone, and the enterprise extension are read over where they \
        are sent, never stored and never returned. So is name, but for what displayName says.",
    attributes: &[
        Attribute::text(
            "userName",
            "What the directory knows the person by, 1 to 200 characters. Of an athlete whom no directory has named yet it is her \
             external id, or her id.",
        )
        .any_case()
        .required()
        .unique(),
        Attribute::text(
            "displayName",
            "The name shown, or a code in its place, 1 to 200 characters. Where it is left out it is name.formatted, or \
             name.givenName and name.familyName. Of who is a guardian and nothing else no name is kept.",
        )
        .any_case()
        .required(),
        Attribute::text(
            "active",
            "Whether the person is still there; true unless it is said. False ends an athlete's memberships with the day before; \
             nothing of her history goes, and true brings no membership back.",
        )
        .of(Type::Boolean),
        Attribute::text(
            "roles",
            "What the person is in the club; an athlete where nothing is said. It gives no right: who may do what is in the token.",
        )
        .many()
        .of(Type::Complex(&[Attribute::text("value", "The role.")
            .one_of(ROLES)
            .required()])),
        Attribute::text("groups", "The squads to which an athlete belongs today.")
            .many()
            .read_only()
            .of(Type::Complex(&[
                Attribute::text("value", "The id of the group.").read_only(),
                Attribute::text("$ref", "Where it is.")
                    .of(Type::Reference(&["Group"]))
                    .read_only(),
                Attribute::text("display", "The name of the squad.").any_case().read_only(),
            ])),
    ],
};

static ROSTER_SCHEMA: Schema = Schema {
    id: ROSTER,
    name: "Roster",
    description: "What the roster says of an athlete; of others nothing of it is kept.",
    attributes: &[
        Attribute::text("birthDate", "Day of birth, YYYY-MM-DD; an age of 5 to 100 years."),
        Attribute::text(
            "joinedOn",
            "The first day of her record, YYYY-MM-DD: figures begin with it. Of a new athlete the day on which she comes, unless \
             it is said.",
        ),
        Attribute::text("timeZone", "Her home zone (IANA), where it is not the club's."),
        Attribute::text(
            "guardians",
            "Whom the roster names as her guardians, at most 50. It gives no right: whom a guardian may see is in the token.",
        )
        .many()
        .of(Type::Complex(&[
            Attribute::text("value", "The externalId of the guardian.").required(),
        ])),
    ],
};

static GROUP_SCHEMA: Schema = Schema {
    id: "urn:ietf:params:scim:schemas:core:2.0:Group",
    name: "Group",
    description: "A squad of the club.",
    attributes: &[
        Attribute::text("displayName", "The name of the squad, 1 to 200 characters.")
            .any_case()
            .required(),
        Attribute::text(
            "members",
            "The athletes who belong to the squad today. Who is named and did not belong to it does from today on; who is left \
             out of a whole list, or removed, leaves with the day before. Users who are no athletes are left out, and so are those \
             of a whole list who are not active; adding one who is not active is refused.",
        )
        .many()
        .of(Type::Complex(&[
            Attribute::text("value", "The id of the user.").required(),
            Attribute::text("$ref", "Where the user is.").of(Type::Reference(&["User"])),
            Attribute::text("type", "User.").any_case().one_of(&["User"]),
        ])),
    ],
};

/// People.
pub static USER: ResourceType = ResourceType {
    name: "User",
    endpoint: "/Users",
    description: "Athletes, guardians and staff of the club",
    schema: &USER_SCHEMA,
    extension: Some(&ROSTER_SCHEMA),
    not_kept: &[
        "name",
        "nickName",
        "profileUrl",
        "title",
        "userType",
        "preferredLanguage",
        "locale",
        "timezone",
        "password",
        "emails",
        "phoneNumbers",
        "ims",
        "photos",
        "addresses",
        "entitlements",
        "x509Certificates",
        "urn:ietf:params:scim:schemas:extension:enterprise:2.0:User",
    ],
};

/// Squads.
pub static GROUP: ResourceType = ResourceType {
    name: "Group",
    endpoint: "/Groups",
    description: "Squads of the club",
    schema: &GROUP_SCHEMA,
    extension: None,
    not_kept: &[],
};

/// Both.
pub static TYPES: [&ResourceType; 2] = [&USER, &GROUP];

/// Every schema.
pub fn schemas() -> impl Iterator<Item = &'static Schema> {
    let of_types = TYPES.iter();
    of_types.flat_map(|kind| std::iter::once(kind.schema).chain(kind.extension))
}

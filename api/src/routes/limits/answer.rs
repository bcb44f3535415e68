//! The limits as they are answered, each read from the constant or the setting that enforces it; none is written here again.
//!
//! Nothing is told that a caller cannot keep to: threads, connections, waits for the database, addresses and versions are the
//! operator's own.

use plimsoll_domain::programme::ItemNote;
use plimsoll_domain::roster::MOST_LINKS;
use serde::Serialize;
use utoipa::ToSchema;

use crate::app::App;
use crate::auth::token::MAX_TOKEN_OCTETS;
use crate::calendar::Bounds;
use crate::config::Config;
use crate::delivery::{client, retry, signature};
use crate::routes::athletes::search;
use crate::scim::{discovery, parse, patch};
use crate::server;
use crate::services::plans::input as plans;
use crate::services::policy::rehearsal;
use crate::services::roster::sources::{self, fetch};
use crate::services::roster::{input as roster, oneroster};
use crate::services::sandboxes;
use crate::services::sessions::{bulk, draft};
use crate::services::{
    absences, calendars, contact_checks, events, exercises, mail_hold, page_link, programmes,
    questions, table, write,
};
use crate::web::rate_limit::{Limiter, WINDOW_SECONDS};
use crate::web::{body, page, range, write as requests};

/// What callers have to keep to, in groups. Null is without a limit.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({
    "requests": {"head_seconds": 5, "body_seconds": 30, "body_bytes": 8_388_608, "bulk_body_bytes": 33_554_432,
        "slice_bytes": 5_120, "slice_seconds": 5, "unread_answer_seconds": 30, "idle_seconds": 15, "idempotency_key_bytes": 255,
        "idempotency_key_seconds": 86_400},
    "rate_limit": {"requests": 600, "window_seconds": 60},
    "pages": {"usual_rows": 50, "most_rows": 500, "found_athletes": 50},
    "bulk": {"rows": 10_000, "ndjson_rows": null, "ndjson_line_bytes": 65_536, "csv_columns": 64},
    "rosters": {"rows": 10_000, "row_bytes": 262_144, "links": 50, "package_files": 64, "package_bytes": 67_108_864,
        "package_lines": 100_000, "sources": 20, "source_hours": 168, "source_pages": 100, "source_page_bytes": 8_388_608,
        "source_bytes": 33_554_432},
    "directory": {"results": 500, "filter_bytes": 4_000, "filter_comparisons": 100, "filter_brackets": 16,
        "patch_operations": 100},
    "calendars": {"calendars": 100, "rules": 200, "rule_squads": 100, "text_bytes": 10_485_760, "components": 50_000,
        "component_properties": 20_000, "uid_bytes": 500, "rule_dates": 10_000, "dates": 200_000, "instances": 20_000, "held": 30_000,
        "reach_days": 366, "feed_seconds": 3_600},
    "plans": {"weeks": 60, "entries": 1_000, "sessions": 3_000, "typed_weeks": 26, "squad_athletes": null,
        "contact_items": 60},
    "ranges": {"days": 1_100, "weeks": 160, "rehearsal_weeks": 80},
    "entries": {"report_ahead_seconds": 600, "report_late_days": 14, "event_ahead_days": 1_098, "event_invited": 500,
        "absence_days": 370,
        "exercises": 200, "exercise_prerequisites": 10, "programmes": 500, "programme_weeks": 60, "programme_items": 5_000,
        "programme_lines": 6_000, "item_note_characters": 200, "assignment_changes": 500, "open_questions": 10, "question_characters": 1_000},
    "changes": {"reach_back_days": null},
    "tokens": {"token_bytes": 8_192, "clock_skew_seconds": 10, "page_link_seconds": 604_800},
    "webhooks": {"answer_seconds": 20, "answer_bytes": 64_000, "tried_seconds": 272_105, "old_secret_seconds": 86_400},
    "mail": {"mails": 500, "window_seconds": 86_400},
    "sandboxes": {"sandboxes": 8, "kept_seconds": 604_800, "forward_seconds": 31_449_600, "all_forward_seconds": 314_496_000}}))]
pub struct LimitsAnswer {
    /// Of every request.
    requests: RequestLimits,
    /// Of how many requests come; null where there is no quota.
    rate_limit: Option<RateLimits>,
    /// Of lists.
    pages: PageLimits,
    /// Of `…/sessions/bulk`.
    bulk: BulkLimits,
    /// Of `…/roster/imports`.
    rosters: RosterLimits,
    /// Of directories, by SCIM.
    directory: DirectoryLimits,
    /// Of calendars, sent or fetched.
    calendars: CalendarLimits,
    /// Of `…/plan-checks` and `…/change-proposals`.
    plans: PlanLimits,
    /// Of the time that one read may span.
    ranges: RangeLimits,
    /// Of what is entered.
    entries: EntryLimits,
    /// Of `…/changes`.
    changes: ChangeLimits,
    /// Of access tokens, and of links in their place.
    tokens: TokenLimits,
    /// Of receivers of webhooks.
    webhooks: WebhookLimits,
    /// Of a club's mail.
    mail: MailLimits,
    /// Of sandboxes.
    sandboxes: SandboxLimits,
}

impl LimitsAnswer {
    /// The limits of the running program.
    pub fn of(app: &App) -> Self {
        Self {
            requests: RequestLimits::enforced(),
            rate_limit: RateLimits::of(&app.limiter),
            pages: PageLimits::enforced(),
            bulk: BulkLimits::enforced(),
            rosters: RosterLimits::enforced(),
            directory: DirectoryLimits::enforced(),
            calendars: CalendarLimits::enforced(),
            plans: PlanLimits::enforced(),
            ranges: RangeLimits::enforced(),
            entries: EntryLimits::enforced(),
            changes: ChangeLimits {
                reach_back_days: None,
            },
            tokens: TokenLimits::of(&app.config),
            webhooks: WebhookLimits::enforced(),
            mail: MailLimits::of(&app.config),
            sandboxes: SandboxLimits::enforced(),
        }
    }
}

/// Limits of directories.
#[derive(Debug, Serialize, ToSchema)]
pub struct DirectoryLimits {
    /// Most resources of an answer.
    results: usize,
    /// Longest filter or path.
    filter_bytes: usize,
    /// Most comparisons of a filter.
    filter_comparisons: usize,
    /// Most brackets within each other.
    filter_brackets: usize,
    /// Most operations of a patch.
    patch_operations: usize,
}

impl DirectoryLimits {
    fn enforced() -> Self {
        Self {
            results: discovery::MOST_RESULTS,
            filter_bytes: parse::LONGEST,
            filter_comparisons: parse::MOST_COMPARISONS,
            filter_brackets: parse::DEEPEST,
            patch_operations: patch::MOST_OPERATIONS,
        }
    }
}

/// Limits of every request.
#[derive(Debug, Serialize, ToSchema)]
pub struct RequestLimits {
    /// The head has to be there in this time.
    head_seconds: u64,
    /// A body has to be there in this time, a stream of NDJSON excepted.
    body_seconds: u64,
    /// Most bytes of a body.
    body_bytes: usize,
    /// Most bytes of a body of many rows, a stream of NDJSON excepted. A calendar's text has its own limit.
    bulk_body_bytes: usize,
    /// So many further bytes of any body have to arrive within `slice_seconds`.
    slice_bytes: usize,
    /// The time for `slice_bytes`.
    slice_seconds: u64,
    /// An answer has to be taken in this time; null where the service's system has no such limit.
    unread_answer_seconds: Option<u64>,
    /// A connection without requests is kept this long.
    idle_seconds: u64,
    /// Longest `Idempotency-Key`.
    idempotency_key_bytes: usize,
    /// The answer is kept this long for its `Idempotency-Key`.
    idempotency_key_seconds: i64,
}

impl RequestLimits {
    fn enforced() -> Self {
        Self {
            head_seconds: server::HEAD_TIME.as_secs(),
            body_seconds: body::WHOLE.as_secs(),
            body_bytes: body::LIMIT,
            bulk_body_bytes: body::BULK_LIMIT,
            slice_bytes: body::SLICE,
            slice_seconds: body::SLICE_TIME.as_secs(),
            unread_answer_seconds: server::UNREAD_TIME.map(|time| time.as_secs()),
            idle_seconds: server::KEEP_ALIVE.as_secs(),
            idempotency_key_bytes: requests::LONGEST_KEY,
            idempotency_key_seconds: write::ANSWERS_KEPT.as_secs(),
        }
    }
}

/// The quota of each token, and of each address without one, as the `RateLimit-Policy` field says it.
#[derive(Debug, Serialize, ToSchema)]
pub struct RateLimits {
    /// Requests in a window.
    requests: u32,
    /// The length of the window.
    window_seconds: u32,
}

impl RateLimits {
    fn of(limiter: &Limiter) -> Option<Self> {
        limiter.quota().map(|requests| Self {
            requests,
            window_seconds: WINDOW_SECONDS,
        })
    }
}

/// Limits of lists.
#[derive(Debug, Serialize, ToSchema)]
pub struct PageLimits {
    /// Rows of a page where `limit` is not given.
    usual_rows: usize,
    /// The highest `limit`.
    most_rows: usize,
    /// Most athletes that are found by a name.
    found_athletes: i64,
}

impl PageLimits {
    fn enforced() -> Self {
        Self {
            usual_rows: page::DEFAULT_LIMIT,
            most_rows: page::MAX_LIMIT,
            found_athletes: search::MOST,
        }
    }
}

/// Limits of many session reports at once.
#[derive(Debug, Serialize, ToSchema)]
pub struct BulkLimits {
    /// Most rows of JSON or CSV.
    rows: usize,
    /// Most lines of NDJSON; always null.
    ndjson_rows: Option<usize>,
    /// Most bytes of a line of NDJSON, without its line feed.
    ndjson_line_bytes: usize,
    /// Most columns of CSV, here and in rosters.
    csv_columns: usize,
}

impl BulkLimits {
    fn enforced() -> Self {
        Self {
            rows: bulk::MOST_ROWS,
            ndjson_rows: None,
            ndjson_line_bytes: bulk::LONGEST_LINE,
            csv_columns: table::MOST_COLUMNS,
        }
    }
}

/// Limits of a roster.
#[derive(Debug, Serialize, ToSchema)]
pub struct RosterLimits {
    /// Most rows of JSON, squads and athletes together, and of CSV.
    rows: usize,
    /// Most bytes of a row of JSON.
    row_bytes: usize,
    /// Most squads, and most guardians, of one athlete.
    links: usize,
    /// Most files of a OneRoster package.
    package_files: usize,
    /// Most bytes of a package's files together, inflated.
    package_bytes: u64,
    /// Most lines of one file of a package.
    package_lines: u64,
    /// Most roster sources of a club.
    sources: i64,
    /// Most hours between two pulls of a source.
    source_hours: i64,
    /// Most pages of a roster that is pulled.
    source_pages: usize,
    /// Most bytes of one of its pages.
    source_page_bytes: usize,
    /// Most bytes of its pages together.
    source_bytes: usize,
}

impl RosterLimits {
    fn enforced() -> Self {
        Self {
            rows: roster::MOST_ROWS,
            row_bytes: roster::MOST_ROW_BYTES,
            links: MOST_LINKS,
            package_files: oneroster::MOST_ENTRIES,
            package_bytes: oneroster::MOST_BYTES,
            package_lines: oneroster::MOST_LINES,
            sources: sources::MOST_SOURCES,
            source_hours: sources::MOST_HOURS,
            source_pages: fetch::MOST_PAGES,
            source_page_bytes: fetch::MOST_PAGE_BYTES,
            source_bytes: fetch::MOST_BYTES,
        }
    }
}

/// Limits of calendars.
#[derive(Debug, Serialize, ToSchema)]
pub struct CalendarLimits {
    /// Most calendars of a club.
    calendars: i64,
    /// Most rules of a calendar.
    rules: usize,
    /// Most squads of a rule.
    rule_squads: usize,
    /// Most bytes of a text.
    text_bytes: usize,
    /// Most components of a text, alarms and zones included.
    components: usize,
    /// Most properties of one component that are read, those of the components within it included.
    component_properties: usize,
    /// Longest UID, in bytes.
    uid_bytes: usize,
    /// Most dates of one recurrence rule; also most dates added to one event, or taken out of it.
    rule_dates: usize,
    /// Most dates of all recurrence rules of a text; also most dates added to its events or taken out of them.
    dates: usize,
    /// Most instances that a text gives.
    instances: usize,
    /// Most sessions that a calendar holds in the dates that are read, cancelled ones included.
    held: usize,
    /// So many days before and after the club's date are read.
    reach_days: i32,
    /// A feed is fetched again after this time.
    feed_seconds: i64,
}

impl CalendarLimits {
    fn enforced() -> Self {
        let bounds = Bounds::default();
        Self {
            calendars: calendars::MOST_CALENDARS,
            rules: calendars::MOST_RULES,
            rule_squads: calendars::MOST_SQUADS,
            text_bytes: bounds.bytes,
            components: bounds.components,
            component_properties: bounds.properties,
            uid_bytes: bounds.uid_bytes,
            rule_dates: bounds.dates_of_a_rule,
            dates: bounds.dates,
            instances: bounds.instances,
            held: calendars::MOST_HELD,
            reach_days: calendars::REACH_DAYS,
            feed_seconds: calendars::FEED_AGAIN.as_secs(),
        }
    }
}

/// Limits of plans that are asked about.
#[derive(Debug, Serialize, ToSchema)]
pub struct PlanLimits {
    /// Most weeks of a plan.
    weeks: usize,
    /// Most entries of each of its two lists.
    entries: usize,
    /// Most sessions that they come to when those of several weeks are counted in each.
    sessions: usize,
    /// Most weeks of a typed history.
    typed_weeks: usize,
    /// Most athletes of a squad that is checked; always null.
    squad_athletes: Option<usize>,
    /// Most items of `…/contact-checks`.
    contact_items: usize,
}

impl PlanLimits {
    fn enforced() -> Self {
        Self {
            weeks: plans::MOST_WEEKS,
            entries: plans::MOST_ENTRIES,
            sessions: plans::MOST_SESSIONS,
            typed_weeks: plans::MOST_TYPED_WEEKS,
            squad_athletes: None,
            contact_items: contact_checks::MOST_ITEMS,
        }
    }
}

/// Limits of the time that one read spans.
#[derive(Debug, Serialize, ToSchema)]
pub struct RangeLimits {
    /// Most days of `…/load`.
    days: usize,
    /// Most weeks of an athlete's `…/weeks`.
    weeks: i64,
    /// Most weeks of a rehearsal of a policy.
    rehearsal_weeks: usize,
}

impl RangeLimits {
    fn enforced() -> Self {
        Self {
            days: range::MOST_DAYS,
            weeks: range::MOST_WEEKS,
            rehearsal_weeks: rehearsal::MOST_WEEKS,
        }
    }
}

/// Limits of what is entered.
#[derive(Debug, Serialize, ToSchema)]
pub struct EntryLimits {
    /// How far the times of a session report may be ahead of the service's clock.
    report_ahead_seconds: i64,
    /// More than so many days after a session, entering and changing its report takes staff and a reason.
    report_late_days: i64,
    /// How far ahead a planned session may be.
    event_ahead_days: i64,
    /// Most squads, and most athletes by name, of a planned session.
    event_invited: usize,
    /// Most days of an absence.
    absence_days: i64,
    /// Most codes that a club adds to the catalogue of exercises.
    exercises: usize,
    /// Most prerequisites of an exercise.
    exercise_prerequisites: usize,
    /// Most programmes of a club.
    programmes: usize,
    /// Most weeks of a programme.
    programme_weeks: usize,
    /// Most items of a programme.
    programme_items: usize,
    /// Most lines of a programme as a table, its header aside.
    programme_lines: usize,
    /// Characters of the note of an item.
    item_note_characters: usize,
    /// Most changes of an assignment.
    assignment_changes: usize,
    /// Questions about one athlete that wait for an answer at a time.
    open_questions: i64,
    /// Characters of a question, and of a reply.
    question_characters: usize,
}

impl EntryLimits {
    fn enforced() -> Self {
        Self {
            report_ahead_seconds: draft::CLOCK_TOLERANCE.as_secs(),
            report_late_days: draft::CHANGE_DAYS,
            event_ahead_days: events::FURTHEST_AHEAD.as_hours() / 24,
            event_invited: events::MOST_INVITED,
            absence_days: absences::MOST_DAYS,
            exercises: exercises::MOST_OWN,
            exercise_prerequisites: exercises::MOST_PREREQUISITES,
            programmes: programmes::MOST,
            programme_weeks: programmes::MOST_WEEKS,
            programme_items: programmes::MOST_ITEMS,
            programme_lines: programmes::MOST_ROWS,
            item_note_characters: ItemNote::LONGEST,
            assignment_changes: programmes::assignments::MOST_CHANGES,
            open_questions: questions::MOST_OPEN,
            question_characters: questions::LONGEST_TEXT,
        }
    }
}

/// Limits of the list of changes.
#[derive(Debug, Serialize, ToSchema)]
pub struct ChangeLimits {
    /// How far it reaches back; always null: to the club's first change, and no cursor expires.
    reach_back_days: Option<u32>,
}

/// Limits of access tokens, and of links in their place.
#[derive(Debug, Serialize, ToSchema)]
pub struct TokenLimits {
    /// Longest token.
    token_bytes: usize,
    /// How far the issuer's clock may be from the service's.
    clock_skew_seconds: i64,
    /// How long a link to a weekly list opens it.
    page_link_seconds: i64,
}

impl TokenLimits {
    fn of(config: &Config) -> Self {
        Self {
            token_bytes: MAX_TOKEN_OCTETS,
            clock_skew_seconds: config.auth.leeway.duration().as_secs(),
            page_link_seconds: page_link::VALID.as_secs(),
        }
    }
}

/// Limits of receivers of webhooks.
#[derive(Debug, Serialize, ToSchema)]
pub struct WebhookLimits {
    /// An answer has to be there in this time, the connection included.
    answer_seconds: u64,
    /// So many bytes of an answer are read.
    answer_bytes: usize,
    /// From the first attempt to the last, each coming up to a tenth earlier or later.
    tried_seconds: i64,
    /// After a secret was changed, messages are signed with the old one too for this time.
    old_secret_seconds: i64,
}

impl WebhookLimits {
    fn enforced() -> Self {
        Self {
            answer_seconds: client::WHOLE_CALL.as_secs(),
            answer_bytes: client::MAX_ANSWER,
            tried_seconds: retry::SPAN.as_secs(),
            old_secret_seconds: signature::OVERLAP.as_secs(),
        }
    }
}

/// The quota of a club's mail.
#[derive(Debug, Serialize, ToSchema)]
pub struct MailLimits {
    /// Mails in a window; further ones wait.
    mails: u32,
    /// The length of the window.
    window_seconds: i64,
}

impl MailLimits {
    fn of(config: &Config) -> Self {
        Self {
            mails: config.mail_quota,
            window_seconds: mail_hold::SPAN.as_secs(),
        }
    }
}

/// Limits of sandboxes, where there are any.
#[derive(Debug, Serialize, ToSchema)]
pub struct SandboxLimits {
    /// Most sandboxes at once.
    sandboxes: usize,
    /// One ends after this time.
    kept_seconds: i64,
    /// As far as a clock goes in one call.
    forward_seconds: i64,
    /// As far as it goes from where it began.
    all_forward_seconds: i64,
}

impl SandboxLimits {
    fn enforced() -> Self {
        Self {
            sandboxes: sandboxes::MOST,
            kept_seconds: sandboxes::KEPT.as_secs(),
            forward_seconds: sandboxes::AT_ONCE.as_secs(),
            all_forward_seconds: sandboxes::IN_ALL.as_secs(),
        }
    }
}

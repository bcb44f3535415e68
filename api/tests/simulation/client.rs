//! A club's app: it writes, and writes again under the same key when it heard nothing.

use actix_web::test::TestRequest;
use jiff::{SignedDuration, Timestamp};
use plimsoll_api::app::App;
use plimsoll_api::auth::tenant::Caller;
use plimsoll_api::error::Problem;
use plimsoll_api::ids::{NoticeEndpointId, NoticeId};
use plimsoll_api::services::sessions::{self, SessionInput};
use plimsoll_api::services::write::{self, Change};
use plimsoll_api::services::{notice_endpoints, notices};
use plimsoll_api::store::Tenant;
use plimsoll_api::web::reply::Reply;
use plimsoll_api::web::write::WriteRequest;
use serde_json::{Value, json};

/// Keys are kept for 24 h; nobody may count on one for longer.
const COUNTED_ON: SignedDuration = SignedDuration::from_hours(23);

/// What is written.
#[derive(Clone, Copy)]
pub(crate) enum Kind {
    /// A report, new or amended. Its note is the key, so that each can be found.
    Report,
    /// A notice of the kind test.
    TestNotice(NoticeEndpointId),
}

/// A write that a client has sent, once or more often.
pub(crate) struct Sent {
    pub(crate) tenant: Tenant,
    pub(crate) kind: Kind,
    pub(crate) key: String,
    body: Value,
    /// The earliest and the latest time on the clocks of those it was sent to.
    times: (Timestamp, Timestamp),
    /// Status and body of the answer.
    pub(crate) answer: Option<(u16, Vec<u8>)>,
}

impl Sent {
    pub(crate) fn new(
        tenant: Tenant,
        kind: Kind,
        key: String,
        mut body: Value,
        now: Timestamp,
    ) -> Self {
        if matches!(kind, Kind::Report) {
            body["note"] = json!(key);
        }
        Self {
            tenant,
            kind,
            key,
            body,
            times: (now, now),
            answer: None,
        }
    }

    /// Whether the key can be counted on where the clock shows `now`.
    pub(crate) fn may_be_sent_again(&self, now: Timestamp) -> bool {
        let (first, last) = self.times;
        now < first + COUNTED_ON && last < now + COUNTED_ON
    }

    /// The call, ready to be made.
    pub(crate) async fn call(
        &mut self,
        app: App,
    ) -> impl Future<Output = Result<Reply, Problem>> + 'static + use<> {
        let now = app.clock.now();
        self.times = (self.times.0.min(now), self.times.1.max(now));
        let (kind, caller) = (self.kind, Caller::system(self.tenant, "club-app", now));
        let (http, payload) = TestRequest::post()
            .uri("/v1/writes")
            .insert_header(("idempotency-key", self.key.clone()))
            .set_json(&self.body)
            .to_http_parts();
        let request = WriteRequest::read(&http, payload, 1 << 20).await.unwrap();
        async move {
            let sent = request.clone();
            write::run(&app, caller, &request, move |change| match kind {
                Kind::Report => report(change, &sent.json()?),
                Kind::TestNotice(endpoint) => test_notice(change, endpoint),
            })
            .await
        }
    }

    /// Takes an answer: the second to the same key is the first, byte by byte.
    pub(crate) fn answered(&mut self, reply: Reply) {
        let answer = (reply.status, reply.body);
        if let Some(first) = &self.answer {
            assert_eq!(
                *first, answer,
                "{} is answered otherwise than before",
                self.key
            );
        }
        self.answer = Some(answer);
    }

    /// Whether it was answered with success.
    pub(crate) fn succeeded(&self) -> bool {
        let status = self.answer.as_ref().map(|(status, _)| *status);
        status.is_some_and(|status| (200..300).contains(&status))
    }

    /// The notice that its answer names.
    pub(crate) fn notice(&self) -> Option<NoticeId> {
        let (_, body) = self.answer.as_ref()?;
        let answer: Value = serde_json::from_slice(body).unwrap();
        answer["notice_id"].as_str().map(|id| id.parse().unwrap())
    }
}

fn report(change: &mut Change<'_>, input: &SessionInput) -> Result<Reply, Problem> {
    let written = sessions::create(change, input)?;
    Reply::json(if written.created { 201 } else { 200 }, &written.answer)
}

fn test_notice(change: &mut Change<'_>, endpoint: NoticeEndpointId) -> Result<Reply, Problem> {
    let endpoint = notice_endpoints::require_enabled(change, endpoint)?;
    let notice = notices::enqueue_test(change, &endpoint)?;
    Reply::json(202, &json!({ "notice_id": notice }))
}

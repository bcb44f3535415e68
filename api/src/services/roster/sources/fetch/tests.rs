//! Roster apps that answer as they are told, and everything that can go wrong on the way.

use serde_json::{Value, json};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpListener;
use wiremock::matchers::{header, header_exists, method, path, query_param};
use wiremock::{Mock, MockServer, ResponseTemplate};

use super::super::{RosterSourceInput, empty, set};
use super::*;
use crate::delivery::guard::Reach;

fn now() -> Timestamp {
    "2026-11-09T07:00:00Z".parse().unwrap()
}

fn source(url: &str, paging: &Value) -> StoredRosterSource {
    let input = json!({
        "name": "Register", "url": url, "mode": "full", "paging": paging,
        "credentials": { "kind": "header", "name": "X-Api-Key", "value": "4f1c" },
        "people": { "list": "/people", "external_id": "/id", "display_name": "/name" },
    });
    let input: RosterSourceInput = serde_json::from_value(input).unwrap();
    let new = empty(uuid::Uuid::nil().into(), "club-app", now());
    set(&new, &input, Reach::WithLoopback, now()).unwrap()
}

fn people(ids: &[u32]) -> Value {
    Value::from_iter(
        ids.iter()
            .map(|id| json!({ "id": id, "name": format!("Player {id}") })),
    )
}

fn page(ids: &[u32]) -> ResponseTemplate {
    ResponseTemplate::new(200).set_body_json(json!({ "people": people(ids) }))
}

/// Answers on a path, to who has the key.
async fn on(app: &MockServer, at: &str, answer: ResponseTemplate) {
    let mock = Mock::given(method("GET"))
        .and(path(at))
        .and(header("X-Api-Key", "4f1c"));
    mock.respond_with(answer).expect(1).mount(app).await;
}

async fn fetched(source: &StoredRosterSource) -> Fetched {
    let client = GuardedClient::new(Reach::WithLoopback);
    roster(&client, source, now()).await.unwrap()
}

/// The external ids of a roster, and on how many pages it came.
fn ids(fetched: Fetched) -> (Vec<String>, usize) {
    let Fetched::Roster(roster) = fetched else {
        panic!("{fetched:?}")
    };
    let rows = roster.sent.athletes.into_iter();
    let ids = rows.filter_map(|row| row.content.unwrap().external_id);
    (ids.collect(), roster.pages)
}

fn failure(fetched: &Fetched) -> (PullProblem, Option<u32>) {
    let Fetched::Failed(failure) = fetched else {
        panic!("{fetched:?}")
    };
    (failure.problem, failure.retry_after)
}

#[tokio::test]
async fn pages_are_followed_by_each_of_the_ways() {
    let app = MockServer::start().await;
    let linked = page(&[1, 2]).insert_header("Link", "</linked/2>; rel=\"next\"");
    on(&app, "/linked", linked.insert_header("ETag", "\"a\"")).await;
    on(&app, "/linked/2", page(&[3])).await;
    let linked = source(
        &format!("{}/linked", app.uri()),
        &json!({ "kind": "link_header" }),
    );
    let found = fetched(&linked).await;
    let Fetched::Roster(roster) = &found else {
        panic!("{found:?}")
    };
    assert_eq!(
        roster.validators,
        (None, None),
        "the first page says nothing of the others"
    );
    assert_eq!(
        ids(found),
        (vec!["1".to_owned(), "2".to_owned(), "3".to_owned()], 2)
    );

    let first =
        json!({ "people": people(&[1]), "links": { "next": format!("{}/named/2", app.uri()) } });
    on(
        &app,
        "/named",
        ResponseTemplate::new(200).set_body_json(first),
    )
    .await;
    let last = json!({ "people": people(&[2]), "links": { "next": null } });
    on(
        &app,
        "/named/2",
        ResponseTemplate::new(200).set_body_json(last),
    )
    .await;
    let paging = json!({ "kind": "next_pointer", "pointer": "/links/next" });
    let named = source(&format!("{}/named", app.uri()), &paging);
    assert_eq!(
        ids(fetched(&named).await),
        (vec!["1".to_owned(), "2".to_owned()], 2)
    );

    for (number, ids) in [("0", &[1, 2][..]), ("1", &[3]), ("2", &[])] {
        let mock = Mock::given(path("/numbered"))
            .and(query_param("page", number))
            .and(query_param("club", "7"));
        mock.respond_with(page(ids)).expect(1).mount(&app).await;
    }
    let paging = json!({ "kind": "page_parameter", "parameter": "page", "first": 0 });
    let numbered = source(&format!("{}/numbered?club=7", app.uri()), &paging);
    assert_eq!(ids(fetched(&numbered).await).1, 3);
}

#[tokio::test]
async fn a_document_that_is_there_already_is_not_sent_again() {
    let app = MockServer::start().await;
    let same =
        Mock::given(header("If-None-Match", "\"a\"")).and(header_exists("If-Modified-Since"));
    same.respond_with(ResponseTemplate::new(304))
        .expect(1)
        .mount(&app)
        .await;
    let first = page(&[1])
        .insert_header("ETag", "\"a\"")
        .insert_header("Last-Modified", "Sun, 08 Nov 2026 10:00:00 GMT");
    on(&app, "/", first).await;
    let mut source = source(&app.uri(), &json!({ "kind": "none" }));
    let Fetched::Roster(roster) = fetched(&source).await else {
        panic!("no roster")
    };
    (source.etag, source.last_modified) = roster.validators;
    assert!(matches!(fetched(&source).await, Fetched::Same));
    // An app that says so without having been asked has sent nothing.
    app.reset().await;
    Mock::given(method("GET"))
        .respond_with(ResponseTemplate::new(304))
        .mount(&app)
        .await;
    (source.etag, source.last_modified) = (None, None);
    assert_eq!(
        failure(&fetched(&source).await),
        (PullProblem::Refused, None)
    );
}

#[tokio::test]
async fn what_is_not_a_whole_roster_is_none() {
    let answer = ResponseTemplate::new;
    let text = |body: &str| answer(200).set_body_string(body);
    let when = "Mon, 09 Nov 2026 07:02:00 GMT";
    for (given, problem, retry_after) in [
        (answer(401), PullProblem::NotAuthorised, None),
        (answer(403), PullProblem::NotAuthorised, None),
        (
            answer(429).insert_header("Retry-After", "120"),
            PullProblem::TooManyRequests,
            Some(120),
        ),
        (
            answer(429).insert_header("Retry-After", when),
            PullProblem::TooManyRequests,
            Some(120),
        ),
        (answer(500), PullProblem::Refused, None),
        (
            answer(503).insert_header("Retry-After", "60"),
            PullProblem::Refused,
            Some(60),
        ),
        (
            answer(302).insert_header("Location", "/other"),
            PullProblem::Refused,
            None,
        ),
        (answer(204), PullProblem::Refused, None),
        (
            text("{\"people\": [{\"id\": 1}, {\"id\""),
            PullProblem::NotJson,
            None,
        ),
        (
            text("<html>Please sign in</html>"),
            PullProblem::NotJson,
            None,
        ),
        (text("{\"players\": []}"), PullProblem::ShapeChanged, None),
        (
            text(&"x".repeat(MOST_PAGE_BYTES + 1)),
            PullProblem::TooLong,
            None,
        ),
    ] {
        let app = MockServer::start().await;
        Mock::given(path("/"))
            .respond_with(given)
            .expect(1)
            .mount(&app)
            .await;
        Mock::given(path("/other"))
            .respond_with(page(&[1]))
            .expect(0)
            .mount(&app)
            .await;
        let source = source(&app.uri(), &json!({ "kind": "none" }));
        assert_eq!(failure(&fetched(&source).await), (problem, retry_after));
    }
}

#[tokio::test]
async fn a_later_page_that_fails_leaves_nothing_of_the_earlier_ones() {
    let app = MockServer::start().await;
    on(
        &app,
        "/a",
        page(&[1]).insert_header("Link", "</b>; rel=next"),
    )
    .await;
    on(
        &app,
        "/b",
        page(&[2]).insert_header("Link", "</c>; rel=next"),
    )
    .await;
    on(&app, "/c", ResponseTemplate::new(500)).await;
    let source = source(
        &format!("{}/a", app.uri()),
        &json!({ "kind": "link_header" }),
    );
    assert_eq!(failure(&fetched(&source).await).0, PullProblem::Refused);
}

#[tokio::test]
async fn another_origin_is_never_called() {
    let (app, other) = (MockServer::start().await, MockServer::start().await);
    Mock::given(method("GET"))
        .respond_with(page(&[2]))
        .expect(0)
        .mount(&other)
        .await;
    let link = format!("<{}/people>; rel=next", other.uri());
    on(&app, "/", page(&[1]).insert_header("Link", link.as_str())).await;
    let source = source(&app.uri(), &json!({ "kind": "link_header" }));
    assert_eq!(failure(&fetched(&source).await).0, PullProblem::OtherOrigin);
}

#[tokio::test]
async fn pages_that_never_end_are_given_up() {
    let app = MockServer::start().await;
    let linked = page(&[1]).insert_header("Link", "</>; rel=next");
    Mock::given(path("/"))
        .respond_with(linked)
        .expect(1)
        .mount(&app)
        .await;
    let looping = source(
        &format!("{}/", app.uri()),
        &json!({ "kind": "link_header" }),
    );
    assert_eq!(
        failure(&fetched(&looping).await).0,
        PullProblem::PagingLoops
    );
    // An app that reads over the number of the page.
    Mock::given(path("/all"))
        .respond_with(page(&[1]))
        .expect(2)
        .mount(&app)
        .await;
    let paging = json!({ "kind": "page_parameter", "parameter": "page" });
    let repeated = source(&format!("{}/all", app.uri()), &paging);
    assert_eq!(
        failure(&fetched(&repeated).await).0,
        PullProblem::PagingLoops
    );
    let endless = |request: &wiremock::Request| {
        let number: u32 = request.url.query_pairs().next().unwrap().1.parse().unwrap();
        page(&[number])
    };
    let most = u64::try_from(MOST_PAGES).unwrap();
    Mock::given(path("/endless"))
        .respond_with(endless)
        .expect(most)
        .mount(&app)
        .await;
    let endless = source(&format!("{}/endless", app.uri()), &paging);
    assert_eq!(failure(&fetched(&endless).await).0, PullProblem::TooLong);
}

#[tokio::test]
async fn half_a_body_and_a_slow_one_are_none() {
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = format!("http://{}/", listener.local_addr().unwrap());
    let serving = tokio::spawn(async move {
        let (mut stream, _) = listener.accept().await.unwrap();
        let _ = stream.read(&mut [0; 4_096]).await;
        let half = "HTTP/1.1 200 OK\r\ncontent-length: 1000\r\n\r\n{\"people\": [{\"id\": 1}]}";
        stream.write_all(half.as_bytes()).await.unwrap();
    });
    let cut_off = source(&address, &json!({ "kind": "none" }));
    assert_eq!(
        failure(&fetched(&cut_off).await).0,
        PullProblem::Unreachable
    );
    serving.await.unwrap();
    let app = MockServer::start().await;
    on(&app, "/", page(&[1]).set_delay(Duration::from_secs(5))).await;
    let slow = source(&app.uri(), &json!({ "kind": "none" }));
    let client = GuardedClient::new(Reach::WithLoopback);
    let found = within(Duration::from_millis(300), &client, &slow, now()).await;
    assert_eq!(failure(&found.unwrap()).0, PullProblem::TimedOut);
}

#[tokio::test]
async fn who_asked_to_wait_and_who_may_not_be_called_is_not_called() {
    let app = MockServer::start().await;
    Mock::given(method("GET"))
        .respond_with(page(&[1]))
        .expect(0)
        .mount(&app)
        .await;
    let mut source = source(&app.uri(), &json!({ "kind": "none" }));
    let strict = GuardedClient::new(Reach::Global);
    let blocked = roster(&strict, &source, now()).await.unwrap();
    assert_eq!(failure(&blocked).0, PullProblem::Blocked);
    source.not_before = Some(now() + Duration::from_secs(1));
    assert_eq!(
        failure(&fetched(&source).await).0,
        PullProblem::TooManyRequests
    );
}

#[tokio::test]
async fn the_first_page_shows_what_is_missing() {
    let app = MockServer::start().await;
    let body =
        json!({ "people": [{ "id": 1, "name": "Runa Falk" }, { "id": 2 }, { "name": "Ida" }] });
    let first = ResponseTemplate::new(200)
        .set_body_json(body)
        .insert_header("Link", "</b>; rel=next");
    on(&app, "/", first).await;
    let source = source(&app.uri(), &json!({ "kind": "link_header" }));
    let client = GuardedClient::new(Reach::WithLoopback);
    let fetched = first_page(&client, &source, now()).await.unwrap();
    let told = super::super::tell(fetched, jiff::civil::date(2026, 11, 9));
    assert_eq!(
        (told.people, told.has_next, told.rows.len(), &told.problem),
        (3, true, 3, &None)
    );
    let missing: Vec<_> = told
        .not_found
        .iter()
        .map(|one| (one.field, one.people))
        .collect();
    assert_eq!(missing, [("display_name", 1), ("external_id", 1)]);
    assert_eq!(told.rows[2].problems[0].pointer, "/external_id");
    assert!(told.rows[2].athlete.is_none() && told.rows[1].problems.is_empty());
}

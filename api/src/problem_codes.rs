//! Every code the service answers with: one row each, with status, cause and remedy.

use serde::{Serialize, Serializer};

/// Declares [`Code`] and its table from one list.
macro_rules! codes {
    ($($name:ident $code:literal $status:literal $title:literal
        cause $cause:literal remedy $remedy:literal;)+) => {
        /// A stable code of a problem or a warning.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
        #[allow(missing_docs, reason = "each row of the table says what it is")]
        pub enum Code { $($name),+ }

        impl Code {
            /// Every code, in the order of the table.
            pub const ALL: &'static [Code] = &[$(Code::$name),+];

            /// The stable snake_case code.
            pub const fn code(self) -> &'static str {
                match self { $(Code::$name => $code),+ }
            }

            /// The HTTP status it is answered with; 422 for a field, 200 for a warning.
            pub const fn status(self) -> u16 {
                match self { $(Code::$name => $status),+ }
            }

            /// A short title.
            pub const fn title(self) -> &'static str {
                match self { $(Code::$name => $title),+ }
            }

            /// What brings it about.
            pub const fn cause(self) -> &'static str {
                match self { $(Code::$name => $cause),+ }
            }

            /// What to do about it.
            pub const fn remedy(self) -> &'static str {
                match self { $(Code::$name => $remedy),+ }
            }
        }
    };
}

codes! {
    // Whole requests
    NotJson "not_json" 400 "The body is not JSON"
        cause "The body could not be read as UTF-8 JSON (RFC 8259); the detail names line and column."
        remedy "Send one JSON document, UTF-8, without a byte order mark, at most 128 levels deep.";
    NotCsv "not_csv" 400 "The body is not CSV"
        cause "The body could not be read as CSV (RFC 4180) with a header line; the detail names the line."
        remedy "Send UTF-8 with a header line, comma or semicolon between cells.";
    BadQuery "bad_query" 400 "A query parameter is wrong"
        cause "A parameter is unknown, repeated, or has a value that cannot be read."
        remedy "See errors for the parameter and what it may be.";
    BadCursor "bad_cursor" 400 "The cursor does not belong here"
        cause "The value of `after` was changed, cut, or made for another filter."
        remedy "Start again without `after`, and follow the Link header as given.";
    BadHeader "bad_header" 400 "A header is wrong"
        cause "A header that this call reads has a value that cannot be used."
        remedy "See the detail for the header and what it may be.";
    InvalidFilter "invalid_filter" 400 "The filter cannot be used"
        cause "The filter of a directory's question (RFC 7644) cannot be read, or compares what is not kept or cannot be compared."
        remedy "See the detail; /Schemas lists the attributes that there are.";
    InvalidPath "invalid_path" 400 "The path leads nowhere"
        cause "The path of a directory's patch (RFC 7644) cannot be read, or names what no schema has."
        remedy "See the detail; /Schemas lists the attributes that there are.";
    NoTarget "no_target" 400 "There is nothing to change"
        cause "The filter in the path of a directory's patch picks no value, or a removal has no path."
        remedy "Read the resource again, and name a value that is there.";
    NotToBeSet "not_to_be_set" 400 "That is not the caller's to set"
        cause "A directory's patch names what only the service sets, such as the groups of a user."
        remedy "Change what it follows from: of the groups of a user, the members of the group.";
    NotOfSchema "not_of_schema" 400 "No schema has that"
        cause "A directory's body has an attribute that no schema of the resource has, perhaps a misspelling, or is not of the form of its schema."
        remedy "See the detail; /Schemas lists the attributes that there are.";
    InvalidValue "invalid_value" 400 "An attribute does not take that value"
        cause "A directory's body has a value of another type, or one that the attribute cannot have."
        remedy "See the detail; /Schemas says what each attribute takes.";
    Unauthenticated "unauthenticated" 401 "Who is asking is not known"
        cause "There is no bearer token, or it is expired, malformed, or not signed by a configured issuer."
        remedy "Get a fresh access token and send it as `Authorization: Bearer …`.";
    RoleMayNot "role_may_not" 403 "This role may not do that"
        cause "The acting role has no right to this operation."
        remedy "Act in a role that has it, or ask the club's administrator.";
    ActingRoleRequired "acting_role_required" 403 "Say in which role you act"
        cause "The token carries several roles, and a request acts in exactly one."
        remedy "Name one of the token's roles in the `Acting-Role` header.";
    LicenceNotOnFile "licence_not_on_file" 403 "No licence is on file"
        cause "Restrictions and clearance records come from an athletic trainer whose licence the club has on file and which has not expired."
        remedy "Ask the club's administrator to put the licence on file under licences.";
    OwnRecord "own_record" 403 "Nobody decides about herself"
        cause "The token is the athlete's own, or a guardian's of hers: restrictions, clearances and sign-offs come from somebody else."
        remedy "Let another licensed clinician enter it, or another coach sign it off.";
    GuardianDecides "guardian_decides" 403 "Her guardians decide"
        cause "The athlete has not reached the age from which athletes of the club decide for themselves, or her birth date is not known."
        remedy "Let a guardian consent or withdraw; the athlete may always read what was consented to.";
    AthleteDecides "athlete_decides" 403 "The athlete decides"
        cause "The athlete has reached the age from which athletes of the club decide for themselves; what guardians gave holds until she changes it."
        remedy "Let the athlete consent or withdraw herself.";
    ConsentMissing "consent_missing" 403 "Nobody has consented to it"
        cause "The family was not asked, or has consented for another time, and this is read by consent alone."
        remedy "Ask whom the detail names; it is given under the athlete's consents.";
    ConsentWithdrawn "consent_withdrawn" 403 "The consent was withdrawn"
        cause "The family has withdrawn its consent to this being read."
        remedy "Ask whom the detail names, and respect a no; it is given anew under the athlete's consents.";
    ForeignForm "foreign_form" 403 "The form is not from this page"
        cause "A page's form came without the page's token, or from another origin."
        remedy "Open the page again and send the form from there.";
    NotFound "not_found" 404 "Not found"
        cause "It does not exist, belongs to another club, or is outside the caller's reach."
        remedy "Check the id and the club; ask the club's administrator about your reach.";
    MethodNotAllowed "method_not_allowed" 405 "This path does not take that method"
        cause "The path exists, the method does not."
        remedy "Use one of the methods in the Allow header.";
    NotAcceptable "not_acceptable" 406 "No such representation"
        cause "The Accept header asks for a type this call does not answer with, or for PDF of a program that was built without it."
        remedy "Ask for a type the documentation lists.";
    BodyTooSlow "body_too_slow" 408 "The body came too slowly"
        cause "The whole body must arrive in 30 s, and at 1 kB/s or more."
        remedy "Send it again on a better line, or in smaller calls.";
    Conflict "conflict" 409 "It collides with something that exists"
        cause "Another record already holds a value that must be unique, such as an external id."
        remedy "Read the existing record and change that one, or use another value.";
    AnswerErased "answer_erased" 409 "It was done, and its answer was erased"
        cause "The request of this Idempotency-Key was carried out. An athlete's records were erased since, and with them every answer kept for repeated requests, which could repeat them."
        remedy "Do not send it again under another key; read the record to see how it stands.";
    WrittenClearanceRequired "written_clearance_required" 409 "Only a written clearance ends it"
        cause "The restriction waits for a clearance in writing under local law: it is neither removed, nor ended, nor begun later."
        remedy "Record the clinician's decision under clearance-records and name the restriction in it.";
    SourceChanged "source_changed" 409 "The source was changed meanwhile"
        cause "Somebody changed or removed the roster source, or it was pulled by itself, while its pages were fetched; nothing was taken."
        remedy "Read the source, and pull again.";
    SecondCopyJoined "second_copy_joined" 409 "One of the records is part of another already"
        cause "The second record was taken for the same person as another one before, or is one that others were taken to be."
        remedy "Decide two_people or open for that other pair first.";
    SecondCopyHasRecords "second_copy_has_records" 409 "The second record holds more than can be carried over"
        cause "Results of tests, restrictions, consents, sign-offs and the like are decided about one person and never moved to another record."
        remedy "Enter what still holds for the first record and remove it from the second, or leave them two records.";
    PreconditionFailed "precondition_failed" 412 "It has changed since you read it"
        cause "The If-Match value is not the current ETag."
        remedy "Read it again, apply your change to what is there now, and send the new ETag.";
    BodyTooLarge "body_too_large" 413 "The body is too large"
        cause "A body may have 8 MiB, a bulk call 32 MiB and 10,000 rows, a calendar's text 10 MiB."
        remedy "Split the call; the NDJSON bulk call has no cap.";
    WrongContentType "wrong_content_type" 415 "The body has the wrong type"
        cause "The Content-Type is missing or not one this call reads, or a Content-Encoding was used."
        remedy "Send the type the documentation lists, uncompressed.";
    Invalid "invalid" 422 "A field is wrong"
        cause "The body was read, but a field is missing, unknown or out of range."
        remedy "See errors: each names the field, the value given and what is allowed.";
    IdempotencyKeyReused "idempotency_key_reused" 422 "That key was used for something else"
        cause "The same Idempotency-Key came with a different body or query in the last 24 hours."
        remedy "Use a new key for new content; repeat the exact request to get its answer again.";
    PreconditionRequired "precondition_required" 428 "Say which version you are changing"
        cause "Changing or deleting needs an If-Match header with the ETag you read."
        remedy "Read the resource, then send its ETag in If-Match.";
    TooManyRequests "too_many_requests" 429 "Too many requests"
        cause "The quota in the RateLimit-Policy field is used up."
        remedy "Wait for the seconds in Retry-After.";
    Internal "internal" 500 "Something failed on our side"
        cause "A defect. It was logged under the request id."
        remedy "Repeat later with the same Idempotency-Key; report the request id if it stays.";
    Busy "busy" 503 "Too busy right now"
        cause "No database connection was free within one second, other sheets were being made as PDF, or the database is away."
        remedy "Wait for the seconds in Retry-After and repeat with the same Idempotency-Key.";
    StatementTimeout "statement_timeout" 503 "The database took too long"
        cause "A statement or a lock ran past its time limit and was stopped; nothing was stored."
        remedy "Repeat with the same Idempotency-Key; narrow the range if it stays.";
    OutcomeUnknown "outcome_unknown" 504 "It is not known whether it was stored"
        cause "The connection to the database was lost while the change was being committed."
        remedy "Repeat with the same Idempotency-Key: it is stored once whatever happened.";
    StorageFull "storage_full" 507 "The disk is full"
        cause "The database has no space left; nothing was stored. Reading goes on, save for one athlete's record: its audit row cannot be stored."
        remedy "Tell the operator; repeat with the same Idempotency-Key afterwards.";

    // Any field
    MissingField "missing_field" 422 "A required field is missing"
        cause "The field is required and was not given."
        remedy "Give it.";
    UnknownField "unknown_field" 422 "There is no such field"
        cause "The body has a field this call does not know, perhaps a misspelling."
        remedy "Leave it out, or correct its name; the documentation lists the fields.";
    DuplicateField "duplicate_field" 422 "A field is there twice"
        cause "The same name occurs twice in one object."
        remedy "Send it once.";
    WrongType "wrong_type" 422 "A value has the wrong type"
        cause "A text where a number belongs, or the like."
        remedy "Send the type named in `allowed`.";
    NotANumber "not_a_number" 422 "The value is not a number"
        cause "A number is needed here."
        remedy "Send digits, with a point before decimals.";
    UnknownValue "unknown_value" 422 "The value is not one of the list"
        cause "The field takes one of a fixed list of values."
        remedy "Send one of the values in `allowed`.";
    TextTooLong "text_too_long" 422 "The text is too long"
        cause "The field has a limit on its length."
        remedy "Shorten it to the length in `allowed`.";
    TextEmpty "text_empty" 422 "The text is empty"
        cause "The field needs at least one visible character."
        remedy "Send some text.";
    TextHasControlCharacters "text_has_control_characters" 422 "The text has control characters"
        cause "Control characters, NUL among them, are not stored."
        remedy "Remove them; a note may have line breaks.";
    OutOfRange "out_of_range" 422 "The value is out of range"
        cause "The value is below or above what the field takes."
        remedy "Send a value within `allowed`.";
    InvalidDate "invalid_date" 422 "That is not a date"
        cause "A date is written YYYY-MM-DD and must exist in the calendar."
        remedy "Send, for example, 2026-09-13.";
    InvalidPointer "invalid_pointer" 422 "That is not a JSON Pointer"
        cause "A JSON Pointer (RFC 6901) is empty, or each of its names stands after a slash; ~0 is a tilde and ~1 a slash within one."
        remedy "Send, for example, /data/people, or an empty text for the whole document.";
    InvalidWeek "invalid_week" 422 "That is not an ISO week"
        cause "A week is written YYYY-Www (ISO 8601), week 53 only in years that have one."
        remedy "Send, for example, 2026-W45.";
    InvalidTime "invalid_time" 422 "That is not a time of day"
        cause "A time of day is written HH:MM, 00:00 to 23:59, without a zone."
        remedy "Send, for example, 07:00.";
    InvalidInstant "invalid_instant" 422 "That is not an instant"
        cause "An instant is written as in RFC 3339, with offset."
        remedy "Send, for example, 2026-09-13T17:30:00+02:00.";
    InvalidId "invalid_id" 422 "That is not an id"
        cause "Ids are UUIDs in their usual text form."
        remedy "Send the id as it was given to you.";
    UnknownTimeZone "unknown_time_zone" 422 "There is no such time zone"
        cause "Zones are named as in the IANA database."
        remedy "Send, for example, Europe/Copenhagen.";
    RangeReversed "range_reversed" 422 "The range ends before it begins"
        cause "`to` is before `from`."
        remedy "Swap them.";
    RangeTooLong "range_too_long" 422 "The range is too long"
        cause "The span between `from` and `to` has a limit."
        remedy "Ask for a shorter range, several times.";
    InFuture "in_future" 422 "That lies in the future"
        cause "What is reported has already happened; 10 minutes are allowed for clocks that differ, and rest may be declared a day ahead."
        remedy "Check the date, the zone and the sender's clock; the detail gives our time.";

    // Session reports
    RpeOutOfRange "rpe_out_of_range" 422 "Session RPE is out of range"
        cause "Session RPE goes from 0 to 10."
        remedy "Ask again; a slip such as 11 for 10 cannot be guessed.";
    RpeStep "rpe_step" 422 "Session RPE is off the scale's steps"
        cause "Session RPE goes in steps of 0.5."
        remedy "Send 6 or 6.5, not 6.3.";
    MinutesOutOfRange "minutes_out_of_range" 422 "Minutes are out of range"
        cause "Minutes are whole, from 1 to 600."
        remedy "Check the minutes; a day off is a rest day, not a session of 0 minutes.";
    DayFull "day_full" 422 "That day cannot hold more"
        cause "The athlete's sessions on that date would exceed 1,500 minutes, the longest civil day."
        remedy "Look for sessions sent twice under different external ids.";
    UnknownPerson "unknown_person" 422 "No such athlete in this club"
        cause "The athlete id or external id is not known here, or is outside the caller's reach."
        remedy "Add the athlete first, or correct the id.";
    AmbiguousPerson "ambiguous_person" 422 "Name the athlete once"
        cause "Exactly one of athlete_id and athlete_external_id is needed."
        remedy "Send one of the two.";
    AmbiguousDuration "ambiguous_duration" 422 "Give the duration once"
        cause "Exactly one of minutes and ended_at is needed."
        remedy "Send one of the two.";
    MissingZone "missing_zone" 422 "A local time needs a zone"
        cause "started_at has no offset and time_zone is not given."
        remedy "Send an offset, or name the zone in time_zone.";
    AmbiguousLocalTime "ambiguous_local_time" 422 "That local time happens twice"
        cause "The clocks go back over this time; the detail gives both instants."
        remedy "Send the instant that was meant, with its offset.";
    NonexistentLocalTime "nonexistent_local_time" 422 "That local time does not happen"
        cause "The clocks go forward over this time."
        remedy "Check the time, or send it with an offset.";
    GivenBeforeEnd "given_before_end" 422 "The rating was given before the session ended"
        cause "given_at is more than 10 minutes before the end of the session."
        remedy "Ask after the session; about 30 minutes after is usual.";
    ReasonRequired "reason_required" 422 "A reason is needed"
        cause "A report more than 14 days old, or a removal, needs a member of staff and a reason."
        remedy "Send reason, in a staff role.";
    RatingNotReplaceable "rating_not_replaceable" 422 "That rating stays"
        cause "An athlete's rating counts before a guardian's, and both before a coach's observation."
        remedy "Enter the observation as a report of its own, or ask the athlete to correct hers.";
    IdTaken "id_taken" 422 "That id belongs to another record"
        cause "The id or external id is in use for another athlete's record."
        remedy "Use a new id.";

    // Events of a calendar that cannot be read, while the others are
    RepeatedProperty "repeated_property" 422 "A property stands twice"
        cause "RFC 5545 lets it stand once in an event."
        remedy "Leave one of them.";
    MissingUid "missing_uid" 422 "The event has no UID"
        cause "It has none, one with control characters, or one of more than 500 bytes. Without one it cannot be told apart at the next reading."
        remedy "Give each event a UID of its own.";
    MissingStart "missing_start" 422 "The event has no DTSTART"
        cause "It is not said when it begins."
        remedy "Give it a start.";
    InvalidDuration "invalid_duration" 422 "The DURATION cannot be read"
        cause "It is not of the form of RFC 5545, 3.3.6."
        remedy "Send one such as PT90M, or DTEND.";
    InvalidSequence "invalid_sequence" 422 "The SEQUENCE cannot be read"
        cause "It is no whole number."
        remedy "Send a whole number, or leave it out.";
    ValueTypeDiffers "value_type_differs" 422 "A date stands where a time is needed, or the reverse"
        cause "Start, end, exceptions and overrides of an event are all dates or all times."
        remedy "Use the same form for all of them.";
    EndAndDuration "end_and_duration" 422 "The event has both DTEND and DURATION"
        cause "RFC 5545 allows one of them."
        remedy "Leave one out.";
    NegativeDuration "negative_duration" 422 "The event ends before it begins"
        cause "DTEND is before DTSTART."
        remedy "Mend one of the two.";
    ZeroDuration "zero_duration" 422 "The event takes no time"
        cause "It has neither DTEND nor DURATION, or less than half a minute."
        remedy "Say how long it takes.";
    DurationTooLong "duration_too_long" 422 "The event takes more than 14 days"
        cause "Sessions take hours."
        remedy "Split it, or leave it out.";
    UnsupportedRule "unsupported_rule" 422 "The recurrence rule is not followed"
        cause "RFC 5545 does not allow it, or it recurs more often than daily, or there is a second rule or an EXRULE."
        remedy "Write it as one rule of days, weeks, months or years, with EXDATE for exceptions.";
    UntilBeforeStart "until_before_start" 422 "UNTIL is before DTSTART"
        cause "The rule gives no date."
        remedy "Mend one of the two.";
    RecurrenceTooLong "recurrence_too_long" 422 "The rule gives too many dates"
        cause "COUNT, the times a day, or the dates up to a year ahead are more than 10,000."
        remedy "Begin the series later, or end it.";
    RecurrenceUnbounded "recurrence_unbounded" 422 "The rule gives no further date"
        cause "Followed to the year 2800 it gives none, as the 30th of February."
        remedy "Mend the rule.";
    UnsupportedRange "unsupported_range" 422 "The RANGE is not followed"
        cause "Only THISANDFUTURE is (RFC 5545, 3.2.13)."
        remedy "Use THISANDFUTURE, or one override for each instance.";
    RuleInOverride "rule_in_override" 422 "An override has a rule of its own"
        cause "What is said of one instance cannot recur."
        remedy "Leave the rule to the event itself.";
    DuplicateUid "duplicate_uid" 422 "The event stands twice with other content"
        cause "UID, RECURRENCE-ID, SEQUENCE and DTSTAMP are the same, so it cannot be told which is newer."
        remedy "Raise SEQUENCE or DTSTAMP of the newer one.";

    // The schedule
    UnknownEvent "unknown_event" 422 "No such event in this club"
        cause "The event id or external id is not known here, or is outside the caller's reach."
        remedy "Add the event first, or correct the id.";
    EventOfCalendar "event_of_calendar" 409 "The event comes from a calendar"
        cause "What a calendar says of an event would be said again at its next reading, and undo the change."
        remedy "Change the event in the calendar, or the calendar's rules.";
    CalendarHasFeed "calendar_has_feed" 409 "The calendar's text comes from its feed"
        cause "The next fetch would replace the text that was sent."
        remedy "Take feed_url out of the calendar first, or change the feed.";
    NotACalendar "not_a_calendar" 422 "This is no iCalendar text"
        cause "The text is not UTF-8, holds no VCALENDAR, or was cut short."
        remedy "Send the whole text as RFC 5545 has it, from BEGIN:VCALENDAR to END:VCALENDAR.";
    CalendarTooLong "calendar_too_long" 422 "The calendar is too long"
        cause "It has more than 10 MiB, 50,000 components, 20,000 properties of one event, 20,000 sessions in the two years that are read, 30,000 with those it held before, or rules of too many dates."
        remedy "Leave past events out, end rules that go on for ever, or split the calendar.";
    UnsupportedCalendar "unsupported_calendar" 422 "The calendar is of a kind that is not read"
        cause "It is of another VERSION than 2.0, of another CALSCALE than GREGORIAN, or its METHOD is not that of a whole calendar."
        remedy "Send the whole calendar, with cancelled events as STATUS:CANCELLED.";
    CalendarShrank "calendar_shrank" 422 "More than half of what is planned would be cancelled"
        cause "Of ten or more sessions to come, more than half are no longer in the calendar, or no rule names them: often a text that was cut short or emptied by mistake."
        remedy "Check the calendar and its rules; send confirm_large_removal=true where it is meant, of a feed with a PATCH.";
    AmbiguousEvent "ambiguous_event" 422 "Name one event"
        cause "Exactly one of event_id and event_external_id is needed, and the external id must belong to one event only."
        remedy "Send one of the two; event_id where two sources use the same external id.";
    NotAttended "not_attended" 422 "An absent athlete has no minutes"
        cause "Minutes and confirmation belong to one answer each: minutes to present or partial, confirmation to absent."
        remedy "Leave the field out, or correct the status.";

    // Plans
    AmbiguousHistory "ambiguous_history" 422 "Name one history"
        cause "A plan follows one history: that of an athlete, those of a squad, or one that is typed, by weeks or by days."
        remedy "Send one of those in `allowed`.";
    HistoryHole "history_hole" 422 "The history has a hole"
        cause "A load of a typed history is null. Nothing is taken for zero that was not said to be."
        remedy "Send the load, 0 where there was no training; or begin the history after the hole.";
    AmbiguousDay "ambiguous_day" 422 "Say once when it is"
        cause "A planned session is on a date, or on a weekday of some weeks of the plan."
        remedy "Send date, or weekday with in_weeks.";

    // Restrictions and clearance records
    ReviewDateRequired "review_date_required" 422 "A restriction needs a review date"
        cause "Without a review date a restriction would stand unnoticed; from that day on coaches have to ask."
        remedy "Send review_date, a day after from and at most 12 months later.";
    NotWithWrittenClearance "not_with_written_clearance" 422 "A written clearance stands alone"
        cause "Until cleared in writing the athlete takes no part: there is no last day, no limit and no further instruction."
        remedy "Leave the field out, or set limits in a restriction of their own after the clearance.";
    UnknownRestriction "unknown_restriction" 422 "No such restriction of this athlete"
        cause "The restriction id is not known here, was removed, or is another athlete's."
        remedy "Correct the id, or leave it out.";

    // Retention
    TermTwice "term_twice" 422 "That class has a term already"
        cause "A class of records is kept for one term."
        remedy "Name each class once, or leave it out to keep it without end.";

    // Consents
    Backdated "backdated" 422 "A consent does not reach back"
        cause "Nobody consents to what has already happened: a consent begins when it is received, or later."
        remedy "Leave from out, or send a later instant.";
    ConsentStands "consent_stands" 422 "It is consented to already"
        cause "For each class of data and recipient one consent stands at a time, so that a withdrawal leaves nothing behind; or the class is listed twice."
        remedy "Leave the class out; for other terms withdraw the consent that stands first.";

    UnknownSharingCode "unknown_sharing_code" 422 "That code opens nothing"
        cause "A sharing code is good once and for seven days, for another club than this one."
        remedy "Let her family get a new code in the other club, under the athlete's sharing-codes.";
    NotWithSharing "not_with_sharing" 422 "Not beside sharing with another club"
        cause "Sharing day totals with another club is a consent of its own, which begins now and goes on until it is withdrawn."
        remedy "Leave the field out.";
    StillShared "still_shared" 409 "Totals are still shared"
        cause "The organisation shares her day totals: it is not taken off the list before that consent is withdrawn there."
        remedy "Withdraw the consent in the club that shares.";

    // Clubs, people and policy
    NotUnique "not_unique" 422 "That value is taken"
        cause "Another record of the club already has this external id, or this address."
        remedy "Use that record, or another value.";
    AddressNotAllowed "address_not_allowed" 422 "That address may not be called"
        cause "A webhook goes to a public host by https on port 443 or 8443, without name, password or fragment in the URL."
        remedy "Give a URL that the service may call; see the detail for what is wrong with this one.";
    EndpointDisabled "endpoint_disabled" 422 "The endpoint is disabled"
        cause "Nothing is sent to an endpoint that is disabled, or that was deleted."
        remedy "Enable it first, with a PATCH.";
    OtherChannel "other_channel" 422 "Not for an endpoint of this channel"
        cause "A webhook is confirmed by its echo of a challenge, a club's first recipient of mail by a second person."
        remedy "POST to …/confirmation of a webhook, to …/approval of a recipient of mail.";
    InvalidAddress "invalid_address" 422 "Not one e-mail address"
        cause "Mail goes to one address of ASCII characters with a domain name: no list, no name or brackets around it, no quotes."
        remedy "Send the bare address, such as coach@club.example; a recipient each for several.";
    MailNotSetUp "mail_not_set_up" 422 "This service sends no mail"
        cause "Whoever runs the service has not said which mail server it hands mail to, from which address, or where people reach it."
        remedy "Ask the operator for the settings that the answer names (smtp_url, smtp_from, public_url), or name a webhook.";
    ChannelFixed "channel_fixed" 422 "An endpoint keeps its channel"
        cause "A webhook has a URL and a secret, a recipient of mail an address; one does not become the other."
        remedy "Delete the endpoint and name another.";
    UnknownSquad "unknown_squad" 422 "No such squad in this club"
        cause "The squad id is not known here."
        remedy "Add the squad first, or correct the id.";
    OverlappingMembership "overlapping_membership" 422 "Already a member in that time"
        cause "An athlete is in one squad at most once at a time."
        remedy "End the other membership first.";
    SecondPrimary "second_primary" 422 "There is a primary squad already"
        cause "An athlete has at most one primary squad at a time."
        remedy "End the other one, or send primary false.";
    LargeRemoval "large_removal" 422 "More than a fifth would leave"
        cause "The full roster does not name more than a fifth of the members it named before: more often a broken export than a season's end."
        remedy "Look at the plan with dry_run=true and confirm_large_removal=true; send it with confirm_large_removal=true if they did leave.";
    ContradictingRows "contradicting_rows" 422 "Rows contradict each other"
        cause "Several rows have the same external id and do not say the same."
        remedy "Send one row, or rows that agree; an external id is one person's, or one squad's.";
    BesideRejectedRow "beside_rejected_row" 422 "Another row of the same person was rejected"
        cause "The rows about one person are taken together or not at all; this one is in order, another is not."
        remedy "Mend the other row and send all rows about the person again.";
    OfOtherSource "of_other_source" 422 "The external id is another source's"
        cause "An athlete of this external id came from another client; a roster changes only those that came from its own."
        remedy "Send her with the client that made her, or under an external id of its own.";
    LeftWithMembership "left_with_membership" 422 "Who left is in no squad"
        cause "The row says that she left, and names a squad."
        remedy "Leave the squad out, or send status active.";
    OwnGuardian "own_guardian" 422 "Nobody is her own guardian"
        cause "The guardian has the external id of the athlete."
        remedy "Correct one of the two ids.";
    CircularGuardian "circular_guardian" 422 "Guardians in a circle"
        cause "The guardian has the athlete for a guardian, straight or through others."
        remedy "Correct the ids; an adult athlete may be somebody's guardian.";
    UnknownColumn "unknown_column" 422 "There is no such column"
        cause "The header names a column that is not read here, perhaps a misspelling."
        remedy "Correct or remove it; `allowed` lists the columns.";
    ArchiveUnreadable "archive_unreadable" 422 "The zip cannot be read"
        cause "It is no zip file, it is cut off or damaged, or an entry is encrypted or packed in another way than stored or deflated."
        remedy "Make the package anew, without a password.";
    ArchiveEntryNotAllowed "archive_entry_not_allowed" 422 "The zip holds what is no file of a roster"
        cause "An entry is a folder, a link, lies outside the root, or has the name of another."
        remedy "Put the CSV files, and nothing else, at the root of the zip.";
    ArchiveTooLarge "archive_too_large" 422 "The zip holds too much"
        cause "A package has at most 64 files, 64 MiB inflated, and 100,000 lines a file."
        remedy "Send less in one package, such as one school of several.";
    ManifestWrong "manifest_wrong" 422 "The manifest is wrong"
        cause "A property of manifest.csv is missing, twice there or unknown, or has a value that is not read here, such as another version."
        remedy "Export the package as OneRoster CSV 1.2, all files bulk or all delta.";
    FileMissing "file_missing" 422 "A file of the package is missing"
        cause "The manifest names the file, or a full roster needs it, and it is not there."
        remedy "Export the package with the file.";
    FileNotDeclared "file_not_declared" 422 "The manifest does not name the file"
        cause "A file is in the zip that the manifest calls absent, or that belongs to no package."
        remedy "Name it in the manifest, or leave it out.";
    WrongColumns "wrong_columns" 422 "Columns are missing or out of order"
        cause "The header of a file is not, letter for letter, the one of the format, in its order."
        remedy "Export the file with all columns in their order; own ones come last and begin with metadata.";
    MalformedLine "malformed_line" 422 "A line cannot be read"
        cause "Of a table: it is not UTF-8 or has another number of cells than the header. Of a calendar: it has no colon, or parameters that cannot be read (RFC 5545, 3.1)."
        remedy "Export the table as UTF-8, with quotes around cells that hold commas or line breaks; mend the calendar's line, or leave the event out.";
    DuplicateId "duplicate_id" 422 "An id is there twice"
        cause "Two lines of a file have the same sourcedId."
        remedy "Give each an id of its own.";
    DanglingReference "dangling_reference" 422 "What it refers to is not there"
        cause "An id names a line of another file that the package does not have."
        remedy "Export the line that is missing, or correct the id.";
    CircularReference "circular_reference" 422 "It is part of itself"
        cause "An organisation has itself for a parent, straight or through others."
        remedy "Correct parentSourcedId.";
    UnknownExercise "unknown_exercise" 422 "No such exercise in the catalogue"
        cause "The code is neither one of the shipped exercises nor one of the club's own."
        remedy "See exercises for the codes.";
    AmbiguousExercise "ambiguous_exercise" 422 "Say once which exercise it is"
        cause "An item names an exercise of the catalogue and describes one too."
        remedy "Send one of exercise and inline.";
    AmbiguousWork "ambiguous_work" 422 "Say once how much it is"
        cause "An item has more than one of repetitions, seconds and distance."
        remedy "Send exactly one of reps, seconds and distance.";
    NotBackAtStart "not_back_at_start" 422 "The legs do not end where they began"
        cause "returns_to_start is true, and the legs, negative ones back, do not add up to 0."
        remedy "Correct the legs, or leave returns_to_start out.";
    LoadNotSignedOff "load_not_signed_off" 422 "The loaded jump is not signed off"
        cause "An athlete is named, and jumps with a load come after their technique was signed off."
        remedy "Sign it off once it was watched, plan it without the load, or ask about no athlete.";
    AmbiguousLoad "ambiguous_load" 422 "Say once what it is done against"
        cause "An item has both a load and a band."
        remedy "Send a load or a band, or neither.";
    DistanceNotMeasured "distance_not_measured" 422 "The distance is not measured"
        cause "An item of a programme has a way with no leg, or with a leg that has no length; nobody can do it or count it."
        remedy "Measure it and send each leg with its length, or prescribe repetitions or seconds.";
    AmbiguousAssignee "ambiguous_assignee" 422 "Say once who does it"
        cause "An assignment names both a squad and an athlete."
        remedy "Send one of squad_id and athlete_id; an athlete's own goes before those of her squads.";
    EffortNotKnown "effort_not_known" 422 "How long or how hard is not said"
        cause "A session of the programme has no minutes or no intended RPE, so that its load is not known, and nothing is taken for it."
        remedy "Complete the programme, or ask about a plan without it.";
    ProgrammeAssigned "programme_assigned" 409 "Somebody does it"
        cause "The programme has assignments that are not over."
        remedy "Take the assignments back, or let them end, first.";
    UnknownProgramme "unknown_programme" 422 "No such programme"
        cause "The club has no programme of this id."
        remedy "See programmes for those that it has.";
    AmbiguousPlan "ambiguous_plan" 422 "Say once what is planned"
        cause "A question has both items and a stored programme."
        remedy "Send one of items and programme.";
    TooManyProgrammes "too_many_programmes" 409 "The club has too many programmes"
        cause "A club keeps only so many programmes at a time; see limits."
        remedy "Remove one that is not needed; its versions stay for what was assigned.";
    TooManyQuestions "too_many_questions" 409 "Too many questions wait"
        cause "Only so many questions about one athlete wait for an answer at a time; see limits."
        remedy "Wait for an answer, or talk to a coach.";
    AmbiguousQuestion "ambiguous_question" 422 "A question about more than one thing"
        cause "A question names more than one of a logged session, a planned session and an item of a programme, or parts of an item beside another."
        remedy "Send one question for each.";
    NotHers "not_hers" 422 "There is no such thing of hers"
        cause "A question is about a session or an item that the athlete does not have, or does not have any more."
        remedy "Take the id from her sessions, from the schedule, or from what she is to do on that date.";
    CircularPrerequisite "circular_prerequisite" 422 "It would have to come before itself"
        cause "The exercise is, by way of others, a condition of its own prerequisite."
        remedy "Leave that prerequisite out.";
    StepSkipped "step_skipped" 422 "A step of the landings is skipped"
        cause "Landings are learnt on both feet, then with a load, then on one foot, then on one foot with a load; the exercise builds on none of the step before, or on a later one."
        remedy "Name an exercise of the step before, or of the same step, as prerequisite.";
    OtherStepInGroup "other_step_in_group" 422 "The group lands at another step"
        cause "Of exercises of equal choice any stands for all, so all of them land at one step."
        remedy "Choose another group, or none.";
    ShippedExercise "shipped_exercise" 422 "The exercise comes with the service"
        cause "The text of a shipped exercise is the same in every club; only a film can be attached."
        remedy "Send film_url alone, or enter an exercise of the club's own under another code.";
    ExerciseNeeded "exercise_needed" 409 "Another exercise builds on it"
        cause "Without the exercise, or with the change, another one would lack its prerequisite or skip a step."
        remedy "Change the other exercise first; the detail names it.";
    CatalogueFull "catalogue_full" 409 "The catalogue is full"
        cause "A club adds only so many codes to the catalogue; see limits."
        remedy "Use a code that is there; removed ones can be used again.";
    LinkNotHttps "link_not_https" 422 "That is no https link"
        cause "A film is linked by an https address with a host, without a name or password in it."
        remedy "Send the https address of the film.";
    NotSeenInPerson "not_seen_in_person" 422 "A technique is signed off by who watched"
        cause "Whoever signs off has watched the exercise herself, in the same place; a film or a report does not do."
        remedy "Watch it, then send seen_in_person true.";
    StepBeforeMissing "step_before_missing" 422 "The step before is not signed off"
        cause "A technique is signed off only after those it builds on, by the same day; the detail names what is missing."
        remedy "Sign off what is missing first.";
    SignedOffAlready "signed_off_already" 422 "It is signed off already"
        cause "One sign-off of an exercise stands at a time."
        remedy "Use the one that is there, or withdraw it first.";
    SandboxesOff "sandboxes_off" 409 "This service makes no sandboxes"
        cause "Its settings do not let the operator make sandboxes."
        remedy "Set sandboxes to on (PLIMSOLL_SANDBOXES=on) and start the service anew, or try a program against `plimsoll demo` on your own machine.";
    TooManySandboxes "too_many_sandboxes" 409 "There are as many sandboxes as there may be"
        cause "The service keeps a bounded number of sandboxes at once; `GET /v1/limits` says how many."
        remedy "Remove one that nobody needs (`DELETE /v1/sandboxes/{sandbox_id}`), or wait until the first of them ends.";
    SandboxExists "sandbox_exists" 409 "There is a sandbox of this seed and date"
        cause "Seed and date make every id of a sandbox, so that two of them cannot be there at once."
        remedy "Use the one that is there, remove it first, or send another seed or date.";
    ClockOutOfRange "clock_out_of_range" 422 "The clock cannot be set to that"
        cause "A sandbox's clock goes forward alone, and only so far at once and in all."
        remedy "Send an instant within `allowed`; a longer way takes several calls.";
    PolicyInPast "policy_in_past" 422 "A later policy cannot start in the past"
        cause "Only a club's first policy may be effective from any date."
        remedy "Let it start today or later.";
    SecondApproverRequired "second_approver_required" 409 "A second person approves the policy"
        cause "The club's latest policy says that its next change takes two persons."
        remedy "Write a draft under policy/drafts and let another person approve it.";
    OwnDraft "own_draft" 403 "Another person approves it"
        cause "Whoever wrote or last changed a draft of the policy cannot approve it."
        remedy "Let another club administrator or the privacy lead read and approve it.";
    OwnAddress "own_address" 403 "Another person approves it"
        cause "Mail to a club's first recipient waits until somebody else than whoever entered the address approves it."
        remedy "Let another club administrator or the privacy lead approve it.";
    AmbiguousPolicy "ambiguous_policy" 422 "Name one policy"
        cause "A rehearsal takes a policy or the id of a draft, not both."
        remedy "Send one of the two.";
    UnknownDraft "unknown_draft" 422 "No such draft in this club"
        cause "The draft id is not known here; an approved draft is a version of the policy."
        remedy "Correct the id, or send the policy itself.";
    LimitOutOfRange "limit_out_of_range" 422 "The limit is out of range"
        cause "A limit on the coupled ratio lies above 1 and below 4, since the ratio can never exceed 4."
        remedy "Send a limit within `allowed`.";
    RuleNotEvaluated "rule_not_evaluated" 422 "This rule is not evaluated yet"
        cause "The rule's code is known, but this version of the service does not evaluate it."
        remedy "Send the rule with enabled false, or leave it out.";
    RuleTwice "rule_twice" 422 "It is listed twice"
        cause "A policy holds each rule and each organised setting at most once."
        remedy "Remove one of the two.";
    TooYoungOrOld "birth_date_out_of_range" 422 "The birth date cannot be right"
        cause "It lies in the future, or makes the athlete younger than 5 or older than 100."
        remedy "Check the year.";
    Withdrawn "flag_withdrawn" 422 "The flag was withdrawn"
        cause "The data changed and the rule no longer holds; there is nothing to acknowledge."
        remedy "Read the flag again.";

    InvalidTestName "invalid_test_name" 422 "That is no name of a test"
        cause "A test's name has 1 to 60 lower-case letters, digits and underscores."
        remedy "Use a name the documentation lists, or one of your own with its unit and direction.";
    TooFewTrials "too_few_trials" 422 "Too few trials"
        cause "A single trial says too little: a result has at least two."
        remedy "Send every trial of that side and day.";
    TrialOutOfRange "trial_out_of_range" 422 "A trial cannot be right"
        cause "A trial is a positive number with at most three decimals, and of a test known by name it lies within what can be measured."
        remedy "Look for a wrong unit or a slip of the decimal point; send what `allowed` names.";

    // Warnings: the report is stored
    UnlikeOwnHistory "unlike_own_history" 200 "Far from her own earlier trials"
        cause "A trial is more than three robust standard deviations from the median of her earlier trials of that test and side."
        remedy "Look at the sheet again; correct the result if it was a slip.";
    RpeZeroWithMinutes "rpe_zero_with_minutes" 200 "RPE 0 with minutes"
        cause "A session RPE of 0 makes the load 0 whatever the minutes."
        remedy "Ask whether she sat out; correct the rating if not.";
    RpeTenOver120Minutes "rpe_ten_over_120_minutes" 200 "RPE 10 for more than two hours"
        cause "A rating of 10 over more than 120 minutes is rare."
        remedy "Ask whether the rating is meant for the whole session.";
    LoadOver1200Au "load_over_1200_au" 200 "A very high session load"
        cause "The session load is above 1,200 AU."
        remedy "Check rating and minutes.";
    LongSession "long_session" 200 "A long session"
        cause "The session is longer than 180 minutes."
        remedy "Check the minutes; breaks do not count.";
    ManyLandings "many_landings" 200 "A great many landings"
        cause "More than 400 landings on feet were counted in one session."
        remedy "Look for a slip; landings on both feet count once.";
    LateRecall "late_recall" 200 "Rated long after the session"
        cause "The rating was given more than 48 hours after the session."
        remedy "Ask earlier; about 30 minutes after the session is usual.";
    OverlapsOtherSession "overlaps_other_session" 200 "Overlaps another session"
        cause "Another session of the same athlete was going on at that time; both count, and the lower bound uses the larger only."
        remedy "Ask which of the two she attended.";
    ProposedDuplicate "proposed_duplicate" 200 "Perhaps reported twice"
        cause "Another source reported a session of the same setting that starts within 15 minutes and overlaps at least half; the two count once."
        remedy "Remove one of the two, or correct its start if they were two sessions.";
    EventCancelled "event_cancelled" 200 "The event was cancelled"
        cause "The planned session was called off; what was reported of it counts all the same."
        remedy "Ask what took place, and correct the event or the report.";
    EventElsewhere "event_elsewhere" 200 "The event is on another date"
        cause "The report names a planned session that is on another date now; the report counts by itself, and the planned session still waits for one."
        remedy "Ask what took place and when, and correct the event or the report.";
    MinutesDiffer "minutes_differ" 200 "The minutes differ"
        cause "Report, schedule and attendance list differ by more than 10 minutes and more than a tenth; attendance counts before the schedule before the report, and the range is in the bounds."
        remedy "Ask how long it was, and correct what is wrong.";
    ReportedThoughAbsent "reported_though_absent" 200 "Reported, but listed as absent"
        cause "The attendance list says absent and the athlete reports the session; the report counts."
        remedy "Correct the list, or confirm the absence, which sets the report aside.";
    SetAside "set_aside" 200 "Set aside"
        cause "The attendance list says absent, confirmed; the report is kept and does not count."
        remedy "Correct the attendance if she was there.";
    NotExpected "not_expected" 200 "Not among those expected"
        cause "The athlete is not invited to the event, by squad or by name; the entry is kept and counts."
        remedy "Invite her, or check the athlete and the event.";
    PartialWithoutMinutes "partial_without_minutes" 200 "A part, but how long?"
        cause "The athlete was there for a part, and the minutes are not given; the planned minutes stand in the bounds."
        remedy "Send the minutes she took part.";
    OverlapsOtherEvent "overlaps_other_event" 200 "Overlaps another event"
        cause "Somebody is invited to two events at the same time."
        remedy "Move one of the two, or leave those athletes out of one.";
    LongDay "long_day" 200 "More than ten hours planned"
        cause "Somebody has more than ten hours of planned sessions on that date."
        remedy "Check the minutes and the invitations.";
    DuringRestOrAbsence "during_rest_or_absence" 200 "Reported on a day of rest or absence"
        cause "The day is entered as rest or absence; the report counts."
        remedy "Correct the rest or absence if it was entered by mistake.";
    DuringRestriction "during_restriction" 200 "Reported against a restriction"
        cause "The report goes beyond what a restriction of that day allows; the report counts."
        remedy "Ask what took place, and speak with the athlete and the coach.";
    BeforeJoining "before_joining" 200 "Before the athlete joined"
        cause "The session lies before the athlete's first day; it is kept, and counts only from that day on."
        remedy "Check the date, or correct joined_on.";
    ZoneAssumed "zone_assumed" 200 "The load date was taken from the home zone"
        cause "started_at ends in Z, which says nothing about the place where the session was held."
        remedy "Send a numeric offset or time_zone.";
}

impl Serialize for Code {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.code())
    }
}

#[cfg(test)]
mod tests {
    use std::collections::HashSet;

    use super::Code;

    #[test]
    fn codes_are_unique_and_snake_case() {
        let mut seen = HashSet::new();
        for code in Code::ALL {
            let text = code.code();
            assert!(seen.insert(text), "{text} occurs twice");
            assert!(
                text.chars()
                    .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_'),
                "{text}"
            );
        }
    }

    #[test]
    fn each_code_says_cause_and_remedy_in_sentences() {
        for code in Code::ALL {
            assert!(code.cause().ends_with('.'), "{}", code.code());
            assert!(code.remedy().ends_with('.'), "{}", code.code());
            assert!(!code.title().ends_with('.'), "{}", code.code());
        }
    }
}

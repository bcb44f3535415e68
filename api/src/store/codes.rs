//! Small enumerations, stored and sent as stable codes.

/// Declares an enumeration whose values are stored and sent as these codes.
macro_rules! codes {
    ($(#[doc = $doc:literal] $name:ident { $($(#[doc = $value_doc:literal])+ $value:ident = $code:literal,)+ })+) => {$(
        #[doc = $doc]
        #[derive(
            Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash,
            serde::Serialize, serde::Deserialize, utoipa::ToSchema,
        )]
        pub enum $name {
            $($(#[doc = $value_doc])+ #[serde(rename = $code)] $value,)+
        }

        impl $name {
            /// Every value, in order.
            pub const ALL: &'static [Self] = &[$(Self::$value),+];

            /// The stable code.
            pub const fn code(self) -> &'static str {
                match self {
                    $(Self::$value => $code,)+
                }
            }

            /// The value of this code.
            pub fn parse(code: &str) -> Option<Self> {
                Self::ALL.iter().copied().find(|value| value.code() == code)
            }
        }
    )+};
}

codes! {
    /// What a program that follows a club is told of.
    ChangeKind {
        /// An athlete of the roster.
        Athlete = "athlete",
        /// A squad.
        Squad = "squad",
        /// An athlete's time in a squad.
        Membership = "membership",
        /// A planned session.
        Event = "event",
        /// The neuromuscular warm-up of a planned session.
        EventWarmUp = "event_warm_up",
        /// An entry of an attendance list.
        Attendance = "attendance",
        /// A session report.
        Session = "session",
        /// What was counted in a session.
        SessionContacts = "session_contacts",
        /// A day of rest.
        RestDay = "rest_day",
        /// A span of days away.
        Absence = "absence",
        /// What a joiner says of the time before.
        DeclaredHistory = "declared_history",
        /// A programme.
        Programme = "programme",
        /// Who does a programme, and when.
        ProgrammeAssignment = "programme_assignment",
        /// A question to the strength coaches: that there is one, and how it stands.
        Question = "question",
        /// A flag.
        Flag = "flag",
        /// The club's policy.
        Policy = "policy",
        /// All that was kept of an athlete was erased.
        Erasure = "erasure",
    }
    /// Why what was kept of an athlete is erased.
    ErasureReason {
        /// The athlete asked for it.
        AskedByAthlete = "asked_by_athlete",
        /// Her guardians asked for it.
        AskedByGuardian = "asked_by_guardian",
        /// She left, and nothing has to be kept.
        Left = "left",
        /// The term for which it is kept is over.
        TermOver = "term_over",
        /// It should not have been entered.
        EnteredByMistake = "entered_by_mistake",
    }
    /// Why an athlete is away; never a diagnosis.
    AbsenceCategory {
        /// Planned rest.
        Rest = "rest",
        /// Holiday.
        Holiday = "holiday",
        /// Exams.
        Exams = "exams",
        /// Away for another reason.
        Away = "away",
        /// Not available; the reason is nobody's business here.
        NotAvailable = "not_available",
    }
    /// How far a clinician lets somebody take part.
    RestrictedTo {
        /// Within limits.
        Limited = "limited",
        /// Not at all.
        NotAvailable = "not_available",
    }
    /// What a written clearance is needed after; for clinicians alone.
    WrittenClearance {
        /// Head injury.
        HeadInjury = "head_injury",
        /// Heat illness.
        HeatIllness = "heat_illness",
        /// The heart.
        Heart = "heart",
    }
    /// What a clinician decided about a return, in the stages of the trade.
    Decision {
        /// Takes part in training, perhaps modified, not yet in the sport as before.
        ReturnToParticipation = "return_to_participation",
        /// Back in the sport, not yet at the earlier level.
        ReturnToSport = "return_to_sport",
        /// Back at the earlier level or above.
        ReturnToPerformance = "return_to_performance",
        /// None of these; also how an earlier decision is withdrawn.
        NotYet = "not_yet",
    }
    /// Who consented, or withdrew.
    ConsentGiver {
        /// A parent or legal guardian.
        Guardian = "guardian",
        /// The athlete herself.
        Athlete = "athlete",
    }
    /// Whom a consent lets see, or use, what it is about.
    ConsentRecipient {
        /// Those who train a squad.
        Coach = "coach",
        /// Athletic trainers.
        AthleticTrainer = "athletic_trainer",
    }
    /// Why nothing of an athlete may be erased by itself; never what it is about.
    HoldReason {
        /// Somebody claims something, or may yet.
        LegalClaim = "legal_claim",
        /// An authority or a court asked for it.
        Authority = "authority",
        /// An insurance looks into an accident.
        Insurance = "insurance",
        /// A complaint is being looked into.
        Complaint = "complaint",
        /// She or her family asked for it.
        FamilyRequest = "family_request",
    }
    /// Why a hold was lifted.
    HoldEnd {
        /// What it was for is over.
        Settled = "settled",
        /// She or her family no longer asks for it.
        FamilyRequest = "family_request",
        /// It should not have been entered.
        Mistake = "entered_by_mistake",
    }
    /// How a planned session stands.
    EventStatus {
        /// As first planned.
        Planned = "planned",
        /// At another time or place than first planned.
        Moved = "moved",
        /// Called off: nobody is expected.
        Cancelled = "cancelled",
        /// It took place.
        Held = "held",
    }
    /// What the attendance list says of an athlete.
    AttendanceStatus {
        /// There for the whole session.
        Present = "present",
        /// There for a part of it.
        Partial = "partial",
        /// Not there.
        Absent = "absent",
        /// Nobody can say.
        Unknown = "unknown",
    }
    /// Whether an athlete's planned session is answered.
    ExpectedState {
        /// Neither reported nor declared absent.
        Open = "open",
        /// Reported, or declared absent.
        Answered = "answered",
        /// Called off: nothing is expected.
        Cancelled = "cancelled",
    }
    /// What a revocation is about.
    RevocationKind {
        /// One token, by its id.
        Token = "token",
        /// Every token of a subject.
        Subject = "subject",
    }
    /// Whether a flag stands.
    FlagState {
        /// The rule is met.
        Raised = "raised",
        /// It was met, and after a correction is not.
        Withdrawn = "withdrawn",
    }
    /// How sure a finding is while sessions are unlogged.
    Certainty {
        /// True whatever the unlogged sessions were.
        Certain = "certain",
        /// True for some loads of the unlogged sessions and not for others.
        Possible = "possible",
        /// The figure does not exist.
        NotComputable = "not_computable",
    }
    /// How a notice reaches its endpoint.
    Channel {
        /// A signed `POST`.
        Webhook = "webhook",
        /// A letter by SMTP.
        Email = "email",
    }
    /// What a notice tells.
    NoticeKind {
        /// A week was closed; its list stands.
        WeekClosed = "week_closed",
        /// Flags of a closed week were raised or withdrawn after a late or amended entry.
        WeekCorrected = "week_corrected",
        /// A look at the week that comes.
        LookAhead = "look_ahead",
        /// A question was asked of the strength coaches.
        QuestionAsked = "question_asked",
        /// An endpoint failed for so long, or said that it is gone, that nothing more is sent to it.
        EndpointDisabled = "endpoint_disabled",
        /// Nothing: somebody tries an endpoint.
        Test = "test",
        /// Nothing: an endpoint is asked whether it wants notices.
        Challenge = "challenge",
    }
    /// How a delivery stands.
    DeliveryState {
        /// To be sent, or sent again.
        Pending = "pending",
        /// Taken by the other side.
        Delivered = "delivered",
        /// Given up after the last attempt.
        Failed = "failed",
        /// Not sent, because its endpoint was disabled or deleted.
        Disabled = "disabled",
    }
    /// What was decided of two records that are perhaps one person.
    CopyDecision {
        /// Nothing yet.
        Open = "open",
        /// They are one.
        SamePerson = "same_person",
        /// They are two, twins or namesakes.
        TwoPeople = "two_people",
    }
    /// What a pending delivery waits for, where it is not the other side.
    WaitingFor {
        /// The end of the club's quiet hours.
        QuietHours = "quiet_hours",
        /// The club has sent as many mails as it may in a day.
        MailQuota = "mail_quota",
        /// Our own mail server.
        MailServer = "mail_server",
        /// The webhook's echo of its challenge.
        Confirmation = "confirmation",
        /// A second person, for a club's first recipient of mail.
        Approval = "approval",
    }
    /// What one attempt came to.
    AttemptOutcome {
        /// The other side took it.
        Accepted = "accepted",
        /// It answered that it did not.
        Refused = "refused",
        /// It answered that nobody is there any more.
        Gone = "gone",
        /// It answered that it took the challenge, and did not echo it.
        NotEchoed = "not_echoed",
        /// The address may not be called from here.
        Blocked = "blocked",
        /// No connection, no trusted certificate, or the connection broke off.
        Unreachable = "unreachable",
        /// No complete answer in time.
        TimedOut = "timed_out",
        /// It could not be handed to our own mail server, which says nothing of the recipient.
        NotSent = "not_sent",
        /// All of it was sent and no answer came: it may have been taken or not.
        Unknown = "unknown",
    }
}

//! Roles, scopes, and the one table between them.

use std::fmt;

/// A part somebody plays in a club. A request acts in exactly one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Role {
    /// Runs the service: creates clubs and runs jobs. Reaches no athlete.
    Operator,
    /// Keeps a club's settings, policy, squads, roster and schedule. Reaches every athlete, but no
    /// loads.
    ClubAdmin,
    /// A program that feeds a club: roster and session writes, and every figure back. Reaches every
    /// athlete, never clinical data.
    Integration,
    /// Coaches a team: loads, weekly list and flags of the squads named in the token, or of the whole
    /// club when it names none.
    Coach,
    /// Writes the strength and conditioning programme. Scopes and reach of a coach; enters the results of tests she made, and reads
    /// nobody else's; answers what athletes and guardians ask.
    StrengthCoach,
    /// Follows injuries and returns. Reaches every athlete's record and loads; sets restrictions and records
    /// clearances while a licence is on file.
    AthleticTrainer,
    /// An athlete: her own record and entries. The policy stays closed, so that no margin to a limit
    /// can be worked out from it.
    Athlete,
    /// A parent or legal guardian: the children's record and entries.
    Guardian,
    /// Answers for personal data: the audit list, by whom a record was read, consents, complete copies and erasure, how long what is kept,
    /// and the second look at a policy. Reaches no athlete's record in any other way.
    PrivacyLead,
}

/// What a route asks for. A route names one scope; a role has it or has not.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Scope {
    /// Create and list clubs.
    ManageClubs,
    /// Start jobs outside their schedule.
    RunJobs,
    /// Run the weekly close.
    CloseWeek,
    /// Read the club's name and time zone.
    ReadClub,
    /// Change the club's name and time zone.
    WriteClub,
    /// Move a sandbox's clock forward.
    MoveClock,
    /// Read the club's limits and rules.
    ReadPolicy,
    /// Set the club's limits and rules, and draft them.
    WritePolicy,
    /// Read drafts of the policy, rehearse them, and approve another person's.
    ApprovePolicy,
    /// Read squads and their members.
    ReadSquads,
    /// Create and change squads and their members.
    WriteSquads,
    /// Read athletes' roster entries.
    ReadAthletes,
    /// Create and change athletes' roster entries.
    WriteAthletes,
    /// Decide whether two records are one person.
    DecideSecondCopies,
    /// Read session reports, notes included.
    ReadSessions,
    /// Give, correct and delete session reports.
    WriteSessions,
    /// Read rest days and absences.
    ReadDays,
    /// Enter and delete rest days and absences.
    WriteDays,
    /// Read results of tests, and which side was hurt when.
    ReadTests,
    /// Enter, change and take back results of tests.
    WriteTests,
    /// Enter and take back which side was hurt when.
    WriteInjuries,
    /// Read what athletes say about pain.
    ReadPain,
    /// Say whether something hurts, and take it back.
    WritePain,
    /// Read an athlete's history, for a purpose.
    ReadHistory,
    /// Read planned sessions and attendance.
    ReadSchedule,
    /// Enter, change and delete planned sessions and attendance.
    WriteSchedule,
    /// Set up the calendars that planned sessions come from.
    ManageCalendars,
    /// Follow what changes in the club.
    ReadChanges,
    /// Read loads and the figures made from them, by day and by week.
    ReadLoad,
    /// Read a squad's weekly list.
    ReadWeeklyList,
    /// Read how far one athlete's running week is from the club's limit. Never an athlete's, nor her guardian's.
    ReadMargin,
    /// Read the catalogue of exercises.
    ReadExercises,
    /// Add exercises and films to the catalogue.
    WriteExercises,
    /// Read which techniques were signed off.
    ReadSignOffs,
    /// Sign techniques off, and withdraw that.
    WriteSignOffs,
    /// Read programmes, and to whom they are assigned.
    ReadProgrammes,
    /// Enter, change, remove and assign programmes.
    WriteProgrammes,
    /// Read what one athlete is to do by her programmes.
    ReadAssigned,
    /// Ask about a session or an item of a programme.
    AskQuestions,
    /// Read what was asked, and what was answered.
    ReadQuestions,
    /// Answer and close what was asked.
    AnswerQuestions,
    /// Have plans judged by the club's limits, and the smallest changes that meet them. Never an athlete's, nor her guardian's.
    CheckPlans,
    /// Read a squad's day: availability, limits, what is done and what is planned.
    ReadSquadDay,
    /// Read flags.
    ReadFlags,
    /// Say what was done about a flag.
    AcknowledgeFlags,
    /// Read who looked at whose record.
    ReadAudit,
    /// Read in which roles one athlete's record was looked at.
    ReadReaders,
    /// Revoke tokens and subjects, and lift revocations.
    RevokeTokens,
    /// Say where notices go, see how they fared, and send them again.
    ManageNotices,
    /// See where notices go, and approve a club's first recipient of mail.
    ApproveRecipients,
    /// Allow or forbid mail that names athletes.
    NameInMail,
    /// Read which clinicians' licences are on file.
    ReadLicences,
    /// Put clinicians' licences on file, and take them off.
    WriteLicences,
    /// Read restrictions with their notes, and clearance records.
    ReadClinical,
    /// Set restrictions and record clearances; with a licence on file.
    WriteClinical,
    /// Read how far one athlete takes part, as instructions.
    ReadAvailability,
    /// Read what was consented to for one athlete.
    ReadConsents,
    /// Consent and withdraw, for whoever decides, or enter a signed form.
    GiveConsents,
    /// Set from which age athletes decide and what needs consent, and see what flowed without.
    OverseeConsents,
    /// Have a complete copy of what is kept of one athlete.
    ReadCopies,
    /// Erase what is kept of one athlete.
    EraseRecords,
    /// Read how long the club keeps what.
    ReadRetention,
    /// Set how long the club keeps what, hold an athlete's records, and see what is due.
    SetRetention,
    /// Read what callers have to keep to. Every role has it: what is told is no secret, and nobody's.
    ReadLimits,
}

/// Whose records a role reaches inside its club.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reaches {
    /// Everybody's.
    Club,
    /// Those of the members of the token's squads; everybody's when it names no squads.
    Squads,
    /// Those of the token's athletes.
    Athletes,
    /// Nobody's.
    Nobody,
}

impl Reaches {
    /// The name in the OpenAPI document.
    pub const fn code(self) -> &'static str {
        match self {
            Reaches::Club => "club",
            Reaches::Squads => "squads",
            Reaches::Athletes => "athletes",
            Reaches::Nobody => "nobody",
        }
    }
}

impl Scope {
    /// Whether it is a clinician's: that somebody was refused is then entered in the audit list, whatever was asked for.
    pub const fn is_clinical(self) -> bool {
        matches!(
            self,
            Scope::ReadClinical
                | Scope::WriteClinical
                | Scope::ReadTests
                | Scope::WriteTests
                | Scope::WriteInjuries
                | Scope::ReadPain
                | Scope::ReadHistory
        )
    }

    /// The roles that have it.
    pub fn roles(self) -> impl Iterator<Item = Role> {
        Role::ALL.into_iter().filter(move |role| role.allows(self))
    }
}

impl Role {
    /// Every role.
    pub const ALL: [Role; 9] = [
        Role::Operator,
        Role::ClubAdmin,
        Role::Integration,
        Role::Coach,
        Role::StrengthCoach,
        Role::AthleticTrainer,
        Role::Athlete,
        Role::Guardian,
        Role::PrivacyLead,
    ];

    /// The role's name in tokens, in `Acting-Role` and in the audit list.
    pub const fn code(self) -> &'static str {
        match self {
            Role::Operator => "operator",
            Role::ClubAdmin => "club_admin",
            Role::Integration => "integration",
            Role::Coach => "coach",
            Role::StrengthCoach => "strength_coach",
            Role::AthleticTrainer => "athletic_trainer",
            Role::Athlete => "athlete",
            Role::Guardian => "guardian",
            Role::PrivacyLead => "privacy_lead",
        }
    }

    /// The role with this code, letter for letter.
    pub fn parse(code: &str) -> Option<Role> {
        Role::ALL.into_iter().find(|role| role.code() == code)
    }

    /// Whether this role has `scope`.
    pub fn allows(self, scope: Scope) -> bool {
        self.scopes().contains(&scope)
    }

    /// Whose records it reaches.
    pub const fn reaches(self) -> Reaches {
        match self {
            Role::ClubAdmin | Role::Integration | Role::AthleticTrainer => Reaches::Club,
            Role::Coach | Role::StrengthCoach => Reaches::Squads,
            Role::Athlete | Role::Guardian => Reaches::Athletes,
            Role::Operator | Role::PrivacyLead => Reaches::Nobody,
        }
    }

    /// Whether it is the athlete herself or a guardian of hers: what is hers needs no consent of hers.
    pub const fn is_family(self) -> bool {
        matches!(self, Role::Athlete | Role::Guardian)
    }

    /// The table: what each role may ask for. What is not listed is refused.
    #[rustfmt::skip] // One role a paragraph, so that the table stays on one screen.
    pub const fn scopes(self) -> &'static [Scope] {
        use Scope::*;
        match self {
            Role::Operator => &[ManageClubs, RunJobs, CloseWeek, ReadLimits],
            Role::ClubAdmin => &[
                ReadClub, WriteClub, MoveClock, ReadPolicy, WritePolicy, ApprovePolicy, ReadSquads, WriteSquads,
                ReadAthletes, WriteAthletes, DecideSecondCopies, ReadSchedule, WriteSchedule, ManageCalendars, RevokeTokens,
                ManageNotices, ApproveRecipients, ReadLicences, WriteLicences,
                ReadRetention, ReadExercises, WriteExercises, ReadProgrammes, WriteProgrammes, ReadLimits,
            ],
            Role::Integration => &[
                ReadClub, MoveClock, ReadPolicy, ReadSquads, WriteSquads, ReadAthletes, WriteAthletes,
                ReadSchedule, WriteSchedule, ManageCalendars, ReadChanges, ReadSessions, WriteSessions, ReadDays, WriteDays,
                ReadLoad, ReadWeeklyList, ReadSquadDay, ReadFlags, ReadExercises, ReadProgrammes, ReadLimits,
            ],
            Role::Coach => &[
                ReadClub, ReadPolicy, ReadSquads, ReadAthletes, ReadSchedule, WriteSchedule,
                ReadDays, ReadLoad, ReadWeeklyList, ReadMargin, CheckPlans, ReadSquadDay, ReadFlags,
                AcknowledgeFlags, ReadAvailability, ReadExercises, ReadSignOffs, WriteSignOffs, ReadProgrammes,
                WriteProgrammes, ReadAssigned, ReadLimits,
            ],
            Role::StrengthCoach => &[
                ReadClub, ReadPolicy, ReadSquads, ReadAthletes, ReadSchedule, WriteSchedule,
                ReadDays, ReadLoad, ReadWeeklyList, ReadMargin, CheckPlans, ReadSquadDay, ReadFlags,
                AcknowledgeFlags, ReadAvailability, WriteTests, ReadExercises, WriteExercises, ReadSignOffs,
                WriteSignOffs, ReadProgrammes, WriteProgrammes, ReadAssigned, ReadQuestions, AnswerQuestions, ReadLimits,
            ],
            Role::AthleticTrainer => &[
                ReadClub, ReadPolicy, ReadSquads, ReadAthletes, ReadSchedule, ReadSessions,
                ReadDays, WriteDays, ReadLoad, ReadMargin, ReadSquadDay, ReadFlags, ReadLicences, ReadClinical,
                WriteClinical, ReadAvailability, ReadTests, WriteTests, WriteInjuries, ReadPain,
                ReadHistory, ReadExercises, ReadSignOffs, WriteSignOffs, ReadAssigned, ReadQuestions, ReadLimits,
            ],
            Role::Athlete | Role::Guardian => &[
                ReadClub, ReadAthletes, ReadSchedule, ReadSessions, WriteSessions, ReadDays,
                WriteDays, ReadPain, WritePain, ReadLoad, ReadAvailability, ReadReaders, ReadConsents,
                GiveConsents, ReadExercises, ReadSignOffs, ReadAssigned, AskQuestions, ReadQuestions, ReadLimits,
            ],
            Role::PrivacyLead => &[
                ReadClub, ReadPolicy, ApprovePolicy, ReadAudit, ReadReaders, RevokeTokens, ApproveRecipients,
                NameInMail, ReadConsents, GiveConsents, OverseeConsents, ReadCopies, EraseRecords, ReadRetention,
                SetRetention, ReadLimits,
            ],
        }
    }
}

impl fmt::Display for Role {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

#[cfg(test)]
mod tests {
    use super::Scope::*;
    use super::*;

    fn who(scope: Scope) -> Vec<Role> {
        scope.roles().collect()
    }

    #[test]
    fn codes_and_roles_are_one_to_one() {
        for role in Role::ALL {
            assert_eq!(Role::parse(role.code()), Some(role));
            assert_eq!(role.to_string(), role.code());
        }
        for unknown in ["", "Coach", " coach", "coach ", "admin", "OPERATOR"] {
            assert_eq!(Role::parse(unknown), None, "{unknown:?}");
        }
    }

    #[test]
    fn the_operator_has_no_scope_over_a_club() {
        let scopes = [ManageClubs, RunJobs, CloseWeek, ReadLimits];
        assert_eq!(Role::Operator.scopes(), scopes);
        for scope in [ManageClubs, RunJobs, CloseWeek] {
            assert_eq!(who(scope), [Role::Operator]);
        }
    }

    #[test]
    fn everybody_reads_what_callers_keep_to() {
        assert_eq!(who(ReadLimits), Role::ALL);
    }

    #[test]
    fn settings_and_policy_are_the_club_admins() {
        assert_eq!(who(WriteClub), [Role::ClubAdmin]);
        assert_eq!(who(MoveClock), [Role::ClubAdmin, Role::Integration]);
        assert_eq!(who(WritePolicy), [Role::ClubAdmin]);
        assert_eq!(who(ApprovePolicy), [Role::ClubAdmin, Role::PrivacyLead]);
        assert_eq!(who(ManageNotices), [Role::ClubAdmin]);
        assert_eq!(who(ApproveRecipients), [Role::ClubAdmin, Role::PrivacyLead]);
        assert_eq!(who(WriteSquads), [Role::ClubAdmin, Role::Integration]);
        assert_eq!(who(WriteAthletes), [Role::ClubAdmin, Role::Integration]);
        assert_eq!(who(DecideSecondCopies), [Role::ClubAdmin]);
    }

    #[test]
    fn entries_come_from_the_athlete_her_guardian_or_an_integration() {
        let enter = [Role::Integration, Role::Athlete, Role::Guardian];
        assert_eq!(who(WriteSessions), enter);
    }

    #[test]
    fn the_schedule_is_kept_by_the_club_its_programs_and_coaches() {
        let keepers = [
            Role::ClubAdmin,
            Role::Integration,
            Role::Coach,
            Role::StrengthCoach,
        ];
        assert_eq!(who(WriteSchedule), keepers);
        assert!(Role::Athlete.allows(ReadSchedule));
        assert!(!Role::PrivacyLead.allows(ReadSchedule));
    }

    #[test]
    fn an_absence_may_also_come_from_the_athletic_trainer() {
        assert!(Role::AthleticTrainer.allows(WriteDays));
        assert!(!Role::Coach.allows(WriteDays));
    }

    #[test]
    fn the_family_asks_and_strength_coaches_answer() {
        assert_eq!(who(AskQuestions), [Role::Athlete, Role::Guardian]);
        assert_eq!(who(AnswerQuestions), [Role::StrengthCoach]);
        let readers = [
            Role::StrengthCoach,
            Role::AthleticTrainer,
            Role::Athlete,
            Role::Guardian,
        ];
        assert_eq!(who(ReadQuestions), readers);
    }

    #[test]
    fn restrictions_and_clearances_are_the_athletic_trainers_alone() {
        for scope in [ReadClinical, WriteClinical] {
            assert_eq!(who(scope), [Role::AthleticTrainer]);
            assert!(scope.is_clinical());
        }
        assert_eq!(who(WriteLicences), [Role::ClubAdmin]);
        assert_eq!(who(ReadLicences), [Role::ClubAdmin, Role::AthleticTrainer]);
        let told = [
            Role::Coach,
            Role::StrengthCoach,
            Role::AthleticTrainer,
            Role::Athlete,
            Role::Guardian,
        ];
        assert_eq!(who(ReadAvailability), told);
    }

    #[test]
    fn loads_stay_with_those_who_train_treat_or_are_the_athlete() {
        let readers = [
            Role::Integration,
            Role::Coach,
            Role::StrengthCoach,
            Role::AthleticTrainer,
            Role::Athlete,
            Role::Guardian,
        ];
        assert_eq!(who(ReadLoad), readers);
    }

    #[test]
    fn limits_are_closed_to_the_athlete_and_her_guardian() {
        for scope in [
            ReadPolicy,
            ReadWeeklyList,
            ReadMargin,
            CheckPlans,
            ReadSquadDay,
            ReadFlags,
            AcknowledgeFlags,
        ] {
            assert!(!Role::Athlete.allows(scope), "{scope:?}");
            assert!(!Role::Guardian.allows(scope), "{scope:?}");
        }
    }

    #[test]
    fn flags_are_acknowledged_by_coaches_alone() {
        assert_eq!(who(AcknowledgeFlags), [Role::Coach, Role::StrengthCoach]);
    }

    #[test]
    fn plans_are_checked_by_coaches_alone() {
        assert_eq!(who(CheckPlans), [Role::Coach, Role::StrengthCoach]);
    }

    #[test]
    fn coaches_read_loads_but_no_notes() {
        let strength_coach = Role::StrengthCoach.scopes().iter();
        let more = strength_coach.filter(|scope| !Role::Coach.allows(**scope));
        assert_eq!(
            more.collect::<Vec<_>>(),
            [
                &WriteTests,
                &WriteExercises,
                &ReadQuestions,
                &AnswerQuestions
            ]
        );
        assert!(!Role::StrengthCoach.allows(ReadSessions));
    }

    #[test]
    fn techniques_are_signed_off_by_who_trains_or_treats_and_read_by_the_family() {
        let watch = [Role::Coach, Role::StrengthCoach, Role::AthleticTrainer];
        assert_eq!(who(WriteSignOffs), watch);
        let read = watch.into_iter().chain([Role::Athlete, Role::Guardian]);
        assert_eq!(who(ReadSignOffs), read.collect::<Vec<_>>());
        assert_eq!(who(WriteExercises), [Role::ClubAdmin, Role::StrengthCoach]);
    }

    #[test]
    fn programmes_are_the_coaches_and_what_is_assigned_the_familys_to_read() {
        let keepers = [Role::ClubAdmin, Role::Coach, Role::StrengthCoach];
        assert_eq!(who(WriteProgrammes), keepers);
        let readers = who(ReadProgrammes).into_iter();
        let people = readers.filter(|role| *role != Role::Integration);
        assert_eq!(people.collect::<Vec<_>>(), keepers);
        // So that a program that follows the club can read what it is told of.
        assert!(Role::Integration.allows(ReadProgrammes));
        let told = [
            Role::Coach,
            Role::StrengthCoach,
            Role::AthleticTrainer,
            Role::Athlete,
            Role::Guardian,
        ];
        assert_eq!(who(ReadAssigned), told);
    }

    #[test]
    fn what_is_clinical_is_the_athletic_trainers() {
        for scope in [ReadTests, WriteInjuries, ReadHistory] {
            assert_eq!(who(scope), [Role::AthleticTrainer], "{scope:?}");
        }
        assert_eq!(
            who(WriteTests),
            [Role::StrengthCoach, Role::AthleticTrainer]
        );
    }

    #[test]
    fn nobody_consents_but_the_family_and_who_files_its_forms() {
        let families = [Role::Athlete, Role::Guardian, Role::PrivacyLead];
        for scope in [ReadConsents, GiveConsents] {
            assert_eq!(who(scope), families);
        }
        assert_eq!(who(OverseeConsents), [Role::PrivacyLead]);
    }

    #[test]
    fn what_is_erased_is_the_privacy_leads_to_set_and_the_admins_to_know() {
        assert_eq!(who(SetRetention), [Role::PrivacyLead]);
        assert_eq!(who(ReadRetention), [Role::ClubAdmin, Role::PrivacyLead]);
    }

    #[test]
    fn the_audit_list_is_the_privacy_leads_who_else_reads_copies_alone() {
        assert_eq!(who(ReadAudit), [Role::PrivacyLead]);
        assert_eq!(
            who(ReadReaders),
            [Role::Athlete, Role::Guardian, Role::PrivacyLead]
        );
        assert_eq!(
            Role::PrivacyLead.scopes(),
            [
                ReadClub,
                ReadPolicy,
                ApprovePolicy,
                ReadAudit,
                ReadReaders,
                RevokeTokens,
                ApproveRecipients,
                NameInMail,
                ReadConsents,
                GiveConsents,
                OverseeConsents,
                ReadCopies,
                EraseRecords,
                ReadRetention,
                SetRetention,
                ReadLimits
            ]
        );
        for scope in [NameInMail, ReadCopies, EraseRecords] {
            assert_eq!(who(scope), [Role::PrivacyLead], "{scope:?}");
        }
    }
}

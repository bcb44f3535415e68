//! Who calls: the claims of a token.

/// The arguments of `plimsoll token`: one acting role, and the records it may reach.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Identity {
    arguments: Vec<String>,
}

impl Identity {
    /// A caller in one role.
    pub fn role(role: &str) -> Self {
        Self {
            arguments: Vec::new(),
        }
        .and("--role", role)
    }

    /// Holds another role too; the request then has to name one in `Acting-Role`.
    pub fn also(self, role: &str) -> Self {
        self.and("--role", role)
    }

    /// Belongs to this club.
    pub fn club(self, id: &str) -> Self {
        self.and("--club", id)
    }

    /// Uses this system, by which reports and events are known.
    pub fn client(self, id: &str) -> Self {
        self.and("--client", id)
    }

    /// Is this person, in the audit list.
    pub fn subject(self, subject: &str) -> Self {
        self.and("--subject", subject)
    }

    /// Reaches this athlete: the athlete's own id, or a guardian's child.
    pub fn athlete(self, id: &str) -> Self {
        self.and("--athlete", id)
    }

    /// Reaches no squads but those named.
    pub fn squad(self, id: &str) -> Self {
        self.and("--squad", id)
    }

    /// How long the token holds, for example `15m`.
    pub fn lifetime(self, lifetime: &str) -> Self {
        self.and("--ttl", lifetime)
    }

    pub(crate) fn arguments(&self) -> &[String] {
        &self.arguments
    }

    fn and(mut self, option: &str, value: &str) -> Self {
        self.arguments.extend([option.to_owned(), value.to_owned()]);
        self
    }
}

//! The searched form of a name.

use diesel::backend::Backend;
use diesel::deserialize::{self, FromSql, FromSqlRow};
use diesel::expression::AsExpression;
use diesel::serialize::{self, Output, ToSql};
use diesel::sql_types::Text;

/// A name in lower case with single spaces: databases disagree on what `LIKE` ignores, so both
/// sides are brought to one form here.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, AsExpression, FromSqlRow)]
#[diesel(sql_type = Text)]
pub struct NameKey(String);

impl NameKey {
    /// The key of a name.
    pub fn of(name: &str) -> Self {
        let words: Vec<String> = name.split_whitespace().map(str::to_lowercase).collect();
        Self(words.join(" "))
    }

    /// The key's text.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// The `LIKE` pattern (escape character `\`) of names that begin with this, or hold it.
    pub(super) fn pattern(&self, anywhere: bool) -> String {
        let text = self
            .0
            .replace('\\', "\\\\")
            .replace('%', "\\%")
            .replace('_', "\\_");
        if anywhere {
            format!("%{text}%")
        } else {
            format!("{text}%")
        }
    }
}

impl<DB: Backend> ToSql<Text, DB> for NameKey
where
    str: ToSql<Text, DB>,
{
    fn to_sql<'b>(&'b self, out: &mut Output<'b, '_, DB>) -> serialize::Result {
        self.as_str().to_sql(out)
    }
}

impl<DB: Backend> FromSql<Text, DB> for NameKey
where
    String: FromSql<Text, DB>,
{
    fn from_sql(value: DB::RawValue<'_>) -> deserialize::Result<Self> {
        String::from_sql(value).map(Self)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn case_and_spaces_do_not_matter() {
        assert_eq!(
            NameKey::of("  Änne\u{a0}Maria  ÖSTBY "),
            NameKey::of("änne maria östby")
        );
    }

    #[test]
    fn a_pattern_takes_wildcards_for_what_they_are() {
        assert_eq!(NameKey::of("a_b%").pattern(false), "a\\_b\\%%");
        assert_eq!(NameKey::of("c\\").pattern(true), "%c\\\\%");
    }
}

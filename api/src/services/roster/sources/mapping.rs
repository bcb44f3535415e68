//! Documents of a roster app as rows of a roster.

use std::collections::{BTreeMap, BTreeSet};

use plimsoll_domain::roster::{MOST_LINKS, Mode};
use serde_json::Value;

use super::problem::PullProblem;
use super::settings::{Field, Links, Plan};
use crate::error::{Code, FieldProblem};
use crate::services::roster::input::{
    AthleteRow, Form, GuardianRow, MOST_ROWS, MembershipRow, Numbered, Sent, SquadRow,
};
use crate::web::json::shorten_text;
use crate::web::object::Unambiguous;

/// Rows gathered page by page.
#[derive(Debug, Default)]
pub struct Gathered {
    athletes: Vec<Numbered<AthleteRow>>,
    /// Keys and names, each pair once.
    squads: BTreeSet<(Option<String>, Option<String>)>,
    /// In how many people a field of ours was not found.
    missing: BTreeMap<&'static str, usize>,
    /// How many people the app says it has.
    total: Option<u64>,
}

/// What a page held.
#[derive(Debug, PartialEq, Eq)]
pub struct Read {
    /// People.
    pub people: usize,
    /// What it says of the next page.
    pub next: Option<String>,
}

impl Gathered {
    /// Reads one page.
    ///
    /// # Errors
    /// Where it is not what the settings say.
    pub fn page(&mut self, text: &[u8], plan: &Plan) -> Result<Read, PullProblem> {
        let read = serde_json::from_slice(text);
        let Unambiguous(document) = read.map_err(|_| PullProblem::NotJson)?;
        let people = plan.people.list.of(&document).and_then(Value::as_array);
        let people = people.ok_or(PullProblem::ShapeChanged)?;
        if self.athletes.len() + people.len() > MOST_ROWS {
            return Err(PullProblem::TooLong);
        }
        if let Some(total) = &plan.people.total {
            let total = total.of(&document).and_then(Value::as_u64);
            self.total = Some(total.ok_or(PullProblem::ShapeChanged)?);
        }
        for person in people {
            let content = self.person(person, plan);
            let row = self.athletes.len() + 1;
            self.athletes.push(Numbered { row, content });
        }
        self.list_squads(&document, plan)?;
        if self.squads.len() + self.athletes.len() > MOST_ROWS {
            return Err(PullProblem::TooLong);
        }
        Ok(Read {
            people: people.len(),
            next: plan.paging.said(&document)?,
        })
    }

    /// What was found once all pages were read.
    ///
    /// # Errors
    /// Where it is a part of a roster, or what says who belongs where is in none of its rows.
    pub fn whole(self, plan: &Plan) -> Result<Sent, PullProblem> {
        let people = self.athletes.len();
        let is_another = |total: u64| usize::try_from(total) != Ok(people);
        if self.total.is_some_and(is_another) {
            return Err(PullProblem::Incomplete);
        }
        let in_none = |name: &str| people > 0 && self.missing.get(name) == Some(&people);
        let no_squads = plan.people.memberships.is_some() && in_none("memberships");
        if in_none("external_id") || (plan.mode == Mode::Full && no_squads) {
            return Err(PullProblem::ShapeChanged);
        }
        Ok(self.sent())
    }

    /// The rows as they would be sent.
    pub fn sent(self) -> Sent {
        let squads = self.squads.into_iter().zip(1..);
        let squads = squads.map(|((external_id, name), row)| Numbered {
            row,
            content: Ok(SquadRow { external_id, name }),
        });
        Sent {
            form: Form::Nested,
            squads: squads.collect(),
            athletes: self.athletes,
            only_if_known: BTreeSet::new(),
        }
    }

    /// In how many people each field that is pointed to was not found.
    pub fn missing(&self) -> &BTreeMap<&'static str, usize> {
        &self.missing
    }

    fn person(&mut self, person: &Value, plan: &Plan) -> Result<AthleteRow, FieldProblem> {
        let mut texts = Texts::of(person, &plan.people.fields);
        self.note(&texts.missing);
        let mut row = AthleteRow {
            external_id: texts.take("external_id")?,
            display_name: texts.take("display_name")?,
            birth_date: texts.take("birth_date")?,
            joined_on: texts.take("joined_on")?,
            time_zone: texts.take("time_zone")?,
            status: texts.take("status")?,
            ..AthleteRow::default()
        };
        if let Some(links) = &plan.people.memberships {
            let given = self.links("memberships", person, links);
            let rows = given
                .map(|given| each("memberships", &given, |one| membership(one, &links.fields)));
            row.memberships = rows.transpose()?;
        }
        if let Some(links) = &plan.people.guardians {
            let given = self.links("guardians", person, links);
            let rows =
                given.map(|given| each("guardians", &given, |one| guardian(one, &links.fields)));
            row.guardians = rows.transpose()?;
        }
        let named = row.memberships.iter().flatten();
        let named = named.filter(|one| one.squad_name.is_some());
        self.squads
            .extend(named.map(|one| (one.squad_external_id.clone(), one.squad_name.clone())));
        Ok(row)
    }

    fn note(&mut self, missing: &[&'static str]) {
        for name in missing {
            *self.missing.entry(name).or_default() += 1;
        }
    }

    /// The elements of a list within a person; of what is no list, one alone.
    fn links<'a>(
        &mut self,
        name: &'static str,
        person: &'a Value,
        links: &Links,
    ) -> Option<Vec<&'a Value>> {
        match links.list.of(person) {
            Some(Value::Array(list)) => Some(list.iter().take(MOST_LINKS + 1).collect()),
            Some(Value::Null) => Some(Vec::new()),
            Some(one) => Some(vec![one]),
            None => {
                self.note(&[name]);
                None
            }
        }
    }

    /// Squads that have a list of their own, which pages may repeat.
    fn list_squads(&mut self, document: &Value, plan: &Plan) -> Result<(), PullProblem> {
        let Some(squads) = &plan.squads else {
            return Ok(());
        };
        let list = squads.list.of(document).and_then(Value::as_array);
        for one in list.ok_or(PullProblem::ShapeChanged)? {
            let mut texts = Texts::of(one, &squads.fields);
            let read = |_: FieldProblem| PullProblem::ShapeChanged;
            let external_id = texts.take("external_id").map_err(read)?;
            self.squads
                .insert((external_id, texts.take("name").map_err(read)?));
        }
        Ok(())
    }
}

fn each<T>(
    name: &str,
    given: &[&Value],
    read: impl Fn(&Value) -> Result<T, FieldProblem>,
) -> Result<Vec<T>, FieldProblem> {
    let rows = given.iter().enumerate();
    rows.map(|(at, one)| read(one).map_err(|fault| fault.under(&format!("/{name}/{at}"))))
        .collect()
}

fn membership(one: &Value, fields: &[Field]) -> Result<MembershipRow, FieldProblem> {
    let mut texts = Texts::of(one, fields);
    Ok(MembershipRow {
        squad_external_id: texts.take("squad_external_id")?,
        squad_name: texts.take("squad_name")?,
        role: texts.take("role")?,
        from: texts.take("from")?,
        to: texts.take("to")?,
        primary: texts.truth("primary")?,
        is_over: false,
    })
}

fn guardian(one: &Value, fields: &[Field]) -> Result<GuardianRow, FieldProblem> {
    let mut texts = Texts::of(one, fields);
    Ok(GuardianRow {
        external_id: texts.take("external_id")?,
        from: texts.take("from")?,
        to: texts.take("to")?,
    })
}

/// What the fields of ours are in an element of theirs.
struct Texts<'a> {
    found: BTreeMap<&'static str, &'a Value>,
    missing: Vec<&'static str>,
}

impl<'a> Texts<'a> {
    fn of(element: &'a Value, fields: &[Field]) -> Self {
        let (mut found, mut missing) = (BTreeMap::new(), Vec::new());
        for field in fields {
            match field.pointer.of(element) {
                Some(value) => drop(found.insert(field.name, value)),
                None => missing.push(field.name),
            }
        }
        Self { found, missing }
    }

    /// A text, or a whole number as one. Null and an empty text are nothing.
    fn take(&mut self, name: &'static str) -> Result<Option<String>, FieldProblem> {
        match self.found.remove(name) {
            None | Some(Value::Null) => Ok(None),
            Some(Value::String(text)) if text.is_empty() => Ok(None),
            Some(Value::String(text)) => Ok(Some(text.clone())),
            Some(Value::Number(number)) if number.is_i64() || number.is_u64() => {
                Ok(Some(number.to_string()))
            }
            Some(other) => Err(wrong_type(name, other, "a text, or a whole number")),
        }
    }

    fn truth(&mut self, name: &'static str) -> Result<Option<bool>, FieldProblem> {
        match self.found.remove(name) {
            None | Some(Value::Null) => Ok(None),
            Some(Value::Bool(truth)) => Ok(Some(*truth)),
            Some(other) => Err(wrong_type(name, other, "true or false")),
        }
    }
}

fn wrong_type(name: &str, given: &Value, allowed: &str) -> FieldProblem {
    let given = match given {
        Value::Array(_) => Value::from("a list"),
        Value::Object(_) => Value::from("an object"),
        Value::String(text) => Value::from(shorten_text(text)),
        other => other.clone(),
    };
    FieldProblem::new(format!("/{name}"), Code::WrongType, given).allowed(allowed)
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::super::settings::Settings;
    use super::*;

    fn plan(settings: Value) -> Plan {
        let settings: Settings = serde_json::from_value(settings).unwrap();
        settings.plan().unwrap()
    }

    fn nested() -> Plan {
        plan(json!({
            "mode": "full", "paging": { "kind": "next_pointer", "pointer": "/next" },
            "people": {
                "list": "/data", "total": "/count", "external_id": "/id", "display_name": "/names/shown", "birth_date": "/born",
                "memberships": { "list": "/teams", "squad_external_id": "/code", "squad_name": "/title", "primary": "/main" },
                "guardians": { "list": "/parents", "external_id": "" } },
        }))
    }

    fn read(plan: &Plan, pages: &[Value]) -> Result<Sent, PullProblem> {
        let mut gathered = Gathered::default();
        for page in pages {
            gathered.page(page.to_string().as_bytes(), plan)?;
        }
        gathered.whole(plan)
    }

    #[test]
    fn people_are_read_where_the_pointers_say() {
        let page = json!({ "count": 3, "next": null, "data": [
            { "id": 7, "names": { "shown": "Runa Falk" }, "born": "2011-03-14",
              "teams": [{ "code": "u16", "title": "U16 girls", "main": true }, { "code": "u18" }], "parents": ["G-1", 2] },
            { "id": "8", "names": { "shown": "" }, "born": null, "teams": { "code": "u16", "title": "U16 girls" }, "parents": "G-1" },
            { "id": "9", "names": { "shown": ["Ida"] }, "teams": null },
        ] });
        let sent = read(&nested(), &[page]).unwrap();
        let [first, second, third] = &sent.athletes[..] else {
            panic!("{sent:?}")
        };
        let first = first.content.as_ref().unwrap();
        assert_eq!(
            (
                first.external_id.as_deref(),
                first.display_name.as_deref(),
                first.birth_date.as_deref()
            ),
            (Some("7"), Some("Runa Falk"), Some("2011-03-14"))
        );
        let squads = first.memberships.as_ref().unwrap();
        assert_eq!(
            (
                squads[0].squad_external_id.as_deref(),
                squads[0].primary,
                squads[1].primary
            ),
            (Some("u16"), Some(true), None)
        );
        let guardians: Vec<_> = first
            .guardians
            .iter()
            .flatten()
            .map(|one| one.external_id.as_deref())
            .collect();
        assert_eq!(guardians, [Some("G-1"), Some("2")]);
        let second = second.content.as_ref().unwrap();
        assert_eq!(
            (
                &second.display_name,
                &second.birth_date,
                second.memberships.as_ref().map(Vec::len)
            ),
            (&None, &None, Some(1))
        );
        let fault = third.content.as_ref().unwrap_err();
        assert_eq!(
            (fault.pointer.as_str(), fault.code, &fault.given),
            ("/display_name", Code::WrongType, &Some(json!("a list")))
        );
        let squads: Vec<_> = sent
            .squads
            .iter()
            .map(|one| one.content.as_ref().unwrap().name.as_deref())
            .collect();
        assert_eq!(squads, [Some("U16 girls")]);
    }

    #[test]
    fn a_document_of_another_shape_is_no_roster() {
        let plan = nested();
        let person = json!({ "id": 1, "names": { "shown": "Runa" }, "teams": [] });
        for (page, problem) in [
            (json!([person]), PullProblem::ShapeChanged),
            (
                json!({ "people": [person], "count": 1 }),
                PullProblem::ShapeChanged,
            ),
            (
                json!({ "data": { "1": person }, "count": 1 }),
                PullProblem::ShapeChanged,
            ),
            (json!({ "data": [person] }), PullProblem::ShapeChanged),
            (
                json!({ "data": [person], "count": "1" }),
                PullProblem::ShapeChanged,
            ),
            (
                json!({ "data": [person], "count": 2 }),
                PullProblem::Incomplete,
            ),
            (
                json!({ "data": [{ "key": 1, "teams": [] }], "count": 1 }),
                PullProblem::ShapeChanged,
            ),
            (
                json!({ "data": [{ "id": 1, "squads": [] }], "count": 1 }),
                PullProblem::ShapeChanged,
            ),
        ] {
            assert_eq!(
                read(&plan, std::slice::from_ref(&page)).unwrap_err(),
                problem,
                "{page}"
            );
        }
        let empty = json!({ "data": [], "count": 0 });
        assert_eq!(read(&plan, &[empty]).unwrap().athletes.len(), 0);
        let mut gathered = Gathered::default();
        for text in [
            &b"{\"data\": [{\"id\": 1}"[..],
            b"<html>",
            b"",
            b"{\"data\": [], \"data\": []}",
        ] {
            assert_eq!(gathered.page(text, &plan), Err(PullProblem::NotJson));
        }
    }

    #[test]
    fn pages_are_one_roster_within_its_bounds() {
        let plan = plan(
            json!({ "mode": "full", "people": { "list": "", "external_id": "/id" }, "squads": null }),
        );
        let page =
            |from: usize, to: usize| Value::from_iter((from..to).map(|id| json!({ "id": id })));
        let sent = read(&plan, &[page(0, 3), page(3, 5), page(5, 5)]).unwrap();
        assert_eq!(
            sent.athletes.iter().map(|one| one.row).collect::<Vec<_>>(),
            [1, 2, 3, 4, 5]
        );
        assert!(read(&plan, &[page(0, MOST_ROWS)]).is_ok());
        assert_eq!(
            read(&plan, &[page(0, MOST_ROWS), page(0, 1)]).unwrap_err(),
            PullProblem::TooLong
        );
    }

    #[test]
    fn squads_of_a_list_stand_once_however_many_pages_repeat_them() {
        let plan = plan(
            json!({ "mode": "delta", "people": { "list": "/people", "external_id": "/id" },
            "squads": { "list": "/squads", "external_id": "/id", "name": "/name" } }),
        );
        let page = json!({ "people": [], "squads": [{ "id": 16, "name": "U16 girls" }, { "id": 18, "name": "U18 girls" }] });
        let sent = read(&plan, &[page.clone(), page]).unwrap();
        assert_eq!(
            sent.squads.iter().map(|one| one.row).collect::<Vec<_>>(),
            [1, 2]
        );
        assert_eq!(
            read(&plan, &[json!({ "people": [] })]).unwrap_err(),
            PullProblem::ShapeChanged
        );
    }
}

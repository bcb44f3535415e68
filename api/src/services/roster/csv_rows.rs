//! A roster as CSV: an athlete in a line, with one squad and one guardian; more of them are more lines about her.

use std::collections::BTreeSet;

use super::input::{
    AthleteRow, Form, GuardianRow, MOST_ROWS, MembershipRow, Numbered, Sent, SquadRow, too_many,
};
use crate::error::{Code, FieldProblem, Problem};
use crate::services::table::{Table, bare, guarded, line};
use crate::web::json::shorten_text;

/// The columns.
pub const COLUMNS: [&str; 15] = [
    "external_id",
    "display_name",
    "birth_date",
    "joined_on",
    "time_zone",
    "status",
    "squad_external_id",
    "squad_name",
    "role",
    "from",
    "to",
    "primary",
    "guardian_external_id",
    "guardian_from",
    "guardian_to",
];

/// Columns that a file of rejected rows has beside them. They are read over, so that a mended file can be sent as it is.
pub const BESIDE: [&str; 3] = ["row", "code", "detail"];

/// Reads a whole file.
///
/// # Errors
/// 400 where it is not CSV, 422 for a column that is not read here or too many rows.
pub fn read(bytes: &[u8]) -> Result<Sent, Problem> {
    let table = Table::read(bytes, MOST_ROWS)?;
    let unknown: Vec<FieldProblem> = table
        .header
        .iter()
        .filter_map(|name| unknown(name))
        .collect();
    if !unknown.is_empty() {
        return Err(Problem::invalid(unknown));
    }
    if table.records.len() > MOST_ROWS {
        return Err(too_many());
    }
    let mut sent = Sent {
        form: Form::Table,
        squads: Vec::new(),
        athletes: Vec::new(),
        only_if_known: BTreeSet::new(),
    };
    for (record, row) in table.records.iter().zip(1..) {
        let cell = |name: &str| {
            let at = table.header.iter().position(|column| column == name)?;
            let cell = bare(record.get(at)?.trim());
            (!cell.is_empty()).then(|| cell.to_owned())
        };
        let content = athlete(&cell);
        sent.squads.extend(squad(&cell).map(|squad| Numbered {
            row,
            content: Ok(squad),
        }));
        sent.athletes.push(Numbered { row, content });
    }
    Ok(sent)
}

fn unknown(name: &str) -> Option<FieldProblem> {
    let known = COLUMNS.contains(&name) || BESIDE.contains(&name);
    let fault = || {
        FieldProblem::new("", Code::UnknownColumn, shorten_text(name)).allowed(COLUMNS.join(", "))
    };
    (!known).then(fault)
}

/// The squad of a line that names one.
fn squad(cell: &impl Fn(&str) -> Option<String>) -> Option<SquadRow> {
    let name = cell("squad_name")?;
    Some(SquadRow {
        external_id: cell("squad_external_id"),
        name: Some(name),
    })
}

fn athlete(cell: &impl Fn(&str) -> Option<String>) -> Result<AthleteRow, FieldProblem> {
    Ok(AthleteRow {
        external_id: cell("external_id"),
        display_name: cell("display_name"),
        birth_date: cell("birth_date"),
        joined_on: cell("joined_on"),
        time_zone: cell("time_zone"),
        status: cell("status"),
        memberships: membership(cell)?.map(|one| vec![one]),
        guardians: guardian(cell).map(|one| vec![one]),
    })
}

fn membership(
    cell: &impl Fn(&str) -> Option<String>,
) -> Result<Option<MembershipRow>, FieldProblem> {
    let primary = cell("primary").map(|given| truth(&given)).transpose()?;
    let row = MembershipRow {
        squad_external_id: cell("squad_external_id"),
        role: cell("role"),
        from: cell("from"),
        to: cell("to"),
        primary,
        is_over: false,
        squad_name: cell("squad_name"),
    };
    Ok((row != MembershipRow::default()).then_some(row))
}

fn truth(given: &str) -> Result<bool, FieldProblem> {
    match given {
        "true" => Ok(true),
        "false" => Ok(false),
        _ => Err(
            FieldProblem::new("/primary", Code::UnknownValue, shorten_text(given))
                .allowed("true or false"),
        ),
    }
}

fn guardian(cell: &impl Fn(&str) -> Option<String>) -> Option<GuardianRow> {
    let row = GuardianRow {
        external_id: cell("guardian_external_id"),
        from: cell("guardian_from"),
        to: cell("guardian_to"),
    };
    (row != GuardianRow::default()).then_some(row)
}

/// The column of a field of the JSON form.
pub fn pointer(nested: &str) -> String {
    let parts: Vec<&str> = nested.split('/').skip(1).collect();
    match parts.as_slice() {
        ["memberships", _, field] => format!("/{field}"),
        ["guardians", _, field] => format!("/guardian_{field}"),
        _ => nested.to_owned(),
    }
}

/// The header of a file of rejected rows.
pub fn header() -> Vec<u8> {
    line(&[&COLUMNS[..], &BESIDE[..]].concat())
}

/// The lines of an athlete: one for each squad or guardian, whichever are more, and one for none. Memberships that are over are
/// left out: a line cannot say it, and would begin them again.
pub fn lines(athlete: &AthleteRow, beside: [&str; 3]) -> Vec<u8> {
    let memberships = athlete.memberships.iter().flatten();
    let memberships: Vec<_> = memberships.filter(|one| !one.is_over).collect();
    let guardians = athlete.guardians.as_deref().unwrap_or_default();
    let count = memberships.len().max(guardians.len()).max(1);
    (0..count)
        .flat_map(|at| {
            one(
                athlete,
                memberships.get(at).copied(),
                guardians.get(at),
                beside,
            )
        })
        .collect()
}

fn one(
    athlete: &AthleteRow,
    membership: Option<&MembershipRow>,
    guardian: Option<&GuardianRow>,
    beside: [&str; 3],
) -> Vec<u8> {
    let of_squad = |field: fn(&MembershipRow) -> &Option<String>| {
        membership.and_then(|one| field(one).as_deref())
    };
    let of_guardian =
        |field: fn(&GuardianRow) -> &Option<String>| guardian.and_then(|one| field(one).as_deref());
    let primary = membership
        .and_then(|one| one.primary)
        .map(|primary| if primary { "true" } else { "false" });
    let cells = [
        athlete.external_id.as_deref(),
        athlete.display_name.as_deref(),
        athlete.birth_date.as_deref(),
        athlete.joined_on.as_deref(),
        athlete.time_zone.as_deref(),
        athlete.status.as_deref(),
        of_squad(|one| &one.squad_external_id),
        of_squad(|one| &one.squad_name),
        of_squad(|one| &one.role),
        of_squad(|one| &one.from),
        of_squad(|one| &one.to),
        primary,
        of_guardian(|one| &one.external_id),
        of_guardian(|one| &one.from),
        of_guardian(|one| &one.to),
    ];
    let cells = cells.into_iter().chain(beside.map(Some));
    let cells: Vec<String> = cells
        .map(|cell| cell.map(guarded).unwrap_or_default())
        .collect();
    line(&cells.iter().map(String::as_str).collect::<Vec<_>>())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn athletes(text: &[u8]) -> Vec<AthleteRow> {
        let rows = read(text).unwrap().athletes;
        rows.into_iter().map(|row| row.content.unwrap()).collect()
    }

    #[test]
    fn a_spreadsheet_export_is_read_as_it_comes() {
        let text = "\u{feff}external_id;display_name;squad_external_id;squad_name;primary;guardian_external_id\r\n\
                    P-07; Runa Falk ;u16-g;U16 girls;true;G-11\r\nP-08;Ida Lund;;;;\r\n";
        let rows = athletes(text.as_bytes());
        assert_eq!(rows[0].display_name.as_deref(), Some("Runa Falk"));
        let membership = &rows[0].memberships.as_ref().unwrap()[0];
        assert_eq!(
            (membership.squad_external_id.as_deref(), membership.primary),
            (Some("u16-g"), Some(true))
        );
        assert_eq!(
            rows[0].guardians.as_ref().unwrap()[0]
                .external_id
                .as_deref(),
            Some("G-11")
        );
        assert_eq!((&rows[1].memberships, &rows[1].guardians), (&None, &None));
        let squads = read(text.as_bytes()).unwrap().squads;
        assert_eq!((squads.len(), squads[0].row), (1, 1));
    }

    #[test]
    fn a_column_that_is_not_read_is_named() {
        let problem = read(b"external_id,shirt_number\nP-07,4\n").unwrap_err();
        let fault = &problem.errors[0];
        assert_eq!(
            (problem.code, fault.code),
            (Code::Invalid, Code::UnknownColumn)
        );
        assert_eq!(fault.given, Some("shirt_number".into()));
    }

    #[test]
    fn a_truth_that_is_none_spoils_its_own_line() {
        let rows = read(b"external_id,primary\nP-07,yes\nP-08,true\n")
            .unwrap()
            .athletes;
        let fault = rows[0].content.as_ref().unwrap_err();
        assert_eq!(
            (fault.pointer.as_str(), fault.code),
            ("/primary", Code::UnknownValue)
        );
        assert!(rows[1].content.is_ok());
    }

    #[test]
    fn rejected_rows_are_read_again_as_they_were() {
        let membership = |squad: &str| MembershipRow {
            squad_external_id: Some(squad.to_owned()),
            from: Some("2026-08-03".to_owned()),
            primary: Some(false),
            ..MembershipRow::default()
        };
        let athlete = AthleteRow {
            external_id: Some("=P-07".to_owned()),
            display_name: Some("Falk, \"Runa\"".to_owned()),
            memberships: Some(vec![membership("a"), membership("b")]),
            guardians: Some(vec![GuardianRow {
                external_id: Some("G-11".to_owned()),
                ..GuardianRow::default()
            }]),
            ..AthleteRow::default()
        };
        let file = [
            header(),
            lines(&athlete, ["3", "unknown_squad", "-no such squad"]),
        ]
        .concat();
        assert!(
            String::from_utf8_lossy(&file).contains("'=P-07"),
            "no spreadsheet runs it"
        );
        let back = athletes(&file);
        assert_eq!(back.len(), 2);
        for (row, squad) in back.iter().zip(["a", "b"]) {
            assert_eq!(
                (&row.external_id, &row.display_name),
                (&athlete.external_id, &athlete.display_name)
            );
            assert_eq!(row.memberships, Some(vec![membership(squad)]));
        }
        assert_eq!(
            (&back[0].guardians, &back[1].guardians),
            (&athlete.guardians, &None)
        );
    }

    #[test]
    fn a_membership_that_is_over_does_not_come_out_as_an_open_one() {
        let over = MembershipRow {
            squad_external_id: Some("u16".to_owned()),
            is_over: true,
            ..MembershipRow::default()
        };
        let athlete = AthleteRow {
            external_id: Some("P-07".to_owned()),
            memberships: Some(vec![over]),
            ..AthleteRow::default()
        };
        let file = [header(), lines(&athlete, ["1", "", ""])].concat();
        let back = athletes(&file);
        assert_eq!((back.len(), &back[0].memberships), (1, &None));
    }
}

//! How hard sessions felt, beside how hard they were meant to be: of one athlete, and of a squad's sessions.

mod answer;
mod athlete;
mod squad;

use jiff::Span;
use jiff::civil::Date;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::error::{Code, FieldProblem, Problem};
use crate::web::range;

/// The routes of ratings.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes.service(athlete::read).service(squad::read);
}

/// The dates asked for, the last so many weeks unless said otherwise; none lies after today.
fn dates(
    (from, to): (Option<&str>, Option<&str>),
    today: Date,
    weeks: i64,
) -> Result<(Date, Date), Problem> {
    let (from, to) = range::dates(from, to, |to| {
        let to = to.unwrap_or(today);
        (to.saturating_sub(Span::new().days(7 * weeks - 1)), to)
    })?;
    if to > today {
        let fault = FieldProblem::new("?to", Code::InFuture, to.to_string());
        return Err(Problem::field(fault.allowed(format!("{today} or earlier"))));
    }
    Ok((from, to))
}

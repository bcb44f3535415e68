//! How many new findings the policy brings, as a page: the rate beside the budget, by week and by rule.

use maud::{Markup, html};

use super::html::document;
use super::told::words;
use crate::services::policy::flag_rate::FlagRateAnswer;

const TITLE: &str = "New findings of the club's policy";

/// The page.
pub fn write(answer: &FlagRateAnswer) -> String {
    let body = html! {
        header {
            h1 { (TITLE) }
            p { (in_all(answer)) }
            p class="caution" { (answer.note) }
        }
        main {
            @if !answer.weeks.is_empty() { (by_week(answer)) }
            @if !answer.rules.is_empty() { (by_rule(answer)) }
            @if !answer.withheld_weeks.is_empty() { p { (withheld(answer)) } }
        }
    };
    document(TITLE, &body)
}

fn in_all(answer: &FlagRateAnswer) -> String {
    let budget = answer.budget_a_week_per_15_athletes;
    let Some(rate) = answer.a_week_per_15_athletes else {
        return format!(
            "No closed week had a policy, so there is no rate. Weeks of athletes: {}; new findings: {}; budget: {budget} a week \
             per 15 athletes.",
            answer.athlete_weeks, answer.new_findings
        );
    };
    let beside = match answer.over_budget {
        Some(true) => "above",
        _ => "within",
    };
    format!(
        "New findings in {} weeks of athletes: {}. That is {rate} a week per 15 athletes, {beside} the budget of {budget}.",
        answer.athlete_weeks, answer.new_findings
    )
}

fn withheld(answer: &FlagRateAnswer) -> String {
    let weeks = answer.withheld_weeks.join(", ");
    format!("Not counted, since records of an athlete were erased: {weeks}.")
}

fn by_week(answer: &FlagRateAnswer) -> Markup {
    html! {
        section aria-labelledby="weeks" {
            h2 id="weeks" { "By week" }
            table {
                caption { "Weeks closed last, the newest first: athletes judged, new findings, and these per 15 athletes" }
                thead {
                    tr {
                        th scope="col" { "Week" }
                        th scope="col" class="n" { "Judged" }
                        th scope="col" class="n" { "New" }
                        th scope="col" class="n" { "Per 15" }
                    }
                }
                tbody {
                    @for week in &answer.weeks {
                        tr {
                            th scope="row" { (week.week) }
                            td class="n" { (week.athletes) }
                            td class="n" { (week.new_findings) }
                            td class="n" { (rate(week.a_week_per_15_athletes)) }
                        }
                    }
                }
            }
        }
    }
}

fn by_rule(answer: &FlagRateAnswer) -> Markup {
    html! {
        section aria-labelledby="rules" {
            h2 id="rules" { "By rule" }
            table {
                caption { "Rules that raised any, over all these weeks" }
                thead {
                    tr {
                        th scope="col" { "Rule" }
                        th scope="col" class="n" { "New findings" }
                        th scope="col" class="n" { "A week per 15 athletes" }
                    }
                }
                tbody {
                    @for rule in &answer.rules {
                        tr {
                            th scope="row" { (words(&rule.code)) }
                            td class="n" { (rule.new_findings) }
                            td class="n" { (rate(rule.a_week_per_15_athletes)) }
                        }
                    }
                }
            }
        }
    }
}

fn rate(rate: Option<f64>) -> String {
    rate.map_or_else(|| "no figure".to_owned(), |rate| rate.to_string())
}

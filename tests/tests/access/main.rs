//! Who may call what and sees whom.

mod matrix;
mod reach;
mod readers;
mod refused_reads;

pub(crate) use e2e::{
    Answer, Athlete, Client, Club, Database, Document, Identity, Operation, Request, Server, Squad,
    Writes, on_both_databases,
};
pub(crate) use serde_json::{Value, json};

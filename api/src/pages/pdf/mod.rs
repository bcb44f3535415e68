//! Sheets as PDF, set by Typst: tagged, in English, with their fonts inside.
//!
//! A document says what stands on its sheet ([`Sheet`]); all sheets have one look.

mod world;

use std::fmt::Write;
use std::time::Duration;

use serde_json::json;
use tokio::sync::Semaphore;
use tokio::task::spawn_blocking;
use tokio::time::timeout;
use typst::diag::SourceDiagnostic;
use typst_layout::PagedDocument;
use typst_pdf::PdfOptions;

use super::paper::Paper;
use super::sheet::Sheet;
use crate::error::{Code, Problem};
use world::OneSheet;

/// Sheets set at a time: each keeps a core busy, and the blocking pool is the database's too.
static PERMITS: Semaphore = Semaphore::const_new(1);
/// How long a sheet waits for its turn.
const WAIT: Duration = Duration::from_secs(5);

/// Sets a sheet, outside the threads that answer requests.
///
/// # Errors
/// 503 where other sheets keep it waiting; an internal one where it cannot be set.
pub async fn write(sheet: Sheet, paper: Paper) -> Result<Vec<u8>, Problem> {
    let permit = timeout(WAIT, PERMITS.acquire()).await;
    let Ok(Ok(permit)) = permit else {
        let detail = "Other sheets are being made.";
        return Err(Problem::new(Code::Busy, detail).retry_after(1));
    };
    let set = spawn_blocking(move || {
        // It ends with the work, not with the request that waits for it.
        let _permit = permit;
        set(&sheet, paper)
    });
    let set = set.await.map_err(|error| Problem::internal(&error))?;
    set.map_err(|error| Problem::internal(&error))
}

fn set(sheet: &Sheet, paper: Paper) -> Result<Vec<u8>, String> {
    let paper = match paper {
        Paper::A4 => "a4",
        Paper::Letter => "us-letter",
    };
    let data = json!({ "sheet": sheet, "paper": paper });
    let world = OneSheet::new(data.to_string().into_bytes()).ok_or("no template")?;
    let document = typst::compile::<PagedDocument>(&world).output;
    let file = document.and_then(|document| typst_pdf::pdf(&document, &PdfOptions::default()));
    // What was computed for one sheet is kept for no other: it holds names.
    typst::comemo::evict(0);
    file.map_err(|faults| faults.iter().fold(String::new(), told))
}

fn told(mut said: String, fault: &SourceDiagnostic) -> String {
    // Writing to a String cannot fail.
    let _ = write!(said, "{}; ", fault.message);
    said
}

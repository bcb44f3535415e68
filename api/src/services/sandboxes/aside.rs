//! Work that takes seconds, beside the threads that serve requests.

use tokio::sync::oneshot;

use crate::error::Problem;

/// Does work on a thread and a runtime of its own, so that neither the threads that answer requests nor those that wait for the
/// database are held up. It is done to its end also where nobody waits for it any more.
///
/// # Errors
/// Those of the work.
pub async fn aside<T, W>(work: impl FnOnce() -> W + Send + 'static) -> Result<T, Problem>
where
    T: Send + 'static,
    W: Future<Output = Result<T, Problem>>,
{
    let (done, outcome) = oneshot::channel();
    let run = move || {
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_time()
            .max_blocking_threads(2)
            .build();
        let outcome = match runtime {
            Ok(runtime) => runtime.block_on(work()),
            Err(error) => Err(Problem::internal(&error)),
        };
        // Nobody hears it where the request was given up.
        let _ = done.send(outcome);
    };
    let thread = std::thread::Builder::new().name("sandbox".to_owned());
    thread
        .spawn(run)
        .map_err(|error| Problem::internal(&error))?;
    outcome.await.map_err(|error| Problem::internal(&error))?
}

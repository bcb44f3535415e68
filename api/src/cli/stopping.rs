//! Asked to stop, by SIGTERM or SIGINT: readiness fails first, then the listener closes, then what was accepted ends. Asked
//! twice, the program ends at once.

use std::io;
use std::time::Duration;

use tokio::signal::unix::{Signal, SignalKind, signal};
use tokio::sync::watch;

/// The exit code of a program that was asked twice: what it did was cut short.
const CUT_SHORT: i32 = 1;

/// The signals that ask the program to stop. From here on they no longer end it by themselves.
pub(super) struct Signals {
    terminate: Signal,
    interrupt: Signal,
}

impl Signals {
    /// Takes them over.
    pub(super) fn new() -> io::Result<Self> {
        Ok(Self {
            terminate: signal(SignalKind::terminate())?,
            interrupt: signal(SignalKind::interrupt())?,
        })
    }

    /// Waits for one of them.
    async fn asked(&mut self) {
        tokio::select! {
            _ = self.terminate.recv() => {}
            _ = self.interrupt.recv() => {}
        }
    }

    /// Says so at the first one, and ends the program at the second.
    pub(super) async fn follow(mut self, stop: watch::Sender<bool>) {
        self.asked().await;
        tracing::info!("asked to stop");
        stop.send_replace(true);
        self.asked().await;
        tracing::warn!("asked to stop once more: what is not over is cut short");
        // Threads that wait for the database would hold up any other end.
        std::process::exit(CUT_SHORT);
    }
}

/// Waits until the program is asked to stop, and for so long after that.
pub(super) async fn after(mut stop: watch::Receiver<bool>, time: Duration) {
    // Whoever could ask is there as long as the program runs.
    let _ = stop.wait_for(|asked| *asked).await;
    tokio::time::sleep(time).await;
}

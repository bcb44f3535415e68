//! Somebody's program that takes webhooks: it echoes challenges, keeps the other messages and answers them as it is told.

use std::collections::BTreeMap;
use std::net::SocketAddr;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};
use std::time::Duration;

use serde_json::{Value, json};
use tokio::io::{AsyncRead, AsyncReadExt, AsyncWrite, AsyncWriteExt};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::Notify;
use tokio::task::JoinHandle;
use tokio_rustls::TlsAcceptor;

use crate::until::until;

/// How a message is answered.
#[derive(Debug, Clone)]
pub enum Answering {
    /// With this status line and these fields, and no body.
    Head(&'static str),
    /// With this status line and this body.
    Body(&'static str, String),
    /// With 200 and ten thousand million bytes.
    Endless,
    /// Not at all; the connection stays open.
    Never,
    /// As `Head`, once somebody lets it go.
    Held(Arc<Notify>, &'static str),
    /// With these bytes, and then the connection is reset.
    Reset(&'static str),
}

/// A message as it arrived.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Message {
    /// Its header fields, names in lower case.
    pub fields: BTreeMap<String, String>,
    /// Its body.
    pub body: String,
}

impl Message {
    /// The challenge that it asks to be echoed, if it is one that does.
    pub fn challenge(&self) -> Option<String> {
        let event: Value = serde_json::from_str(&self.body).ok()?;
        let challenge = event["data"]["challenge"].as_str();
        challenge.map(str::to_owned)
    }

    /// A header field, which must be there.
    ///
    /// # Panics
    /// When it is not.
    pub fn field(&self, name: &str) -> &str {
        let field = self.fields.get(name);
        field.unwrap_or_else(|| panic!("no {name} in {self:?}"))
    }
}

/// A receiver on a port of this machine. Dropped, it stops listening.
pub struct Receiver {
    url: String,
    kept: Arc<Kept>,
    listening: JoinHandle<()>,
}

#[derive(Default)]
struct Kept {
    messages: Mutex<Vec<Message>>,
    challenges: Mutex<Vec<Message>>,
    connections: AtomicUsize,
}

impl Receiver {
    /// Listens, echoes challenges, and answers the message of each number (from 0) as `answering` says.
    pub async fn start(answering: impl Fn(usize) -> Answering + Send + Sync + 'static) -> Self {
        Self::asked(|_, challenge| echo(challenge), answering).await
    }

    /// As [`Receiver::start`], but answers the challenge of each number (from 0) as `echoing` says.
    pub async fn asked(
        echoing: impl Fn(usize, &str) -> Answering + Send + Sync + 'static,
        answering: impl Fn(usize) -> Answering + Send + Sync + 'static,
    ) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").await.expect("a free port");
        let address = listener.local_addr().expect("an address");
        Self::listening(
            listener,
            format!("http://{address}/notices"),
            None,
            (echoing, answering),
        )
    }

    /// Listens at this address, speaks TLS, and takes everything.
    pub async fn with_tls(address: SocketAddr, tls: TlsAcceptor) -> Self {
        let listener = TcpListener::bind(address).await.expect("a free port");
        let port = listener.local_addr().expect("an address").port();
        let url = format!("https://localhost:{port}/notices");
        let taking = |_| Answering::Head("204 No Content\r\n");
        let both = (|_, challenge: &str| echo(challenge), taking);
        Self::listening(listener, url, Some(tls), both)
    }

    fn listening(
        listener: TcpListener,
        url: String,
        tls: Option<TlsAcceptor>,
        answering: (
            impl Fn(usize, &str) -> Answering + Send + Sync + 'static,
            impl Fn(usize) -> Answering + Send + Sync + 'static,
        ),
    ) -> Self {
        let kept = Arc::new(Kept::default());
        let (shared, answering) = (Arc::clone(&kept), Arc::new(answering));
        let listening = tokio::spawn(async move {
            while let Ok((stream, _)) = listener.accept().await {
                shared.connections.fetch_add(1, Ordering::SeqCst);
                let (kept, answering) = (Arc::clone(&shared), Arc::clone(&answering));
                let tls = tls.clone();
                tokio::spawn(async move {
                    match tls {
                        None => serve(stream, &kept, &answering).await,
                        Some(tls) => {
                            // A sender that does not trust us ends it here.
                            if let Ok(stream) = tls.accept(stream).await {
                                serve(stream, &kept, &answering).await;
                            }
                        }
                    }
                });
            }
        });
        Self {
            url,
            kept,
            listening,
        }
    }

    /// Listens, and takes everything.
    pub async fn taking() -> Self {
        Self::start(|_| Answering::Head("204 No Content\r\n")).await
    }

    /// Where it listens.
    pub fn url(&self) -> String {
        self.url.clone()
    }

    /// How many connections were opened to it.
    pub fn connections(&self) -> usize {
        self.kept.connections.load(Ordering::SeqCst)
    }

    /// The challenges that have arrived so far.
    pub fn challenges(&self) -> Vec<Message> {
        self.kept.challenges.lock().expect("no panic").clone()
    }

    /// What has arrived so far, challenges apart.
    pub fn messages(&self) -> Vec<Message> {
        self.kept.messages.lock().expect("no panic").clone()
    }

    /// Waits until so many messages have arrived, and gives them.
    ///
    /// # Panics
    /// When they do not arrive.
    pub async fn wait_for(&self, count: usize) -> Vec<Message> {
        until(async || {
            let messages = self.messages();
            if messages.len() >= count {
                Ok(messages)
            } else {
                Err(messages)
            }
        })
        .await
    }
}

impl Drop for Receiver {
    fn drop(&mut self) {
        self.listening.abort();
    }
}

/// A connection, with TLS or without.
trait Stream: AsyncRead + AsyncWrite + Unpin {
    /// Ends it with a reset, so that the other side sees it break.
    fn reset(self);
}

impl Stream for TcpStream {
    fn reset(self) {
        self.set_zero_linger().expect("the option exists");
    }
}

impl Stream for tokio_rustls::server::TlsStream<TcpStream> {
    fn reset(self) {
        self.into_inner().0.reset();
    }
}

/// The answer that confirms an endpoint.
fn echo(challenge: &str) -> Answering {
    let body = json!({ "challenge": challenge });
    Answering::Body("200 OK", body.to_string())
}

async fn serve(
    mut stream: impl Stream,
    kept: &Kept,
    (echoing, answering): &(
        impl Fn(usize, &str) -> Answering,
        impl Fn(usize) -> Answering,
    ),
) {
    // A sender that is killed in the middle leaves half a message, which is none.
    let Some(message) = read(&mut stream).await else {
        return;
    };
    let challenge = message.challenge();
    let list = match challenge {
        Some(_) => &kept.challenges,
        None => &kept.messages,
    };
    let number = {
        let mut messages = list.lock().expect("no panic");
        messages.push(message);
        messages.len() - 1
    };
    let answer = match challenge {
        Some(challenge) => echoing(number, &challenge),
        None => answering(number),
    };
    match answer {
        Answering::Body(status, body) => {
            let length = body.len();
            let answer = format!(
                "HTTP/1.1 {status}\r\ncontent-length: {length}\r\nconnection: close\r\n\r\n{body}"
            );
            let _ = stream.write_all(answer.as_bytes()).await;
        }
        Answering::Head(status) => head(&mut stream, status).await,
        Answering::Held(let_go, status) => {
            let_go.notified().await;
            head(&mut stream, status).await;
        }
        Answering::Endless => {
            let head = b"HTTP/1.1 200 OK\r\ncontent-length: 10000000000\r\n\r\n";
            let mut written = stream.write_all(head).await;
            while written.is_ok() {
                written = stream.write_all(&[b'x'; 16_384]).await;
            }
        }
        Answering::Never => tokio::time::sleep(Duration::from_secs(120)).await,
        Answering::Reset(said) => {
            let _ = stream.write_all(said.as_bytes()).await;
            // What was said must have arrived: a reset throws away what is still on the way.
            tokio::time::sleep(Duration::from_millis(200)).await;
            stream.reset();
        }
    }
}

async fn head(stream: &mut impl Stream, status: &str) {
    let answer = format!("HTTP/1.1 {status}content-length: 0\r\nconnection: close\r\n\r\n");
    let _ = stream.write_all(answer.as_bytes()).await;
}

async fn read(stream: &mut impl Stream) -> Option<Message> {
    let mut bytes = Vec::new();
    loop {
        let mut chunk = [0; 4_096];
        let count = stream.read(&mut chunk).await.ok()?;
        bytes.extend_from_slice(&chunk[..count]);
        if let Some(message) = whole(&bytes) {
            return Some(message);
        }
        if count == 0 {
            return None;
        }
    }
}

/// The message, once all of it is there.
fn whole(bytes: &[u8]) -> Option<Message> {
    let text = std::str::from_utf8(bytes).ok()?;
    let (head, body) = text.split_once("\r\n\r\n")?;
    let fields: BTreeMap<String, String> = head
        .lines()
        .skip(1)
        .filter_map(|line| line.split_once(':'))
        .map(|(name, value)| (name.to_ascii_lowercase(), value.trim().to_owned()))
        .collect();
    let length: usize = fields.get("content-length")?.parse().ok()?;
    (body.len() >= length).then(|| Message {
        body: body[..length].to_owned(),
        fields,
    })
}

//! HTTP written by hand, for what no client library would send: half a request, or one that is slow.

use reqwest::Url;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;

/// A TCP connection to the server.
pub struct Connection {
    stream: TcpStream,
}

impl Connection {
    pub(crate) async fn open(server: &Url) -> Self {
        let connection = Self::attempt(server).await;
        connection.expect("the server accepts")
    }

    /// A connection, or why there is none.
    pub(crate) async fn attempt(server: &Url) -> std::io::Result<Self> {
        let host = server.host_str().expect("the server has an address");
        let port = server.port().expect("the server has a port");
        let stream = TcpStream::connect((host, port)).await?;
        Ok(Self { stream })
    }

    /// Sends these bytes; `false` once the server has closed the connection.
    pub async fn send(&mut self, bytes: impl AsRef<[u8]>) -> bool {
        self.stream.write_all(bytes.as_ref()).await.is_ok()
    }

    /// Everything the server says until it closes the connection.
    pub async fn read_to_end(&mut self) -> String {
        let mut bytes = Vec::new();
        // A reset ends what was said just as a close does.
        let _ = self.stream.read_to_end(&mut bytes).await;
        String::from_utf8_lossy(&bytes).into_owned()
    }

    /// The status line of the next answer, or nothing where the server closed the connection instead.
    pub async fn read_status(&mut self) -> String {
        let mut line = Vec::new();
        while !line.ends_with(b"\r\n") {
            match self.stream.read_u8().await {
                Ok(byte) => line.push(byte),
                Err(_) => break,
            }
        }
        String::from_utf8_lossy(&line).trim_end().to_owned()
    }
}

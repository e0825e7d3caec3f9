//! A keep-alive HTTP/1.1 client, just enough for the load: one request at a time on a connection.

use std::io;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;

pub struct Client {
    stream: TcpStream,
    head: String,
    buf: Vec<u8>,
}

pub struct Answer {
    pub status: u16,
    pub body: Vec<u8>,
}

impl Client {
    pub async fn connect(address: &str, token: &str) -> io::Result<Client> {
        let stream = TcpStream::connect(address).await?;
        stream.set_nodelay(true)?;
        let head = format!(
            "Host: {address}\r\nAuthorization: Bearer {token}\r\nContent-Type: application/json\r\nContent-Length: "
        );
        Ok(Client { stream, head, buf: Vec::with_capacity(1 << 16) })
    }

    pub async fn ask(&mut self, method: &str, path: &str, body: &str) -> io::Result<Answer> {
        let request = format!("{method} {path} HTTP/1.1\r\n{}{}\r\n\r\n{body}", self.head, body.len());
        self.stream.write_all(request.as_bytes()).await?;
        self.buf.clear();
        let end = loop {
            if let Some(at) = self.buf.windows(4).position(|w| w == b"\r\n\r\n") {
                break at + 4;
            }
            self.more().await?;
        };
        let head = String::from_utf8_lossy(&self.buf[..end]).to_ascii_lowercase();
        let status = head.get(9..12).and_then(|s| s.parse().ok()).unwrap_or(0);
        let length = head.split("\r\n").find_map(|l| l.strip_prefix("content-length: "));
        let length: usize = length
            .and_then(|l| l.trim().parse().ok())
            .ok_or_else(|| io::Error::other(format!("an answer without a length: {head}")))?;
        while self.buf.len() < end + length {
            self.more().await?;
        }
        Ok(Answer { status, body: self.buf[end..end + length].to_vec() })
    }

    async fn more(&mut self) -> io::Result<()> {
        match self.stream.read_buf(&mut self.buf).await? {
            0 => Err(io::ErrorKind::UnexpectedEof.into()),
            _ => Ok(()),
        }
    }
}

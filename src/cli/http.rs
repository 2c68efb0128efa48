//! As much of HTTP/1.1 as the board needs: one request for each connection, short heads, bodies whose length is said
//! beforehand, and no waiting for anyone who is slow.

use std::io::{self, Read, Write};
use std::net::TcpStream;
use std::time::Duration;

/// The longest head of a request, in bytes.
const LONGEST_HEAD: usize = 16 << 10;

/// The most headers of a request.
const MOST_HEADERS: usize = 64;

/// Nobody is waited for longer than this at a time; browsers open connections that they may never use.
const PATIENCE: Duration = Duration::from_secs(5);

/// A request with its body still to be read.
pub(super) struct Request {
    pub(super) method: String,
    /// As it came, nothing decoded.
    pub(super) path: String,
    headers: Vec<(String, String)>,
    /// What came after the head already.
    begun: Vec<u8>,
}

/// What to send back.
pub(super) struct Reply {
    pub(super) status: u16,
    pub(super) kind: &'static str,
    pub(super) body: Vec<u8>,
}

impl Reply {
    /// A reply of a kind, such as `text/css`.
    pub(super) fn new(status: u16, kind: &'static str, body: impl Into<Vec<u8>>) -> Reply {
        let body = body.into();
        Reply { status, kind, body }
    }
}

/// Why there is no request or no body.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Fault {
    /// Whoever connected said nothing, or stopped half way.
    Gone,
    /// This is no HTTP, or too much of it.
    Unreadable,
    /// The body is longer than asked for.
    TooLong,
    /// The length of the body is not said.
    NoLength,
}

impl From<io::Error> for Fault {
    fn from(_: io::Error) -> Self {
        Fault::Gone
    }
}

impl Request {
    /// Reads the head of a request.
    ///
    /// # Errors
    /// When none comes in time, or it is none.
    pub(super) fn read(stream: &mut TcpStream) -> Result<Request, Fault> {
        stream.set_read_timeout(Some(PATIENCE))?;
        stream.set_write_timeout(Some(PATIENCE))?;
        stream.set_nodelay(true)?;
        let (mut head, mut part) = (Vec::new(), [0; 4096]);
        loop {
            let count = stream.read(&mut part)?;
            if count == 0 {
                return Err(Fault::Gone);
            }
            head.extend(&part[..count]);
            if let Some(request) = Request::parse(&head)? {
                return Ok(request);
            }
            if head.len() > LONGEST_HEAD {
                return Err(Fault::Unreadable);
            }
        }
    }

    /// The request that begins with these bytes; `None` if the head is not complete yet.
    fn parse(bytes: &[u8]) -> Result<Option<Request>, Fault> {
        let mut headers = [httparse::EMPTY_HEADER; MOST_HEADERS];
        let mut request = httparse::Request::new(&mut headers);
        let end = match request.parse(bytes).map_err(|_| Fault::Unreadable)? {
            httparse::Status::Partial => return Ok(None),
            httparse::Status::Complete(end) => end,
        };
        let text = |header: &httparse::Header<'_>| {
            let value = String::from_utf8_lossy(header.value).into_owned();
            (header.name.to_ascii_lowercase(), value)
        };
        Ok(Some(Request {
            method: request.method.unwrap_or_default().to_owned(),
            path: request.path.unwrap_or_default().to_owned(),
            headers: request.headers.iter().map(text).collect(),
            begun: bytes[end..].to_vec(),
        }))
    }

    /// The value of a header, by its name in small letters; `None` if it is missing or said more than once.
    pub(super) fn header(&self, name: &str) -> Option<&str> {
        let mut found = self.headers.iter().filter(|(header, _)| header == name);
        let (_, value) = found.next()?;
        found.next().is_none().then_some(value.as_str())
    }

    /// The body, of at most `most` bytes.
    ///
    /// # Errors
    /// When it is longer, breaks off, or does not say its length.
    pub(super) fn body(&self, stream: &mut TcpStream, most: usize) -> Result<Vec<u8>, Fault> {
        let length = self.header("content-length").ok_or(Fault::NoLength)?;
        let length: usize = length.parse().map_err(|_| Fault::Unreadable)?;
        if length > most {
            return Err(Fault::TooLong);
        }
        let mut body = self.begun.clone();
        let rest = length.checked_sub(body.len()).ok_or(Fault::Unreadable)?;
        // The length is small enough to fit any number.
        stream.take(rest as u64).read_to_end(&mut body)?;
        if body.len() < length {
            return Err(Fault::Gone);
        }
        Ok(body)
    }
}

impl Reply {
    /// Sends the reply with further headers and ends the connection.
    pub(super) fn send(&self, stream: &mut TcpStream, headers: &[(&str, &str)]) -> io::Result<()> {
        let reason = match self.status {
            200 => "OK",
            400 => "Bad Request",
            403 => "Forbidden",
            404 => "Not Found",
            405 => "Method Not Allowed",
            411 => "Length Required",
            413 => "Content Too Large",
            415 => "Unsupported Media Type",
            _ => "Internal Server Error",
        };
        let (status, kind, length) = (self.status, self.kind, self.body.len());
        let mut head = format!(
            "HTTP/1.1 {status} {reason}\r\nContent-Type: {kind}\r\nContent-Length: {length}\r\nConnection: close\r\n"
        );
        for (name, value) in headers {
            head += &format!("{name}: {value}\r\n");
        }
        head += "\r\n";
        // In one go: head and body one after the other would wait for the first one's receipt, some 40 ms.
        let mut whole = head.into_bytes();
        whole.extend_from_slice(&self.body);
        stream.write_all(&whole)?;
        stream.flush()
    }
}

/// Takes what is still being sent, for a moment: a connection closed over unread bytes loses the reply.
pub(super) fn drain(stream: &mut TcpStream, most: u64) {
    // Whoever has gone needs nothing more.
    let _ = stream.shutdown(std::net::Shutdown::Write);
    let _ = io::copy(&mut stream.take(most), &mut io::sink());
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn head_is_read_once_it_is_complete() {
        let whole = b"POST /answer HTTP/1.1\r\nHost: localhost:1\r\nContent-Length: 2\r\n\r\n{}";
        assert!(Request::parse(&whole[..40]).unwrap().is_none());
        let request = Request::parse(whole).unwrap().unwrap();
        assert_eq!(
            (request.method.as_str(), request.path.as_str()),
            ("POST", "/answer")
        );
        assert_eq!(request.header("host"), Some("localhost:1"));
        assert_eq!(request.begun, b"{}");
    }

    #[test]
    fn header_said_twice_counts_as_not_said() {
        let twice = b"GET / HTTP/1.1\r\nHost: localhost:1\r\nHost: board.example\r\n\r\n";
        let request = Request::parse(twice).unwrap().unwrap();
        assert_eq!(request.header("host"), None);
    }

    #[test]
    fn what_is_no_http_is_refused() {
        for bytes in [
            b"\x16\x03\x01\x02\x00".as_slice(),
            b"hello there\r\n\r\n",
            b"GET / HTTP/1.1\r\nHo st: x\r\n\r\n",
        ] {
            assert!(matches!(Request::parse(bytes), Err(Fault::Unreadable)));
        }
    }
}

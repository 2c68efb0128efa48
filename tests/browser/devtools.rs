//! One conversation with the browser: commands with their results, and events as they come.

use std::net::TcpStream;
use std::time::{Duration, Instant};

use serde_json::{Value, json};
use tungstenite::{Message, WebSocket};

/// Nothing takes longer than this.
const PATIENCE: Duration = Duration::from_secs(60);

/// How long to look for events that may not come.
const GLANCE: Duration = Duration::from_millis(20);

/// A connection to the browser itself or to one page.
pub(crate) struct DevTools {
    socket: WebSocket<TcpStream>,
    last: u64,
    /// Events not looked at yet, oldest first.
    events: Vec<Value>,
}

impl DevTools {
    /// Connects to `path` at the browser's `port`.
    pub(crate) fn connect(port: u16, path: &str) -> Self {
        let stream = TcpStream::connect(("127.0.0.1", port)).expect("the browser listens");
        let url = format!("ws://127.0.0.1:{port}{path}");
        let (socket, _) = tungstenite::client(url, stream).expect("the browser speaks");
        DevTools {
            socket,
            last: 0,
            events: Vec::new(),
        }
    }

    /// The result of a command.
    ///
    /// # Panics
    /// When the browser refuses it or takes too long.
    pub(crate) fn command(&mut self, method: &str, parameters: Value) -> Value {
        self.last += 1;
        let id = self.last;
        let command = json!({"id": id, "method": method, "params": parameters});
        self.socket
            .send(Message::text(command.to_string()))
            .expect("the browser listens");
        let start = Instant::now();
        while start.elapsed() < PATIENCE {
            let Some(mut message) = self.next(PATIENCE) else {
                break;
            };
            if message["id"] == id {
                assert!(message.get("error").is_none(), "{method}: {message}");
                return message["result"].take();
            }
            self.events.push(message);
        }
        panic!("{method}: no answer within {PATIENCE:?}");
    }

    /// Events since this was last asked.
    pub(crate) fn events(&mut self) -> Vec<Value> {
        while let Some(message) = self.next(GLANCE) {
            self.events.push(message);
        }
        std::mem::take(&mut self.events)
    }

    /// The next message, if one comes in time.
    fn next(&mut self, patience: Duration) -> Option<Value> {
        let stream = self.socket.get_ref();
        stream
            .set_read_timeout(Some(patience))
            .expect("a time above nought");
        loop {
            match self.socket.read() {
                Ok(Message::Text(text)) => {
                    return Some(serde_json::from_str(&text).expect("the browser speaks JSON"));
                }
                Ok(_) => {}
                Err(_) => return None,
            }
        }
    }
}

//! Messages on a pair of byte streams (JSON-RPC 2.0 as the Language Server Protocol 3.17 frames it). A message that cannot
//! be read is an answer to be given, not the end of the connection.

use std::io::{self, BufRead, Read, Write};

use lsp_server::{ErrorCode, Message};
use serde_json::{Value, json};

use crate::limits::{MESSAGE_BYTES, MESSAGE_HEADER_BYTES};

/// What came in.
#[derive(Debug)]
pub(super) enum Incoming {
    /// A message.
    Message(Message),
    /// Something else, to be answered with an error.
    Fault(Fault),
}

/// Why something cannot be answered.
#[derive(Clone, Debug)]
pub(super) struct Fault {
    /// The id of the request, where that could be read.
    pub(super) id: Value,
    /// What kind of fault.
    pub(super) code: ErrorCode,
    /// In a sentence.
    pub(super) words: String,
}

impl Fault {
    fn nameless(code: ErrorCode, words: impl Into<String>) -> Incoming {
        Incoming::Fault(Fault { id: Value::Null, code, words: words.into() })
    }
}

/// The next message; none at the end of the stream.
pub(super) fn read(input: &mut impl BufRead) -> io::Result<Option<Incoming>> {
    // Our own framing: the transport of `lsp-server` ends at the first malformed message, and takes a header's word
    // for how much memory to set aside.
    let Some(length) = header(input)? else { return Ok(None) };
    let length = match length {
        Ok(length) if length <= MESSAGE_BYTES => length,
        Ok(length) => {
            // Read past and thrown away, so that the next message is found.
            io::copy(&mut input.take(length), &mut io::sink())?;
            let words = format!("a message of {length} bytes is longer than the {MESSAGE_BYTES} that are read");
            return Ok(Some(Fault::nameless(ErrorCode::InvalidRequest, words)));
        }
        Err(words) => return Ok(Some(Fault::nameless(ErrorCode::ParseError, words))),
    };
    let mut bytes = Vec::new();
    // Grows with what really comes; no memory is set aside on the word of a header.
    if input.take(length).read_to_end(&mut bytes)? as u64 != length {
        return Ok(None);
    }
    Ok(Some(message(&bytes)))
}

/// The length that a header gives, or what is wrong with it; none at the end of the stream. Lines that are no part of
/// a header are passed over, so that a faulty message does not spoil those after it.
fn header(input: &mut impl BufRead) -> io::Result<Option<Result<u64, String>>> {
    let mut length = None;
    let mut odd = None;
    loop {
        let mut line = Vec::new();
        if input.take(MESSAGE_HEADER_BYTES).read_until(b'\n', &mut line)? == 0 {
            return Ok(None);
        }
        let line = String::from_utf8_lossy(&line);
        let line = line.trim_end();
        match (line.is_empty(), line.split_once(':')) {
            (true, _) => break,
            (false, Some((name, value))) if name.trim().eq_ignore_ascii_case("content-length") => {
                length = value.trim().parse().ok();
            }
            (false, Some(_)) => {}
            (false, None) => odd = Some(format!("`{}` is no header", line.chars().take(40).collect::<String>())),
        }
    }
    let missing = || odd.unwrap_or_else(|| "a header without a `Content-Length`".to_owned());
    Ok(Some(length.ok_or_else(missing)))
}

fn message(bytes: &[u8]) -> Incoming {
    let value: Value = match serde_json::from_slice(bytes) {
        Ok(value) => value,
        Err(error) => return Fault::nameless(ErrorCode::ParseError, format!("no JSON: {error}")),
    };
    let id = value.get("id").cloned().filter(|id| id.is_number() || id.is_string()).unwrap_or(Value::Null);
    match serde_json::from_value(value) {
        Ok(message) => Incoming::Message(message),
        Err(_) => Incoming::Fault(Fault {
            id,
            code: ErrorCode::InvalidRequest,
            words: "neither a request, nor a response, nor a notification".to_owned(),
        }),
    }
}

/// Writes an error.
pub(super) fn refuse(output: &mut impl Write, fault: &Fault) -> io::Result<()> {
    let error = json!({ "code": fault.code as i32, "message": fault.words });
    let text = json!({ "jsonrpc": "2.0", "id": fault.id, "error": error }).to_string();
    write!(output, "Content-Length: {}\r\n\r\n{text}", text.len())?;
    output.flush()
}

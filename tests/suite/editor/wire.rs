//! The real program as an editor starts it, and messages to it and from it. The benchmarks share this.

use std::io::{BufRead, BufReader, Write};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};

use serde_json::Value;

/// A process that has not been introduced to anybody.
pub fn started() -> (Child, ChildStdin, BufReader<ChildStdout>) {
    let mut child = Command::new(env!("CARGO_BIN_EXE_dialwright"))
        .arg("serve-editor")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let (input, output) = (child.stdin.take().unwrap(), child.stdout.take().unwrap());
    (child, input, BufReader::new(output))
}

/// A message with its header, as specification 3.17 has it ("Base Protocol").
pub fn send(input: &mut impl Write, message: &Value) {
    let text = message.to_string();
    write!(input, "Content-Length: {}\r\n\r\n{text}", text.len()).unwrap();
    input.flush().unwrap();
}

/// The next message; none where the other side is gone.
pub fn received(output: &mut impl BufRead) -> Option<Value> {
    let mut length = None;
    loop {
        let mut line = String::new();
        if output.read_line(&mut line).ok()? == 0 {
            return None;
        }
        match line.trim_end() {
            "" => break,
            line => length = line.strip_prefix("Content-Length: ").map(|digits| digits.parse().unwrap()).or(length),
        }
    }
    let mut bytes = vec![0; length.expect("a length")];
    output.read_exact(&mut bytes).ok()?;
    Some(serde_json::from_slice(&bytes).expect("JSON"))
}
